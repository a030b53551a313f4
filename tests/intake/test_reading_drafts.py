"""What the number and the unit of a value tell of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Quantity
from kb.intake.items import trade_wording
from kb.intake.reading_drafts import first_number, is_vague, item_of_state, quantity_of, uncounted
from kb.intake.values import VALUE


@pytest.mark.parametrize(
    ("value", "quantity"),
    [
        ("4k7", Quantity.RESISTANCE),
        ("3V3", Quantity.VOLTAGE),
        ("0d22", Quantity.ANGLE),
        ("1.2-1.4 bar", Quantity.PRESSURE),
        ("OL", Quantity.RESISTANCE),
        ("5 mohm", None),
    ],
)
def test_quantity(value: str, quantity: Quantity | None) -> None:
    match = VALUE.fullmatch(value)
    assert match is not None
    assert quantity_of(match) is quantity


@given(st.decimals(-9999, 9999, places=2), st.sampled_from(["", "<", "over ", "about "]))
def test_the_number_a_range_begins_at(number: object, before: str) -> None:
    assert first_number(f"{before}{number} - 99999 bar") == float(str(number))
    assert first_number(f"{before}{number}".replace(".", ",")) == float(str(number))


@pytest.mark.parametrize(
    ("value", "condition", "is_so"),
    [
        ("9.2", "cranking", True),
        ("12.4 V", "at rest", True),
        ("9.2", "cold", False),
        ("9.2", None, False),
        ("92", "cranking", False),
    ],
)
def test_volts_of_the_battery(value: str, condition: str | None, *, is_so: bool) -> None:
    assert (item_of_state(value, condition) == "battery") is is_so


@pytest.mark.parametrize(
    ("value", "condition", "item"),
    [
        ("12.3", "engine running", "charging"),
        ("14.1", "2500 rpm", "charging"),
        ("14.1 V", "running", None),
        ("9.2", "running", None),
        ("12.3", "key on", None),
    ],
)
def test_a_bare_number_of_a_running_engine_is_likely_the_chargings(
    value: str, condition: str, item: str | None
) -> None:
    assert item_of_state(value, condition) == item


def test_a_number_and_how_it_was_measured_are_no_item() -> None:
    assert uncounted("cell 42") == "cell"
    assert is_vague("snsr res", trade_wording())
    assert not is_vague("crank snsr", trade_wording())
    assert not is_vague("", trade_wording())
