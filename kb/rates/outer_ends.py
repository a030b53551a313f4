"""How good or bad a fix may be, whatever became of the cars that nobody heard of."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Self

from kb.rates.survival import Interval, Lifetime, survival_at


@dataclass(frozen=True, slots=True)
class Fates:
    """How many are known to have held to a horizon, to have failed, and neither for sure."""

    held: int
    failed: int
    lost: int

    @classmethod
    def of(cls, attempts: Iterable[Sequence[Lifetime]], horizon: float, untold: int = 0) -> Self:
        """Count attempts by what their lifetimes say by their whole weight.

        Some more are `untold`: nobody wrote down whether they cured. They are known only where they
        held or came back, so who leaves them out takes it that those known are as they.
        """
        known = list(attempts)
        held = sum(all(life.outlasts(horizon) for life in lives) for lives in known)
        failed = sum(all(life.failed and life.time <= horizon for life in lives) for lives in known)
        return cls(held, failed, len(known) - held - failed + untold)


def outer_ends(fates: Fates, confidence: float = 0.95) -> Interval:
    """Return between what ends a share lies, whichever were lost from sight.

    An interval tells what chance does, and takes it that the cars lost fared as the others did.
    Where those that failed are likelier to be lost, as after a wrong diagnosis, or those that held,
    as nobody rings to say so, it may miss. These ends do not: the lower one is the interval's if
    every car lost had failed, the upper one if every car lost had held.

    References
    ----------
    Horowitz & Manski, "Nonparametric analysis of randomized experiments with missing covariate and
    outcome data", Journal of the American Statistical Association 95, 2000 (from memory): bounds
    without assumptions about what is missing.

    Examples
    --------
    >>> found = outer_ends(Fates(held=8, failed=0, lost=4))
    >>> round(found.low, 2), round(found.high, 2)
    (0.37, 1.0)
    """
    return Interval(
        _all_told(fates.held, fates.failed + fates.lost, confidence).low,
        _all_told(fates.held + fates.lost, fates.failed, confidence).high,
    )


@lru_cache(maxsize=10_000)
def _all_told(held: int, failed: int, confidence: float) -> Interval:
    """Return the interval of so many, none lost from sight."""
    lives = [Lifetime(1, failed=False)] * held + [Lifetime(0, failed=True)] * failed
    return survival_at(lives, 1, confidence).interval
