"""Fix rates in words: raw counts first, then the rate with its interval; and a page of them."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.text import Text

from kb.rates.fixes import FixRate
from kb.rates.survival import Interval
from kb.reports import layout
from kb.reports.fix_curve import bar, curve, length
from kb.reports.labels import day, job_list, percent, plural

if TYPE_CHECKING:  # a question for causes prints fixes, too, and needs no search for components
    from kb.services.fixes import FixesAnswer, RatedFix

MOST_FIXES = 3
"""Fixes that are told without --detail."""
TELLING = 0.3
"""A chance to be better nearer to one half than this tells nothing."""


def fix_line(fix: FixRate) -> str:
    """Return one fix in one sentence: what was done, its counts, its rate at the horizon."""
    return f"{fix.label}: {counts(fix)}; {rate(fix)}"


def counts(fix: FixRate) -> str:
    """Return the raw counts, those that are nought left out; "held" is up to the horizon."""
    if not fix.tried:
        return f"tried {plural(fix.unknown, 'time')}, nobody wrote down whether it cured"
    told = [
        f"cured {fix.cured_at_handover} of {fix.tried}",
        fix.held and f"{fix.held} held",
        fix.comebacks and f"{fix.comebacks} came back",
        fix.still_good and f"{fix.still_good} good when last seen",
        fix.unheard and f"{fix.unheard} not heard of",
        fix.unknown and f"{fix.unknown} not written down",
    ]
    return ", ".join(str(part) for part in told if part)


def rate(fix: FixRate) -> str:
    """Return the chance that it cures and holds, or in words that it is not known."""
    if fix.rate is None:
        return "too few heard of for a rate"
    return f"{percent(fix.rate)} ({between(fix.interval)})"


def between(interval: Interval) -> str:
    """Return an interval as ``52–98%``."""
    return f"{interval.low * 100:.0f}–{interval.high * 100:.0f}%"


def render(answer: "FixesAnswer", *, detail: bool = False) -> RenderableType:
    """Lay out every fix of a cause: counts, rate, how it compares, its curve.

    With `detail` all fixes with their job numbers, instead of the first few.
    """
    shown = answer.fixes if detail else answer.fixes[:MOST_FIXES]
    rows = [row for place, fix in enumerate(shown, 1) for row in _rows(answer, fix, place, detail)]
    if len(shown) < len(answer.fixes):
        left = plural(len(answer.fixes) - len(shown), "more fix", "more fixes")
        rows.append(("", Text(f"{left}: --detail")))
    return layout.page(
        *layout.cautions(answer.cautions),
        Text(heading(answer), "bold"),
        *layout.notices((*answer.notices, *(reading_help(answer) if rows else ()))),
        layout.labelled(rows),
        *([] if rows else [Text("No fix is recorded for it.")]),
    )


def heading(answer: "FixesAnswer") -> str:
    """Return what the page is about."""
    span = f", {day(answer.since)} to {day(answer.until)}" if answer.since and answer.until else ""
    return f"Fixes for {answer.cause.label}; {plural(answer.cases, 'case')}{span}"


def reading_help(answer: "FixesAnswer") -> Iterator[str]:
    """Say what the rates mean, and what the shop's setting for silence does to them."""
    drawn = (
        "drawn to what its action and part do elsewhere, the less the more attempts"
        if answer.wider
        else "drawn a little to 50%, as too few fixes are recorded to tell of one another"
    )
    yield (
        f"Rate: cured and held {length(answer.horizon, answer.clock)}, {drawn}. "
        f"In brackets: where it lies by its own attempts alone, {percent(answer.confidence)} sure."
    )
    if answer.silence_days is not None:
        yield (
            f"The shop's setting: {answer.silence_days} days of silence count as held. Silent "
            "cars may have gone elsewhere, so such rates lean towards the bright side."
        )


def versus(fix: "RatedFix") -> str | None:
    """Return how sure it is that the first fix is better; None for the first itself."""
    if fix.first_better is None:
        return None
    told = f"chance that the first is better: {percent(fix.first_better)}"
    return told if abs(fix.first_better - 0.5) >= TELLING else f"{told}, so no telling yet"


def usual(fix: FixRate) -> str | None:
    """Return minutes and parts of the attempts that held, else of all."""
    minutes, cost, which = fix.minutes_held, fix.parts_cost_held, "where it held"
    if minutes is None and cost is None:
        minutes, cost, which = fix.minutes, fix.parts_cost, "of all attempts"
    parts = [
        None if minutes is None else f"{minutes:,.0f} min",
        None if cost is None else f"parts {cost:,.2f}",
    ]
    told = ", ".join(part for part in parts if part)
    return f"median {which}: {told}" if told else None


def silent(fix: "RatedFix") -> str | None:
    """Return what silence would make of the rate."""
    if fix.with_silence is None or not fix.rate.tried:
        return None
    return f"with silence counted as held: {counts(fix.with_silence)}; {rate(fix.with_silence)}"


def told(fix: "RatedFix") -> list[str]:
    """Return what is told of a fix: counts, what silence would make of them, comparison, costs."""
    lines = (counts(fix.rate), silent(fix), versus(fix), usual(fix.rate))
    return [line for line in lines if line]


def _rows(answer: "FixesAnswer", fix: "RatedFix", place: int, detail: bool) -> Iterator[layout.Row]:
    own = fix.rate
    yield f"{place}", Text.assemble((f"{own.label}  ", "bold"), rate(own) if own.tried else "")
    yield from layout.listed("", told(fix))
    if detail:
        yield "", Text(f"jobs: {job_list(own.jobs)}")
    if own.tried:
        yield "", Text(bar(own.interval, own.rate), no_wrap=True)
        yield from (
            ("", Text(line, no_wrap=True))
            for line in curve(fix.curve, answer.horizon, answer.clock)
        )
