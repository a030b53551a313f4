"""Parts that were fitted, and how many of each the next months will take."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from kb.case import Action, Attempt, Job, even
from kb.errors import Notice
from kb.progress import Progress
from kb.recurrence.demand import (
    LEAST_SPANS,
    MOST_SPANS,
    OFTEN,
    Backtest,
    Forecast,
    Use,
    backtest,
    forecast,
    usual_use,
)
from kb.safety.job_words import FIT
from kb.services.closed_cases import read_closed
from kb.statistics.summaries import known_median, usual
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

SPAN_DAYS = 91
"""A quarter of a year."""
LATEST_QUARTERS = 4
"""Quarters of which is told whether all lie on one side of what is to be expected. Of parts used
steadily, 1 to 10 a quarter, 7 to 12 in 100 are marked by luck (2,000 drawn of each)."""
COVERAGE = 0.8
"""Share of the ranges in which the count is to lie: four of five."""


class Drift(StrEnum):
    """Where the latest quarters lie beside what is to be expected, each of them."""

    ABOVE = "above"
    BELOW = "below"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartUse:
    """One part: how many were fitted in each quarter, the newest last, and what the next will take.

    Attributes
    ----------
    part : str
    counts : tuple of int
        Fitted and left on the car.
    untold : tuple of int
        Of these, where nobody wrote down whether it cured.
    in_vain : tuple of int
        Fitted beside these, and did not cure.
    ahead : Forecast
        Of `counts`.
    drift : Drift or None
        Where each of the latest quarters was above, or below, what is to be expected.
    parts_cost : float or None
        Median of what was written down.
    models : tuple of str
        Those it was fitted on most.
    """

    part: str
    counts: tuple[int, ...]
    untold: tuple[int, ...]
    in_vain: tuple[int, ...]
    ahead: Forecast
    drift: Drift | None
    parts_cost: float | None
    models: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Parts that were fitted at least twice lately, most used first, up to `until`.

    `last` is the day of the last closed job up to then. `past` tells how such ranges have held
    before; None while the past is too short.
    """

    until: date
    last: date | None
    span_days: int
    coverage: float
    notices: tuple[str, ...]
    parts: tuple[PartUse, ...]
    past: Backtest | None


@dataclass(frozen=True, slots=True)
class _Fitting:
    """One part that was fitted on a job."""

    job: Job
    closed: date
    attempt: Attempt

    @property
    def in_vain(self) -> bool:
        return self.attempt.cured is False

    @property
    def untold(self) -> bool:
        return self.attempt.cured is None


def stock(address: str, *, until: date, progress: Progress | None = None) -> Stock:
    """Count the parts that were fitted by quarter, and tell what range the next will lie in.

    Counted is every part that a closed job had replaced, whether or not a cause was proved: what
    leaves the shelf is to be ordered. What is not told to have been in vain was left on the car
    and is what the next quarter takes; what was fitted in vain is counted beside it. The quarters
    are those before `until`, whether or not anything was recorded in the last of them; what was
    closed later counts in none.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return stock_of(read_closed(work, progress, lists={"attempts"}), until)


def stock_of(jobs: Iterable[Job], until: date) -> Stock:
    """Count the parts of jobs that were read before, as `stock` does."""
    closed = [(job, job.closed) for job in jobs if job.closed and job.closed <= until]
    if not closed:
        return Stock(
            until=until,
            last=None,
            span_days=SPAN_DAYS,
            coverage=COVERAGE,
            notices=(Notice.NOTHING_CLOSED,),
            parts=(),
            past=None,
        )
    days = [day for _, day in closed]
    spans, silent = ((until - day).days // SPAN_DAYS for day in (min(days), max(days)))
    fitted = _fitted(closed)
    left = {
        part: _by_quarter((each for each in rows if not each.in_vain), until, spans)
        for part, rows in fitted.items()
    }
    usually = [
        left[part] for part, rows in fitted.items() if not all(each.in_vain for each in rows)
    ]
    enough = spans >= LEAST_SPANS
    use = usual_use(usually) if enough else None
    rows = [_use(part, fitted[part], left[part], until, use) for part in fitted if use is not None]
    return Stock(
        until=until,
        last=max(days),
        span_days=SPAN_DAYS,
        coverage=COVERAGE,
        notices=(
            *([] if enough else [Notice.SHORT_PAST]),
            *([Notice.NOTHING_LATELY] if silent else []),
        ),
        parts=tuple(sorted(filter(_is_used, rows), key=_rank)),
        past=backtest(left, COVERAGE) if enough else None,
    )


def _fitted(closed: Iterable[tuple[Job, date]]) -> dict[str, list[_Fitting]]:
    found: dict[str, list[_Fitting]] = defaultdict(list)
    for job, day in closed:
        for each in job.attempts:
            if each.action is Action.REPLACED:
                found[even(each.component)].append(_Fitting(job, day, each))
    return found


def _use(
    part: str, rows: Sequence[_Fitting], left: tuple[int, ...], until: date, use: Use
) -> PartUse:
    ahead = forecast(left, use, COVERAGE)
    return PartUse(
        part=FIT.named(usual(each.attempt.component for each in rows) or part),
        counts=left,
        untold=_by_quarter((each for each in rows if each.untold), until, len(left)),
        in_vain=_by_quarter((each for each in rows if each.in_vain), until, len(left)),
        ahead=ahead,
        drift=_drift(left[-LATEST_QUARTERS:], ahead.mean),
        parts_cost=known_median(each.attempt.parts_cost for each in rows),
        models=_models(each.job for each in rows),
    )


def _drift(latest: Sequence[int], mean: float) -> Drift | None:
    """Tell whether all of the latest quarters are above or below a mean of one or more."""
    if len(latest) < LATEST_QUARTERS or mean < 1:
        return None
    if min(latest) > mean:
        return Drift.ABOVE
    return Drift.BELOW if max(latest) < mean else None


def _is_used(part: PartUse) -> bool:
    return sum(part.counts[-MOST_SPANS:]) + sum(part.in_vain[-MOST_SPANS:]) >= OFTEN


def _rank(part: PartUse) -> tuple[float, int, str]:
    return -part.ahead.mean, -sum(part.in_vain[-MOST_SPANS:]), part.part


def _by_quarter(fitted: Iterable[_Fitting], until: date, spans: int) -> tuple[int, ...]:
    """Count in each whole quarter before a day, the oldest first."""
    places = Counter((until - each.closed).days // SPAN_DAYS for each in fitted)
    return tuple(places[place] for place in reversed(range(spans)))


def _models(jobs: Iterable[Job]) -> tuple[str, ...]:
    told = {id(job): job.vehicle for job in jobs if job.vehicle.model}
    counts = Counter(f"{each.make} {each.model}" for each in told.values())
    ranked = sorted(counts, key=lambda model: (-counts[model], model))
    return tuple(map(FIT.named, ranked[:2]))
