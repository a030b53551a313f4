"""How well each fix worked for one proven cause: at handover, and afterwards.

Every attempt is one lifetime. One that did not cure at handover failed at day 0; a comeback is a
failure on its day, counted from the day the job was closed; any other attempt is lost from sight
on the last day its car was heard of. A car never heard of again is lost at day 0: it tells of
the handover and of nothing later. Silence is never a success.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from kb.case import Action, Attempt, Job, Outcome, same_text
from kb.diagnosis.survival import Lifetime, survival_at
from kb.errors import Notice
from kb.settings import Diagnosis
from kb.statistics.intervals import Interval, wilson

NO_VISITS: Mapping[int, date] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class FixRate:
    """One fix for one cause, with the counts its rate rests on.

    The attempts tried are those not cured at handover, `comebacks`, `held`, `still_good` and
    `unheard`; these exclude one another.

    Attributes
    ----------
    words : str or None
        The shop's own words for it, the most frequent ones.
    tried : int
        Attempts of which is known whether they cured the complaint at handover.
    cured_at_handover : int
        Those that did.
    held : int
        Good when heard of at the horizon or later.
    comebacks : int
        Cured at handover, but the complaint returned within the horizon.
    still_good : int
        Good when last heard of, which was before the horizon.
    unheard : int
        Cured at handover and never heard of again.
    unknown : int
        Attempts of which nobody wrote down whether they cured; left out of everything else.
    rate : float or None
        Chance that the fix cures and holds to the horizon, median unbiased; None where the fate
        of too few attempts is known there to print a number.
    interval : Interval
        Where that chance lies.
    minutes, parts_cost : float or None
        Medians over the attempts that recorded them, in minutes and the shop's currency.
    jobs : tuple of int
        The jobs it was tried on.
    """

    action: Action
    component: str
    words: str | None
    tried: int
    cured_at_handover: int
    held: int
    comebacks: int
    still_good: int
    unheard: int
    unknown: int
    rate: float | None
    interval: Interval
    minutes: float | None
    parts_cost: float | None
    jobs: tuple[int, ...]
    notices: tuple[Notice, ...]

    @property
    def label(self) -> str:
        """One line: ``cleaned seat connector``."""
        return f"{self.action} {self.component}"


def fix_rates(
    jobs: Iterable[Job], settings: Diagnosis, *, later_visits: Mapping[int, date] = NO_VISITS
) -> tuple[FixRate, ...]:
    """Rate every fix that was tried on jobs with one and the same proven cause.

    A comeback concerns the last attempt of its job, the one left on the car. Of an earlier
    attempt only the handover counts: what came later is not its doing. The same cause proved
    again at the same place of the same car is a comeback even if nobody linked the two jobs.

    Parameters
    ----------
    jobs
        Cases that share one cause; jobs that are not closed are left out.
    settings
        Horizon, confidence, and how many fates must be known.
    later_visits
        Job number to the last day on which its car came for anything: such a car has been
        heard of.

    Returns
    -------
    tuple of FixRate
        Best first: by the lower limit of the chance to hold, so that a fix must have proved
        itself to be put first; where that says nothing, by the lower limit of the chance to
        cure at handover, then by the upper limit and by the minutes it takes.

    References
    ----------
    Estimate and interval: `kb.diagnosis.survival.survival_at`.
    """
    closed = [job for job in jobs if job.closed is not None]
    of_car: dict[tuple[str, str] | None, list[Job]] = defaultdict(list)
    for job in closed:
        of_car[job.vehicle.key].append(job)
    of_car.pop(None, None)
    groups: dict[tuple[str, str], list[_Trial]] = defaultdict(list)
    for job in closed:
        for trial in _trials(job, of_car[job.vehicle.key], later_visits):
            groups[trial.attempt.fix].append(trial)
    return tuple(sorted((_rate(trials, settings) for trials in groups.values()), key=_worse))


@dataclass(frozen=True, slots=True)
class _Trial:
    """One attempt; `life` is None where nobody wrote down whether it cured."""

    attempt: Attempt
    job: int | None
    life: Lifetime | None


def _trials(job: Job, of_car: Sequence[Job], later_visits: Mapping[int, date]) -> Iterable[_Trial]:
    for place, attempt in enumerate(job.attempts, start=1):
        life = None
        if attempt.cured is False:
            life = Lifetime(0, failed=True)
        elif attempt.cured and place < len(job.attempts):
            life = Lifetime(0, failed=False)
        elif attempt.cured:
            life = _after_handover(job, of_car, later_visits)
        yield _Trial(attempt, job.number, life)


def _after_handover(job: Job, of_car: Sequence[Job], later_visits: Mapping[int, date]) -> Lifetime:
    comebacks = [each.on for each in job.contacts if each.outcome is Outcome.COMEBACK]
    comebacks += [other.opened for other in of_car if _again(job, other)]
    heard = [each.on for each in job.contacts if each.outcome is not Outcome.COMEBACK]
    if job.number is not None and job.number in later_visits:
        heard.append(later_visits[job.number])
    last = min(comebacks) if comebacks else max(heard, default=job.closed)
    return Lifetime(max(0, _days(job, last)), failed=bool(comebacks))


def _again(job: Job, other: Job) -> bool:
    """Whether another job of the same car and cause came after this one, at the same place."""
    if job.closed is None or other is job or other.opened <= job.closed:
        return False
    here, there = job.cause and job.cause.position, other.cause and other.cause.position
    return not (here and there) or same_text(here, there)


def _days(job: Job, day: date | None) -> int:
    return (day - job.closed).days if day and job.closed else 0


def _rate(trials: Sequence[_Trial], settings: Diagnosis) -> FixRate:
    horizon = settings.horizon_days
    lives = [trial.life for trial in trials if trial.life is not None]
    cured = [trial.life for trial in trials if trial.life is not None and trial.attempt.cured]
    seen = survival_at(lives, horizon, settings.confidence)
    known = seen.failed + seen.beyond
    good = [life.time for life in cured if not life.failed and life.time < horizon]
    attempts = [trial.attempt for trial in trials]
    return FixRate(
        action=attempts[0].action,
        component=_usual(attempt.component for attempt in attempts) or "",
        words=_usual(attempt.words for attempt in attempts),
        tried=len(lives),
        cured_at_handover=len(cured),
        held=seen.beyond,
        comebacks=sum(life.failed and life.time <= horizon for life in cured),
        still_good=sum(time > 0 for time in good),
        unheard=sum(time == 0 for time in good),
        unknown=len(trials) - len(lives),
        rate=seen.median_unbiased if known >= settings.least_known else None,
        interval=seen.interval,
        minutes=_median(attempt.minutes for attempt in attempts),
        parts_cost=_median(attempt.parts_cost for attempt in attempts),
        jobs=tuple(dict.fromkeys(trial.job for trial in trials if trial.job is not None)),
        notices=tuple(_notices(cured, len(lives), known, settings)),
    )


def _notices(
    cured: Sequence[Lifetime], tried: int, known: int, settings: Diagnosis
) -> Iterable[Notice]:
    if not tried:
        yield Notice.HANDOVER_UNKNOWN
        return
    if tried == 1:
        yield Notice.ONE_REPAIR
    if cured and not any(life.time or life.failed for life in cured):
        yield Notice.NO_FOLLOW_UP
    elif known < settings.least_known <= tried:
        yield Notice.FEW_FOLLOWED


def _worse(fix: FixRate) -> tuple[float, float, float, float, str]:
    """Sort key: the smaller, the better the fix."""
    at_handover = wilson(fix.cured_at_handover, fix.tried)
    slow = float("inf") if fix.minutes is None else fix.minutes
    return (-fix.interval.low, -at_handover.low, -fix.interval.high, slow, fix.label)


def _usual(texts: Iterable[str | None]) -> str | None:
    """Return the most frequent text, the first met of equals."""
    counted = Counter(text for text in texts if text)
    return counted.most_common(1)[0][0] if counted else None


def _median(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return float(median(known)) if known else None
