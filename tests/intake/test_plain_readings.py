"""Readings told plainly are read at once, and as they are when everything is looked at."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb.intake import reading_search
from kb.intake.items import trade_wording
from kb.intake.marks import Mark
from kb.intake.plain_readings import PlainItem, plain_item
from kb.intake.reading_search import ReadingsFound, find_readings
from kb.intake.values import VALUE

ITEMS = ["battery", "a/c hp", "lp", "can h", "l", "glow plug 3", "timing", "LF pad", "o2", "lamp"]
WORDS = ["cold", "spec", "was", "fitted", "at", "drops", "no", "min", "vacuum at pump", "sensor"]
VALUES = ["12.6 V", "3 bar", "-4 C", "0.9 in", "8 deg", "2k1", "OL", "5-6 A", "14", "1,200 rpm"]
JOINTS = [", ", "; ", " ", " and ", ". ", "/", "\n"]


def plainly(line: str, value: str) -> PlainItem | None:
    match = VALUE.search(line)
    assert match is not None
    assert match[0] == value
    mark = Mark(start=match.start(), end=match.end(), match=match)
    return plain_item(line, mark, 0, len(line), trade_wording())


def with_everything_looked_at(line: str) -> ReadingsFound:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(reading_search, "plain_item", lambda *_, **__: None)
        return find_readings(line)


@given(
    st.lists(
        st.tuples(*map(st.sampled_from, (["", *ITEMS], ["", *WORDS], ["", *VALUES], JOINTS))),
        max_size=6,
    )
)
@example([("a/c hp", "", "12 bar", ", "), ("lp", "", "3 bar", "; ")])
@example([("coolant", "fitted", "12.6 V", ", "), ("battery", "", "12.6 V", "\n")])
@example([("lamp", "", "3 bar", "/"), ("", "", "12.6 V", " "), ("LF pad", "", "3 bar", " ")])
@example(
    [("battery", "", "12.6 V", " "), ("glow plug 3", "drops", "5-6 A", " "), ("l", "", "1", "")]
)
def test_a_reading_is_the_same_whether_read_at_once_or_not(
    told: list[tuple[str, str, str, str]],
) -> None:
    line = "".join(f"{item} {word} {value}{joint}" for item, word, value, joint in told)
    assert find_readings(line) == with_everything_looked_at(line)


@pytest.mark.parametrize(
    ("line", "value", "item", "position"),
    [
        ("battery 12.6 V", "12.6 V", "battery", None),
        ("LF wss 1100 ohm ", "1100 ohm", "wss", "left front"),
        ("customer says rail pressure 310 bar", "310 bar", "rail pressure", None),
    ],
)
def test_an_item_told_plainly(line: str, value: str, item: str, position: str | None) -> None:
    told = plainly(line, value)
    assert told is not None
    assert (told.item, told.position) == (item, position)


@pytest.mark.parametrize(
    ("behind", "is_told"),
    [
        (" coolant 88 C", True),
        (" fuel pressure 3 bar", True),
        (" drop motor 3 V", False),
        (" at pin 4 3 V", False),
        (" left pad 3 mm", True),
        (" LF 3 mm", False),
        (" too low coolant 88 C", False),
        (" after the fix 14 V", False),
        (" falling to 11 V", False),
        (" / 11 V", False),
        (" 11 V", False),
    ],
)
def test_the_first_of_two_is_told_plainly_unless_words_behind_it_may_be_its(
    behind: str, *, is_told: bool
) -> None:
    line = f"battery 12.6 V{behind}"
    first, second = VALUE.finditer(line)
    mark = Mark(start=first.start(), end=first.end(), match=first)
    told = plain_item(line, mark, 0, second.start(), trade_wording(), is_last=False)
    assert (told is not None) == is_told


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("12.6 V", "12.6 V"),
        ("battery 12.6 V at pin 4", "12.6 V"),
        ("vacuum at pump 1 bar", "1 bar"),
        ("manifold vacuum 15 in", "15 in"),
        ("coolant 88 deg", "88 deg"),
        ("coil 1,2 ohm", "1,2 ohm"),
    ],
)
def test_what_must_be_looked_at_further(line: str, value: str) -> None:
    assert plainly(line, value) is None
