"""Which cars should be asked after: where a fix may have failed and nobody has heard of it."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from kb.case import RepairRecord, System
from kb.rates.shrinkage import Key, WiderHistory
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One fix left on a car, of which it is not known that it held.

    `days` are since the handover; `good_until` is the day of these on which it was last known to be
    good, 0: never heard of. `risk` is the chance that it has failed unheard, by what this fix and
    those like it did; `grave` that it is on a system whose failure can hurt somebody.
    """

    job: int
    fix: str
    days: int
    good_until: int
    risk: float
    grave: bool


def due(
    repairs: Iterable[RepairRecord],
    history: WiderHistory,
    rates: RateSettings,
    settings: FollowUpSettings,
    today: date,
) -> tuple[Due, ...]:
    """List the fixes to ask after: by the chance that each has failed unheard.

    That of grave systems counts more; of equals the last handed over comes first.

    The repairs are every case of each cause that may be asked after; `history`
    is what the shop's fixes say of one another, in days.
    """
    known = {repair.number: repair for repair in repairs}
    groups: dict[tuple[Hashable, Key], list[Trial]] = defaultdict(list)
    horizon = rates.horizons_days[0]
    for trial in trials(known.values(), rates):
        groups[trial.cause, trial.tried.fix].append(trial)
    found = []
    for (_, key), group in groups.items():
        lives = [life for trial in group for life in trial.lives]
        left: tuple[float, ...] = ()
        for trial in group:
            repair = known[trial.job]
            days = (today - repair.closed).days
            if not _to_ask(trial, repair, days, horizon, settings):
                continue
            good_until = int(trial.life.time) if trial.life else 0
            left = left or history.left(key, lives)
            found.append(
                Due(
                    job=trial.job,
                    fix=f"{trial.tried.action} {trial.tried.component}",
                    days=days,
                    good_until=good_until,
                    risk=_unheard(left, history.kinds.edges, good_until, min(days, horizon)),
                    grave=repair.system in GRAVE,
                )
            )
    return tuple(sorted(found, key=lambda each: (-weighed(each, settings), each.days, each.job)))


def weighed(each: Due, settings: FollowUpSettings) -> float:
    """Return what the list is sorted by: the risk, that of grave systems counted more."""
    return each.risk * (settings.grave if each.grave else 1)


def _to_ask(
    trial: Trial, repair: RepairRecord, days: int, horizon: int, settings: FollowUpSettings
) -> bool:
    if not settings.first_days <= days <= settings.last_days:
        return False
    if trial.tried is not repair.attempts[-1] or trial.tried.cured is False:
        return False
    life = trial.life  # good when last heard of, before the horizon and not just now
    return life is None or (
        not life.failed and life.time < horizon and days - life.time >= settings.first_days
    )


def _unheard(left: Sequence[float], edges: Sequence[float], since: float, until: float) -> float:
    before, after = np.interp([since, max(since, until)], edges, left)
    return float(1 - after / before)
