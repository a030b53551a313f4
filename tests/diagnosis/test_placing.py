"""Where on the car: the same place is like, another less so, whatever the part."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Placed
from kb.diagnosis.placing import ELSEWHERE, OTHER_PLACE, facts_of, shares_by_place
from kb.services.ask import causes
from kb.services.inquiry import Question
from kb.settings import Settings
from tests.services.test_follow_up import CLOSED, job, put

PLACES = ("left front", "right front", "left rear", "right rear", "driver", "cylinder 3", "rear")


def case(
    complaint: str = "it is dead", position: str | None = None, where: str | None = None
) -> Placed:
    return Placed(1, complaint, position, where)


@pytest.mark.parametrize(
    ("told", "there", "share"),
    [
        ("LR lock dead", case(position="left rear"), 1),
        ("LR lock dead", case(position="right rear"), OTHER_PLACE),
        ("LR lock dead", case("RR lock dead"), OTHER_PLACE),
        ("LR lock dead", case(where="front door"), ELSEWHERE),
        ("LR lock dead", case(where="under seat"), 1),
        ("LR lock dead", case(), 1),
        ("lock dead", case(position="right rear"), 1),
        ("both LR and RR lock dead", case(position="right front"), 1),
        ("misfire cyl 3", case(position="cylinder 2"), OTHER_PLACE),
        ("misfire cyl 3", case("misfire on cylinder 3"), 1),
        ("rear screen", case(position="driver"), 1),
    ],
)
def test_a_case_at_another_place_counts_less(told: str, there: Placed, share: float) -> None:
    assert shares_by_place(told, [there]).get(1, 1) == share


@given(st.sampled_from(PLACES), st.sampled_from(PLACES))
def test_the_same_place_never_counts_less_and_none_counts_more(here: str, there: str) -> None:
    assert facts_of(here)
    assert shares_by_place(here, [case(position=here)]) == {}
    share = shares_by_place(here, [case(position=there)]).get(1, 1)
    assert share == shares_by_place(there, [case(position=here)]).get(1, 1) <= 1


@pytest.mark.parametrize(("told", "first"), [("LR", "rear door"), ("LF", "front door")])
def test_a_lock_told_at_one_door_is_not_that_of_another(
    empty_store: str, told: str, first: str
) -> None:
    for place, (end, times) in enumerate((("front", 4), ("rear", 3))):
        made = job("K", CLOSED, component="door lock")
        cause = made.cause
        assert cause is not None
        cause = replace(cause, location=f"{end} door", position=f"right {end}")
        cars = [replace(made.vehicle, ref=f"K{place}{n}") for n in range(times)]
        put(empty_store, *(replace(made, vehicle=car, cause=cause) for car in cars))
    answer = causes(empty_store, Question(text=f"{told} door lock dead"), Settings())
    assert answer.causes[0].cause.location == first
