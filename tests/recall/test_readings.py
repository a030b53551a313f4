"""Similarity of readings: like with like, missing otherwise."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Quantity, Reading, Relation
from kb.intake.wording import Wording
from kb.recall import readings
from kb.settings import Readings

WORDING = Wording.default()
NO_BANDS = readings.fit_widths([], WORDING, Readings())


def ohms(item: str, value: float | None) -> Reading:
    relation = Relation.OVER_RANGE if value is None else Relation.EXACT
    return Reading(
        item=item, quantity=Quantity.RESISTANCE, typed="as read", relation=relation, value=value
    )


def similarities(asked: list[Reading], rows: list[list[Reading]]) -> list[float]:
    return list(map(float, readings.build(rows, WORDING).similarities(asked, WORDING, NO_BANDS)))


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


values = st.floats(0, 1e9) | st.just(math.inf)


@given(values, st.lists(values, max_size=5), st.sampled_from(Quantity))
def test_similarity_is_a_number_from_zero_to_one(
    one: float, others: list[float], quantity: Quantity
) -> None:
    result = readings.similarity(one, np.array(others, dtype=np.float64), quantity)
    assert ((result >= 0) & (result <= 1)).all()


@given(values, st.sampled_from(Quantity))
def test_every_value_resembles_itself(one: float, quantity: Quantity) -> None:
    assert readings.similarity(one, np.array([one]), quantity)[0] == pytest.approx(1.0)
