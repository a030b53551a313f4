"""Causes, fixes, tests and contacts in one line. Wordings: common practice, no source."""

import json
import re
from contextlib import suppress
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, DiagnosticTest, FailureMode, Outcome, Stage
from kb.errors import InvalidField
from kb.intake.codes import find_codes
from kb.intake.findings import find_findings, find_work
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


@pytest.mark.parametrize(
    "behind",
    [
        *("wiggle test: misfire returns", "road test: misfire still there", "scan: P0301 back"),
        *("road test: dies at lights", "test drive: dead after 2 km", "smoke test: still leaking"),
        *("actually not", "sorry no", "wrong, not", "lamp on", "cranks but no start"),
        *("i was wrong", "turned out it was the plugs", "plugs did it"),
    ],
)
@pytest.mark.parametrize("success", ["cured", "lamp off", "misfire gone", "all ok"])
def test_a_cure_is_not_told_where_the_line_tells_of_trouble_behind_it(
    success: str, behind: str
) -> None:
    (attempt,) = find_findings(f"replaced coil, {success}; {behind}", TODAY).attempts
    assert attempt.cured is not True


@pytest.mark.parametrize("behind", ["road test: ok", "scan: no codes", "smoke test: dry"])
def test_a_cure_stands_where_a_test_behind_it_shows_nothing(behind: str) -> None:
    (attempt,) = find_findings(f"replaced coil, cured; {behind}", TODAY).attempts
    assert attempt.cured is True


def test_an_outcome_behind_a_fix_is_of_that_fix() -> None:
    line = "new lock; no change; cleaned plug; lamp stays out; replaced fuse; P0171 back; held"
    found = find_findings(line, TODAY)
    told = [(attempt.label, attempt.cured) for attempt in found.attempts]
    assert told == [("replaced lock", False), ("cleaned plug", None), ("replaced fuse", None)]
    assert find_findings(line.replace("P0171 back; ", ""), TODAY).attempts[1].cured is True
    assert [line[start:end] for start, end in found.places["attempts"]] == [
        "new lock; no change",
        "cleaned plug; lamp stays out",
        "replaced fuse",
    ]
    assert [str(code) for code in found.codes] == ["P0171"]
    assert [contact.outcome for contact in found.contacts] == [Outcome.HELD]


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


@pytest.mark.parametrize("line", ["not held", "hasn't come back", "rang, no answer", "no comeback"])
def test_what_is_heard_of_a_fix_is_a_contact(line: str) -> None:
    found = find_findings(line, TODAY)
    assert (len(found.contacts), found.rest) == (1, "")


def test_each_part_knows_its_place_in_the_line() -> None:
    line = " B1234; new lock, no change ;; wiggle test: drops to 0\nheld;bonnet up"
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


@pytest.mark.parametrize("line", ["replaced", "held 2026-02-30", "cleaned the"])
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
    ("line", "told"),
    [
        ("pads and discs changed, still pulls", [("replaced pads and discs", False)]),
        (
            "earth lead cleaned. new relay, works",
            [("cleaned earth lead", None), ("replaced relay", True)],
        ),
        ("plugs done, fixed?", [("replaced plugs", None)]),
        ("2 new wheel nuts", [("replaced wheel nuts", None)]),
        ("pump in, no leaks", [("replaced pump", True)]),
        ("injector plug corroded, cleaned, no misfire", [("cleaned injector plug", True)]),
        ("new coil, no change, plug worn, replaced, runs well now",
         [("replaced coil", False), ("replaced plug", True)]),
        ("valve removed and cleaned, refitted", [("cleaned valve", None)]),
        ("replaced sensor, codes cleared, lamp out", [("replaced sensor", None)]),
        ("replaced starter pt no P0234-771 £189", [("replaced starter", None)]),
        ("removed door trim, replaced lock", [("replaced lock", None)]),
        ("removed covers, looked, no leak seen, refitted covers", []),
        ("drops to 12 psi after five minutes replaced the check valve holds now",
         [("replaced check valve", None)]),
        ("turns out the relay was sticking swapped it for a new one fixed",
         [("replaced relay", True)]),
        ("wiggled the harness and it jumped cleaned the connector all good",
         [("cleaned connector", True)]),
        ("p0171, trims +2 -1 cleared", []),
        ("other side had 5 mm, new pads", [("replaced pads", None)]),
        ("the so called specialist said ECU, cleaned fuse holder, fixed",
         [("cleaned fuse holder", True)]),
    ],
)  # fmt: skip
def test_attempts_are_read_in_plain_talk(line: str, told: list[tuple[str, bool | None]]) -> None:
    found = find_findings(line, TODAY)
    assert [(each.label, each.cured) for each in found.attempts] == told


AFTER = {
    "nach Tausch der {}": ("Kerzen", "Pumpe", "Spule"),
    "nach dem Wechsel der {}": ("Batterie", "Klammer", "Dichtung"),
    "nach Reinigung der {}": ("Drosselklappe", "Masse"),
    "po wymianie {}": ("świec", "pompy", "czujnika"),
    "po oczyszczeniu {}": ("przepustnicy", "masy"),
    "après remplacement des {}": ("bougies", "disques"),
    "après nettoyage du {}": ("papillon", "filtre"),
}
FARED = {
    ", läuft wieder": True,
    " Fehler wieder da": False,
    ", keine Änderung": False,
    ", działa": True,
    " nadal to samo": False,
    " bez zmian": False,
    " sans effet": False,
    ", ne cale plus": True,
}


@given(st.sampled_from(sorted(AFTER)), st.sampled_from(sorted(FARED)), st.data())
def test_work_told_by_its_noun_behind_after_is_a_fix(
    form: str, fared: str, data: st.DataObject
) -> None:
    part = data.draw(st.sampled_from(AFTER[form]))
    (attempt,) = find_findings(form.format(part) + fared, TODAY).attempts
    assert (attempt.component, attempt.cured) == (part.casefold(), FARED[fared])


@pytest.mark.parametrize(
    "line",
    [
        "nach Wechsel auf Winterreifen",
        "nach dem Wechsel der Spur zieht er",
        "nach Reparatur Fehler wieder da",
        "après changement de vitesse, bruit",
        "po zmianie biegów stuka",
        "po wymianie OK",
    ],
)
def test_what_is_changed_on_the_road_or_not_named_is_no_fix(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


@pytest.mark.parametrize(
    "line",
    [
        "needs a rack",
        "customer declined new rack",
        "new rack quoted 640",
        "had new plugs 2 months ago at other garage",
        "pump ordered",
        "will replace the lock tomorrow",
        "should have replaced the relay",
        "if the new pump does not do it then ecu",
        "mate fitted a battery last week, no better",
        "no fault found",
        "the previous owner fitted a bulb",
        "noise since somebody replaced the pump",
        "sold the car in August, new owner unknown",
        "new driver now",
        "new noise from the left",
        "new appointment made",
        "neuer Besitzer unbekannt",
        "nouveau propriétaire inconnu",
        "gas shock left in",
        "bulb left out",
    ],
)
def test_plans_and_what_others_did_are_no_attempts(line: str) -> None:
    found = find_findings(line, TODAY)
    assert (found.attempts, found.later) == ((), None)


@pytest.mark.parametrize(
    ("line", "cured"),
    [
        ("still misfires", False),
        ("no better", False),
        ("sorted, was the plug behind the glovebox", True),
        ("gone at idle, at speed not", None),
        ("ok", None),
        ("no leak seen", None),
        ("unsure if fixed", None),
        ("fixed?", None),
        ("motor dead", None),
    ],
)
def test_an_outcome_alone_is_of_an_earlier_fix_if_it_speaks_of_one(
    line: str, cured: bool | None
) -> None:
    later = find_findings(line, TODAY).later
    assert (later and later.verdict and later.verdict.cured) == cured


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        ("drag test bad", "drag test", "bad"),
        ("checked earths: ok", "checked earths", "ok"),
        ("Checked timing marks, 1 tooth out", "Checked timing marks", "1 tooth out"),
        (
            "swapped coil 2 with 3 - misfire moved to 3",
            "swapped coil 2 with 3",
            "misfire moved to 3",
        ),
    ],
)
def test_tests_are_read_in_plain_talk(line: str, name: str, seen: str) -> None:
    (test,) = find_findings(line, TODAY).tests
    assert (test.name, test.seen) == (name, seen)


def test_times_and_costs_go_to_the_fix_they_stand_behind() -> None:
    found = find_findings("new hose £8.20, 1h20; gasket renewed 22.80 + seals 6.40, 45 min", TODAY)
    told = [(each.label, each.minutes, each.parts_cost) for each in found.attempts]
    assert told == [("replaced hose", 80, 8.2), ("replaced gasket", 45, 29.2)]


def test_readings_behind_a_fix_were_taken_after_it() -> None:
    found = find_findings("motor feed 9.1 V, new fuse, motor feed 12.4 V", TODAY)
    assert [(each.value, each.stage) for each in found.readings] == [
        (9.1, Stage.AS_FOUND),
        (12.4, Stage.AFTER_FIX),
    ]


PIECES = """plugs done new hose fixed still leaks £8.20 45 min 91,000 km P0171 4.1 V test ok , . ;
- and then not needs a held no change cleaned ( ) : pump in"""
TALK = st.lists(st.sampled_from(PIECES.split()), max_size=14).map(" ".join)


@given(TALK)
def test_work_alone_is_read_as_among_all_findings(line: str) -> None:
    found = find_findings(line, TODAY)
    told = [(each.action, each.component) for each in found.attempts]
    assert find_work(line) == [
        (*work, place) for work, place in zip(told, found.places["attempts"], strict=True)
    ]


@given(TALK)
def test_each_letter_of_a_line_is_in_a_part_or_in_the_rest(line: str) -> None:
    found = find_findings(line, TODAY)
    parts = [place for places in found.places.values() for place in places]
    lifts = [lift.place for lift in found.account.lifted]
    kept = [lift.place for lift in found.account.kept]
    asked = [doubt.place for doubt in found.account.asked if doubt.place]
    seen = [*parts, *lifts, *kept, *asked, *find_codes(line).lifted]
    little = {"a", "and", "then", "not", "no", "in"}
    for match in re.finditer(r"[^\W_]{2,}", line):
        inside = any(start <= match.start() and match.end() <= end for start, end in seen)
        assert inside or match[0] in little, (line, match[0])


@given(TALK)
def test_parts_of_a_kind_do_not_overlap(line: str) -> None:
    found = find_findings(line, TODAY)
    whole = sorted(p for name in ("tests", "attempts", "contacts") for p in found.places[name])
    assert all(one.end <= other.start for one, other in pairwise(whole))


OUTCOMES = Path(__file__).parents[1] / "benchmarks" / "front_door" / "outcomes.jsonl"


@pytest.mark.parametrize("form", ["plugs done, {}", "coil replaced. {}", "new pump - {}", "{}"])
def test_what_failed_or_is_not_told_is_no_cure_behind_plain_talk(form: str) -> None:
    lines = [json.loads(line) for line in OUTCOMES.read_text("utf-8").splitlines()]
    assert lines
    for line in lines:
        found = find_findings(form.format(line["text"]), TODAY)
        cured = [attempt.cured for attempt in found.attempts]
        if found.later and found.later.verdict:
            cured.append(found.later.verdict.cured)
        assert line["cured"] is True or True not in cured, line["text"]


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


def _fixes(line: str) -> list[tuple[str, bool | None]]:
    return [(fix.component, fix.cured) for fix in find_findings(line, TODAY).attempts]


@pytest.mark.parametrize(
    ("line", "fixes"),
    [
        ("replaced plugs no good, then coil - cured", [("plugs", False), ("coil", True)]),
        (
            "replaced link, better, then cured by tightening subframe",
            [("link", None), ("subframe", True)],
        ),
        (
            "replaced plugs didn't help but replaced coil did",
            [("plugs", False), ("coil", True)],
        ),
        (
            "replaced link without success, tightened subframe bolts: cured",
            [("link", False), ("subframe bolts", True)],
        ),
        (
            "cleaned throttle body didn't cure, then replaced it, cured",
            [("throttle body", False), ("throttle body", True)],
        ),
        ("new plugs same, new coil cured", [("plugs", False), ("coil", True)]),
        ("new coil, cured after fitting new fuse", [("coil", None)]),
    ],
)
def test_a_cure_is_of_the_fix_before_it_alone(
    line: str, fixes: list[tuple[str, bool | None]]
) -> None:
    assert _fixes(line) == fixes


PARTS = st.lists(
    st.sampled_from(["plugs", "ignition coil", "fan", "thermostat", "water pump", "hose"]),
    min_size=2,
    max_size=4,
    unique=True,
)


@given(PARTS, st.sampled_from(["replaced {}", "new {}", "{} replaced"]), st.booleans())
def test_parts_of_one_list_are_one_fix(parts: list[str], form: str, cured: bool) -> None:
    named = f"{', '.join(parts[:-1])} and {parts[-1]}"
    line = f"{form.format(named)}, {'cured' if cured else 'no change'}"
    assert _fixes(line) == [(named, cured)]


@pytest.mark.parametrize(
    "heard",
    [
        "cust rang next day same again",
        "customer phoned: fault returned",
        "cust texted squealing again",
        "owner says stopped again next morning",
    ],
)
@pytest.mark.parametrize("sign", [";", "."])
def test_a_return_takes_the_cure_back(heard: str, sign: str) -> None:
    ((_, cured),) = _fixes(f"cleaned throttle, fixed{sign} {heard}")
    assert cured is not True


@pytest.mark.parametrize(
    "line", ["new coil, cured? road test tomorrow", "new coil, cured, road test to do"]
)
def test_a_road_test_to_come_verifies_nothing(line: str) -> None:
    (fix,) = find_findings(line, TODAY).attempts
    assert fix.verified is None


def test_ratings_and_part_numbers_are_no_part_of_a_name() -> None:
    (fix,) = find_findings("fitted thermostat 88c part 1k0 121 113 a, warm now", TODAY).attempts
    assert fix.component == "thermostat"
    assert "1k0 121 113 a" in (fix.words or "")


def test_parts_with_their_price_and_the_time_of_the_work_were_fitted() -> None:
    (fix,) = find_findings("water pump & belt kit 214,00 EUR 3,5 h", TODAY).attempts
    assert (fix.component, fix.parts_cost, fix.minutes) == ("water pump & belt kit", 214, 210)
    assert not find_findings("water pump & belt kit 214,00 EUR", TODAY).attempts


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("latch came, fitted, 30mA now", [("replaced latch", None)]),
        ("loom found chafed, repaired, no fault", [("repaired loom", True)]),
        ("fault was corroded plug under carpet. cleaned it, works", [("cleaned plug", True)]),
        ("water pump weeping, renewed with cambelt", [("replaced water pump", None)]),
        ("alternator from scrapyard fitted, light out", [("replaced alternator", None)]),
        ("tightened loose earth, cranks fine", [("tightened earth", True)]),
        ("2 rear shocks 45.90 each fitted", [("replaced shocks", None)]),
        ("timing belt kit 112.00, 4 hrs, runs sweet", [("replaced timing belt kit", True)]),
        ("valve cleaned, refitted", [("cleaned valve", None)]),
        ("new boot fitted trims +2 fault gone", [("replaced boot", True)]),
        ("old pump back in", []),
        ("catalytic converter replaced by dealer in may", []),
        ("runs like new", []),
        ("uv dye in", []),
    ],
)
def test_the_part_of_a_fix_is_named_by_what_stands_around_it(
    line: str, told: list[tuple[str, bool | None]]
) -> None:
    assert [(each.label, each.cured) for each in find_findings(line, TODAY).attempts] == told


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        ("coil 3 dead on scope", "coil 3", "dead on scope"),
        ("swapped relay with horn relay no change", "swapped relay with horn relay", "no change"),
        (
            "I wiggled loom at bulkhead and it faulted",
            "I wiggled loom at bulkhead",
            "and it faulted",
        ),
        ("spark tester on 3: no spark", "spark tester on 3", "no spark"),
        ("cooled w spray restarted", "cooled w spray", "restarted"),
    ],
)
def test_a_test_may_be_told_by_what_an_instrument_showed(line: str, name: str, seen: str) -> None:
    (told,) = find_findings(line, TODAY).tests
    assert (told.name, told.seen) == (name, seen)


@given(
    st.sampled_from(["thermostat", "wheel bearing", "ignition coil", "water pump"]),
    st.sampled_from(["came", "found worn", "leaking", "arrived"]),
    st.sampled_from(["fitted", "replaced", "renewed"]),
)
def test_a_bare_fix_is_of_the_part_told_before_it(part: str, how: str, done: str) -> None:
    (attempt,) = find_findings(f"{part} {how}, {done}", TODAY).attempts
    assert attempt.label == f"replaced {part}"


@given(st.integers(1, 900), st.sampled_from(["mA", "V", "bar", "°C"]))
def test_a_measured_value_beside_it_hides_no_outcome(value: int, unit: str) -> None:
    found = find_findings(f"replaced hose, drain {value} {unit}, fault gone", TODAY)
    assert [each.cured for each in found.attempts] == [True]
    found = find_findings(f"replaced hose, drain {value} {unit}, fault remains", TODAY)
    assert [each.cured for each in found.attempts] == [False]


def test_miles_driven_are_no_odometer_of_a_contact() -> None:
    told = parse_contact("lasted 200 miles", TODAY)
    assert (told.outcome, told.odometer_km) == (Outcome.COMEBACK, None)
    assert parse_contact("all good, 3000 km", TODAY).odometer_km is None
    assert parse_contact("all good, 93.000", TODAY).odometer_km == 93_000


@pytest.mark.parametrize(
    ("line", "cured"),
    [
        ("replaced LF sensor and RF caliper, LF cured, brake still drags", None),
        ("replaced pads and discs, noise gone, then came back", False),
        ("replaced coil and plugs, misfire gone", True),
        ("replaced crank sensor, not fixed yet, thursday again", False),
    ],
)
def test_half_a_cure_of_several_parts_is_not_told(line: str, cured: bool | None) -> None:
    found = find_findings(line, TODAY)
    assert [each.cured for each in found.attempts] == [cured]
    assert bool(found.doubts) is (cured is None)


@given(
    st.sampled_from(["wheels torqued", "brakes bled", "topped up coolant"]),
    st.sampled_from([", ", " and ", " + "]),
)
def test_what_ends_a_fix_is_no_fix_of_its_own(finish: str, joint: str) -> None:
    line = f"hose replaced{joint}{finish}, fault gone"
    assert _fixes(line) == [("hose", True)]
    failed = [cured for _, cured in _fixes(f"hose replaced, no change, {finish}, pedal good")]
    assert failed[0] is False


def test_a_cure_behind_two_fixes_is_asked_about() -> None:
    found = find_findings("coil replaced, injector cleaned, fault gone", TODAY)
    assert [each.cured for each in found.attempts] == [None, True]
    assert [doubt.text for doubt in found.doubts] == ["injector cleaned, fault gone"]
    assert not find_findings("coil replaced, no change, injector cleaned, cured", TODAY).doubts


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


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        (
            "swapped coils 1 and 2: misfire moves to 2",
            "swapped coils 1 and 2",
            "misfire moves to 2",
        ),
        ("swapped coils 1 and 2: now on 2", "swapped coils 1 and 2", "now on 2"),
        ("tapped relay with screwdriver, works", "tapped relay with screwdriver", "works"),
        ("tapped starter: cranks", "tapped starter", "cranks"),
    ],
)
def test_what_was_tried_and_what_came_of_it_is_a_test(line: str, name: str, seen: str) -> None:
    found = find_findings(line, TODAY)
    assert [(each.name, each.seen) for each in found.tests] == [(name, seen)]
    assert (found.rest, found.doubts, found.attempts) == ("", (), ())


@pytest.mark.parametrize("line", ["no fault found", "NFF", "couldn't reproduce", "tidied, nff"])
def test_that_nothing_was_found_is_asked_about(line: str) -> None:
    found = find_findings(line, TODAY)
    assert (found.tests, found.rest) == ((), line)
    assert found.doubts


@pytest.mark.parametrize(
    ("line", "label"),
    [
        ("software update 2h, shifts fine", "reprogrammed software"),
        ("oil change, no change", "replaced oil"),
        ("rear disc 18 mm, replaced", "replaced disc"),
        ("noise = exhaust bracket touching. bent it. no rattle", "adjusted exhaust bracket"),
        ("chg'd batt, tests ok", "charged batt"),
        ("clutch kit 189 + 6h, bites fine", "replaced clutch kit"),
    ],
)
def test_a_fix_may_be_told_by_a_noun_a_price_or_of_what_was_measured(line: str, label: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert attempt.label == label


@pytest.mark.parametrize("line", ["needs software update", "oil change due", "no reset"])
def test_work_only_spoken_of_is_no_fix(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


def test_a_charged_battery_that_starts_is_no_cure() -> None:
    (attempt,) = find_findings("charged battery, starts", TODAY).attempts
    assert attempt.cured is None


@given(st.sampled_from(["swapped ns/os sensor", "swopped coils 2-3", "swapped l/r caliper"]))
def test_parts_that_changed_sides_are_a_test(line: str) -> None:
    found = find_findings(f"{line}, fault moved", TODAY)
    assert (found.attempts, len(found.tests)) == ((), 1)


@given(st.dates(date(2020, 1, 1), date(2026, 11, 26)), st.booleans())
def test_another_reason_with_a_day_was_heard(day: date, iso: bool) -> None:
    told = day.isoformat() if iso else f"{day.day}.{day.month}.{day.year}"
    found = find_findings(f"other reason {told}", TODAY)
    assert found.attempts == ()
    assert [(each.outcome, each.on) for each in found.contacts] == [(Outcome.OTHER_REASON, day)]


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("seat plug cleaned, 2.3 ohm now", "seat plug 2.3 ohm after the fix"),
        ("latch fitted, 30mA now", "parasitic current 30mA after the fix"),
        ("disc 21.4/21.0 mm", "disc 21.0 mm"),
        ("a/c static 5.1. On: lo 1.4 hi 17", "a/c low side 1.4 bar"),
        ("Idle now 780", "idle 780 rpm after the fix"),
    ],
)
def test_a_value_without_item_or_unit_is_offered(line: str, offered: str) -> None:
    assert any(f"“{offered}”" in doubt.why for doubt in find_findings(line, TODAY).doubts)


@pytest.mark.parametrize("line", ["tyres ok", "replaced hose; mot ok", "tyres all 2.5 bar"])
def test_what_was_looked_at_on_the_job_was_not_heard_later(line: str) -> None:
    assert find_findings(line, TODAY).contacts == ()


@pytest.mark.parametrize(
    ("line", "label", "cured"),
    [
        ("HANDBRAKE 11 CLICKS. ADJUSTED. HOLDS ON HILL", "adjusted handbrake", True),
        ("run-out 0.06 mm rear disc, machined", "repaired disc", None),
        ("sensor plug was off. plugged in. all good", "reseated sensor plug", True),
        ("did rear pads+discs, noise still there", "replaced pads+discs", False),
        ("did plugs, no better", "replaced plugs", False),
        (
            "wheel bearing was noisy, I fitted a new one for 96, noise gone",
            "replaced wheel bearing",
            True,
        ),
        (
            "light out because the bulb holder was corroded, so I cleaned it and it works again",
            "cleaned bulb holder",
            True,
        ),
        ("new alternator 189.00; 14.3 V; lamp out", "replaced alternator", None),
        ("strap cleaned; drop now 0.1 V; misfire still there", "cleaned strap", False),
        ("Batterie 11,9 V, neue Batterie, startet wieder gut", "replaced batterie", True),
        ("Lambdasonde getauscht, Fehler kommt nicht wieder", "replaced lambdasonde", True),
        ("Bremse gereinigt, quietscht noch", "cleaned bremse", False),
        ("REGAS 450G. VENT 6C. 55 MIN", "refilled a/c", None),
        ("regen, fails at 60 %", "other regen", False),
        ("2x discs 2x pads 186.40, 95 min", "replaced discs and pads", None),
        ("1 hose 18.20, 30 min, free now", "replaced hose", True),
    ],
)
def test_the_part_is_what_was_just_spoken_of(line: str, label: str, cured: bool | None) -> None:
    told = [(attempt.label, attempt.cured) for attempt in find_findings(line, TODAY).attempts]
    assert told == [(label, cured)]


@pytest.mark.parametrize(
    "line",
    ["boost 1.1 bar. cleaned.", "did the plugs come out ok", "did coil swap", "did not do pads"],
)
def test_no_part_is_made_of_what_is_measured_or_asked(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


def test_software_behind_a_campaign_is_of_it() -> None:
    found = find_findings("campaign 22B1201 done, updated sw to 0143", date(2026, 3, 2))
    assert [attempt.component for attempt in found.attempts] == ["campaign 22b1201"]
    apart = find_findings("plug cleaned no change, updated sw", date(2026, 3, 2))
    assert [attempt.component for attempt in apart.attempts] == ["plug", "sw"]


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("replaced airbag, new from the maker, cured", "airbag"),
        ("new airbag from the maker, cured", "airbag"),
        ("squib connector: new one from the maker, cured", "squib connector"),
    ],
)
def test_the_maker_is_where_a_part_comes_from_and_no_part(line: str, part: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.action, attempt.component, attempt.cured) == (Action.REPLACED, part, True)


@given(
    st.sampled_from(["", " it", " the noise"]),
    st.integers(2, 40),
    st.sampled_from(["hours", "days", "weeks", "miles"]),
    st.booleans(),
)
def test_how_long_a_success_lasted_is_the_outcome_of_the_fix_before_it(
    what: str, count: int, unit: str, returned: bool
) -> None:
    back = ", came back 14.11." if returned else ""
    found = find_findings(f"reset adaptations, fixed{what} for {count} {unit}{back}", TODAY)
    assert [(each.label, each.cured, each.parts_cost) for each in found.attempts] == [
        ("cleared adaptations", False, None)
    ]


@pytest.mark.parametrize(
    ("line", "cured"),
    [
        ("adjusted switch, fixed for an hour", False),
        ("adjusted switch, cured for good", True),
        ("adjusted switch, fixed for now", None),
        ("adjusted switch, fixed for 3 weeks now", None),
    ],
)
def test_a_success_that_may_last_is_no_failure(line: str, cured: bool | None) -> None:
    assert [each.cured for each in find_findings(line, TODAY).attempts] == [cured]


@given(
    st.sampled_from(["Kabel {} getauscht", "câble {} remplacé", "kabel {} wymieniony"]),
    st.sampled_from(["noch nicht", "pas encore", "jeszcze nie", "not yet", "still not"]),
)
def test_what_is_not_yet_done_is_no_fix(form: str, denied: str) -> None:
    assert find_findings(form.format(denied), TODAY).attempts == ()


@pytest.mark.parametrize(
    "line",
    [
        *("cable still to be replaced", "pump yet to be replaced", "new cable not fitted yet"),
        *("new cable still to be fitted", "Kabel neu bestellt", "Kabel muss getauscht werden"),
    ],
)
def test_work_still_to_be_done_is_no_fix(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


@pytest.mark.parametrize(
    "line",
    ["Kabel getauscht, nicht besser", "câble remplacé mais pas mieux", "new cable not fixed"],
)
def test_a_denial_behind_a_fix_is_its_outcome(line: str) -> None:
    assert [each.cured for each in find_findings(line, TODAY).attempts] == [False]


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        (
            "tried a known good ECU no change, put the old one back",
            "tried a known good ECU",
            "no change, put the old one back",
        ),
        ("swapped in known good coil, no change", "swapped in known good coil", "no change"),
        ("tried a good relay no change", "tried a good relay", "no change"),
        ("tried a spare relay, no change", "tried a spare relay", "no change"),
    ],
)
def test_a_good_part_lent_to_see_what_changes_is_a_test(line: str, name: str, seen: str) -> None:
    found = find_findings(line, TODAY)
    assert [(each.name, each.seen) for each in found.tests] == [(name, seen)]
    assert found.attempts == ()


def test_a_good_part_that_is_fitted_is_a_fix() -> None:
    found = find_findings("fitted known good used pump, fixed", TODAY)
    assert [each.cured for each in found.attempts] == [True]


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
        *("new battery, not fitted yet", "new coil here, will fit tomorrow", "new mount arrived"),
        *("new battery bought, not on the car yet", "new stat, still to be fitted"),
        *("neue Batterie da", "new ecu, yet to be installed", "new hose, still in the box"),
    ],
)
def test_a_part_that_is_there_and_not_on_the_car_is_no_fix(line: str) -> None:
    found = find_findings(line, date(2026, 3, 2))
    kept = ", ".join(str(each.fact) for each in found.account.kept)
    assert (found.attempts, kept) == ((), line)


@pytest.mark.parametrize(
    "line",
    ["new coil here, fitted, runs well", "new stat delivered. fitted it, cured", "new coil, cured"],
)
def test_a_new_part_that_came_and_was_fitted_is_a_fix(line: str) -> None:
    assert [each.cured for each in find_findings(line, date(2026, 3, 2)).attempts] == [True]


@pytest.mark.parametrize("line", ["tried another sensor same", "tried a good coil, same fault"])
def test_a_part_tried_in_vain_shows_that_all_is_the_same(line: str) -> None:
    found = find_findings(line, date(2026, 3, 2))
    assert [test.seen.split()[0] for test in found.tests] == ["same"]
    assert (found.attempts, found.account.asked) == ((), ())


def test_a_new_part_told_only_as_when_a_value_was_measured_is_asked_about() -> None:
    found = find_findings("co 3.5 % before, 0.4 after new lambda", date(2026, 3, 2))
    assert [doubt.text for doubt in found.doubts] == ["new lambda"]
    line = "new hose, boost 1.1 bar with new hose"
    assert not find_findings(line, date(2026, 3, 2)).doubts


@pytest.mark.parametrize(
    "line", ["new bushes 90% sorted", "replaced bushes 95 % fixed, still some"]
)
def test_how_far_a_fix_helped_is_no_part_of_its_name_and_no_cure(line: str) -> None:
    """A cure in part is none (common practice, no source)."""
    (attempt,) = find_findings(line, today=date(2026, 3, 2)).attempts
    assert attempt.component == "bushes"
    assert attempt.cured is not True


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
    ("line", "name", "seen"),
    [
        ("coil swapped 1->3 misfire moved to 3", "coil swapped 1->3", "misfire moved to 3"),
        ("swapped plugs 1<->2, stays", "swapped plugs 1<->2", "stays"),
        ("injector swapped 2 -> 4, same", "injector swapped 2 -> 4", "same"),
        (
            "Zündspule 1 mit 3 getauscht, Fehler wandert",
            "Zündspule 1 mit 3 getauscht",
            "Fehler wandert",
        ),
    ],
)
def test_two_parts_that_changed_places_are_a_test(line: str, name: str, seen: str) -> None:
    found = find_findings(line, TODAY)  # common practice, no source
    assert [(each.name, each.seen) for each in found.tests] == [(name, seen)]
    assert not found.attempts


@pytest.mark.parametrize(
    ("line", "part", "side"),
    [
        ("replaced LF seat connector, cured", "seat connector", "LF"),
        ("cleaned plug at left rear door, cured", "plug at door", "left rear"),
        ("new pad rear left, quiet", "pad", "rear left"),
    ],
)
def test_the_side_of_a_fix_is_in_its_words_and_no_name_of_its_part(
    line: str, part: str, side: str
) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert attempt.component == part
    assert attempt.words is not None
    assert side in attempt.words


@pytest.mark.parametrize(
    ("line", "cured"),
    [
        ("replaced blower resistor and cleaned blower motor, cured", [None, None]),
        ("blower resistor replaced & motor cleaned, all ok now", [None, None]),
        ("cleaned plug and adjusted gap and replaced coil, cured", [None, None, None]),
        ("cleaned plug and then replaced coil, cured", [None, True]),
        ("cleaned plug, then replaced coil, cured", [None, True]),
        ("cleaned plug, no change, and replaced coil, cured", [False, True]),
        ("cleaned plug and replaced coil, not cured", [None, False]),
    ],
)
def test_one_cure_of_two_fixes_made_together_is_told_of_neither(
    line: str, cured: list[bool | None]
) -> None:
    found = find_findings(line, TODAY)
    assert [each.cured for each in found.attempts] == cured
    shared = "tells one cure for two fixes, so of neither"
    asked = any(doubt.why.startswith(shared) for doubt in found.doubts)
    assert asked is (True not in cured and False not in cured)


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("ECT unplugged: -40 °C", "-40 °C"),
        ("coolant sensor unplugged -40°C", "-40°C"),
        ("checked trims: -12 %", "-12 %"),
        ("unplugged ECT - -40 C", "-40 C"),
        ("unplugged MAF: - idle drops", "idle drops"),
    ],
)
def test_what_was_seen_keeps_its_sign(text: str, seen: str) -> None:
    assert [each.seen for each in find_findings(text, TODAY).tests] == [seen]


def test_a_value_taken_with_a_part_plugged_in_is_no_repair() -> None:
    found = find_findings("coolant sensor unplugged -40°C, plugged 23,5°C, shorted 140", TODAY)
    assert found.attempts == ()
    assert [each.seen for each in found.tests] == ["-40°C, plugged 23,5°C, shorted 140"]


@pytest.mark.parametrize(
    ("text", "label", "cured"),
    [
        ("changed alternator for nothing", "replaced alternator", False),
        ("replaced coil in vain", "replaced coil", False),
        ("changed alternator for nothing, cured", "replaced alternator", None),
        ("plugged connector back in, cured", "reseated connector", True),
        ("plug was off, plugged back in, cured", "reseated plug", True),
        ("new seat back fitted, cured", "replaced seat back", True),
    ],
)
def test_words_behind_a_part_are_none_of_its_name(
    text: str, label: str, cured: bool | None
) -> None:
    assert [(each.label, each.cured) for each in find_findings(text, TODAY).attempts] == [
        (label, cured)
    ]


@pytest.mark.parametrize(
    ("line", "label", "minutes", "cost"),
    [
        ("reinstalled carrier bearing, 95min", "reseated carrier bearing", 95, None),
        ("re-mounted the coil, 20 min", "reseated coil", 20, None),
        (
            "reinstalled carrier bearing with new shims and now quiet on 20 km drive, 95min, 41,20",
            "reseated carrier bearing",
            95,
            41.2,
        ),
    ],
)
def test_what_was_put_back_is_a_fix_with_its_own_time(
    line: str, label: str, minutes: int, cost: float | None
) -> None:
    (fix,) = find_findings(line, TODAY).attempts
    assert (fix.label, fix.minutes, fix.parts_cost) == (label, minutes, cost)


@pytest.mark.parametrize("deed", ["reworked carrier bearing", "then fettled the bracket"])
def test_the_time_of_a_deed_that_is_not_understood_is_no_time_of_an_earlier_fix(deed: str) -> None:
    found = find_findings(f"{deed}, 95 min, cured", TODAY)
    assert (found.attempts, found.later) == ((), None)
    assert "95 min" in [lift.fact for lift in found.account.kept]


def test_a_time_by_itself_is_still_of_the_earlier_fix() -> None:
    later = find_findings("that took 95 min", TODAY).later
    assert later is not None
    assert later.minutes == 95


def test_a_part_replaced_as_well_shares_its_cure_with_the_one_before() -> None:
    found = find_findings("blown fuse 15A replaced, replaced pump too, all good", TODAY)
    told = [(each.label, each.cured) for each in found.attempts]
    assert told == [("replaced fuse", None), ("replaced pump", None)]
    assert any("one cure for two fixes" in each.why for each in found.doubts)


@pytest.mark.parametrize(
    "plan", ["next try arm bush", "then check the coil", "next need a new rack", "next change coil"]
)
def test_what_is_to_be_tried_next_is_no_fix(plan: str) -> None:
    found = find_findings(f"replaced NSF droplink, still knocks. {plan}", date(2026, 3, 2))
    assert [attempt.component for attempt in found.attempts] == ["droplink"]


@pytest.mark.parametrize("part", ["orig", "original", "the old one"])
def test_the_old_part_put_back_is_no_fix(part: str) -> None:
    found = find_findings(f"swapped ecu, same. refitted {part}.", date(2026, 3, 2))
    assert [attempt.component for attempt in found.attempts] == ["ecu"]


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("replaced hose and clamp, fixed", "replaced hose and clamp"),
        ("replaced hose, clamp, fixed", "replaced hose, clamp"),
        ("replaced hose plus clamp, fixed", "replaced hose and clamp"),
        ("replaced hose incl. clamp, fixed", "replaced hose and clamp"),
        ("replaced hose and both clamps front left, fixed", "replaced hose and clamps"),
        ("fitted new pump, sprocket and circlip, fixed", "replaced pump, sprocket and circlip"),
        ("tightened earth strap and stud, cured", "tightened earth strap and stud"),
        ("neue Pumpe und Dichtung, Fehler weg", "replaced pumpe und dichtung"),
        ("remplacé durite et collier, réparé", "replaced durite et collier"),
        ("wymieniona pompa i opaska, działa", "replaced pompa i opaska"),
    ],
)
def test_every_part_of_a_list_behind_a_deed_is_in_the_fix(line: str, fix: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.label, attempt.cured) == (fix, True)
    assert parse_attempt(line).label == fix


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("neue Pumpe und läuft wieder", "replaced pumpe"),
        ("neue Pumpe und Motor läuft ruhig", "replaced pumpe"),
        ("nouvelle pompe et la voiture démarre", "replaced pompe"),
        ("wymieniona pompa i silnik pracuje równo", "replaced pompa"),
        ("replaced relay and pump works", "replaced relay"),
        ("replaced plugs and ran well", "replaced plugs"),
    ],
)
def test_what_a_part_does_is_no_part_of_a_list(line: str, fix: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert attempt.label == fix


@pytest.mark.parametrize(
    ("line", "kept"),
    [
        ("replaced hose and gubbins, fixed", "gubbins"),
        ("replaced hose, gubbins, fixed", "gubbins"),
        ("replaced hose (and clamp), fixed", "clamp"),
        ("replaced pads and wear indicator, cured", "wear indicator"),
        ("fitted pump with flange kit thing, cured", "flange kit thing"),
    ],
)
def test_what_may_be_a_part_of_a_list_and_is_not_read_is_named_as_kept(
    line: str, kept: str
) -> None:
    found = find_findings(line, TODAY)
    assert found.attempts
    assert kept in [lift.fact for lift in found.account.kept]


@pytest.mark.parametrize(
    "line",
    [
        "ça change rien",
        "ca change rien du tout",
        "cela n'a rien changé",
        "le bruit change avec la vitesse",
        "his mate reckons the new sensor sorted it",
        "her dad believes the fuse was changed",
        "wife thought the battery was replaced",
        "sein Kumpel meint der neue Sensor hat geholfen",
        "der Nachbar glaubt die Pumpe wurde getauscht",
        "son pote pense que le capteur neuf a réglé ça",
        "kolega twierdzi że nowy czujnik pomógł",
        "new noise from rear",
        "the noise changed",
        "new customer, wants quote",
        "updated customer, happy",
        "changed his mind",
        "charged him 80 for it",
        "lifted the carpet and dried it, cured",
    ],
)
def test_no_fix_is_made_of_what_can_be_no_part(line: str) -> None:
    found = find_findings(line, TODAY)
    assert not found.attempts
    assert found.account.kept or found.account.asked


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("loosened the injector line at idle and bled it, cured", "refilled injector line"),
        ("pulled the pump and cleaned it, cured", "cleaned pump"),
        ("took the pump out and cleaned it, cured", "cleaned pump"),
    ],
)
def test_a_deed_to_it_is_done_to_what_was_got_at_before(line: str, fix: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.label, attempt.cured) == (fix, True)


@pytest.mark.parametrize(
    "line",
    [
        "changé la pompe, ça ne change rien",
        "bobine changée, ça change rien",
        "bobine changée, rien de changé",
        "Pumpe getauscht, das ändert nichts",
        "Pumpe getauscht, hat nichts geändert",
        "pompa wymieniona, to nic nie zmienia",
        "pompa wymieniona, nic się nie zmieniło",
    ],
)
def test_a_fix_that_changes_nothing_did_not_cure(line: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert attempt.cured is False


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


@pytest.mark.parametrize("count", ["1x ", "2x ", "2 x ", "3 × ", "2 "])
@pytest.mark.parametrize("part", ["hose", "disc set", "drop links"])
def test_a_cure_behind_a_list_of_parts_is_not_the_last_deeds(count: str, part: str) -> None:
    found = find_findings(f"parts: {count}{part}, cleaned throttle; fault gone", date(2026, 3, 1))
    assert [(each.label, each.cured) for each in found.attempts] == [("cleaned throttle", None)]
    assert found.attempts[0].parts_cost is None
    assert any("names parts and tells one outcome" in doubt.why for doubt in found.doubts)


@pytest.mark.parametrize("line", ["parts 2 x relay; no better", "parts: 1x hose; quiet now"])
def test_an_outcome_behind_a_list_of_parts_is_not_of_an_earlier_fix(line: str) -> None:
    found = find_findings(line, date(2026, 3, 1))
    assert found.later is None or found.later.verdict is None


def test_a_part_counted_is_fitted_for_its_price() -> None:
    (attempt,) = find_findings("parts: 1x thermostat €22,50; fixed", date(2026, 3, 1)).attempts
    assert (attempt.label, attempt.parts_cost) == ("replaced thermostat", 22.5)


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("RR caliper rebuilt, pedal firm now", "repaired caliper"),
        ("rebuilt RR caliper, pedal firm", "repaired caliper"),
        ("alternator overhauled, fixed", "repaired alternator"),
        ("turbo refurbished, fixed", "repaired turbo"),
        ("fitted rebuilt caliper RR, ok", "replaced rebuilt caliper"),
    ],
)
def test_a_part_rebuilt_is_repaired_and_no_other_part_is_fitted(line: str, fix: str) -> None:
    assert [each.label for each in find_findings(line, date(2026, 3, 1)).attempts] == [fix]


@pytest.mark.parametrize("said", ["no chg", "no chng", "no diff", "no change"])
def test_no_change_cut_short_is_no_cure(said: str) -> None:
    (attempt,) = find_findings(f"swapped MAF from other car {said}", date(2026, 3, 1)).attempts
    assert attempt.cured is False


@pytest.mark.parametrize(
    ("line", "action", "part"),
    [
        ("new ECU plugged in, ok", Action.REPLACED, "ecu"),
        ("new pump bolted in, runs", Action.REPLACED, "pump"),
        ("plugged in new ECU", Action.REPLACED, "ecu"),
        ("ran new feed to pump", Action.REPLACED, "feed to pump"),
        ("dann Filter ersetzt", Action.REPLACED, "filter"),
        ("puis filtre remplacé", Action.REPLACED, "filtre"),
        ("potem wymieniono filtr", Action.REPLACED, "filtr"),
        ("danach Sensor gereinigt", Action.CLEANED, "sensor"),
        ("nettoyé le papillon", Action.CLEANED, "papillon"),
        ("O/S/R caliper stripped and greased", Action.LUBRICATED, "caliper"),
        ("tested thermostat, doesnt open, changed it", Action.REPLACED, "thermostat"),
        ("drilled the tailgate gas strut, then re-gassed", Action.REFILLED, "tailgate gas strut"),
        ("re-gassed, cold now", Action.REFILLED, "a/c"),
        ("ecu flashed", Action.REPROGRAMMED, "ecu"),
        ("relay swopped, ok", Action.REPLACED, "relay"),
        ("Zündspule Zyl 2 getauscht", Action.REPLACED, "zündspule"),
        ("czujnik ABS lewy przód wymieniony", Action.REPLACED, "czujnik abs"),
    ],
)
def test_words_of_order_and_of_how_it_was_fitted_are_no_part(
    line: str, action: Action, part: str
) -> None:
    *_, attempt = find_findings(line, TODAY).attempts
    assert (attempt.action, attempt.component) == (action, part)


@pytest.mark.parametrize(
    "line", ["fuse 12 checked w test lamp, flashed", "feed checked with LED, flashed, relay ok"]
)
def test_a_lamp_that_flashed_programmed_nothing(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


@pytest.mark.parametrize(
    ("line", "fixes"),
    [
        (
            "balanced wheels, gone, then back after 300 km, bent rim found, replaced, gone 1000 km",
            [("wheels", False), ("rim", True)],
        ),
        ("smoke test found intake boot split, replaced, runs fine", [("intake boot", True)]),
        ("leak test: rear union wet, replaced, dry", [("union", True)]),
        ("wiggle test found broken wire, soldered, fixed", [("wire", True)]),
        ("load test found battery weak, fitted new one, starts fine now", [("battery", True)]),
        ("gas cap replaced, code came back next week", [("gas cap", False)]),
        (
            "coil 2 swapped to cyl 4, misfire followed, new coil fitted, misfire gone",
            [("coil", True)],
        ),
    ],
)
def test_work_behind_what_was_found_is_a_fix_of_its_own(
    line: str, fixes: list[tuple[str, bool | None]]
) -> None:
    found = find_findings(line, TODAY)
    assert [(each.component, each.cured) for each in found.attempts] == fixes


@pytest.mark.parametrize(
    "line",
    ["load test: 9.1 V at 200 A, replaced, 12.4 V", "cleaned throttle body, no change, replaced"],
)
def test_work_that_is_taken_into_what_stands_before_it_is_said(line: str) -> None:
    found = find_findings(line, TODAY)
    assert any("kept in" in doubt.why for doubt in found.doubts)


@pytest.mark.parametrize(
    "line",
    [
        "masse gereinigt, spannungsabfall vorher 0,8 V jetzt 0,05 V",
        "earth cleaned, drop was 0.8 V now 0.05 V",
        "oczyszczona masa, spadek wcześniej 0,8 V teraz 0,05 V",
    ],
)
def test_a_value_of_before_told_behind_a_fix_is_as_found(line: str) -> None:
    stages = {reading.value: reading.stage for reading in find_findings(line, TODAY).readings}
    assert stages == {0.8: Stage.AS_FOUND, 0.05: Stage.AFTER_FIX}


def test_what_came_down_behind_a_fix_was_as_found() -> None:
    found = find_findings("rebuilt caliper LR, drag 12 Nm down to 2 Nm", TODAY)
    assert [reading.stage for reading in found.readings][:1] == [Stage.AS_FOUND]


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("clutch 3 times adjusted", "clutch"),
        ("both discs on car machined", "discs"),
        ("injector in the ultrasonic cleaned", "injector"),
        ("Kupplung komplett ersetzt", "kupplung"),
    ],
)
def test_how_something_was_done_is_no_part(line: str, part: str) -> None:
    assert [attempt.component for attempt in find_findings(line, TODAY).attempts] == [part]


@pytest.mark.parametrize("line", ["bled twice, pedal hard", "hub done, torqued 180Nm, 2.2 h"])
def test_a_deed_without_a_part_is_asked_about(line: str) -> None:
    assert any("does not say what" in doubt.why for doubt in find_findings(line, TODAY).doubts)


def test_every_time_is_no_time_spent() -> None:
    found = find_findings("antenna ring changed, starts every time 20 tries", TODAY)
    assert found.attempts[0].minutes is None


@pytest.mark.parametrize("how", ["clipped", "hooked", "snapped", "slipped", "popped", "pushed"])
def test_what_was_off_and_is_put_back_on_is_reseated_and_the_value_behind_after_it(
    how: str,
) -> None:
    line = f"turbo boost -0.1 bar, wastegate rod was off, {how} back on, boost 0.9 bar"
    found = find_findings(line, date(2026, 11, 29))
    assert [(each.action, each.component) for each in found.attempts] == [
        (Action.RESEATED, "wastegate rod")
    ]
    assert [each.stage for each in found.readings] == [Stage.AS_FOUND, Stage.AFTER_FIX]


def test_a_flange_in_german_is_no_slip() -> None:
    found = find_findings("flansch gereinigt", date(2026, 11, 29))
    assert [each.component for each in found.attempts] == ["flansch"]
    assert not found.account.asked


@pytest.mark.parametrize(
    ("line", "action", "component"),
    [
        ("scuttle drain blown clear, carpets dried, hosed 10 min, dry", "cleaned", "scuttle drain"),
        ("rodded the sunroof drains", "cleaned", "sunroof drains"),
        ("new plug crimped, works", "replaced", "plug"),
        ("new sensor fitted and coded", "replaced", "sensor"),
        ("dried out the connector", "cleaned", "connector"),
    ],
)
def test_what_was_done_to_a_part_is_no_word_of_its_name(
    line: str, action: str, component: str
) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.action.value, attempt.component) == (action, component)


def test_what_a_leak_wetted_is_dried_and_not_mended() -> None:
    assert not find_findings("dried the carpets", TODAY).attempts


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("replaced pair front springs", ["springs"]),
        ("pair of front discs replaced, cured", ["discs"]),
        ("replaced all four tyres", ["tyres"]),
        ("replaced set of glow plugs", ["glow plugs"]),
        ("set of plugs replaced", ["plugs"]),
        ("both rr springs snapped. pair fitted 1h20", ["springs"]),
        ("tyres worn, all four replaced", ["tyres"]),
        ("ecm sw updated, cured", ["ecm"]),
        ("ign sw replaced", ["ign sw"]),
        ("brake fluid water in, replaced fluid", ["fluid"]),
        ("spare coil in", ["spare coil"]),
        ("replaced all four", []),
        ("replaced pair", []),
    ],
)
def test_a_count_or_a_version_is_no_part(line: str, parts: list[str]) -> None:
    attempts = find_findings(line, date(2026, 11, 26)).attempts
    assert [each.component for each in attempts] == parts


@pytest.mark.parametrize(
    ("line", "fix"),
    [
        ("équilibrage fait, plus de vibration", ("other équilibrage", True)),
        ("géométrie faite, ne tire plus", ("other géométrie", True)),
        ("nettoyage vanne EGR fait", ("other nettoyage vanne egr", None)),
        ("Räder gewuchtet, Vibration weg", ("adjusted räder", True)),
        ("Bremssättel geschmiert", ("lubricated bremssättel", None)),
        ("koła wyważone, drgania ustąpiły", ("adjusted koła", True)),
        ("hamulce odpowietrzone", ("refilled hamulce", None)),
    ],
)
def test_deeds_told_in_other_tongues(line: str, fix: tuple[str, bool | None]) -> None:
    (attempt,) = find_findings(line, date(2026, 11, 26)).attempts
    assert (attempt.label, attempt.cured) == fix


def test_a_trouble_that_is_settled_is_no_deed() -> None:
    for line in ("c'est réglé", "problème réglé"):
        assert not find_findings(line, date(2026, 11, 26)).attempts


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


@pytest.mark.parametrize(
    ("line", "label"),
    [
        ("battery lead off, 15 min wait, airbag out, new one fitted", "replaced airbag"),
        ("bumper off, radiator out, new one in", "replaced radiator"),
        ("pulled pump and fitted new one", "replaced pump"),
        ("took the pump out and fitted a new one", "replaced pump"),
        ("latch stuck, found coin in buckle, removed it", "removed coin"),
        ("found leaves in drain, removed them", "removed leaves"),
        ("found corrosion in plug, cleaned it", "cleaned plug"),
    ],
)
def test_it_is_what_was_told_last(line: str, label: str) -> None:
    """Common practice, no source."""
    assert [each.label for each in find_findings(line, TODAY).attempts] == [label]


def test_new_wires_laid_are_no_part_of_that_name() -> None:
    assert find_findings("cable trapped in the rail, routed new and clipped", TODAY).attempts == ()
