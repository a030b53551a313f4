"""Survival curves and their interval: what must hold whatever was watched, and coverage."""

import random
from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from kb.errors import KbError
from kb.rates.survival import Lifetime, product_limit, survival_at

lives = st.builds(Lifetime, st.integers(0, 200), st.booleans())
samples = st.lists(lives, max_size=60)


@given(st.lists(st.integers(0, 200), min_size=1, max_size=80), st.integers(0, 200))
def test_interval_is_the_exact_one_when_nothing_was_lost(
    times: Sequence[int], horizon: int
) -> None:
    """Fay, Brittain & Proschan 2013: without censoring theirs is Clopper and Pearson's."""
    held = sum(time > horizon for time in times)
    found = survival_at([Lifetime(time, failed=True) for time in times], horizon, outer=1)
    exact = binomtest(held, len(times)).proportion_ci(method="exact")
    assert (found.interval.low, found.interval.high) == pytest.approx(
        (exact.low, exact.high), abs=1e-9
    )
    assert found.estimate == pytest.approx(held / len(times))


@given(samples, st.integers(0, 250))
def test_interval_holds_the_estimate(sample: list[Lifetime], horizon: int) -> None:
    found = survival_at(sample, horizon)
    assert 0 <= found.interval.low <= found.interval.high <= 1
    if found.estimate is not None:
        assert found.interval.low - 1e-9 <= found.estimate <= found.interval.high + 1e-9


@given(samples, st.integers(0, 250))
def test_unknown_only_where_the_curve_ends_too_early(sample: list[Lifetime], horizon: int) -> None:
    found = survival_at(sample, horizon)
    if found.estimate is None:
        assert not found.beyond
        assert found.interval.low == 0
        assert not sample or any(not life.failed for life in sample)
    assert found.failed + found.beyond <= len(sample)


@given(samples, st.integers(0, 250))
def test_one_more_that_held_never_lowers_the_interval(sample: list[Lifetime], horizon: int) -> None:
    before = survival_at(sample, horizon).interval
    after = survival_at([*sample, Lifetime(horizon, failed=False)], horizon).interval
    assert after.low >= before.low - 1e-9
    assert after.high >= before.high - 1e-9


@given(samples, st.integers(1, 250), st.integers(1, 250))
def test_a_comeback_never_raises_the_estimate_or_the_upper_end(
    sample: list[Lifetime], horizon: int, time: int
) -> None:
    """Against the same car never heard of, and where it held so long.

    Of the estimate that is so by the product limit: one more at risk raises each earlier factor by
    less than the next one falls. The upper end's is by trial, over far more than these.
    """
    back = survival_at([*sample, Lifetime(min(time, horizon), failed=True)], horizon)
    for good in (0, horizon):
        told = survival_at([*sample, Lifetime(good, failed=False)], horizon)
        if told.estimate is not None and back.estimate is not None:
            assert back.estimate <= told.estimate + 1e-12
        assert back.interval.high <= told.interval.high + 1e-9


@given(
    st.lists(st.builds(Lifetime, st.integers(1, 200), st.booleans()), max_size=60),
    st.integers(0, 60),
    st.integers(0, 250),
)
def test_what_was_never_watched_changes_nothing_where_nothing_failed_at_once(
    sample: list[Lifetime], unheard: int, horizon: int
) -> None:
    """At most the estimate is told no more, as most of the curve's end was not seen."""
    plain = survival_at(sample, horizon)
    more = survival_at([*sample, *[Lifetime(0, failed=False)] * unheard], horizon)
    if sample and horizon:
        assert more.interval == plain.interval
        assert more.estimate in {plain.estimate, None}


def test_a_curve_that_ends_at_nought_tells_of_no_more_than_it_saw() -> None:
    three = [Lifetime(30, failed=True)] * 3
    for lost, told in ((0, 0.0), (3, 0.0), (4, None), (10, None)):
        for time in (0, 20):
            good = [Lifetime(time, failed=False)] * lost
            assert survival_at([*three, *good], 365).estimate == told
    assert survival_at([*three, Lifetime(100, failed=False)], 365).estimate is None


@given(samples)
def test_curve_falls_and_counts_every_failure_once(sample: list[Lifetime]) -> None:
    steps = product_limit(sample)
    assert sum(step.failed for step in steps) == sum(life.failed for life in sample)
    shares = [1.0, *(step.survival for step in steps)]
    assert all(later < earlier for earlier, later in pairwise(shares))


def test_three_of_three_never_heard_of_again_is_no_rate() -> None:
    found = survival_at([Lifetime(0, failed=False)] * 3, 90)
    assert found.estimate is None
    assert (found.interval.low, found.interval.high) == (0, 1)


def test_refuses_times_before_the_start() -> None:
    with pytest.raises(KbError, match="at least 0"):
        Lifetime(-1, failed=True)
    with pytest.raises(KbError, match="at least 0"):
        Lifetime(float("nan"), failed=True)


def _shop(
    dice: random.Random, attempts: int, rate: float, seen_to_the_end: float
) -> list[Lifetime]:
    """Attempts of which `rate` last 90 days: half of the others fail at once, half on the way."""
    found = []
    for _ in range(attempts):
        spoiled = dice.random() > rate
        fails_on = (0 if dice.random() < 0.5 else dice.uniform(0, 90)) if spoiled else 1e9
        lost_on = 90 if dice.random() < seen_to_the_end else dice.uniform(0, 90)
        found.append(Lifetime(min(fails_on, lost_on), failed=fails_on <= lost_on))
    return found


@pytest.mark.parametrize(
    ("attempts", "rate", "seen_to_the_end"),
    [(5, 0.6, 0.8), (10, 0.8, 0.5), (20, 0.9, 0.3)],
)
def test_interval_covers_the_truth_as_often_as_it_says(
    attempts: int, rate: float, seen_to_the_end: float
) -> None:
    dice = random.Random(20)
    runs = 600
    intervals = [
        survival_at(_shop(dice, attempts, rate, seen_to_the_end), 90).interval for _ in range(runs)
    ]
    assert sum(found.low <= rate <= found.high for found in intervals) / runs >= 0.95
    assert sum(found.high - found.low for found in intervals) / runs < 0.9


def test_silence_counted_as_held_is_too_bright() -> None:
    """The reason why a car never heard of again is no success."""
    dice = random.Random(21)
    lives = _shop(dice, 4000, 0.7, 0.1)
    estimate = survival_at(lives, 90).estimate
    naive = sum(not life.failed for life in lives) / len(lives)
    assert estimate == pytest.approx(0.7, abs=0.03)
    assert naive > 0.75


@given(samples, st.integers(0, 250))
def test_interval_lies_between_the_authors_two(sample: list[Lifetime], horizon: int) -> None:
    mid, own, full = (
        survival_at(sample, horizon, outer=outer).interval for outer in (0.5, None, 1)
    )
    assert full.low - 1e-9 <= own.low <= mid.low + 1e-9
    assert mid.high - 1e-9 <= own.high <= full.high + 1e-9


@pytest.mark.parametrize("attempts", [3, 4, 6, 10, 13, 26, 50])
def test_interval_covers_every_share_without_loss(attempts: int) -> None:
    """By exact reckoning: sum of the binomial chances of the counts whose interval covers."""
    found = [
        survival_at([Lifetime(100, False)] * held + [Lifetime(0, True)] * (attempts - held), 90)
        for held in range(attempts + 1)
    ]
    for share in (0.5, 0.6, 0.69, 0.72, 0.79, 0.88, 0.9, 0.95, 0.98):
        chances = binom.pmf(range(attempts + 1), attempts, share)
        covers = [each.interval.low <= share <= each.interval.high for each in found]
        assert sum(chances[covers]) >= 0.93
