"""Every lock fits its step, whatever the car: all tests of the trade by all kinds of jobs.

Common practice, no source.
"""

import re
from datetime import date
from itertools import product

import pytest

from kb.case import Cause, DiagnosticTest, FailureMode, Job, Precondition, System, Vehicle
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.steps import Step, advise
from kb.troubleshooting.suspicion import Prior
from kb.troubleshooting.testing import key_of

DAY = date(2026, 3, 2)
ENGINES = ("1.2 petrol", "2.0 diesel", "1.8 hybrid", "electric", None)
M = FailureMode
SUSPECTS = {
    System.CLIMATE: {
        "air conditioning compressor": M.WORN,
        "air conditioning compressor connector": M.HIGH_RESISTANCE,
        "compressor clutch": M.OPEN,
        "refrigerant pressure sensor": M.INTERNAL_FAULT,
        "condenser": M.LEAKING,
    },
    System.HIGH_VOLTAGE: {
        "high voltage cable connector": M.HIGH_RESISTANCE,
        "EPS connector": M.HIGH_RESISTANCE,
        "air conditioning compressor": M.CONTAMINATED,
        "charging cable": M.INTERNAL_FAULT,
        "charge port": M.CONTAMINATED,
        "crank sensor": M.INTERMITTENT,
        "inverter connector": M.OPEN,
    },
    System.RESTRAINTS: {
        "seat connector": M.HIGH_RESISTANCE,
        "clock spring": M.OPEN,
        "driver airbag": M.OPEN,
    },
    System.FUEL_MIXTURE: {
        "injector": M.WORN,
        "injector pipe": M.LEAKING,
        "fuel pump": M.WORN,
        "air mass meter connector": M.HIGH_RESISTANCE,
    },
    System.STEERING_SUSPENSION: {"EPS connector": M.HIGH_RESISTANCE, "steering rack": M.LEAKING},
}
RUNS = re.compile(r"\b(?:running|idling|while it runs|as the fault shows|goes along|drive)\b")
"""Written apart from the table: what cannot be done to a car that is isolated."""
NEVER_TOUCHED = re.compile(r"high voltage|inverter|charge port|air conditioning compressor")


def steps(engine: str | None, system: System, *past: Job) -> tuple[Step, ...]:
    causes = [Cause(component=n, failure_mode=m) for n, m in SUSPECTS[system].items()]
    asked = Job(
        vehicle=Vehicle(make="Bramwick", model="Dray", year=2019, engine=engine),
        opened=DAY,
        complaint="does not do what it should",
        system=system,
    )
    priors = [Prior(cause=cause, chance=0.9 / len(causes)) for cause in causes]
    found = advise(asked, priors, past, Wording.default(), TroubleshootingSettings(), best=99).steps
    return tuple(each for each in found if each.branches)


def table_line(step: Step) -> GeneralTest | None:
    return next((each for each in general_tests().test if each.name == key_of(step.title)), None)


EVERY = list(product(ENGINES, SUSPECTS))


@pytest.mark.parametrize(("engine", "system"), EVERY)
def test_what_runs_is_not_locked_behind_what_is_isolated(
    engine: str | None, system: System
) -> None:
    isolated = [s for s in steps(engine, system) if Precondition.HIGH_VOLTAGE_OFF in s.locks]
    assert [s.title for s in isolated if s.how and RUNS.search(s.how)] == []


@pytest.mark.parametrize(("engine", "system"), EVERY)
def test_a_plug_of_high_voltage_is_touched_by_no_test_but_the_licensed_persons(
    engine: str | None, system: System
) -> None:
    electrified = engine in ("1.8 hybrid", "electric") or system is System.HIGH_VOLTAGE
    if not electrified:
        return
    for each in steps(engine, system):
        general = table_line(each)
        plugs = general is not None and "connector" in general.at and not general.first
        if plugs and Precondition.HIGH_VOLTAGE_OFF not in each.locks:
            told = " ".join((each.title, *(part for b in each.branches for part in b.points_to)))
            assert not NEVER_TOUCHED.search(told), told


@pytest.mark.parametrize("engine", ["1.8 hybrid", "electric"])
def test_a_belts_compressor_is_no_electric_ones(engine: str) -> None:
    names = {key_of(each.title) for each in steps(engine, System.CLIMATE)}
    by_belt = {"turned by hand", "clutch watched with the a/c on", "refrigerant gauges"}
    assert not names & (by_belt | {"unplug and watch the reading change"})
    assert by_belt <= {key_of(each.title) for each in steps("1.2 petrol", System.CLIMATE)}


def proved(name: str, component: str, mode: FailureMode) -> Job:
    test = DiagnosticTest(name=name, seen="it was that", points_to=(component,))
    cause = Cause(component=component, failure_mode=mode)
    return Job(vehicle=Vehicle(), opened=DAY, closed=DAY, complaint="x", cause=cause, tests=(test,))


@pytest.mark.parametrize("name", ["held while it runs", "unplug and watch", "watch the gauges"])
def test_on_high_voltage_no_test_is_proposed_that_the_trade_does_not_know(name: str) -> None:
    past = proved(name, "air conditioning compressor", M.CONTAMINATED)
    titles = {each.title for each in steps("1.8 hybrid", System.HIGH_VOLTAGE, past)}
    assert name not in titles
    past = proved("zorbed at the pump", "fuel pump", M.WORN)
    titles = {each.title for each in steps("1.2 petrol", System.FUEL_MIXTURE, past)}
    assert "zorbed at the pump" in titles


def test_a_test_of_the_shops_own_carries_the_cautions_of_its_words() -> None:
    past = proved("pulley watched with the engine running", "fuel pump", M.WORN)
    found = steps("1.2 petrol", System.FUEL_MIXTURE, past)
    own = next(each for each in found if each.title.startswith("pulley"))
    told = " ".join(own.cautions)
    assert "clear of belts" in told
    assert "no sparks" in told


def test_what_the_trade_knows_of_any_part_is_told_of_a_shops_own() -> None:
    past = proved("unplugged and watched", "fuel pump", M.WORN)
    found = steps("1.2 petrol", System.FUEL_MIXTURE, past)
    own = next(each for each in found if key_of(each.title).startswith("unplug"))
    assert own.how is not None
    assert "Key off to unplug" in own.how


@pytest.mark.parametrize("test", ["turned by hand", "clutch watched with the a/c on"])
def test_what_turns_is_told_how_it_is_done_safely(test: str) -> None:
    found = next(s for s in steps("1.2 petrol", System.CLIMATE) if s.title == test)
    told = f"{found.how} {' '.join(found.cautions)}"
    assert "hands" in told.casefold()
    assert ("key out" in told) is (test == "turned by hand")
    assert "fan" in told
    assert "belt" in told


def test_on_the_restraints_it_is_told_who_stands_clear_and_how_a_bag_is_laid() -> None:
    found = {each.title: " ".join(each.cautions) for each in steps(None, System.RESTRAINTS)}
    touched = [title for title in found if not table_of_look(title)]
    assert len(touched) > 4
    for title in touched:
        assert "Nobody in the car, nobody before a bag" in found[title], title
    for title in ("replaced driver airbag", "replaced clock spring"):
        assert "cover away from the body and laid down cover up" in found[title]
    with_spring = next(t for t in found if t.startswith("clock spring with the airbag off"))
    assert "laid down cover up" in found[with_spring]
    assert "laid down" not in found["replaced seat connector"]
    drag = next(told for title, told in found.items() if title.startswith("terminal drag"))
    assert "Only in the harness side, unplugged, with the test pin that fits" in drag
    assert "never in the igniter's own side" in drag


def table_of_look(title: str) -> bool:
    return any(
        each.name == key_of(title) and not each.hands_on and not each.needs
        for each in general_tests().test
    )


def test_off_the_restraints_none_of_that_is_told() -> None:
    for each in steps("1.2 petrol", System.FUEL_MIXTURE):
        assert "before a bag" not in " ".join(each.cautions)
        assert "igniter" not in " ".join(each.cautions)


def test_a_look_at_a_plug_opens_none() -> None:
    look = next(each for each in steps(None, System.RESTRAINTS) if each.title == "visual check")
    assert look.how is not None
    assert "pins" not in look.how
    assert "without unplugging" in look.how
    told = " ".join(look.cautions)
    assert "they are looked at later, supply off and waited" in told


def test_every_general_test_that_is_locked_says_when_it_is_live() -> None:
    """A test with hands on it and the supply on at some time says when the hands are off."""
    for each in general_tests().test:
        if each.hands_on and each.live and each.igniter:
            assert "supply on" in each.how.casefold()
            assert "hands off" in each.how.casefold()
