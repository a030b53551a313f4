"""What a case refuses, so that both databases hold it and return it unchanged."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

import pytest

from kb.bounds import LARGEST_INTEGER, LONGEST_KEY, LONGEST_TEXT
from kb.case import (
    Action,
    Attempt,
    Confirmation,
    DiagnosticTest,
    Job,
    Precondition,
    Quantity,
    Reading,
    Vehicle,
)
from kb.errors import InvalidField

DAY = date(2026, 3, 2)


def reading(value: float) -> Reading:
    return Reading(item="feed", quantity=Quantity.VOLTAGE, typed="x", value=value)


@pytest.mark.parametrize("bad", ["\0", "\x1b[2J", "\x7f", "\ud800", "x\udcff"])
def test_unprintable_text_is_refused_wherever_it_stands(bad: str) -> None:
    with pytest.raises(InvalidField, match="make"):
        Vehicle(make=bad)
    with pytest.raises(InvalidField, match="clears"):
        DiagnosticTest(name="wiggle", seen="jumps", clears=("mat", bad))
    with pytest.raises(InvalidField, match="complaint"):
        Job(vehicle=Vehicle(), opened=DAY, complaint=bad)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), 10**400, 2**60 + 1])
def test_numbers_that_a_database_cannot_hold_are_refused(value: float) -> None:
    with pytest.raises(InvalidField, match="value"):
        reading(value)
    with pytest.raises(InvalidField, match="parts_cost"):
        Attempt(action=Action.CLEANED, component="plug", parts_cost=abs(value))


def test_whole_numbers_have_bounds() -> None:
    job = Job(vehicle=Vehicle(), opened=DAY, complaint="x", odometer_km=LARGEST_INTEGER)
    assert job.odometer_km == LARGEST_INTEGER
    for wrong in (-1, LARGEST_INTEGER + 1, 10**30):
        with pytest.raises(InvalidField, match="odometer_km"):
            Job(vehicle=Vehicle(), opened=DAY, complaint="x", odometer_km=wrong)


def test_texts_and_keys_have_a_longest() -> None:
    Job(vehicle=Vehicle(ref="K" * LONGEST_KEY), opened=DAY, complaint="x" * LONGEST_TEXT)
    with pytest.raises(InvalidField, match="complaint"):
        Job(vehicle=Vehicle(), opened=DAY, complaint="x" * (LONGEST_TEXT + 1))
    with pytest.raises(InvalidField, match="ref"):
        Vehicle(ref="K" * (LONGEST_KEY + 1))
    with pytest.raises(InvalidField, match="uid"):
        Job(vehicle=Vehicle(), opened=DAY, complaint="x", uid="u" * (LONGEST_KEY + 1))


def test_a_confirmation_is_held_in_utc_and_needs_a_zone() -> None:
    noon = datetime(2026, 3, 2, 12, tzinfo=timezone(timedelta(hours=2)))
    told = Confirmation(what=Precondition.SUPPLY_OFF, step="drag test", by="BT", at=noon)
    assert told.at.isoformat() == "2026-03-02T10:00:00+00:00"
    for wrong in (noon.replace(tzinfo=None), noon.replace(year=1000)):
        with pytest.raises(InvalidField, match="at"):
            replace(told, at=wrong)
    with pytest.raises(InvalidField, match="by"):
        replace(told, by=" ")
