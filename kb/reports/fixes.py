"""Fix rates in words: raw counts first, then the rate with its interval; and a page of them."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.console import RenderableType
from rich.text import Text

from kb.rates.fixes import TELLING, Estimate, FixRate, HorizonRate
from kb.rates.survival import Interval
from kb.rates.trials import Clock
from kb.reports import layout
from kb.reports.fix_curve import bar, curve, length
from kb.reports.labels import day, job_list, percent, plural

if TYPE_CHECKING:  # a question for causes prints fixes, too, and needs no search for components
    from kb.services.fixes import FixesAnswer, RatedFix

MOST_FIXES = 3
"""Fixes that are told without --detail."""


def fix_line(fix: FixRate) -> str:
    """Return one fix in one sentence: what was done, its counts, its rates over days."""
    return f"{fix.label}: {counts(fix)}; {rate(fix)}"


def counts(fix: FixRate, clock: Clock = Clock.DAYS) -> str:
    """Return the raw counts, those that are nought left out; "held" hides no later comeback."""
    if not fix.tried:
        tried = f"tried {plural(fix.unknown, 'time')}, whether it cured is not told"
        return f"{tried}{_untold_back(fix)}"
    first = fix.first
    early = [time for time in fix.came_back if time <= first.horizon]
    no_day = [time for time in fix.undated if time <= first.horizon]
    told = [
        f"cured {fix.cured_at_handover} of {fix.tried}",
        first.held and _held(fix, clock),
        first.seen_only and _seen(first, clock),
        early and f"{len(early)} came back, {_at(early, no_day, clock)}",
        first.unjudged and f"{first.unjudged} back for something alike, not judged",
        *_early(first, clock),
        fix.unheard and f"{fix.unheard} not heard of",
        fix.unknown and f"{fix.unknown} not told{_untold_back(fix)}",
    ]
    return ", ".join(str(part) for part in told if part)


def _untold_back(fix: FixRate) -> str:
    back = fix.untold_back
    return f", {back} of them back for something alike, not judged" if back else ""


def how_counted(fix: FixRate) -> str:
    """Say what in the counts is not as plain as it looks, or stands beside them."""
    told = [
        fix.told_later and f"{fix.told_later} told by what was heard since, not at the handover",
        fix.repeated and f"{fix.repeated} tried more than once, how it ended counts",
        fix.mistaken and f"{fix.mistaken} more where the cause proved another, not counted",
        fix.again and f"{plural(fix.again, 'more job')} of the same cars, each car counted once",
        fix.reckoned and f"km of {fix.reckoned} reckoned from days",
    ]
    return ", ".join(part for part in told if part)


def denied(fix: FixRate) -> str | None:
    """Say which answers the causes of later jobs are against."""
    pairs = (f"#{each.job} by #{each.visit}" for each in fix.denied)
    told = ", ".join(pairs)
    return f"said to be another fault, but the same cause was proved: {told}" if told else None


def _early(first: HorizonRate, clock: Clock) -> tuple[str | int, ...]:
    """Tell cars said to be good before the horizon from those of which nobody said it."""
    told = first.still_good - first.still_seen
    return (
        told and f"{told} good when last told",
        first.still_seen and f"{first.still_seen} only seen before {length(first.horizon, clock)}",
    )


def _held(fix: FixRate, clock: Clock) -> str:
    """Say how many are told to have held to the first horizon, and what came of them."""
    first, *longer = fix.horizons
    back = [time for time in fix.came_back if time > first.horizon]
    no_day = [time for time in fix.undated if time > first.horizon]
    more = ", ".join(
        f"{each.held} held {length(each.horizon, clock)}" for each in longer if each.held
    )
    told = [
        f"{first.held} held {length(first.horizon, clock)}{more and f' ({more})'}",
        back and f"{len(back)} of them came back later, {_at(back, no_day, clock)}",
        first.back_unjudged and f"{first.back_unjudged} of them back later, not judged",
    ]
    return ", ".join(str(part) for part in told if part)


def _seen(first: HorizonRate, clock: Clock) -> str:
    """Say how many were only seen after the first horizon, and which of them are to be judged."""
    back = first.seen_unjudged
    alike = f", {back} of them for something alike, not judged" if back else ""
    return f"{first.seen_only} only seen after {length(first.horizon, clock)}{alike}"


def _at(times: Sequence[float], no_day: Sequence[float], clock: Clock) -> str:
    """Return when something came back as ``at 202 to 209 days``, two as ``at 112 and 205 days``.

    Of so many as `no_day` has, which are among the times, no day is told.
    """
    dated = list((Counter(times) - Counter(no_day)).elements())
    if no_day:
        untold = f"{'on a day' if len(no_day) == 1 else 'on days'} not told"
        return f"{_at(dated, (), clock)}, {len(no_day)} {untold}" if dated else untold
    first, last = (f"{time:,.0f}" for time in (times[0], times[-1]))
    if last == "1":  # the day of the handover, too
        return "within 1 day" if clock is Clock.DAYS else "within 1 km"
    joint = "and" if len(times) == 2 else "to"
    return f"at {last} {clock}" if first == last else f"at {first} {joint} {last} {clock}"


def rate(fix: FixRate, clock: Clock = Clock.DAYS) -> str:
    """Return the chance that it cures and holds, for each horizon that enough cars were watched to.

    What is not judged yet is told with the two ends it may lead to; as they take it that the cars
    lost from sight fared as the others did, behind them between what ends it lies if not.
    """
    known = [each for each in fix.horizons if each.rate is not None]
    told = ", ".join(f"{_share(each)} for {length(each.horizon, clock)}" for each in known)
    ends = two_ends(fix, clock)
    outer = whatever_became(fix, clock) if ends else ""
    return "; ".join(filter(None, (told or few(fix), ends, outer)))


def few(fix: FixRate) -> str:
    """Say why there is no rate."""
    if fix.tried == 1:
        return "one case"
    return "no rate until they are judged" if two_ends(fix) else "too few heard of for a rate"


def unrated_first(fix: FixRate, among: int) -> str | None:
    """Say by what a fix stands first that has no rate of its own yet, `among` so many."""
    if among == 1 or any(each.supported for each in fix.horizons):
        return None
    return "No rate of its own yet: first by its few cars and by what such fixes do elsewhere"


def two_ends(fix: FixRate, clock: Clock = Clock.DAYS) -> str:
    """Return what each rate would be if what nobody has judged was the same fault, and if not."""
    told: dict[int, list[str]] = defaultdict(list)
    for each in fix.horizons:
        same, other = each.if_same, each.if_other
        if same and other and _has_two(each):
            span = length(each.horizon, clock)
            told[each.unjudged + each.untold_unjudged].append(
                f"{_share(same)}, if not {_share(other)}, for {span}"
            )
    return "; ".join(
        f"if the {'one' if many == 1 else many} not judged {'was' if many == 1 else 'were'} the "
        f"same fault {' and '.join(ends)}"
        for many, ends in told.items()
    )


def _has_two(told: HorizonRate) -> bool:
    """Whether judging what is not judged yet leads to two rates."""
    same, other = told.if_same, told.if_other
    if same is None or other is None or same == other:
        return False
    return None not in {same.rate, other.rate}


def whatever_became(fix: FixRate, clock: Clock = Clock.DAYS) -> str:
    """Return between what ends the rates lie, whichever cars were lost from sight."""
    known = [each for each in fix.horizons if each.lost and (each.supported or _has_two(each))]
    if not known:
        return ""
    told = (
        f"{between(each.ends)} for {length(each.horizon, clock)} ({_not_known(each, fix.untold)})"
        for each in known
    )
    return f"whatever became of the cars not known to have held or failed: {', '.join(told)}"


def _not_known(told: HorizonRate, untold: int) -> str:
    """Tell cars lost from sight before a horizon from those seen or back, and not told of."""
    lost = told.lost - told.seen_only - told.unjudged - untold
    parts = (
        lost and f"{lost} lost from sight",
        told.unjudged and f"{told.unjudged} back, not judged",
        told.seen_only and f"{told.seen_only} only seen",
        untold and f"{untold} not told",
    )
    return ", ".join(part for part in parts if part)


def _share(told: HorizonRate | Estimate) -> str:
    return f"{percent(told.rate or 0)} ({between(told.interval)})"


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
        *layout.notices(
            (*answer.notices, *proposed_lines(answer), *(reading_help(answer) if rows else ()))
        ),
        layout.labelled(rows),
        *map(Text, mistaken(answer)),
        *([] if rows else [Text("No fix is recorded for it.")]),
    )


def mistaken(answer: "FixesAnswer") -> Iterator[str]:
    """Say of what was tried for one cause, where another was proved, for which it counts."""
    kinds: dict[tuple[str, ...], list[int]] = defaultdict(list)
    ends = {True: "cured", False: "did not cure", None: "not told whether it cured"}
    for each in answer.mistaken:
        told = (each.fix, ends[each.cured], each.tried_for, each.proved, each.counts)
        kinds[told].append(each.job)
    for (fix, end, tried_for, proved, counts_for), jobs in kinds.items():
        yield (
            f"{fix}, {end}: tried for {tried_for}, proved {proved}; counts for {counts_for} "
            f"({job_list(jobs)})"
        )


def heading(answer: "FixesAnswer") -> str:
    """Return what the page is about."""
    span = f", {day(answer.since)} to {day(answer.until)}" if answer.since and answer.until else ""
    cases = plural(answer.cases, "case")
    if answer.proposed:
        cases = f"{answer.cases:,} confirmed, {answer.proposed:,} proposed"
    return f"Fixes for {answer.cause.label}; {cases}{span}"


def proposed_lines(answer: "FixesAnswer") -> Iterator[str]:
    """Say what was done on cards that nobody has reviewed; no rate rests on them."""
    for each in answer.proposed_fixes:
        cards = plural(each.cards, "card")
        yield f"proposed, in no rate: {each.label}, on {cards} that nobody confirmed (kb review)"


def reading_help(answer: "FixesAnswer") -> Iterator[str]:
    """Say what the rates mean, and what the shop's setting for silence does to them."""
    drawn = (
        "drawn to what its action and part do elsewhere, the less the more attempts"
        if answer.wider
        else "drawn a little to 50%, as too few fixes are recorded to tell of one another"
    )
    spans = " and ".join(length(each, answer.clock) for each in answer.horizons)
    yield (
        "Counts: cars, each once for a fix, by the first of its jobs that tells. "
        f"Rate: cured and held {spans}, {drawn}. "
        f"In brackets: where it lies by its own attempts alone, {percent(answer.confidence)} sure; "
        "the bar shows that for the longest."
    )
    rates = [each.rate for each in answer.fixes]
    if any(each.seen_only or each.still_seen for rate in rates for each in rate.horizons):
        yield (
            "Held: told to be good at that time or later, or back only after it. Only seen: here "
            "for something else, as far as known, and not told to be good; that counts by "
            f"{percent(answer.would_tell)}, as so many would have said that the fault was back. "
            "Not heard of: neither."
        )
    if any(each.undated for each in rates):
        yield (
            "Came back on a day not told: told for the day it left, or for one on which the fix "
            "held; it counts for the day after."
        )
    if any(each.untold for each in rates):
        yield (
            "Not told: nobody wrote down whether it cured. A comeback, or that it held, tells it "
            "later; until then it counts nowhere but in what became of the cars not known of."
        )
    if any(each.unjudged for each in rates):
        yield (
            "Not judged: the car was back for something alike, and nobody has said whether it was "
            "the same fault. Until then it counts up to that day only; kb job follow-up asks."
        )
    if any(whatever_became(each) for each in rates):
        yield (
            "Whatever became of them: the brackets, if all these cars had failed, and if all had "
            "held. Rate and brackets take it that they fared as the others."
        )
    if answer.km_per_day is not None and any(each.reckoned for each in rates):
        yield (
            "Reckoned from days: no odometer was read at the job or when the car was heard of, "
            "or it ran back or gained more than a car is driven; "
            f"{answer.km_per_day:,.0f} km a day are taken."
        )
    if answer.silence_days is not None:
        yield (
            f"The shop's setting: {answer.silence_days} days of silence count as held. Silent "
            "cars may have gone elsewhere, so such rates lean towards the bright side."
        )


def versus(answer: "FixesAnswer", fix: "RatedFix") -> str | None:
    """Return how sure it is that the first fix is better; None for the first itself.

    What came back of either after the horizon that they are compared at is told beside it.
    """
    if fix.first_better is None or fix.compared_at is None:
        return None
    horizon, span = fix.compared_at, length(fix.compared_at, answer.clock)
    told = f"chance that the first is better for {span}: {percent(fix.first_better)}"
    one, other = (
        sum(time > horizon for time in each.rate.came_back) for each in (answer.fixes[0], fix)
    )
    if one or other:
        return f"{told}; after that {one} of the first and {other} of this one came back"
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


def silent(fix: "RatedFix", clock: Clock) -> str | None:
    """Return what silence would make of the rate."""
    own = fix.with_silence
    if own is None or not fix.rate.tried:
        return None
    return f"with silence counted as held: {counts(own, clock)}; {rate(own, clock)}"


def told(answer: "FixesAnswer", fix: "RatedFix") -> list[str]:
    """Return what is told of a fix below its rates: counts, what may change them, what it took."""
    clock = answer.clock
    lines = (
        counts(fix.rate, clock),
        how_counted(fix.rate),
        denied(fix.rate),
        two_ends(fix.rate, clock),
        whatever_became(fix.rate, clock),
        silent(fix, clock),
        versus(answer, fix),
        usual(fix.rate),
    )
    return [line for line in lines if line]


def rate_line(fix: FixRate, clock: Clock) -> str:
    """Return the rates alone, as ``90 days 96% (63–100%), 1 year 58% (17–88%)``."""
    known = [each for each in fix.horizons if each.rate is not None]
    told = (f"{length(each.horizon, clock)} {_share(each)}" for each in known)
    return ", ".join(told) or few(fix)


def _rows(answer: "FixesAnswer", fix: "RatedFix", place: int, detail: bool) -> Iterator[layout.Row]:
    own = fix.rate
    shares = rate_line(own, answer.clock) if own.tried else ""
    yield f"{place}", Text.assemble((f"{own.label}  ", "bold"), shares)
    first = unrated_first(own, len(answer.fixes)) if place == 1 else None
    yield from layout.listed("", [*([first] if first else []), *told(answer, fix)])
    if detail:
        yield "", Text(f"jobs: {job_list(own.jobs)}")
        if own.unjudged:
            pairs = ", ".join(f"#{each.job} by #{each.visit}" for each in own.unjudged)
            yield "", Text(f"to be judged: {pairs}")
    if own.tried > 1:  # of one case a bar and a curve tell nothing
        longest = next((each for each in reversed(own.horizons) if each.supported), own.first)
        yield "", Text(bar(longest.interval, longest.rate), no_wrap=True)
        drawn = curve(fix.curve, answer.horizons, answer.clock, unjudged=len(own.unjudged))
        yield from (("", Text(line, no_wrap=len(drawn) > 1)) for line in drawn)
