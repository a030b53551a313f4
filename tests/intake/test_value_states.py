"""A value that tells the state in which another was read is its condition; common practice."""

import pytest

from kb.errors import InvalidField
from kb.intake.readings import parse_reading


@pytest.mark.parametrize(
    ("text", "item", "typed", "condition"),
    [
        ("coolant temp sensor 2.4 kohm hot engine 90C", "coolant temp sensor", "2.4 kohm",
         "hot engine 90C"),
        ("coolant temp sensor 2.4 kohm 90 C hot", "coolant temp sensor", "2.4 kohm", "90 C hot"),
        ("coolant temp sensor 2.4k outside 20 deg", "coolant temp sensor", "2.4k",
         "outside 20 deg"),
        ("at 90C coolant temp sensor 250 ohm", "coolant temp sensor", "250 ohm", "at 90C"),
        ("IAT 2.5k ambient 20C", "iat", "2.5k", "ambient 20C"),
        ("TPS 2500 rpm 2.1V", "tps", "2.1V", "2500 rpm"),
        ("MAF 1.6V idle 800 rpm", "maf", "1.6V", "idle 800 rpm"),
        ("charging voltage 12.3V engine running 800 rpm", "charging voltage", "12.3V",
         "engine running 800 rpm"),
        ("MAP sensor 1.2V 35 kPa", "map sensor", "1.2V", "35 kPa"),
        ("fuel pressure sensor 0.5 V key on 0 bar", "fuel pressure sensor", "0.5 V",
         "key on 0 bar"),
    ],
)  # fmt: skip
def test_a_value_of_a_state_is_the_condition(
    text: str, item: str, typed: str, condition: str
) -> None:
    reading = parse_reading(text)
    assert (reading.item, reading.typed, reading.condition) == (item, typed, condition)


@pytest.mark.parametrize(
    "text",
    [
        "battery 12.4V 14.2V",
        "glow plug 0.6 ohm 14 A",
        "injector 14.5 ohm 12.6V",
        "oil pressure 1.5 bar, oil temp 90 C",
        "fan 12.4 V thermostat opens 88 C",
        "fuel pressure 3.8 bar 12.6 V",
        "coolant temp sensor 2.4k 250 ohm hot 90C",
    ],
)
def test_two_values_that_may_both_be_read_are_two(text: str) -> None:
    with pytest.raises(InvalidField, match="two values"):
        parse_reading(text)
