"""Whether two marks go together more often than luck has it: formulas only, nothing of jobs."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Stratum:
    """A table of two marks within one band of comparable things.

    Of `total`, `group` bear the one mark and `fault` the other.
    """

    total: int
    group: int
    fault: int


def chance_of_association(observed: int, strata: Sequence[Stratum]) -> float:
    """One-sided chance of at least so many by luck alone: Fisher's exact test, stratified.

    Within each stratum the count is hypergeometric; their sum is compared with `observed`, what
    bears both marks over all strata.

    References
    ----------
    Fisher, "The Design of Experiments", 1935; Gart, "Point and interval estimation of the common
    odds ratio in the combination of 2 x 2 tables with fixed marginals", Biometrika 57, 1970.

    Examples
    --------
    >>> chance_of_association(3, [Stratum(total=8, group=4, fault=4)])
    0.242857...
    """
    from scipy.stats import hypergeom  # noqa: PLC0415  slow to import

    chances = np.ones(1)
    for each in strata:
        possible = np.arange(min(each.group, each.fault) + 1)
        chances = np.convolve(chances, hypergeom.pmf(possible, each.total, each.fault, each.group))
    return min(1.0, float(chances[max(observed, 0) :].sum()))
