"""What every interval of a proportion must do, whatever the counts."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import KbError
from kb.statistics.intervals import Interval, clopper_pearson, jeffreys, wilson

Method = Callable[[int, int, float], Interval]
METHODS: tuple[Method, ...] = (wilson, jeffreys, clopper_pearson)
methods = st.sampled_from(METHODS)
counts = st.integers(0, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
confidences = st.floats(0.5, 0.999)


@given(methods, counts, confidences)
def test_holds_the_share_that_was_seen(
    method: Method, count: tuple[int, int], confidence: float
) -> None:
    successes, trials = count
    found = method(successes, trials, confidence)
    share = successes / trials if trials else 0.5
    assert 0 <= found.low <= share + 1e-12
    assert share - 1e-12 <= found.high <= 1


@given(methods, counts, confidences)
def test_failures_mirror_successes(
    method: Method, count: tuple[int, int], confidence: float
) -> None:
    successes, trials = count
    found = method(successes, trials, confidence)
    mirrored = method(trials - successes, trials, confidence)
    assert found.low == pytest.approx(1 - mirrored.high, abs=1e-9)


@given(methods, counts)
def test_more_confidence_is_wider(method: Method, count: tuple[int, int]) -> None:
    assert method(*count, 0.8).width <= method(*count, 0.95).width + 1e-12


@pytest.mark.parametrize("method", METHODS)
def test_three_of_three_is_not_a_certainty(method: Method) -> None:
    found = method(3, 3, 0.95)
    assert found.low < 0.5
    assert found.high == 1


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize(("successes", "trials"), [(4, 3), (-1, 3), (0, -1)])
def test_refuses_impossible_counts(method: Method, successes: int, trials: int) -> None:
    with pytest.raises(KbError, match="successes"):
        method(successes, trials, 0.95)


@pytest.mark.parametrize("confidence", [0.0, 1.0, 95.0])
def test_refuses_what_is_no_confidence(confidence: float) -> None:
    with pytest.raises(KbError, match=r"as 0\.95"):
        wilson(1, 2, confidence)
