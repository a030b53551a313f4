"""What proves a repair: asked for by what the job is on, and never made up."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given

from kb.case import (
    Action,
    Attempt,
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    Proof,
    Quantity,
    Reading,
    SaidAt,
    Stage,
    System,
    TroubleCode,
    Vehicle,
)
from kb.intake.readings import parse_reading
from kb.intake.wording import Wording
from kb.settings import ReadingSettings
from kb.troubleshooting.proof import proofs, usual_checks
from tests.strategies import jobs

WORDING = Wording.default()
CLEANED = Attempt(action=Action.CLEANED, component="seat connector", cured=True)


def squib(value: float, side: str, stage: Stage, good: bool | None) -> Reading:
    return Reading(
        item="pretensioner",
        quantity=Quantity.RESISTANCE,
        typed=f"{value} ohm",
        value=value,
        position=side,
        stage=stage,
        proved_good=good,
    )


JOB = Job(
    vehicle=Vehicle(),
    opened=date(2026, 3, 2),
    complaint="airbag lamp on",
    system=System.RESTRAINTS,
    codes=(TroubleCode(code="B1203"),),
    readings=(
        squib(12.7, "left front", Stage.AS_FOUND, False),
        squib(2.3, "right front", Stage.AS_FOUND, True),
    ),
    cause=Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE),
    attempts=(CLEANED,),
)


def shown(job: Job) -> dict[Proof, str | None]:
    return {line.proof: line.shown for line in proofs(job, WORDING, ReadingSettings())}


def test_a_restraint_job_asks_for_its_proofs_in_order() -> None:
    # the self-test is read before the code is cleared (common practice, no source)
    assert list(shown(JOB)) == [
        Proof.IN_BAND,
        Proof.LIKE_TWIN,
        Proof.SELF_TEST,
        Proof.CODE_GONE,
        Proof.TERMINALS,
    ]
    assert set(shown(JOB).values()) == {None}


def test_readings_after_the_fix_show_what_they_show() -> None:
    back = replace(JOB, readings=(*JOB.readings, squib(2.4, "left front", Stage.AFTER_FIX, True)))
    assert shown(back)[Proof.IN_BAND] == "pretensioner, left front 2.4 ohm"
    assert shown(back)[Proof.LIKE_TWIN] == "pretensioner, left front 2.4 ohm, right front 2.3 ohm"
    off = replace(JOB, readings=(*JOB.readings, squib(4.1, "left front", Stage.AFTER_FIX, None)))
    assert shown(off)[Proof.IN_BAND] is None
    assert shown(off)[Proof.LIKE_TWIN] is None


def test_what_was_told_is_shown_and_the_rest_is_missing() -> None:
    told = replace(JOB, attempts=(replace(CLEANED, proofs=(Proof.SELF_TEST, Proof.DRIVEN)),))
    assert shown(told)[Proof.SELF_TEST] == "told"
    assert shown(told)[Proof.DRIVEN] == "told"  # not asked for, but worth keeping
    assert shown(told)[Proof.CODE_GONE] is None


@pytest.mark.parametrize(
    ("system", "asked"),
    [
        (System.COOLING, {Proof.DRIVEN}),
        (System.BRAKES_WHEEL_SPEED, {Proof.SELF_TEST, Proof.DRIVEN}),
        (System.RESTRAINTS, {Proof.SELF_TEST}),
        (System.OTHER, set()),
    ],
)
def test_each_system_asks_for_its_own(system: System, asked: set[Proof]) -> None:
    bare = Job(vehicle=Vehicle(), opened=JOB.opened, complaint="x", system=system)
    assert set(shown(bare)) == asked


@given(jobs())
def test_nothing_is_shown_that_nobody_told_or_read(job: Job) -> None:
    told = job.attempts[-1].proofs if job.attempts else ()
    for proof, by in shown(job).items():
        if proof not in (Proof.IN_BAND, Proof.LIKE_TWIN):
            assert (by == "told") == (proof in told)
        elif by is not None and by != "told":
            assert any(reading.stage is Stage.AFTER_FIX for reading in job.readings)


def test_a_road_test_told_with_the_fix_is_not_asked_for_again() -> None:
    words = "replaced droplink, knock gone, road test ok"
    fix = Attempt(action=Action.REPLACED, component="droplink", cured=True, words=words)
    job = replace(JOB, system=System.STEERING_SUSPENSION, readings=(), codes=(), attempts=(fix,))
    assert shown(job)[Proof.DRIVEN] == "told"
    in_vain = replace(job, attempts=(replace(fix, cured=False),))
    assert shown(in_vain)[Proof.DRIVEN] is None


@pytest.mark.parametrize(("seen", "is_shown"), [("all good", True), ("still knocks", False)])
def test_a_road_test_behind_the_fix_is_not_asked_for_again(seen: str, is_shown: bool) -> None:
    at = SaidAt(entry=1, start=0, end=5)
    fix = Attempt(action=Action.REPLACED, component="droplink", cured=True, said=at)
    test = DiagnosticTest(name="road tested 20 km", seen=seen, said=replace(at, entry=2))
    job = replace(JOB, system=System.STEERING_SUSPENSION, tests=(test,), attempts=(fix,))
    assert (shown(job)[Proof.DRIVEN] is not None) is is_shown
    before = replace(job, tests=(replace(test, said=replace(at, entry=0)),))
    assert shown(before)[Proof.DRIVEN] is None


@pytest.mark.parametrize(
    ("proved_by", "shown"),
    [
        ("voltage drop engine to battery negative 0.1 V cranking, cranks fast", True),
        ("earth strap volt drop now 0.15 V cranking", True),
        ("voltage drop engine to battery negative 0.9 V cranking", False),
        ("battery 12.6 V at rest", False),
        ("cranks fast", False),
        (None, False),
    ],
)
def test_a_reading_told_as_the_proof_counts_if_the_limit_passes_it(
    proved_by: str | None, shown: bool
) -> None:
    found = parse_reading("voltage drop engine to battery negative 1.3 V cranking")
    job = replace(JOB, system=System.CHARGING_STARTING, codes=(), readings=(found,))
    told = proofs(replace(job, proved_by=proved_by), WORDING, ReadingSettings())
    in_band = next(line for line in told if line.proof is Proof.IN_BAND)
    assert bool(in_band.shown) is shown


@pytest.mark.parametrize(
    ("complaint", "component", "proved_by", "again"),
    [
        (
            "petrol smell, fuel on the ground under the engine",
            "filler cap",
            None,
            "fuel leak search",
        ),
        ("petrol smell, fuel on the ground", "filler cap", "leak search: dry all along", ""),
        ("loses coolant", "radiator", None, "pressure test"),
        ("a/c not cold", "condenser", "road test", "leak test"),
        ("wet carpet after rain", "door membrane", None, "water test"),
        ("door lock dead", "door harness", None, ""),
    ],
)
def test_what_a_mended_leak_is_proved_by_is_asked_for_before_a_road_test(
    complaint: str, component: str, proved_by: str | None, again: str
) -> None:
    """Common practice, no source."""
    fix = Attempt(action=Action.REPLACED, component=component, cured=True)
    job = Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint=complaint,
        proved_by=proved_by,
        attempts=(fix,),
    )
    assert [each.partition(" again")[0] for each in usual_checks(job, WORDING)] == [
        each for each in (again,) if each
    ]


def drop(value: float, stage: Stage, condition: str | None = "cranking", **more: object) -> Reading:
    told: dict[str, Any] = {"item": "voltage drop earth strap", **more}
    return Reading(
        quantity=Quantity.VOLTAGE,
        typed=f"{value} V",
        value=value,
        condition=condition,
        stage=stage,
        **told,
    )


@pytest.mark.parametrize(
    ("after", "is_shown"),
    [
        ([drop(0.12, Stage.AFTER_FIX)], True),
        ([drop(0.12, Stage.AFTER_FIX, "cranking, hot")], True),
        ([drop(0.12, Stage.AFTER_FIX, None)], True),
        ([drop(0.12, Stage.AFTER_FIX, item="earth strap voltage drop")], True),
        ([drop(0.12, Stage.AFTER_FIX, "engine off")], False),
        ([drop(0.12, Stage.AFTER_FIX, "idle")], False),
        ([drop(0.12, Stage.AFTER_FIX, item="voltage drop starter cable")], False),
        ([drop(0.12, Stage.AFTER_FIX, proved_good=False)], False),
        ([drop(0.12, Stage.AS_FOUND)], False),
        ([drop(0.9, Stage.AFTER_FIX)], False),
        ([drop(0.9, Stage.AFTER_FIX), drop(0.12, Stage.AFTER_FIX)], True),
        ([drop(0.12, Stage.AFTER_FIX), drop(0.9, Stage.AFTER_FIX)], False),
    ],
)
def test_the_same_reading_judged_good_after_the_fix_is_back_in_band(
    after: list[Reading], is_shown: bool
) -> None:
    job = replace(
        JOB,
        complaint="no start",
        system=System.CHARGING_STARTING,
        codes=(),
        readings=(drop(2.8, Stage.AS_FOUND), *after),
    )
    assert (shown(job)[Proof.IN_BAND] is not None) is is_shown


def test_an_igniters_reading_after_the_fix_must_have_proved_good() -> None:
    for value in (2.3, 2.4):
        read = squib(value, "left front", Stage.AFTER_FIX, None)
        assert shown(replace(JOB, readings=(*JOB.readings, read)))[Proof.IN_BAND] is None


def test_what_proved_the_cause_tells_of_the_proofs_there_are_behind_a_repair_alone() -> None:
    own = "self-test passed, code cleared and not returned"  # this program's own words
    for fixes in ((), (replace(CLEANED, cured=None),), (CLEANED,)):
        told = replace(JOB, attempts=fixes, proved_by=own)
        shown = {each.proof for each in proofs(told, WORDING, ReadingSettings()) if each.shown}
        assert {Proof.SELF_TEST, Proof.CODE_GONE} <= shown
    vain = replace(JOB, attempts=(replace(CLEANED, cured=False),), proved_by=own)
    assert not any(each.shown for each in proofs(vain, WORDING, ReadingSettings()))
    found = replace(JOB, proved_by="terminals checked, code came back")
    missing = {each.proof for each in proofs(found, WORDING, ReadingSettings()) if not each.shown}
    assert {Proof.SELF_TEST, Proof.CODE_GONE, Proof.TERMINALS} <= missing
