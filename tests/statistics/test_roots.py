"""Finding where a rising function crosses nought."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from kb.statistics.roots import crossing


@given(st.floats(0.001, 0.999), st.sampled_from([1, 3, 9, 25]))
def test_equals_scipy_brentq(root: float, power: int) -> None:
    def rising(x: float) -> float:
        return float((x - root) ** power + 0.1 * (x - root))

    assert crossing(rising) == pytest.approx(brentq(rising, 0, 1, xtol=1e-13), abs=1e-9)


@given(st.floats(0.001, 0.999))
def test_finds_a_jump(place: float) -> None:
    assert crossing(lambda x: -0.3 if x < place else 2.0) == pytest.approx(place, abs=1e-9)


def test_finds_a_jump_between_ends_far_apart() -> None:
    place = 1.2345e8
    found = crossing(lambda x: -1.0 if x < place else 1.0, -1e9, 1e9)
    assert found == pytest.approx(place, rel=1e-9)


def test_beyond_the_ends_the_end_is_it() -> None:
    assert crossing(lambda x: x + 1) == 0
    assert crossing(lambda x: x - 2) == 1
    assert (crossing(lambda x: x), crossing(lambda x: x - 1)) == (0, 1)


@pytest.mark.parametrize(
    ("rising", "most"),
    [
        (lambda x: x - 0.37, 3),
        (lambda x: math.atan(40 * (x - 0.3)), 12),
        (lambda x: x * x - 0.25, 14),
        (lambda x: 0.5 - math.exp(-30 * x), 19),
        (lambda x: math.exp(8 * x) - 5, 22),
        (lambda x: x**9 - 0.001, 33),
    ],
)
def test_a_smooth_function_is_asked_less_often_than_halving_would(
    rising: Callable[[float], float], most: int
) -> None:
    """Halving alone would ask 42 times; no source, measured and counted."""
    asked = []

    def counted(x: float) -> float:
        asked.append(x)
        return rising(x)

    crossing(counted)
    assert len(asked) <= most
