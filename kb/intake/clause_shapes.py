"""Clauses of plain values, read by what a clause of the same words was read as before.

In a long list the same words come again and again with other numbers. What they name, what tells
them apart and where each reading begins and ends is the same for all of them, so it is found out
once; what depends on a number, or on what stands around the clause, is looked at each time. A
clause that leaves room for anything else is left to `kb.intake.reading_search`.
"""

import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import NamedTuple

from kb.case import Quantity, Reading, Stage
from kb.intake.company import Company
from kb.intake.improbable import doubt_of_value, is_on_a_meter, may_be_of_two, odd_for
from kb.intake.lifting import Place
from kb.intake.marks import Mark
from kb.intake.reading_beside import SIDES_OF_A_CIRCUIT, is_of_another
from kb.intake.reading_drafts import LastReading, uncounted
from kb.intake.stated import (
    IS_LIMITED,
    is_measured,
    is_plainly_measured,
    objection_at,
    objection_behind,
    runs_down,
)
from kb.intake.units import Unit, find_unit
from kb.intake.usual_units import is_far_off, usual_quantities
from kb.intake.values import Value, parse_value, read_match
from kb.intake.wording import Wording
from kb.patterns import compiled

_MOST_SHAPES = 4096
_LONGEST_CLAUSE = 160
_MOST_VALUES = 4
_ONE = r"(?:0|[1-9][0-9]{0,5})(?:\.[0-9]{1,4}|,[0-9]{1,2})?(?:e[+-]?[0-9]{1,2})?"
_NUMBER = compiled(rf"{_ONE}(?:(?:-| - | to ){_ONE})?", re.IGNORECASE)
_AT_THE_END = compiled(r"\bat (?:the )?$", re.IGNORECASE)
_MAY_BE_OF_ANOTHER = frozenset(["in", "°"])
"""Inches may be of mercury, and degrees of warmth."""
_NAMED_OTHERWISE = frozenset(["idle", "charging", "cranking speed", "inlet", "outlet"])
"""Items that a value may have by its size, its state or the value before it."""
_LONGEST_AT = len("at the ")
_APART = compiled("[/()@]")


class _Told(NamedTuple):
    """What one value of a clause was read as, and where that begins and ends beside it."""

    item: str
    position: str | None
    condition: str | None
    stage: Stage
    unit: Unit
    typed_unit: str
    is_usual: bool
    lead: int
    """Signs from where the reading begins to its value."""
    trail: int
    """Signs from the value to where the reading ends."""


class Shape(NamedTuple):
    """The words of a clause and what stands beside its values, whatever the numbers are."""

    before: str
    words: tuple[str, ...]
    marks: tuple[tuple[Stage | None, bool, bool], ...]
    company: tuple[tuple[object, str], ...]


Typed = Callable[[re.Match[str]], str]
Taken = tuple[Reading, Place, str]
"""A reading, its place and the unit it was told in."""


class ClauseShapes:
    """The shapes of the clauses that were read plainly, and what each was read as."""

    def __init__(self, plain: str, company: Company, wording: Wording) -> None:
        self._plain, self._company, self._wording = plain, company, wording
        self._known: dict[Shape, tuple[_Told, ...]] = {}

    def shape(self, marks: Sequence[Mark], start: int, end: int) -> Shape | None:
        """Return the shape of a clause of numbers with units; None if it may hold more."""
        if end - start > _LONGEST_CLAUSE or len(marks) > _MOST_VALUES:
            return None
        words: list[str] = []
        kinds: list[tuple[Stage | None, bool, bool]] = []
        done = start
        for mark in marks:
            stop = _end_of_number(mark)
            is_plain = not (mark.number is not None or mark.row or mark.corner or mark.end > end)
            if not (is_plain and _NUMBER.fullmatch(self._plain, mark.start, stop)):
                return None
            kinds.append((mark.stage, mark.match is None, mark.index_start is not None))
            words.append(self._plain[done : mark.start])
            done = stop
        words.append(self._plain[done:end])
        held = self._company.reaching(start, end)
        if held and (held[0].start < start or held[-1].end > end):
            return None
        if any(map(_APART.search, words)):
            return None
        company = tuple([(each.kind, each.words) for each in held])
        return Shape(self._plain[max(0, start - 1) : start], tuple(words), tuple(kinds), company)

    def taken(
        self, shape: Shape, marks: Sequence[Mark], last: LastReading | None, typed: Typed
    ) -> list[Taken] | None:
        """Read a clause as one of its shape was; None if none was, or a number does not fit."""
        told = self._known.get(shape)
        if told is None or self._has_another_unit(told[0], marks[0], last):
            return None
        taken: list[Taken] = []
        for one, mark in zip(told, marks, strict=True):
            reading = self._reading(one, mark, typed)
            if reading is None:
                return None
            place = Place(mark.start - one.lead, mark.end + one.trail)
            taken.append((reading, place, one.typed_unit))
        ends = {marks[-1].end, taken[-1][1].end}
        return None if any(objection_behind(self._plain, end) for end in ends) else taken

    def _has_another_unit(self, told: _Told, mark: Mark, last: LastReading | None) -> bool:
        """Whether a number without a unit may have that of the reading before, of the same item."""
        is_of_it = not mark.match and last and uncounted(last.item) == uncounted(told.item)
        return bool(is_of_it) and last is not None and last.unit != told.typed_unit

    def _reading(self, told: _Told, mark: Mark, typed: Typed) -> Reading | None:
        value = self._value(told, mark, typed)
        if value is None:
            return None
        reading = Reading(
            item=told.item,
            quantity=told.unit.quantity,
            typed=value.typed,
            relation=value.relation,
            value=value.value,
            upper=value.upper,
            position=told.position,
            condition=told.condition,
            stage=told.stage,
        )
        return None if mark.match and is_far_off(reading, self._wording) else reading

    def _value(self, told: _Told, mark: Mark, typed: Typed) -> Value | None:
        """Read a number with its unit; None where it may be none that was measured, or meant."""
        match, unit = mark.match, told.unit
        if match is None:
            if objection_at(self._plain, mark.start, mark.end):
                return None
            return parse_value(f"{self._plain[mark.start : mark.end]} {told.typed_unit}")
        if match["number"] is None:
            is_meant = (
                is_measured(match, told.item, usual=told.is_usual)
                and objection_at(self._plain, mark.start, mark.end) is None
                and runs_down(match) is None
                and doubt_of_value(match, told.item, self._wording) is None
            )
            return read_match(match, typed(match)) if is_meant else None
        if not is_plainly_measured(match, told.item, usual=told.is_usual):
            return None
        number = Decimal(match["number"].replace(",", "."))
        is_turned = unit.quantity is Quantity.ROTATION and not match["number"].isdigit()
        if is_turned or not is_on_a_meter(float(number) * unit.scale, unit.quantity):
            return None
        return Value(quantity=unit.quantity, typed=typed(match), value=unit.convert(number))

    def learn(
        self,
        shape: Shape,
        marks: Sequence[Mark],
        readings: Sequence[Reading],
        places: Sequence[Place],
    ) -> None:
        """Keep what a clause was read as, if it would be so wherever it stands."""
        if len(self._known) >= _MOST_SHAPES or not len(marks) == len(readings) == len(places):
            return
        if any(words in SIDES_OF_A_CIRCUIT for _, words in shape.company):
            return  # so little may be a drop
        if any(map(IS_LIMITED.search, shape.words[1:-1])):
            return
        ahead = [*marks[1:], None]
        told = [self._told(*each) for each in zip(marks, readings, places, ahead, strict=True)]
        known = [each for each in told if each]
        if len(known) == len(marks) and self._name_themselves(marks, readings, places):
            self._known[shape] = tuple(known)

    def _told(self, mark: Mark, reading: Reading, place: Place, ahead: Mark | None) -> _Told | None:
        """Return what a value was read as; None if that may be due to its number or its place."""
        typed_unit = _unit_of(mark) or (ahead and _unit_of(ahead))
        unit = find_unit(typed_unit) if typed_unit else None
        limit = ahead.start if ahead else len(self._plain)
        is_beside = place.start <= mark.start and mark.end <= place.end <= limit
        if not (typed_unit and unit and is_beside and reading.typed.endswith(typed_unit)):
            return None
        is_plain = (
            unit.quantity is reading.quantity
            and unit.symbol not in _MAY_BE_OF_ANOTHER
            and not may_be_of_two(typed_unit)
            and odd_for(reading.item, unit.quantity, self._wording) is None
            and not is_of_another(reading.item)
            and reading.item not in _NAMED_OTHERWISE
        )
        if not is_plain:
            return None
        return _Told(
            reading.item,
            reading.position,
            reading.condition,
            reading.stage,
            unit,
            typed_unit,
            unit.quantity in usual_quantities(reading.item, self._wording),
            mark.start - place.start,
            place.end - mark.end,
        )

    def _name_themselves(
        self, marks: Sequence[Mark], readings: Sequence[Reading], places: Sequence[Place]
    ) -> bool:
        """Whether the words in front of the values name their items, or the one before does."""
        before, free = "", 0
        for mark, reading, place in zip(marks, readings, places, strict=True):
            words = self._plain[place.start : mark.start].lower()
            near = self._plain[max(free, place.start - _LONGEST_AT) : place.start]
            if place.start < free or _AT_THE_END.search(near) or words.rstrip().endswith("-"):
                return False
            if reading.item not in words and reading.item != before:
                return False
            before, free = reading.item, place.end
        return True


def _end_of_number(mark: Mark) -> int:
    """Where the number of a mark ends, or its range."""
    if mark.match is None:
        return mark.end
    return mark.match.end("high" if mark.match["number"] is None else "number")


def _unit_of(mark: Mark) -> str | None:
    """Return the unit of a value, typed once behind it."""
    match = mark.match
    return (match["unit"] or match["high_unit"]) if match and not match["low_unit"] else None
