"""Similarity of tests made on both sides."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import DiagnosticTest
from kb.intake.wording import Wording
from kb.recall import findings

WORDING = Wording.default()


def seen(name: str, text: str) -> DiagnosticTest:
    return DiagnosticTest(name=name, seen=text)


def similarity(asked: list[DiagnosticTest], theirs: list[DiagnosticTest]) -> float:
    return float(findings.build([theirs], WORDING).similarities(asked, WORDING)[0])


def test_a_test_only_one_side_made_is_missing() -> None:
    assert np.isnan(similarity([seen("wiggle test", "jumps")], [seen("drag test", "loose")]))
    assert np.isnan(similarity([], [seen("drag test", "loose")]))


def test_one_test_in_common_is_drawn_towards_neutral() -> None:
    # by hand: one full match among five neutral ones, (1 + 2.5) / 6
    same = similarity([seen("Wiggle test", "value jumps")], [seen("wiggle test", "jumps, value")])
    assert same == pytest.approx(3.5 / 6)
    other = similarity([seen("wiggle test", "steady")], [seen("wiggle test", "jumps")])
    assert other == pytest.approx(2.5 / 6)


def test_more_agreement_is_surer() -> None:
    def on(count: int) -> list[DiagnosticTest]:
        return [seen(f"look {place}", "dry") for place in range(count)]

    ladder = [similarity(on(count), on(count)) for count in (1, 3, 10, 30)]
    assert ladder == sorted(ladder)
    assert ladder[-1] < 1


def test_every_row_is_answered_for_itself() -> None:
    rows = [[seen("drag test", "loose")], [], [seen("drag test", "tight"), seen("look", "green")]]
    found = findings.build(rows, WORDING).similarities([seen("drag test", "tight")], WORDING)
    assert np.isnan(found[1])
    assert found[2] > found[0]


tests = st.lists(
    st.builds(
        seen,
        st.sampled_from(["drag test", "look under seat", "wiggle test"]),
        st.sampled_from(["dry", "wet and green", "jumps", "not loose", "?"]),
    ),
    max_size=5,
)


@given(tests, st.lists(tests, max_size=4))
def test_similarity_lies_between_none_and_full(
    asked: list[DiagnosticTest], rows: list[list[DiagnosticTest]]
) -> None:
    found = findings.build(rows, WORDING).similarities(asked, WORDING)
    assert found.shape == (len(rows),)
    assert np.all(np.isnan(found) | ((found >= 0) & (found <= 1)))
