"""Similarity of readings: like with like, missing otherwise."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bands.measured import kind_of
from kb.case import Job, Quantity, Reading, Relation
from kb.intake.wording import Wording
from kb.recall import reading_signal as readings
from kb.settings import ReadingSettings
from tests.recall.shop import CASES

WORDING = Wording.default()
NO_BANDS = readings.fit_widths([], WORDING, ReadingSettings())


def ohms(item: str, value: float | None) -> Reading:
    relation = Relation.OVER_RANGE if value is None else Relation.EXACT
    return Reading(
        item=item, quantity=Quantity.RESISTANCE, typed="as read", relation=relation, value=value
    )


def similarities(asked: list[Reading], rows: list[list[Reading]]) -> list[float]:
    return list(
        map(float, readings.build(rows, WORDING, NO_BANDS).similarities(asked, WORDING, NO_BANDS))
    )


def test_an_equal_reading_is_fully_alike_and_twice_the_value_is_not() -> None:
    equal, double = similarities(
        [ohms("pretensioner", 2.3)], [[ohms("pretensioner", 2.3)], [ohms("pretensioner", 4.6)]]
    )
    assert equal == pytest.approx(1.0)
    assert double == pytest.approx(math.exp(-1), abs=1e-6)


def test_another_item_or_quantity_is_missing_not_unlike() -> None:
    volts = Reading(item="pretensioner", quantity=Quantity.VOLTAGE, typed="2.3 V", value=2.3)
    result = similarities([ohms("pretensioner", 2.3)], [[ohms("coil", 2.3)], [volts], []])
    assert np.isnan(result).all()


def test_the_words_of_an_item_may_stand_in_any_order() -> None:
    assert similarities([ohms("coil ignition", 1.0)], [[ohms("ignition coil", 1.0)]]) == [1.0]


def test_open_readings_resemble_one_another_and_no_number() -> None:
    result = similarities([ohms("sensor", None)], [[ohms("sensor", None)], [ohms("sensor", 9e6)]])
    assert result == [1.0, 0.0]


def good(value: float, number: int) -> Job:
    """One case whose pretensioner read so and proved good."""
    reading = replace(ohms("pretensioner", value), proved_good=True)
    return replace(CASES[0], number=number, readings=(reading,))


GOOD = [good(value, 1) for value in (2.1, 2.2, 2.2, 2.3, 2.3, 2.3, 2.4, 2.5)]
WIDTHS = readings.fit_widths(GOOD, WORDING, ReadingSettings())


def test_a_band_is_learnt_from_good_readings_and_found_by_any_name_of_the_item() -> None:
    width = WIDTHS.of_kind(kind_of(ohms("seat belt pretensioner circuit", 1.0), WORDING))
    assert width is not None
    assert width.good == len(GOOD)
    assert width.low is not None
    assert width.high is not None
    assert 1.7 < width.low < 2.1 < 2.5 < width.high < 3.0
    assert width.places(width.high) == pytest.approx(1.0)
    assert width.places(width.low) == pytest.approx(-1.0)
    assert NO_BANDS.of_kind(kind_of(ohms("pretensioner", 1.0), WORDING)) is None


def test_where_the_band_is_known_far_off_is_alike_and_good_is_not_like_bad() -> None:
    rows = [[ohms("pretensioner", value)] for value in (2.3, 6.0, 9.0, 0.4)]
    built = readings.build([*rows, [ohms("pretensioner", None)]], WORDING, WIDTHS)
    alike = built.similarities([ohms("pretensioner", 6.1)], WORDING, WIDTHS)
    good_one, same, higher, low, open_one = map(float, alike)
    assert same > higher > 0.8
    assert good_one < 0.3
    assert low == 0.0
    assert open_one == 0.0


def test_a_control_units_ceiling_is_alike_to_an_open_reading_and_to_no_number() -> None:
    empty = replace(ohms("curtain airbag", 25.5), condition="not fitted on this car")
    told = [replace(CASES[0], readings=(empty,)) for _ in range(4)]
    widths = readings.fit_widths([*GOOD, *told], WORDING, ReadingSettings())
    rows = [[ohms("pretensioner", value)] for value in (25.5, 24.0, None)]
    alike = readings.build(rows, WORDING, widths).similarities(
        [ohms("pretensioner", 25.5)], WORDING, widths
    )
    assert alike.tolist() == [1.0, 0.0, 1.0]


values = st.floats(0, 1e9) | st.just(math.inf)


@given(values, st.lists(values, max_size=5))
def test_similarity_in_band_widths_is_symmetric_and_from_zero_to_one(
    one: float, others: list[float]
) -> None:
    width = WIDTHS.of_kind(kind_of(ohms("pretensioner", 1.0), WORDING))
    result = readings.similarity(one, np.array(others), Quantity.RESISTANCE, width)
    assert ((result >= 0) & (result <= 1)).all()
    for other, alike in zip(others, result, strict=True):
        back = readings.similarity(other, np.array([one]), Quantity.RESISTANCE, width)
        assert back[0] == pytest.approx(alike)


@given(values, st.lists(values, max_size=5), st.sampled_from(Quantity))
def test_similarity_is_a_number_from_zero_to_one(
    one: float, others: list[float], quantity: Quantity
) -> None:
    result = readings.similarity(one, np.array(others, dtype=np.float64), quantity)
    assert ((result >= 0) & (result <= 1)).all()


@given(values, st.sampled_from(Quantity))
def test_every_value_resembles_itself(one: float, quantity: Quantity) -> None:
    assert readings.similarity(one, np.array([one]), quantity)[0] == pytest.approx(1.0)
