"""Whole lines as they are typed in a workshop. How people write is common practice, no source."""

from datetime import date

import pytest

from kb.case import Action, Outcome
from kb.intake.findings import find_findings
from kb.intake.reading_search import find_readings

TODAY = date(2026, 11, 28)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("LTFT +18,5% idle +4% 2500rpm", [("+18,5%", "idle"), ("+4%", "2500rpm")]),
        ("LTFT idle +18,5% 2500 rpm +4%", [("+18,5%", "idle"), ("+4%", "2500 rpm")]),
        ("LTFT 2500rpm +4% idle +18%", [("+4%", "2500rpm"), ("+18%", "idle")]),
        ("charging 14.2V 2000 rpm lights on", [("14.2V", "2000 rpm, lights on")]),
        ("feed 3.9V door open", [("3.9V", "door open")]),
        ("feed 3.9V door open, 11.8V door shut", [("3.9V", "door open"), ("11.8V", "door shut")]),
        ("feed 12.1 V ignition on 0.2 V ignition off",
         [("12.1 V", "ignition on"), ("0.2 V", "ignition off")]),
        ("feed 4.1V key on engine off", [("4.1V", "key on engine off")]),
        ("feed 11.9V loaded", [("11.9V", "loaded")]),
        ("feed 12.3 V plug off 9.1 V plug on", [("12.3 V", "plug off"), ("9.1 V", "plug on")]),
        ("seat mat feed 4.8 V seat occupied", [("4.8 V", "seat occupied")]),
        ("cranks at 8.2v 160rpm", [("8.2v", "cranking"), ("160rpm", None)]),
        ("timing 18° bei 3000", [("18°", "3000")]),
        ("timing 10° bei 900", [("10°", "900")]),
        ("timing 18° bei 3000/min", [("18°", "3000 rpm")]),
        ("timing 8° idle, 32° at 3500, -2 degrees cold",
         [("8°", "idle"), ("32°", "3500"), ("-2 degrees", "cold")]),
        ("Zündzeitpunkt 10° v.OT im Leerlauf", [("10° v.OT", "idle")]),
        ("zündung 10 Grad KW vor OT kalt", [("10 Grad KW vor OT", "cold")]),
        ("timing 10 degrees before TDC at idle", [("10 degrees before TDC", "idle")]),
        ("avance allumage 10 degrés au ralenti", [("10 degrés", "idle")]),
        ("kąt wyprzedzenia 18 stopni przy 3000", [("18 stopni", "3000")]),
        ("throttle 12 deg at idle", [("12 deg", "idle")]),
        ("starts badly at -2 degrees cold", []),
        ("Batterie 12,4 V Ruhe, 9,6 V beim Starten",
         [("12,4 V", "at rest"), ("9,6 V", "cranking")]),
        ("horn relay coil 85 ohm, contact 0.2 ohm", [("85 ohm", None), ("0.2 ohm", None)]),
        ("feed 12.1 V contact", [("12.1 V", "contact")]),
    ],
)  # fmt: skip
def test_each_value_keeps_the_state_told_beside_it(
    line: str, told: list[tuple[str, str | None]]
) -> None:
    readings = find_findings(line, TODAY).readings
    assert [(each.typed, each.condition) for each in readings] == told


@pytest.mark.parametrize("line", ["Kühlmittel 90 Grad", "coolant 92 deg hot"])
def test_degrees_of_something_warm_lack_their_scale(line: str) -> None:
    found = find_readings(line)
    assert not found.readings
    assert "°C" in found.doubtful[0].why


def test_a_lamp_that_is_on_is_what_is_complained_of() -> None:
    (reading,) = find_findings("wss LF OL, lamp on", TODAY).readings
    assert reading.condition is None


@pytest.mark.parametrize(
    ("line", "action", "component"),
    [
        ("chgd relay", Action.REPLACED, "relay"),
        ("chngd relay", Action.REPLACED, "relay"),
        ("chg'd relay", Action.REPLACED, "relay"),
        ("relay chgd", Action.REPLACED, "relay"),
        ("chgd battery", Action.CHARGED, "battery"),
        ("battery chgd", Action.CHARGED, "battery"),
        ("battery chngd", Action.REPLACED, "battery"),
        ("chrgd a/c", Action.CHARGED, "a/c"),
        ("repl'd pump", Action.REPLACED, "pump"),
        ("rplcd hose", Action.REPLACED, "hose"),
        ("hose rpld", Action.REPLACED, "hose"),
        ("clnd plug", Action.CLEANED, "plug"),
        ("tail lamp 90 min swapped", Action.REPLACED, "tail lamp"),
        ("45 min replaced fuse", Action.REPLACED, "fuse"),
        ("second try wire replaced", Action.REPLACED, "wire"),
        ("2nd attempt replaced fuse", Action.REPLACED, "fuse"),
        ("new pump 900 kr", Action.REPLACED, "pump"),
    ],
)
def test_what_was_done_in_few_letters(line: str, action: Action, component: str) -> None:
    (attempt,) = find_findings(line, TODAY).attempts
    assert (attempt.action, attempt.component) == (action, component)


@pytest.mark.parametrize(
    ("amount", "cost"),
    [
        ("55 zł", 55), ("€45", 45), ("1200 Kč", 1200), ("CHF 12", 12), ("900 kr", 900),
        ("12 500 Ft", 12500), ("38,50 PLN", 38.5),
    ],
)  # fmt: skip
def test_a_currency_is_kept_with_the_cost(amount: str, cost: float) -> None:
    (attempt,) = find_findings(f"replaced relay, cured, {amount}", TODAY).attempts
    assert (attempt.component, attempt.cured, attempt.parts_cost) == ("relay", True, cost)
    assert amount in (attempt.words or "")


@pytest.mark.parametrize("line", ["feed 03 V", "battery 012.4 V", "feed 03-05 V", "coil 02 ohm"])
def test_a_number_that_begins_with_a_nought_is_asked_about(line: str) -> None:
    found = find_findings(line, TODAY)
    assert not found.readings
    assert any("nought" in doubt.why for doubt in found.doubts)


def test_a_time_in_front_of_the_work_is_how_long_it_took() -> None:
    (attempt,) = find_findings("tail lamp 90 min swapped, cured", TODAY).attempts
    assert (attempt.minutes, attempt.cured) == (90, True)


@pytest.mark.parametrize("line", ["held at 91000 km", "held 91000 km", "held, 91,000 km"])
def test_a_fix_that_held_at_a_distance_held(line: str) -> None:
    (contact,) = find_findings(line, TODAY).contacts
    assert (contact.outcome, contact.odometer_km) == (Outcome.HELD, 91000)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("coil 9.4k sec", [("coil sec", None, None, 9400.0)]),
        ("coil 0.5 ohm primary", [("coil primary", None, None, 0.5)]),
        (
            "hp 38 bar rail, hp 12 bar ac",
            [("rail hp", None, None, 38e5), ("ac hp", None, None, 12e5)],
        ),
        ("battery 12.3 V engin off", [("battery", None, "engin off", 12.3)]),
        (
            "pretensioner kalt links 2.3 ohm, warm rechts 2.9 ohm",
            [("pretensioner", "left", "cold", 2.3), ("pretensioner", "right", "warm", 2.9)],
        ),
        ("pretensioner cold left 2.3 ohm", [("pretensioner", "left", "cold", 2.3)]),
        (
            "battery 12.6 V, after 0:45 11.9 V",
            [("battery", None, None, 12.6), ("battery", None, "after 0:45", 11.9)],
        ),
        (
            "buckle 1.2 kohm belt latched, 0.4 kohm unlatched",
            [("buckle", None, "belt latched", 1200.0), ("buckle", None, "unlatched", 400.0)],
        ),
        ("feed 11.9 V horn pressed", [("feed", None, "horn pressed", 11.9)]),
        ("Ruhestrom kleiner 50mA", [("ruhestrom", None, None, 0.05)]),
        ("12 V rail ok", []),
    ],
)
def test_states_and_neighbours_tell_what_was_measured(
    line: str, told: list[tuple[str, str | None, str | None, float]]
) -> None:
    """Common practice, no source."""
    found = find_readings(line)
    got = [(each.item, each.position, each.condition) for each in found.readings]
    assert got == [each[:3] for each in told]
    assert [each.value for each in found.readings] == pytest.approx([each[3] for each in told])
