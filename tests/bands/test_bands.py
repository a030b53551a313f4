"""Normal bands: coverage, robustness, and what holds for any readings."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb.bands.bands import Band, BandLevel, Method, Scale, keep, learn, scale_for
from kb.bands.limits import Worse
from kb.case import Quantity
from kb.errors import Notice
from kb.settings import Settings
from tests.benchmarks.bands import POPULATIONS, draw, held

READINGS = Settings().readings
LOG, PLAIN = Scale(True, 0.01), Scale(False, 0.01)
positive = st.floats(0.01, 1e6)
finite = st.floats(allow_nan=False, allow_infinity=False)
samples = st.lists(positive, max_size=120).map(tuple)


def band_of(values: tuple[float, ...], scale: Scale = LOG, worse: Worse = Worse.BOTH) -> Band:
    return learn(values, BandLevel.ALL, scale, READINGS, worse=worse)


@given(samples, st.sampled_from([LOG, PLAIN]), st.sampled_from(Worse))
def test_a_band_lies_around_its_middle(
    values: tuple[float, ...], scale: Scale, worse: Worse
) -> None:
    band = band_of(values, scale, worse)
    assert band.count + band.set_aside <= len(values)
    if not band.speaks:
        assert band.method is Method.TOO_FEW
        assert band.low is None
        assert band.high is None
        return
    assert band.count >= READINGS.least
    assert band.median is not None
    assert band.apart(band.median) == 0
    assert (band.low is None) == (worse is Worse.HIGH)
    assert (band.high is None) == (worse is Worse.LOW)
    for end, sign in ((band.low, -1), (band.high, 1)):
        if end is not None:
            assert (end - band.median) * sign > 0
            assert band.apart(end) == pytest.approx(sign)


@given(samples, st.sampled_from([LOG, PLAIN]))
def test_no_more_are_set_aside_than_allowed(values: tuple[float, ...], scale: Scale) -> None:
    kept = keep([scale.to(value) for value in values], READINGS)
    assert len(kept.points) + kept.set_aside == len(values)
    assert kept.set_aside <= math.ceil(READINGS.outlier_share * len(values))
    assert list(kept.points) == sorted(kept.points)


@given(samples, st.floats(0.01, 100))
@example((1.0,) * 18 + (0.1, 10.0) * 3, 0.017)  # as far below as above: rounding must not decide
def test_a_ratio_band_does_not_depend_on_the_unit(values: tuple[float, ...], factor: float) -> None:
    one, other = band_of(values), band_of(tuple(factor * value for value in values))
    assert (one.count, one.speaks) == (other.count, other.speaks)
    if one.low is not None and other.low is not None:
        assert other.low == pytest.approx(factor * one.low, rel=1e-6)


@given(st.lists(positive, min_size=5, max_size=40), positive, positive)
def test_farther_is_never_nearer(values: list[float], one: float, other: float) -> None:
    band = band_of(tuple(values))
    low, high = sorted((one, other))
    if band.speaks:
        assert band.apart(low) <= band.apart(high)


@pytest.mark.parametrize("population", POPULATIONS)
@pytest.mark.parametrize("size", [5, 20, 100, 500])
def test_clean_bands_hold_what_they_say_or_are_labelled(population: str, size: int) -> None:
    rng = np.random.default_rng(size)
    bands = [draw(rng, population, size, 0.0, (0, 0)) for _ in range(1500 // size + 30)]
    spoken = [band for band in bands if band.speaks]
    mean = np.mean([held(band, population) for band in spoken])
    assert mean > READINGS.content - 0.02
    labelled = np.mean([bool(band.notices) for band in spoken])
    assert mean < READINGS.content + 0.02 or labelled > 0.5


@pytest.mark.parametrize("population", POPULATIONS)
@pytest.mark.parametrize("size", [10, 50, 200, 500])
def test_a_tenth_mislabelled_does_not_narrow_or_spoil_it(population: str, size: int) -> None:
    rng = np.random.default_rng(size + 1)
    bands = [draw(rng, population, size, 0.1, (4, 25)) for _ in range(1500 // size + 30)]
    spoken = [band for band in bands if band.speaks]
    assert np.mean([held(band, population) for band in spoken]) > READINGS.content - 0.02
    # in the middle of the bands a circuit that is clearly bad, ten spreads off, is outside
    assert np.mean([band.apart(2.2 * math.exp(1.0)) > 1 for band in spoken]) > 0.85


@given(st.lists(finite, max_size=60), st.sampled_from(Quantity), st.sampled_from(Worse), finite)
def test_the_wildest_values_have_a_side(
    values: list[float], quantity: Quantity, worse: Worse, asked: float
) -> None:
    band = band_of(tuple(values), scale_for(quantity, values), worse)
    if band.median is None:
        assert math.isnan(band.apart(asked))
    elif asked < band.median:
        assert band.apart(asked) <= 0
    else:
        assert band.apart(asked) >= 0


def test_one_mislabelled_is_set_aside_and_told() -> None:
    band = band_of((2.2, 2.1, 2.3, 2.2, 2.4, 2.2, 6.1))
    assert band.set_aside == 1
    assert Notice.SET_ASIDE in band.notices
    assert band.high is not None
    assert band.high < 3


def test_few_readings_do_not_speak_and_small_samples_are_widened() -> None:
    assert not band_of((2.2, 2.1, 2.3, 2.2)).speaks
    few = band_of((2.2, 2.1, 2.3, 2.2, 2.4))
    many = band_of((2.2, 2.1, 2.3, 2.2, 2.4) * 8)
    assert Notice.WIDENED in few.notices
    assert few.high is not None
    assert many.high is not None
    assert few.high > many.high


def test_identical_readings_have_a_band_of_what_a_meter_tells_apart() -> None:
    band = band_of((2.2,) * 10)
    assert band.low is not None
    assert band.high is not None
    assert 2.1 < band.low < 2.2 < band.high < 2.3


def test_a_small_model_borrows_the_spread_of_others() -> None:
    own = (2.2, 2.1, 2.3, 2.2, 2.25)
    others = [(5.0, 5.2, 4.9, 5.1, 4.8, 5.3), (1.0, 1.05, 0.95, 1.02, 0.98, 1.1, 0.99)]
    alone = learn(own, BandLevel.MODEL, LOG, READINGS)
    lent = learn(own, BandLevel.MODEL, LOG, READINGS, others=others)
    assert (alone.method, lent.method) == (Method.NORMAL, Method.BORROWED)
    assert Notice.BORROWED in lent.notices
    assert alone.high is not None
    assert lent.high is not None
    assert lent.high < alone.high


def test_many_readings_need_no_distribution() -> None:
    values = tuple(1.0 + 0.01 * place for place in range(100))
    assert band_of(values).method is Method.ORDER
    assert band_of(values, worse=Worse.HIGH).low is None


@pytest.mark.parametrize(
    ("quantity", "values", "logarithmic"),
    [
        (Quantity.RESISTANCE, [2.2], True),
        (Quantity.RESISTANCE, [2.2, 0.0], False),
        (Quantity.TEMPERATURE, [90.0], False),
        (Quantity.PROPORTION, [3.0], False),
    ],
)
def test_scales(quantity: Quantity, values: list[float], logarithmic: bool) -> None:
    assert scale_for(quantity, values).logarithmic is logarithmic


def test_zero_lies_infinitely_low_on_a_ratio_scale() -> None:
    assert band_of((2.2, 2.1, 2.3, 2.2, 2.4)).apart(0.0) == -math.inf


def test_a_tenth_of_bad_readings_among_many_is_told_by_their_tails() -> None:
    rng = np.random.default_rng(11)
    clean = rng.normal(0.0, 1.0, 500)
    mixed = clean + (rng.random(500) < 0.1) * rng.uniform(2, 5, 500)
    scale = Scale(False, 1e-6)

    def told(points: np.ndarray) -> bool:
        sample = tuple(float(point) for point in points)
        return Notice.LONG_TAILS in learn(sample, BandLevel.ALL, scale, Settings().readings).notices

    assert told(mixed)
    assert not told(clean)
