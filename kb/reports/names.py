"""Other names of things as a page."""

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.errors import for_shell
from kb.recall.alike_names import NamePair
from kb.reports import layout
from kb.reports.labels import job_list, plural
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


def render_pairs(pairs: Sequence[NamePair]) -> RenderableType:
    """Lay out pairs of names that may be of one thing, each with its jobs and how to join them."""
    if not pairs:
        return Text("No two names are found that may be of one thing.")
    return layout.labelled(row for place, pair in enumerate(pairs, 1) for row in _rows(place, pair))


def _rows(place: int, pair: NamePair) -> list[layout.Row]:
    name, meant = FIT.named(pair.name), FIT.named(pair.meant)
    return [
        (str(place), Text(f"{name} = {meant}?  ", "bold") + Text(FIT.named(pair.why))),
        (
            "",
            Text(f"{job_list(pair.jobs[:MOST_JOBS])} and {job_list(pair.meant_jobs[:MOST_JOBS])}"),
        ),
        ("", Text(f"kb names join {for_shell(name)} {for_shell(meant)}", "dim")),
    ]


MOST_JOBS = 5
"""So many jobs of a name are told."""
