"""Parts that cured, and how many of each the next months will take."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from kb.case import Action, Job, even
from kb.errors import Notice
from kb.progress import Progress
from kb.recurrence.demand import (
    LEAST_SPANS,
    MOST_SPANS,
    OFTEN,
    Backtest,
    Forecast,
    backtest,
    forecast,
    usual_use,
)
from kb.safety.job_words import FIT
from kb.services.closed_cases import read_cases
from kb.statistics.summaries import known_median, usual
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

SPAN_DAYS = 91
"""A quarter of a year."""
COVERAGE = 0.8
"""Share of the ranges in which the count is to lie: four of five."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartUse:
    """One part: fitted in each quarter of the past, the newest last, and what the next will take.

    `models` are those it was fitted on most; `parts_cost` is the median of what was written down.
    """

    part: str
    counts: tuple[int, ...]
    ahead: Forecast
    parts_cost: float | None
    models: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Parts that were fitted and cured at least twice lately, most used first, up to `until`.

    `last` is the day of the last closed case up to then. `past` tells how such ranges have held
    before; None while the past is too short.
    """

    until: date
    last: date | None
    span_days: int
    coverage: float
    notices: tuple[str, ...]
    parts: tuple[PartUse, ...]
    past: Backtest | None


def stock(address: str, *, until: date, progress: Progress | None = None) -> Stock:
    """Count the parts that cured by quarter, and tell what range the next one will lie in.

    A part is what was replaced and left on a car that went without the complaint; parts fitted in
    vain are none to keep. The quarters are those before `until`, whether or not anything was
    recorded in the last of them; what was closed later counts in none.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        every = read_cases(work, progress, lists={"attempts"})
        cases = [job for job in every if job.closed and job.closed <= until]
    fitted: dict[str, list[Job]] = defaultdict(list)
    for job in cases:
        for part in {
            even(each.component)
            for each in job.attempts
            if each.action is Action.REPLACED and each.cured
        }:
            fitted[part].append(job)
    closed = [job.closed for job in cases if job.closed]
    if not closed:
        return Stock(
            until=until,
            last=None,
            span_days=SPAN_DAYS,
            coverage=COVERAGE,
            notices=(Notice.NO_CASES,),
            parts=(),
            past=None,
        )
    last = max(closed)
    spans = (until - min(closed)).days // SPAN_DAYS
    counts = {part: _by_quarter(jobs, until, spans) for part, jobs in fitted.items()}
    enough = spans >= LEAST_SPANS
    use = usual_use([row[-spans:] for row in counts.values()]) if enough else None
    rows = [
        PartUse(
            part=FIT.named(_named(part, fitted[part])),
            counts=counts[part],
            ahead=forecast(counts[part], use, COVERAGE),
            parts_cost=_cost(part, fitted[part]),
            models=_models(fitted[part]),
        )
        for part in fitted
        if use is not None and sum(counts[part][-MOST_SPANS:]) >= OFTEN
    ]
    silent = (until - last).days >= SPAN_DAYS
    return Stock(
        until=until,
        last=last,
        span_days=SPAN_DAYS,
        coverage=COVERAGE,
        notices=(
            *([] if enough else [Notice.SHORT_PAST]),
            *([Notice.NOTHING_LATELY] if silent else []),
        ),
        parts=tuple(sorted(rows, key=lambda row: (-row.ahead.mean, row.part))),
        past=backtest(counts, COVERAGE) if enough else None,
    )


def _by_quarter(jobs: list[Job], until: date, spans: int) -> tuple[int, ...]:
    """Count the jobs in each whole quarter before a day, the oldest first."""
    counts = [0] * spans
    for job in jobs:
        if job.closed is not None:
            place = (until - job.closed).days // SPAN_DAYS
            if place < spans:
                counts[spans - 1 - place] += 1
    return tuple(counts)


def _named(part: str, jobs: list[Job]) -> str:
    names = (
        each.component for job in jobs for each in job.attempts if even(each.component) == part
    )
    return usual(names) or part


def _cost(part: str, jobs: list[Job]) -> float | None:
    return known_median(
        each.parts_cost
        for job in jobs
        for each in job.attempts
        if even(each.component) == part and each.action is Action.REPLACED
    )


def _models(jobs: list[Job]) -> tuple[str, ...]:
    counts: dict[str, int] = defaultdict(int)
    for job in jobs:
        if job.vehicle.model:
            counts[f"{job.vehicle.make} {job.vehicle.model}"] += 1
    ranked = sorted(counts, key=lambda model: (-counts[model], model))
    return tuple(map(FIT.named, ranked[:2]))
