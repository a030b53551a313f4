"""A line parted into what it tells, and of which fix its outcome is. Common practice, no source."""

import json
import re
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Outcome, Stage
from kb.intake.codes import find_codes
from kb.intake.findings import find_findings, find_work

TODAY = date(2026, 3, 2)


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


@given(st.integers(1, 900), st.sampled_from(["mA", "V", "bar", "°C"]))
def test_a_measured_value_beside_it_hides_no_outcome(value: int, unit: str) -> None:
    found = find_findings(f"replaced hose, drain {value} {unit}, fault gone", TODAY)
    assert [each.cured for each in found.attempts] == [True]
    found = find_findings(f"replaced hose, drain {value} {unit}, fault remains", TODAY)
    assert [each.cured for each in found.attempts] == [False]


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


def test_a_charged_battery_that_starts_is_no_cure() -> None:
    (attempt,) = find_findings("charged battery, starts", TODAY).attempts
    assert attempt.cured is None


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


@pytest.mark.parametrize("said", ["no chg", "no chng", "no diff", "no change"])
def test_no_change_cut_short_is_no_cure(said: str) -> None:
    (attempt,) = find_findings(f"swapped MAF from other car {said}", date(2026, 3, 1)).attempts
    assert attempt.cured is False


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


def test_every_time_is_no_time_spent() -> None:
    found = find_findings("antenna ring changed, starts every time 20 tries", TODAY)
    assert found.attempts[0].minutes is None


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("plugged in seat connector, reconnected battery, code gone",
         [("reseated seat connector", True)]),
        ("disconnected battery, waited 10 min, cleaned seat connector, no change",
         [("cleaned seat connector", False)]),
        ("removed airbag, replaced clock spring, refitted airbag, cured",
         [("replaced clock spring", True)]),
        ("battery reconnected from outside", []),
        ("reconnected battery earth lead, cured", [("reseated battery earth lead", True)]),
        ("replaced battery, cured", [("replaced battery", True)]),
        ("battery negative off and insulated, 5 min wait", []),
        ("battery lead repaired, cured", [("repaired battery lead", True)]),
    ],
)  # fmt: skip
def test_the_supply_taken_off_and_put_back_is_no_fix(
    line: str, told: list[tuple[str, bool]]
) -> None:
    found = find_findings(line, TODAY)
    assert [(each.label, each.cured) for each in found.attempts] == told


@pytest.mark.parametrize(
    ("line", "cured"),
    [
        ("replaced clock spring with maker's kit, cured", True),
        ("replaced clock spring with the maker's kit, lamp off after self test, cured", True),
        ("replaced clock spring, cured, lamp off after self test", True),
        ("replaced pads with new shims, cured", True),
        ("replaced pads with new shims, still squeals", False),
        ("cleaned terminals with new battery, cured", None),
    ],
)
def test_what_was_fitted_with_takes_no_cure_unless_it_may_have_cured(
    line: str, cured: bool | None
) -> None:
    assert [each.cured for each in find_findings(line, TODAY).attempts] == [cured]
