"""Values and bare numbers of a line, in their order."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Stage
from kb.intake.company import Company
from kb.intake.marks import Mark, marks_in


def marks(line: str) -> list[Mark]:
    return marks_in(line, Company(line))


@pytest.mark.parametrize(
    ("line", "values", "numbers"),
    [
        ("comp 12 11 7 bar", ["12", "11", "7 bar"], [1, 2, 3]),
        ("comp 12 11.5 7 12 bar", ["12", "11.5", "7", "12 bar"], [1, 2, 3, 4]),
        ("comp 3 7 4 12 bar", ["7", "12 bar"], [3, 4]),
        ("pads 4 4 6 6mm", ["4", "4", "6", "6mm"], [1, 2, 3, 4]),
        ("glow 1 0.8, 2 0.9", ["0.8", "0.9"], [1, 2]),
        ("inj 3: 2.4 ohm", ["2.4 ohm"], [3]),
        ("battery 12.4 at 2000 rpm", ["12.4"], [None]),
        ("fuse 14 out 22 mA", ["22 mA"], [None]),
        ("oil 1.5 l low, 3 plugs", [], []),
        ("tyre 205/55R16", [], []),
        ("cell 42 2.98 V", ["2.98 V"], [None]),
    ],
)
def test_values_and_how_they_are_counted(
    line: str, values: list[str], numbers: list[int | None]
) -> None:
    found = marks(line)
    assert [line[mark.start : mark.end] for mark in found] == values
    assert [mark.number for mark in found] == numbers


@pytest.mark.parametrize("line", ["trim from 21 to 1", "trim 21 → 1", "oil from 1 to 3 bar"])
def test_what_was_and_what_is(line: str) -> None:
    assert [mark.stage for mark in marks(line)] == [Stage.AS_FOUND, Stage.AFTER_FIX]


@given(
    st.lists(
        st.sampled_from(
            [
                "12",
                "3.4",
                "-5",
                "+6",
                "V",
                "bar",
                "/",
                ",",
                "to",
                "from",
                "→",
                "comp",
                "1",
                "fuse",
                "2k1",
                "OL",
            ]
        )
    )
)
def test_marks_are_in_order_and_apart(words: list[str]) -> None:
    found = marks(" ".join(words))
    ends = [0, *(mark.end for mark in found)]
    assert all(mark.start >= end for mark, end in zip(found, ends, strict=False))
    assert all(mark.start < mark.end for mark in found)
