from contextlib import suppress

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Quantity, Reading, Relation, Stage
from kb.errors import InvalidField
from kb.intake.reading_search import find_readings
from kb.intake.readings import complete_reading, limit_in, parse_reading
from kb.intake.units import format_value
from tests.strategies import numbers, readings

# What was typed: item, position, value in the unit of its quantity.
SAID = [
    ("RF pretensioner 2.3 ohm", "pretensioner", "right front", 2.3),
    ("pretensioner RF 2.3 ohm", "pretensioner", "right front", 2.3),
    ("pretensioner 2.3 ohm RF", "pretensioner", "right front", 2.3),
    ("motor feed: 4.1 V", "motor feed", None, 4.1),
    ("motor feed = 4.1V", "motor feed", None, 4.1),
    ("4.1 V at the motor feed", "motor feed", None, 4.1),
    ("N/S/F pad 3 mm", "pad", "nearside front", 0.003),
    ("O/S rear wheel speed sensor 1k1", "wheel speed sensor", "offside rear", 1100.0),
    ("cyl 3 compression 9 bar", "compression", "cylinder 3", 9e5),
    ("bank 1 fuel trim +18 %", "fuel trim", "bank 1", 18.0),
    ("voltage drop on LH earth strap is 0.4 V", "voltage drop on earth strap", "left", 0.4),
    ("voltage drop 0.4 V across the earth strap", "voltage drop across earth strap", None, 0.4),
    ("second row left buckle 2R7", "buckle", "left second row", 2.7),
    ("5V ref 4.9 V", "5v ref", None, 4.9),
    ("12V supply 11.8 V", "12v supply", None, 11.8),
    ("coolant temperature 98 °C", "coolant temperature", None, 98.0),
    ("timing 12 deg", "timing", None, 12.0),
]


@pytest.mark.parametrize(("text", "item", "position", "value"), SAID)
def test_item_position_and_value(text: str, item: str, position: str | None, value: float) -> None:
    reading = parse_reading(text)
    assert (reading.item, reading.position, reading.value) == (item, position, value)


@pytest.mark.parametrize(("text", "item", "position", "value"), SAID)
def test_the_same_is_found_in_a_line_of_talk(
    text: str, item: str, position: str | None, value: float
) -> None:
    found = find_readings(f"lamp on since Monday, {text}")
    assert [(r.item, r.position, r.value) for r in found.readings] == [(item, position, value)]
    assert found.rest == "lamp on since Monday"


@pytest.mark.parametrize(
    ("text", "condition", "method", "stage"),
    [
        ("charging 14.2V @ 2000 rpm", "2000 rpm", None, Stage.AS_FOUND),
        ("charging 14.2V at 2000 rpm", "2000 rpm", None, Stage.AS_FOUND),
        ("battery 12.6 V engine off", "engine off", None, Stage.AS_FOUND),
        ("drain 38 mA after 30 min", "after 30 min", None, Stage.AS_FOUND),
        ("battery 12.1 V kalt", "cold", None, Stage.AS_FOUND),
        ("battery 12.1 V @ heiß", "hot", None, Stage.AS_FOUND),
        ("fuel pressure 2.1 bar after fix", None, None, Stage.AFTER_FIX),
        ("fuel pressure 2.1 bar @ idle after the repair", "idle", None, Stage.AFTER_FIX),
        ("feed 9.1 V during the test", None, None, Stage.DURING_TEST),
        ("feed 9.1 V before any repair", None, None, Stage.AS_FOUND),
        ("pretensioner 2.3 ohm scan tool live value", None, "scan tool live value", Stage.AS_FOUND),
        ("drain 38 mA with clamp meter", None, "clamp meter", Stage.AS_FOUND),
    ],
)
def test_condition_method_and_stage(
    text: str, condition: str | None, method: str | None, stage: Stage
) -> None:
    reading = parse_reading(text)
    assert (reading.condition, reading.method, reading.stage) == (condition, method, stage)


def test_typed_is_as_it_was_written() -> None:
    assert parse_reading("valve gap 0.2\N{EN DASH}0.4 mm").typed == "0.2\N{EN DASH}0.4 mm"
    found = find_readings("valve gap 0.2\N{EN DASH}0.4 mm")
    assert found.readings[0].typed == "0.2\N{EN DASH}0.4 mm"


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("2.3 ohm", "names no item"),
        ("RF 2.3 ohm", "names no item"),
        ("motor feed 4.1", "has no unit"),
        ("motor feed", "no value"),
        ("motor feed 4.1 V ground 0.2 V", "two values"),
        ("coolant temp 98 deg", "°C or °F"),
        ("coolant temp 88 Grad", "°C or °F"),
        ("heater 5 m ohm", "milliohm"),
        ("", "no value"),
    ],
)
def test_what_is_not_understood_is_refused_with_a_cure(text: str, cure: str) -> None:
    with pytest.raises(InvalidField) as refused:
        parse_reading(text)
    assert cure in refused.value.cure


@given(
    st.sampled_from(["motor feed", "crank sensor", "rail", "coil primary"]),
    st.sampled_from(["left front", "second row", "bank 1 sensor 2", "cylinder 3", None]),
    numbers(),
    st.sampled_from([each for each in Quantity if each is not Quantity.COUNT]),
)
def test_a_printed_reading_is_read_back(
    item: str, position: str | None, value: float, quantity: Quantity
) -> None:
    reading = parse_reading(f"{position or ''} {item} {format_value(value, quantity)}")
    assert (reading.item, reading.position, reading.quantity) == (item, position, quantity)
    assert reading.value == value


@given(st.text(max_size=80) | st.text("lfLFRr /ohmVkΩ0123456789.,@<>- atofix%", max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InvalidField):
        assert parse_reading(text).typed in text
    found = find_readings(text)
    if not found.readings:
        assert found.rest == text.strip()


@given(readings())
def test_a_whole_record_is_taken_as_it_is(reading: Reading) -> None:
    assert complete_reading(msgspec.to_builtins(reading)) == reading


@given(numbers(), st.sampled_from(Quantity))
def test_a_record_is_completed_from_what_was_typed(value: float, quantity: Quantity) -> None:
    record = {"item": "feed", "typed": format_value(value, quantity), "position": "N/S/F"}
    reading = complete_reading(record)
    assert (reading.value, reading.quantity) == (value, quantity)
    assert (reading.typed, reading.position) == (record["typed"], "nearside front")


def test_a_record_of_an_open_circuit() -> None:
    reading = complete_reading({"item": "wheel speed sensor", "typed": "OL ohm"})
    assert (reading.relation, reading.value) == (Relation.OVER_RANGE, None)


@pytest.mark.parametrize(
    ("record", "field"),
    [
        ({"typed": "2.7 ohm"}, "item"),
        ({"item": "feed"}, "typed"),
        ({"item": "feed", "typed": "2.7 V", "unit": "V"}, "unit"),
        ({"item": "feed", "typed": "2.7 V", "quantity": "resistance"}, "reading"),
        ({"item": "feed", "typed": "2.7 V", "quantity": "volts"}, "quantity"),
        ({"item": "feed", "typed": "2.7 V", "stage": "later"}, "stage"),
        ({"item": "feed", "typed": "2.7 V", "proved_good": "yes"}, "proved_good"),
        ({"item": "feed", "typed": "2.7 V", "value": True}, "value"),
        ({"item": "feed", "typed": "2.7 V", "value": 2.7}, "quantity"),
        ({"item": "feed", "typed": 2.7}, "typed"),
        ({"item": "feed", "typed": "2.7 V", "position": 3}, "position"),
    ],
)
def test_a_record_that_cannot_be_taken(record: dict[str, object], field: str) -> None:
    with pytest.raises(InvalidField) as refused:
        complete_reading(record)
    assert refused.value.field == field


@pytest.mark.parametrize(
    "text",
    ["hp 9 lp 9 bar", "HP 9 LP 9 bar", "tyre front 2.3 rear 2.1 bar", "inlet 88 outlet 40 C"],
)
def test_two_values_that_share_a_unit_are_no_one_reading(text: str) -> None:
    with pytest.raises(InvalidField, match="two values"):
        parse_reading(text)


@given(
    st.sampled_from(["min", "max", "spec", "should be", "limit", "must be"]),
    st.integers(1, 4000),
    st.sampled_from(["", " bar"]),
    st.sampled_from(["cranking", "at idle", None]),
)
def test_a_limit_typed_beside_a_value_is_no_condition_of_it(
    word: str, limit: int, unit: str, condition: str | None
) -> None:
    told = " ".join(filter(None, ("rail pressure 180 bar", condition, f"{word} {limit}{unit}")))
    reading = parse_reading(told)
    assert (reading.item, reading.typed) == ("rail pressure", "180 bar")
    assert reading.condition == (condition and condition.removeprefix("at "))
    assert limit_in(told) == f"{word} {limit}{unit}"


@given(
    st.sampled_from(["min", "max", "spec", "should be", "must be"]),
    st.integers(200, 400),
    st.sampled_from(["cranking", "at idle"]),
)
def test_a_limit_in_a_line_leaves_the_condition_with_the_reading(
    word: str, limit: int, condition: str
) -> None:
    found = find_readings(f"rail pressure 180 bar {condition} {word} {limit}")
    assert [each.condition for each in found.readings] == [condition.removeprefix("at ")]
    assert f"{limit}" in found.rest


@pytest.mark.parametrize(
    ("text", "offer"),
    [("O2 sensor heater 900", "O2 sensor heater 900 Ω"), ("coolant temp 88 Kelvins", "88 °C")],
)
def test_a_number_without_unit_is_offered_in_the_usual_one(text: str, offer: str) -> None:
    with pytest.raises(InvalidField, match=offer):
        parse_reading(text)


@pytest.mark.parametrize("text", ["battery 6-%s V", "battery %s V", "gap 0.5-0.%s mm", "%s-6 ohm"])
def test_a_value_of_thousands_of_digits_is_refused_or_read(text: str) -> None:
    # Python reads no more than 4,300 digits unless told to (its documentation of int)
    with suppress(InvalidField):
        parse_reading(text % ("9" * 5000))


@pytest.mark.parametrize(
    "text",
    ["RR wheel speed sensor 1.15 kohm, LR 1150", "LF wheel speed sensor 1150 ohm, RF 4",
     "LF pad 11 mm, RF 2", "LF pad 11 mm / RF 2", "cyl 1 11 bar, cyl 2 6",
     "fuel pressure 3 bar, 2.8 idle", "Sensor VL 1150 ohm, VR 4", "capteur AVG 1150 ohm, AVD 4"],
)  # fmt: skip
def test_a_second_value_without_its_unit_is_no_condition(text: str) -> None:
    with pytest.raises(InvalidField, match="two values"):
        parse_reading(text)


@pytest.mark.parametrize(
    "text",
    ["oil pressure 3 bar hot 3000", "charging 14.2 V @ 2000", "oil pressure 1.2 bar at 90",
     "lambda 0.45 V bank 1", "compression 11 bar cyl 3", "lambda 0.45 V bank 1 sensor 2"],
)  # fmt: skip
def test_a_state_in_numbers_is_no_second_value(text: str) -> None:
    assert parse_reading(text).value is not None


@pytest.mark.parametrize("words", ["laut Tester", "lt. Diagnosetester", "gemäß dem Tester"])
def test_a_german_tester_that_tells_a_value_is_the_scan_tool(words: str) -> None:
    assert parse_reading(f"Fahrerairbag 2,3 Ohm {words}").method == "scan tool"


@pytest.mark.parametrize(
    ("text", "item", "condition"),
    [
        ("refrigerant pressure 3 bar at rest 20 C", "refrigerant pressure", "rest 20 C"),
        ("oil pressure 1.5 bar 90 C", "oil pressure", "90 C"),
        ("oil pressure 1.5 bar hot 90 °C", "oil pressure", "hot 90 °C"),
        ("coolant sensor 2.5 kohm, 20 C", "coolant sensor", "20 C"),
        ("battery 11.9 V -5 C", "battery", "-5 C"),
    ],
)
def test_a_temperature_beside_another_quantity_is_its_condition(
    text: str, item: str, condition: str
) -> None:
    reading = parse_reading(text)
    assert (reading.item, reading.condition) == (item, condition)
    found = find_readings(text)
    assert [each.item for each in found.readings] == [item]
    assert condition.rsplit(" ", maxsplit=1)[-1] in (found.readings[0].condition or "")
    assert found.rest == ""


@pytest.mark.parametrize("text", ["vent 14 C, 30 C", "oil pressure 1.5 bar, oil temp 90 C"])
def test_a_temperature_of_its_own_is_a_second_value(text: str) -> None:
    with pytest.raises(InvalidField, match="two values"):
        parse_reading(text)


@pytest.mark.parametrize(
    ("line", "item", "condition"),
    [
        ("12.2V at battery engine running", "battery", "engine running"),
        ("at battery engine idling 13.9 V", "battery", "idling"),
        ("3.1 bar at rail engine cold", "rail", "cold"),
        ("engine running 13.9 V battery", "battery", "engine running"),
        ("80 mV at earth strap engine cranking", "voltage drop earth strap", "cranking"),
        ("volt drop battery negative to engine cranking 0.2 V", None, "cranking"),
    ],
)
def test_what_the_engine_does_is_no_part_of_what_was_measured(
    line: str, item: str | None, condition: str
) -> None:
    reading = parse_reading(line)
    assert item is None or reading.item == item
    assert condition in (reading.condition or "")
