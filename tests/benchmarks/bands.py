"""How much of the good population a normal band holds, by simulation; run by hand.

    python tests/benchmarks/bands.py [seed]

Populations of good readings on a resistance's scale (normal and skewed), alone or with a tenth of
the readings mislabelled: bad ones called good, 2 to 5 spreads off (mild) or 4 to 25 (gross). For
each size: mean share held in %, and in brackets the share of bands labelled as widened, with
readings set aside, or with long tails. Nominal is 95 %.
"""

import sys

import numpy as np
from scipy import stats

from kb.bands.bands import Band, BandLevel, ReadingSample, Scale, learn
from kb.errors import Notice
from kb.settings import Settings

SIZES = (5, 7, 10, 20, 50, 100, 200, 500)
SPREAD = 0.1
POPULATIONS = {
    "normal": stats.norm(),
    "skewed right": stats.skewnorm(4),
    "skewed left": stats.skewnorm(-4),
    "log of gamma 4": stats.loggamma(4),
}
MISLABELLED = {"clean": (0.0, (0.0, 0.0)), "mild": (0.1, (2.0, 5.0)), "gross": (0.1, (4.0, 25.0))}
LABELS = {Notice.WIDENED, Notice.SET_ASIDE, Notice.LONG_TAILS}


def draw(
    rng: np.random.Generator, population: str, size: int, share: float, off: tuple[float, float]
) -> Band:
    """Learn one band from simulated readings around 2.2 ohm."""
    points = POPULATIONS[population].rvs(size, random_state=rng)
    bad = rng.random(size) < share
    points = points + bad * rng.uniform(*off, size) * POPULATIONS[population].std()
    values = tuple(float(value) for value in 2.2 * np.exp(SPREAD * points))
    return learn(
        ReadingSample(values=values), BandLevel.ALL, Scale(True, 1e-6), Settings().readings
    )


def held(band: Band, population: str) -> float:
    """Share of the good population inside a band."""
    assert band.low is not None
    assert band.high is not None
    low, high = (float(np.log(end / 2.2) / SPREAD) for end in (band.low, band.high))
    return float(POPULATIONS[population].cdf(high) - POPULATIONS[population].cdf(low))


def main(seed: int) -> None:
    """Print the table."""
    rng = np.random.default_rng(seed)
    print(f"seed {seed}; share held in % (bands labelled in %)")
    print(f"{'':<24}" + "".join(f"{size:>11}" for size in SIZES))
    for population in POPULATIONS:
        for label, (share, off) in MISLABELLED.items():
            cells = []
            for size in SIZES:
                bands = [
                    draw(rng, population, size, share, off) for _ in range(max(60, 4000 // size))
                ]
                spoken = [band for band in bands if band.speaks]
                mean = 100 * np.mean([held(band, population) for band in spoken])
                told = 100 * np.mean([bool(LABELS.intersection(band.notices)) for band in spoken])
                cells.append(f"{mean:>5.1f} ({told:>3.0f})")
            print(f"{population + ', ' + label:<24}" + "".join(f"{cell:>11}" for cell in cells))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
