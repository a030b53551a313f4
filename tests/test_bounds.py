"""What a field may hold: just inside is taken, just outside is refused, with the cure."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb import case
from kb.bounds import (
    LARGEST_INTEGER,
    LONGEST_KEY,
    LONGEST_TEXT,
    MOST_COST,
    MOST_MINUTES,
    Bounded,
    CodeText,
    Cost,
    Count,
    Day,
    FailureTypeText,
    FilledText,
    Instant,
    KeyText,
    Minutes,
    Number,
    UidText,
    VinText,
    Year,
    check_text,
    field_types,
    whole_of,
)
from kb.errors import InvalidField


@dataclass(frozen=True, slots=True, kw_only=True)
class Everything(Bounded):
    text: str | None = None
    filled: FilledText | None = None
    key: KeyText | None = None
    uid: UidText | None = None
    vin: VinText | None = None
    code: CodeText | None = None
    failure_type: FailureTypeText | None = None
    count: Count | None = None
    number: Number | None = None
    year: Year | None = None
    real: float | None = None
    cost: Cost | None = None
    minutes: Minutes | None = None
    day: Day | None = None
    instant: Instant | None = None
    texts: tuple[str, ...] = ()
    filled_texts: tuple[FilledText, ...] = ()


@pytest.mark.parametrize(
    ("field", "inside", "outside"),
    [
        ("text", ["", " ", "x" * LONGEST_TEXT], ["x" * (LONGEST_TEXT + 1), "bell \x07"]),
        ("filled", ["x", " x "], ["", " \n\t", "x\0"]),
        ("key", ["x" * LONGEST_KEY], ["", "x" * (LONGEST_KEY + 1)]),
        ("uid", ["x" * LONGEST_KEY], [" ", "x" * (LONGEST_KEY + 1)]),
        ("vin", ["1M8GDM9AXKP042788"], ["", "1M8GDM9AXKP04278", "1M8GDM9AXKPO42788", "\0"]),
        ("code", ["P0301", "U3FFF"], ["", "P4301", "P0301\n", "p0301", "\0"]),
        ("failure_type", ["1B"], ["", "1", "1b", "1B "]),
        ("count", [0, LARGEST_INTEGER], [-1, LARGEST_INTEGER + 1, 10**400]),
        ("number", [1], [0, LARGEST_INTEGER + 1]),
        ("year", [1900, 2100], [1899, 2101]),
        ("real", [-1e308, 0.0, 2**53], [float("nan"), float("inf"), 10**400, 2**53 + 1]),
        ("cost", [0, MOST_COST], [-0.01, MOST_COST + 0.01, 1e308, float("nan"), float("inf")]),
        ("minutes", [0, MOST_MINUTES], [-1, MOST_MINUTES + 1, 10**400]),
        ("day", [date(1900, 1, 1), date(2100, 12, 31)], [date(1899, 12, 31), date(2101, 1, 1)]),
        (
            "instant",
            [datetime(1901, 1, 1, tzinfo=UTC), datetime(2099, 12, 31, tzinfo=UTC)],
            [datetime(2026, 3, 2), datetime(1900, 12, 31, tzinfo=UTC)],
        ),
        ("texts", [(), ("", "x"), ("x",) * 10_000], [("x", "x\0"), ("x",) * 10_001]),
        ("filled_texts", [("x",)], [("x", "")]),
    ],
)
def test_bounds_are_included_and_nothing_beyond(
    field: str, inside: list[Any], outside: list[Any]
) -> None:
    for value in inside:
        assert getattr(Everything(**{field: value}), field) == value
    for value in outside:
        with pytest.raises(InvalidField) as refused:
            Everything(**{field: value})
        assert refused.value.field == field
        assert refused.value.cure


def test_what_was_not_recorded_is_not_checked() -> None:
    assert Everything() == Everything(text=None)


def test_every_field_of_the_vocabulary_is_read() -> None:
    for kind in (case.Job, case.Vehicle, case.VehicleModel, case.Reading, case.Attempt):
        assert [*field_types(kind)] == [*kind.__slots__]
    codes = field_types(case.Job)["codes"]
    assert (codes.kind, codes.is_list, codes.optional) == (case.TroubleCode, True, False)
    assert not codes.required
    assert field_types(case.Job)["complaint"].required
    assert field_types(str) == {}


@given(st.text())
def test_text_is_taken_if_utf_8_and_the_keyboard_can_write_it(text: str) -> None:
    try:
        text.encode("utf-8")
        plain = all(char in "\n\t" or not (char < " " or char == "\x7f") for char in text)
    except UnicodeEncodeError:
        plain = False
    try:
        check_text("notes", text)
        taken = True
    except InvalidField:
        taken = False
    assert taken == plain


@given(st.text(st.characters(categories=["Nd", "No", "Lu"])) | st.integers(0).map(str))
@example("9" * 5000)  # more digits than Python reads by default (its documentation of int)
@example("²")
def test_a_whole_number_is_read_or_is_none(text: str) -> None:
    told = whole_of(text)
    assert told is None or told == int(text)
    assert told is not None or not text.isdecimal() or len(text) > 18
