"""Which tests come at which trouble, what they leave, and that they do what they foretell.

What a technician would do is common practice, no source.
"""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, DiagnosticTest, FailureMode, Job, System, Vehicle
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.steps import NEARLY_SURE, Advice, Branch, Step, advise
from kb.troubleshooting.suspicion import Prior

WORDING = Wording.default()
M = FailureMode
Suspects = dict[tuple[str, FailureMode], float]
CRANKS: Suspects = {
    ("earth strap", M.HIGH_RESISTANCE): 0.2,
    ("starter cable", M.HIGH_RESISTANCE): 0.2,
    ("battery cable", M.HIGH_RESISTANCE): 0.2,
    ("fuse holder", M.HIGH_RESISTANCE): 0.1,
    ("starter motor", M.WORN): 0.2,
}
FAN: Suspects = {
    ("cooling fan connector", M.HIGH_RESISTANCE): 0.3,
    ("cooling fan motor", M.INTERNAL_FAULT): 0.25,
    ("cooling fan relay", M.OPEN): 0.1,
    ("cooling fan fuse", M.OPEN): 0.05,
    ("thermostat", M.SEIZED): 0.1,
}
FAN_DEAD = "overheats in traffic, fan never comes on"
LAMP: Suspects = {
    ("clock spring", M.OPEN): 0.5,
    ("seat connector", M.HIGH_RESISTANCE): 0.2,
    ("airbag control unit", M.INTERNAL_FAULT): 0.1,
}


def job(text: str, **told: object) -> Job:
    return Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint=text, **told)  # type: ignore[arg-type]


def ask(asked: Job, suspects: Suspects, best: int = 99) -> Advice:
    priors = [
        Prior(cause=Cause(component=name, failure_mode=mode), chance=chance, cases=9)
        for (name, mode), chance in suspects.items()
    ]
    return advise(asked, priors, (), WORDING, TroubleshootingSettings(), best=best)


def step(advice: Advice, words: str) -> Step:
    return next(each for each in advice.steps if words in each.title)


def chance(advice: Advice, component: str) -> float:
    return sum(each.chance for each in advice.suspects if each.cause.component == component)


def after(asked: Job, found: Step, branch: Branch) -> Job:
    made = DiagnosticTest(
        name=found.title, seen=branch.seen, points_to=branch.points_to, clears=branch.clears
    )
    return replace(asked, tests=(*asked.tests, made))


def test_a_volt_drop_tells_of_every_cable_strap_and_joint_and_of_the_way_between() -> None:
    asked = job("cranks slowly", system=System.CHARGING_STARTING)
    before = ask(asked, CRANKS)
    drop = step(before, "voltage drop")
    lost = {each.points_to for each in drop.branches if each.points_to}
    wires = {"earth strap", "starter cable", "battery cable", "fuse holder"}
    assert lost == {(each,) for each in (*wires, "another part")}
    *_, elsewhere, nothing = drop.branches
    assert "elsewhere" in elsewhere.seen
    left = ask(after(asked, drop, elsewhere), CRANKS)
    assert left.none_of_them > 0.5
    left = ask(after(asked, drop, nothing), CRANKS)
    assert all(chance(left, each) < chance(before, each) / 3 for each in wires)
    assert chance(left, "starter motor") > 1.5 * chance(before, "starter motor")


def test_nothing_is_read_along_the_way_of_what_never_runs_but_its_feed_is() -> None:
    tests = [each.title for each in ask(job(FAN_DEAD), FAN).steps if each.kind is Kind.TEST]
    assert not any("voltage drop" in each for each in tests)
    assert {
        "supply and earth at its plug, cooling fan motor",
        "fed directly, cooling fan motor",
    } <= {*tests}
    weak = ask(job("fan weak, overheats in traffic"), FAN).steps
    assert any("voltage drop" in each.title for each in weak)
    assert not any("supply and earth" in each.title for each in weak)


@pytest.mark.parametrize("system", [System.RESTRAINTS, System.HIGH_VOLTAGE])
def test_nothing_is_fed_on_restraints_and_high_voltage(system: System) -> None:
    parts = {System.RESTRAINTS: "pretensioner", System.HIGH_VOLTAGE: "inverter"}
    suspects = {(parts[system], M.OPEN): 0.2, ("cooling fan motor", M.OPEN): 0.5}
    steps = ask(job("dead fan, fan never runs", system=system), suspects).steps
    assert not any(
        words in each.title for each in steps for words in ("supply and earth", "fed directly")
    )


def test_what_does_not_obey_may_be_its_plug_fuse_or_relay_and_its_feed_is_read_next() -> None:
    asked = job(FAN_DEAD)
    before = ask(asked, FAN)
    test = step(before, "self-test")
    deaf, *_, obeys = test.branches
    assert deaf.seen == "cooling fan motor does not do what it is told"
    told = after(asked, test, deaf)
    left = ask(told, FAN)
    for part in ("cooling fan connector", "cooling fan relay", "cooling fan fuse"):
        assert chance(left, part) > 0.8 * chance(before, part)
    assert chance(left, "thermostat") < chance(before, "thermostat")
    assert left.none_of_them > before.none_of_them / 4
    titles = [each.title for each in left.steps]
    fix = next(place for place, each in enumerate(titles) if each.endswith("ed cooling fan motor"))
    assert any("supply and earth" in each for each in titles[:fix])
    well = ask(after(asked, test, obeys), FAN)
    for part in ("cooling fan motor", "cooling fan connector", "cooling fan relay"):
        assert chance(well, part) < chance(before, part)


def test_a_part_whose_swap_is_quick_is_swapped_before_it_is_renewed() -> None:
    coil = Cause(component="ignition coil", failure_mode=M.INTERNAL_FAULT, position="cylinder 3")

    def titles(sure: float) -> list[str]:
        prior = Prior(cause=coil, chance=sure, cases=9)
        found = advise(
            job("P0303 misfire"), [prior], (), WORDING, TroubleshootingSettings(), best=99
        )
        return [each.title for each in found.steps]

    doubtful = titles(0.7)
    assert doubtful.index("swap left and right, ignition coil") < doubtful.index(
        "repaired ignition coil"
    )
    assert NEARLY_SURE > 0.8  # or the first half says nothing


def test_what_cannot_be_seen_is_hardly_lowered_by_a_look() -> None:
    asked = job("airbag lamp on", system=System.RESTRAINTS)
    before = ask(asked, LAMP)
    look = step(before, "visual check")
    left = ask(after(asked, look, look.branches[-1]), LAMP)
    assert chance(left, "clock spring") > chance(before, "clock spring")
    assert chance(left, "airbag control unit") > chance(before, "airbag control unit")
    assert chance(left, "seat connector") < chance(before, "seat connector")


@given(
    st.sampled_from(
        [
            (job("cranks slowly"), CRANKS),
            (job(FAN_DEAD), FAN),
            (job("airbag lamp on", system=System.RESTRAINTS), LAMP),
        ]
    ),
    st.data(),
)
def test_what_is_announced_of_an_outcome_is_what_comes(
    asked: tuple[Job, Suspects], data: st.DataObject
) -> None:
    told, suspects = asked
    tests = [each for each in ask(told, suspects).steps if each.kind is Kind.TEST]
    found = data.draw(st.sampled_from(tests))
    branch = data.draw(st.sampled_from(found.branches))
    left = ask(after(told, found, branch), suspects)
    for cause, share in branch.leaves:
        assert chance(left, cause.component) == pytest.approx(share, abs=1e-9)


def test_water_inside_is_sought_with_water_and_with_nothing_electric() -> None:
    suspects: Suspects = {
        ("sunroof drain", M.BLOCKED): 0.3,
        ("body control unit connector", M.CONTAMINATED): 0.2,
    }
    advice = ask(job("wet carpet rear after rain"), suspects)
    steps, water = advice.steps, step(advice, "water test")
    assert [each.seen for each in water.branches] == [
        "water comes in at sunroof drain",
        "water comes in elsewhere",
        "all stays dry inside",
    ]
    tests = {each.title.partition(",")[0] for each in steps if each.kind is Kind.TEST}
    assert tests == {"visual check", "water test"}


def test_where_there_is_no_pressure_no_hose_is_clamped_and_the_pump_is_listened_to() -> None:
    suspects: Suspects = {("fuel pump", M.LEAKING): 0.2, ("fuel pump", M.WORN): 0.2}
    steps = ask(job("cranks fine but wont start, no fuel pressure"), suspects).steps
    assert not any("clamp" in each.title for each in steps)
    assert "listen" in (step(ask(job("no fuel pressure"), suspects), "supply").how or "")
    falls = ask(job("long cranking after an hour, fuel pressure falls"), suspects).steps
    assert any("clamp" in each.title for each in falls)


def test_every_test_of_the_table_that_proves_a_part_says_so_at_its_first_outcome() -> None:
    proving = [each for each in general_tests().test if each.proves]
    assert proving
    assert not any(each.together for each in proving)
