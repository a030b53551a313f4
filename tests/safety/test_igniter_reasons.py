"""Tests of the reason that is given for a dangerous step at an igniter, and what to do instead."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_lines import withheld_line
from kb.safety.igniter_reasons import NOT_PLAIN, fitting, instead_of, may_do
from kb.safety.igniter_screen import screen
from kb.safety.igniter_steps import dangerous_step

TOLD = tomllib.loads(Path(__file__).with_name("igniter_reasons.toml").read_text(encoding="utf-8"))
IN_TABLE = {
    "bring a body before a bag while its supply comes on": Reason.BEFORE,
    "power a restraint unit that is not bolted down": Reason.UNIT,
    "mend an igniter's wires by hand": Reason.WIRING,
    "spoil a belt by steam, oil or grease": Reason.CLEANED,
}
"""Steps that ``never.toml`` tells with their own reasons."""
OF_CURRENT = {Reason.METER, Reason.POWER, Reason.BRIDGE, Reason.VALUE}


@pytest.mark.parametrize("name", TOLD)
def test_the_reason_is_the_one_that_fits(name: str) -> None:
    assert TOLD[name]
    assert [line for line in TOLD[name] if not is_told_with(Reason[name.upper()], line)] == []


def is_told_with(reason: Reason, line: str) -> bool:
    verdict = judged(line, igniter_job=True)
    step = dangerous_step(line, igniter_job=True, alike=True)
    if not isinstance(verdict, Withheld) or step is None:
        return False
    if verdict.never is not None:
        return IN_TABLE[verdict.never.may] is reason
    told = may_do(reason) in screen(line, restraint=True)
    return (step.reason, step.instead, told) == (reason, instead_of(reason), True)


@pytest.mark.parametrize("reason", list(Reason))
def test_only_current_is_answered_by_a_live_value(reason: Reason) -> None:
    answered = instead_of(reason).startswith("Read the live value")
    assert answered is (reason in OF_CURRENT | {Reason.NEVER})
    current = "meter, lamp or voltage" in may_do(reason)
    assert current is (reason in OF_CURRENT | NOT_PLAIN | {Reason.NEVER})


@pytest.mark.parametrize("told", ["drilled", "face down", "sprayed", "hammered", "soaked"])
def test_a_meter_stays_a_meter_whatever_else_is_told(told: str) -> None:
    words = ["bag", *told.split()]
    assert fitting(Reason.METER, words, ["wire"]) is not Reason.METER
    assert fitting(Reason.METER, [*words, "and", "metered"], ["metered"]) is Reason.METER


@given(st.sampled_from(list(Reason)), st.lists(st.text(max_size=8).filter(str.strip), max_size=8))
def test_a_reason_is_given_for_any_words(reason: Reason, words: list[str]) -> None:
    assert withheld_line(reason=fitting(reason, words, words)).startswith("[not shown")


@given(st.sampled_from(list(Reason)), st.none() | st.integers(min_value=1))
def test_the_line_for_hidden_words_is_shown_itself(reason: Reason, job: int | None) -> None:
    line = withheld_line(job, reason)
    assert judged(line, igniter_job=True) == Shown()
    assert screen(line, restraint=True, job=job) == line


@pytest.mark.parametrize(
    "line",
    [
        "squibmeter on the passenger bag, ok",
        "squib-tester on the driver bag, passed",
        "squib-o-meter on it, 2.3",
        "airbagmeter on the seat plug",
        "bagmeter reads 2.0",
        "ohmtester on the bag pins",
        "ignitertester shows 2.2",
        "loopmeter on the curtain bag",
        "airbagchecker on driver bag",
        "airbagprobe in the plug",
        "tensionertester passed it",
        "Zündpillenprüfer am Airbag, ok",
        "Airbagprüfgerät angeschlossen, 2,1",
        "Airbagmessgerät am Stecker",
    ],
)
def test_what_measures_an_igniter_by_its_name_is_a_meter(line: str) -> None:
    step = dangerous_step(line, igniter_job=True)
    assert step is not None
    assert step.reason is Reason.METER


@pytest.mark.parametrize("line", ["ohmmeter on the fuel pump", "thermometer in the vent"])
def test_other_instruments_are_no_meters_on_an_igniter(line: str) -> None:
    assert dangerous_step(line, igniter_job=False) is None


@pytest.mark.parametrize(
    "line",
    [
        "new clock spring fitted and centred, lamp out",
        "taped the clock spring so it stays centred",
        "locked the clock spring with tape in centre position before removal",
        "used the supplied tape to hold new clock spring centred",
        "clock spring tape removed after fitting",
        "clock spring found taped by somebody, replaced",
        "second hand clock spring refused, new one fitted and centred",
        "clock spring not centred, broke at full lock, new one fitted",
        "the new spring came untaped and uncentred so it was sent back",
        "repaired clock spring",
        "clock spring plug cleaned",
        "wheel locked straight, battery off, clockspring taped",
        "Wickelfeder neu, Lenkrad gerade, Fehler weg",
    ],
)
def test_a_sound_clock_spring_is_shown(line: str) -> None:
    assert judged(line, igniter_job=True) == Shown()


@pytest.mark.parametrize(
    "line",
    [
        "battery back on, ign on, code still there",
        "refitted bag, battery on, ign on, lamp out",
        "battery reconnected, key on, code gone",
        "neg lead back on, ign on, same two codes",
        "batt on, ign on, fault still stored",
        "Batterie wieder dran, Zündung an, Fehler noch da",
        "batterie rebranchée, contact mis, défaut toujours là",
        "continuity of ground strap at srs module, battery off",
        "volt drop earth strap to airbag module 12 mV",
        "12v at srs module feed fuse with bags unplugged",
        "bag on the seat, test lamp on window fuse ok",
        "bag on the bench, meter on horn switch 0.3 ohm",
        "bag in the box, multimeter on the wiper motor feed 12v",
        "seat bag unplugged, ohmed seat heater mat 3.1",
        "tensioner on the shelf, multimeter on the seat motor",
        "read loop resistance on the scanner 5.8 ohm, spec 1.5-3.5",
        "scanner reads pretensioner 0.9 ohm, min 1.4 max 3.0",
        "live data 0.8 ohm, min 1.4",
        "valeur lue à la valise 5,8 ohm, norme 1,5-3,5",
        "belt wet from jet wash, dried, lamp not on",
    ],
)
def test_what_is_done_beside_an_igniter_is_shown(line: str) -> None:
    assert judged(line, igniter_job=True) == Shown()


@pytest.mark.parametrize(
    "line",
    [
        "bag on the seat, test lamp on plug lit",
        "bag on the seat, meter on its plug 2.2",
        "bag on the bench, 9v battery on it",
        "bag out, test lamp on the connector",
        "had the bag on my knees while I plugged it",
        "wheel bag put cushion side down under the wheel on the trolley so it cant roll off",
        "battery back on, ign on, pulled the bag",
        "battery on, ign on, bag plugged in",
        "sat in it, battery back on, ign on, code still there",
        "battery never off, ign on, code there, bag out",
        "continuity of bag wires at srs module, battery off",
        "continuity from srs module to bag",
        "test lamp from earth at srs module to squib",
        "2.2 ohm at srs module plug with bags plugged",
    ],
)
def test_what_is_done_to_it_is_named_all_the_same(line: str) -> None:
    assert dangerous_step(line, igniter_job=True, alike=True) is not None
