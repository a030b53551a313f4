"""One fact told by itself: a cause, a fix, a test, a contact. Common practice, no source."""

from contextlib import suppress
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, DiagnosticTest, FailureMode, Outcome
from kb.errors import InvalidField
from kb.intake.findings import find_findings
from kb.intake.single_facts import parse_attempt, parse_cause, parse_contact, parse_test

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
        # a place behind a comma is no part of the component, whatever position it tells
        ("carrier bearing, rear axle, loose", "carrier bearing, rear axle: loose", None),
        ("wheel bearing, front axle LF, worn", "wheel bearing, front axle: worn", "left front"),
        ("wheel bearing, front axle, worn", "wheel bearing, front axle: worn", None),
        ("rear subframe bush, rear axle, worn", "subframe bush, rear axle: worn", "rear"),
        ("carrier bearing, rear diff, loose", "carrier bearing, rear diff: loose", None),
        ("diff pinion bearing worn, rear axle", "diff pinion bearing, rear axle: worn", None),
        ("wheel bearing rear axle worn", "wheel bearing, rear axle: worn", None),
        ("LF wheel bearing, hub, worn", "wheel bearing, hub: worn", "left front"),
        ("connector, left rear door, corroded", "connector, door: contaminated", "left rear"),
        ("hose clamp, intercooler, loose", "hose clamp, intercooler: loose", None),
        ("lower arm bush, front, nearside, worn", "lower arm bush: worn", "nearside front"),
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


@given(PLAIN, PLAIN, st.sampled_from(["front", "rear"]), st.sampled_from(FailureMode))
def test_a_place_at_an_end_of_the_car_is_never_melted_into_the_component(
    part: str, place: str, end: str, mode: FailureMode
) -> None:
    cause = parse_cause(f"{part} {part}, {end} {place}, {mode}")
    assert (cause.component, cause.location) == (f"{part} {part}", f"{end} {place}")


def test_the_words_of_a_cause_are_kept_where_they_say_more() -> None:
    assert parse_cause("corroded plug under LH seat").words == "corroded plug under LH seat"
    assert parse_cause("the clock spring is worn").words is None


@pytest.mark.parametrize(
    ("text", "label", "cured", "minutes"),
    [
        ("cleaned seat connector", "cleaned seat connector", None, None),
        ("new LF wheel speed sensor, no change, 40 min", "replaced wheel speed sensor", False, 40),
        ("Replaced the alternator and belt - fixed", "replaced alternator and belt", True, None),
        ("fitted new clock spring (coded), ok", "replaced clock spring", True, None),
        ("re-tensioned terminals, lamp stays out", "repaired terminals", True, None),
        ("topped up coolant, not ok", "refilled coolant", False, None),
        ("REPL BATTERY", "replaced battery", None, None),
        ("replaced rear carrier bearing rear axle", "replaced carrier bearing", None, None),
        ("reset ECU adaptions, no codes", "cleared ecu adaptions", True, None),
        ("greased the slide pins, didn't help", "lubricated slide pins", False, None),
        ("new alternator ok for a day then dead again", "replaced alternator", False, None),
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


@pytest.mark.parametrize(
    ("line", "label", "cured"),
    [
        ("replaced pump still no pressure", "replaced pump", False),
        ("new pump. Fixed", "replaced pump", True),
        ("cleaned no. 2 injector", "cleaned injector", None),
        ("new sensor not tested", "replaced sensor", None),
        ("new sensor didn't help", "replaced sensor", False),
    ],
)
def test_a_component_ends_where_the_outcome_begins(
    line: str, label: str, cured: bool | None
) -> None:
    attempt = parse_attempt(line)
    assert (attempt.label, attempt.cured) == (label, cured)


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


def test_miles_driven_are_no_odometer_of_a_contact() -> None:
    told = parse_contact("lasted 200 miles", TODAY)
    assert (told.outcome, told.odometer_km) == (Outcome.COMEBACK, None)
    assert parse_contact("all good, 3000 km", TODAY).odometer_km is None
    assert parse_contact("all good, 93.000", TODAY).odometer_km == 93_000


@pytest.mark.parametrize(
    ("typed", "outcome"),
    [
        ("held, saw it at MOT 96.400 km no lamp", Outcome.HELD),
        ("held at service, new tyres", Outcome.HELD),
        ("Held (seen at inspection)", Outcome.HELD),
        ("held. saw the car in town", Outcome.HELD),
        ("held, passed mot with it", Outcome.HELD),
        ("comeback at MOT", Outcome.COMEBACK),
        ("comeback, in for service as well", Outcome.COMEBACK),
        ("held, but lamp back on", Outcome.COMEBACK),
        ("held, in for oil change, misfire back", Outcome.COMEBACK),
        ("held? not sure", Outcome.NOT_TOLD),
        ("held, doubt it", Outcome.NOT_TOLD),
        ("held, actually not", Outcome.NOT_TOLD),
        ("held, not driven since", Outcome.NOT_TOLD),
        ("comeback? no, different noise", Outcome.NOT_TOLD),
        ("comeback - different fault", Outcome.NOT_TOLD),
        ("held up in traffic", Outcome.NOT_TOLD),
    ],
)
def test_an_outcome_typed_first_stands_unless_it_is_taken_back(
    typed: str, outcome: Outcome
) -> None:  # common practice, no source
    assert parse_contact(typed, TODAY).outcome is outcome


@pytest.mark.parametrize(
    "line",
    [
        "no complaints so far",
        "ok so far",
        "so far so good",
        "bisher keine Beschwerden",
        "bislang keine Klagen",
        "jusqu'ici tout va bien",
        "pas de plainte jusqu'à présent",
        "jak dotąd bez zastrzeżeń",
        "na razie dobrze",
    ],
)
def test_so_far_without_a_stretch_is_no_hold(line: str) -> None:
    assert parse_contact(line, TODAY).outcome is Outcome.NOT_TOLD


@pytest.mark.parametrize(
    "line",
    [
        "no complaints since",
        "no complaints since, 3 weeks",
        "ok so far, 5 weeks",
        "good so far after 4 months daily use",
        "bis jetzt kein Geräusch, 5 Wochen",
        "marche jusqu'à présent, 2 mois",
        "aucune plainte depuis 3 semaines",
        "keine Beschwerden seit 3 Wochen",
        "rang 20.02.2026, ok so far",
        "held so far",
    ],
)
def test_with_a_stretch_or_a_day_it_is_one(line: str) -> None:
    assert parse_contact(line, TODAY).outcome is Outcome.HELD
