"""Comparing two ways of ranking: by what only one of them had right."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.evaluation.compare import Standing, compare, compare_losses

pairs = st.lists(st.tuples(st.booleans(), st.booleans()), max_size=60)


def test_the_counts_and_the_difference_by_hand() -> None:
    compared = compare([True, True, True, False, False], [True, False, False, True, False])
    assert (compared.ours_only, compared.theirs_only) == (2, 1)
    assert compared.difference == pytest.approx(1 / 5)
    assert compared.verdict is Standing.CANNOT_TELL


def test_five_wins_out_of_five_are_too_few_and_six_are_enough() -> None:
    # two-sided exact binomial: 2 * 0.5**5 = 0.0625, 2 * 0.5**6 = 0.03125
    assert compare([True] * 5, [False] * 5).verdict is Standing.CANNOT_TELL
    assert compare([True] * 6, [False] * 6).verdict is Standing.AHEAD
    assert compare([False] * 6, [True] * 6).verdict is Standing.BEHIND


@pytest.mark.parametrize("right", [[], [True], [True, False, True]])
def test_what_is_alike_cannot_be_told_apart(right: list[bool]) -> None:
    compared = compare(right, right)
    assert (compared.low, compared.difference, compared.high) == (0, 0, 0)
    assert compared.verdict is Standing.CANNOT_TELL


@given(pairs)
def test_the_interval_holds_the_difference_and_mirrors(asked: list[tuple[bool, bool]]) -> None:
    ours, theirs = [our for our, _ in asked], [their for _, their in asked]
    one, other = compare(ours, theirs), compare(theirs, ours)
    assert -1 <= one.low <= one.difference + 1e-9
    assert one.difference - 1e-9 <= one.high <= 1
    assert one.low == pytest.approx(-other.high, abs=1e-7)
    assert {one.verdict, other.verdict} in (
        {Standing.CANNOT_TELL},
        {Standing.AHEAD, Standing.BEHIND},
    )


def test_few_losses_tell_nothing_however_far_apart() -> None:
    few = 19  # a bootstrap of fewer than twenty is not to be trusted (common practice, no source)
    assert compare_losses([0.1] * few, [5.0] * few).verdict is Standing.CANNOT_TELL
    assert compare_losses([0.1] * (few + 1), [5.0] * (few + 1)).verdict is Standing.AHEAD
    assert compare_losses([5.0] * (few + 1), [0.1] * (few + 1)).verdict is Standing.BEHIND


@settings(max_examples=30)
@given(st.lists(st.tuples(st.floats(0, 9), st.floats(0, 9)), min_size=1, max_size=40))
def test_losses_turned_round_turn_the_verdict_round(pairs: list[tuple[float, float]]) -> None:
    ours, theirs = [our for our, _ in pairs], [their for _, their in pairs]
    one, other = compare_losses(ours, theirs), compare_losses(theirs, ours)
    assert one.low - 1e-9 <= one.high
    assert one.difference == pytest.approx(-other.difference)
    assert one.low == pytest.approx(-other.high, abs=1e-9)
    assert compare_losses(ours, ours).difference == 0
