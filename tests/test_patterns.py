"""A pattern compiled late finds what one compiled at once finds."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.patterns import compiled

PATTERN = r"(?P<number>[0-9]+)(?:\.([0-9]+))? ?(V|ohm)?"


@given(st.text("0123. Vohm"))
def test_it_finds_the_same(text: str) -> None:
    late, early = compiled(PATTERN, re.IGNORECASE), re.compile(PATTERN, re.IGNORECASE)
    assert late.findall(text) == early.findall(text)
    assert late.sub("#", text) == early.sub("#", text)
    found = early.search(text, 1)
    assert repr(late.search(text, 1)) == repr(found)
    assert late.groups == early.groups
    assert late.pattern == early.pattern


def test_a_broken_one_is_known_when_it_is_used() -> None:
    broken = compiled("(")
    with pytest.raises(re.error):
        broken.search("")
