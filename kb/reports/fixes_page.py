"""Fixes of a cause as a page for the browser that stands alone."""

from collections.abc import Iterator

from kb.rates.survival import survival_at
from kb.rates.trials import Clock
from kb.reports import page
from kb.reports.fix_curve import FEW, length
from kb.reports.fixes import (
    between,
    counts,
    few,
    heading,
    mistaken,
    proposed_lines,
    rate_line,
    reading_help,
    told,
)
from kb.reports.labels import percent
from kb.safety.hazards import DEFERENCE
from kb.services.fixes import FixesAnswer, RatedFix

DASHED = f"A curve is dashed where fewer than {FEW} cars are watched; shaded: where it may lie."
_POINTS = 60
"""Times at which the interval of a curve is drawn: every eighth pixel or so."""


def to_html(answer: FixesAnswer) -> str:
    """Return the page: cautions, a table of all fixes, then each with its curve."""
    cautions = (*answer.cautions, DEFERENCE) if answer.cautions else ()
    return page.document(
        heading(answer),
        *map(page.caution, cautions),
        *(
            page.paragraph(line, soft=True)
            for line in (*answer.notices, *proposed_lines(answer), *reading_help(answer), DASHED)
        ),
        _table(answer),
        *map(page.paragraph, mistaken(answer)),
        *(part for fix in answer.fixes if fix.rate.tried for part in _fix(answer, fix)),
    )


def _table(answer: FixesAnswer) -> str:
    spans = [length(each, answer.clock) for each in answer.horizons]
    header = (
        *("fix", "cured", "tried", f"back within {spans[0]}"),
        *(f"held {span}" for span in spans),
        f"only seen {spans[0]}",
        *("back later", "not judged", "not heard of", *(f"rate, {span}" for span in spans)),
    )
    rows = []
    for own in (each.rate for each in answer.fixes):
        first, held = own.first, (each.held for each in own.horizons)
        counted = (
            *(own.cured_at_handover, own.tried, first.comebacks, *held),
            *(first.seen_only, first.back_later, len(own.unjudged), own.unheard),
        )
        shares = (
            few(own) if each.rate is None else f"{percent(each.rate)} ({between(each.interval)})"
            for each in own.horizons
        )
        rows.append((own.label, *map(str, counted), *shares))
    return page.table(header, rows)


def _fix(answer: FixesAnswer, fix: RatedFix) -> Iterator[str]:
    yield page.heading(f"{fix.rate.label}: {rate_line(fix.rate, answer.clock)}")
    yield page.paragraph("; ".join(told(answer, fix)) + ".")
    if fix.rate.tried == 1:
        return
    yield chart(answer, fix)
    curve = fix.curve
    times = sorted({0.0, *answer.horizons, curve.end})
    shares = (percent(curve.at(time)) if curve.known(time) else "–" for time in times)
    yield page.table(
        ("", *(length(time, answer.clock) for time in times)),
        [
            ("share still good", *shares),
            ("cars watched", *(f"{curve.at_risk(time)}" for time in times)),
        ],
    )


def chart(answer: FixesAnswer, fix: RatedFix) -> str:
    """Draw how one fix held, to the end of what is known."""
    last = max(fix.curve.end, answer.horizons[0])
    ticks = [(last * third / 3, f"{last * third / 3:,.0f}") for third in range(4)]
    shares = [(share / 4, f"{share * 25}%") for share in range(5)]
    unit = "days" if answer.clock is Clock.DAYS else "km"
    watched = [f"{fix.curve.at_risk(time)}" for time, _ in ticks]
    plane = page.Chart(
        page.Axis(f"{unit} since the handover; below: cars watched", 0, last, ticks, watched),
        page.Axis("still good", 0, 1, shares),
        height=300,
        below=72,
    )
    end = last if fix.curve.known(last) else fix.curve.end
    times = [last * place / _POINTS for place in range(_POINTS + 1)]
    spans = [
        (time, survival_at(fix.curve.lives, time, answer.confidence).interval) for time in times
    ]
    steps = [(step.time, step.survival) for step in fix.curve.steps if step.time <= end]
    line = [(0.0, 1.0), *steps, (end, fix.curve.at(end))]
    thin = fix.curve.watched_by(FEW) or 0.0
    turn = (thin, fix.curve.at(thin))
    solid = [*(point for point in line if point[0] <= thin), turn]
    dashed = [turn, *(point for point in line if point[0] > thin)]
    said = (
        f"Share of cars still good after {fix.rate.label}: {percent(fix.curve.at(end))} after "
        f"{length(end, answer.clock)}; {counts(fix.rate, answer.clock)}. The band is where the "
        f"share lies by these cars alone, {percent(answer.confidence)} sure; the line is dashed "
        f"where fewer than {FEW} are watched."
    )
    return plane.draw(
        said,
        plane.band(
            [(time, span.low) for time, span in spans], [(time, span.high) for time, span in spans]
        ),
        plane.steps(solid),
        plane.steps(dashed, "main dashed"),
        plane.dots([(time, fix.curve.at(time), 2.5) for time in fix.curve.lost]),
    )
