"""Similarity of codes: the ladder from the same code to the same system."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import TroubleCode
from kb.recall import code_signal as codes


def code(text: str) -> TroubleCode:
    plain, _, failure_type = text.partition("-")
    return TroubleCode(code=plain, failure_type=failure_type or None)


def similarity(asked: list[str], theirs: list[str]) -> float:
    columns = codes.build([[code(text) for text in theirs]])
    return float(columns.similarities([code(text) for text in asked])[0])


def test_the_ladder_falls_from_same_code_to_other_system() -> None:
    ladder = [
        similarity(["B1234-13"], ["B1234-13"]),
        similarity(["B1234-13"], ["B1234"]),
        similarity(["B1234-13"], ["B1234-1B"]),
        similarity(["B1234-13"], ["B1277-13"]),
        similarity(["B1234-13"], ["B2234-13"]),
        similarity(["B1234-13"], ["P0301"]),
    ]
    assert ladder[0] == pytest.approx(1.0)
    assert ladder == sorted(set(ladder), reverse=True)
    assert ladder[-1] == 0.0
    # another failure type of the circuit is nearer to the same code than to the family
    assert ladder[1] - ladder[2] < ladder[2] - ladder[3]


def test_a_code_of_the_same_ten_is_nearer_than_one_of_its_family() -> None:
    # SAE J2012: P0335 and P0336 are the crank sensor's, P0301 a misfire; all are P03xx
    same, ten, family = (similarity(["P0335"], [code]) for code in ("P0335", "P0336", "P0301"))
    assert same > ten > 2 * family > 0


def test_missing_codes_are_missing_on_either_side() -> None:
    columns = codes.build([[], [code("P0301")]])
    assert np.isnan(columns.similarities([code("P0301")])[0])
    assert np.isnan(columns.similarities([])).all()


def test_a_job_with_many_other_codes_is_less_alike() -> None:
    assert similarity(["P0301"], ["P0301"]) > similarity(["P0301"], ["P0301", "U0100", "B1234"])


some_codes = st.builds(
    TroubleCode,
    code=st.from_regex(r"[PCBU][0-3][0-9A-F]{3}", fullmatch=True),
    failure_type=st.none() | st.from_regex(r"[0-9A-F]{2}", fullmatch=True),
)


@given(st.lists(st.lists(some_codes, max_size=4), max_size=5), st.lists(some_codes, max_size=4))
def test_similarities_lie_between_zero_and_one(
    rows: list[list[TroubleCode]], asked: list[TroubleCode]
) -> None:
    result = codes.build(rows).similarities(asked)
    for row, value in zip(rows, result, strict=True):
        assert np.isnan(value) if not (row and asked) else 0 <= value <= 1.0001


@given(st.lists(some_codes, min_size=1, max_size=4), st.lists(some_codes, min_size=1, max_size=4))
def test_similarity_is_symmetric(one: list[TroubleCode], other: list[TroubleCode]) -> None:
    forth = codes.build([one]).similarities(other)[0]
    back = codes.build([other]).similarities(one)[0]
    assert forth == pytest.approx(back, abs=1e-6)
