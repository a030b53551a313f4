"""Where on the car: the same place is like, another less so, whatever the part."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import FailureMode, Placed
from kb.diagnosis.causes import CauseChance, Ranking
from kb.diagnosis.placing import ELSEWHERE, brought_here, facts_of, shares_by_place
from kb.services.ask import causes
from kb.services.inquiry import Question
from kb.settings import Settings
from tests.services.test_follow_up import CLOSED, job, put

PLACES = ("left front", "right front", "left rear", "right rear", "driver", "cylinder 3", "rear")
LOCK = "door lock", FailureMode.INTERNAL_FAULT


def ranked(*chances: float) -> Ranking:
    """Causes 1, 2 and so on, each by the job of its number."""
    return Ranking(
        causes=tuple(
            CauseChance(cause=n, chance=chance, jobs=(n,), example=n, by_jobs=chance)
            for n, chance in enumerate(chances, start=1)
        ),
        not_seen_before=1 - sum(chances),
    )


def at(number: int, where: str | None, *what: Any) -> Placed:
    return Placed(number, where, *(what or LOCK))


@pytest.mark.parametrize(
    ("other", "told", "moves"),
    [
        (at(2, "rear door"), "LR lock dead", True),
        (at(2, "rear door"), "lock dead", False),
        (at(2, "rear door"), "LF lock dead", True),
        (at(2, "front seat"), "LR lock dead", False),
        (at(2, "left sill"), "rear lock dead", False),
        (at(2, None), "LR lock dead", False),
        (at(2, "rear door", "door harness", FailureMode.INTERNAL_FAULT), "LR lock dead", False),
        (at(2, "rear door", "door lock", FailureMode.OPEN), "LR lock dead", False),
    ],
)
def test_a_part_elsewhere_speaks_for_its_like_at_the_place_told(
    other: Placed, told: str, moves: bool
) -> None:
    asked = ranked(0.5, 0.1)
    found = brought_here(asked, told, [at(1, "front door"), other])
    assert (found != asked) is moves
    assert sum(each.chance for each in found.causes) == pytest.approx(0.6)
    assert found.not_seen_before == asked.not_seen_before


@given(
    st.lists(st.floats(0.001, 0.2), min_size=1, max_size=5),
    st.lists(st.sampled_from(("front door", "rear door", "left sill", None)), min_size=5),
    st.sampled_from(PLACES),
)
def test_what_is_moved_is_neither_lost_nor_gained(
    chances: list[float], where: list[str | None], told: str
) -> None:
    asked = ranked(*chances)
    found = brought_here(asked, told, [at(n, each) for n, each in enumerate(where, start=1)])
    assert sum(each.chance for each in found.causes) == pytest.approx(sum(chances))
    assert {each.cause for each in found.causes} == {each.cause for each in asked.causes}
    ordered = [each.chance for each in found.causes]
    assert ordered == sorted(ordered, reverse=True)


@pytest.mark.parametrize(
    ("told", "where", "share"),
    [
        ("LR lock dead", "front door", ELSEWHERE),
        ("LR lock dead", "rear door", 1),
        ("LR lock dead", "under seat", 1),
        ("LR lock dead", None, 1),
        ("lock dead", "front door", 1),
        ("both LR and RR lock dead", "front door", 1),
        ("misfire cyl 3", "cylinder 2", ELSEWHERE),
        ("misfire cyl 3", "cylinder 3", 1),
    ],
)
def test_a_case_whose_cause_sits_elsewhere_counts_less(
    told: str, where: str | None, share: float
) -> None:
    assert shares_by_place(told, [at(1, where)]).get(1, 1) == share


@given(st.sampled_from(PLACES), st.sampled_from(PLACES))
def test_the_same_place_never_counts_less_and_none_counts_more(here: str, there: str) -> None:
    assert facts_of(here)
    assert shares_by_place(here, [at(1, here)]) == {}
    share = shares_by_place(here, [at(1, there)]).get(1, 1)
    assert share == shares_by_place(there, [at(1, here)]).get(1, 1) <= 1


@pytest.mark.parametrize(("told", "first"), [("LR", "rear door"), ("LF", "front door")])
@pytest.mark.parametrize("rear", [1, 3])
def test_a_lock_told_at_one_door_is_not_that_of_another(
    empty_store: str, told: str, first: str, rear: int
) -> None:
    for place, (end, times) in enumerate((("front", 4), ("rear", rear))):
        made = job("K", CLOSED, component="door lock")
        cause = made.cause
        assert cause is not None
        cause = replace(cause, location=f"{end} door", position=f"right {end}")
        cars = [replace(made.vehicle, ref=f"K{place}{n}") for n in range(times)]
        put(empty_store, *(replace(made, vehicle=car, cause=cause) for car in cars))
    answer = causes(empty_store, Question(text=f"{told} door lock dead"), Settings())
    assert answer.causes[0].cause.location == first
