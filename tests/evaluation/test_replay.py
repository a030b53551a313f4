"""Replay: a case is never found by itself, nor by anything that was not known by then."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Complaint, Job
from kb.evaluation.baselines import Chances
from kb.evaluation.replay import (
    BLOCK_GROWTH,
    TOOL,
    AskedAgain,
    drawn,
    in_time_order,
)
from kb.intake.wording import Wording
from kb.recall.hashing import key
from kb.recall.index import cause_key
from kb.settings import Settings
from tests.recall.shop import CASES

WORDING, SETTINGS = Wording.default(), Settings()


@dataclass
class Listener:
    """A way of ranking that keeps what it was told."""

    name: str = "listener"
    told: list[tuple[list[Job], list[Complaint]]] = field(default_factory=list)

    def rank(
        self, known: Sequence[Job], asked: Sequence[Complaint], days: Sequence[date] | None = None
    ) -> list[Chances]:
        assert days is None or len(days) == len(asked)
        self.told.append((list(known), list(asked)))
        return [{key(cause_key(known[-1])): 1.0} for _ in asked]


def in_order(
    cases: Sequence[Job], least_known: int = 1, since: date | None = None
) -> list[AskedAgain]:
    return list(in_time_order(cases, WORDING, SETTINGS, least_known=least_known, since=since))


def test_each_case_is_asked_of_those_closed_before_its_day() -> None:
    asked = in_order(CASES[::-1])
    assert [each.job.number for each in asked] == [2, 3, 4, 5, 6]
    assert [each.known for each in asked] == [1, 2, 3, 4, 5]
    assert [each.truth.new for each in asked] == [False, True, True, True, True]
    assert [each.model_known for each in asked] == [False, True, False, True, True]
    assert list(asked[0].answers[TOOL].chances) == [key(cause_key(CASES[0]))]


def test_a_case_closed_on_the_day_is_not_known_yet() -> None:
    day = date(2024, 3, 1)
    first = replace(CASES[0], opened=day - timedelta(9), closed=day)
    same_day = replace(CASES[1], opened=day, closed=day)
    next_day = replace(same_day, opened=day + timedelta(1), closed=day + timedelta(1))
    assert in_order([first, same_day]) == []
    assert [each.known for each in in_order([first, next_day])] == [1]


def test_a_case_still_open_when_the_next_came_in_is_not_known() -> None:
    long = replace(CASES[0], closed=date(2024, 5, 15))
    known = {each.job.number: each.known for each in in_order([long, *CASES[1:]])}
    assert known == {3: 1, 4: 2, 5: 3, 6: 5}


def test_least_known_and_since_leave_questions_out_and_nothing_else() -> None:
    assert [each.job.number for each in in_order(CASES, least_known=4)] == [5, 6]
    late = in_order(CASES, since=date(2024, 6, 1))
    assert [(each.job.number, each.known) for each in late] == [(6, 5)]
    assert in_order(CASES, least_known=6) == []


def test_plain_ways_are_told_the_same_and_leave_room_for_what_was_not_seen() -> None:
    listener = Listener()
    asked = list(in_time_order(CASES, WORDING, SETTINGS, [listener], least_known=4))
    known = [[job.number for job in known] for known, _ in listener.told]
    assert known == [[1, 2, 3, 4], [1, 2, 3, 4, 5]]
    # by hand: of four cases two causes were seen once; (2 + 0.5) / (4 + 1)
    assert asked[0].answers["listener"].not_seen_before == pytest.approx(0.5)
    assert sum(asked[0].answers["listener"].chances.values()) == pytest.approx(0.5)


days = st.integers(0, 60).map(lambda day: date(2024, 1, 1) + timedelta(day))
shops = st.lists(st.tuples(days, st.integers(0, 20)), min_size=1, max_size=25)


@given(shops)
def test_nobody_is_ever_told_what_was_not_known_by_then(spans: list[tuple[date, int]]) -> None:
    cases = [
        replace(CASES[place % 6], number=place + 1, opened=day, closed=day + timedelta(length))
        for place, (day, length) in enumerate(spans)
    ]
    listener = Listener()
    asked = list(in_time_order(cases, WORDING, SETTINGS, [listener], least_known=2))
    left = iter(asked)
    for known, complaints in listener.told:
        for _ in complaints:
            question = next(left)
            really = [job for job in cases if job.closed and job.closed < question.job.opened]
            assert {job.number for job in known} <= {job.number for job in really}
            assert len(really) <= len(known) * (1 + BLOCK_GROWTH)
    assert next(left, None) is None


def test_progress_counts_up_to_all() -> None:
    seen: list[tuple[int, int]] = []
    for _ in in_time_order(
        CASES, WORDING, SETTINGS, least_known=1, progress=lambda *step: seen.append(step)
    ):
        pass
    assert [*dict.fromkeys(seen)] == [(done, 5) for done in range(6)]


def test_of_many_questions_some_are_drawn_and_asked_as_before() -> None:
    cases = [
        replace(CASES[place % 6], number=place + 1, opened=day, closed=day)
        for place, day in enumerate(date(2024, 1, 1) + timedelta(n) for n in range(30))
    ]
    some, again = (
        list(in_time_order(cases, WORDING, SETTINGS, least_known=1, most=12)) for _ in range(2)
    )
    numbers = [each.job.number for each in some]
    assert len(numbers) == 12
    assert numbers == sorted(set(numbers), key=lambda number: number or 0)
    assert numbers != list(range(2, 14))
    assert some == again
    known = {each.job.number: each.known for each in in_order(cases)}
    assert all(each.known <= known[each.job.number] * (1 + BLOCK_GROWTH) for each in some)
    assert len(list(in_time_order(cases, WORDING, SETTINGS, least_known=1, most=29))) == 29


@given(st.integers(1, 5_000), st.integers(1, 1_200), st.integers(1, 300))
def test_what_is_drawn_is_spread_evenly_in_stretches(count: int, most: int, stretch: int) -> None:
    questions = [(place, CASES[0]) for place in range(count)]
    places = [place for place, _ in drawn(questions, most, stretch)]
    assert len(places) == len(set(places)) == min(count, most)
    assert places == sorted(places)
    assert [place for place, _ in drawn(questions, None, stretch)] == list(range(count))
    held = set(places)
    begun = [place for place in places if place - 1 not in held]
    assert len(begun) <= most // stretch + 2  # one may be cut short, one go over the end
    for share in (0.25, 0.5, 0.75):
        before = sum(place < count * share for place in places)
        assert abs(before - share * len(places)) <= 2 * stretch + 2
