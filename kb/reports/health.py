"""The shape of a shop's case base as a page."""

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.labels import job_list
from kb.services.health import HealthList, ShopHealth, WorthALook

MOST_JOBS = 5


def render(health: ShopHealth) -> RenderableType:
    """Lay out what there is, then each list that has something in it."""
    counts = (
        ("jobs", health.jobs),
        ("  still open", health.open),
        ("  cards waiting for a cause, proposed at most (kb review)", health.waiting),
        ("  cases", health.cases),
        ("    confirmed from their cards", health.from_cards),
        ("    cured, never heard of again", health.unheard),
        ("    without proof", health.unproved),
        ("  without a key tag", health.untagged),
    )
    return layout.page(
        *layout.cautions(health.cautions),
        layout.figures(("the store", ""), [(name, f"{count:,}") for name, count in counts]),
        *(part for each in health.lists if each.count for part in _list(each)),
    )


def _list(found: HealthList) -> list[RenderableType]:
    left = found.count - len(found.first)
    rows = list(map(_row, found.first))
    return [
        Text(f"\n{found.name}: {found.count:,}", style="bold"),
        layout.labelled([*rows, *([("", Text(f"and {left:,} more", "dim"))] if left else [])]),
    ]


def _row(look: WorthALook) -> layout.Row:
    return job_list(look.jobs, MOST_JOBS), Text(look.words)
