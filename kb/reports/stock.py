"""Parts that cured and what the next months will take, as a page."""

from rich.console import RenderableType
from rich.text import Text

from kb.recurrence.demand import Backtest
from kb.reports import layout
from kb.reports.labels import brief, day, percent, plural
from kb.services.stock import PartUse, Stock

MOST_PARTS = 12
"""Parts without --detail."""
QUARTERS = 4
"""Quarters that are told one by one, the latest."""
HEADER = ("part", "last quarters", "a quarter", "next", "cost")
KEY = (
    "Fitted and cured, in quarters of 91 days, the latest last; a quarter: what is to be expected; "
    "next: between how many the next quarter will lie, four times of five. Parts fitted in vain "
    "leave the shelf too and are not counted: kb comebacks tells them."
)


def render(found: Stock, *, detail: bool = False) -> RenderableType:
    """Lay out the parts, those used most first; with `detail` all of them and their models."""
    parts = found.parts if detail else found.parts[:MOST_PARTS]
    left = len(found.parts) - len(parts)
    last = f"; last job closed {day(found.last)}" if found.last else ""
    return layout.page(
        Text(
            f"Parts that cured: {plural(len(found.parts), 'part')} used twice or more in two years "
            f"until {day(found.until)}{last}",
            "bold",
        ),
        *layout.notices(found.notices),
        *([layout.figures(HEADER, map(_row, parts), width=34)] if parts else []),
        *([Text(f"{left} more: --detail", "dim")] if left else []),
        *([Text(past_line(found.past, found.coverage))] if found.past else []),
        *([Text(KEY, "dim")] if parts else []),
        *([_models(parts)] if detail and parts else []),
    )


def past_line(past: Backtest, coverage: float) -> str:
    """Say how such ranges have held before."""
    if not past.made:
        return "The past is too short to see how such ranges have held."
    return (
        f"Of {past.made:,} such ranges of the past {percent(past.held / past.made)} held "
        f"(at least {percent(coverage)} meant: whole parts make it more)."
    )


def _row(part: PartUse) -> tuple[str, ...]:
    latest = " ".join(map(str, part.counts[-QUARTERS:]))
    span = f"{part.ahead.low} to {part.ahead.high}"
    cost = "" if part.parts_cost is None else f"{part.parts_cost:,.0f}"
    return part.part, latest, brief(part.ahead.mean), span, cost


def _models(parts: tuple[PartUse, ...]) -> RenderableType:
    return layout.labelled((each.part, Text(", ".join(each.models))) for each in parts)
