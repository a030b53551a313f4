"""How long things last when some were lost from sight; nothing here knows of jobs or fixes."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import prod
from statistics import NormalDist

from kb.errors import InvalidField
from kb.statistics import beta
from kb.statistics.roots import crossing

_NORMAL = NormalDist()
_LEAST = 1e-15
"""Chances nearer to 0 or 1 than this have no place on the scale of the normal."""
_GUARD = 0.68
"""Weight of the outer variable in a limit: 1 is the authors' interval, 1/2 their mid-p form. This
is about the least that still covers as stated (see `survival_at`)."""
_GUARD_LOST = 0.36
"""How much of that weight the share lost from sight takes away, down to one half."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Where a share lies with some confidence; both ends from 0 to 1."""

    low: float
    high: float


NOTHING_KNOWN = Interval(0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Lifetime:
    """How long one thing was watched, and whether it failed at the end of that time.

    `time` is in any one unit, from 0. A thing lost from sight is known to have been good at
    `time`; one that failed at time 0 never worked. `weight` is how many things it stands for; less
    than one where that is sure of one thing by this share only, and another lifetime has the rest.
    """

    time: float
    failed: bool
    weight: float = 1

    def __post_init__(self) -> None:
        if not self.time >= 0:
            raise InvalidField("time", self.time, "must be at least 0")
        if not self.weight > 0:
            raise InvalidField("weight", self.weight, "must be above 0")

    def outlasts(self, horizon: float) -> bool:
        """Whether it was good at a horizon; a failure at the horizon itself is within it."""
        return self.time > horizon or (self.time == horizon and not self.failed)


@dataclass(frozen=True, slots=True)
class SurvivalStep:
    """A time at which something failed: how many could have, how many did, the share then left."""

    time: float
    at_risk: float
    failed: float
    survival: float


@dataclass(frozen=True, slots=True)
class Survival:
    """The share that outlasts a horizon.

    `estimate` is Kaplan and Meier's, None where nothing was watched that long: the curve ends
    before the horizon. If it ends at nought, that is told as well, unless more were lost from sight
    while they were good, at time 0 or later, than failed: a few failures would else speak for all
    of them. `beyond` counts those seen good at or after the horizon, `failed` those that failed up
    to it.
    """

    estimate: float | None
    interval: Interval
    beyond: float
    failed: float


def ends(lifetimes: Iterable[Lifetime]) -> tuple[list[float], dict[tuple[float, bool], float]]:
    """Return the times at which lifetimes end; how many do at each, failed or lost from sight."""
    ended: dict[tuple[float, bool], float] = defaultdict(int)
    for life in lifetimes:
        ended[life.time, life.failed] += life.weight
    return sorted({time for time, _ in ended}), ended


def merged(lifetimes: Iterable[Lifetime]) -> list[Lifetime]:
    """Return one lifetime for all that end alike: nothing is lost, and there are far fewer."""
    _, ended = ends(lifetimes)
    return [Lifetime(time, failed, weight) for (time, failed), weight in ended.items()]


def product_limit(lifetimes: Iterable[Lifetime]) -> tuple[SurvivalStep, ...]:
    """Kaplan and Meier's product-limit curve: a step for each time with a failure, earliest first.

    Things lost from sight at the time of a failure count as at risk for it.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 8.2.1.5; Kaplan & Meier, "Nonparametric
    estimation from incomplete observations", Journal of the American Statistical Association 53,
    1958.

    Examples
    --------
    >>> [step.survival for step in product_limit([Lifetime(5, True), Lifetime(8, False)])]
    [0.5]
    """
    times, ended = ends(lifetimes)
    later: list[tuple[float, float, float]] = []
    at_risk: float = 0
    for time in reversed(times):  # summed from the end, so that the last one is one and no less
        failed = ended[time, True]
        at_risk += failed + ended[time, False]
        if failed:
            later.append((time, at_risk, failed))
    share, steps = 1.0, []
    for time, at_risk, failed in reversed(later):
        share *= (at_risk - failed) / at_risk
        steps.append(SurvivalStep(time, at_risk, failed, share))
    return tuple(steps)


def survival_at(
    lifetimes: Iterable[Lifetime],
    horizon: float,
    confidence: float = 0.95,
    *,
    outer: float | None = None,
) -> Survival:
    """Share that lasts beyond a horizon, with an interval fit for few and censored lifetimes.

    The estimate is Kaplan and Meier's. The interval is a beta product confidence procedure with
    parameters by the method of moments. Two beta variables enclose what is known of the share:
    the upper is the product, over the times of failure, of Beta(at risk - failed + 1, failed)
    variables, the lower the same product times Beta(still at risk beyond the horizon, 1).

    The authors take the lower limit from the lower one and the upper from the upper one alone,
    which never covers too seldom and mostly too often (Clopper and Pearson's interval when
    nothing was lost from sight), or in their mid-p form from both in equal parts, which for few
    lifetimes covers now and then too seldom. The weight here lies between: `_GUARD` for the
    outer one when nothing was lost from sight, falling to one half as the share lost grows. What
    was lost at time 0, so never watched, changes nothing in it.
    Without loss, that covers at least 93 of 100 times for every count from 3 to 50 and every
    share from 0.50 to 0.98 in steps of 0.01, by exact reckoning
    (``tests/benchmarks/fix_rates.py``); it lies within the authors' interval always.

    A failure at the horizon itself counts as within it; a thing lost from sight there counts as
    having outlasted it. No lifetimes at all give an interval from 0 to 1. `outer` is the weight of
    the outer variable in each limit, where it is not to be chosen as above.

    Raises
    ------
    InvalidField
        If `confidence` is no chance.

    References
    ----------
    Fay, Brittain & Proschan, "Pointwise confidence intervals for a survival distribution with
    small samples or heavy censoring", Biostatistics 14(4), 2013; treatment of ties as in Fay &
    Brittain, "Finite sample pointwise confidence intervals for a survival distribution with
    right-censored data", Statistics in Medicine 35(16), 2016, which has the mid-p form as well.

    Examples
    --------
    >>> survival_at([Lifetime(120, False)] * 3, 90).interval.low
    0.3325...
    """
    if not 0 < confidence < 1:
        raise InvalidField("confidence", confidence, "must lie between 0 and 1, as 0.95")
    watched = tuple(lifetimes)
    steps = [step for step in product_limit(watched) if step.time <= horizon]
    beyond = sum(life.weight for life in watched if life.outlasts(horizon))
    estimate = steps[-1].survival if steps else 1.0
    failed = sum(step.failed for step in steps)
    early = [life for life in watched if not life.failed and life.time < horizon]
    good = sum(life.weight for life in early)
    if outer is None:
        lost = sum(life.weight for life in early if life.time)
        outer = max(0.5, _GUARD - _GUARD_LOST * lost / max(failed + beyond + lost, 1))
    tail = (1 - confidence) / 2
    return Survival(
        estimate=estimate if beyond or (estimate == 0 and failed >= good) else None,
        interval=_interval(steps, beyond, tail, outer) if watched else NOTHING_KNOWN,
        beyond=beyond,
        failed=failed,
    )


def _interval(steps: Sequence[SurvivalStep], beyond: float, tail: float, outer: float) -> Interval:
    factors = [(step.at_risk - step.failed + 1, step.failed) for step in steps]
    lower = _product([*factors, (beyond, 1)]) if beyond else None
    upper = _product(factors) if factors else None

    def below(x: float, weight: float) -> float:
        """Chance that the share is at most x, by the lower variable with the given weight."""
        at_least = beta.cdf(x, *lower) if lower else 1.0
        at_most = beta.cdf(x, *upper) if upper else 0.0
        return weight * at_least + (1 - weight) * at_most

    def limit(weight: float, chance: float) -> float:
        """Where that chance is reached; on the scale of the normal it is nearly straight."""
        wanted = _on_scale(chance)
        return crossing(lambda x: _on_scale(below(x, weight)) - wanted)

    return Interval(
        limit(outer, tail) if lower else 0.0,
        limit(1 - outer, 1 - tail) if upper else 1.0,
    )


def _on_scale(chance: float) -> float:
    return _NORMAL.inv_cdf(min(max(chance, _LEAST), 1 - _LEAST))


def _product(factors: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Shapes of the beta variable with the first two moments of a product of beta variables."""
    mean = prod(a / (a + b) for a, b in factors)
    square = prod(a / (a + b) * ((a + 1) / (a + b + 1)) for a, b in factors)
    size = (mean - square) / (square - mean * mean)
    return mean * size, (1 - mean) * size
