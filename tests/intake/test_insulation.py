"""The voltage beside a resistance of insulation: of the system, and no second reading."""

import pytest

from kb.intake.insulation import voltage_told
from kb.intake.reading_search import find_readings
from kb.intake.readings import parse_reading


@pytest.mark.parametrize(
    "text",
    [
        "insulation resistance 60 kohm 800 V",
        "insulation resistance 60 kohm at 800 V",
        "insulation resistance 60 kohm, 800 V",
        "insulation resistance 60 kohm (800 V)",
        "hv isolation 60 kohm 800 V system",
    ],
)
def test_a_voltage_behind_insulation_is_its_condition(text: str) -> None:
    (found,) = find_readings(text).readings
    for reading in (found, parse_reading(text)):
        assert reading.value == 60_000
        assert voltage_told(reading.condition) == 800


def test_another_item_behind_insulation_is_a_reading_of_its_own() -> None:
    found = find_readings("insulation 60 kohm, battery 12.6 V").readings
    assert [each.item for each in found] == ["insulation", "battery"]
