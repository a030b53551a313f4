"""Other names of things as a page."""

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.labels import plural
from kb.safety.job_words import FIT
from kb.services.names import OtherName


def render(names: Sequence[OtherName]) -> RenderableType:
    """Lay out other names, each with the shop's own and how many jobs say it."""
    if not names:
        return Text("No names are joined; kb names join NAME MEANT.")
    return layout.labelled(
        (FIT.named(each.name), Text(f"= {FIT.named(each.meant)} ({plural(each.jobs, 'job')})"))
        for each in names
    )
