"""What was heard of a car later, told in a line. Common practice, no source."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Outcome
from kb.intake.findings import find_findings

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("line", "on", "km"),
    [
        ("came back 20.02.2026, same noise", date(2026, 2, 20), None),
        ("came back 14.02., same noise, 92.300", date(2026, 2, 14), 92_300),
        ("held 2 weeks then dead again, 3.1.", date(2026, 1, 3), None),
        ("back on 3 Jan with same fault, 145tkm", date(2026, 1, 3), 145_000),
    ],
)
def test_a_comeback_is_of_the_day_told(line: str, on: date, km: int | None) -> None:
    found = find_findings(line, TODAY)
    told = [(each.on, each.outcome, each.odometer_km) for each in found.contacts]
    assert told == [(on, Outcome.COMEBACK, km)]
    assert (found.odometer, found.doubts) == (None, ())


def test_a_comeback_of_no_one_day_is_asked_about() -> None:
    found = find_findings("came back last week", TODAY)
    assert [each.outcome for each in found.contacts] == [Outcome.COMEBACK]
    assert [doubt.text for doubt in found.doubts] == ["last week"]


@pytest.mark.parametrize(
    "line", ["been fine since August, 101.000 km", "rang her: fine so far, 101.000 km"]
)
def test_what_the_odometer_shows_when_a_car_is_heard_of_is_of_the_contact(line: str) -> None:
    found = find_findings(line, TODAY)
    told = [(each.outcome, each.odometer_km) for each in found.contacts]
    assert (told, found.odometer) == ([(Outcome.HELD, 101_000)], None)


def test_an_odometer_before_a_contact_is_of_the_job() -> None:
    found = find_findings("pump replaced 91.000 km; rang her, all good, 91.500 km", TODAY)
    assert [each.odometer_km for each in found.contacts] == [91_500]
    assert found.odometer is not None
    assert found.odometer.km == 91_000


@pytest.mark.parametrize("line", ["not held", "hasn't come back", "rang, no answer", "no comeback"])
def test_what_is_heard_of_a_fix_is_a_contact(line: str) -> None:
    found = find_findings(line, TODAY)
    assert (len(found.contacts), found.rest) == (1, "")


@pytest.mark.parametrize(
    ("line", "outcome", "asked"),
    [
        ("came back 20.02.2026, replaced pump again, ok now", Outcome.COMEBACK, True),
        ("didn't hold: pump replaced twice", Outcome.COMEBACK, True),
        ("held 2 weeks, then pump replaced", Outcome.NOT_TOLD, True),
        ("came back, same noise", Outcome.COMEBACK, False),
    ],
)
def test_work_within_what_was_heard_is_asked_about(
    line: str, outcome: Outcome, *, asked: bool
) -> None:
    found = find_findings(line, TODAY)
    assert ([each.outcome for each in found.contacts], found.attempts) == ([outcome], ())
    assert any("pump" in doubt.text for doubt in found.doubts) is asked


@given(st.dates(date(2020, 1, 1), date(2026, 11, 26)), st.booleans())
def test_another_reason_with_a_day_was_heard(day: date, iso: bool) -> None:
    told = day.isoformat() if iso else f"{day.day}.{day.month}.{day.year}"
    found = find_findings(f"other reason {told}", TODAY)
    assert found.attempts == ()
    assert [(each.outcome, each.on) for each in found.contacts] == [(Outcome.OTHER_REASON, day)]


@pytest.mark.parametrize("line", ["tyres ok", "replaced hose; mot ok", "tyres all 2.5 bar"])
def test_what_was_looked_at_on_the_job_was_not_heard_later(line: str) -> None:
    assert find_findings(line, TODAY).contacts == ()


@pytest.mark.parametrize(
    ("line", "on"),
    [
        ("fault back", TODAY),
        ("fault is back", TODAY),
        ("same fault back again", TODAY),
        ("fault back 20.02.2026", date(2026, 2, 20)),
        ("customer rang: noise is back since Monday", TODAY),
        ("P0171 fault back; battery 12.1 V", TODAY),
        ("fault reappeared yesterday", date(2026, 3, 1)),
    ],
)
def test_a_fault_told_of_a_cured_car_that_left_is_a_comeback(line: str, on: date) -> None:
    (heard,) = find_findings(line, TODAY, left_cured=True).contacts
    assert (heard.outcome, heard.on) == (Outcome.COMEBACK, on)


@pytest.mark.parametrize("line", ["fault not back", "back to normal", "läuft einwandfrei"])
def test_a_line_that_tells_only_how_the_fix_fared_is_heard_of_the_car(line: str) -> None:
    (heard,) = find_findings(line, TODAY, left_cured=True).contacts
    assert heard.outcome is Outcome.HELD
    assert not find_findings(line, TODAY).contacts


def test_what_was_found_is_not_heard_of_the_car() -> None:
    for line in ("battery 12.6 V, runs fine", "P0301 gone, runs fine", "runs fine?", "20 min, ok"):
        assert not find_findings(line, TODAY, left_cured=True).contacts


def test_since_when_it_is_dead_again_is_a_comeback() -> None:
    (heard,) = find_findings("dead again since Easter", TODAY, left_cured=True).contacts
    assert heard.outcome is Outcome.COMEBACK


@pytest.mark.parametrize(
    "line",
    [
        "fault back?",
        "key is back with the customer",
        "sensor plug back on",
        "old part still here",
        "battery still 12.6 V",
        "wiggle test: fault back",
        "fault back, cleaned plug, cured",
    ],
)
def test_what_tells_no_return_of_the_fault_is_no_comeback(line: str) -> None:
    assert not find_findings(line, TODAY, left_cured=True).contacts


@pytest.mark.parametrize(
    "line",
    [
        "spoke to her mum",
        "cust to monitor",
        "spoke to owner",
        "cust to try",
        "called her, told 4ish",
    ],
)
def test_a_contact_needs_something_heard_of_the_car(line: str) -> None:
    found = find_findings(line, TODAY)
    assert not found.contacts
    assert found.account.kept


@pytest.mark.parametrize(
    "line",
    ["spoke to her mum, lamp is back", "rang, no answer", "called, still squeals at 20 km/h"],
)
def test_what_was_heard_of_the_car_or_that_nobody_was_reached_is_one(line: str) -> None:
    assert len(find_findings(line, TODAY).contacts) == 1


@pytest.mark.parametrize(
    "line",
    [
        "held a bulb across the bag plug, lit up", "held a test lamp on the squib pins, glowed",
        "holding a lamp on the plug, nothing", "still held a 21 W bulb on it, lit",
        "rang the loom through, ok", "rang out the seat wiring with a bulb, lit",
    ],
)  # fmt: skip
def test_what_is_held_in_the_hand_or_rung_through_is_no_contact(line: str) -> None:
    assert find_findings(line, date(2026, 11, 30)).contacts == ()


@pytest.mark.parametrize("line", ["held since May", "held, no comeback", "rang customer, all fine"])
def test_what_held_and_who_was_rung_is_one(line: str) -> None:
    assert len(find_findings(line, date(2026, 11, 30)).contacts) == 1
