"""Tolerance factors: what holds for any count and share."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import InvalidField
from kb.statistics.tolerance import expected_content, one_sided, order_rank, order_ranks, two_sided

shares = st.floats(0.5, 0.99)
counts = st.integers(3, 400)


@given(counts, shares, shares)
def test_more_readings_need_a_smaller_factor(count: int, content: float, confidence: float) -> None:
    assert two_sided(count + 1, content, confidence) < two_sided(count, content, confidence)


@given(counts, shares, st.floats(0.5, 0.98))
def test_more_confidence_needs_a_greater_factor(
    count: int, content: float, confidence: float
) -> None:
    more = confidence + 0.01
    assert two_sided(count, content, more) > two_sided(count, content, confidence)
    assert one_sided(count, content, more) > one_sided(count, content, confidence)


@given(counts, shares, st.floats(0.75, 0.99))
def test_one_side_needs_less_than_two(count: int, content: float, confidence: float) -> None:
    assert one_sided(count, content, confidence) < two_sided(count, content, confidence)


@given(counts, shares, st.floats(0.75, 0.99))
def test_on_average_at_least_the_content_is_held(
    count: int, content: float, confidence: float
) -> None:
    assert expected_content(two_sided(count, content, confidence), count) > content
    k = one_sided(count, content, confidence)
    assert expected_content(k, count, sides=1) > content


@given(st.integers(1, 700), shares, shares)
def test_ranks_lie_inside(count: int, content: float, confidence: float) -> None:
    ranks, rank = order_ranks(count, content, confidence), order_rank(count, content, confidence)
    if ranks is not None:
        assert 1 <= ranks[0] < ranks[1] <= count
        assert ranks[0] + ranks[1] == count + 1
        assert rank is not None
    assert rank is None or 1 <= rank <= count


@pytest.mark.parametrize(("count", "content"), [(1, 0.95), (5, 1.0), (5, 0.0)])
def test_what_cannot_be_is_refused(count: int, content: float) -> None:
    with pytest.raises(InvalidField):
        two_sided(count, content, 0.9)
