"""How far causes are about what a complaint is about."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.recall.hashing import Keys
from kb.recall.subject_signal import SubjectColumns, at_home, post, rows_about

SUBJECTS = ("horn", "keys", "tyres")
told = st.lists(st.frozensets(st.sampled_from(SUBJECTS)), max_size=12)


def causes(*numbers: int) -> Keys:
    return np.array(numbers, dtype=np.uint64)


def of(
    cases: list[tuple[int, set[str]]], names: dict[int, set[str]], chosen: list[bool] | None = None
) -> SubjectColumns:
    return SubjectColumns(
        cases=post([about for _, about in cases]),
        of_cases=causes(*(cause for cause, _ in cases)),
        in_question=np.array([True] * len(cases) if chosen is None else chosen, dtype=np.bool_),
        causes=post([names[cause] for cause in sorted(names)]),
        of_causes=causes(*sorted(names)),
    )


def test_a_cause_is_about_what_it_is_named_and_what_its_cases_spoke_of() -> None:
    # by hand: cause 1 is named so; of three cases of cause 2 two speak of it, so 2 of 3 + 1
    cases = [(1, set[str]()), (2, {"horn"}), (2, {"horn", "keys"}), (2, set[str]())]
    shop = of(cases, {1: {"horn"}, 2: set()})
    seen, times = causes(1, 2), np.array([1, 3])
    assert at_home(["horn"], [shop], seen, times).tolist() == [1.0, 0.5]
    # of two subjects the mean: keys are spoken of once by cases of cause 2
    assert at_home(["horn", "keys"], [shop], seen, times).tolist() == [0.5, 0.375]


def test_cases_not_in_question_do_not_count() -> None:
    shop = of([(2, {"horn"}), (2, {"horn"})], {2: set()}, [True, False])
    assert at_home(["horn"], [shop], causes(2), np.array([1])).tolist() == [0.5]


def test_a_cause_not_in_question_counts_for_nothing() -> None:
    shop = of([(2, {"horn"})], {2: {"horn"}}, [False])
    assert at_home(["horn"], [shop], causes(), np.array([], dtype=np.int64)).tolist() == []


def test_without_a_subject_no_cause_is_at_home() -> None:
    shop = of([(2, {"horn"})], {2: {"horn"}})
    assert at_home([], [shop], causes(2), np.array([1])).tolist() == [0.0]


@given(told)
def test_every_row_is_found_by_each_of_its_subjects(rows: list[frozenset[str]]) -> None:
    lists = post(rows)
    for subject in SUBJECTS:
        expected = [row for row, about in enumerate(rows) if subject in about]
        assert rows_about(subject, lists).tolist() == expected


@given(told, told, st.sets(st.sampled_from(SUBJECTS), min_size=1))
def test_two_segments_say_what_one_would(
    one: list[frozenset[str]], other: list[frozenset[str]], asked: set[str]
) -> None:
    first, second = (
        [(row % 3, set(about)) for row, about in enumerate(rows)] for rows in (one, other)
    )
    together = first + second
    if not together:
        return
    seen = causes(*sorted({cause for cause, _ in together}))
    times = np.array([sum(cause == c for c, _ in together) for cause in seen.tolist()])
    names = {cause: {"keys"} if cause == 1 else set[str]() for cause in seen.tolist()}
    split = [of(first, names), of(second, names)]
    whole = at_home(asked, [of(together, names)], seen, times)
    assert at_home(asked, split, seen, times) == pytest.approx(whole)
    assert ((whole >= 0) & (whole <= 1)).all()
