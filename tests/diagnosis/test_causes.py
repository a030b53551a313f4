"""Ranked causes: votes become chances that leave room for what was never seen."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.diagnosis.causes import not_seen_before, rank
from kb.recall.recall import Neighbour, Recalled
from kb.settings import Diagnosis

SETTINGS = Diagnosis()


def recalled(*votes: tuple[int, float], cases: int = 100, once: int = 10) -> Recalled:
    neighbours = [
        Neighbour(number=number, cause=cause, chance=chance, alone=cause > 100, parts=())
        for number, (cause, chance) in enumerate(votes, start=1)
    ]
    return Recalled(
        neighbours=tuple(sorted(neighbours, key=lambda each: -each.chance)),
        read_as={},
        strange_codes=(),
        cases=cases,
        causes_seen=20,
        causes_seen_once=once,
    )


def test_the_cause_with_more_and_nearer_cases_comes_first() -> None:
    ranking = rank(recalled((7, 0.8), (7, 0.7), (9, 0.6)), SETTINGS)
    assert [each.cause for each in ranking.causes] == [7, 9]
    assert ranking.causes[0].jobs == (1, 2)


def test_nothing_recalled_means_not_seen_before() -> None:
    ranking = rank(recalled(cases=0, once=0), SETTINGS)
    assert (ranking.causes, ranking.not_seen_before) == ((), 1.0)


def test_an_even_nearest_case_leaves_the_good_turing_mass() -> None:
    # by hand: 10 of 100 causes seen once, smoothed 10.5 / 101, weighs 2; the recalled case, whose
    # cause other cases have too, weighs 0.5
    unseen = not_seen_before(recalled((1, 0.5)), SETTINGS)
    assert unseen == pytest.approx(2 * 10.5 / 101 / 2.5)


def test_neighbours_that_stand_alone_raise_not_seen_before() -> None:
    alone = not_seen_before(recalled((101, 0.5), (102, 0.4)), SETTINGS)
    assert alone > not_seen_before(recalled((1, 0.5), (2, 0.4)), SETTINGS)


votes = st.lists(st.tuples(st.integers(1, 5), st.floats(0.02, 1.0)), max_size=40)


@given(votes, st.integers(0, 50))
def test_chances_and_the_unseen_sum_to_one(pairs: list[tuple[int, float]], once: int) -> None:
    ranking = rank(recalled(*pairs, cases=max(len(pairs), 50), once=once), SETTINGS)
    total = sum(each.chance for each in ranking.causes) + ranking.not_seen_before
    assert total == pytest.approx(1.0)
    assert all(0 <= each.chance <= 1 for each in ranking.causes)
    chances = [each.chance for each in ranking.causes]
    assert chances == sorted(chances, reverse=True)
    told = sorted(number for each in ranking.causes for number in each.jobs)
    assert told == list(range(1, len(pairs) + 1))
