"""What a fix's few lifetimes say when its wider history is heard as well.

Fixes come in kinds: some never cure, some cure for a while, most cure and hold. A kind is a
chance to cure at handover and a chance then to hold to the horizon. How frequent each kind is
among a shop's fixes is learnt from all their lifetimes; how far the same action for other causes,
and the same action on the same component, tell more of a fix than the whole shop does is learnt
as well. What is then believed of a fix is the mixture of the kinds it may be, each brought up to
date by the fix's own lifetimes: few lifetimes leave it near the wider history, many near their
own product-limit estimate.

With several horizons that is done stretch by stretch: from the handover to the first horizon, and
of what held so long to the next. A rate at a longer horizon is so never above one at a shorter.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise, product
from math import lgamma
from operator import attrgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.rates.survival import Lifetime, ends, product_limit

Floats = NDArray[np.float64]
Key = tuple[str, str]
"""Action and component of a fix, as `kb.case.Attempt.fix`."""

_CURES = (0.03, 0.2, 0.4, 0.6, 0.75, 0.86, 0.93, 0.97, 0.99)
_HOLDS = (0.05, 0.3, 0.6, 0.8, 0.9, 0.96, 0.99)
"""Chances to cure and then to hold, each pair a kind of fix. They lie closer where workshops mostly
are, near 1; chosen, as the strength, by simulated shops (``tests/benchmarks/fix_rates.py``)."""
_STRENGTH = 40.0
"""How many lifetimes a kind's chances count as much as, so that kinds overlap a little."""
_EDGES = (0.0, 1 / 12, 1 / 6, 1 / 3, 2 / 3, 1.0)
"""Parts of the horizon between which comebacks are spread as the shop's are; closer at the start,
where most that do not hold come back
(common practice, no source)."""
_EVENLY = 0.1
"""Part of the comebacks that is spread evenly over the horizon whatever was seen, so that no time
without a comeback yet is taken for a safe one."""
_STEPS, _CLOSE = 200, 1e-9
"""Newton steps at the most, a shop of ten thousand fixes takes forty; the gain in log probability
below which another is not worth taking."""
_PULLS = (1.0, 4.0, 16.0, 64.0, 10_000.0)
"""As how many fixes of a group the level above it may count. Steps of four are as fine as the fixes
of one shop can tell apart (by judgement); the last stands for a group that tells nothing."""
_DIGITS = 4
"""Decimals of a fix's share in a kind that are kept beside the index."""


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is believed of a share: a beta distribution with these shapes."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """The share expected."""
        return self.a / (self.a + self.b)


@dataclass(frozen=True, slots=True)
class Kinds:
    """The kinds of fixes there may be.

    Each pair of `cures`, chances to cure at handover, and `holds`, chances of what cured to hold,
    is a kind; without `cures` nothing fails at time 0. `strengths` tell as how many lifetimes the
    one and the other count. `spread` is the part of all comebacks that has come by each of `edges`,
    times from 0 to the horizon.
    """

    cures: tuple[float, ...]
    holds: tuple[float, ...]
    strengths: tuple[float, float]
    edges: tuple[float, ...]
    spread: tuple[float, ...]

    def told(self, fixes: Sequence[Sequence[Lifetime]]) -> tuple["_Side", "_Side"]:
        """Bring every kind up to date by each fix's lifetimes: at handover, and after it.

        All fixes at once, as many rows for each as there are times at which something is known.
        """
        counts = [self._counts(lives) for lives in fixes]
        begins = np.cumsum([0, *(len(times) - 1 for times, _, _ in counts[:-1])])
        times = np.array([time for each, _, _ in counts for time in each[1:]])
        at_risk = np.array([count for _, each, _ in counts for count in each[1:]])
        failed = np.array([count for _, _, each in counts for count in each[1:]])
        cures, holds = np.array(self.cures), np.array(self.holds)
        come = np.interp(times, self.edges, self.spread)
        left = 1 - np.multiply.outer(come, 1 - holds)
        before = np.vstack([np.ones_like(holds), left[:-1]])
        before[begins] = 1
        first, later = self.strengths
        after = _Side.of(later * left, later * (before - left), at_risk, failed, begins)
        if not self.cures:
            sure = np.ones((len(fixes), 1))
            return _Side(sure, sure, np.zeros_like(sure)), after
        handover = _Side.of(
            first * cures[None],
            first * (1 - cures)[None],
            np.array([each[0] for _, each, _ in counts]),
            np.array([each[0] for _, _, each in counts]),
            np.arange(len(fixes)),
        )
        return handover, after

    def _counts(self, lives: Sequence[Lifetime]) -> tuple[list[float], list[float], list[float]]:
        """Return the times of a fix from 0 to the horizon, how many are at risk, how many fail."""
        ended_at, ended = ends(lives)
        horizon = self.edges[-1]
        times = sorted({0.0, horizon, *(time for time in ended_at if time < horizon)})
        beyond = sum(ended[time, False] + ended[time, True] for time in ended_at if time > horizon)
        over = accumulate(ended[time, True] + ended[time, False] for time in reversed(times))
        at_risk = [each + beyond for each in over][::-1]
        return times, at_risk, [ended[time, True] for time in times]


@dataclass(frozen=True, slots=True)
class _Side:
    """For each fix and kind: first two moments of its chance, and how probable the lifetimes are.

    All are (fixes, kinds).
    """

    mean: Floats
    square: Floats
    evidence: Floats

    @classmethod
    def of(
        cls,
        good: Floats,
        bad: Floats,
        at_risk: Floats,
        failed: Floats,
        begins: NDArray[np.int_],
    ) -> "_Side":
        """Multiply beta variables of which so many failed of those at risk.

        The shapes of the chances to stay good are (times, kinds), the counts (times,); `begins` are
        the rows with which the fixes begin.
        """
        told, lost = (at_risk - failed)[:, None], failed[:, None]
        seen = np.where(
            at_risk[:, None] > 0, _log_beta(good + told, bad + lost) - _log_beta(good, bad), 0.0
        )
        good, every = good + told, good + bad + at_risk[:, None]
        share = good / every
        return cls(
            np.multiply.reduceat(share, begins),
            np.multiply.reduceat(share * (good + 1) / (every + 1), begins),
            np.add.reduceat(seen, begins),
        )


@dataclass(frozen=True, slots=True)
class WiderHistory:
    """What a shop's fixes say of one another up to a horizon; made by `fit`.

    `shop` tells how frequent each kind is, all cures of the first hold, then of the next; `pulls`,
    for each level of `levels`, as how many fixes of it the level above counts; `groups`, for each
    group of every level, how many of its fixes seem of each kind.
    """

    kinds: Kinds
    shop: tuple[float, ...]
    pulls: tuple[float, ...] = ()
    groups: dict[str, tuple[float, ...]] | None = None

    def posterior(self, fix: Key, lives: Sequence[Lifetime]) -> Posterior:
        """Return what is believed of a fix's chance to cure and to hold to the horizon.

        Its own lifetimes are taken out of the wider history first.
        """
        handover, after = self.kinds.told([lives])
        weights = self._weights(fix, _likelihood(handover, after)[0])
        mean = float(weights @ _pairs(handover.mean[0], after.mean[0]))
        square = float(weights @ _pairs(handover.square[0], after.square[0]))
        size = (mean - square) / (square - mean * mean)
        return Posterior(mean * size, (1 - mean) * size)

    def left(self, fix: Key, lives: Sequence[Lifetime]) -> tuple[float, ...]:
        """Return the share of a fix's cured cars expected to be still good at each edge."""
        weights = self._weights(fix, _likelihood(*self.kinds.told([lives]))[0])
        by_hold = weights.reshape(max(len(self.kinds.cures), 1), -1).sum(axis=0)
        lost = float(by_hold @ (1 - np.array(self.kinds.holds)))
        return tuple(1 - lost * come for come in self.kinds.spread)

    def _weights(self, fix: Key, likelihood: Floats) -> Floats:
        """How probable it is that a fix is of each kind."""
        frequent = np.array(self.shop)
        mine = _shares(frequent * likelihood)
        prior = frequent
        for name, pull in zip(levels(fix), self.pulls, strict=False):
            group = np.array((self.groups or {}).get(name, mine))
            prior = _pulled(prior, pull, np.maximum(group - mine, 0))
        return _shares(prior * likelihood)


@dataclass(frozen=True, slots=True)
class StagedHistory:
    """What a shop's fixes say of one another at several horizons, the shortest first.

    `stages` are as many: up to the first horizon, then of what held so long up to the next.
    """

    horizons: tuple[float, ...]
    stages: tuple[WiderHistory, ...]

    def posteriors(self, fix: Key, lives: Sequence[Lifetime]) -> list[Posterior]:
        """Return what is believed of a fix's chance to cure and to hold to each horizon.

        What is believed of the stretches is taken as independent.
        """
        mean, square, found = 1.0, 1.0, []
        for start, stage in zip((0.0, *self.horizons), self.stages, strict=False):
            belief = stage.posterior(fix, beyond(lives, start))
            mean *= belief.mean
            square *= belief.mean * (belief.a + 1) / (belief.a + belief.b + 1)
            size = (mean - square) / (square - mean * mean)
            found.append(Posterior(mean * size, (1 - mean) * size))
        return found


def beyond(lives: Iterable[Lifetime], start: float) -> list[Lifetime]:
    """Return what is left after a time of the lifetimes that outlast it; all of them after 0."""
    if not start:
        return list(lives)
    return [
        Lifetime(life.time - start, life.failed, life.weight)
        for life in lives
        if life.outlasts(start)
    ]


def neutral(horizon: float, cures: Sequence[float] = (0.75,)) -> WiderHistory:
    """Return what is believed where no wider history speaks.

    Jeffreys' prior, half a failure and half a success: half of the failures at handover, half
    evenly until the horizon. Without `cures` that half alone.
    """
    kinds = Kinds(tuple(cures), (2 / 3,), (1.0, 0.75), (0.0, horizon), (0.0, 1.0))
    return WiderHistory(kinds, (1.0,))


def neutral_stages(horizons: Sequence[float]) -> StagedHistory:
    """Return the same for several horizons."""
    first, *later = _stretches(horizons)
    stages = (neutral(first[1]), *(neutral(length, ()) for _, length in later))
    return StagedHistory(tuple(horizons), stages)


def fit_stages(
    fixes: Mapping[tuple[Any, Key], Sequence[Lifetime]], horizons: Sequence[float], least: int = 10
) -> StagedHistory | None:
    """Learn as `fit` does, for several horizons; None with fewer fixes than `least`.

    A later stretch that fewer fixes are known to have begun is not learnt.
    """
    stages: list[WiderHistory] = []
    for start, length in _stretches(horizons):
        left = {key: beyond(lives, start) for key, lives in fixes.items()}
        learnt = fit(left, length, least, () if start else _CURES)
        if learnt is None and not start:
            return None
        stages.append(learnt or neutral(length, ()))
    return StagedHistory(tuple(horizons), tuple(stages))


def _stretches(horizons: Sequence[float]) -> list[tuple[float, float]]:
    """Return start and length of each stretch between horizons."""
    return [(start, end - start) for start, end in pairwise((0.0, *horizons))]


def levels(fix: Key) -> tuple[str, ...]:
    """Return the groups a fix belongs to, the widest first: its action; action and component."""
    action, component = fix
    return (action, f"{action} {component}")


def fit(
    fixes: Mapping[tuple[Any, Key], Sequence[Lifetime]],
    horizon: float,
    least: int = 10,
    cures: tuple[float, ...] = _CURES,
) -> WiderHistory | None:
    """Learn from all fixes of a shop how far one tells of another; None with fewer than `least`.

    `fixes` are cause and fix with its lifetimes, in the unit of the horizon; `cures` as in `Kinds`.

    Notes
    -----
    After the handover a kind is a Dirichlet process around a curve that falls to its chance to
    hold as the shop's comebacks do: between two times at which a lifetime ended the chance to
    stay good is then a beta variable, and so is the chance to cure. How frequent the kinds are
    is what makes the lifetimes most probable, with one fix's worth spread over all of them. The
    kinds of a group's other fixes count as one each against `pulls` for the level above; pulls
    are those under which the lifetimes seen are most probable (empirical Bayes).

    References
    ----------
    Laird, "Nonparametric maximum likelihood estimation of a mixing distribution", Journal of the
    American Statistical Association 73, 1978; Ferguson & Phadia, "Bayesian nonparametric
    estimation based on censored data", Annals of Statistics 7(1), 1979; Efron & Morris, "Stein's
    paradox in statistics", Scientific American 236, 1977 (all from memory).
    """
    known = {key: lives for key, lives in fixes.items() if lives}
    if len(known) < least:
        return None
    edges = tuple(part * horizon for part in _EDGES)
    spread = _spread([life for lives in known.values() for life in lives], edges)
    kinds = Kinds(cures, _HOLDS, (_STRENGTH, _STRENGTH), edges, spread)
    likelihood = _likelihoods(kinds, known.values())
    frequent = _frequent(likelihood)
    alike = _shares(frequent * likelihood)
    named = [levels(fix) for _, fix in known]
    members = [np.unique(names, return_inverse=True) for names in zip(*named, strict=True)]
    sums = [_summed(alike, inverse) for _, inverse in members]
    others = [total[inverse] - alike for total, (_, inverse) in zip(sums, members, strict=True)]
    _, pulls = max(
        (_evidence(likelihood, frequent, others, pulls), pulls)
        for pulls in product(_PULLS, repeat=len(others))
    )
    groups = {
        str(name): tuple(row.round(_DIGITS).tolist())
        for total, (names, _) in zip(sums, members, strict=True)
        for name, row in zip(names, total, strict=True)
    }
    return WiderHistory(kinds, tuple(frequent.tolist()), pulls, groups)


_log_gamma = np.vectorize(lgamma, otypes=[np.float64])


def _log_beta(a: Floats, b: Floats) -> Floats:
    found: Floats = _log_gamma(a) + _log_gamma(b) - _log_gamma(a + b)
    return found


def _spread(lives: Iterable[Lifetime], edges: Sequence[float]) -> tuple[float, ...]:
    """Return the part of all comebacks within the horizon that has come by each edge."""
    later = [life for life in lives if life.time > 0]
    steps = [step for step in product_limit(later) if step.time <= edges[-1]]
    left = np.array(
        [min((step.survival for step in steps if step.time <= edge), default=1.0) for edge in edges]
    )
    even = np.array(edges) / edges[-1]
    seen = (1 - left) / (1 - left[-1]) if steps else even
    mixed: list[float] = ((1 - _EVENLY) * seen + _EVENLY * even).tolist()
    return tuple(mixed)


def _likelihoods(kinds: Kinds, fixes: Iterable[Sequence[Lifetime]]) -> Floats:
    """Return a row for each fix; of most fixes others have the very same lifetimes."""
    rows = [tuple(sorted(lives, key=attrgetter("time", "failed", "weight"))) for lives in fixes]
    place = {lives: at for at, lives in enumerate(dict.fromkeys(rows))}
    told = _likelihood(*kinds.told(list(place)))
    return told[[place[lives] for lives in rows]]


def _likelihood(handover: _Side, after: _Side) -> Floats:
    """Return how probable each fix's lifetimes are by each kind, the most probable 1."""
    both = handover.evidence[:, :, None] + after.evidence[:, None, :]
    both = both.reshape(len(both), -1)
    found: Floats = np.exp(both - both.max(axis=1, keepdims=True))
    return found


def _pairs(cures: Floats, holds: Floats) -> Floats:
    return np.multiply.outer(cures, holds).ravel()


def _frequent(likelihood: Floats) -> Floats:
    """Find how frequent each kind is: where lifetimes and one fix of all kinds are likeliest.

    The maximum of ``sum(log(L f)) + mean(log(f))`` under ``sum(f) = 1``, for whose multiplier the
    number of fixes and one may be put: Newton's method, each step as long as it gains and stays
    above nought (Boyd & Vandenberghe, "Convex Optimization", 2004, 9.5; from memory).
    """
    fixes, kinds = likelihood.shape

    def gained(frequent: Floats) -> float:
        seen = np.log(likelihood @ frequent).sum() + np.log(frequent).mean()
        return float(seen - (fixes + 1) * frequent.sum())

    frequent = np.full(kinds, 1 / kinds)
    for _ in range(_STEPS):
        shares = likelihood / (likelihood @ frequent)[:, None]
        slope = shares.sum(axis=0) + 1 / (kinds * frequent) - (fixes + 1)
        step = np.linalg.solve(shares.T @ shares + np.diag(1 / (kinds * frequent**2)), slope)
        if slope @ step < _CLOSE:
            break
        length = min(1.0, 0.95 / float(np.max(-step / frequent, initial=1e-9)))
        while gained(frequent + length * step) < gained(frequent) + length * (slope @ step) / 4:
            length /= 2
        frequent = frequent + length * step
    return _shares(frequent)


def _shares(weights: Floats) -> Floats:
    shares: Floats = weights / weights.sum(axis=-1, keepdims=True)
    return shares


def _pulled(prior: Floats, pull: float, others: Floats) -> Floats:
    return _shares(pull * prior + others)


def _summed(rows: Floats, inverse: NDArray[np.int_]) -> Floats:
    total = np.zeros((int(inverse.max()) + 1, rows.shape[1]))
    np.add.at(total, inverse, rows)
    return total


def _evidence(
    likelihood: Floats, frequent: Floats, others: Sequence[Floats], pulls: Sequence[float]
) -> float:
    """Log probability of all lifetimes when every fix is told by the others of its groups."""
    prior = np.broadcast_to(frequent, likelihood.shape)
    for group, pull in zip(others, pulls, strict=True):
        prior = _pulled(prior, pull, group)
    return float(np.log((prior * likelihood).sum(axis=1)).sum())
