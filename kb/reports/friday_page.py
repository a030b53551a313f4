"""The foreman's page for the browser and for paper: one file that stands alone."""

from collections.abc import Iterator, Sequence
from math import floor, isfinite

from kb.bands.spreads import ReadingSpread
from kb.evaluation.replay import TOOL
from kb.intake.grammar import agreeing
from kb.rates.waste import Waste
from kb.recurrence.pattern import AlertLevel, Pattern
from kb.reports import evaluate as words
from kb.reports import page, stock
from kb.reports.comebacks import at_last, makers_told, one_car, returned
from kb.reports.evaluate_page import calibration
from kb.reports.fixes import rate_line
from kb.reports.fixes_page import DASHED, chart
from kb.reports.labels import day, job_list, measured, percent, plural
from kb.reports.recurring import (
    CAVEAT,
    INCOMPARABLE,
    KEY,
    also,
    change,
    excess,
    foremost,
    helps,
    incomparable,
    is_to_call,
    monday,
    nothing,
    particulars,
    seen_last,
    sights,
    unsure,
    whose_cars,
)
from kb.safety.hazards import DEFERENCE
from kb.safety.job_words import FIT
from kb.services.comebacks import Comebacks
from kb.services.evaluate import Evaluation
from kb.services.fixes import FixesAnswer
from kb.services.friday import Friday, Health
from kb.services.scan import RecurringFault, Scan
from kb.services.stock import Stock

MOST_ROWS = 12
"""Rows of a table of comebacks: what a person reads."""
MOST_NAMED = 3
"""Facts that are named before everything else."""
MOST_FIXES = 3
"""Fixes of a fact that are drawn, the best first."""
FAIRNESS = (
    "Came back: of the cured. In vain: tried and did not cure, or not at first. Not heard of: of "
    "the cured, neither asked after nor seen again. Who asks more hears of more that came back: "
    "read what came back beside what was not heard of. Minutes and parts: spent on what came back "
    "or was in vain, as far as it was written down."
)
READINGS = (
    "Dots: items that proved good; crosses: items that proved bad; shaded: where good ones lie, as "
    "kb reading draws it. Shown are the items with most bad readings."
)
LEVELS = {
    AlertLevel.ACT: "to act on",
    AlertLevel.WATCH: "to watch",
    AlertLevel.APART: "perhaps how it is built",
}


def to_html(found: Friday) -> str:
    """Return the page: what recurs with what to do, what came back, the state of the history."""
    scan = found.scan
    cautions = (*found.cautions, DEFERENCE) if found.cautions else ()
    return page.document(
        f"What keeps coming back, {day(found.on)}",
        *map(page.caution, cautions),
        *map(page.paragraph, summary(found)),
        *(
            part
            for place, fact in enumerate(scan.facts)
            for part in _fact(fact, found.fixes.get(place))
        ),
        *([] if scan.facts or not scan.cases else map(page.paragraph, nothing(scan))),
        *_incomparable(scan),
        page.heading("What came back or was in vain"),
        page.paragraph(FAIRNESS),
        *_waste("by fix", found.by_fix),
        *_waste("by cause", found.by_cause),
        *_by_maker(found.by_maker),
        *_stock(found.stock),
        *_readings(found.readings),
        *_calibration(found.evaluation),
        page.heading("What the history rests on"),
        _health(found.health),
        page.heading("How to read it"),
        *(page.paragraph(line, soft=True) for line in _reading_help(found)),
    )


def summary(found: Friday) -> Iterator[str]:
    """Yield the sentences that stand before everything else."""
    scan = found.scan
    levels = [fact.pattern.level for fact in scan.facts]
    told = [f"{levels.count(level)} {LEVELS[level]}" for level in LEVELS if level in levels]
    span = f", {day(scan.since)} to {day(scan.until)}" if scan.since and scan.until else ""
    yield f"From {plural(scan.cases, 'case')}{span}: {', '.join(told) or 'nothing stands out'}."
    yield from (
        f"{fact.pattern.group}: {fact.pattern.fault} ({LEVELS[fact.pattern.level]})."
        for fact in foremost(scan.facts, MOST_NAMED)
    )
    whole = found.by_fix.whole
    if whole and whole.lost:
        yield (
            f"Of {plural(whole.cured, 'fix', 'fixes')} that cured, "
            f"{agreeing(whole.came_back, 'is', 'are')} known to have come back; "
            f"{agreeing(whole.in_vain, 'was', 'were')} tried in vain. That took at least "
            f"{whole.minutes // 60:,} hours and parts for {floor(whole.parts_cost):,}, as far as "
            "it was written down."
        )
    yield from at_last(found.by_fix)
    yield from returned(found.by_fix)
    yield from scan.notices


def _fact(fact: RecurringFault, fixes: FixesAnswer | None) -> Iterator[str]:
    pattern = fact.pattern
    yield page.heading(f"{pattern.group}: {pattern.fault} ({LEVELS[pattern.level]})")
    yield page.to_do(monday(fact))
    window = pattern.counts.window
    yield page.paragraph(f"{day(window.since)} to {day(window.until)}: {excess(pattern)}.")
    if also(pattern):
        yield page.paragraph(_sentence(also(pattern)))
    told = [change(pattern.change), particulars(pattern), whose_cars(pattern)]
    yield page.paragraph(_sentence("; ".join(part for part in told if part)))
    yield _chart(pattern)
    for line in helps(fact.countermeasures, detail=True):
        yield page.paragraph(_sentence(line))
    if fixes is not None:
        yield from _held(fixes)
    yield page.paragraph(f"Jobs: {job_list(pattern.jobs, len(pattern.jobs))}", soft=True)
    if is_to_call(pattern):
        yield page.paragraph(_sentence(seen_last(pattern)), soft=True)


def _incomparable(scan: Scan) -> Iterator[str]:
    if scan.incomparable:
        yield page.heading(INCOMPARABLE)
    for each in scan.incomparable:
        jobs = job_list(each.jobs, len(each.jobs))
        yield page.paragraph(f"{each.group}: {each.fault}. {incomparable(each)}. Jobs: {jobs}")


def _held(answer: FixesAnswer) -> Iterator[str]:
    """Draw how the first fixes of the cause held, on whatever car."""
    drawn = [fix for fix in answer.fixes if fix.rate.tried > 1 and fix.curve.end > 0][:MOST_FIXES]
    if drawn:
        yield page.heading(f"How it held: {answer.cause.label}, on all cars", 3)
    for fix in drawn:
        told = f"{fix.rate.label}: {rate_line(fix.rate, answer.clock)}"
        yield page.figure(told, chart(answer, fix))


def _sentence(line: str) -> str:
    return f"{line[0].upper()}{line[1:]}{'' if line.endswith(':') else '.'}"


def _chart(pattern: Pattern) -> str:
    months = pattern.months
    total, mean = sum(each.vehicles for each in months), sum(each.expected for each in months)
    rows = [
        (str(each.year) if each.month == 1 or place == 0 else "", each.vehicles, each.expected)
        for place, each in enumerate(months)
    ]
    return page.columns(
        f"New cars with {pattern.fault} on {pattern.group} month by month: {total} over "
        f"{plural(len(months), 'month')}, where {mean:.1f} were to be expected.",
        rows,
        counted="new cars a month",
        beside="as of other cars",
    )


def _waste(how: str, found: Comebacks) -> Iterator[str]:
    if not found.whole or not found.whole.may_be_lost:
        return
    rows = (*found.rows[:MOST_ROWS], found.whole)
    left = len(found.rows) - MOST_ROWS
    more = f", {left} more: kb comebacks --detail" if left > 0 else ""
    yield page.table(
        ("what", "came back", "not judged", "in vain", "cured", "not heard of", "minutes", "parts"),
        map(_row, rows),
        caption=f"What came back or was in vain, {how}{more}",
    )
    yield from map(page.paragraph, one_car(rows[:-1]))


def _by_maker(found: Comebacks) -> Iterator[str]:
    """Tell makers of parts apart, if anybody wrote one down."""
    if found.parts != found.maker_not_told:
        yield from _waste("by who made the part", found)
        yield page.paragraph(makers_told(found), soft=True)


def _row(each: Waste) -> tuple[str, ...]:
    counts = (each.came_back, each.not_judged, each.in_vain, each.cured, each.unheard)
    return (each.what, *map(str, counts), f"{each.minutes:,}", f"{each.parts_cost:,.0f}")


def _stock(found: Stock) -> Iterator[str]:
    """Tell which parts were fitted most, and what the next quarter takes."""
    yield page.heading("Parts fitted, and what the next quarter takes")
    yield from map(page.paragraph, found.notices)
    if not found.parts:
        return
    shown = found.parts[: stock.MOST_PARTS]
    left = len(found.parts) - len(shown)
    more = f", {left} more: kb stock --detail" if left else ""
    yield page.table(
        stock.HEADER,
        map(stock.row, shown),
        caption=f"Used twice or more in two years until {day(found.until)}{more}",
    )
    past = [stock.past_line(found.past, found.coverage)] if found.past else []
    yield from map(page.paragraph, (*past, *stock.untold(shown)))
    yield page.paragraph(stock.KEY, soft=True)


def _readings(found: Sequence[ReadingSpread]) -> Iterator[str]:
    """Draw each item's good and bad readings about the band of the good ones."""
    if not found:
        return
    yield page.heading("Readings of good and of bad ones")
    yield page.paragraph(READINGS)
    for each in found:
        yield page.heading(_item(each), 3)
        yield page.figure(_parted(each), _strip(each))


def _item(each: ReadingSpread) -> str:
    told = FIT.named(each.item)
    return f"{told} @ {FIT.named(each.condition)}" if each.condition else told


def _parted(each: ReadingSpread) -> str:
    """Tell the band in words, and how many bad ones it does not tell."""
    low, high = each.band.low, each.band.high
    ends = [_value(each, end) for end in (low, high) if end is not None]
    open_ends = "up to " if low is None else "", " and more" if high is None else ""
    band = " to ".join(ends).join(open_ends)
    whose = FIT.named(each.make) if each.make else "All makes"
    aside = f", {each.band.set_aside} more set aside" if each.band.set_aside else ""
    inside = (
        f"{each.bad_inside} of them inside: there the reading alone does not tell"
        if each.bad_inside
        else "none of them inside"
    )
    return (
        f"{whose}: good {band}, by {plural(each.band.count, 'good reading')}{aside}; "
        f"{plural(len(each.bad), 'bad reading')}, {inside}. "
        f"Bad: {job_list(sorted({r.job for r in each.bad if r.job is not None}))}."
    )


def _value(each: ReadingSpread, value: float) -> str:
    return measured(value, each.quantity, FIT.named(each.sample.typed))


def _strip(each: ReadingSpread) -> str:
    """Draw good ones above, bad ones below, on the scale on which good ones are alike in spread."""
    scale, band = each.band.scale, each.band
    good = [scale.to(one.value) for one in each.good]
    bad = [point for one in each.bad if isfinite(point := scale.to(one.value))]
    ends = [None if end is None else scale.to(end) for end in (band.low, band.high)]
    points = sorted((*good, *bad, *(end for end in ends if end is not None)))
    room = 0.04 * (points[-1] - points[0]) or 1.0
    low, high = points[0] - room, points[-1] + room
    marked = [end for end in (*ends, points[0], points[-1]) if end is not None]
    x = page.Axis("", low, high, [(end, _value(each, scale.back(end))) for end in marked])
    y = page.Axis("", 0, 2, [(0.5, "bad"), (1.5, "good")])
    chart = page.Chart(x, y, height=130, below=28, margin=12)
    left, right = low if ends[0] is None else ends[0], high if ends[1] is None else ends[1]
    return chart.draw(
        f"{_item(each)}: {len(good)} good readings as dots above, {len(bad)} bad ones as crosses "
        "below, over the band of the good ones",
        chart.band([(left, 0), (right, 0)], [(left, 2), (right, 2)]),
        chart.dots((point, 1.5, 4) for point in good),
        chart.crosses((point, 0.5) for point in bad),
    )


def _calibration(found: Evaluation | None) -> Iterator[str]:
    """Draw whether the chances hold, if past jobs were asked again."""
    yield page.heading("Do the chances hold?")
    if found is None:
        yield page.paragraph("Not asked here: kb report --asked-again asks past jobs again.")
        return
    yield from map(page.paragraph, (*filter(None, [found.in_short]), *found.notices))
    if found.whole is not None:
        told = found.whole.way(TOOL).figures
        yield calibration(told.calibration, found.confidence)
        yield from map(page.paragraph, words.calibration_lines(told))
        yield page.table(*words.bins_table(told.calibration), words=0)


def _health(health: Health) -> str:
    rows = [
        ("no key tag or VIN", health.untagged, health.cases),
        ("whether it was cured not written down", health.without_outcome, health.cases),
        ("fault never occurred here", health.never_reproduced, health.cases),
        ("cured, car not heard of since", health.unheard, health.cured),
        ("cured, how that was made sure not written down", health.unproved, health.cured),
        ("closed without a cause", health.without_cause, health.cases + health.without_cause),
        ("still open", health.still_open, health.cases + health.without_cause + health.still_open),
    ]
    return page.table(
        ("of the jobs", "jobs", "of", "share"),
        (
            (what, f"{count:,}", f"{every:,}", percent(count / every) if every else "–")
            for what, count, every in rows
        ),
    )


def _reading_help(found: Friday) -> Iterator[str]:
    yield CAVEAT
    yield KEY
    yield from unsure(found.scan)
    yield sights(found.scan)
    yield (
        "Came back, in vain, cured and not heard of count jobs, by fix, cause and of all alike, as "
        "kb comebacks does. Drawn fixes count a car once for a fix, as kb fixes does; kb job "
        "follow-up lists fixes, and says on how many cars."
    )
    yield DASHED
    yield "Months: as many of the group's jobs are expected as of all other cars' had the fault."
