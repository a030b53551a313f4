"""Pairs of names that may be of one thing: by spelling, shorthand, order, number and company."""

from datetime import date

import pytest

from kb.case import Cause, FailureMode, Job, Vehicle
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


def test_another_word_for_the_same_is_proposed_where_the_jobs_say_the_same() -> None:
    same = "airbag lamp on after seat was moved"
    (pair,) = proposed("mat connector", "mat plug", complaints=(same, same))
    assert pair.why == "connector and plug on jobs alike"


def test_the_name_of_more_jobs_is_the_one_meant() -> None:
    jobs = [case(1, "wheel bearng"), case(2, "wheel bearing"), case(3, "wheel bearing")]
    (pair,) = proposed_pairs(jobs, WORDING)
    assert (pair.name, pair.meant, pair.meant_jobs) == ("wheel bearng", "wheel bearing", (2, 3))


def test_no_jobs_have_no_names() -> None:
    assert proposed_pairs([], WORDING) == []
