"""Clauses of a line, and the marks in them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.company import Company
from kb.intake.items import trade_wording
from kb.intake.marks import marks_in
from kb.intake.reading_clauses import Clauses


def clauses(line: str) -> Clauses:
    company = Company(line)
    return Clauses(line, marks_in(line, company), company, trade_wording())


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("feed 4.1 V, ground 0.2 V", ["feed 4.1 V", " ground 0.2 V"]),
        ("feed 4,1 V and ground 0.2 V", ["feed 4,1 V ", " ground 0.2 V"]),
        ("14.4 V, 12.9 with lights and fan on", ["14.4 V", " 12.9 with lights and fan on"]),
        ("comp 12, 11, 7 bar", ["comp 12, 11, 7 bar"]),
        ("hot 1.1 bar cold 3.9 bar, oil pressure", ["hot 1.1 bar cold 3.9 bar, oil pressure"]),
        ("0.3 bar, full load", ["0.3 bar", " full load"]),
    ],
)
def test_a_line_is_parted_into_clauses(line: str, parts: list[str]) -> None:
    assert [line[start:end] for start, end in clauses(line).spans] == parts


def test_an_item_of_a_clause_of_its_own_is_that_of_the_values_before() -> None:
    found = clauses("hot 1.1 bar cold 3.9 bar, oil pressure")
    assert [tail.item for tail in found.tails.values()] == ["oil pressure"]


@given(st.lists(st.sampled_from(["12", "3.4 V", "battery", ",", ";", "and", "then", "cold"])))
def test_every_mark_stands_in_one_clause(words: list[str]) -> None:
    line = " ".join(words)
    found = clauses(line)
    marks = [mark.start for start, end in found.spans for mark in found.marks_within(start, end)]
    assert marks == [mark.start for mark in marks_in(line, Company(line))]
    assert all(one[1] <= other[0] for one, other in zip(found.spans, found.spans[1:], strict=False))
