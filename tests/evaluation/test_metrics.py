"""Ranking and calibration figures, at their edges and in general."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.evaluation.metrics import (
    expected_calibration_error,
    mean_reciprocal_rank,
    success_at,
)

ranks = st.lists(st.none() | st.integers(1, 20), min_size=1)


def test_nothing_to_measure_is_an_error_not_a_number() -> None:
    with pytest.raises(ValueError, match="nothing to measure"):
        success_at([], 1)
    with pytest.raises(ValueError, match="nothing to measure"):
        mean_reciprocal_rank([])
    with pytest.raises(ValueError, match="nothing to measure"):
        expected_calibration_error([], [])


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
