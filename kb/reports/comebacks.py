"""What came back and what was in vain, as a page."""

from collections.abc import Iterable, Iterator

from rich.console import RenderableType
from rich.text import Text

from kb.intake.grammar import agreeing
from kb.rates.waste import Waste
from kb.reports import layout
from kb.reports.labels import job_list, period, plural
from kb.services.comebacks import Comebacks, WorkKind

MOST_ROWS = 8
"""Rows without --detail."""
HEADER = ("", "cured", "back", "vain", "unheard", "min", "parts")
KEY = (
    "Cured: left without the complaint. Back: of these, came back; +N?: N jobs more, told to be "
    "cured or not told, were back for something alike that nobody has judged. Vain: tried and did "
    "not cure, or not at first. Unheard: of the cured, neither asked after nor seen again. Counted "
    "by job, where kb fixes counts a car once. Who asks more hears of more that came back: read "
    "back beside unheard. Min, parts: spent on what was for nothing, as far as it was written down."
)
MANY = {WorkKind.FIX: "fixes"}
NOTHING = "Nothing is known to have come back or to have been tried in vain."


def render(found: Comebacks, *, detail: bool = False) -> RenderableType:
    """Lay out the counts, most for nothing first; with `detail` every row, and the jobs."""
    rows = found.rows if detail else found.rows[:MOST_ROWS]
    left = len(found.rows) - len(rows)
    return layout.page(
        *(layout.cautions(found.cautions) if rows else []),
        Text(_heading(found), "bold"),
        *layout.notices(found.notices),
        *(_table(found, rows) if found.whole else []),
        *([] if rows or not found.cases else [Text(NOTHING)]),
        *([Text(makers_told(found))] if found.parts else []),
        *([Text(f"{left} more: --detail", "dim")] if left else []),
        *([Text(_without_loss(found), "dim")] if rows and found.without_loss else []),
        *(Text(line) for line in one_car(rows)),
        *([Text(line, "dim") for line in _for_another(found)] if rows else []),
        *([Text(line, "dim") for line in at_last(found)] if rows else []),
        *([Text(line, "dim") for line in returned(found)] if rows else []),
        *([Text(KEY, "dim")] if rows else []),
        *(_numbers(rows) if detail else []),
    )


def makers_told(found: Comebacks) -> str:
    """Say of how many of the parts it was written down who made them."""
    parts, untold = found.parts or 0, found.maker_not_told or 0
    told = "none" if untold == parts else "all" if not untold else f"{parts - untold:,}"
    return (
        f"Counted are parts that were fitted, {parts:,} in all; of {told} of them it was written "
        "down who made it."
    )


def _without_loss(found: Comebacks) -> str:
    kinds = plural(found.without_loss, found.kind, MANY.get(found.kind))
    return f"Without a row: {kinds} of which nothing is known to have been for nothing, or to judge"


def _for_another(found: Comebacks) -> Iterator[str]:
    count = found.whole.for_another if found.whole else 0
    if count:
        yield (
            f"Of those in vain {agreeing(count, 'was', 'were')} tried for another cause than was "
            "proved in the end, and counted for that one; kb fixes names both."
        )


def returned(found: Comebacks) -> Iterator[str]:
    """Say how many returns nobody has judged, and of how many another cause was proved."""
    whole = found.whole
    if whole and whole.not_judged:
        yield (
            f"After {whole.not_judged} more {'job' if whole.not_judged == 1 else 'jobs'} the car "
            "was back for the same system or something alike, and nobody has judged it; "
            f"{whole.proved_other} of these visits proved another cause. kb job follow-up asks."
        )


def at_last(found: Comebacks) -> Iterator[str]:
    """Say on how many jobs something was tried in vain and cured when it was tried again."""
    count = found.whole.at_last if found.whole else 0
    if count:
        yield (
            f"Of those in vain {count:,} cured when the same was tried again on the job: "
            f"{'this is' if count == 1 else 'these are'} among the cured, too, and only what the "
            "tries before took was for nothing."
        )


def one_car(rows: Iterable[Waste]) -> Iterator[str]:
    """Name the rows whose jobs that were for nothing, or may prove to have been, are one car's."""
    told = "; ".join(each.what for each in rows if each.of_one_car)
    if told:
        yield f"Back and vain are of one car alone: {told}."


def _heading(found: Comebacks) -> str:
    whose = f" by {found.by}" if found.by else ""
    span = period(found.since, found.until)
    return f"What came back or was in vain{whose}, of {plural(found.cases, 'case')}{span}"


def _table(found: Comebacks, rows: tuple[Waste, ...]) -> Iterator[RenderableType]:
    if rows and found.whole:
        yield layout.figures(HEADER, [_row(each) for each in (*rows, found.whole)], width=36)


def _row(each: Waste) -> tuple[str, ...]:
    back = f"{each.came_back}" + (f"+{each.not_judged}?" if each.not_judged else "")
    figures = (str(each.cured), back, str(each.in_vain), str(each.unheard))
    return (each.what, *figures, f"{each.minutes:,}", f"{each.parts_cost:,.0f}")


def _numbers(rows: tuple[Waste, ...]) -> Iterator[RenderableType]:
    yield Text()
    yield layout.labelled((each.what, Text(_jobs(each))) for each in rows)


def _jobs(each: Waste) -> str:
    """Return the jobs behind a row, those apart that are to be judged."""
    lost, to_judge = (job_list(jobs, len(jobs)) for jobs in (each.jobs, each.to_judge))
    return "; ".join(filter(None, (lost, to_judge and f"to be judged: {to_judge}")))
