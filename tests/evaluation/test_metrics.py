"""Ranking and calibration figures, at their edges and in general."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.evaluation.figures import figures
from kb.evaluation.metrics import (
    FLOOR,
    area_under_curve,
    brier_score,
    calibration_luck,
    calibration_table,
    expected_calibration_error,
    log_loss,
    mean_reciprocal_rank,
    success_at,
)

ranks = st.lists(st.none() | st.integers(1, 20), min_size=1)


def test_nothing_to_measure_is_an_error_not_a_number() -> None:
    with pytest.raises(ValueError, match="nothing to measure"):
        figures([], [])


def test_calibration_error_by_hand() -> None:
    # two bins hold chances: 0.9 came true in 1 of 2, 0.1 in 0 of 2 -> (2*0.4 + 2*0.1) / 4
    error = expected_calibration_error([0.9, 0.9, 0.1, 0.1], [True, False, False, False])
    assert error == pytest.approx(0.25)


@given(ranks)
def test_success_grows_with_k_and_bounds_the_reciprocal_rank(places: list[int | None]) -> None:
    shares = [success_at(places, k) for k in range(1, 21)]
    assert shares == sorted(shares)
    assert shares[0] <= mean_reciprocal_rank(places) <= shares[-1]


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1))
def test_calibration_error_is_a_share(pairs: list[tuple[float, bool]]) -> None:
    error = expected_calibration_error([p for p, _ in pairs], [y for _, y in pairs])
    assert 0 <= error <= 1 + 1e-9


def test_the_floor_keeps_one_truth_left_out_from_being_infinite() -> None:
    assert log_loss([0.0]) == pytest.approx(-math.log(FLOOR))
    assert log_loss([0.5, 0.0], floor=0.01) == pytest.approx(-(math.log(0.5) + math.log(0.01)) / 2)


def test_bins_by_hand() -> None:
    (low, high) = calibration_table([0.1, 0.9, 0.95], [False, True, False], bins=2)
    assert (low.low, low.high, low.count, low.came_true) == (0, 0.5, 1, 0)
    assert [high.chance, high.share] == pytest.approx([0.925, 0.5])


def test_the_area_needs_both_kinds() -> None:
    assert area_under_curve([0.1, 0.9], [True, True]) is None
    assert area_under_curve([], []) is None


def test_honest_chances_stay_below_their_luck_as_often_as_stated() -> None:
    generator = np.random.default_rng(8)
    below = []
    for _ in range(200):
        chances = generator.random(80)
        error = expected_calibration_error(chances, generator.random(80) < chances)
        below.append(error <= calibration_luck(chances, draws=200))
    # 190 of 200 wanted; four standard deviations of a binomial are 12
    assert 178 <= sum(below) <= 200


@given(st.lists(st.floats(0, 1), min_size=1, max_size=20), st.data())
def test_a_ranking_scores_between_perfect_and_certain_of_the_wrong(
    weights: list[float], data: st.DataObject
) -> None:
    total = sum(weights) or 1.0
    chances = [weight / total for weight in weights]
    truth = data.draw(st.sampled_from([*chances, 0.0]))
    assert -1e-9 <= brier_score(chances, truth) <= 2 + 1e-9


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1))
def test_bins_hold_every_chance_once(pairs: list[tuple[float, bool]]) -> None:
    bins = calibration_table([p for p, _ in pairs], [y for _, y in pairs])
    assert sum(each.count for each in bins) == len(pairs)
    assert sum(each.came_true for each in bins) == sum(y for _, y in pairs)
    assert all(each.low - 1e-9 <= each.chance <= each.high + 1e-9 for each in bins)


@given(st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1))
def test_turning_the_scores_round_turns_the_area_round(pairs: list[tuple[float, bool]]) -> None:
    scores, positive = [p for p, _ in pairs], [y for _, y in pairs]
    area = area_under_curve(scores, positive)
    turned = area_under_curve([-p for p in scores], positive)
    assert (area is None) == (turned is None)
    if area is not None and turned is not None:
        assert area + turned == pytest.approx(1)
