"""Fixes of a cause as a page for the browser that stands alone."""

from collections.abc import Iterator

from kb.rates.fixes import FixCurve
from kb.rates.survival import Lifetime, survival_at
from kb.rates.trials import Clock
from kb.reports import page
from kb.reports.fix_curve import length
from kb.reports.fixes import between, counts, heading, rate, reading_help, told
from kb.reports.labels import percent
from kb.safety.hazards import DEFERENCE
from kb.services.fixes import FixesAnswer, RatedFix

_POINTS = 60
"""Times at which the interval of a curve is drawn: every eighth pixel or so."""


def to_html(answer: FixesAnswer) -> str:
    """Return the page: cautions, a table of all fixes, then each with its curve."""
    cautions = (*answer.cautions, DEFERENCE) if answer.cautions else ()
    return page.document(
        heading(answer),
        *(page.paragraph(f"Caution: {line}") for line in cautions),
        *(page.paragraph(line, soft=True) for line in (*answer.notices, *reading_help(answer))),
        _table(answer),
        *(part for fix in answer.fixes if fix.rate.tried for part in _fix(answer, fix)),
    )


def _table(answer: FixesAnswer) -> str:
    header = ("fix", "cured", "tried", "held", "came back", "not heard of", "rate", "interval")
    rows = []
    for own in (each.rate for each in answer.fixes):
        counted = (own.cured_at_handover, own.tried, own.held, own.comebacks, own.unheard)
        share = "too few" if own.rate is None else percent(own.rate)
        rows.append((own.label, *map(str, counted), share, between(own.interval)))
    return page.table(header, rows)


def _fix(answer: FixesAnswer, fix: RatedFix) -> Iterator[str]:
    yield page.heading(f"{fix.rate.label}: {rate(fix.rate)}")
    yield page.paragraph("; ".join(told(fix)) + ".")
    yield _chart(answer, fix)
    curve, times = fix.curve, [answer.horizon * third / 3 for third in range(4)]
    shares = (percent(curve.at(time)) if curve.known(time) else "–" for time in times)
    yield page.table(
        ("", *(length(time, answer.clock) for time in times)),
        [
            ("share still good", *shares),
            ("cars watched", *(f"{curve.at_risk(time)}" for time in times)),
        ],
    )


def _chart(answer: FixesAnswer, fix: RatedFix) -> str:
    horizon = answer.horizon
    ticks = [(horizon * third / 3, f"{horizon * third / 3:,.0f}") for third in range(4)]
    shares = [(share / 4, f"{share * 25}%") for share in range(5)]
    unit = "days" if answer.clock is Clock.DAYS else "km"
    chart = page.Chart(
        page.Axis(f"{unit} since the handover", 0, horizon, ticks),
        page.Axis("still good", 0, 1, shares),
        height=280,
    )
    end = horizon if fix.curve.known(horizon) else fix.curve.end
    times = [horizon * place / _POINTS for place in range(_POINTS + 1)]
    lives = _lives(fix.curve)
    spans = [(time, survival_at(lives, time, answer.confidence).interval) for time in times]
    steps = [(step.time, step.survival) for step in fix.curve.steps if step.time <= end]
    line = [(0.0, 1.0), *steps, (end, fix.curve.at(end))]
    said = (
        f"Share of cars still good after {fix.rate.label}: {percent(fix.curve.at(end))} after "
        f"{length(end, answer.clock)}; {counts(fix.rate)}. The band is where the share lies by "
        f"these cars alone, {percent(answer.confidence)} sure."
    )
    return chart.draw(
        said,
        chart.band(
            [(time, span.low) for time, span in spans], [(time, span.high) for time, span in spans]
        ),
        chart.steps(line),
        chart.dots([(time, fix.curve.at(time), 2.5) for time in fix.curve.lost if time <= horizon]),
    )


def _lives(curve: FixCurve) -> list[Lifetime]:
    failed = [Lifetime(step.time, True) for step in curve.steps for _ in range(step.failed)]
    return [*failed, *(Lifetime(time, False) for time in curve.lost)]
