"""Whose car it was, where no tag tells."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Contact, Job, Outcome, Vehicle
from kb.recurrence.cars import tell_apart, wear
from kb.settings import RecurrenceSettings

SETTINGS = RecurrenceSettings()
LIDO = Vehicle(make="Corvane", model="Lido", year=2015, engine="1.4 petrol")


def visit(day: int, distance: int | None, vehicle: Vehicle = LIDO, **more: Any) -> Job:
    opened = date(2024, 1, 1) + timedelta(days=day)
    return Job(vehicle=vehicle, opened=opened, complaint="c", odometer_km=distance, **more)


def cars_of(*jobs: Job) -> int:
    return len(set(tell_apart(jobs, SETTINGS).of))


def test_a_rising_odometer_is_one_car() -> None:
    jobs = [visit(0, 80_000), visit(200, 88_000), visit(500, 97_000)]
    found = tell_apart(jobs, SETTINGS)
    assert len(set(found.of)) == 1
    assert len(set(found.apart)) == 3
    assert (found.untagged, found.folded) == (3, 1)


@pytest.mark.parametrize(
    "other",
    [
        visit(200, 79_000),  # ran backwards
        visit(10, 95_000),  # 1,500 km a day
        visit(200, None),
        visit(200, 88_000, replace(LIDO, year=2016)),
        visit(200, 88_000, replace(LIDO, model="Tessel")),
        visit(200, 88_000, replace(LIDO, engine="1.6 diesel")),
        visit(200, 88_000, replace(LIDO, ref="K001")),
    ],
)
def test_what_does_not_fit_is_another_car(other: Job) -> None:
    assert cars_of(visit(0, 80_000), other) == 2


def test_what_nothing_tells_apart_is_as_few_cars_as_may_be() -> None:
    jobs = [visit(0, 80_000), visit(10, None), visit(20, None), visit(300, 88_000)]
    found = tell_apart(jobs, SETTINGS)
    assert (len(set(found.of)), len(set(found.fewest)), found.unread) == (3, 1, 2)
    another = [*jobs, visit(30, None, replace(LIDO, model="Tessel"))]
    assert len(set(tell_apart(another, SETTINGS).fewest)) == 2
    unread = [visit(0, None), visit(10, None, replace(LIDO, ref="K1")), visit(20, 90_000)]
    assert len(set(tell_apart(unread, SETTINGS).fewest)) == 2


def test_a_car_is_taken_to_have_gone_no_faster_than_most_but_for_a_trip() -> None:
    assert cars_of(visit(0, 80_000), visit(10, 81_500)) == 1
    assert cars_of(visit(0, 80_000), visit(100, 87_001)) == 2


def test_without_guessing_only_a_named_comeback_is_the_same_car() -> None:
    came = Contact(on=date(2024, 2, 1), outcome=Outcome.COMEBACK, job=2)
    jobs = [
        visit(0, 80_000, number=1, contacts=(came,)),
        visit(31, 81_000, number=2),
        visit(90, 82_000, number=3),
    ]
    found = tell_apart(jobs, SETTINGS)
    assert len(set(found.of)) == 1
    assert len(set(found.apart)) == 2
    assert found.apart[0] == found.apart[1]


def test_spelling_makes_no_other_car() -> None:
    assert cars_of(visit(0, 80_000), visit(200, 88_000, replace(LIDO, model="LIDO "))) == 1


def test_of_several_it_is_the_nearest() -> None:
    jobs = [visit(0, 80_000), visit(0, 60_000), visit(100, 81_000), visit(101, 61_000)]
    first, second, third, fourth = tell_apart(jobs, SETTINGS).of
    assert (first, second) == (third, fourth)


def test_a_comeback_that_a_job_names_is_its_car() -> None:
    came = Contact(on=date(2024, 2, 1), outcome=Outcome.COMEBACK, job=2)
    assert cars_of(visit(0, None, number=1, contacts=(came,)), visit(31, None, number=2)) == 1


def test_a_tag_tells_whatever_the_odometer() -> None:
    tagged = replace(LIDO, ref="K001")
    assert cars_of(visit(0, 80_000, tagged), visit(9, 20_000, tagged)) == 1


@given(st.lists(st.tuples(st.integers(0, 900), st.none() | st.integers(0, 300_000)), max_size=12))
def test_every_visit_has_a_car_whatever_their_order(rows: list[Any]) -> None:
    jobs = [visit(day, distance) for day, distance in rows]
    found = tell_apart(jobs, SETTINGS)
    assert len(found.of) == found.untagged == len(jobs)
    assert found.folded == len(set(found.of))


def test_wear_is_age_and_distance_in_bands() -> None:
    assert wear(visit(0, 250_000), SETTINGS) == (1, 1)
    assert wear(visit(0, None), SETTINGS) == (1, 0)
    assert wear(visit(0, 10, Vehicle()), SETTINGS) == (None, 0)
    assert wear(visit(0, 10, Vehicle(year=2026)), SETTINGS) == (0, 0)
