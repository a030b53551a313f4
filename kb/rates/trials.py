"""From repairs to lifetimes: how long each fix that was tried is known to have held.

Every fix that was tried on a job is one lifetime, however often it was tried there; several jobs of
one car for one cause are not independent, so its first one counts. One that did
not cure at handover failed at time 0; a comeback is a failure at its time, counted from the day the
job was closed; any other is lost from sight when its car was last heard of. A car never heard of
again is lost at time 0: it tells of the handover and of nothing later. Silence is not a success,
unless a shop wants it so (`Silence`).

A car was good at its handover, and on a day on which its fix was told to hold. A comeback told for
such a day, which also stands for one that nobody could tell, came after that: it counts for the day
after. At time 0 are so only fixes that did not cure, for which every car is at risk, those never
heard of, too; for what came back soonest only those are that were heard of.

Where nobody wrote down whether the fix left on a car cured, what was heard of it since tells: a
comeback, or that it held. Without any of that it stays left out.

A car seen for something else was heard of only as far as the complaint would have been told then:
its lifetime is split in two, `kb.settings.RateSettings.would_tell`. A return for something alike
which nobody has judged (`kb.rates.returns`) ends what is known on its day: until then the car was
seen, and no more, unless it was asked after. The lifetimes that there would be if it was the same
fault, or was not, are told as well.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from operator import itemgetter
from statistics import median
from typing import NamedTuple

from kb.case import LaterVisit, Outcome, RepairRecord, Tried
from kb.rates.returns import (
    answers,
    came_again,
    denied_again,
    is_undated,
    mended_again,
    unjudged,
)
from kb.rates.survival import Lifetime
from kb.settings import RateSettings

USUAL_KM_PER_DAY = 40.0
"""About 15,000 km a year (common practice, no source); only where no odometer tells more."""

MOST_KM_PER_DAY = 1_000
"""What one car hardly does, day after day (by judgement): a gain above it was misread."""


class Clock(StrEnum):
    """What a fix's time is counted in."""

    DAYS = "days"
    KM = "km"


@dataclass(frozen=True, slots=True)
class Silence:
    """A shop's wish: a car not heard of for so many days until today counts as held."""

    days: int
    today: date


Lives = tuple[Lifetime, ...]
"""What is known of one attempt: one lifetime, or several that share it by weight."""


@dataclass(frozen=True, slots=True)
class Trial:
    """One fix on one job.

    Attributes
    ----------
    tried : Tried
        The last try that tells whether it cured, with the minutes and parts of all of them; it
        cured, too, where that was told later (`told_later`).
    times : int
        How often it was tried on the job.
    left : bool
        Whether it was the last thing tried: what was left on the car.
    cause : hashable
        What it was tried for: the job's cause, unless a last fix was for another supposed one.
    lives : tuple of Lifetime
        What is known, the longest first; empty where nobody told whether it cured.
    back : LaterVisit or None
        The first return for something alike that nobody has judged.
    if_same, if_other : tuple of Lifetime
        What would be known if that return was for the same fault, and if no such return was; the
        same as `lives` where there is none.
    reckoned : bool
        Whether its kilometres were reckoned from days, as no odometer tells them.
    denied : LaterVisit or None
        The first visit that proved the same cause again, though somebody said that it was for
        another; that answer counts.
    never_reproduced : bool
        Whether the fault was never seen to occur here.
    told_later : bool
        Whether nobody wrote down at the handover if it cured, and what was heard since tells.
    undated : bool
        Whether it came back on a day that is not told but by one on which it was good.
    before : Tried or None
        Where it cured in the end, what of it had been tried on the job and had not cured, as one.
    again : bool
        Whether another job of its car tells of the same fix for the same cause. A rate counts a
        car once, by the first of its jobs that tells: counting all takes one car's fault, or its
        owner, for proof of many, and a share of each would favour fixes that fail, as every
        comeback adds a job.
    """

    tried: Tried
    times: int
    left: bool
    job: int
    car: Hashable
    cause: Hashable
    lives: Lives
    back: LaterVisit | None
    if_same: Lives
    if_other: Lives
    reckoned: bool
    denied: LaterVisit | None
    never_reproduced: bool
    told_later: bool = False
    undated: bool = False
    before: Tried | None = None
    again: bool = False

    @property
    def kind(self) -> Hashable:
        """What is rated together: the same fix for the same cause."""
        return self.cause, self.tried.fix, self.never_reproduced

    @property
    def of(self) -> tuple[int, tuple[str, str]]:
        """Job and fix: what tells one trial from every other."""
        return self.job, self.tried.fix

    @property
    def life(self) -> Lifetime | None:
        """The longest lifetime: until when its car is known to have been good, or failed."""
        return self.lives[0] if self.lives else None

    @property
    def may_be_told(self) -> bool:
        """Whether an answer about its car would tell of a fix that nothing is known of yet."""
        return self.left and not self.lives

    def surely_outlasts(self, horizon: float) -> bool:
        """Whether it was told, and not only seen, that it was good at a horizon or later."""
        return all(life.outlasts(horizon) for life in self.lives)

    def is_back_within(self, horizon: float) -> bool:
        """Whether a return that nobody has judged was within a horizon."""
        return self.back is not None and self.if_same[0].time <= horizon


def trials(
    repairs: Iterable[RepairRecord],
    settings: RateSettings,
    clock: Clock = Clock.DAYS,
    silence: Silence | None = None,
) -> Iterator[Trial]:
    """Turn every fix tried on some repairs into what is known of it.

    A fix that was tried several times on one job counts once, by how the last try ended. Where the
    fix left on the car is told to have been for another cause than the job's, because the cause was
    found to be wrong and written anew, it counts for the one it was tried for: a wrong diagnosis is
    the usual way a fix fails. An earlier one counts for the job's cause, whatever was thought.

    A comeback concerns the last attempt of its job, the one left on the car, whether or not
    somebody wrote down that it cured. Of an earlier
    attempt only the handover counts: what came later is not its doing. Where something tried after
    it on the job did not cure, or cured as well and was not for another cause, the complaint was
    still there, and whether the earlier one cured is taken as not told. The same cause proved
    again at the same place of the same car is a comeback even if nobody linked the two jobs, as
    `kb.rates.returns.came_again` tells. What is said to have been heard
    before the handover counts for nothing. Later jobs of a car are marked (`Trial.again`).

    An attempt without a component is none of which an outcome counts: it keeps its place among the
    others, and is no trial.

    Where an odometer is missing, ran backwards or gained too much (`most_km`), kilometres are
    reckoned from days at what the other cars do (`km_per_day`), and said to be. Without `silence`
    it tells nothing.
    """
    known = list(repairs)
    pace = km_per_day(known) if clock is Clock.KM else None
    found = [
        (repair.closed, trial)
        for repair in known
        for trial in _of_job(repair, settings, pace, silence)
    ]
    counted = _counted(found)
    for _, trial in found:
        spare = (
            trial.car is not None and trial.lives and trial.job != counted[trial.car, trial.kind]
        )
        yield replace(trial, again=True) if spare else trial


def _counted(found: Iterable[tuple[date, Trial]]) -> dict[tuple[Hashable, Hashable], int]:
    """Return the job that tells of each car and fix: the first.

    Of jobs handed over on one day that whose fix failed, else that whose car was good for longest.
    """
    jobs: dict[tuple[Hashable, Hashable], tuple[int, bool, float, int]] = {}
    for closed, trial in found:
        if trial.life is not None:
            of_car = trial.car, trial.kind
            told = -closed.toordinal(), trial.life.failed, trial.life.time, trial.job
            jobs[of_car] = max(told, jobs.get(of_car, told))
    return {of_car: told[-1] for of_car, told in jobs.items()}


def _of_job(
    repair: RepairRecord, settings: RateSettings, pace: float | None, silence: Silence | None
) -> Iterator[Trial]:
    last = len(repair.attempts)
    for places in _tries(repair.attempts):
        place, tried = _in_the_end(repair.attempts, places)
        if not tried.component:
            continue
        told, left = _NOTHING, places[-1] == last
        if tried.cured is False:
            told = _NEVER_CURED
        elif tried.cured and place < last:
            told = _NOTHING if _overtaken(repair.attempts[place:]) else _UNHEARD
        elif tried.cured:
            told = _after_handover(repair, settings, pace, silence)
        if left and tried.cured is not False and repair.attempts[-1].cured is None:
            told = _by_what_was_heard(repair, told.lives, settings, pace, silence)
        told_later = tried.cured is None and bool(told.lives)
        cause = left and repair.attempts[-1].supposed
        yield Trial(
            tried._replace(cured=True) if told_later else tried,
            len(places),
            left,
            repair.number,
            repair.car,
            cause or repair.cause,
            *told[:-1],
            repair.reproduced is False,
            told_later,
            told.undated,
            _in_vain_before(repair.attempts, places) if tried.cured else None,
        )


def _overtaken(later: Iterable[Tried]) -> bool:
    """Whether what was tried later on a job shows that the complaint was still there."""
    return any(each.cured is False or (each.cured and not each.supposed) for each in later)


def _tries(attempts: Sequence[Tried]) -> Iterable[list[int]]:
    """Group the places of attempts, counted from 1, by what was done."""
    found: dict[tuple[str, str], list[int]] = defaultdict(list)
    for place, each in enumerate(attempts, start=1):
        found[each.fix].append(place)
    return found.values()


def _in_the_end(attempts: Sequence[Tried], places: Sequence[int]) -> tuple[int, Tried]:
    """Return the last try that tells whether it cured, with what all of them took."""
    tries = [attempts[place - 1] for place in places]
    told = [n for n, each in enumerate(tries) if each.cured is not None]
    end = told[-1] if told else -1
    return places[end], _as_one(tries, tries[end])


def _in_vain_before(attempts: Sequence[Tried], places: Sequence[int]) -> Tried | None:
    """Return the tries that did not cure, as one, of something that cured in the end."""
    vain = [each for each in (attempts[place - 1] for place in places) if each.cured is False]
    return _as_one(vain, vain[-1]) if vain else None


def _as_one(tries: Sequence[Tried], told: Tried) -> Tried:
    """Return what one try tells, with what all of them took."""
    if len(tries) == 1:
        return told
    minutes = [each.minutes for each in tries if each.minutes is not None]
    costs = [each.parts_cost for each in tries if each.parts_cost is not None]
    return told._replace(
        minutes=sum(minutes) if minutes else None, parts_cost=sum(costs) if costs else None
    )


Moment = tuple[date, int | None]
"""A day and the odometer, if it is known."""


class _Told(NamedTuple):
    """As in `Trial`."""

    lives: Lives
    back: LaterVisit | None
    if_same: Lives
    if_other: Lives
    reckoned: bool
    denied: LaterVisit | None = None
    undated: bool = False


_NOTHING = _Told((), None, (), (), reckoned=False)


def _sure(*lives: Lifetime, reckoned: bool = False, denied: LaterVisit | None = None) -> _Told:
    return _Told(lives, None, lives, lives, reckoned, denied)


_NEVER_CURED, _UNHEARD = (_sure(Lifetime(0, failed)) for failed in (True, False))


def _after_handover(
    repair: RepairRecord, settings: RateSettings, pace: float | None, silence: Silence | None
) -> _Told:
    if mended_again(repair):
        repair = repair._replace(visits=())
    if not (repair.contacts or repair.visits or silence):
        return _UNHEARD
    back: list[Moment] = [
        (each.opened, each.odometer_km) for each in repair.visits if came_again(repair, each)
    ]
    asked: list[Moment] = [(repair.closed, repair.odometer_km)]
    seen: list[Moment] = [(each.opened, each.odometer_km) for each in repair.visits]
    kinds = {Outcome.COMEBACK: back, Outcome.HELD: asked, Outcome.OTHER_REASON: seen}
    for each in answers(repair):
        kinds[each.outcome].append((each.on, each.odometer_km))
    if back:
        first = min(back, key=itemgetter(0))
        failed = Lifetime(_failed_after(repair, first, asked, pace), failed=True)
        reckoned = pace is not None and _km(repair, first) is None
        return _sure(failed, reckoned=reckoned)._replace(undated=is_undated(repair, first[0]))
    told_good, last = asked, max([*asked, *seen], key=itemgetter(0))
    if silence and (silence.today - last[0]).days >= silence.days:
        asked = [last := (silence.today, None)]
    sure = max(asked, key=itemgetter(0))
    good = _good(_passed(repair, sure, pace), _passed(repair, last, pace), settings.would_tell)
    reckoned = any(_is_reckoned(repair, moment, pace) for moment in (sure, last))
    visit, denied = next(unjudged(repair), None), next(denied_again(repair), None)
    if visit is None:
        return _sure(*good, reckoned=reckoned, denied=denied)
    returned = (visit.opened, visit.odometer_km)
    time = _passed(repair, returned, pace)
    told = [_passed(repair, each, pace) for each in told_good if each[0] <= visit.opened]
    until_then = _good(min(time, max(told, default=0)), time, settings.would_tell)
    reckoned = reckoned or _is_reckoned(repair, returned, pace)
    same = Lifetime(_failed_after(repair, returned, told_good, pace), failed=True)
    return _Told(until_then, visit, (same,), good, reckoned, denied)


def _failed_after(
    repair: RepairRecord, back: Moment, told_good: Iterable[Moment], pace: float | None
) -> float:
    """Return when a fix failed that was back at a moment: after it was last told to be good."""
    unread = pace is not None and _km(repair, back) is None
    good = max(
        _passed(repair, each, pace)
        for each in told_good
        if each[0] <= max(back[0], repair.closed)
        and (unread or not _is_reckoned(repair, each, pace))
    )
    return max(_passed(repair, back, pace), good + (pace if pace and unread else 1))


def _by_what_was_heard(
    repair: RepairRecord,
    lives: Lives,
    settings: RateSettings,
    pace: float | None,
    silence: Silence | None,
) -> _Told:
    """Return what is known of the fix left on a car if nobody wrote down how its last try ended.

    A comeback tells, and the word after the handover that it held; not that a car was seen, nor
    silence. Without them the `lives` known at the handover stay. That it held is no word of this
    fix once the car was back for something alike: it may be of what was mended then.
    """
    told = _after_handover(repair, settings, pace, silence)
    held = [
        each.on
        for each in answers(repair)
        if each.outcome is Outcome.HELD and each.on > repair.closed
    ]
    if told.lives[0].failed or (held and not (told.back and told.back.opened < min(held))):
        return told
    return told._replace(
        lives=lives,
        if_same=told.if_same if told.back else lives,
        if_other=told.if_other if held else lives,
        reckoned=False,
    )


def _good(sure: float, seen: float, would_tell: float) -> Lives:
    """Return what is known of a car that was asked after at one time and seen at another."""
    if seen <= sure or not would_tell:
        return (Lifetime(sure, failed=False),)
    if would_tell == 1:
        return (Lifetime(seen, failed=False),)
    told = Lifetime(seen, failed=False, weight=would_tell)
    return (told, Lifetime(sure, failed=False, weight=1 - would_tell))


def _passed(repair: RepairRecord, moment: Moment, pace: float | None) -> float:
    """Return how long after the handover a moment is: days, or km where a pace is given."""
    days = max(0, (moment[0] - repair.closed).days)
    if pace is None:
        return days
    km = _km(repair, moment)
    return days * pace if km is None else km


def _is_reckoned(repair: RepairRecord, moment: Moment, pace: float | None) -> bool:
    """Whether kilometres are asked for, and no odometer tells how many they were."""
    return pace is not None and moment[0] > repair.closed and _km(repair, moment) is None


def _km(repair: RepairRecord, moment: Moment) -> int | None:
    """Return the kilometres since the job; None where no odometer can be believed.

    It is unknown, ran backwards, or gained more than a car is driven (`MOST_KM_PER_DAY`).
    """
    day, odometer_km = moment
    if odometer_km is None or repair.odometer_km is None:
        return None
    km = odometer_km - repair.odometer_km
    return km if 0 <= km <= most_km(repair.opened, day) else None


def most_km(since: date, until: date) -> int:
    """Return the most kilometres that are believed between two days, both of them driven.

    Examples
    --------
    >>> most_km(date(2025, 1, 12), date(2025, 1, 20))
    9000
    """
    return MOST_KM_PER_DAY * (1 + max(0, (until - since).days))


def km_per_day(repairs: Iterable[RepairRecord]) -> float:
    """Return by how many kilometres a day those are reckoned that no odometer tells."""
    paces = [
        km / days
        for repair in repairs
        for each in repair.contacts
        if (days := (each.on - repair.closed).days) > 0
        and (km := _km(repair, (each.on, each.odometer_km))) is not None
    ]
    return median(paces) if paces else USUAL_KM_PER_DAY
