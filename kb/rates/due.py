"""Which cars should be asked after: those of which an answer would change most what is read."""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from math import sqrt

import numpy as np

from kb.case import LaterVisit, Outcome, RepairRecord, System
from kb.rates.returns import is_told_the_same, system_of
from kb.rates.shrinkage import Posterior, StagedHistory, beyond
from kb.rates.survival import Lifetime
from kb.rates.trials import Trial, trials
from kb.settings import FollowUpSettings, RateSettings

GRAVE = frozenset(
    {
        System.RESTRAINTS,
        System.BRAKES_WHEEL_SPEED,
        System.STEERING_SUSPENSION,
        System.HIGH_VOLTAGE,
    }
)
"""Systems whose failure can hurt somebody."""
LEAST_WIDTH = 0.0005
"""What an answer must be expected to take off the rates, in shares: less is told as 0.0 points."""
_WIDE = 4.0
"""Standard deviations that lie between the ends of a 95% interval, about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One fix left on a car, of which it is not known that it held.

    Attributes
    ----------
    days : int
        Since the handover.
    good_until : int
        Days after it at which the car was last said to be good, 0: never.
    seen_until : int
        The same, or when it was seen for something else after that.
    risk : float or None
        Chance that the fix has failed unheard, by what this fix and those like it did; None where
        of no car with it anything is known after the handover.
    width : float
        What an answer is expected to take off the widths of the fix's rates at all horizons
        together, in shares.
    cases : int
        How many cases the cause has: its rates are read as often as it comes.
    grave : bool
        Whether it is on a system whose failure can hurt somebody.
    back : LaterVisit or None
        The first return that nobody has judged, however late: until then no page knows if it held.
    untold : bool
        Whether nothing at all is known of the fix, as nobody wrote down whether it cured.
    car : hashable
        What tells its car from others, as far as anything does.
    perhaps : tuple of int
        Other jobs to ask about whose car, without a tag, is likely this one.
    """

    job: int
    fix: str
    days: int
    good_until: int
    seen_until: int
    risk: float | None
    width: float
    cases: int
    grave: bool
    back: LaterVisit | None
    untold: bool
    car: Hashable
    perhaps: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Unheard:
    """How many of the cars that left cured were never heard of, and what rests on them.

    `fixes` are those with a rate of their own; `resting` of these have more cars never heard of
    than others.
    """

    cars: int
    of_cars: int
    resting: int
    fixes: int


@dataclass(frozen=True, slots=True)
class Calls:
    """Which fixes to ask after, in order.

    `rested` others were asked after lately; `past` left so long ago that nobody is to ring them,
    though an answer would count. `same_car` more wait until one that is listed is answered, as
    their cars, without a tag, are likely the same. `fresh` ones left so lately that there is
    nothing to ask yet; of the `needless` an answer would change no rate (`LEAST_WIDTH`).
    """

    cars: tuple[Due, ...]
    rested: int
    past: int
    same_car: int
    fresh: int
    needless: int
    unheard: Unheard


def due(
    repairs: Iterable[RepairRecord],
    history: StagedHistory,
    rates: RateSettings,
    settings: FollowUpSettings,
    today: date,
    one_car: Mapping[int, Hashable] | None = None,
) -> Calls:
    """List the fixes to ask after: returns to be judged first, then by what an answer changes.

    That is `weighed`; of equals the first handed over comes first. Before other returns come those
    of which the customer said that it is the same (`kb.rates.returns.is_told_the_same`). A car that
    was asked after in vain rests for some days, whichever of its jobs it was asked about. Of jobs
    without a tag that are likely of one car one is asked about at a time. A
    return is judged at the desk: it rests where somebody looked at it and could not tell.

    Parameters
    ----------
    repairs : iterable of RepairRecord
        Every case of the store.
    history : StagedHistory
        What the shop's fixes say of one another, in days.
    one_car : mapping, optional
        Which car a job without a key tag or VIN is likely of.
    """

    def car_of(job: int, car: Hashable) -> Hashable:
        """Tell one car from another; one of which nothing is known by its job alone."""
        if one_car and job in one_car:
            return "likely", one_car[job]
        return ("job", job) if car is None else ("car", car)

    known = {repair.number: repair for repair in repairs}
    cases = Counter(repair.cause for repair in known.values())
    asked = _asked(known.values(), car_of)
    groups: dict[Hashable, list[Trial]] = defaultdict(list)
    for trial in trials(known.values(), rates):
        groups[trial.cause, (trial.tried.fix, trial.never_reproduced)].append(trial)
    found, rested, past, fresh, needless = [], 0, 0, 0, 0
    for group in groups.values():
        judge = _Judge(history, group)
        for trial in group:
            repair = known[trial.job]
            days = (today - repair.closed).days
            if not _is_open(trial, history.horizons[-1]):
                continue
            if trial.back is None and _is_fresh(trial, days, settings):
                fresh += 1
                continue
            if trial.back is None and days > settings.last_days:
                past += 1
                continue
            car = car_of(trial.job, trial.car)
            in_vain = asked.get(car)
            last = _puzzled(repair, trial.back) if trial.back else in_vain
            if last and last + timedelta(settings.rest_days) > today:
                rested += 1
                continue
            width = judge.narrowing(trial, days)
            if trial.back is None and width < LEAST_WIDTH:
                needless += 1
                continue
            found.append(
                Due(
                    job=trial.job,
                    fix=f"{trial.tried.action} {trial.tried.component}",
                    days=days,
                    good_until=int(trial.lives[-1].time) if trial.lives else 0,
                    seen_until=int(trial.life.time) if trial.life else 0,
                    risk=judge.risk(trial, days),
                    width=width,
                    cases=cases[trial.cause],
                    grave=system_of(repair.system, repair.complaint) in GRAVE,
                    back=trial.back,
                    untold=not trial.lives,
                    car=car,
                )
            )
    order = sorted(
        found,
        key=lambda each: (_turn(each.back), -weighed(each, settings), -each.days, each.job),
    )
    calls = _once_a_call(order, one_car or {})
    same_car = len(order) - len(calls)
    unheard = _unheard(groups.values())
    return Calls(calls, rested, past, same_car, fresh, needless, unheard)


def _once_a_call(order: Sequence[Due], one_car: Mapping[int, Hashable]) -> tuple[Due, ...]:
    """Leave of those that are likely of one car the first, with the jobs of the others."""
    likely: dict[Hashable, list[int]] = defaultdict(list)
    for each in order:
        if each.job in one_car:
            likely[each.car].append(each.job)
    found = []
    for each in order:
        first, *others = likely.get(each.car, [each.job])
        if each.job == first or each.job not in one_car:
            found.append(replace(each, perhaps=tuple(others)))
    return tuple(found)


def _turn(back: LaterVisit | None) -> int:
    if back is None:
        return 2
    return 0 if is_told_the_same(back) else 1


def weighed(each: Due, settings: FollowUpSettings) -> float:
    """Return what the list is sorted by: the width times the cases, grave systems counted more."""
    return each.width * each.cases * (settings.grave if each.grave else 1)


class _Judge:
    """What an answer about one car would do to the rates of the fix it had.

    Each answer there may be is weighed by its chance, as a preposterior analysis does (Raiffa &
    Schlaifer, "Applied statistical decision theory", 1961; from memory).
    """

    def __init__(self, history: StagedHistory, group: Sequence[Trial]) -> None:
        self._history = history
        self._fix = group[0].tried.fix
        self._group = [trial for trial in group if not trial.again]
        self._lives = [life for trial in self._group for life in trial.lives]
        self._curve: tuple[list[float], list[float]] | None = None

    def risk(self, trial: Trial, days: int) -> float | None:
        """Chance that it has failed unheard, up to the longest horizon."""
        if not any(life.time for life in self._lives):
            return None
        since, until = _span(trial, days, self._history.horizons[-1])
        before, after = self._left([since, until])
        return 1 - after / before

    def narrowing(self, trial: Trial, days: int) -> float:
        """Return how much narrower the rates are expected to be once it is known how it fared."""
        if trial.again or not (trial.lives or trial.may_be_told):
            return 0.0  # no rate counts it
        others = [life for each in self._group if each is not trial for life in each.lives]
        answers = _judgements(trial) if trial.back else self._answers(trial, days)
        return narrowing(
            (chance, self._history.posteriors(self._fix, [*others, *lives]))
            for chance, lives in answers
        )

    def _answers(self, trial: Trial, days: int) -> Iterator[tuple[float, tuple[Lifetime, ...]]]:
        """Yield each answer's chance and what would then be known: it failed by then, or held."""
        since, until = _span(trial, days, self._history.horizons[-1])
        ends = [since, *(h for h in self._history.horizons if since < h < until), until]
        left = self._left(ends)
        for (start, end), (before, after) in zip(pairwise(ends), pairwise(left), strict=True):
            yield (before - after) / left[0], (Lifetime((start + end) / 2, failed=True),)
        yield left[-1] / left[0], (Lifetime(until, failed=False),)

    def _left(self, times: Sequence[float]) -> list[float]:
        """Return the share of cured cars expected to be still good at some times."""
        if self._curve is None:
            edges, left = [0.0], [1.0]
            for start, stage in zip(
                (0.0, *self._history.horizons), self._history.stages, strict=False
            ):
                then = stage.left(self._fix, beyond(self._lives, start))
                edges += [start + edge for edge in stage.kinds.edges[1:]]
                left += [left[-1] * share for share in then[1:]]
            self._curve = edges, left
        return [float(share) for share in np.interp(times, *self._curve)]


def narrowing(answers: Iterable[tuple[float, Sequence[Posterior]]]) -> float:
    """Return how much narrower shares are expected to be, once it is known which answer is true.

    Parameters
    ----------
    answers : iterable of tuple
        The chance of each answer, and what would then be believed of each share.

    Returns
    -------
    float
        The sum over the shares of how far about their 95% ranges are expected to shrink, at
        least 0: four standard deviations of all answers mixed, less those of each answer by its
        chance.

    Examples
    --------
    >>> round(narrowing([(0.5, [Posterior(5, 1)]), (0.5, [Posterior(4, 2)])]), 3)
    0.086
    """
    chances, beliefs = zip(*answers, strict=True)
    total = 0.0
    for told in zip(*beliefs, strict=True):
        middle = sum(c * each.mean for c, each in zip(chances, told, strict=True))
        spreads = [_variance(each) for each in told]
        mixed = sum(
            c * (spread + (each.mean - middle) ** 2)
            for c, each, spread in zip(chances, told, spreads, strict=True)
        )
        known = sum(c * sqrt(spread) for c, spread in zip(chances, spreads, strict=True))
        total += _WIDE * (sqrt(mixed) - known)
    return total


def _judgements(trial: Trial) -> Iterator[tuple[float, tuple[Lifetime, ...]]]:
    """Yield what would be known of a return that is judged; nobody knows which is likelier."""
    yield 0.5, trial.if_same
    yield 0.5, trial.if_other


def _span(trial: Trial, days: int, horizon: float) -> tuple[float, float]:
    """Return from when until when it is not known how a car fared, within the horizon."""
    since = trial.life.time if trial.life else 0.0
    return since, max(since, min(days, horizon))


def _variance(belief: Posterior) -> float:
    return belief.mean * (1 - belief.mean) / (belief.a + belief.b + 1)


def _is_open(trial: Trial, horizon: float) -> bool:
    """Whether it is not known how the fix left on a car fared up to the longest horizon."""
    if not trial.left or trial.tried.cured is False:
        return False
    life = trial.life
    if life is not None and life.failed:
        return False
    return trial.back is not None or life is None or life.time < horizon


def _is_fresh(trial: Trial, days: int, settings: FollowUpSettings) -> bool:
    """Whether it was handed over, or its car heard of, so lately that there is nothing to ask."""
    since = trial.life.time if trial.life else 0
    return days - since < settings.first_days


def _asked(
    repairs: Iterable[RepairRecord], car_of: Callable[[int, Hashable], Hashable]
) -> dict[Hashable, date]:
    """Return when each car was last asked after in vain."""
    found: dict[Hashable, date] = {}
    for repair in repairs:
        for each in repair.contacts:
            if each.outcome is Outcome.NOT_TOLD:
                car = car_of(repair.number, repair.car)
                found[car] = max(each.on, found.get(car, each.on))
    return found


def _puzzled(repair: RepairRecord, back: LaterVisit) -> date | None:
    """Return when somebody last looked at a return and could not tell what it was."""
    return max(
        (
            each.on
            for each in repair.contacts
            if each.outcome is Outcome.NOT_TOLD and each.job == back.number
        ),
        default=None,
    )


def _unheard(groups: Iterable[Sequence[Trial]]) -> Unheard:
    left_cured: set[Hashable] = set()
    heard_of: set[Hashable] = set()
    resting = fixes = 0
    for group in groups:
        left = [t for t in group if t.tried.cured and t.left]
        left_cured.update(map(_car_of, left))
        heard_of.update(_car_of(t) for t in left if not _silent(t))
        counted = [t for t in group if not t.again]
        silent = sum(_silent(t) for t in counted if t.tried.cured and t.left)
        tried = sum(bool(t.lives) for t in counted)
        fixes, resting = fixes + bool(tried), resting + (2 * silent > tried)
    return Unheard(len(left_cured - heard_of), len(left_cured), resting, fixes)


def _silent(trial: Trial) -> bool:
    return trial.lives == (Lifetime(0, failed=False),) and not trial.back


def _car_of(trial: Trial) -> Hashable:
    return ("job", trial.job) if trial.car is None else ("car", trial.car)
