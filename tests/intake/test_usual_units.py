"""Units that items are usually measured in: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.items import trade_wording
from kb.intake.units import find_unit
from kb.intake.usual_units import (
    USUAL_UNITS_FILE,
    thousands_joined,
    usual_quantities,
    usual_unit,
)
from kb.intake.values import VALUE

TRADE = trade_wording()


@pytest.mark.parametrize(
    ("item", "number", "unit"),
    [
        ("battery", 12.4, "V"),
        ("batt", 640, "A"),
        ("compression", 12, "bar"),
        ("compression", 175, "psi"),
        ("brake disc", 21.8, "mm"),
        ("brake disc", 240, "°C"),
        ("gearbox oil temp", 118, "°C"),
        ("egt1", 610, "°C"),
        ("splonk", 3, None),
    ],
)
def test_usual_units(item: str, number: float, unit: str | None) -> None:
    assert usual_unit(item, number, TRADE) == unit


def test_every_unit_of_the_table_is_known() -> None:
    lines = USUAL_UNITS_FILE.read_text(encoding="utf-8").splitlines()
    units = [line.split()[0] for line in lines if line and not line.startswith("#")]
    assert all(find_unit(unit) for unit in units)


@given(st.text(max_size=30), st.floats(-1e4, 1e4))
def test_a_unit_is_of_a_usual_quantity(item: str, number: float) -> None:
    unit = usual_unit(item, number, TRADE)
    known = find_unit(unit) if unit else None
    assert known is None or known.quantity in usual_quantities(item, TRADE)


@given(st.integers(1000, 2999))
def test_thousands_are_joined_where_the_item_is_never_measured_in_so_little(bar: int) -> None:
    match = VALUE.match(f"{bar:,} bar")
    assert match
    joined = thousands_joined(match, "rail pressure", TRADE)
    assert (joined["number"], joined["unit"]) == (str(bar), "bar")
    assert thousands_joined(match, "boost pressure", TRADE) is match
