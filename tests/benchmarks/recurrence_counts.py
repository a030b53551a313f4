"""What counts of cars can show at all: the rule of `kb recurring` and plain ways, on counts alone.

Shops as those of `recurrence.py`, but without ages, years, makes and visits: how many cars of a
model had a part is one draw, so that a thousand shops take seconds and shares are sure within 3 %.
The rule is that of the page, with how much models differ by nature (0.3) known to it. Beside it are
Fisher's test of two rates with Benjamini-Hochberg, a fixed ratio, the most frequent combinations,
and about the most that so many counts can show: what somebody names who knows which model it may
be, and how often each part fails on the average of all models there could be.

Printed is how many shops with nothing planted, of such a fleet, name anything at the rule's own
levels (5 and 20 %), or anything that runs at less than 1.5 times; how many of the planted facts it
finds there, in percent, and what share of all that is named is true; then, where each way names
something in just as many shops with nothing planted, how many of the facts it finds. With --months,
after how many months of jobs: half of the facts of three times or more, each way at the limits that
hold after as many months.

Run: python -m tests.benchmarks.recurrence_counts [--shops N] [--nothing N] [--size 3000 20000]
[--months]
"""

import argparse
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc
from scipy.stats import binom, false_discovery_control, nbinom

from kb.recurrence.comparison import RATIOS, Nature, natural
from kb.settings import RecurrenceSettings
from tests.benchmarks.recurrence import (
    EXCESSES,
    FALSE_REPORTS,
    MODELS,
    NEVER,
    PARTS,
    SHARES,
    WORTH,
)

SPREAD = 0.3
SEEN = 0.77
"""Share of the cars that came at all: 2.5 visits on average, gamma of 1.5."""
STEPS = 16
"""Looks in 48 months."""
LEAST = 1e-9
"""How likely a ratio must be by nature to be summed over."""

OURS, CEILING = "ours", "ceiling"
WAYS = (OURS, "Fisher, BH", "fixed ratio", "most frequent", CEILING)

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]


@dataclass(frozen=True)
class Named:
    """What may be named in a shop: the number of each way, what is true, what is planted."""

    ways: dict[str, Floats]
    true: Marks
    planted: Marks

    def surest(self, way: str, among: Marks) -> float:
        return float(self.ways[way][among].min()) if among.any() else NEVER


@dataclass(frozen=True)
class Truth:
    """How a shop is: shares of models, cars to have each part, whose excess is true or planted.

    `usual` is how many would have it if no model differed from the average of all there could be.
    """

    shares: Floats
    means: Floats
    usual: Floats
    true: Marks
    fact: Marks


def truth(dice: np.random.Generator, size: int, share: float | None, excess: float | None) -> Truth:
    shares = dice.dirichlet(np.ones(MODELS))
    parts = 1 / np.arange(3, PARTS + 3)
    parts /= parts.sum()
    nature = dice.gamma(1 / SPREAD**2, SPREAD**2, (MODELS, PARTS))
    fact = np.zeros((MODELS, PARTS), dtype=bool)
    if share is not None:
        shares = np.append(share, (1 - share) * shares[1:] / shares[1:].sum())
    if excess is not None:
        part = int(dice.integers(5, 30))
        fact[0, part] = True
        nature[fact] = excess * nature[1:, part].mean()
    rates = parts * nature
    rates /= 1.6 * rates.sum(axis=1, keepdims=True)
    usual = np.tile(parts / 1.6, (MODELS, 1))
    visits = dice.multinomial(size, shares)[:, None]
    cars = (SEEN * size * 2 / 5 * shares)[:, None]
    weighed = shares @ rates
    others = (weighed - shares[:, None] * rates) / (1 - shares[:, None])

    def having(of_visit: Floats) -> Floats:
        means: Floats = cars * (1 - np.exp(-of_visit * visits / np.maximum(cars, 1e-9)))
        return means

    return Truth(shares, having(rates), having(usual), rates >= WORTH * others, fact)


def shop(seed: int, size: int, share: float | None, excess: float | None) -> Named:
    dice = np.random.default_rng(seed)
    known = truth(dice, size, share, excess)
    return judged(dice.poisson(known.means), known, 1.0)


def in_time(seed: int, size: int, share: float, excess: float | None) -> list[Named]:
    """Return a shop as it is seen after each step of its months."""
    dice = np.random.default_rng(seed)
    known = truth(dice, size, share, excess)
    steps = dice.poisson(known.means / STEPS, (STEPS, *known.means.shape)).cumsum(axis=0)
    return [judged(each, known, (n + 1) / STEPS) for n, each in enumerate(steps)]


def judged(counts: NDArray[np.int64], known: Truth, time: float) -> Named:
    every = np.broadcast_to(counts.sum(axis=0), counts.shape)
    share = np.broadcast_to(known.shares[:, None], counts.shape)
    least = RecurrenceSettings().least_vehicles
    looked_at = (counts > 0) & (every >= least)
    seen = (counts >= least) & (counts > every * share)
    had, had_by_all, mine = counts[seen], every[seen], share[seen]
    expected = had_by_all * mine
    chances = binom.sf(had - 1, had_by_all, mine)
    untold = np.ones(int((counts > 0).sum() - seen.sum()))
    worth = expected / (every * share)[looked_at].sum()
    alike = ((known.shares**2).sum() - known.shares**2) / (1 - known.shares) ** 2
    of_model = np.broadcast_to(alike[:, None], counts.shape)[seen]
    ways = {
        OURS: _by_nature(had, had_by_all, mine, of_model) / worth,
        "Fisher, BH": false_discovery_control(np.append(chances, untold))[: len(chances)],
        "fixed ratio": -had / expected,
        "most frequent": -had.astype(np.float64),
        CEILING: _ceiling(counts, time * known.usual)[seen],
    }
    return Named(ways, known.true[seen], known.fact[seen])


def _by_nature(
    had: NDArray[np.int64], every: NDArray[np.int64], share: Floats, alike: Floats
) -> Floats:
    """Return what `comparison.chance_by_nature` does, of many that are unlikely by luck."""
    chances = _tails(had, every, share)
    suspect = chances < RecurrenceSettings().suspect_level
    for each in np.unique(alike[suspect]):
        some = np.flatnonzero(suspect & (alike == each))
        likely = natural(Nature(SPREAD, float(each)))
        at = likely > LEAST
        odds = np.outer(share[some] / (1 - share[some]), RATIOS[at])
        chances[some] = _tails(had[some, None], every[some, None], odds / (1 + odds)) @ likely[at]
    return chances


def _tails(had: NDArray[np.int64], every: NDArray[np.int64], share: Floats) -> Floats:
    """Return the chances of more, and half of just so many, by the binomial's incomplete beta."""
    at_least, more = betainc(had, every - had + 1, share), betainc(had + 1, every - had, share)
    tails: Floats = (at_least + np.where(every > had, more, 0.0)) / 2
    return tails


def _ceiling(counts: NDArray[np.int64], usual: Floats) -> Floats:
    """Return how likely nature brings each count of the first model, weighed as the page does."""
    shape = SPREAD**-2
    chances = np.full(counts.shape, NEVER)
    chances[0] = nbinom.sf(counts[0] - 1, shape, shape / (shape + usual[0])) / usual[0]
    return chances


def limit(shops: Sequence[Named], way: str, level: float) -> float:
    """Return below which number a way names something in that share of the shops."""
    best = sorted(each.surest(way, np.ones_like(each.true)) for each in shops)
    return best[int(level * len(shops))]


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--shops", type=int, default=200)
    options.add_argument("--nothing", type=int, default=500)
    options.add_argument("--size", type=int, nargs="*", default=[3000, 20000])
    options.add_argument("--months", action="store_true")
    given = options.parse_args()
    for size in given.size:
        tell_nothing(f"{size} jobs, no large model", size, None, given.nothing)
        for share in SHARES:
            title = f"{size} jobs, {share:.0%}"
            empty = tell_nothing(title, size, share, given.nothing)
            full = {
                excess: [shop(5_000_000 + n, size, share, excess) for n in range(given.shops)]
                for excess in EXCESSES
            }
            for name, level in FALSE_REPORTS.items():
                tell(f"{title}, {name}, own level", OURS, full, level)
                for way in WAYS:
                    tell(f"{title}, {name}, equal", way, full, limit(empty, way, level))
            if given.months:
                tell_months(title, size, share, given.nothing, given.shops)


def tell_nothing(title: str, size: int, share: float | None, shops: int) -> list[Named]:
    """Print how often the rule names anything, or anything untrue, where nothing is planted."""
    empty = [shop(1_000_000 + n, size, share, None) for n in range(shops)]
    for name, level in FALSE_REPORTS.items():
        named = sum((each.ways[OURS] <= level).any() for each in empty)
        untrue = sum(each.surest(OURS, ~each.true) <= level for each in empty)
        print(f"{title}, nothing, {name}: {named} of {shops} name anything, {untrue} untrue")
    return empty


def tell(title: str, way: str, full: dict[float, list[Named]], least: float) -> None:
    """Print what a way finds of the planted facts, and how much of what it names is true."""
    named = [(each, each.ways[way] < least) for shops in full.values() for each in shops]
    right = sum(int((below & each.true).sum()) for each, below in named)
    every = sum(int(below.sum()) for _, below in named)
    shares = [
        float(np.mean([each.surest(way, each.planted) < least for each in shops]))
        for shops in full.values()
    ]
    found = (f"{excess}x {share:.0%}" for excess, share in zip(full, shares, strict=True))
    told = f"all {np.mean(shares):.1%}; {right} of {every} true"
    print(f"{title}, {way}:", *found, told, flush=True)


def tell_months(title: str, size: int, share: float, nothing: int, shops: int) -> None:
    """Print after how many months half of the facts are found, where nothing else is named."""
    empty = list(
        zip(*(in_time(1_000_000 + n, size, share, None) for n in range(nothing)), strict=True)
    )
    for excess in (each for each in EXCESSES if each >= 3):
        courses = [in_time(5_000_000 + n, size, share, excess) for n in range(shops)]
        for name, level in FALSE_REPORTS.items():
            after: dict[str, list[float]] = defaultdict(list)
            for way in WAYS:
                limits = [limit(each, way, level) for each in empty]
                for course in courses:
                    steps = zip(course, limits, strict=True)
                    found = (n for n, (s, at) in enumerate(steps) if s.surest(way, s.planted) < at)
                    after[way].append(48 * (next(found, STEPS) + 1) / STEPS)
            halves = (
                f"{way} {half:.0f}" if half <= 48 else f"{way} never"
                for way, months in after.items()
                for half in [float(np.median(months))]
            )
            print(f"{title}, {excess}x, half found after months, {name}:", "; ".join(halves))


if __name__ == "__main__":
    main()
