"""Parts that were fitted and what the next months will take, as a page."""

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.recurrence.demand import Backtest
from kb.reports import layout
from kb.reports.labels import brief, day, percent, plural
from kb.services.stock import Drift, PartUse, Stock

MOST_PARTS = 12
"""Parts without --detail."""
QUARTERS = 4
"""Quarters that are told one by one, the latest."""
MARKS = {Drift.ABOVE: " ▲", Drift.BELOW: " ▼"}
HEADER = ("part", "last quarters", "in vain", "a quarter", "next", "cost")
KEY = (
    "Last quarters: fitted on closed jobs, with a cause or without one, and left on the car, in "
    "quarters of 91 days, the latest last; where nobody wrote down whether it cured, too. In vain: "
    "fitted in the same quarters and did not cure; these left the shelf as well and are in no "
    "other column. A quarter: how many fitted and left are to be expected; next: between how many "
    "the next quarter will lie, four times of five; ▲ and ▼: each of the last four quarters was "
    "above, or below, what is to be expected, so trust these more. Cost: the median of what was "
    "written down."
)


def render(found: Stock, *, detail: bool = False) -> RenderableType:
    """Lay out the parts, those used most first; with `detail` all of them and their models."""
    parts = found.parts if detail else found.parts[:MOST_PARTS]
    left = len(found.parts) - len(parts)
    last = f"; last job closed {day(found.last)}" if found.last else ""
    return layout.page(
        Text(
            f"Parts fitted: {plural(len(found.parts), 'part')} used twice or more in two years "
            f"until {day(found.until)}{last}",
            "bold",
        ),
        *layout.notices(found.notices),
        *([layout.figures(HEADER, map(row, parts), width=32)] if parts else []),
        *([Text(f"{left} more: --detail", "dim")] if left else []),
        *([Text(past_line(found.past, found.coverage))] if found.past else []),
        *([Text(line) for line in untold(parts)]),
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


def untold(parts: Sequence[PartUse]) -> Iterator[str]:
    """Say of how many of those in the quarters shown nobody wrote down whether they cured."""
    count, every = (
        sum(sum(row[-QUARTERS:]) for row in rows)
        for rows in ([each.untold for each in parts], [each.counts for each in parts])
    )
    if count:
        yield (
            f"Of {count:,} of the {every:,} in these quarters nobody wrote down whether it cured: "
            "they count as fitted and left."
        )


def row(part: PartUse) -> tuple[str, ...]:
    """Return one part under `HEADER`."""
    latest = " ".join(map(str, part.counts[-QUARTERS:]))
    span = f"{part.ahead.low}–{part.ahead.high}"
    cost = "" if part.parts_cost is None else f"{part.parts_cost:,.0f}"
    vain = str(sum(part.in_vain[-QUARTERS:]))
    mean = f"{brief(part.ahead.mean)}{MARKS[part.drift] if part.drift else ''}"
    return part.part, latest, vain, mean, span, cost


def _models(parts: tuple[PartUse, ...]) -> RenderableType:
    return layout.labelled((each.part, Text(", ".join(each.models))) for each in parts)
