"""Since when: what must hold whatever the days."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from kb.recurrence.change import Trend, chance_of_silence, change_point, trend

sequences = st.lists(st.booleans(), min_size=2, max_size=25)


def by_integration(marked: list[bool]) -> list[float]:
    """Weights of every place, both shares integrated out numerically."""

    def evidence(part: list[bool]) -> float:
        hits = sum(part)
        found, _ = quad(
            lambda x: x ** (hits - 0.5) * (1 - x) ** (len(part) - hits - 0.5), 0, 1, limit=200
        )
        return float(found)

    return [evidence(marked[:at]) * evidence(marked[at:]) for at in range(1, len(marked))]


def test_the_place_is_the_median_of_what_is_believed() -> None:
    marked = [False] * 7 + [True] + [False] * 3 + [True, True, False, True, True]
    weights = by_integration(marked)
    half, sums = sum(weights) / 2, [sum(weights[: n + 1]) for n in range(len(weights))]
    median = next(at for at, total in enumerate(sums, start=1) if total >= half)
    assert change_point(marked, 0.9).at == median


@given(sequences, st.floats(0.1, 0.99))
def test_ends_hold_the_place_and_shares_add_up(marked: list[bool], confidence: float) -> None:
    found = change_point(marked, confidence)
    assert 1 <= found.earliest <= found.at <= found.latest < len(marked)
    hits = found.before * found.at + found.after * (len(marked) - found.at)
    assert hits == pytest.approx(sum(marked))


@given(sequences)
def test_backwards_the_same_change_fades(marked: list[bool]) -> None:
    there, back = change_point(marked, 0.9), change_point(marked[::-1], 0.9)
    assert len(marked) - back.latest <= there.earliest + 1
    assert there.latest <= len(marked) - back.earliest + 1


def test_a_planted_change_is_found() -> None:
    marked = ([False] * 9 + [True]) * 6 + [True, False] * 15
    found = change_point(marked, 0.9)
    assert found.earliest <= 60 <= found.latest
    assert found.before < 0.2 < found.after


def test_one_piece_of_work_has_no_place_for_a_change() -> None:
    with pytest.raises(ValueError, match="no place"):
        change_point([True], 0.9)


def test_few_days_tell_no_trend() -> None:
    assert trend([900, 901, 902], range(800), level=0.05, least=5) == (Trend.TOO_FEW, None)


def test_late_days_are_a_trend_and_equal_days_are_none() -> None:
    assert trend(range(700, 710), range(600), level=0.05, least=5)[0] is Trend.GROWING
    assert trend([5] * 10, [5] * 10, level=0.05, least=5)[0] is Trend.STEADY


@given(st.lists(st.booleans(), max_size=9), st.integers(0, 5))
def test_the_chance_of_silence_is_that_of_all_orders(rest: list[bool], before: int) -> None:
    """Counted over every order of what came after the first one."""
    last = len(rest) - rest[::-1].index(True) if any(rest) else 0
    every = list(combinations(range(len(rest)), sum(rest)))
    silent = sum(all(place < last for place in places) for places in every)
    chance = chance_of_silence([False] * before + [True, *rest])
    assert chance == pytest.approx(silent / len(every))
