"""How well each fix worked for one proven cause: at handover, and afterwards."""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter

from kb.case import Action, RepairRecord
from kb.errors import Notice
from kb.rates.outer_ends import Fates, outer_ends
from kb.rates.shrinkage import Key, Posterior, StagedHistory, neutral_stages
from kb.rates.survival import Interval, Lifetime, SurvivalStep, merged, product_limit, survival_at
from kb.rates.trials import Clock, Lives, Silence, Trial, trials
from kb.settings import RateSettings
from kb.statistics import beta
from kb.statistics.summaries import known_median, usual

TELLING = 0.3
"""What the chance that one fix is better must be off even to tell the two apart (by judgement)."""


Relearn = Callable[[frozenset[tuple[int, Key]], Callable[[Trial], Lives]], StagedHistory | None]
"""Learns a shop's wider history anew, with one end supposed of the fixes of some jobs."""


TIE = 0.05
"""Fixes that stand within about so much of one another go by the longest horizon (by judgement)."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A rate with its interval; the rate is None where too little is known to print a number."""

    rate: float | None
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class HorizonRate:
    """How well one fix held up to a horizon.

    What was cured at handover is counted once in `held`, `seen_only`, `comebacks`, `still_good`,
    `unjudged` and the fix's `unheard`.

    Attributes
    ----------
    horizon : int
        In days or km.
    held : int
        Told to be good at the horizon or later, or back only after it.
    back_later, back_unjudged : int
        Of these, come back after the horizon; and back then for something alike that nobody has
        judged.
    seen_only : int
        Not asked after at the horizon or later: only seen then for something else.
    seen_unjudged : int
        Of these, seen then for something alike that nobody has judged.
    comebacks : int
        Cured at handover, but the complaint returned within the horizon.
    still_good : int
        Good when last heard of, which was before the horizon.
    still_seen : int
        Of these, never asked after: only seen for something else, nobody said they were good.
    unjudged, untold_unjudged : int
        Back within the horizon for something alike that nobody has judged; and the same of those
        that the fix counts as `untold`.
    rate : float or None
        Chance that the fix cures and holds to the horizon: the mean of `belief`; None where it is
        not `supported`.
    interval : Interval
        Where that chance lies by the fix's own attempts alone.
    ends : Interval
        Between what ends it lies by them whichever cars were lost from sight.
    lost : int
        Attempts of which is not known for sure whether they held so long: those only seen, those
        lost from sight before, and those that the fix counts as `untold`.
    belief : Posterior
        That chance by its own attempts and its wider history together.
    if_same, if_other : Estimate or None
        What the rate would be if every return within the horizon that nobody has judged were judged
        to be for the same fault, and if each were judged to be for another: what is told then. None
        where nothing is to be judged of the fix; what was back after the horizon only changes
        neither.
    """

    horizon: int
    held: int
    back_later: int
    back_unjudged: int
    seen_only: int
    seen_unjudged: int
    comebacks: int
    still_good: int
    still_seen: int
    unjudged: int
    untold_unjudged: int
    rate: float | None
    interval: Interval
    ends: Interval
    lost: int
    belief: Posterior
    if_same: Estimate | None
    if_other: Estimate | None

    @property
    def supported(self) -> bool:
        """Whether enough is known there to print a rate, and to compare it with another's.

        `kb.settings.RateSettings.least_known` cars have failed up to the horizon or were good at it
        when heard of, and the curve reaches it (`kb.rates.survival.Survival`).
        """
        return self.rate is not None


@dataclass(frozen=True, slots=True)
class Revisit:
    """A job whose car was back, and that visit."""

    job: int
    visit: int
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class FixRate:
    """One fix for one cause, with the counts its rates rest on.

    Attributes
    ----------
    words : str or None
        The shop's own words for it, the most frequent ones.
    tried : int
        Cars it was tried on of which is known whether it cured the complaint at handover, each by
        the first of its jobs; a job whose car is unknown counts as a car.
    told_later : int
        Of these, those of which nobody wrote that down: a comeback, or that it held, tells it.
    cured_at_handover : int
        Those that did.
    unheard : int
        Of these, never heard of again.
    unknown : int
        Jobs of which is not told whether it cured, as nobody wrote it down or something after it
        cured as well or did not; left out of everything else.
    untold : int
        Of these, those on which it was the last fix, so that what is heard of the car will tell.
    untold_back : int
        Of these, back for something alike that nobody has judged.
    repeated : int
        Jobs on which it was tried more than once; how it ended counts.
    mistaken : int
        Attempts for this cause on jobs that proved another; counted there, and not here.
    again : int
        Later jobs of the same cars for the same cause, each left out of everything else: a car
        counts once (`kb.rates.trials.Trial.again`).
    reckoned : int
        Jobs whose kilometres were reckoned from days, as no odometer tells them.
    came_back : tuple of float
        When what was cured at handover came back, in days or km, the first first.
    undated : tuple of float
        Of these, those of which no day is told but one on which it was good; the next counts.
    unjudged : tuple of Revisit
        Jobs of which is not known whether it came back or held, because a return for something
        alike was not judged; the first such visit of each. Those `untold_back` are among them.
    denied : tuple of Revisit
        Jobs whose later visit proved the same cause, though somebody said it was for another.
    horizons : tuple of HorizonRate
        The shortest first.
    minutes, parts_cost : float or None
        Medians over the attempts that recorded them, in minutes and the shop's currency.
    minutes_held, parts_cost_held : float or None
        The same over attempts told to have held to the first horizon, not known to have come back.
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
    unheard: int
    unknown: int
    came_back: tuple[float, ...]
    unjudged: tuple[Revisit, ...]
    denied: tuple[Revisit, ...]
    horizons: tuple[HorizonRate, ...]
    minutes: float | None
    parts_cost: float | None
    minutes_held: float | None
    parts_cost_held: float | None
    jobs: tuple[int, ...]
    notices: tuple[Notice, ...]
    undated: tuple[float, ...] = ()
    told_later: int = 0
    untold: int = 0
    untold_back: int = 0
    repeated: int = 0
    mistaken: int = 0
    again: int = 0
    reckoned: int = 0
    never_reproduced: bool = False

    @property
    def label(self) -> str:
        """One line: ``cleaned seat connector``."""
        apart = " (fault never reproduced)" if self.never_reproduced else ""
        return f"{self.action} {self.component}{apart}"

    @property
    def first(self) -> HorizonRate:
        """The rate at the shortest horizon."""
        return self.horizons[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class FixCurve:
    """How one fix held: the share still good, and how much that rests on.

    `lives` are what it rests on; `steps` Kaplan and Meier's curve, one for each time with a
    failure; `lost` the times at which a car that was good was last heard of; `end` the last time
    any car was.
    """

    lives: tuple[Lifetime, ...]
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
        failures = sum(life.failed and life.time >= time for life in self.lives)
        return failures + sum(lost >= time for lost in self.lost)

    def watched_by(self, cars: int) -> float | None:
        """Return until when at least so many are at risk; None if not even from the first day."""
        times = {0.0, *self.lost, *(life.time for life in self.lives if life.failed)}
        return max((time for time in times if self.at_risk(time) >= cars), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """Rate and curve of one fix."""

    rate: FixRate
    curve: FixCurve


def fixes(
    repairs: Iterable[RepairRecord],
    settings: RateSettings,
    history: StagedHistory | None = None,
    *,
    cause: Hashable = None,
    clock: Clock = Clock.DAYS,
    silence: Silence | None = None,
    relearn: Relearn | None = None,
) -> tuple[Fix, ...]:
    """Rate every fix that was tried for a cause, as `kb.rates.trials.Trial.cause` tells.

    Without `cause`, all that was tried on the repairs is taken to be for one. `history` is what the
    shop's other fixes say, on the same clock; without it a rate is drawn but weakly towards one
    half. `clock` and `silence` are as `kb.rates.trials.trials` takes them; `relearn` is what the
    history would be with answers supposed, where an answer has it learnt anew. The best comes
    first, by `standing` at the `ranking_horizon`, of those alike there (`TIE`) by that at the
    longest; what nobody wrote down whether it cured last.

    References
    ----------
    Estimate: `kb.rates.shrinkage`; interval: `kb.rates.survival.survival_at`.
    """
    rated = _rated(repairs, settings, history, cause, clock, silence, relearn)
    return tuple(Fix(rate=rate, curve=_curve(tried)) for rate, tried in rated)


def fix_rates(
    repairs: Iterable[RepairRecord],
    settings: RateSettings,
    history: StagedHistory | None = None,
    *,
    cause: Hashable = None,
    relearn: Relearn | None = None,
) -> tuple[FixRate, ...]:
    """Return the rates of `fixes` without their curves."""
    rated = _rated(repairs, settings, history, cause, Clock.DAYS, None, relearn)
    return tuple(rate for rate, _ in rated)


def ranking_horizon(rates: Sequence[FixRate]) -> int:
    """Return the place of the horizon by which fixes are ranked: the longest that two support.

    The longest that one supports, if no two support any; else the first.
    """
    for least in (2, 1):
        for place in reversed(range(min((len(each.horizons) for each in rates), default=0))):
            if sum(each.horizons[place].supported for each in rates) >= least:
                return place
    return 0


def compared_at(one: FixRate, other: FixRate) -> int:
    """Return the place of the longest horizon that two fixes both support, else the first."""
    pairs = zip(one.horizons, other.horizons, strict=True)
    return max((n for n, (a, b) in enumerate(pairs) if a.supported and b.supported), default=0)


def told_apart(one: FixRate, other: FixRate) -> bool:
    """Whether enough is known of two fixes to say which is better (`TELLING`)."""
    place = compared_at(one, other)
    chance = chance_better(one.horizons[place].belief, other.horizons[place].belief)
    return abs(chance - 0.5) >= TELLING


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


def horizons_of(clock: Clock, settings: RateSettings) -> tuple[int, ...]:
    """Return the shop's horizons in days or km."""
    return settings.horizons_km if clock is Clock.KM else settings.horizons_days


def _rated(
    repairs: Iterable[RepairRecord],
    settings: RateSettings,
    history: StagedHistory | None,
    cause: Hashable,
    clock: Clock,
    silence: Silence | None,
    relearn: Relearn | None,
) -> list[tuple[FixRate, list[Trial]]]:
    groups: dict[tuple[tuple[str, str], bool], list[Trial]] = defaultdict(list)
    mistaken: Counter[tuple[tuple[str, str], bool]] = Counter()
    for trial in trials(repairs, settings, clock, silence):
        key = trial.tried.fix, trial.never_reproduced
        if cause is None or trial.cause == cause:
            groups[key].append(trial)
        elif trial.tried.supposed == cause:
            mistaken[key] += 1
    horizons = horizons_of(clock, settings)
    known = _Wider(history or neutral_stages(horizons), relearn)
    found = [
        (replace(_rate(key[0], tried, settings, known, horizons), mistaken=mistaken[key]), tried)
        for key, tried in groups.items()
    ]
    place = ranking_horizon([rate for rate, _ in found])
    return _lasting_first(sorted(found, key=lambda each: _worse(each[0], place)), place)


def _lasting_first(
    found: Sequence[tuple[FixRate, list[Trial]]], place: int
) -> list[tuple[FixRate, list[Trial]]]:
    """Order those that stand alike at a horizon (`TIE`) by what they reach at the longest."""

    def at(rate: FixRate, horizon: int) -> float:
        return standing(rate.horizons[horizon].belief)

    alike: list[list[tuple[FixRate, list[Trial]]]] = []
    for each in found:
        first = alike[-1][0][0] if alike else None
        kind = _unproved(each[0]), each[0].never_reproduced
        if (
            first is not None
            and kind == (_unproved(first), first.never_reproduced)
            and at(first, place) - at(each[0], place) <= TIE
        ):
            alike[-1].append(each)
        else:
            alike.append([each])
    return [each for group in alike for each in sorted(group, key=lambda one: -at(one[0], -1))]


@dataclass(frozen=True, slots=True)
class _Wider:
    """What the shop's other fixes say, and what they would say with some answers supposed."""

    plain: StagedHistory
    relearn: Relearn | None

    def supposing(
        self, jobs: frozenset[tuple[int, Key]], end: Callable[[Trial], Lives]
    ) -> StagedHistory:
        if self.relearn is None or not jobs:
            return self.plain
        return self.relearn(jobs, end) or neutral_stages(self.plain.horizons)


def _once(every: Iterable[Trial]) -> list[Trial]:
    """Return one job of each car."""
    return [trial for trial in every if not trial.again]


def _curve(every: Sequence[Trial]) -> FixCurve:
    tried = _once(every)
    lives = [life for trial in tried for life in trial.lives]
    longest = [trial.life for trial in tried if trial.life]
    return FixCurve(
        lives=tuple(lives),
        steps=product_limit(lives),
        lost=tuple(sorted(life.time for life in longest if not life.failed)),
        end=max((life.time for life in lives), default=0),
    )


def _rate(
    key: tuple[str, str],
    every: Sequence[Trial],
    settings: RateSettings,
    history: _Wider,
    horizons: Sequence[int],
) -> FixRate:
    tried = _once(every)
    known = [trial for trial in tried if trial.lives]
    cured = [trial for trial in known if trial.tried.cured]
    lasted = [trial.life for trial in cured if trial.life]
    untold = [trial for trial in tried if trial.may_be_told]
    attempts = [trial.tried for trial in tried]
    held = [
        each.tried
        for each in cured
        if each.life and each.surely_outlasts(horizons[0]) and not each.life.failed
    ]
    rate = FixRate(
        action=attempts[0].action,
        component=usual(attempt.component for attempt in attempts) or "",
        words=usual(attempt.words for attempt in attempts),
        tried=len(known),
        cured_at_handover=len(cured),
        unheard=sum(_unheard(each) for each in cured),
        unknown=len(tried) - len(known),
        came_back=tuple(sorted(life.time for life in lasted if life.failed)),
        undated=tuple(sorted(each.life.time for each in cured if each.life and each.undated)),
        unjudged=tuple(
            Revisit(each.job, each.back.number, each.back.opened) for each in tried if each.back
        ),
        denied=tuple(
            Revisit(each.job, each.denied.number, each.denied.opened)
            for each in cured
            if each.denied
        ),
        horizons=_horizons(key, known, untold, settings, history, horizons),
        minutes=known_median(attempt.minutes for attempt in attempts),
        parts_cost=known_median(attempt.parts_cost for attempt in attempts),
        minutes_held=known_median(attempt.minutes for attempt in held),
        parts_cost_held=known_median(attempt.parts_cost for attempt in held),
        jobs=tuple(dict.fromkeys(trial.job for trial in every)),
        notices=(),
        told_later=sum(trial.told_later for trial in known),
        untold=len(untold),
        untold_back=sum(trial.back is not None for trial in untold),
        repeated=sum(trial.times > 1 for trial in tried),
        again=len(every) - len(tried),
        reckoned=sum(trial.reckoned for trial in known),
        never_reproduced=tried[0].never_reproduced,
    )
    return replace(rate, notices=tuple(_notices(rate, settings.least_known)))


def _horizons(
    key: tuple[str, str],
    known: Sequence[Trial],
    untold: Sequence[Trial],
    settings: RateSettings,
    history: _Wider,
    horizons: Sequence[int],
) -> tuple[HorizonRate, ...]:
    plain = _estimates(key, [trial.lives for trial in known], settings, history.plain, horizons)
    cured = [(each, each.life) for each in known if each.life and each.tried.cured]
    found = []
    for place, (horizon, (estimate, belief)) in enumerate(zip(horizons, plain, strict=True)):
        held = [(each, life) for each, life in cured if each.surely_outlasts(horizon)]
        seen = [
            each
            for each, life in cured
            if life.outlasts(horizon) and not each.surely_outlasts(horizon)
        ]
        early = [each for each, life in cured if not (life.failed or life.outlasts(horizon))]
        fates = Fates.of([each.lives for each in known], horizon, untold=len(untold))
        same, other = _two_ends(key, [*known, *untold], settings, history, horizons, place)
        found.append(
            HorizonRate(
                horizon=horizon,
                held=len(held),
                back_later=sum(life.failed for _, life in held),
                back_unjudged=sum(each.back is not None for each, _ in held),
                seen_only=len(seen),
                seen_unjudged=sum(each.back is not None for each in seen),
                comebacks=sum(life.failed and life.time <= horizon for _, life in cured),
                still_good=sum(not (each.back or _unheard(each)) for each in early),
                still_seen=sum(_only_seen(each) for each in early),
                unjudged=sum(each.back is not None for each in early),
                untold_unjudged=sum(each.is_back_within(horizon) for each in untold),
                rate=estimate.rate,
                interval=estimate.interval,
                ends=outer_ends(fates, settings.confidence),
                lost=fates.lost,
                belief=belief,
                if_same=same,
                if_other=other,
            )
        )
    return tuple(found)


def _two_ends(
    key: tuple[str, str],
    tried: Sequence[Trial],
    settings: RateSettings,
    history: _Wider,
    horizons: Sequence[int],
    place: int,
) -> tuple[Estimate, Estimate] | tuple[None, None]:
    """Return the rate at a horizon if what was back by then were judged the same fault, or not.

    It is the rate that such answers would give: the wider history is told them, too.
    """
    if not any(trial.back for trial in tried):
        return None, None
    back = frozenset(trial.of for trial in tried if trial.is_back_within(horizons[place]))

    def supposed(end: Callable[[Trial], Lives]) -> Estimate:
        told = (end(each) if each.of in back else each.lives for each in tried)
        wider = history.supposing(back, end)
        return _estimates(key, [*filter(None, told)], settings, wider, horizons)[place][0]

    return supposed(_IF_SAME), supposed(_IF_OTHER)


_IF_SAME: Callable[[Trial], Lives] = attrgetter("if_same")
_IF_OTHER: Callable[[Trial], Lives] = attrgetter("if_other")


def _estimates(
    key: tuple[str, str],
    told: Sequence[Lives],
    settings: RateSettings,
    history: StagedHistory,
    horizons: Sequence[int],
) -> list[tuple[Estimate, Posterior]]:
    lives = merged(life for each in told for life in each)
    found = []
    for horizon, belief in zip(horizons, history.posteriors(key, lives), strict=True):
        seen = survival_at(lives, horizon, settings.confidence)
        fates = sum(
            each[0].outlasts(horizon) or (each[0].failed and each[0].time <= horizon)
            for each in told
        )
        enough = seen.estimate is not None and fates >= settings.least_known
        found.append((Estimate(belief.mean if enough else None, seen.interval), belief))
    return found


def _unheard(trial: Trial) -> bool:
    life = trial.life
    return life is not None and not (life.failed or life.time or trial.back)


def _only_seen(trial: Trial) -> bool:
    return not trial.back and len(trial.lives) > 1 and not trial.lives[-1].time


def _notices(rate: FixRate, least_known: int) -> Iterator[Notice]:
    if not rate.tried:
        yield Notice.HANDOVER_UNKNOWN
        return
    if rate.tried == 1:
        yield Notice.ONE_REPAIR
    if rate.cured_at_handover and rate.unheard == rate.cured_at_handover:
        yield Notice.NO_FOLLOW_UP
    elif not rate.first.supported and rate.tried >= least_known:
        yield Notice.FEW_FOLLOWED


def _unproved(rate: FixRate) -> int:
    """Return 0 for a fix that cured once, 1 for one not told of, 2 for one that never cured."""
    if rate.cured_at_handover:
        return 0
    return 2 if rate.tried else 1


def _worse(rate: FixRate, place: int) -> tuple[int, bool, float, float, str]:
    """Sort key: the smaller, the better the fix; one that never cured is not proposed first."""
    slow = float("inf") if rate.minutes is None else rate.minutes
    order = (-standing(rate.horizons[place].belief), slow, rate.label)
    return (_unproved(rate), rate.never_reproduced, *order)
