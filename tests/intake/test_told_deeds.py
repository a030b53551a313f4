"""What was done to which part, however it is told. Common practice, no source."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Stage
from kb.intake.findings import find_findings

TODAY = date(2026, 3, 2)


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


def test_parts_with_their_price_and_the_time_of_the_work_were_fitted() -> None:
    (fix,) = find_findings("water pump & belt kit 214,00 EUR 3,5 h", TODAY).attempts
    assert (fix.component, fix.parts_cost, fix.minutes) == ("water pump & belt kit", 214, 210)
    assert not find_findings("water pump & belt kit 214,00 EUR", TODAY).attempts


@given(
    st.sampled_from(["thermostat", "wheel bearing", "ignition coil", "water pump"]),
    st.sampled_from(["came", "found worn", "leaking", "arrived"]),
    st.sampled_from(["fitted", "replaced", "renewed"]),
)
def test_a_bare_fix_is_of_the_part_told_before_it(part: str, how: str, done: str) -> None:
    (attempt,) = find_findings(f"{part} {how}, {done}", TODAY).attempts
    assert attempt.label == f"replaced {part}"


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


def test_a_value_taken_with_a_part_plugged_in_is_no_repair() -> None:
    found = find_findings("coolant sensor unplugged -40°C, plugged 23,5°C, shorted 140", TODAY)
    assert found.attempts == ()
    assert [each.seen for each in found.tests] == ["-40°C, plugged 23,5°C, shorted 140"]


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


def test_a_part_counted_is_fitted_for_its_price() -> None:
    (attempt,) = find_findings("parts: 1x thermostat €22,50; fixed", date(2026, 3, 1)).attempts
    assert (attempt.label, attempt.parts_cost) == ("replaced thermostat", 22.5)


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


@pytest.mark.parametrize("line", ["bled twice, pedal hard", "hub done, torqued 180Nm, 2.2 h"])
def test_a_deed_without_a_part_is_asked_about(line: str) -> None:
    assert any("does not say what" in doubt.why for doubt in find_findings(line, TODAY).doubts)


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


def test_what_a_leak_wetted_is_dried_and_not_mended() -> None:
    assert not find_findings("dried the carpets", TODAY).attempts


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


@pytest.mark.parametrize(
    "line",
    [
        "moved seat to and fro",
        "moved the seat forwards and back, value jumps",
        "moved loom up and down, lamp flickers",
        "moved the connector about, code came",
        "moved driver's seat through its full travel",
        "buckle switch live value changes when pushed",
        "buckle switch live value: changes when pushed",
        "seat switch changes when pressed",
        "rail pressure changes with revs",
    ],
)
def test_what_is_moved_to_try_or_changes_by_itself_is_no_fix(line: str) -> None:
    """Common practice, no source."""
    assert find_findings(line, TODAY).attempts == ()


@pytest.mark.parametrize(
    ("line", "label"),
    [
        ("moved harness away from the rail", "rerouted harness away from the rail"),
        ("moved aerial lead to other side", "rerouted aerial lead to other side"),
        ("buckle switch changed, cured", "replaced buckle switch"),
        ("filtres changés", "replaced filtres"),
    ],
)
def test_what_is_laid_anew_or_changed_is_one(line: str, label: str) -> None:
    assert [each.label for each in find_findings(line, TODAY).attempts] == [label]
