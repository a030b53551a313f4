"""What counts of cars can show at all: the rules of `kb recurring` and Fisher's, on counts alone.

Shops as those of `recurrence.py`, but without ages, years and visits: how many cars of a model had
a part is one draw, so that a thousand shops take seconds and shares are sure within 3 %. The rule
is that of the page, with how much models differ by nature (0.3) known to it: the sum of the chances
of less than 1.5 times. Fisher's test is that of two rates, with Benjamini-Hochberg.

Each way names what lies below the limit at which it names something, or something that runs at
less than 1.5 times, in 5 % and 20 % of shops with nothing planted: once of shops without a large
model, and once of shops of the same fleet. Printed is how many of the planted facts are found, in
percent, and how many of all that is named are true.

Run: python -m tests.benchmarks.recurrence_counts [--shops N] [--nothing N] [--size 3000 20000]
"""

import argparse
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom, false_discovery_control

from kb.recurrence.comparison import STEPS, Excesses, mixture
from kb.settings import RecurrenceSettings
from tests.benchmarks.recurrence import (
    EXCESSES,
    FALSE_REPORTS,
    LOOKED_AT,
    MODELS,
    NEVER,
    PARTS,
    SHARES,
    WORTH,
)

SPREAD = 0.3
SEEN = 0.77
"""Share of the cars that came at all: 2.5 visits on average, gamma of 1.5."""

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


def shop(seed: int, size: int, share: float | None, excess: float | None) -> Named:
    dice = np.random.default_rng(seed)
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
    visits = dice.multinomial(size, shares)[:, None]
    cars = (SEEN * size * 2 / 5 * shares)[:, None]
    counts = dice.poisson(cars * (1 - np.exp(-rates * visits / np.maximum(cars, 1e-9))))
    weighed = shares @ rates
    others = (weighed - shares[:, None] * rates) / (1 - shares[:, None])
    return _judged(counts, shares, rates >= WORTH * others, fact)


def _judged(counts: NDArray[np.int64], shares: Floats, true: Marks, fact: Marks) -> Named:
    every = np.broadcast_to(counts.sum(axis=0), counts.shape)
    share = np.broadcast_to(shares[:, None], counts.shape)
    seen = (counts >= RecurrenceSettings().least_vehicles) & (counts > every * share)
    chances = binom.sf(counts[seen] - 1, every[seen], share[seen])
    untold = np.ones(int((counts > 0).sum() - seen.sum()))
    had, had_by_all = (each[seen].astype(np.float64) for each in (counts, every))
    doubts = _chances_of_less(had, had_by_all, share[seen])
    in_order = np.argsort(doubts, kind="stable")
    summed = np.empty_like(doubts)
    summed[in_order] = np.cumsum(doubts[in_order])
    ways = {
        "ours": summed,
        "Fisher, BH": false_discovery_control(np.append(chances, untold))[: len(chances)],
    }
    return Named(ways, true[seen], fact[seen])


def _chances_of_less(counts: Floats, every: Floats, share: Floats) -> Floats:
    """Return what `comparison.chance_of_less` does, of many at once."""
    given = RecurrenceSettings()
    believed = Excesses(
        SPREAD, given.least_ratio, given.excess_scale, max(given.excess_share, 7 / LOOKED_AT)
    )
    ratios, likely = mixture(believed)
    of_group = np.log(np.outer(share, ratios) + (1 - share)[:, None])
    logs = np.outer(counts, np.log(ratios)) - every[:, None] * of_group
    belief = likely * np.exp(logs - logs.max(axis=1, keepdims=True))
    less: Floats = belief[:, :STEPS].sum(axis=1) / belief.sum(axis=1)
    return less


def limits(shops: list[Named], *, untrue: bool) -> dict[tuple[str, str], float]:
    """Return below which number each way names something in as many shops, by way and level."""
    found: dict[tuple[str, str], float] = {}
    for way in ("ours", "Fisher, BH"):
        best = sorted(
            each.surest(way, ~each.true if untrue else np.ones_like(each.true)) for each in shops
        )
        for level, part in FALSE_REPORTS.items():
            found[way, level] = best[int(part * len(shops))]
    return found


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--shops", type=int, default=500)
    options.add_argument("--nothing", type=int, default=500)
    options.add_argument("--size", type=int, nargs="*", default=[3000, 20000])
    given = options.parse_args()
    for size in given.size:
        empty = {
            share: [shop(1_000_000 + n, size, share, None) for n in range(given.nothing)]
            for share in (None, *SHARES)
        }
        for share in SHARES:
            full = {
                excess: [shop(5_000_000 + n, size, share, excess) for n in range(given.shops)]
                for excess in EXCESSES
            }
            for fleet, known in (("no large model", empty[None]), ("same fleet", empty[share])):
                for untrue in (False, True):
                    title = f"{size} jobs, {share:.0%}, {fleet}, {'untrue' if untrue else 'any'}"
                    told(title, full, limits(known, untrue=untrue))


def told(title: str, full: dict[float, list[Named]], limit: dict[tuple[str, str], float]) -> None:
    """Print what each way finds of the planted facts, and how much of what it names is true."""
    for (way, level), least in limit.items():
        named = [(each, each.ways[way] < least) for shops in full.values() for each in shops]
        right = sum(int((below & each.true).sum()) for each, below in named)
        every = sum(int(below.sum()) for _, below in named)
        found = (
            f"{excess}x {np.mean([each.surest(way, each.planted) < least for each in shops]):.0%}"
            for excess, shops in full.items()
        )
        print(
            f"{title}, {level}, {way}:", *found, f"; true {right / max(1, every):.0%}", flush=True
        )


if __name__ == "__main__":
    main()
