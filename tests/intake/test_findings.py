"""Causes, fixes, tests and contacts in one line. Wordings: common practice, no source."""

from contextlib import suppress
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, DiagnosticTest, FailureMode, Outcome
from kb.errors import InvalidField
from kb.intake.findings import (
    find_findings,
    parse_attempt,
    parse_cause,
    parse_contact,
    parse_test,
)

TODAY = date(2026, 3, 2)
PLAIN = st.text("bdfghjklmpqvxz", min_size=4, max_size=8)
"""Words that are no word of the trade, because they have no vowel."""


@pytest.mark.parametrize(
    ("text", "label", "position"),
    [
        (
            "seat plug under LF seat, high res",
            "seat plug, under seat: high resistance",
            "left front",
        ),
        ("clock spring, steering column: open", "clock spring, steering column: open", None),
        ("worn front wheel bearing", "wheel bearing: worn", "front"),
        ("CAM SENSOR U/S", "cam sensor: internal fault", None),
        ("the earth lead was loose at the gearbox", "earth lead, at the gearbox: loose", None),
        ("ABS sensor LR shorted to ground", "abs sensor: short to ground", "left rear"),
        ("broken wire in tailgate loom", "wire, in tailgate loom: open", None),
        ("broken bracket", "bracket: mechanical damage", None),
        ("door open switch: internal fault", "door open switch: internal fault", None),
        ("leaking heater matrix", "heater matrix: leaking", None),
        ("thermostat stuck", "thermostat: seized", None),
    ],
)
def test_causes_are_read_as_the_trade_says_them(
    text: str, label: str, position: str | None
) -> None:
    cause = parse_cause(text)
    assert (cause.label, cause.position) == (label, position)


@pytest.mark.parametrize("text", ["", "open", "seat connector", "the worn"])
def test_half_a_cause_is_refused(text: str) -> None:
    with pytest.raises(InvalidField, match="cause"):
        parse_cause(text)


@given(PLAIN, PLAIN, st.sampled_from(FailureMode))
def test_a_cause_is_read_back_from_its_label(one: str, other: str, mode: FailureMode) -> None:
    cause = Cause(component=f"{one} {other}", failure_mode=mode, location=f"under {other}")
    assert parse_cause(cause.label) == cause


def test_the_words_of_a_cause_are_kept_where_they_say_more() -> None:
    assert parse_cause("corroded plug under LH seat").words == "corroded plug under LH seat"
    assert parse_cause("the clock spring is worn").words is None


@pytest.mark.parametrize(
    ("text", "label", "cured", "minutes"),
    [
        ("cleaned seat connector", "cleaned seat connector", None, None),
        ("new LF wheel speed sensor, no change, 40 min", "replaced wheel speed sensor", False, 40),
        ("Replaced the alternator and belt - fixed", "replaced alternator", True, None),
        ("fitted new clock spring (coded), ok", "replaced clock spring", True, None),
        ("re-tensioned terminals, lamp out", "repaired terminals", True, None),
        ("topped up coolant, not ok", "refilled coolant", False, None),
        ("REPL BATTERY", "replaced battery", None, None),
        ("reset ECU adaptions, no codes", "cleared ecu adaptions", True, None),
        ("greased the slide pins, didn't help", "lubricated slide pins", False, None),
    ],
)
def test_attempts_are_read_as_the_trade_says_them(
    text: str, label: str, cured: bool | None, minutes: int | None
) -> None:
    attempt = parse_attempt(text)
    assert (attempt.label, attempt.cured, attempt.minutes) == (label, cured, minutes)


@given(PLAIN, st.sampled_from(Action))
def test_an_attempt_is_read_back_from_its_label(component: str, action: Action) -> None:
    attempt = Attempt(action=action, component=component)
    assert parse_attempt(attempt.label) == attempt


@pytest.mark.parametrize("text", ["", "prayed", "replaced", "cleaned the"])
def test_half_an_attempt_is_refused(text: str) -> None:
    with pytest.raises(InvalidField, match="attempt"):
        parse_attempt(text)


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("held", Outcome.HELD),
        ("no comeback", Outcome.HELD),
        ("in for tyres, still ok", Outcome.HELD),
        ("in for a service", Outcome.OTHER_REASON),
        ("came back", Outcome.COMEBACK),
        ("held a week, then came back", Outcome.COMEBACK),
    ],
)
def test_contacts_are_read_as_the_trade_says_them(text: str, outcome: Outcome) -> None:
    contact = parse_contact(text, TODAY)
    assert (contact.outcome, contact.on) == (outcome, TODAY)


def test_a_contact_may_tell_day_odometer_and_job() -> None:
    told = parse_contact("comeback 2026-05-02 at 91,000 km as job #214, lamp again", TODAY)
    assert told == Contact(
        on=date(2026, 5, 2),
        outcome=Outcome.COMEBACK,
        odometer_km=91_000,
        job=214,
        words="comeback, lamp again",
    )


def test_a_contact_that_does_not_tell_how_the_fix_fared_keeps_its_words() -> None:
    heard = parse_contact("rang the customer, no answer", TODAY)
    assert (heard.outcome, heard.words) == (Outcome.NOT_TOLD, "rang the customer, no answer")


@pytest.mark.parametrize("text", ["", "held 2026-02-30"])
def test_a_contact_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(InvalidField, match="contact"):
        parse_contact(text, TODAY)


@pytest.mark.parametrize("parting", [":", " -", ",", " ->"])
def test_a_test_tells_what_was_done_and_seen(parting: str) -> None:
    assert parse_test(f"wiggle test{parting} value jumps") == DiagnosticTest(
        name="wiggle test", seen="value jumps"
    )


@pytest.mark.parametrize("text", ["", "looked", ":", "looked:", ": nothing"])
def test_half_a_test_is_refused(text: str) -> None:
    with pytest.raises(InvalidField, match="test"):
        parse_test(text)


def test_a_line_is_parted_into_what_it_tells() -> None:
    found = find_findings(
        "b1234-13, motor feed 4.1 V; wiggle test: 4.1 V drops to 0; new door lock, no change; "
        "held; customer waits",
        TODAY,
    )
    assert [str(code) for code in found.codes] == ["B1234-13"]
    assert [(reading.item, reading.value) for reading in found.readings] == [("motor feed", 4.1)]
    assert [test.seen for test in found.tests] == ["4.1 V drops to 0"]
    assert [(attempt.label, attempt.cured) for attempt in found.attempts] == [
        ("replaced door lock", False)
    ]
    assert [contact.outcome for contact in found.contacts] == [Outcome.HELD]
    assert found.rest == "customer waits"


def test_an_outcome_behind_a_fix_is_of_that_fix() -> None:
    line = "new lock; no change; cleaned plug; lamp out; replaced fuse; P0171 back; held"
    found = find_findings(line, TODAY)
    told = [(attempt.label, attempt.cured) for attempt in found.attempts]
    assert told == [("replaced lock", False), ("cleaned plug", True), ("replaced fuse", None)]
    assert [line[start:end] for start, end in found.places["attempts"]] == [
        "new lock; no change",
        "cleaned plug; lamp out",
        "replaced fuse",
    ]
    assert [str(code) for code in found.codes] == ["P0171"]
    assert [contact.outcome for contact in found.contacts] == [Outcome.HELD]


@pytest.mark.parametrize(
    ("line", "label", "cured"),
    [
        ("replaced pump still no pressure", "replaced pump", False),
        ("new pump. Fixed", "replaced pump", True),
        ("cleaned no. 2 injector", "cleaned no. 2 injector", None),
        ("new sensor not tested", "replaced sensor", None),
        ("new sensor didn't help", "replaced sensor", False),
    ],
)
def test_a_component_ends_where_the_outcome_begins(
    line: str, label: str, cured: bool | None
) -> None:
    attempt = parse_attempt(line)
    assert (attempt.label, attempt.cured) == (label, cured)


@pytest.mark.parametrize("line", ["not held", "hasn't come back", "rang, no answer", "no comeback"])
def test_what_is_heard_of_a_fix_is_a_contact(line: str) -> None:
    found = find_findings(line, TODAY)
    assert (len(found.contacts), found.rest) == (1, "")


def test_each_part_knows_its_place_in_the_line() -> None:
    line = " B1234; new lock, no change ;; wiggle test: drops to 0\nheld;lamp on"
    found = find_findings(line, TODAY)
    assert {
        name: [line[start:end] for start, end in places] for name, places in found.places.items()
    } == {
        "tests": ["wiggle test: drops to 0"],
        "attempts": ["new lock, no change"],
        "contacts": ["held"],
        "codes": ["B1234"],
        "readings": [],
    }


@pytest.mark.parametrize("line", ["fixed", "replaced", "held 2026-02-30", "cleaned the"])
def test_what_only_begins_like_a_part_is_kept_as_words_and_said(line: str) -> None:
    found = find_findings(f"{line}; lamp on", TODAY)
    assert found.rest == f"{line}; lamp on"
    (doubt,) = found.doubts
    assert (doubt.text, doubt.place) == (line, (0, len(line)))


@given(st.lists(st.sampled_from([*"abé ;\n:,", "new lock", "held", "fixed", "test: ok"])))
def test_places_are_of_the_line_and_in_its_order(pieces: list[str]) -> None:
    line = "".join(pieces)
    found = find_findings(line, TODAY)
    for name, places in found.places.items():
        assert len(places) == len(getattr(found, name))
        assert list(places) == sorted(places)
        assert all(line[start:end].strip() == line[start:end] != "" for start, end in places)


@given(st.text())
def test_any_line_is_read_or_refused(text: str) -> None:
    parsers = (
        parse_cause,
        parse_attempt,
        parse_test,
        lambda line: parse_contact(line, TODAY),
        lambda line: find_findings(line, TODAY),
    )
    for parse in parsers:
        with suppress(InvalidField):
            parse(text)


@pytest.mark.parametrize(
    ("text", "cured", "verified"),
    [
        ("cleaned seat connector, cured, road tested", True, "road tested"),
        ("replaced sensor, fixed, self-test passed, 30 min", True, "self-test passed"),
        ("cleaned plug; code did not return", True, "code did not return"),
        ("repaired loom, ok, reading back in band", True, "reading back in band"),
        (
            "replaced strut, cured, verified by lamp check over a week",
            True,
            "lamp check over a week",
        ),
        ("replaced clock spring, no change", False, None),
    ],
)
def test_how_a_cure_was_made_sure_is_read(
    text: str, cured: bool | None, verified: str | None
) -> None:
    attempt = parse_attempt(text)
    assert (attempt.cured, attempt.verified) == (cured, verified)


@pytest.mark.parametrize(
    ("text", "cured", "verified"),
    [
        ("replaced coil, cured, road test ok", True, "road test ok"),
        ("replaced coil, cured, verified with live data", True, "live data"),
        ("replaced coil, cured pending road test", None, None),
        ("replaced coil, cured, road test tomorrow", None, None),
        ("replaced coil, cured, no road test yet", None, None),
        ("replaced coil, cured, road test not done", None, None),
        ("replaced coil, cured, verified by nobody yet", None, None),
        ("replaced headlamp bulb, lamp out", None, None),
        ("replaced coil, no codes after road test", True, "road test"),
        ("replaced coil, swapped coil 3 to 1, misfire followed", None, None),
    ],
)
def test_only_what_was_done_to_make_sure_of_a_cure_is_a_proof(
    text: str, cured: bool | None, verified: str | None
) -> None:
    attempt = parse_attempt(text)
    assert (attempt.cured, attempt.verified) == (cured, verified)
