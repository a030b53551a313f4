"""What was measured: items under many names."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bands.measured import (
    Kind,
    Taken,
    goods,
    kind_of,
    near,
    numbers_of,
    same_condition,
    same_item,
)
from kb.case import Quantity, Relation
from tests.bands.circuits import LIDO, WORDS, good, reading

RECORDED = {
    "pretensioner circuit": 40,
    "side airbag circuit": 20,
    "driver airbag circuit": 9,
    "wheel speed sensor resistance": 9,
    "crank sensor resistance": 8,
}


@pytest.mark.parametrize(
    ("item", "position", "name", "exact"),
    [
        ("pretensioner", "left front", "pretensioner circuit", True),
        ("PRETENS", None, "pretensioner circuit", True),
        ("airbag", "driver", "driver airbag circuit", True),
        ("side airbag", "passenger", "side airbag circuit", True),
        ("abs sensor", None, "wheel speed sensor resistance", True),
        ("speed sensor", None, "wheel speed sensor resistance", False),
    ],
)
def test_an_item_is_found_by_its_telling_words(
    item: str, position: str | None, name: str, exact: bool
) -> None:
    same = same_item(reading(1.0, position, item=item), RECORDED, WORDS)
    assert same.names[0] == name
    assert same.exact is exact


def test_names_that_tell_the_same_are_one_item() -> None:
    both = {"pretensioner": 2, "pretensioner circuit": 5, "pretensioner plug": 3}
    same = same_item(reading(1.0), both, WORDS)
    assert set(same.names) == {"pretensioner", "pretensioner circuit"}
    assert same.others == ("pretensioner plug",)


def test_what_is_unlike_is_not_found_but_mentioned() -> None:
    same = same_item(reading(1.0, item="oil sensor"), RECORDED, WORDS)
    assert same.names == ()
    assert "crank sensor resistance" in same.others
    assert same_item(reading(1.0, item="horn"), RECORDED, WORDS).others == ()


@given(st.text(min_size=1, max_size=30).filter(str.strip), st.sampled_from(sorted(RECORDED)))
def test_a_name_is_found_by_itself_whatever_else_is_recorded(other: str, name: str) -> None:
    recorded = RECORDED | {other: 1}
    assert name in same_item(reading(1.0, item=name), recorded, WORDS).names


def test_only_exact_values_of_good_items_are_numbers() -> None:
    taken = [
        Taken(reading=each, vehicle=LIDO, job=1)
        for each in (
            reading(2.2, proved_good=True),
            reading(2.3, proved_good=None),
            reading(6.0, proved_good=False),
            reading(None, proved_good=True),
            reading(9.0, proved_good=True, relation=Relation.ABOVE),
            reading(2.0, proved_good=True, relation=Relation.RANGE, upper=2.5),
        )
    ]
    assert [value for _, value in goods(taken)] == [2.2]
    assert numbers_of(taken) == (1,)


def test_position_is_left_out_of_the_kind_and_quantity_is_in_it() -> None:
    assert kind_of(reading(1.0, "left"), WORDS) == kind_of(reading(1.0, "right"), WORDS)
    volts = reading(1.0, quantity=Quantity.VOLTAGE)
    assert kind_of(volts, WORDS) != kind_of(reading(1.0), WORDS)


def test_conditions_are_compared_by_their_words() -> None:
    hot = reading(1.0, condition="engine hot")
    assert same_condition(hot, reading(1.0, condition="hot engine"), WORDS)
    assert not same_condition(hot, reading(1.0), WORDS)
    assert good()[0].car == ("ref", "k100")


@given(st.floats(-1e6, 1e6), st.floats(0, 1))
def test_a_value_is_near_itself(value: float, ratio: float) -> None:
    assert near(value, value, ratio)
    assert near(value, -value, ratio) is (value == 0)


def test_volts_of_a_battery_while_cranking_are_an_item_of_their_own() -> None:
    def volts(item: str, condition: str | None = None) -> Kind:
        told = reading(9.2, item=item, quantity=Quantity.VOLTAGE, condition=condition)
        return kind_of(told, WORDS)

    assert volts("battery", "cranking") == volts("cranking")
    assert volts("battery", "warm") == volts("battery") != volts("cranking")


def test_the_side_of_earth_is_not_read_as_that_of_the_supply() -> None:
    drops = {
        "voltage drop, battery positive to starter": 20,
        "voltage drop, engine to battery negative": 5,
    }
    same = same_item(reading(1.9, item="battery earth drop"), drops, WORDS)
    assert "voltage drop, battery positive to starter" not in (*same.names, *same.others)
    plain = same_item(reading(1.9, item="voltage drop battery positive"), drops, WORDS)
    assert plain.names == ("voltage drop, battery positive to starter",)


def test_words_that_many_parts_share_make_no_item_another() -> None:
    """A manifold pressure sensor is no rail pressure sensor, however many words they share."""
    recorded = {"rail pressure sensor supply voltage": 2, "lambda sensor voltage": 4}
    asked = reading(4.6, item="map sensor", quantity=Quantity.VOLTAGE)
    assert same_item(asked, recorded, WORDS).names == ()
