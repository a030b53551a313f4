"""Excess and trend against printed examples."""

from collections.abc import Collection
from itertools import combinations

import pytest

from kb.recurrence.association import (
    Stratum,
    Trend,
    chance_of_excess,
    expected,
    false_discovery,
    least_component,
    trend,
)


def test_worked_example_of_a_connector_fault() -> None:
    """2,000 cases, 120 on the model, 40 such faults, 9 of them on the model.

    Figures computed beforehand with scipy and statsmodels, apart from this program.
    """
    table = [Stratum(total=2000, group=120, fault=40)]
    assert expected(table) == pytest.approx(2.4)
    assert least_component(9, 2.4) == pytest.approx(0.619, abs=5e-4)
    assert chance_of_excess(9, table) == pytest.approx(0.00042, abs=5e-6)


@pytest.mark.parametrize(
    ("group", "fault", "printed"),
    [
        (9, 9, 4.7647059),
        (9, 8, 4.2352941),
        (7, 9, 3.7058824),
        (7, 8, 3.2941176),
        (1, 9, 0.5294118),
    ],
)
def test_expected_counts_equal_openebgm(group: int, fault: int, printed: float) -> None:
    """R package openEBGM, vignette on processing raw data: 17 reports, column E."""
    assert expected([Stratum(17, group, fault)]) == pytest.approx(printed, abs=5e-8)


def test_fishers_tea() -> None:
    """Fisher, The Design of Experiments, 1935: the lady tasting tea, [[3, 1], [1, 3]]: 0.2429."""
    assert chance_of_excess(3, [Stratum(8, 4, 4)]) == pytest.approx(17 / 70, abs=1e-12)
    assert chance_of_excess(4, [Stratum(8, 4, 4)]) == pytest.approx(1 / 70, abs=1e-12)


def test_false_discovery_rejects_as_many_as_the_paper() -> None:
    """Benjamini & Hochberg 1995, section 4 (values from memory): 4 of 15 at q = 0.05."""
    chances = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344]
    chances += [0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0]
    assert sum(q <= 0.05 for q in false_discovery(chances, 15)) == 4
    assert sum(q <= 0.05 for q in false_discovery(chances[:8], 15)) == 4


def test_trend_equals_counting_every_arrangement() -> None:
    """Mann & Whitney 1947: without a trend all ways to share out the days are equally likely."""
    days, others = [19, 22, 16, 29, 24], [20, 11, 17, 12]
    kind, chance = trend(days, others, level=0.05, least=3)

    def later(of: Collection[int]) -> int:
        """Count the pairs in which the day is later than the other."""
        return sum(day > other for day in of for other in {*days, *others} - {*of})

    counts = [later(of) for of in combinations([*days, *others], len(days))]
    seen = later(days)
    tails = sum(c >= seen for c in counts), sum(c <= seen for c in counts)
    assert chance == pytest.approx(2 * min(tails) / len(counts), abs=1e-12)
    assert kind is Trend.UNCLEAR
    assert trend(days, others, level=0.2, least=3)[0] is Trend.RISING
    assert trend(others, days, level=0.2, least=3)[0] is Trend.FALLING
