"""Readings told as plainly as can be: an item, a number and a unit, and the next item or no more.

Most values of a long list are. What their words and their unit tell is the same whatever the
number, so it is found out once. What is not as plain is left to `kb.intake.reading_search`, which
would read these the same.
"""

import re
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from kb.case import Quantity, Reading
from kb.intake.improbable import is_on_a_meter, may_be_of_two, odd_for
from kb.intake.marks import Mark
from kb.intake.reading_beside import WORKED_ON, is_of_another, names_more
from kb.intake.reading_drafts import is_vague
from kb.intake.reading_items import item_before, position_after
from kb.intake.reading_words import item_and_position, stage_at
from kb.intake.readings import LINK
from kb.intake.stated import is_plainly_measured, objection_behind
from kb.intake.units import Unit, find_unit
from kb.intake.usual_units import is_far_off, usual_quantities
from kb.intake.wording import Wording
from kb.patterns import compiled

_LONGEST_WORDS = 48
_LONGEST_NUMBER = 8
_MAY_BE_OF_ANOTHER = frozenset(["in", "°"])
"""Inches may be of mercury, and degrees of warmth."""
_PLAIN_NUMBER = compiled(r"(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
_LETTER = compiled(r"[^\W\d_]")
_PARTS = compiled("[/@]")
_NAMES_TOO_LITTLE = frozenset(["", "o2"])
_GOES_ON = ("to", "and")
"""What may end the words between two values that one thing had: ``15 inHg flicking to 11``."""


class PlainItem(NamedTuple):
    """What the words in front of a value name, and where among them they begin."""

    item: str
    position: str | None
    begin: int
    unit: Unit
    is_usual: bool
    """Whether the item is usually measured in the value's unit."""
    may_be_of_another: bool
    """Whether it may name a part of what was read before: ``lp``."""


def plain_item(
    plain: str, mark: Mark, start: int, end: int, wording: Wording, *, is_last: bool = True
) -> PlainItem | None:
    """Return the item of a value beside which no qualifier stands, named in the words before it.

    They begin at `start`; what stands behind the value ends at `end`: with the clause, or unless it
    `is_last` where the next value of the clause begins. None if something else must be thought of:
    another number, words behind the value that may be of it, or words before it that name no item
    by themselves.
    """
    match, words = mark.match, plain[start : mark.start]
    if match is None or not mark.is_alone or match.end() > end or len(words) > _LONGEST_WORDS:
        return None
    number = match["number"]
    is_plain = (
        number is not None
        and match.start("number") == mark.start
        and _PLAIN_NUMBER.fullmatch(number)
        and len(number) <= _LONGEST_NUMBER
        and _tells_nothing(plain[match.end() : end + (not is_last)], wording, is_last=is_last)
    )
    return _item_of(words, match["unit"], wording) if is_plain else None


@lru_cache(maxsize=4096)
def _tells_nothing(behind: str, wording: Wording, *, is_last: bool) -> bool:
    """Whether words behind a value tell nothing of it; they end with the first sign of the next."""
    words = behind if is_last else behind[:-1]
    if is_last or not words.strip():
        return is_last and not words.strip()
    return (
        behind[-1].isdigit()
        and _LETTER.search(words) is not None
        and not _PARTS.search(words)
        and not words.rstrip().lower().endswith(_GOES_ON)
        and LINK.match(words) is None
        and not names_more(behind)
        and objection_behind(behind, 0) is None
        and stage_at(behind, 0, len(words)) == (None, 0)
        and position_after(words, 0, len(words), wording) is None
    )


@lru_cache(maxsize=4096)
def _item_of(words: str, typed_unit: str, wording: Wording) -> PlainItem | None:
    named, unit = item_before(words, 0, len(words), wording), find_unit(typed_unit)
    apart = words.rstrip().endswith("-")  # a separator, or the sign of the number
    if unit is None or not named.words or apart or "at" in words.lower().split():
        return None
    item, position = item_and_position(named.words)
    is_plain = (
        item not in _NAMES_TOO_LITTLE
        and unit.symbol not in _MAY_BE_OF_ANOTHER
        and not may_be_of_two(typed_unit)
        and odd_for(item, unit.quantity, wording) is None
        and not is_vague(item, wording)
        and not WORKED_ON.search(words, 0, named.start)
    )
    if not is_plain:
        return None
    is_usual = unit.quantity in usual_quantities(item, wording)
    return PlainItem(item, position, named.start, unit, is_usual, is_of_another(item))


def plain_reading(
    match: re.Match[str], told: PlainItem, wording: Wording, typed: str
) -> Reading | None:
    """Read a number with a unit of an item; None if it was perhaps not measured, or not meant."""
    number, unit = match["number"], told.unit
    if not (
        is_plainly_measured(match, told.item, usual=told.is_usual)
        and is_on_a_meter(float(number) * unit.scale, unit.quantity)
        and not (unit.quantity is Quantity.ROTATION and "." in number)
    ):
        return None
    reading = Reading(
        item=told.item,
        quantity=unit.quantity,
        typed=typed,
        value=unit.convert(Decimal(number)),
        position=told.position,
    )
    return None if is_far_off(reading, wording) else reading
