"""The table of units against pint (every unit) and scipy.constants (those it has)."""

from decimal import Decimal

import pint
import pytest
from scipy import constants

from kb.case import Quantity
from kb.intake.units import UNITS, Unit, find_unit

REGISTRY = pint.UnitRegistry()
# Our symbol: how pint spells it, where that differs.
PINT_NAMES = {
    "Ω": "ohm",
    "mΩ": "milliohm",
    "kΩ": "kiloohm",
    "MΩ": "megaohm",
    "°C": "degC",
    "°F": "degF",
    "inHg": "inch_Hg",
    "kgf/cm²": "kilogram_force / centimeter ** 2",
    "mile": "mile",
    "in": "inch",
    "km/h": "kilometer / hour",
    "mph": "mile / hour",
    "N·m": "newton * meter",
    "ft-lb": "foot * pound_force",
    "in-lb": "inch * pound_force",
    "°": "degree",
    "%": "percent",
    "m/s": "meter / second",
    "g/s": "gram / second",
    "kg/h": "kilogram / hour",
    "rpm": "revolutions_per_minute",
    "times": "dimensionless",
    "λ": "dimensionless",
    "": "dimensionless",
}


@pytest.mark.parametrize("number", ["1", "-12.5", "2100"])
def test_conversion_equals_pints(number: str) -> None:
    found = {unit.symbol: unit.convert(Decimal(number)) for unit in UNITS}
    wanted = {unit.symbol: pints(unit, float(number)) for unit in UNITS}
    assert len(found) == len(UNITS) > 50
    assert found == pytest.approx(wanted, rel=1e-9, abs=1e-12)


def pints(unit: Unit, number: float) -> float:
    there = PINT_NAMES.get(unit.symbol, unit.symbol)
    target = PINT_NAMES.get(unit.quantity.unit, unit.quantity.unit)
    return float(REGISTRY.Quantity(number, there).to(target).magnitude)


@pytest.mark.parametrize(
    ("symbol", "wanted"),
    [
        ("psi", constants.psi),
        ("bar", constants.bar),
        ("in", constants.inch),
        ("thou", constants.mil),
        ("mile", constants.mile),
        ("mph", constants.mph),
        ("km/h", constants.kmh),
        ("min", constants.minute),
        ("h", constants.hour),
        ("µm", constants.micron),
        ("ft-lb", constants.pound_force * constants.foot),
        ("in-lb", constants.pound_force * constants.inch),
        ("kgf/cm²", constants.kilogram_force / constants.centi**2),
    ],
)
def test_conversion_equals_scipys(symbol: str, wanted: float) -> None:
    unit = find_unit(symbol)
    assert unit is not None
    assert unit.convert(Decimal(1)) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("degrees", [-40.0, 0.0, 32.0, 98.6, 212.0])
def test_fahrenheit_equals_scipys(degrees: float) -> None:
    unit = find_unit("°F")
    assert unit is not None
    wanted = constants.convert_temperature(degrees, "F", "C")
    assert unit.convert(Decimal(str(degrees))) == pytest.approx(wanted, rel=1e-12, abs=1e-12)


def test_every_quantity_can_be_written_in_its_own_unit() -> None:
    held_in = {unit.quantity for unit in UNITS if unit.convert(Decimal(7)) == 7.0}
    assert held_in == set(Quantity)
