import math
from contextlib import suppress

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb.case import Quantity, Relation, Stage
from kb.errors import InvalidField
from kb.intake.reading_search import find_readings
from kb.intake.values import parse_value, prepare

EXACT, BELOW, ABOVE, RANGE, OVER = Relation


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        # letter for the point: IEC 60062
        ("2R7", "resistance", 2.7),
        ("4k7", "resistance", 4700.0),
        ("2K1", "resistance", 2100.0),
        ("R47", "resistance", 0.47),
        ("1M5", "resistance", 1.5e6),
        ("2.7 ohm", "resistance", 2.7),
        ("2.7Ω", "resistance", 2.7),
        ("2.7R", "resistance", 2.7),
        ("10k", "resistance", 1e4),
        ("10 Mohm", "resistance", 1e7),
        ("0.3V", "voltage", 0.3),
        ("780 1/min", "rotation", 780.0),
        ("780 min-1", "rotation", 780.0),
        ("300 mV", "voltage", 0.3),
        ("12,6 V", "voltage", 12.6),
        ("12V6", "voltage", 12.6),
        (".5 volts", "voltage", 0.5),
        ("5 V AC", "voltage", 5.0),
        ("35 mA", "current", 0.035),
        ("12 uA", "current", 1.2e-5),
        ("-4 °C", "temperature", -4.0),
        ("\N{MINUS SIGN}4°C", "temperature", -4.0),
        ("91 C", "temperature", 91.0),
        ("98 deg C", "temperature", 98.0),
        ("212 °F", "temperature", 100.0),
        ("2.1 bar", "pressure", 210000.0),
        ("101 KPA", "pressure", 101000.0),
        ("120 Hz", "frequency", 120.0),
        ("1.2 kHz", "frequency", 1200.0),
        ("650 rpm", "rotation", 650.0),
        ("2,100 rpm", "rotation", 2100.0),
        ("0.6 ms", "time", 0.0006),
        ("250 µs", "time", 0.00025),
        ("9 mm", "length", 0.009),
        ("110 N m", "torque", 110.0),
        ("3.4 g/s", "mass flow", 3.4),
        ("90 km/h", "speed", 25.0),
        ("12 deg", "angle", 12.0),
        ("+18 %", "proportion", 18.0),
        ("-7.8%", "proportion", -7.8),
        ("~12 V", "voltage", 12.0),
        ("1,234.5 V", "voltage", 1234.5),
        ("1.234,5 V", "voltage", 1234.5),
        ("0,350 V", "voltage", 0.35),
        ("3 blinks", "count", 3.0),
    ],
)
def test_exact_values(text: str, quantity: str, value: float) -> None:
    read = parse_value(text)
    assert (str(read.quantity), read.relation, read.value) == (quantity, EXACT, value)


@pytest.mark.parametrize(
    ("text", "relation", "value", "upper"),
    [
        (">10 Mohm", ABOVE, 1e7, None),
        ("over 5 bar", ABOVE, 5e5, None),
        ("<1 ohm", BELOW, 1.0, None),
        ("less than 50 mA", BELOW, 0.05, None),
        ("0.2\N{EN DASH}0.4 mm", RANGE, 0.0002, 0.0004),
        ("0.2-0.4mm", RANGE, 0.0002, 0.0004),
        ("-4 to -2 °C", RANGE, -4.0, -2.0),
        ("300 mV to 1.2 V", RANGE, 0.3, 1.2),
        ("between 2 and 3 ohm", RANGE, 2.0, 3.0),
        ("14 to 12 V", RANGE, 12.0, 14.0),
        ("OL", OVER, None, None),
        ("open", OVER, None, None),
        ("open circuit", OVER, None, None),
        ("infinite", OVER, None, None),
        ("\N{INFINITY}", OVER, None, None),
    ],
)
def test_values_that_are_no_single_number(
    text: str, relation: Relation, value: float | None, upper: float | None
) -> None:
    read = parse_value(text)
    assert (read.relation, read.value, read.upper) == (relation, value, upper)


def test_what_is_over_range_comes_from_unit_or_hint_else_it_is_a_resistance() -> None:
    assert parse_value("OL").quantity is Quantity.RESISTANCE
    assert parse_value("OL V").quantity is Quantity.VOLTAGE
    assert parse_value("OL", Quantity.FREQUENCY).quantity is Quantity.FREQUENCY


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        ("14.2V @ 2000 rpm", "2000 rpm"),
        ("14.2V at 2000 rpm", "2000 rpm"),
        ("12.6 V engine off", "engine off"),
        ("4.1 V (key on)", "key on"),
        ("12.6V.", None),
    ],
)
def test_what_follows_is_the_condition(text: str, condition: str | None) -> None:
    assert parse_value(text).condition == condition


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("5 m ohm", "may be mΩ (milliohm) or MΩ (megohm)"),
        ("5 MOHM", "may be mΩ (milliohm) or MΩ (megohm)"),
        ("2m7", "small m"),
        ("2,100 ohm", "write 2100 or 2.100"),
        ("1.200 rpm", "may part thousands"),
        ("1.2.3 V", "cannot be read"),
        ("12.6", "has no unit"),
        ("5 litres", "has no unit that is known"),
        ("2.7 ohm 3.1 ohm", "two values"),
        ("12.1 V / 12.4 V", "two values"),
        ("3 V to 2 bar", "two quantities"),
        (">2-3 V", "no single number"),
        ("1e999 V", "too large"),
        ("±8 %", "no value"),
        ("shorted", "no value"),
        ("", "no value"),
    ],
)
def test_ambiguity_is_reported_and_never_guessed(text: str, cure: str) -> None:
    with pytest.raises(InvalidField) as refused:
        parse_value(text)
    assert cure in refused.value.cure


def test_a_unit_of_another_quantity_is_refused() -> None:
    with pytest.raises(InvalidField, match="is a voltage, where a resistance is meant"):
        parse_value("2.7 V", Quantity.RESISTANCE)
    with pytest.raises(InvalidField, match="°C or °F"):
        parse_value("90 deg", Quantity.TEMPERATURE)


@given(st.text(max_size=60), st.none() | st.sampled_from(Quantity))
@example("1 \N{KELVIN SIGN}\N{OHM SIGN}", None)
@example("1E9999999999 V", None)
def test_any_text_is_read_or_refused(text: str, quantity: Quantity | None) -> None:
    with suppress(InvalidField):
        read = parse_value(text, quantity)
        assert read.typed == text.strip()
        assert read.value is None or math.isfinite(read.value)
        assert quantity in (None, read.quantity)


@given(st.text("0123456789.,+-eEkKmMVRΩAoh %°C@toOL<>~ ", max_size=30))
def test_any_jumble_of_numbers_and_units_is_read_or_refused(text: str) -> None:
    try:
        read = parse_value(text)
    except InvalidField:
        return
    assert (read.value is None) == (read.relation is OVER)
    assert (read.upper is None) == (read.relation is not RANGE)


@given(st.text())
def test_preparing_keeps_the_length(text: str) -> None:
    assert len(prepare(text)) == len(text)


def test_before_and_after_are_told_apart_in_polish() -> None:
    found = find_readings("spadek napięcia przed 0,8 V, po 0,05 V").readings
    assert [(reading.value, reading.stage) for reading in found] == [
        (0.8, Stage.AS_FOUND),
        (0.05, Stage.AFTER_FIX),
    ]


@pytest.mark.parametrize("number", ["1e-400", "0.1e-400", "-1e-999", "1e-99999999"])
def test_a_number_too_small_to_be_held_is_no_nought(number: str) -> None:
    with pytest.raises(InvalidField, match="too small"):
        parse_value(f"{number} V")


def test_nought_and_little_numbers_are_read() -> None:
    assert [parse_value(f"{each} V").value for each in ("0", "0e-400", "1e-9")] == [0, 0, 1e-9]
