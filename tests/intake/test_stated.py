"""Values that stand in running text but were not measured, or not of the item beside them."""

import pytest

from kb.errors import InvalidField
from kb.intake.reading_search import find_readings
from kb.intake.readings import parse_reading
from kb.intake.stated import is_measured, objection
from kb.intake.values import VALUE


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("no 12V at pump", "what is not there"),
        ("pump feed 12.2 V missing", "what is not there"),
        ("rail needs 150 bar", "what should be"),
        ("brake disc min 23 mm", "what should be"),
        ("charging should be 14.2 V", "what should be"),
        ("block 5 0.8 V low", "may be a difference"),
        ("block 3 falls 0.9 V below the rest", "may be a difference"),
        ("pin 14-0A", "runs down"),
        ("pads 12 mm fitted", "what it is made for"),
        ("rad cap marked 1.4 bar", "what should be"),
    ],
)
def test_such_a_value_is_questioned_everywhere(text: str, why: str) -> None:
    found = find_readings(text)
    assert (found.readings, found.rest) == ((), text)
    assert [why in doubt.why for doubt in found.doubtful] == [True]
    with pytest.raises(InvalidField, match=why):
        parse_reading(text)


@pytest.mark.parametrize("text", ["pads 8000 km", "brake disc 30000 miles", "tyre 20k miles"])
def test_how_far_a_part_was_driven_is_no_measure_of_it(text: str) -> None:
    assert find_readings(f"pulls left, {text} old").readings == ()
    with pytest.raises(InvalidField, match="distance driven"):
        parse_reading(text)


@pytest.mark.parametrize(
    "text",
    ["high side 18 bar", "feed 12.4 V under load", "charging 14.2 V above 2000 rpm", "0.2 V"],
)
def test_an_honest_value_is_not(text: str) -> None:
    match = VALUE.search(text)
    assert match is not None
    assert objection(match) is None


@pytest.mark.parametrize(
    ("text", "item", "measured"),
    [
        ("idle 950 rpm", "idle", True),
        ("hunting idle 950 rpm", "hunting idle", False),
        ("shakes 2000 rpm", "shakes", False),
        ("wheel speed sensor RF 12 km/h", "wheel speed sensor", True),
        ("motorway 110 km/h", "motorway", False),
        ("coolant 112 °C", "coolant", True),
        ("night -4 °C", "night", False),
        ("fuel trim +18 %", "fuel trim", True),
        ("carpet 100 % wet", "carpet", False),
        ("coil 60k", "coil", True),
        ("clock 60k", "clock", False),
        ("bank 2 A sensor", "", False),
        ("circuit OL", "circuit", True),
        ("door open", "door", False),
        ("gas R134", "gas", False),
        ("dies 10 min", "dies", False),
    ],
)
def test_kind_and_item_tell_measured_from_told(text: str, item: str, measured: bool) -> None:
    match = VALUE.search(text)
    assert match is not None
    assert is_measured(match, item) is measured
