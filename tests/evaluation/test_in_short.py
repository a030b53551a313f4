"""The one paragraph: its numbers are those of the answers, counted by hand."""

import re

from hypothesis import given
from hypothesis import strategies as st

from kb.evaluation.figures import Answer, Truth, figures
from kb.evaluation.in_short import OFTEN, in_short

FIRST = Answer(chances={1: 0.8, 2: 0.1}, not_seen_before=0.1)
SECOND = Answer(chances={2: 0.8, 1: 0.1}, not_seen_before=0.1)
KNOWN, NEW = Truth(cause=1, new=False), Truth(cause=9, new=True)


def said(first: int, second: int, new: int) -> str:
    answers = [FIRST] * (first + new) + [SECOND] * second
    truths = [KNOWN] * first + [NEW] * new + [KNOWN] * second
    return in_short(figures(answers, truths), new)


def test_of_many_shares_are_told_of_a_hundred() -> None:
    assert said(first=118, second=54, new=128) == (
        "Of complaints with a cause seen before it had the right one first in 69 of 100, among "
        "the first three in 100 of 100; 43 of 100 were new to the shop; when it says 80% it is "
        "right in 39 of 100."
    )


@given(st.integers(0, 30), st.integers(0, 30), st.integers(0, 30))
def test_of_few_the_counts_themselves(first: int, second: int, new: int) -> None:
    total = first + second + new
    if not total:
        return
    line = said(first, second, new)
    found = re.findall(r"(\d+|none|None) of (\d+)", line)
    counts = [(0 if count.lower() == "none" else int(count), int(of)) for count, of in found]
    known = [(first, first + second), (first + second, first + second)]
    assert counts == [
        *(known if first + second else []),
        (new, total),
        *([(first, total)] if total >= OFTEN else []),
    ]


def test_where_all_was_new_nothing_is_said_of_the_rest() -> None:
    assert said(0, 0, 4) == "4 of 4 were new to the shop."
