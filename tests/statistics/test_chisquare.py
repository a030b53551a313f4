"""The chi-square distribution: what holds for any point."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.statistics import chisquare

chances = st.floats(1e-6, 1 - 1e-6)
freedoms = st.floats(0.5, 2000)


@given(chances, freedoms)
def test_the_quantile_undoes_the_chance(chance: float, freedom: float) -> None:
    point = chisquare.quantile(chance, freedom)
    assert chisquare.cdf(point, freedom) == pytest.approx(chance, rel=1e-6)


@given(st.floats(0, 1e4), st.floats(0, 1e4), freedoms)
def test_chances_rise_from_0_to_1(one: float, other: float, freedom: float) -> None:
    low, high = sorted((one, other))
    assert 0 <= chisquare.cdf(low, freedom) <= chisquare.cdf(high, freedom) + 1e-12 <= 1 + 2e-12


@pytest.mark.parametrize(("chance", "freedom"), [(0.0, 3), (1.0, 3), (0.5, 0), (0.5, float("nan"))])
def test_what_cannot_be_is_refused(chance: float, freedom: float) -> None:
    with pytest.raises(ValueError, match="must"):
        chisquare.quantile(chance, freedom)
