"""How many of a part will be fitted: counts of the past, and what range the next will lie in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

MOST_SPANS = 8
"""Spans of the past that a forecast is made from: two years of quarters, so that all seasons count
alike (by judgement)."""
LEAST_USE = 0.05
"""Least use a span that is believed of a part: one in five years."""
OFTEN = 2
"""Times a part was fitted in these spans from which it is worth a forecast: once may be chance."""
LEAST_SPANS = 2
"""Spans of the past from which a forecast is made."""


@dataclass(frozen=True, slots=True)
class Use:
    """What a part's use is believed to be: a gamma distribution of events a span.

    Its mean is `shape` / `rate`; it is worth `rate` spans.
    """

    shape: float
    rate: float


FORECASTS_KEPT = 10_000
"""Forecasts that are remembered: parts used as often have the same one."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a next span will use: the likeliest middle, and a central range."""

    mean: float
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Backtest:
    """How many forecasts of the past were made, and how many of the counts lay in their range."""

    made: int
    held: int


def usual_use(counts: Sequence[Sequence[int]]) -> Use:
    """Return what a part's use is believed to be before its own is seen: an average part's.

    It is worth one span, so that a part's own past soon outweighs it (by judgement).

    Parameters
    ----------
    counts : sequence of sequences of int
        A row a part, a count a span.
    """
    means = [sum(row[-MOST_SPANS:]) / len(row[-MOST_SPANS:]) for row in counts if row]
    return Use(shape=max(LEAST_USE, sum(means) / max(1, len(means))), rate=1.0)


def forecast(counts: Sequence[int], use: Use, coverage: float) -> Forecast:
    """Return what the next span will use, from the last spans: negative binomial.

    References
    ----------
    Gelman et al., "Bayesian Data Analysis", 3rd edition, section 2.6: the predictive distribution
    of a Poisson count with a gamma prior.

    Examples
    --------
    >>> told = forecast([3, 2, 4, 3], Use(shape=1.0, rate=1.0), 0.8)
    >>> round(told.mean, 1), told.low, told.high
    (2.6, 1, 5)
    """
    seen = list(counts)[-MOST_SPANS:]
    return _ahead(use.shape + sum(seen), use.rate + len(seen), coverage)


@lru_cache(maxsize=FORECASTS_KEPT)
def _ahead(shape: float, rate: float, coverage: float) -> Forecast:
    """Return the forecast by what is believed of a part: that of many parts is the same."""
    from scipy.stats import nbinom  # noqa: PLC0415  slow to import

    ahead = nbinom(shape, rate / (rate + 1))
    tail = (1 - coverage) / 2
    return Forecast(
        mean=float(ahead.mean()), low=int(ahead.ppf(tail)), high=int(ahead.ppf(1 - tail))
    )


def backtest(counts: Mapping[str, Sequence[int]], coverage: float) -> Backtest:
    """Forecast every span of the past from those before it, and see which counts were in range.

    Only parts that had been used often enough before a span are forecast, as they would have been.
    """
    made = held = 0
    spans = max(map(len, counts.values()), default=0)
    for at in range(LEAST_SPANS, spans):
        before = {part: list(row)[:at][-MOST_SPANS:] for part, row in counts.items()}
        use = usual_use([row for row in before.values() if any(row)])
        for part, row in before.items():
            if sum(row) >= OFTEN:
                told = forecast(row, use, coverage)
                made += 1
                held += told.low <= counts[part][at] <= told.high
    return Backtest(made=made, held=held)
