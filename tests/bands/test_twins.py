"""Twins: places on a car, and how far good pairs differ."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bands.bands import Band, BandLevel, Method, ReadingSample, learn, scale_for
from kb.bands.measured import Taken
from kb.bands.twins import Twinship, find_twin, twin_band, twinship
from kb.case import Quantity
from tests.bands.circuits import GOOD_VALUES, LIDO, READINGS, WORDS, reading

WORDS_OF_PLACES = ["left", "right", "nearside", "offside", "driver", "passenger", "front", "rear"]
places = st.lists(st.sampled_from(WORDS_OF_PLACES), max_size=3).map(" ".join)


@pytest.mark.parametrize(
    ("one", "other", "kin"),
    [
        ("left front", "right front", Twinship.SIDE),
        ("nearside", "offside", Twinship.SIDE),
        ("driver", "passenger", Twinship.SIDE),
        ("left front", "left rear", Twinship.CORNER),
        ("left front", "right rear", Twinship.CORNER),
        ("cylinder 3", "cylinder 1", Twinship.CYLINDER),
        ("left front", "nearside front", None),
        ("left front", "passenger front", None),
        ("driver", "right", None),
        ("left front", "right", None),
        ("left front", "left front", None),
        ("left front", None, None),
        ("bank 1 sensor 1", "bank 2 sensor 1", None),
    ],
)
def test_places(one: str, other: str | None, kin: Twinship | None) -> None:
    assert twinship(one, other) is kin


@given(places, places)
def test_twinship_is_mutual(one: str, other: str) -> None:
    assert twinship(one, other) is twinship(other, one)
    assert twinship(one, one) is None


def test_the_other_side_comes_before_the_other_corner_and_the_last_of_equals() -> None:
    asked = reading(6.1, "left front")
    car = [
        reading(2.0, "right front"),
        reading(2.4, "left rear"),
        reading(2.2, "right front"),
        reading(9.0, "right front", item="side airbag circuit"),
    ]
    found = find_twin(asked, car, WORDS)
    assert found == (car[2], Twinship.SIDE)


@pytest.mark.parametrize(
    "other",
    [
        reading(None, "right front"),
        reading(6.0, "right front", proved_good=False),
        reading(2.2, "right front", condition="plug moved"),
        reading(2.2, "passenger front"),
        reading(2.2, "right front", quantity=Quantity.VOLTAGE),
    ],
)
def test_what_is_no_twin(other: object) -> None:
    assert find_twin(reading(6.1, "left front"), [other], WORDS) is None  # type: ignore[list-item]


def own_band() -> Band:
    scale = scale_for(Quantity.RESISTANCE, GOOD_VALUES)
    return learn(ReadingSample(values=GOOD_VALUES), BandLevel.ALL, scale, READINGS)


def pairs(count: int, ratio: float = 1.1) -> list[Taken]:
    """Jobs on which the left read so much more than the right, give or take 1 %."""
    return [
        Taken(
            reading=reading(value * (1.01 if number % 2 else 0.99), side, proved_good=True),
            vehicle=LIDO,
            job=number,
        )
        for number in range(count)
        for side, value in (("left front", 2.2 * ratio), ("right front", 2.2))
    ]


def test_many_pairs_say_how_far_twins_differ_and_which_way() -> None:
    left, right = reading(2.4, "left front"), reading(2.2, "right front")
    band = twin_band(left, right, Twinship.SIDE, pairs(40), own_band(), WORDS, READINGS)
    assert band.count == 40
    assert band.level is BandLevel.TWIN
    assert band.median == pytest.approx(2.42)
    turned = twin_band(right, left, Twinship.SIDE, pairs(40), own_band(), WORDS, READINGS)
    assert turned.median == pytest.approx(2.4 / 1.1)
    assert turned.low is not None
    assert turned.high is not None
    assert turned.low < 2.4 / 1.1 < turned.high


def test_few_pairs_leave_it_to_a_rule_of_thumb() -> None:
    left, right = reading(2.4, "left front"), reading(2.2, "right front")
    band = twin_band(left, right, Twinship.SIDE, pairs(3), own_band(), WORDS, READINGS)
    assert (band.method, band.median, band.count) == (Method.THUMB, 2.2, 3)
    assert band.high == pytest.approx(2.2 * (1 + READINGS.twin_ratio))


def test_a_side_that_does_no_harm_stays_open() -> None:
    own = replace(own_band(), low=None)
    left, right = reading(2.4, "left front"), reading(2.2, "right front")
    for taken in (pairs(40), pairs(3)):
        band = twin_band(left, right, Twinship.SIDE, taken, own, WORDS, READINGS)
        assert band.low is None
        assert band.high is not None


def test_temperatures_differ_by_degrees() -> None:
    scale = scale_for(Quantity.TEMPERATURE, [60.0])
    values = (60.0, 62.0, 58.0, 61.0, 59.0, 60.0)
    own = learn(ReadingSample(values=values), BandLevel.ALL, scale, READINGS)
    left, right = reading(61.0, "left front"), reading(0.0, "right front")
    band = twin_band(left, right, Twinship.SIDE, [], own, WORDS, READINGS)
    assert band.low is not None
    assert band.high is not None
    assert band.low == pytest.approx(-band.high)
