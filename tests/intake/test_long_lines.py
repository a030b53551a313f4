"""What is read out of a long line is what would be read if every word of it were looked at."""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Complaint
from kb.intake import reading_items
from kb.intake.findings import find_findings
from kb.intake.reading_search import ReadingsFound, find_readings
from kb.intake.reading_words import _TRAILING, trim
from kb.intake.shoptalk import conditions_in, understand

SIGNS = st.sampled_from(["", "", "", ",", ";", ":", ".", " -", "\n", " (", ")"])
BESIDE = """1 07 2.3 12.6V 2k1 ohm V left lf rear row cyl is at reading on the of with plug sensor
motor feed lamp brake customer drop about reads abs idle speed can h"""
BETWEEN = "door plug crank held squeals what battery 4.1 5 bar"
NEAR, FAR = (st.sampled_from(words.split()) for words in (BESIDE, BETWEEN))
PIECES = st.tuples(st.lists(NEAR, max_size=4), FAR, SIGNS)
LINES = st.lists(PIECES, max_size=20).map(
    lambda pieces: " ".join(" ".join([*near, far]) + sign for near, far, sign in pieces)
)
LINKS = "|".join(("good to", "putting out", "puts out", "pushing out", *sorted(_TRAILING)))
EVERY_TRAILING = re.compile(rf"(?:[\s:=,;.(-]++|\b(?:{LINKS}))+\Z", re.IGNORECASE)


def looking_at_everything(line: str) -> ReadingsFound:
    with pytest.MonkeyPatch.context() as patch:
        for name in ("_IN_VIEW", "_LONG", "_FURTHEST"):
            patch.setattr(reading_items, name, 1_000_000)
        return find_readings(line)


@given(LINES)
def test_the_words_beside_a_value_are_enough(line: str) -> None:
    assert find_readings(line) == looking_at_everything(line)


@given(st.lists(st.sampled_from(["is", "at", "now", " ", "-", "plug", "/", "\n", "(", "s"])))
def test_words_are_trimmed_as_one_pattern_would(pieces: list[str]) -> None:
    words = "".join(pieces)
    assert trim(words) == EVERY_TRAILING.sub("", words)


@pytest.mark.parametrize("shape", ["1 ", "07 00 ", "+0 ", "1-", "1 000 ", "2014 ", "((", "1", "a"])
def test_signs_without_a_meaning_stay_as_they_are(shape: str) -> None:
    line = (shape * 10_000)[:10_000].strip()
    said = understand(line).complaint
    assert said == Complaint(text=line)
    assert find_findings(line, date(2026, 3, 2)).rest == line


def test_every_reading_of_a_long_line_is_lifted() -> None:
    found = find_readings("plug 2.3 ohm, " * 2_000)
    assert len(found.readings) == 2_000
    assert {(each.item, each.value) for each in found.readings} == {("plug", 2.3)}
    assert found.rest == ""


def test_a_condition_that_is_denied_at_length_is_none() -> None:
    line = "not when cold, " * 500 + "fine" + " ," * 500 + " when wet, when dry"
    assert list(conditions_in(line)) == ["when dry"]
