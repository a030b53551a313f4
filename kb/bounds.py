"""What a field of a case may hold, said once.

`kb.case` names the bounds of a field in its type (``make: FilledText | None``). From them are
made the checks of the values themselves (`Bounded`), the JSON Schema (`kb.intake.schema`) and the
columns and constraints of the tables (`kb.store.tables`).
"""

import math
import re
from collections.abc import Sized
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import date, datetime
from functools import cache
from typing import Annotated, Any, NamedTuple, Protocol, get_args, get_origin, get_type_hints

from kb.errors import InvalidField

FIRST_YEAR, LAST_YEAR = 1900, 2100
"""Both included; of whole centuries, as the patterns of the JSON Schema take it."""
LONGEST_TEXT = 10_000
"""Characters, of any text."""
LONGEST_KEY = 200
"""Characters, of a short text: one that the databases index (a ref, a uid), or a maker's name."""
MOST_ITEMS = LONGEST_TEXT
"""Of a list: no text that is read says more than one in a character."""
LARGEST_INTEGER = 2**31 - 1
"""What PostgreSQL's ``integer`` holds."""
MOST_MINUTES = 100_000
"""Of one fix or test: a year of one person's work; more is a slip of the keys (common practice, no
source)."""
MOST_COST = 1_000_000_000
"""Of the parts of one fix, in any currency; more is a slip of the keys (common practice, no
source)."""
_MOST_DIGITS = 18
CODE_PATTERN = re.compile(r"[PCBU][0-3][0-9A-F]{3}")
"""A trouble code, as SAE J2012 / ISO 15031-6 build it."""
FAILURE_TYPE_PATTERN = re.compile(r"[0-9A-F]{2}")
"""A failure type byte, as ISO 14229-1 / SAE J2012-DA write it."""
VIN_PATTERN = re.compile(r"[A-HJ-NPR-Z0-9]{17}")
"""A vehicle identification number (ISO 3779), which has no I, O and Q."""
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")
_WHOLE = "must be a whole number from"
_IN_YEARS = f"must lie in {FIRST_YEAR} to {LAST_YEAR}"


def whole_of(text: str) -> int | None:
    """Read a whole number; None of anything else, and of one with more digits than any has here.

    Examples
    --------
    >>> whole_of("12"), whole_of("²"), whole_of("9" * 5000)
    (12, None, None)
    """
    return int(text) if text.isdecimal() and len(text) <= _MOST_DIGITS else None


class Bounds(Protocol):
    """What the values of a field are held to, besides being of its type."""

    def check(self, field: str, value: Any) -> None:
        """Raise `InvalidField`, with what to do about it, for a value outside the bounds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TextBounds:
    """Of a text, which has no control characters but line ends and tabs.

    `longest` is the most characters, with a pattern their exact number; `filled` says that it must
    hold more than blanks. `if_empty` and `if_unlike` are what an error says of a text that is not
    filled, or does not match the pattern.
    """

    longest: int = LONGEST_TEXT
    filled: bool = False
    pattern: re.Pattern[str] | None = None
    if_empty: str = "is empty; write a word or two"
    if_unlike: str = ""

    def check(self, field: str, text: str) -> None:
        """Refuse a text outside the bounds."""
        if self.pattern is not None and self.pattern.fullmatch(text):
            return
        is_filled = not self.filled or (text and not text.isspace())
        if self.pattern is None and is_filled and text.isprintable() and len(text) <= self.longest:
            return
        if self.pattern is None or self.filled:
            check_text(field, text)
        if self.filled and not text.strip():
            raise InvalidField(field, text, self.if_empty)
        if self.pattern is not None:
            raise InvalidField(field, text, self.if_unlike)
        if len(text) > self.longest:
            raise InvalidField(field, text, f"is longer than {self.longest} characters; shorten it")


@dataclass(frozen=True, slots=True)
class NumberBounds:
    """Of a number: the least and the greatest, both included, and what an error says of others.

    `usual` says that more than the greatest is a slip, which the tables need not refuse: older
    stores may hold some.
    """

    least: float = -math.inf
    most: float = math.inf
    must: str = ""
    usual: bool = False

    def check(self, field: str, value: float) -> None:
        """Refuse a number outside the bounds, and one that no database holds unchanged."""
        if value < self.least or value > self.most:
            raise InvalidField(field, value, self.must)
        try:
            held = math.isfinite(value) and float(value) == value
        except OverflowError:
            held = False
        if not held:
            raise InvalidField(field, value, "is not a number that can be held")


@dataclass(frozen=True, slots=True)
class DayBounds:
    """Of a day, or of a moment: within the years from `FIRST_YEAR` to `LAST_YEAR`.

    A moment has a zone, and lies within them by a year at least, so that its day does in any zone.
    """

    def check(self, field: str, day: date) -> None:
        """Refuse a day or moment outside the bounds."""
        inside = FIRST_YEAR <= day.year <= LAST_YEAR
        if isinstance(day, datetime):
            inside = FIRST_YEAR < day.year < LAST_YEAR
            if day.tzinfo is None:
                raise InvalidField(field, str(day), "has no time zone; end it in Z for UTC")
        if not inside:
            raise InvalidField(field, str(day), _IN_YEARS)


FilledText = Annotated[str, TextBounds(filled=True)]
KeyText = Annotated[str, TextBounds(filled=True, longest=LONGEST_KEY)]
UidText = Annotated[
    str,
    TextBounds(
        filled=True, longest=LONGEST_KEY, if_empty="is empty; leave it out to have one made"
    ),
]
VinText = Annotated[
    str,
    TextBounds(
        filled=True,
        longest=17,
        pattern=VIN_PATTERN,
        if_unlike="must be 17 capitals or digits without I, O and Q",
    ),
]
CodeText = Annotated[
    str,
    TextBounds(
        longest=5,
        pattern=CODE_PATTERN,
        if_unlike="must be P, C, B or U, then 0 to 3, then three hex digits",
    ),
]
FailureTypeText = Annotated[
    str, TextBounds(longest=2, pattern=FAILURE_TYPE_PATTERN, if_unlike="must be two hex digits")
]
Count = Annotated[int, NumberBounds(0, LARGEST_INTEGER, f"{_WHOLE} 0 to {LARGEST_INTEGER}")]
Number = Annotated[int, NumberBounds(1, LARGEST_INTEGER, f"{_WHOLE} 1 to {LARGEST_INTEGER}")]
Year = Annotated[int, NumberBounds(FIRST_YEAR, LAST_YEAR, _IN_YEARS)]
Minutes = Annotated[
    int,
    NumberBounds(0, MOST_MINUTES, f"{_WHOLE} 0 to {MOST_MINUTES:,}; look at it again", usual=True),
]
Cost = Annotated[
    float,
    NumberBounds(0, MOST_COST, f"must lie in 0 to {MOST_COST:,}; look at it again", usual=True),
]
Day = Annotated[date, DayBounds()]
Instant = Annotated[datetime, DayBounds()]
_UNNAMED: dict[Any, Bounds] = {str: TextBounds(), float: NumberBounds()}
"""Bounds of a type that names none."""


class FieldType(NamedTuple):
    """What a field of a value holds.

    `kind` is the type of its value, or of one item if it is a list; so are `bounds`, None where
    the type says everything. `optional` says whether it may be None, `required` whether it must
    be given.
    """

    kind: Any
    bounds: Bounds | None
    is_list: bool
    optional: bool
    required: bool


@cache
def field_types(cls: Any) -> dict[str, FieldType]:
    """Fields of a dataclass by name, in order; none of anything else.

    Examples
    --------
    >>> @dataclass
    ... class Door:
    ...     name: FilledText
    ...     hinges: tuple[str, ...] = ()
    >>> [(name, field.kind, field.is_list) for name, field in field_types(Door).items()]
    [('name', <class 'str'>, False), ('hinges', <class 'str'>, True)]
    """
    if not is_dataclass(cls):
        return {}
    hints = get_type_hints(cls, include_extras=True)
    return {
        field.name: _field_type(
            hints[field.name],
            required=field.default is MISSING and field.default_factory is MISSING,
        )
        for field in fields(cls)
    }


def _field_type(hint: Any, *, required: bool) -> FieldType:
    is_list = get_origin(hint) is tuple
    optional = type(None) in get_args(hint)
    if is_list or optional:
        hint = get_args(hint)[0]
    kind, *named = get_args(hint) if get_origin(hint) is Annotated else (hint,)
    bounds = named[0] if named else _UNNAMED.get(kind)
    return FieldType(kind, bounds, is_list, optional, required)


class Bounded:
    """A value that refuses, when it is made, what lies outside the bounds of its fields."""

    __slots__ = ()

    def __post_init__(self) -> None:
        kind: Any = type(self)
        for name, check, is_list in _checks(kind):
            value = getattr(self, name)
            if value is None:
                continue
            if is_list:
                check_count(name, value)
                for item in value if check else ():
                    check(name, item)
            else:
                check(name, value)
        self._check_together()

    def _check_together(self) -> None:
        """Refuse fields that do not fit one another."""


@cache
def _checks(cls: Any) -> tuple[tuple[str, Any, bool], ...]:
    return tuple(
        (name, field.bounds and field.bounds.check, field.is_list)
        for name, field in field_types(cls).items()
        if field.bounds is not None or field.is_list
    )


def check_count(field: str, items: Sized) -> None:
    """Check that a list does not hold absurdly much.

    Raises
    ------
    InvalidField
        If it holds more than `MOST_ITEMS`.
    """
    if len(items) > MOST_ITEMS:
        told = f"{len(items):,} items"
        raise InvalidField(field, told, f"are more than {MOST_ITEMS:,}; leave some out")


def check_text(field: str, text: str) -> None:
    """Check that a text can be stored and comes back the same.

    Raises
    ------
    InvalidField
        If the text is too long, or holds control characters or half a surrogate pair.
    """
    if len(text) > LONGEST_TEXT:
        raise InvalidField(field, text, f"is longer than {LONGEST_TEXT:,} characters; shorten it")
    if text.isprintable():  # most are, and a search takes several times as long
        return
    if found := _UNPRINTABLE.search(text):
        raise InvalidField(field, text, f"holds the unprintable {found.group()!r}; remove it")
