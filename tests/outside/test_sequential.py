"""Sequential alarms against printed critical values."""

import pytest

from kb.statistics.sequential import crossing_chance

TRIALS = 10_000
"""Of so many trials with a small share the hits are all but Poisson."""


@pytest.mark.parametrize(
    ("until", "least", "printed"),
    [
        (1, 1, 2.853937),
        (2, 1, 3.046977),
        (5, 1, 3.297183),
        (10, 1, 3.467952),
        (20, 1, 3.628123),
        (5, 4, 2.623668),
        (10, 4, 2.921561),
        (20, 4, 3.176370),
    ],
)
def test_the_printed_critical_values_are_reached_in_one_of_twenty(
    until: int, least: int, printed: float
) -> None:
    """Poisson MaxSPRT, level 0.05, by expected events to the end and least number of events.

    Kulldorff et al., "A maximized sequential probability ratio test for drug and vaccine safety
    surveillance", Sequential Analysis 30(1), 2011, table 1 (least 1: from memory); least 4 and the
    further digits: R package Sequential, function CV.Poisson, computed anew from its definition.
    """
    shares = [until / TRIALS] * TRIALS
    assert crossing_chance(shares, printed, least) == pytest.approx(0.05, abs=5e-4)
