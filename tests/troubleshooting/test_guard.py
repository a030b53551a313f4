"""No path proposes a meter on a live igniter; the words are made up by generation."""

import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import (
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    Link,
    LinkKind,
    Precondition,
    System,
    TroubleCode,
    Vehicle,
)
from kb.intake.wording import Wording
from kb.safety.igniter import may_be_proposed
from kb.safety.igniter_screen import screen
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.guard import Guard
from kb.troubleshooting.remedies import to_be_done
from kb.troubleshooting.steps import Advice, advise
from kb.troubleshooting.suspicion import Prior
from tests.troubleshooting.test_steps import Fix

DAY = date(2026, 3, 2)
METER = re.compile(
    r"ohm|resistance|multimeter|\bmeter|measur|continuity|buzz|test ?lamp|dmm|dvm|Ω", re.IGNORECASE
)
"""Written apart from the guard: what must never stand in a proposal on an igniter's circuit."""
IGNITERS = st.sampled_from(
    ["airbag", "LF pretensioner", "squib", "curtain airbag", "igniter", "side air-bag", "SRS bag",
     "inflator", "seat belt tensioner", "pretensoner"]
)  # fmt: skip
VERBS = st.sampled_from(
    ["measure resistance of", "ohm out", "check continuity of", "multimeter across", "buzz",
     "test lamp on", "DVM on", "never mind, measured", "live value by ohmmeter at", "check Ω of",
     "scan tool and then ohm", "substitute an ohmmeter for"]
)  # fmt: skip
TEMPTING = st.tuples(VERBS, IGNITERS, st.sampled_from(["", " plug", " at the seat", "!"])).map(
    lambda parts: f"{parts[0]} {parts[1]}{parts[2]}"
)
SPELT = TEMPTING.flatmap(
    lambda text: st.sampled_from([text, text.upper(), text.title(), f"  {text}  "])
)
SYSTEMS = st.sampled_from([None, System.RESTRAINTS, System.BODY_ELECTRICS, System.OTHER])


def proposed(advice: Advice) -> list[str]:
    """Everything an advice tells somebody to do."""
    texts: list[str] = []
    for step in advice.steps:
        texts += [step.title, step.how or "", *step.cautions]
        for branch in step.branches:
            texts += [branch.seen, branch.then or ""]
    return texts


@st.composite
def temptations(draw: st.DrawFn) -> Advice:
    """Advice on a job whose words, past jobs, fixes, circuit and vocabulary all tempt."""
    words = draw(st.lists(SPELT, min_size=3, max_size=6))
    igniter = draw(IGNITERS)
    causes = [
        Cause(component=igniter, failure_mode=FailureMode.OPEN),
        Cause(component=draw(SPELT), failure_mode=FailureMode.HIGH_RESISTANCE),
        Cause(component="seat connector", location=igniter, failure_mode=FailureMode.OPEN),
        Cause(component="occupancy mat", failure_mode=FailureMode.INTERNAL_FAULT),
    ]
    tests = tuple(
        DiagnosticTest(
            name=draw(st.sampled_from(words)),
            seen=draw(st.sampled_from(words)),
            minutes=1,
            points_to=(draw(st.sampled_from([*words, "connector", igniter])),),
            clears=(draw(st.sampled_from([*words, "mat"])),),
        )
        for _ in range(draw(st.integers(1, 4)))
    )
    history = [
        Job(vehicle=Vehicle(), opened=DAY, closed=DAY, complaint="x", cause=cause, tests=tests)
        for cause in causes
    ]
    circuit = draw(
        st.sampled_from(
            [
                (),
                (
                    Link(name=words[0], kind=LinkKind.CONNECTOR, shorting_bars=True),
                    Link(name=igniter, kind=LinkKind.COMPONENT),
                ),
            ]
        )
    )
    job = Job(
        vehicle=Vehicle(),
        opened=DAY,
        complaint=draw(st.sampled_from([*words, "lamp on"])),
        system=draw(SYSTEMS),
        codes=draw(st.sampled_from([(), (TroubleCode(code="B0012"),)])),
        tests=draw(st.sampled_from([(), tests[:1]])),
        circuit=circuit,
    )
    vocabulary = {words[1]: words[2]} if draw(st.booleans()) else {}
    chances = draw(st.lists(st.floats(0.05, 0.24), min_size=4, max_size=4))
    return advise(
        job,
        [Prior(cause=c, chance=p) for c, p in zip(causes, chances, strict=True)],
        history,
        Wording.default(vocabulary),
        TroubleshootingSettings(),
        fixes={cause.key: [Fix(draw(st.sampled_from(words)))] for cause in causes},
        best=99,
    )


@settings(max_examples=150)
@given(temptations())
def test_no_words_bring_a_meter_to_an_igniter_or_a_hand_before_somebody_confirms(
    advice: Advice,
) -> None:
    assert advice.systems == (System.RESTRAINTS,)  # so the cautions come first
    assert [text for text in proposed(advice) if METER.search(text)] == []
    looks = {each.name for each in general_tests().test if not each.hands_on}
    for step in advice.steps:
        if step.title not in looks:
            assert Precondition.SUPPLY_OFF in step.locks


@given(SPELT)
def test_the_guard_refuses_what_the_screen_withholds(text: str) -> None:
    assert not may_be_proposed(text, restraint=True)
    if screen(text) != text:
        assert not may_be_proposed(text, restraint=False)


@pytest.mark.parametrize(
    "igniter", ["pretensioner", "driver airbag", "LF pretensioner", "inflator"]
)
@pytest.mark.parametrize("fix", [None, "repaired", "cleaned", "tightened", "lubricated"])
def test_an_igniter_is_replaced_or_left_alone_and_its_plug_may_be_mended(
    igniter: str, fix: str | None
) -> None:
    """Common practice, no source."""
    causes = [
        Cause(component=igniter, failure_mode=FailureMode.INTERNAL_FAULT),
        Cause(component=f"{igniter} connector", failure_mode=FailureMode.HIGH_RESISTANCE),
    ]
    advice = advise(
        Job(vehicle=Vehicle(), opened=DAY, complaint="airbag lamp on", system=System.RESTRAINTS),
        [Prior(cause=cause, chance=0.4) for cause in causes],
        (),
        Wording.default(),
        TroubleshootingSettings(),
        fixes={cause.key: [Fix(f"{fix} {cause.component}")] for cause in causes} if fix else {},
        best=99,
    )
    titles = [step.title for step in advice.steps]
    assert f"replaced {igniter}" in titles
    assert any(title.endswith(f" {igniter} connector") for title in titles)
    mended = re.compile(rf"(repaired|cleaned|tightened|lubricated) {igniter}$")
    assert not [title for title in titles if mended.match(title)]


def test_the_tables_own_words_pass_the_guard() -> None:
    for each in general_tests().test:
        if each.igniter:
            for text in (each.name, each.how, *each.cautions, *(o.seen for o in each.outcome)):
                assert may_be_proposed(text, restraint=True), text
                assert not METER.search(text), text


def test_what_reads_through_the_circuit_is_not_marked_fit_for_an_igniter() -> None:
    # common practice, no source
    unfit = {each.name for each in general_tests().test if not each.igniter}
    assert {"voltage drop under load", "swap left and right"} <= unfit


def test_off_the_restraints_the_shops_own_tests_are_proposed() -> None:
    cause = Cause(component="radiator", failure_mode=FailureMode.LEAKING)
    other = replace(cause, component="heater core")
    test = DiagnosticTest(name="pressure test", seen="drops", points_to=("radiator",))
    past = Job(vehicle=Vehicle(), opened=DAY, closed=DAY, complaint="x", cause=cause, tests=(test,))
    job = Job(vehicle=Vehicle(), opened=DAY, complaint="loses coolant", system=System.COOLING)
    priors = [Prior(cause=cause, chance=0.5), Prior(cause=other, chance=0.4)]
    advice = advise(job, priors, [past], Wording.default(), TroubleshootingSettings(), best=99)
    assert "pressure test" in [step.title for step in advice.steps]


@pytest.mark.parametrize("part", ["clock spring", "airbag connector", "seat connector", "harness"])
@pytest.mark.parametrize("fix", [None, "repaired"])
def test_a_part_of_an_igniters_circuit_is_replaced_where_nothing_known_mends_it(
    part: str, fix: str | None
) -> None:
    """Common practice, no source; a plug or a lead may be mended with the maker's own kit."""
    cause = Cause(component=part, failure_mode=FailureMode.OPEN)
    advice = advise(
        Job(vehicle=Vehicle(), opened=DAY, complaint="airbag lamp on", system=System.RESTRAINTS),
        [Prior(cause=cause, chance=0.4)],
        (),
        Wording.default(),
        TroubleshootingSettings(),
        fixes={cause.key: [Fix(f"{fix} {part}")]} if fix else {},
        best=99,
    )
    titles = {step.title for step in advice.steps}
    mended = fix is not None and part != "clock spring"
    assert f"{'repaired' if mended else 'replaced'} {part}" in titles
    assert (f"repaired {part}" in titles) is mended


@pytest.mark.parametrize(
    "step", ["replaced clock spring", "replaced driver airbag", "repaired airbag connector"]
)
def test_what_is_done_to_a_restraint_is_proposed_by_the_makers_procedure(step: str) -> None:
    assert to_be_done(step).endswith("by the maker's procedure")
    assert not to_be_done("replaced coil spring").endswith("procedure")


@pytest.mark.parametrize(
    ("part", "told"),
    [
        ("repair strut top mount", "proper compressor"),
        ("repair condenser", "only certified persons"),
        ("fuel hose", "no sparks"),
        ("replace seat connector", ""),
    ],
)
def test_a_step_carries_the_caution_of_its_part(part: str, told: str) -> None:
    guard = Guard(restraint=False, high_voltage=False)
    cautions = " ".join(guard.cautions_at([part], Wording.default()))
    assert bool(cautions) == bool(told)
    assert told in cautions


@pytest.mark.parametrize(
    ("engine", "complaint", "locked"),
    [
        (None, "aircon warm", False),
        ("2.0 diesel", "aircon warm", False),
        ("1.8 hybrid", "aircon warm", True),
        (None, "aircon warm, it is the hybrid", True),
        (None, "aircon warm, orange cable chafed", True),
    ],
)
def test_what_some_cars_drive_by_high_voltage_locks_only_where_the_job_speaks_of_it(
    engine: str | None, complaint: str, locked: bool
) -> None:
    compressor = Cause(component="air conditioning compressor", failure_mode=FailureMode.WORN)
    told = Job(
        opened=DAY,
        complaint=complaint,
        system=System.CLIMATE,
        vehicle=Vehicle(make="Bramwick", model="Dray", year=2019, engine=engine),
    )
    systems = [System.CLIMATE, System.HIGH_VOLTAGE]
    guard = Guard.of(told, [compressor], systems, Wording.default())
    assert guard.high_voltage is locked
    inverter = replace(compressor, component="inverter")
    assert Guard.of(told, [inverter], systems, Wording.default()).high_voltage
    untold = replace(told, system=None)
    assert Guard.of(untold, [compressor], systems, Wording.default()).high_voltage


@pytest.mark.parametrize(
    ("complaint", "part", "locked"),
    [
        ("engine overheats", "thermostat", False),
        ("engine overheats", "inverter coolant pump", True),
        ("engine overheats", "air conditioning compressor", True),
        ("engine overheats, orange cable chafed", "thermostat", True),
    ],
)
def test_a_suspect_of_high_voltage_locks_its_own_steps_and_a_job_on_it_all(
    complaint: str, part: str, locked: bool
) -> None:
    pump = Cause(component="inverter coolant pump", failure_mode=FailureMode.SEIZED)
    told = Job(opened=DAY, complaint=complaint, vehicle=Vehicle())
    guard = Guard.of(told, [pump], [System.COOLING, System.HIGH_VOLTAGE], Wording.default())
    needed = guard.needs(None, [f"replaced {part}"], Wording.default())
    assert (Precondition.HIGH_VOLTAGE_OFF in needed) is locked


@pytest.mark.parametrize(
    ("fix", "needed"),
    [
        ("replaced fuel pump", {Precondition.FUEL_LET_DOWN}),
        ("replaced injector seal", {Precondition.FUEL_LET_DOWN}),
        ("replaced condenser", {Precondition.REFRIGERANT_OUT}),
        ("replaced fuel pump relay", set()),
        ("repaired fuel pump connector", set()),
        ("replaced wheel bearing", set()),
    ],
)
def test_what_holds_fuel_or_refrigerant_is_not_taken_off_before_it_is_let_out(
    fix: str, needed: set[Precondition]
) -> None:
    # common practice, no source
    guard = Guard(restraint=False, high_voltage=False)
    assert set(guard.needs(None, [fix], Wording.default())) == needed
