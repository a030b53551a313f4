from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb.case import Quantity
from kb.intake.units import AMBIGUOUS, UNITS, find_unit, format_value, spellings
from kb.intake.values import parse_value
from tests.strategies import numbers


@given(numbers(), st.sampled_from(Quantity))
@example(1.281, Quantity.ROTATION)
@example(-0.0, Quantity.TEMPERATURE)
def test_a_printed_value_is_read_back(value: float, quantity: Quantity) -> None:
    assert parse_value(format_value(value, quantity), quantity).value == value


@given(numbers(), st.sampled_from(Quantity))
def test_its_print_says_the_quantity(value: float, quantity: Quantity) -> None:
    assert parse_value(format_value(value, quantity)).quantity is quantity


@given(st.floats(1e-6, 1e300), st.sampled_from(Quantity), st.integers(2, 6))
def test_rounding_keeps_the_digits_asked_for(value: float, quantity: Quantity, digits: int) -> None:
    printed = parse_value(format_value(value, quantity, digits), quantity).value
    assert printed == pytest.approx(value, rel=0.51 * 10 ** (1 - digits))


@pytest.mark.parametrize(
    ("value", "quantity", "text"),
    [
        (2.7, Quantity.RESISTANCE, "2.7 Ω"),
        (4700.0, Quantity.RESISTANCE, "4.7 kΩ"),
        (1e7, Quantity.RESISTANCE, "10 MΩ"),
        (0.005, Quantity.RESISTANCE, "0.005 Ω"),
        (0.9, Quantity.RESISTANCE, "0.9 Ω"),
        (0.0008, Quantity.LENGTH, "0.8 mm"),
        (940000.0, Quantity.PRESSURE, "9.4 bar"),
        (12.6, Quantity.VOLTAGE, "12.6 V"),
        (-0.05, Quantity.VOLTAGE, "-50 mV"),
        (0.0, Quantity.VOLTAGE, "0 V"),
        (210000.0, Quantity.PRESSURE, "2.1 bar"),
        (30000.0, Quantity.PRESSURE, "30 kPa"),
        (-4.0, Quantity.TEMPERATURE, "-4 °C"),
        (25.0, Quantity.SPEED, "90 km/h"),
        (0.0014, Quantity.LENGTH, "1.4 mm"),
        (0.0006, Quantity.TIME, "600 µs"),
        (3600.0, Quantity.TIME, "3600 s"),
        (18.0, Quantity.PROPORTION, "18 %"),
        (850.0, Quantity.ROTATION, "850 rpm"),
        (3.0, Quantity.COUNT, "3 times"),
    ],
)
def test_as_a_meter_would_show_it(value: float, quantity: Quantity, text: str) -> None:
    assert format_value(value, quantity) == text


def test_every_spelling_is_found_or_known_to_be_ambiguous() -> None:
    for spelling in spellings():
        assert (find_unit(spelling) is None) == (spelling in AMBIGUOUS)


def test_every_symbol_names_its_own_unit() -> None:
    assert [find_unit(unit.symbol) for unit in UNITS] == list(UNITS)


@pytest.mark.parametrize(
    ("milli", "mega"), [("mΩ", "MΩ"), ("m\N{OHM SIGN}", "M\N{OHM SIGN}"), ("mOhm", "Mohm")]
)
def test_one_capital_parts_milliohm_from_megohm(milli: str, mega: str) -> None:
    small, large = find_unit(milli), find_unit(mega)
    assert small is not None
    assert large is not None
    assert (small.convert(Decimal(1)), large.convert(Decimal(1))) == (0.001, 1e6)


@pytest.mark.parametrize("text", ["mohm", "MOHM", "m ohm", "mohms"])
def test_without_it_neither_is_taken(text: str) -> None:
    assert find_unit(text) is None
