"""Finding where a rising function crosses nought."""

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
