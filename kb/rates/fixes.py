"""How well each fix worked for one proven cause: at handover, and afterwards."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kb.case import Action, RepairRecord
from kb.errors import Notice
from kb.rates.shrinkage import Posterior, WiderHistory, neutral
from kb.rates.survival import Interval, Lifetime, SurvivalStep, product_limit, survival_at
from kb.rates.trials import Clock, Silence, Trial, trials
from kb.settings import RateSettings
from kb.statistics import beta
from kb.statistics.summaries import known_median, usual


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
        Chance that the fix cures and holds to the horizon: the mean of `belief`; None where the
        fate of too few attempts is known there to print a number.
    interval : Interval
        Where that chance lies by the fix's own attempts alone.
    belief : Posterior
        That chance by its own attempts and its wider history together.
    minutes, parts_cost : float or None
        Medians over the attempts that recorded them, in minutes and the shop's currency.
    minutes_held, parts_cost_held : float or None
        The same over attempts that held.
    jobs : tuple of int
        The jobs it was tried on.
    never_reproduced : bool
        Tried for a fault that was never seen to occur here: whether it cured is a guess, so
        such attempts are counted apart.
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
    belief: Posterior
    minutes: float | None
    parts_cost: float | None
    minutes_held: float | None
    parts_cost_held: float | None
    jobs: tuple[int, ...]
    notices: tuple[Notice, ...]
    never_reproduced: bool = False

    @property
    def label(self) -> str:
        """One line: ``cleaned seat connector``."""
        apart = " (fault never reproduced)" if self.never_reproduced else ""
        return f"{self.action} {self.component}{apart}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FixCurve:
    """How one fix held: the share still good, and how much that rests on.

    `steps` are Kaplan and Meier's curve, one for each time with a failure; `lost` the times at
    which a car that was good was last heard of; `end` the last time any car was.
    """

    steps: tuple[SurvivalStep, ...]
    lost: tuple[float, ...]
    end: float

    def at(self, time: float) -> float:
        """Return the share still good after a time up to the end."""
        return min((step.survival for step in self.steps if step.time <= time), default=1.0)

    def known(self, time: float) -> bool:
        """Whether the curve tells of a time: some car was watched so long, or none is left."""
        return time <= self.end or self.at(self.end) == 0

    def at_risk(self, time: float) -> int:
        """Return how many are known to have been good until a time, or to have failed at it."""
        failures = sum(step.failed for step in self.steps if step.time >= time)
        return failures + sum(lost >= time for lost in self.lost)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """Rate and curve of one fix."""

    rate: FixRate
    curve: FixCurve


def fixes(
    repairs: Iterable[RepairRecord],
    settings: RateSettings,
    history: WiderHistory | None = None,
    *,
    clock: Clock = Clock.DAYS,
    silence: Silence | None = None,
) -> tuple[Fix, ...]:
    """Rate every fix that was tried on repairs of one and the same proven cause.

    `history` is what the shop's other fixes say, on the same clock; without it a rate is drawn but
    weakly towards one half. `clock` and `silence` are as `kb.rates.trials.trials` takes them. The
    best comes first, by `standing`; what nobody wrote down whether it cured last.

    References
    ----------
    Estimate: `kb.rates.shrinkage`; interval: `kb.rates.survival.survival_at`.
    """
    groups: dict[tuple[tuple[str, str], bool], list[Trial]] = defaultdict(list)
    for trial in trials(repairs, clock, silence):
        groups[trial.tried.fix, trial.never_reproduced].append(trial)
    found = [_fix(key, tried, settings, history, clock) for (key, _), tried in groups.items()]
    return tuple(sorted(found, key=_worse))


def fix_rates(
    repairs: Iterable[RepairRecord],
    settings: RateSettings,
    history: WiderHistory | None = None,
) -> tuple[FixRate, ...]:
    """Return the rates of `fixes` without their curves."""
    return tuple(fix.rate for fix in fixes(repairs, settings, history))


def chance_better(one: Posterior, other: Posterior) -> float:
    """Chance that one fix cures and holds more often than another, by all that is known of both.

    See `kb.statistics.beta.chance_greater`.

    Examples
    --------
    >>> round(chance_better(Posterior(3, 1), Posterior(1, 3)), 4)
    0.95
    """
    return beta.chance_greater((one.a, one.b), (other.a, other.b))


def standing(belief: Posterior) -> float:
    """Return what fixes are ranked by: the chance that a fix reaches with odds of two to one.

    It puts the truly best fix first as often as the mean does, in simulated shops, and of two
    that are as likely to hold the one that proved it more often
    (``tests/benchmarks/fix_rates.py``).
    """
    return beta.quantile(1 / 3, belief.a, belief.b)


def horizon_of(clock: Clock, settings: RateSettings) -> int:
    """Return the shop's horizon in days or km."""
    return settings.horizon_km if clock is Clock.KM else settings.horizon_days


def _fix(
    key: tuple[str, str],
    tried: Sequence[Trial],
    settings: RateSettings,
    history: WiderHistory | None,
    clock: Clock,
) -> Fix:
    horizon = horizon_of(clock, settings)
    lives = [trial.life for trial in tried if trial.life is not None]
    belief = (history or neutral(horizon)).posterior(key, lives)
    cured = [trial.life for trial in tried if trial.life is not None and trial.tried.cured]
    seen = survival_at(lives, horizon, settings.confidence)
    known = seen.failed + seen.beyond
    good = [life.time for life in cured if not life.failed and life.time < horizon]
    attempts = [trial.tried for trial in tried]
    held = [each.tried for each in tried if each.life and each.life.outlasts(horizon)]
    rate = FixRate(
        action=attempts[0].action,
        component=usual(attempt.component for attempt in attempts) or "",
        words=usual(attempt.words for attempt in attempts),
        tried=len(lives),
        cured_at_handover=len(cured),
        held=seen.beyond,
        comebacks=sum(life.failed and life.time <= horizon for life in cured),
        still_good=sum(time > 0 for time in good),
        unheard=sum(time == 0 for time in good),
        unknown=len(tried) - len(lives),
        rate=belief.mean if known >= settings.least_known else None,
        interval=seen.interval,
        belief=belief,
        minutes=known_median(attempt.minutes for attempt in attempts),
        parts_cost=known_median(attempt.parts_cost for attempt in attempts),
        minutes_held=known_median(attempt.minutes for attempt in held),
        parts_cost_held=known_median(attempt.parts_cost for attempt in held),
        jobs=tuple(dict.fromkeys(trial.job for trial in tried)),
        notices=tuple(_notices(cured, len(lives), known, settings)),
        never_reproduced=tried[0].never_reproduced,
    )
    curve = FixCurve(
        steps=product_limit(lives),
        lost=tuple(sorted(life.time for life in lives if not life.failed)),
        end=max((life.time for life in lives), default=0),
    )
    return Fix(rate=rate, curve=curve)


def _notices(
    cured: Sequence[Lifetime], tried: int, known: int, settings: RateSettings
) -> Iterator[Notice]:
    if not tried:
        yield Notice.HANDOVER_UNKNOWN
        return
    if tried == 1:
        yield Notice.ONE_REPAIR
    if cured and not any(life.time or life.failed for life in cured):
        yield Notice.NO_FOLLOW_UP
    elif known < settings.least_known <= tried:
        yield Notice.FEW_FOLLOWED


def _worse(fix: Fix) -> tuple[bool, bool, float, float, str]:
    """Sort key: the smaller, the better the fix."""
    rate = fix.rate
    slow = float("inf") if rate.minutes is None else rate.minutes
    order = (-standing(rate.belief), slow, rate.label)
    return (not rate.tried, rate.never_reproduced, *order)
