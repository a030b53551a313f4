"""Which circuit a part is on: a plug speaks of its own loop alone (common practice, no source)."""

from dataclasses import replace
from datetime import date

import pytest

from kb.case import Action, Attempt, Cause, DiagnosticTest, FailureMode, Job, System, Vehicle
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.circuit import chain_of, kind_of
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.loops import are_apart, is_off, loops_of, loops_table, loops_told
from kb.troubleshooting.possible_outcomes import general_outcomes
from kb.troubleshooting.steps import Advice, advise
from kb.troubleshooting.suspicion import Prior

WORDING = Wording.default()
SPRING = Cause(component="clock spring", location="steering column", failure_mode=FailureMode.OPEN)
SEAT_PLUG = Cause(
    component="seat connector", location="under seat", failure_mode=FailureMode.HIGH_RESISTANCE
)
BELT = "driver belt pretensioner open circuit"
LOAD = "substitute load at the connector, seat connector"
FOLLOWS = "the live value follows the load at seat connector"


def part(name: str, location: str | None = None) -> Cause:
    return Cause(component=name, location=location, failure_mode=FailureMode.OPEN)


def job(complaint: str, **told: object) -> Job:
    return Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint=complaint,
        system=System.RESTRAINTS,
        **told,  # type: ignore[arg-type]
    )


def ask(asked: Job, causes: dict[Cause, float]) -> Advice:
    priors = [Prior(cause=cause, chance=chance, cases=9) for cause, chance in causes.items()]
    return advise(asked, priors, (), WORDING, TroubleshootingSettings(), best=99)


def chance(advice: Advice, component: str) -> float:
    return sum(each.chance for each in advice.suspects if each.cause.component == component)


@pytest.mark.parametrize(
    ("complaint", "off", "on"),
    [
        ("driver airbag open, horn dead", SEAT_PLUG, SPRING),
        ("the driver's airbag reads open", SEAT_PLUG, SPRING),
        ("passenger airbag resistance high", SPRING, part("passenger airbag connector")),
        (BELT, SPRING, SEAT_PLUG),
        (BELT, part("buckle switch", "seat buckle"), part("pretensioner", "seat buckle")),
        ("curtain airbag open", SEAT_PLUG, part("airbag connector", "A pillar")),
        ("side airbag lamp, seat moved", SPRING, SEAT_PLUG),
        ("driver airbag lamp when the seat is moved", part("glovebox"), SEAT_PLUG),
        ("airbag lamp on", part("no such part"), SEAT_PLUG),
    ],
)
def test_a_part_is_off_where_the_complaint_is_plainly_about_another_loop(
    complaint: str, off: Cause, on: Cause
) -> None:
    told = loops_told(job(complaint), WORDING)
    assert is_off(off, told, WORDING) or not (loops_of(off, WORDING) and told.loops)
    assert not is_off(on, told, WORDING)
    assert not is_off(part("airbag control unit"), told, WORDING)


def test_what_serves_every_loop_is_on_none_alone() -> None:
    for name in ("airbag control unit", "airbag harness", "yellow connector", "battery"):
        assert not loops_of(part(name), WORDING)


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("seat connector", "clock spring", True),
        ("cooling fan connector", "door lock", True),
        ("cooling fan connector", "cooling fan motor", False),
        ("cooling fan connector", "battery", False),
        ("horn connector", "fuse box", False),
        ("door connector", "door lock", False),
    ],
)
def test_parts_are_apart_only_where_their_names_plainly_say_so(
    one: str, other: str, apart: bool
) -> None:
    assert are_apart(part(one), part(other), WORDING) is apart
    assert are_apart(part(other), part(one), WORDING) is apart


def test_no_test_of_another_loop_is_offered_nor_speaks_for_a_suspect() -> None:
    advice = ask(job("driver airbag open, horn dead"), {SPRING: 0.5, SEAT_PLUG: 0.3})
    tests = [each for each in advice.steps if each.kind is Kind.TEST]
    assert tests
    assert not any("seat connector" in each.title for each in tests)
    assert not any("seat" in branch.seen for each in tests for branch in each.branches)
    assert chance(advice, "clock spring") > 5 * chance(advice, "seat connector")
    assert "visual check" in [each.title for each in tests][:1]  # a look comes first all the same


def test_a_load_under_the_seat_says_nothing_for_the_clock_spring_on_a_job_about_any_loop() -> None:
    causes = [SPRING, SEAT_PLUG, part("airbag control unit")]
    load = next(each for each in general_tests().test if each.name.startswith("substitute load"))
    chain = chain_of(causes, (), WORDING)
    ((_, outcomes),) = general_outcomes(load, causes, chain, WORDING)
    follows, does_not = outcomes
    assert 0 in follows.left
    assert 0 not in does_not.left
    assert 2 in does_not.left


def test_a_plug_of_a_fan_tells_nothing_for_a_lock() -> None:
    causes = [part("cooling fan connector"), part("door lock"), part("cooling fan motor")]
    feed = next(each for each in general_tests().test if each.name.startswith("supply and earth"))
    chain = chain_of(causes, (), WORDING)
    for place, outcomes in general_outcomes(feed, causes, chain, WORDING):
        if place and place.startswith("cooling fan"):
            assert 1 not in outcomes[1].left


def test_behind_a_good_plug_what_its_loop_leads_to_is_left_known_or_not() -> None:
    asked = job(BELT)
    before = ask(asked, {SEAT_PLUG: 0.5})
    load = next(each for each in before.steps if each.title == LOAD)
    good = load.branches[0]
    made = DiagnosticTest(name=LOAD, seen=good.seen, points_to=good.points_to, clears=good.clears)
    left = ask(replace(asked, tests=(made,)), {SEAT_PLUG: 0.5})
    assert chance(left, "pretensioner") > chance(before, "pretensioner")
    assert left.none_of_them < before.none_of_them / 4
    for cause, share in good.leaves:
        assert chance(left, cause.component) == pytest.approx(share)


def test_a_plug_renewed_in_vain_that_reads_right_leaves_the_part_behind_it() -> None:
    made = DiagnosticTest(name=LOAD, seen=FOLLOWS, clears=("airbag control unit",))
    fix = Attempt(action=Action.REPLACED, component="seat plug", cured=False)
    causes = {SEAT_PLUG: 0.5, part("buckle switch", "seat buckle"): 0.1}
    left = ask(job(BELT, tests=(made,), attempts=(fix,)), causes)
    assert chance(left, "pretensioner") > 0.5
    assert chance(left, "pretensioner") > 3 * chance(left, "seat connector")
    assert chance(left, "pretensioner") > 5 * chance(left, "buckle switch")
    titles = [each.title for each in left.steps]
    assert not any("drag test" in each for each in titles)
    assert titles[:2] == ["visual check", "replaced pretensioner"]


def test_the_plug_is_still_suspected_where_it_was_not_renewed() -> None:
    made = DiagnosticTest(name=LOAD, seen=FOLLOWS, clears=("airbag control unit",))
    left = ask(job(BELT, tests=(made,)), {SEAT_PLUG: 0.5})
    assert chance(left, "seat connector") > chance(left, "pretensioner")
    assert any("drag test" in each.title for each in left.steps)


def test_every_end_is_a_part_that_lies_on_its_loop() -> None:
    for loop in loops_table().loop:
        if loop.end:
            assert loop.name in loops_of(part(loop.end), WORDING), loop.name
            assert kind_of(loop.end, WORDING).value == "component"


def test_no_igniter_is_renewed_because_nothing_else_is_known() -> None:
    mat = Cause(component="occupancy mat", failure_mode=FailureMode.INTERNAL_FAULT)
    advice = ask(job("passenger airbag lamp, resistance high"), {mat: 0.1})
    assert chance(advice, "passenger airbag") > 0
    assert advice.steps[0].title == "visual check"
    assert not any(each.title == "replaced passenger airbag" for each in advice.steps)


@pytest.mark.parametrize("complaint", ["seat heating dead", "airbag lamp on, seat moved"])
def test_what_sits_where_an_igniter_does_makes_it_no_suspect(complaint: str) -> None:
    assert not loops_told(job(complaint), WORDING).ends
