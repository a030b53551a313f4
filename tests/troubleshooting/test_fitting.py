"""A test is offered only where it fits; what fits where is common practice, no source."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import (
    Action,
    Attempt,
    Cause,
    Complaint,
    DiagnosticTest,
    EntryKind,
    FailureMode,
    Job,
    JobEntry,
    Precondition,
    Quantity,
    Reading,
    SaidAt,
    System,
    TroubleCode,
    Vehicle,
)
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.circuit import chain_of
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.fitting import fits, signs_of, speaks_of
from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.possible_outcomes import (
    general_outcomes,
    left_by,
    starting_outcomes,
)
from kb.troubleshooting.starts import first_tests
from kb.troubleshooting.steps import Step, advise
from kb.troubleshooting.suspicion import Prior
from tests.strategies import any_of

WORDING = Wording.default()
DAY = date(2026, 3, 2)
M = FailureMode

LEAKS = {
    "water pump": M.LEAKING,
    "radiator": M.LEAKING,
    "head gasket": M.LEAKING,
    "cooling fan connector": M.HIGH_RESISTANCE,
}
DRAINS = {
    "radio": M.INTERNAL_FAULT,
    "battery cable": M.HIGH_RESISTANCE,
    "door connector": M.LOOSE,
    "alternator": M.INTERNAL_FAULT,
}
MIXTURE = {
    "intake hose": M.LEAKING,
    "purge valve": M.LEAKING,
    "air mass meter": M.CONTAMINATED,
    "air mass meter connector": M.HIGH_RESISTANCE,
}
INJECTION = {
    "injector": M.WORN,
    "rail pressure regulator": M.INTERNAL_FAULT,
    "injector connector": M.HIGH_RESISTANCE,
}
HIGH_VOLTAGE = {
    "charge port": M.CONTAMINATED,
    "air conditioning compressor": M.CONTAMINATED,
    "high voltage cable connector": M.HIGH_RESISTANCE,
}
HUM = {
    "wheel bearing": M.WORN,
    "tyre": M.WORN,
    "brake disc": M.WORN,
    "wheel speed sensor connector": M.HIGH_RESISTANCE,
}
ACTUATOR = {
    "EGR valve": M.SEIZED,
    "EGR valve connector": M.OPEN,
    "air mass meter": M.INTERNAL_FAULT,
}
JOINTS = {"lower arm bush": M.WORN, "drop link": M.WORN, "coil spring": M.MECHANICAL_DAMAGE}
CHAIN_END = {"timing chain": M.WORN, "chain tensioner": M.WORN, "water pump": M.WORN}
REFRIGERANT = {"condenser": M.LEAKING, "refrigerant pipe": M.LEAKING, "condenser fan": M.WORN}
FUELLING = {"fuel pump": M.WORN, "fuel filter": M.BLOCKED, "fuel pump relay": M.OPEN}
CYLINDER = {"exhaust valve": M.LEAKING, "ignition coil": M.INTERNAL_FAULT, "spark plug": M.WORN}
STARTING = {"battery": M.WORN, "battery cable": M.HIGH_RESISTANCE, "starter motor": M.WORN}
THERMOSTAT = {"thermostat": M.SEIZED, "coolant temperature sensor": M.INTERNAL_FAULT}
ELECTRICAL = {"terminal drag test", "voltage drop under load", "substitute load at the connector"}


def job(complaint: str, **told: object) -> Job:
    return Job(**{"vehicle": Vehicle(), "opened": DAY, "complaint": complaint} | told)  # type: ignore[arg-type]


def offered(
    asked: Job, suspects: dict[str, FailureMode], *history: Job, position: str | None = "left front"
) -> dict[str, Step]:
    priors = [
        Prior(cause=Cause(component=name, failure_mode=mode, position=position), chance=0.2)
        for name, mode in suspects.items()
    ]
    advice = advise(asked, priors, history, WORDING, TroubleshootingSettings(), best=99)
    tests = (step for step in advice.steps if step.kind is Kind.TEST)
    return {step.title.partition(",")[0]: step for step in tests}


def general(name: str) -> GeneralTest:
    return next(each for each in general_tests().test if each.name == name)


@pytest.mark.parametrize(
    ("asked", "suspects", "fitting", "unfit"),
    [
        (job("loses coolant"), LEAKS, {"pressure test", "combustion-gas test"}, ELECTRICAL),
        (job("topped up twice, no drips"), LEAKS, {"pressure test"}, ELECTRICAL),
        (job("flat after three days"), DRAINS, {"voltage drop across each fuse"}, ELECTRICAL),
        (job("battery drain"), DRAINS, {"voltage drop across each fuse"}, ELECTRICAL),
        (job("hunts at idle"), MIXTURE, {"smoke test", "terminal drag test"}, {"pressure test"}),
        (
            job("long crank", vehicle=Vehicle(engine="2.0 diesel")),
            INJECTION,
            {"injector leak-off test"},
            {"swap the wheels", "smoke test"},
        ),
        (
            job("isolation warning", system=System.HIGH_VOLTAGE),
            HIGH_VOLTAGE,
            {"insulation test by a licensed person"},
            {"wiggle test with live reading", "voltage drop under load", "self-test"},
        ),
        (job("hum at 60"), HUM, {"road test for noise", "swap the wheels"}, ELECTRICAL),
        (job("clonks over bumps"), JOINTS, {"play check with a lever"}, {"leak test", "listen"}),
        (job("rattles cold, engine"), CHAIN_END, {"listen"}, {"play check with a lever"}),
        (job("a/c blows warm"), REFRIGERANT, {"leak test"}, {"pressure test", "smoke test"}),
        (job("no start, cranks"), FUELLING, {"compare with a gauge"}, {"load test"}),
        (job("misfires on one"), CYLINDER, {"compression test", "scope trace"}, {"leak test"}),
        (job("slow to crank"), STARTING, {"load test"}, {"listen", "scope trace"}),
        (job("runs cold"), THERMOSTAT, {"scan of live data"}, {"leak test"}),
        (job("limp home"), ACTUATOR, {"self-test"}, {"road test for noise", "smoke test"}),
    ],
)
def test_what_fits_is_offered_and_what_does_not_is_not(
    asked: Job, suspects: dict[str, FailureMode], fitting: set[str], unfit: set[str]
) -> None:
    found = set(offered(asked, suspects))
    assert fitting <= found
    assert not unfit & found


def test_a_fan_that_does_not_run_is_no_loss() -> None:
    asked = job("topped up, and the fan does not run")
    found = set(offered(asked, LEAKS))
    assert {"terminal drag test", "supply and earth at its plug"} <= found
    assert "voltage drop under load" not in found  # nothing is lost where nothing flows


def test_a_flat_battery_that_cranks_slowly_may_have_a_bad_cable() -> None:
    asked = job("goes flat, slow crank even when charged")
    assert "voltage drop under load" in offered(asked, DRAINS)
    assert "voltage drop across each fuse" not in offered(asked, DRAINS)


def test_only_diesels_are_asked_for_their_leak_off() -> None:
    petrol = job("long crank", vehicle=Vehicle(engine="1.4 petrol"))
    assert "injector leak-off test" not in offered(petrol, INJECTION)


def test_insulation_is_tested_only_once_it_is_isolated() -> None:
    found = offered(job("isolation warning"), HIGH_VOLTAGE)
    assert Precondition.HIGH_VOLTAGE_OFF in found["insulation test by a licensed person"].locks


def test_only_parts_that_come_off_at_once_are_swapped() -> None:
    parts = {"wheel speed sensor": M.INTERNAL_FAULT, "wheel bearing": M.WORN, "drop link": M.WORN}
    found = offered(job("abs lamp on"), parts)["swap left and right"]
    assert found.title == "swap left and right, wheel speed sensor"
    assert "swap left and right" not in offered(
        job("brake drags"), {"brake disc": M.WORN, "head gasket": M.LEAKING}
    )


@pytest.mark.parametrize(
    "component", ["head gasket", "piston ring", "timing chain", "exhaust valve"]
)
def test_a_look_cannot_see_inside_an_engine(component: str) -> None:
    look = general("visual check")
    assert not speaks_of(look, Cause(component=component, failure_mode=M.WORN), WORDING)
    hose = Cause(component="coolant hose", failure_mode=M.LEAKING, location="cylinder head")
    assert speaks_of(look, hose, WORDING)


@pytest.mark.parametrize(
    ("component", "mode"),
    [
        ("EGR cooler", M.BLOCKED),
        ("thermostat", M.SEIZED),
        ("glow plug", M.OPEN),
        ("battery", M.WORN),
    ],
)
def test_a_look_cannot_see_inside_what_is_closed(component: str, mode: FailureMode) -> None:
    look = general("visual check")
    assert not speaks_of(look, Cause(component=component, failure_mode=mode), WORDING)
    for seen in (M.LEAKING, M.WRONG_PART, M.MECHANICAL_DAMAGE):
        assert speaks_of(look, Cause(component=component, failure_mode=seen), WORDING)
    plug = Cause(component=f"{component} connector", failure_mode=M.HIGH_RESISTANCE)
    assert speaks_of(look, plug, WORDING)


@pytest.mark.parametrize(
    ("test", "component", "mode"),
    [
        ("swap left and right", "rail pressure sensor", M.INTERMITTENT),
        ("swap left and right", "refrigerant pressure sensor", M.INTERNAL_FAULT),
        ("swap left and right", "injector", M.WORN),
        ("repeat after heat, water or load", "charging cable", M.INTERNAL_FAULT),
        ("repeat after heat, water or load", "rail pressure regulator", M.INTERNAL_FAULT),
        ("repeat after heat, water or load", "front crash sensor", M.CONTAMINATED),
        ("repeat after heat, water or load", "wheel trim", M.LOOSE),
        ("compare with a gauge", "refrigerant pressure sensor", M.INTERNAL_FAULT),
        ("unplug and watch the reading change", "battery terminal", M.LOOSE),
        ("unplug and watch the reading change", "curtain airbag connector", M.LOOSE),
        ("voltage drop under load", "curtain airbag connector", M.LOOSE),
        ("terminal drag test", "battery terminal", M.LOOSE),
        ("self-test", "bonnet latch", M.SEIZED),
        ("self-test", "steering lock", M.INTERMITTENT),
        ("compression test", "cam seal", M.LEAKING),
        ("injector leak-off test", "injector pipe", M.LEAKING),
        ("injector leak-off test", "injector return hose", M.LEAKING),
        ("pressure test", "gearbox oil cooler hose", M.LEAKING),
        ("compare with a gauge", "oil pressure switch", M.LEAKING),
        ("self-test", "fog lamp", M.MECHANICAL_DAMAGE),
        ("swap left and right", "headlamp cover", M.LOOSE),
        ("swap left and right", "spark plug", M.LOOSE),
        ("scan of live data", "glovebox lamp switch", M.OUT_OF_ADJUSTMENT),
        ("substitute load at the connector", "fuse box terminal", M.LOOSE),
        ("voltage drop across each fuse", "fog lamp", M.MECHANICAL_DAMAGE),
        ("visual check", "hydraulic tappet", M.WORN),
        ("visual check", "pretensioner", M.OPEN),
        ("visual check", "seat heating mat", M.OPEN),
        ("unplug and watch the reading change", "air conditioning compressor", M.CONTAMINATED),
        ("turned by hand", "air conditioning relay", M.OPEN),
    ],
)
def test_what_hurts_or_tells_nothing_is_not_offered(
    test: str, component: str, mode: FailureMode
) -> None:
    """Common practice, no source."""
    assert not speaks_of(general(test), Cause(component=component, failure_mode=mode), WORDING)


def test_a_part_that_fails_in_an_unknown_way_may_be_tested() -> None:
    pump = Cause(component="water pump", failure_mode=M.UNKNOWN)
    assert speaks_of(general("pressure test"), pump, WORDING)


def test_nothing_is_commanded_on_the_restraints() -> None:
    asked = job("lamp on", system=System.RESTRAINTS)
    assert "self-test" not in offered(asked, {"belt motor": M.SEIZED, "seat connector": M.OPEN})


def test_what_is_said_of_tests_that_may_hurt_or_deceive() -> None:
    def words(name: str) -> str:
        return " ".join((general(name).how, *general(name).cautions))

    wiggle = words("wiggle test with live reading")
    assert "plugs" not in wiggle
    for text in (
        "only the loom may be moved",
        "outside the bag's path",
        "only if the manufacturer",
    ):
        assert text in wiggle
    assert "forced into a terminal spreads it" in words("substitute load at the connector")
    assert "bars in either open plug" in words("clock spring with the airbag off")


def test_the_trades_test_of_other_parts_is_the_shops_own_where_it_found_one() -> None:
    hose = Cause(component="DPF pressure hose", failure_mode=M.LEAKING)
    blew = DiagnosticTest(name="pressure test", seen="split", points_to=("DPF pressure hose",))
    past = job("limp", closed=DAY, cause=hose, tests=(blew,))
    suspects = {"DPF pressure hose": M.LEAKING, "DPF": M.BLOCKED}
    asked = job("limp")
    assert "pressure test" not in offered(asked, suspects)
    assert "pressure test" in offered(asked, suspects, past)
    drop = DiagnosticTest(name="volt drop", seen="2 V", points_to=("battery cable",))
    cable = Cause(component="battery cable", failure_mode=M.HIGH_RESISTANCE)
    past = job("dead", closed=DAY, cause=cable, tests=(drop,))
    assert "voltage drop under load" not in offered(job("battery drain"), DRAINS, past)


def test_a_test_made_elsewhere_is_the_shops_own_unless_it_may_not_be_made_there() -> None:
    def proved(name: str, component: str) -> Job:
        cause = Cause(component=component, failure_mode=M.INTERNAL_FAULT)
        test = DiagnosticTest(name=name, seen="gone with it off", points_to=(component,))
        return job("x", closed=DAY, cause=cause, tests=(test,))

    suspects = {"purge valve": M.INTERNAL_FAULT, "injector": M.INTERNAL_FAULT}
    asked = job("hunts at idle")
    name = "unplug and watch"
    assert name not in offered(asked, suspects)
    assert name in offered(asked, suspects, proved("unplug and watch", "purge valve"))
    forbidden = {"inverter": M.INTERNAL_FAULT, "contactor": M.INTERNAL_FAULT}
    made = proved("unplug and watch", "inverter")
    assert name not in offered(job("warning"), forbidden, made)


def test_signs_come_from_complaint_readings_codes_and_engine() -> None:
    drain = Reading(item="parasitic current", quantity=Quantity.CURRENT, typed="0.3 A", value=0.3)
    code = TroubleCode(code="P0480")
    assert signs_of(job("dead", readings=(drain,)), WORDING) == {"drain"}
    assert signs_of(job("loses coolant", codes=(code,)), WORDING) == {"code told"}
    assert signs_of(job("x", codes=(TroubleCode(code="P0AA6"),)), WORDING) == {
        "insulation",
        "code told",
    }
    assert signs_of(job("rattle", vehicle=Vehicle(engine="2.2 diesel")), WORDING) == {
        "noise",
        "diesel",
    }
    assert signs_of(job("rattle and lamp on"), WORDING) == {"warning"}


@pytest.mark.parametrize(
    ("sign", "texts", "near"),
    [
        (
            "loss",
            [
                *("coolant level drops", "header tank empty every week", "needs water every week"),
                *("coolant disappears", "smell of coolant, topped up", "oil leak, oil lamp on"),
                "low coolant lamp on, topped up twice",
            ],
            [
                *("low coolant lamp on, level good", "coolant lamp on", "topped up, fan dead"),
                *("overheats in traffic", "fuel gauge reads low", "washer does not spray"),
            ],
        ),
        (
            "drain",
            [
                *("battery dead in the morning", "standing drain", "discharges when parked"),
                *("battery dies overnight", "draws 400 mA asleep", "flat battery if left for days"),
                "needs a jump start every morning",
            ],
            [
                *("door lock dead after rain", "battery lamp on", "flat tyre every week"),
                *("drain hole blocked", "hard to start after standing", "slow crank, goes flat"),
            ],
        ),
        (
            "noise",
            [
                *("tyre roar at speed", "scraping when braking", "ticking from engine"),
                *("booming at 80", "squeaking belt on cold start", "chirps", "growls in bends"),
            ],
            [
                *("relay ticking, no crank", "horn dead", "rattles and lamp on", "misfire, knocks"),
                *("radio silent", "rough idle"),
            ],
        ),
    ],
)  # fmt: skip
def test_what_kind_of_trouble_it_is_is_known_by_plain_words(
    sign: str, texts: list[str], near: list[str]
) -> None:
    """Common practice, no source."""
    for text in texts:
        assert sign in signs_of(job(text), WORDING), text
    for text in near:
        assert sign not in signs_of(job(text), WORDING), text


@pytest.mark.parametrize(
    ("text", "suspects", "test"),
    [
        ("low coolant lamp on, topped up twice", LEAKS, "pressure test"),
        ("header tank empty every week", LEAKS, "combustion-gas test"),
        ("standing drain", DRAINS, "voltage drop across each fuse"),
        ("battery dies overnight", DRAINS, "voltage drop across each fuse"),
        ("tyre roar at speed", HUM, "road test for noise"),
    ],
)
def test_however_it_is_said_no_plug_is_tested_for_a_loss_a_drain_or_a_noise(
    text: str, suspects: dict[str, FailureMode], test: str
) -> None:
    """Common practice, no source."""
    found = set(offered(job(text), suspects))
    assert test in found
    assert not ELECTRICAL & found


def test_every_sign_of_a_test_is_in_the_table() -> None:
    signs = set(general_tests().signs)
    for each in general_tests().test:
        assert {*each.only_for, *each.not_for} <= signs
        assert not set(each.only_for) & set(each.not_for)
        assert not set(each.shows) & set(each.blind)


@given(
    st.sampled_from(general_tests().test),
    st.lists(any_of(Cause), min_size=1, max_size=5),
    st.frozensets(st.sampled_from(sorted(general_tests().signs))),
)
def test_a_test_never_blames_or_clears_what_it_cannot_speak_of(
    test: GeneralTest, causes: list[Cause], signs: frozenset[str]
) -> None:
    silent = {n for n, cause in enumerate(causes) if not speaks_of(test, cause, WORDING)}
    chain = chain_of(causes, (), WORDING)
    for _, outcomes in general_outcomes(test, causes, chain, WORDING):
        for place in silent:
            assert all(place not in each.left for each in outcomes if each.points_to)
            assert place in outcomes[-1].left
    assert fits(test, frozenset()) == (not test.only_for)
    if signs & set(test.not_for):
        assert not fits(test, signs)


def test_a_test_of_other_parts_is_none_to_start_with() -> None:
    leak = Complaint(
        text="diesel smell, leaking at injector pipe", vehicle=Vehicle(engine="diesel")
    )
    started = [test.name for test in first_tests(leak, [System.FUEL_MIXTURE], WORDING)]
    assert "injector leak-off test" not in started
    rough = Complaint(text="injector knocks", vehicle=Vehicle(engine="2.0 diesel"))
    started = [test.name for test in first_tests(rough, [System.FUEL_MIXTURE], WORDING)]
    assert "injector leak-off test" in started


def test_a_diesel_is_no_trouble_by_itself() -> None:
    words = Wording.default()
    diesel = Vehicle(engine="2.0 diesel")
    names = [t.name for t in first_tests(Complaint(text="gears crunch", vehicle=diesel), (), words)]
    assert "injector leak-off test" not in names
    smokes = Complaint(text="diesel smokes, injector suspected", vehicle=diesel)
    assert "injector leak-off test" in [each.name for each in first_tests(smokes, (), words)]


FUEL = {
    "fuel pump": M.WORN,
    "injector": M.LEAKING,
    "fuel pressure sensor": M.INTERNAL_FAULT,
    "crank sensor connector": M.HIGH_RESISTANCE,
}
SMELLS = [
    "petrol smell, long cranking hot, fuel pump noisy",
    "smells strongly of fuel after parking, whines",
    "diesel drips under the car and it knocks",
    "puddle of petrol, hard to start",
]


@pytest.mark.parametrize("said", SMELLS)
def test_where_fuel_may_escape_the_leak_is_sought_first_and_nothing_runs(said: str) -> None:
    gauge = DiagnosticTest(
        name="gauge left on for a drive", seen="falls", points_to=("fuel pump",), minutes=20
    )
    cause = Cause(component="fuel pump", failure_mode=M.WORN)
    past = job("stalls", closed=DAY, cause=cause, tests=(gauge,))
    found = offered(job(said), FUEL, past)
    assert next(iter(found)) == "fuel leak search"
    assert "Engine off" in (found["fuel leak search"].how or "")
    known = {each.name: each for each in general_tests().test}
    assert all(known[name].still for name in found), found.keys()
    dry = DiagnosticTest(name="fuel leak search", seen="dry and no smell all along")
    after = offered(job(said, tests=(dry,)), FUEL, past)
    assert {"compare with a gauge", "gauge left on for a drive"} & after.keys()
    wet = DiagnosticTest(name="fuel leak search", seen="wet", points_to=("injector",))
    found_so = offered(job(said, tests=(wet,)), FUEL, past)
    assert "fuel leak search" not in found_so
    assert all(known[name].still for name in found_so), found_so.keys()


LEAK_AT = (
    DiagnosticTest(name="fuel leak search", seen="fuel comes out at injector; drips"),
    DiagnosticTest(name="fuel leak search", seen="wet", points_to=("injector",)),
    DiagnosticTest(
        name="fuel leak search",
        seen="fuel comes out, or smells, elsewhere; wet at the rail",
        points_to=("another part",),
        clears=("fuel pump",),
    ),
    DiagnosticTest(
        name="fuel leak search",
        seen="it shows a fault at another part",
        clears=("fuel pump", "fuel filter"),
    ),
)


@pytest.mark.parametrize("wet", LEAK_AT, ids=lambda test: test.seen)
@pytest.mark.parametrize("said", SMELLS)
def test_a_leak_that_was_found_is_sought_again_only_after_a_fix(
    said: str, wet: DiagnosticTest
) -> None:
    """And until then nothing runs, wherever it was found."""
    known = {each.name: each for each in general_tests().test}
    found = job(said, tests=(wet,))
    assert "fuel leak search" not in offered(found, FUEL)
    mended = replace(found, attempts=(Attempt(action=Action.REPLACED, component="fuel hose"),))
    assert next(iter(offered(mended, FUEL))) == "fuel leak search"
    for each in (found, mended):
        assert all(known[name].still for name in offered(each, FUEL))


@pytest.mark.parametrize("order", ["fix first", "search first"])
def test_a_fix_that_was_told_before_the_search_changes_nothing_since(order: str) -> None:
    first, second = SaidAt(entry=0, start=0, end=3), SaidAt(entry=1, start=0, end=3)
    fix_at, test_at = (first, second) if order == "fix first" else (second, first)
    fix = Attempt(action=Action.REPLACED, component="fuel hose", cured=False, said=fix_at)
    entries = tuple(JobEntry(kind=EntryKind.LINE, text="wet, fuel hose") for _ in range(2))
    found = job(
        SMELLS[0], tests=(replace(LEAK_AT[1], said=test_at),), attempts=(fix,), entries=entries
    )
    assert ("fuel leak search" in offered(found, FUEL)) == (order == "search first")


LEAK_TESTS = [each for each in general_tests().test if len(each.outcome) == 3 and each.parts]


def test_what_may_be_found_elsewhere_has_an_outcome_for_it() -> None:
    assert {each.name for each in LEAK_TESTS} >= {
        *("fuel leak search", "insulation test by a licensed person"),
        *("pressure test", "leak test", "smoke test"),
    }


@pytest.mark.parametrize("general", LEAK_TESTS, ids=lambda each: each.name)
def test_what_was_found_elsewhere_leaves_none_of_the_suspects(general: GeneralTest) -> None:
    part = Cause(component=general.parts[0], failure_mode=general.shows[0])
    other = Cause(component="seat switch", failure_mode=M.OPEN)
    chain = chain_of([part, other], (), WORDING)
    ((_, outcomes),) = general_outcomes(general, [part, other], chain, WORDING)
    here, elsewhere, nothing = outcomes
    assert [*map(sorted, (here.left, elsewhere.left))] == [[0], [2]]
    assert nothing.left == {1, 2}
    told = left_by(elsewhere.points_to, elsewhere.clears, [part, other], WORDING)
    assert told == elsewhere.left
    (found, _) = starting_outcomes(general, [other])
    assert left_by(found.points_to, found.clears, [other], WORDING) == {1}
    assert "elsewhere" in found.seen


@pytest.mark.parametrize(
    "said", ["fuel gauge reads low", "long crank hot", "no fuel smell, stalls"]
)
def test_where_no_fuel_escapes_no_leak_is_sought_first(said: str) -> None:
    assert "fuel leak search" not in offered(job(said), FUEL)


def test_a_gauge_is_told_to_let_the_pressure_down_be_it_the_shops_own() -> None:
    gauge = DiagnosticTest(name="gauge left on for a drive", seen="x", points_to=("fuel pump",))
    cause = Cause(component="fuel pump", failure_mode=M.WORN)
    past = job("stalls", closed=DAY, cause=cause, tests=(gauge,))
    found = offered(job("long crank hot"), FUEL, past)
    for name in ("gauge left on for a drive", "compare with a gauge"):
        assert "let down by the maker's procedure" in " ".join(found[name].cautions), name


def test_a_fault_of_the_insulation_is_read_out_then_measured_before_any_part() -> None:
    suspects = {"high voltage battery cooling fan": M.BLOCKED, "high voltage battery": M.WORN}
    for said in ("isolation fault code, HV battery", "hybrid, insulation warning, ready lamp off"):
        asked = job(said, vehicle=Vehicle(engine="1.2 petrol"))
        priors = [
            Prior(cause=Cause(component=name, failure_mode=mode), chance=0.4, cases=1)
            for name, mode in suspects.items()
        ]
        steps = advise(asked, priors, (), WORDING, TroubleshootingSettings()).steps
        first, second, *_ = steps
        assert first.title == "scan of live data"
        assert {each.then for each in first.branches} == {"insulation test by a licensed person"}
        assert second.title == "insulation test by a licensed person"
        assert Precondition.HIGH_VOLTAGE_OFF in second.locks
    assert "insulation test by a licensed person" not in offered(
        job("bonnet insulation hangs down"), {"bonnet trim": M.LOOSE}
    )


ELECTRIC = job("a/c does not cool, compressor electric", vehicle=Vehicle(engine="hybrid"))


def test_an_electric_compressor_has_no_clutch_to_work_on() -> None:
    suspects = {"air conditioning compressor": M.WORN, "compressor clutch": M.OPEN}

    def titles(asked: Job) -> str:
        priors = [
            Prior(cause=Cause(component=name, failure_mode=mode), chance=0.3)
            for name, mode in suspects.items()
        ]
        advice = advise(asked, priors, (), WORDING, TroubleshootingSettings(), best=99)
        named = [each.cause.component for each in advice.suspects]
        return " ".join([*named, *(step.title for step in advice.steps)])

    assert "clutch" not in titles(ELECTRIC)
    assert "clutch" in titles(job("a/c does not cool"))


def test_what_may_be_touched_on_high_voltage_is_of_the_12_v_side() -> None:
    suspects = {"air conditioning compressor": M.WORN, "blower connector": M.HIGH_RESISTANCE}
    found = offered(ELECTRIC, suspects)
    drop = found["voltage drop under load"]
    assert any("12 V side only" in each and "orange" in each for each in drop.cautions)
    plain = offered(job("blower slow"), suspects)["voltage drop under load"]
    assert not any("orange" in each for each in plain.cautions)


def test_an_unlikely_plug_of_another_system_is_no_suspect() -> None:
    def suspects(chance: float, mode: FailureMode = M.HIGH_RESISTANCE) -> set[str]:
        priors = [
            Prior(
                cause=Cause(component="air conditioning compressor", failure_mode=M.WORN),
                chance=0.4,
                system=System.CLIMATE,
            ),
            Prior(
                cause=Cause(component="EPS connector", failure_mode=mode),
                chance=chance,
                system=System.STEERING_SUSPENSION,
            ),
            Prior(
                cause=Cause(component="seat airbag connector", failure_mode=mode),
                chance=chance,
                system=System.RESTRAINTS,
            ),
        ]
        advice = advise(ELECTRIC, priors, (), WORDING, TroubleshootingSettings())
        return {each.cause.component for each in advice.suspects}

    assert "EPS connector" not in suspects(0.03)
    assert "EPS connector" in suspects(0.2)
    assert "seat airbag connector" in suspects(0.03)  # its locks stay


def test_a_look_says_what_is_looked_for_at_such_parts() -> None:
    springs = {"coil spring": M.MECHANICAL_DAMAGE, "drop link": M.WORN}
    how = offered(job("front strut knocks"), springs)["visual check"].how or ""
    assert "coils" in how
    assert "stands" in how
    assert "green crust" not in how
    plug = {"abs sensor connector": M.HIGH_RESISTANCE}
    assert "green crust" in (offered(job("abs lamp on"), plug)["visual check"].how or "")
    both = offered(job("front strut knocks"), springs | plug)["visual check"].how or ""
    assert "coils" in both
    assert "green crust" in both


def test_a_fix_that_hardly_cures_is_none_of_the_best_steps() -> None:
    priors = [
        Prior(cause=Cause(component="strut top mount", failure_mode=M.WORN), chance=0.5),
        Prior(cause=Cause(component="drop link", failure_mode=M.WORN), chance=0.03),
    ]
    asked = job("front strut knocks")
    few = advise(asked, priors, (), WORDING, TroubleshootingSettings())
    every = advise(asked, priors, (), WORDING, TroubleshootingSettings(), best=99)
    assert "repaired drop link" in {step.title for step in every.steps}
    assert "repaired drop link" not in {step.title for step in few.steps}


@given(
    places=st.lists(
        st.sampled_from(["engine bay", "boot", "under seat", "left side", None]),
        min_size=2,
        max_size=3,
        unique=True,
    ),
    part=st.sampled_from(["battery", "seat connector", "cooling fan", "earth strap"]),
)
def test_a_recorded_outcome_leaves_of_like_named_parts_what_it_was_foretold_to(
    places: list[str | None], part: str
) -> None:
    causes = [
        Cause(component=part, location=place, failure_mode=FailureMode.HIGH_RESISTANCE)
        for place in places
    ]
    wording = Wording.default()
    look = next(each for each in general_tests().test if each.name == "visual check")
    for _, outcomes in general_outcomes(look, causes, chain_of(causes, (), wording), wording):
        for each in outcomes:
            if each.points_to and not all(places):
                continue  # the part without a place is said by the name of all
            assert left_by(each.points_to, each.clears, causes, wording) == each.left
