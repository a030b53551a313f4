"""Values that can hardly be meant. Limits: what hand meters show, from memory."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.findings import find_findings
from kb.intake.improbable import doubt_of_value
from kb.intake.items import trade_wording
from kb.intake.reading_search import find_readings
from kb.intake.values import VALUE


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("coil -5 ohm", "below nothing"),
        ("coil 1e-12 ohm", "no value that a meter shows"),
        ("coil 12.1 bar", "a pressure"),
        ("battery 12 ohm", "a resistance"),
        ("coil 4 MV", "megavolts"),
        ("coil 5 V on the other car", "another car"),
        ("motor feed 12.1 V on a donor van", "another car"),
        ("other car 4 V", "another car"),
    ],
)
def test_a_value_that_can_hardly_be_meant_is_asked_about(text: str, why: str) -> None:
    found = find_readings(text)
    assert not found.readings
    assert any(why in doubt.why for doubt in found.doubtful)


@pytest.mark.parametrize(
    "text",
    [
        *("coil 0.7 ohm", "coil 0 ohm", "coil 4 mV", "COIL 4 MV", "battery 12.4 V"),
        *("manifold vacuum -0.6 bar", "coolant temp -5 C", "coil 5 V"),
        *("fuel pressure sensor 4 bar", "coil 5 V on the other side"),
    ],
)
def test_what_may_be_measured_is_taken(text: str) -> None:
    assert find_readings(text).readings


@given(st.floats(-1e9, -1e-3))
def test_nothing_has_less_than_no_resistance(number: float) -> None:
    match = VALUE.search(f"coil {number:.3f} ohm")
    assert match is not None
    assert doubt_of_value(match, "coil", trade_wording()) is not None


def test_another_car_is_no_fix() -> None:
    assert not find_findings("coil 5 V, other car 4 V", date(2026, 3, 2)).attempts


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("battery 1,24 V rest", "12.4 V"),
        ("battery 1.24 V, at rest", "12.4 V"),
        ("batt 12.5 V rest 0,98 V cranking", "9.8 V"),
        ("charging 1.41 V", "14.1 V"),
        ("coolant 880 C hot", "88 °C"),
    ],
)
def test_a_point_that_slipped_is_told_by_what_is_usual_in_that_state(text: str, meant: str) -> None:
    found = find_readings(text)
    doubts = [str(doubt) for doubt in found.doubtful if "hardly meant" in doubt.why]
    assert len(doubts) == 1
    assert f"write {meant}" in doubts[0]
    assert all(reading.typed not in doubts[0] for reading in found.readings)


@pytest.mark.parametrize(
    "text",
    [
        "battery 12,4 V rest",
        "battery 2.4 V rest",  # flat
        "battery 25.1 V at rest",  # of 24 V
        "battery 1.24 V",  # who knows in which state
        "cell 1.24 V at rest",
        "charging 13.9 V",
        "coolant 9 C cold",
    ],
)
def test_what_may_be_so_in_that_state_is_read(text: str) -> None:
    assert len(find_readings(text).readings) == 1


@pytest.mark.parametrize("text", ["iat reads - 40 C", "coolant - 18 C", "ltft - 12 %"])
def test_a_dash_apart_that_may_be_a_sign_is_asked_about(text: str) -> None:
    found = find_readings(text)
    assert found.readings == ()
    assert any("without a blank" in doubt.why for doubt in found.doubtful)


@pytest.mark.parametrize(
    ("text", "value"),
    [("coolant - 88 C", 88.0), ("battery - 12.4 V", 12.4), ("iat -40 C", -40.0)],
)
def test_a_dash_that_parts_or_a_sign_at_its_number_is_read(text: str, value: float) -> None:
    (reading,) = find_readings(text).readings
    assert reading.value == value
