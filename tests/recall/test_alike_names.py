"""Pairs of names that may be of one thing: by spelling, shorthand, order, number and company."""

from dataclasses import replace
from datetime import date

import pytest

from kb.case import Action, Attempt, Cause, FailureMode, Job, Vehicle
from kb.intake.wording import Wording
from kb.recall.alike_names import NamePair, proposed_pairs

WORDING = Wording.default()


def case(number: int, component: str, complaint: str = "something is wrong") -> Job:
    return Job(
        number=number,
        vehicle=Vehicle(model="Lido"),
        opened=date(2026, 1, 1),
        closed=date(2026, 1, 2),
        complaint=complaint,
        cause=Cause(component=component, failure_mode=FailureMode.WORN),
    )


def proposed(*names: str, complaints: tuple[str, ...] = ()) -> list[NamePair]:
    told = complaints or tuple(name[::-1].replace(" ", "") for name in names)
    jobs = [case(place, *each) for place, each in enumerate(zip(names, told, strict=True), 1)]
    return proposed_pairs(jobs, WORDING)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("wheel speed sensor", "sensor, wheel speed"),
        ("wheel bearing", "wheel bearings"),
        ("wheel bearing", "wheel bearng"),
        ("alternator connector", "alt conn"),
        ("wpm relay", "water pump motor relay"),
        ("drive belt", "drive belt assy"),
        ("shock absorber", "damper"),
    ],
)
def test_the_same_words_said_otherwise_are_proposed(one: str, other: str) -> None:
    (pair,) = proposed(one, other)
    assert {pair.name, pair.meant} == {one, other}
    assert (pair.jobs, pair.meant_jobs) in {((1,), (2,)), ((2,), (1,))}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("brake pads", "brake pipe"),
        ("crank seal", "cam seal"),
        ("wheel speed sensor", "wheel speed sensor harness"),
        ("horn", "worn"),
        ("battery", "thermostat"),
    ],
)
def test_other_things_are_not(one: str, other: str) -> None:
    assert proposed(one, other) == []


def test_left_and_right_are_places_and_no_names_whatever_the_jobs_say() -> None:
    same = "door lock dead after rain"
    assert proposed("left door lock", "right door lock", complaints=(same, same)) == []


def test_a_part_of_a_name_is_proposed_where_the_jobs_say_the_same() -> None:
    same = "drones louder with speed, growls in bends"
    (pair,) = proposed("wheel bearing", "front wheel bearing", complaints=(same, same))
    assert pair.why.startswith("part of a name")
    other = "clunks over kerbs when turning"
    assert proposed("wheel bearing", "front wheel bearing", complaints=(same, other)) == []


def test_another_word_for_the_same_is_proposed_where_it_stands_beside_several_others() -> None:
    said = {"mat": "airbag lamp on", "door": "window stuck shut", "tank": "gauge reads empty"}
    names = [f"{where} {what}" for where in said for what in ("connector", "plug")]
    jobs = [case(n, name, said[name.split()[0]]) for n, name in enumerate(names, 1)]
    pairs = proposed_pairs(jobs, WORDING)
    assert {pair.why for pair in pairs} == {"connector and plug on jobs alike"}
    assert {frozenset((pair.name, pair.meant)) for pair in pairs} == {
        frozenset(names[at : at + 2]) for at in (0, 2, 4)
    }


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("brake hose", "brake caliper"),
        ("cooling fan relay", "cooling fan connector"),
        ("wheel speed sensor", "wheel bearing"),
        ("washer nozzle", "washer pump"),
        ("battery terminal", "battery"),
    ],
)
def test_parts_of_one_thing_are_no_names_of_each_other(one: str, other: str) -> None:
    """Common practice, no source: parts that are mended for one complaint."""
    same = "pulls to one side, warm after a run"
    assert proposed(one, other, complaints=(same, same)) == []


def test_names_of_the_same_jobs_alone_keep_no_company_that_tells_anything() -> None:
    job = case(1, "crank pulley")
    other = Attempt(action=Action.REPLACED, component="alternator pulley")
    assert proposed_pairs([replace(job, attempts=(other,))], WORDING) == []


def test_the_name_of_more_jobs_is_the_one_meant() -> None:
    jobs = [case(1, "wheel bearng"), case(2, "wheel bearing"), case(3, "wheel bearing")]
    (pair,) = proposed_pairs(jobs, WORDING)
    assert (pair.name, pair.meant, pair.meant_jobs) == ("wheel bearng", "wheel bearing", (2, 3))


def test_no_jobs_have_no_names() -> None:
    assert proposed_pairs([], WORDING) == []
