"""Ends that hold whatever became of the cars lost from sight."""

from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kb.rates.outer_ends import Fates, outer_ends
from kb.rates.survival import Lifetime, survival_at

HORIZON = 90.0
counts = st.integers(0, 25)
lifetimes = st.builds(
    Lifetime, st.sampled_from([0.0, 10.0, 40.0, HORIZON, 120.0]), st.booleans()
)  # fmt: skip


@given(counts, counts, st.integers(0, 12))
def test_they_hold_every_interval_that_the_lost_could_lead_to(
    held: int, failed: int, lost: int
) -> None:
    found = outer_ends(Fates(held, failed, lost))
    for good in range(lost + 1):
        lives = [Lifetime(120, False)] * (held + good)
        lives += [Lifetime(0, True)] * (failed + lost - good)
        told = survival_at(lives, HORIZON).interval
        assert found.low <= told.low + 1e-9
        assert told.high <= found.high + 1e-9


@given(st.lists(lifetimes, max_size=30))
def test_they_hold_the_interval_that_takes_the_lost_for_like_the_others(
    lives: list[Lifetime],
) -> None:
    found = outer_ends(Fates.of([[each] for each in lives], HORIZON))
    told = survival_at(lives, HORIZON).interval
    assert found.low <= told.low + 1e-9
    assert told.high <= found.high + 1e-9


@given(counts, counts, counts)
def test_they_are_no_wider_than_exact_intervals_of_the_two_extremes(
    held: int, failed: int, lost: int
) -> None:
    """Clopper and Pearson's, by scipy, of which these are known never to cover too seldom."""
    total = held + failed + lost
    if not total:
        return
    found = outer_ends(Fates(held, failed, lost))
    worst = stats.binomtest(held, total).proportion_ci(method="exact")
    best = stats.binomtest(held + lost, total).proportion_ci(method="exact")
    assert worst.low - 1e-9 <= found.low <= found.high <= best.high + 1e-9


def test_what_is_sure_by_a_share_only_is_lost() -> None:
    seen = [Lifetime(120, False, 0.9), Lifetime(0, False, 0.1)]
    told = [seen, [Lifetime(120, False)], [Lifetime(HORIZON, True)], [Lifetime(91, True)], []]
    assert Fates.of(told[:4], HORIZON) == Fates(held=2, failed=1, lost=1)
