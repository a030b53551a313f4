"""From repairs to lifetimes: how long each fix that was tried is known to have held.

Every attempt is one lifetime. One that did not cure at handover failed at time 0; a comeback is a
failure at its time, counted from the day the job was closed; any other attempt is lost from sight
when its car was last heard of. A car never heard of again is lost at time 0: it tells of the
handover and of nothing later. Silence is not a success, unless a shop wants it so (`Silence`).
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from operator import itemgetter
from statistics import median

from kb.case import Outcome, RepairRecord, Tried, same_text, tells_of_fix
from kb.rates.survival import Lifetime

USUAL_KM_PER_DAY = 40.0
"""About 15,000 km a year (common practice, no source); only where no odometer tells more."""


class Clock(StrEnum):
    """What a fix's time is counted in."""

    DAYS = "days"
    KM = "km"


@dataclass(frozen=True, slots=True)
class Silence:
    """A shop's wish: a car not heard of for so many days until today counts as held."""

    days: int
    today: date


@dataclass(frozen=True, slots=True)
class Trial:
    """One attempt on one job; `life` is None where nobody wrote down whether it cured.

    `never_reproduced` tells that the fault was never seen to occur here.
    """

    tried: Tried
    job: int
    cause: Hashable
    life: Lifetime | None
    never_reproduced: bool = False


def trials(
    repairs: Iterable[RepairRecord], clock: Clock = Clock.DAYS, silence: Silence | None = None
) -> Iterator[Trial]:
    """Turn every attempt of some repairs into a lifetime.

    A comeback concerns the last attempt of its job, the one left on the car. Of an earlier
    attempt only the handover counts: what came later is not its doing. The same cause proved
    again at the same place of the same car is a comeback even if nobody linked the two jobs,
    though it be on the day of the handover.

    The repairs are all of a cause, so that a car's comebacks are seen; causes may be mixed. Where
    an odometer is missing, or ran backwards, kilometres are reckoned from days at what the other
    cars do. Without `silence` it tells nothing.
    """
    known = list(repairs)
    pace = _km_per_day(known) if clock is Clock.KM else None
    visits: dict[tuple[Hashable, Hashable], list[RepairRecord]] = defaultdict(list)
    for repair in known:
        if repair.car is not None:
            visits[repair.cause, repair.car].append(repair)
    for repair in known:
        again = (
            [other for other in visits[repair.cause, repair.car] if _came_again(repair, other)]
            if repair.car is not None
            else []
        )
        last = len(repair.attempts)
        for place, tried in enumerate(repair.attempts, start=1):
            life = None
            if tried.cured is False:
                life = Lifetime(0, failed=True)
            elif tried.cured and place < last:
                life = Lifetime(0, failed=False)
            elif tried.cured:
                life = _after_handover(repair, again, pace, silence)
            yield Trial(tried, repair.number, repair.cause, life, repair.reproduced is False)


Moment = tuple[date, int | None]
"""A day and the odometer, if it is known."""


def _after_handover(
    repair: RepairRecord, again: Sequence[RepairRecord], pace: float | None, silence: Silence | None
) -> Lifetime:
    back: list[Moment] = [(other.opened, other.odometer_km) for other in again]
    heard: list[Moment] = [(repair.closed, repair.odometer_km)]
    for each in repair.contacts:
        if not tells_of_fix(each, repair.closed):
            continue
        (back if each.outcome is Outcome.COMEBACK else heard).append((each.on, each.odometer_km))
    if repair.seen is not None:
        heard.append((repair.seen, repair.seen_km))
    if back:
        return Lifetime(_passed(repair, min(back, key=itemgetter(0)), pace), failed=True)
    last = max(heard, key=itemgetter(0))
    if silence and (silence.today - last[0]).days >= silence.days:
        last = (silence.today, None)
    return Lifetime(_passed(repair, last, pace), failed=False)


def _passed(repair: RepairRecord, moment: Moment, pace: float | None) -> float:
    """Return how long after the handover a moment is: days, or km where a pace is given."""
    day, odometer_km = moment
    days = max(0, (day - repair.closed).days)
    if pace is None:
        return days
    km = _km(repair, odometer_km)
    return days * pace if km is None else km


def _km(repair: RepairRecord, odometer_km: int | None) -> int | None:
    """Return the kilometres since the job; None where an odometer is unknown or ran backwards."""
    if odometer_km is None or repair.odometer_km is None or odometer_km < repair.odometer_km:
        return None
    return odometer_km - repair.odometer_km


def _km_per_day(repairs: Iterable[RepairRecord]) -> float:
    paces = [
        km / days
        for repair in repairs
        for each in repair.contacts
        if (days := (each.on - repair.closed).days) > 0
        and (km := _km(repair, each.odometer_km)) is not None
    ]
    return median(paces) if paces else USUAL_KM_PER_DAY


def _came_again(repair: RepairRecord, other: RepairRecord) -> bool:
    """Whether another job of the same car and cause came after this one, at the same place."""
    if other is repair or other.opened < repair.closed:
        return False
    if other.opened == repair.closed and (other.number or 0) <= (repair.number or 0):
        return False
    here, there = repair.position, other.position
    return not (here and there) or same_text(here, there)
