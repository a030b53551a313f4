"""Product-limit curves and the beta product interval against printed examples and a library."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter

from kb.rates.survival import Lifetime, product_limit, survival_at


def _lives(failed: list[int], lost: list[int]) -> list[Lifetime]:
    return [Lifetime(t, True) for t in failed] + [Lifetime(t, False) for t in lost]


def test_curve_equals_the_e_handbook() -> None:
    """NIST/SEMATECH e-Handbook 8.2.1.5: 20 units, six failures, four withdrawn, ten left at 200.

    Printed: R(10) = 19/20 and R(32) = 19/20 x 18/19; the later factors follow its rule.
    """
    lives = _lives([10, 32, 56, 98, 122, 181], [50, 100, 125, 150] + [200] * 10)
    factors = [Fraction(19, 20), Fraction(18, 19), Fraction(16, 17), Fraction(15, 16)]
    factors += [Fraction(13, 14), Fraction(10, 11)]
    expected, share = [], Fraction(1)
    for factor in factors:
        share *= factor
        expected.append(float(share))
    found = [step.survival for step in product_limit(lives)]
    assert found == pytest.approx(expected, abs=1e-12)


SIX_MP_FAILED = [6, 6, 6, 7, 10, 13, 16, 22, 23]
SIX_MP_LOST = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]


def test_curve_equals_the_six_mp_trial() -> None:
    """Remission weeks of the 6-MP arm (Freireich et al. 1963), data and curve from memory.

    The curve was recomputed with scipy and lifelines.
    """
    steps = product_limit(_lives(SIX_MP_FAILED, SIX_MP_LOST))
    assert [step.time for step in steps] == [6, 7, 10, 13, 16, 22, 23]
    printed = [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]
    assert [step.survival for step in steps] == pytest.approx(printed, abs=5e-5)


@pytest.mark.parametrize(
    ("horizon", "low", "high"),
    [
        (1, 0.397635364, 1.0),
        (5, 0.194120450, 0.9936905),
        (7.5, 0.067585986, 0.9324140),
        (10, 0.006309463, 0.8058796),
    ],
)
def test_interval_equals_the_authors_example(horizon: float, low: float, high: float) -> None:
    """R package bpcp, vignette discreteBPCP: failures at 3, 7, 8 and 14, 95 % limits between."""
    found = survival_at(_lives([3, 7, 8, 14], []), horizon, outer=1).interval
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-7)


@pytest.mark.parametrize(
    ("held", "tried", "low", "high", "places"),
    [
        (5, 20, 0.098, 0.470, 3),
        (4, 10, 0.142, 0.709, 3),
        (81, 263, 0.2544, 0.3658, 4),
        (15, 148, 0.0601, 0.1581, 4),
        (0, 20, 0.0, 0.1391, 4),
        (1, 29, 0.0017, 0.1585, 4),
    ],
)
def test_mid_p_form_equals_printed_values(
    held: int, tried: int, low: float, high: float, places: int
) -> None:
    """Berry & Armitage 1995, p. 420; Agresti & Gottard 2001, p. 369; Newcombe 1998, table I.

    As quoted in the tests of the R package coin, for a proportion without loss.
    """
    lives = _lives([0] * (tried - held), [100] * held)
    found = survival_at(lives, 90, outer=0.5).interval
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.51 * 10**-places)


def test_comebacks_with_cars_lost_from_sight() -> None:
    """Ten fixes, comebacks on days 20 and 45: curve recomputed with scipy and lifelines."""
    lives = _lives([20, 45], [5, 10, 15, 30, 60, 90, 90, 90])
    found = survival_at(lives, 90)
    assert found.estimate == pytest.approx(0.6857, abs=5e-5)
    assert (found.beyond, found.failed) == (3, 2)


samples = st.lists(st.tuples(st.integers(0, 60), st.booleans()), min_size=1, max_size=60)


@given(samples, st.integers(0, 60))
def test_estimate_equals_lifelines(sample: list[tuple[int, bool]], horizon: int) -> None:
    times, failed = zip(*sample, strict=True)
    curve = KaplanMeierFitter().fit(times, failed).survival_function_at_times(horizon).iloc[0]
    found = survival_at([Lifetime(*life) for life in sample], horizon).estimate
    if found is not None:
        assert found == pytest.approx(curve, abs=1e-9)
    else:
        assert max(times) <= horizon


@given(samples)
def test_curve_equals_lifelines(sample: list[tuple[int, bool]]) -> None:
    times, failed = zip(*sample, strict=True)
    steps = product_limit(Lifetime(*life) for life in sample)
    curve = KaplanMeierFitter().fit(times, failed).survival_function_["KM_estimate"]
    for step in steps:
        assert step.survival == pytest.approx(curve.loc[step.time], abs=1e-9)
