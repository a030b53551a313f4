"""Readings told as plainly as can be: an item, a number and a unit, and no more in their clause.

Most values of a long list are. What their words and their unit tell is the same whatever the
number, so it is found out once. What is not as plain is left to `kb.intake.reading_search`, which
would read these the same.
"""

from functools import lru_cache
from typing import NamedTuple

from kb.intake.marks import Mark
from kb.intake.reading_beside import WORKED_ON, is_of_another
from kb.intake.reading_drafts import is_vague
from kb.intake.reading_items import item_before
from kb.intake.reading_words import item_and_position
from kb.intake.units import find_unit
from kb.intake.usual_units import usual_quantities
from kb.intake.wording import Wording
from kb.patterns import compiled

_LONGEST_WORDS = 48
_LONGEST_NUMBER = 8
_PLAIN_NUMBER = compiled(r"[0-9]+(?:\.[0-9]+)?")
_MAY_BE_OF_ANOTHER = frozenset(["in", "°"])
"""Inches may be of mercury, and degrees of warmth."""
_NAMES_TOO_LITTLE = frozenset(["", "o2"])


class PlainItem(NamedTuple):
    """What the words in front of a value name, and where among them they begin."""

    item: str
    position: str | None
    begin: int
    is_usual: bool
    """Whether the item is usually measured in the value's unit."""
    may_be_of_another: bool
    """Whether it may name a part of what was read before: ``lp``."""


def plain_item(plain: str, mark: Mark, start: int, end: int, wording: Wording) -> PlainItem | None:
    """Return the item of the one value of a clause that no qualifier stands in.

    None if something else must be thought of: another number, words behind the value, or words
    before it that name no item by themselves.
    """
    match, words = mark.match, plain[start : mark.start]
    if match is None or not mark.is_alone or match.end() > end or len(words) > _LONGEST_WORDS:
        return None
    number = match["number"]
    is_plain = (
        number is not None
        and len(number) <= _LONGEST_NUMBER
        and match.start("number") == mark.start
        and _PLAIN_NUMBER.fullmatch(number)
        and not plain[match.end() : end].strip()
    )
    return _item_of(words, match["unit"], wording) if is_plain else None


@lru_cache(maxsize=4096)
def _item_of(words: str, typed_unit: str, wording: Wording) -> PlainItem | None:
    named, unit = item_before(words, 0, len(words), wording), find_unit(typed_unit)
    if unit is None or not named.words or "at" in words.lower().split():
        return None
    item, position = item_and_position(named.words)
    is_plain = (
        item not in _NAMES_TOO_LITTLE
        and unit.symbol not in _MAY_BE_OF_ANOTHER
        and not is_vague(item, wording)
        and not WORKED_ON.search(words, 0, named.start)
    )
    if not is_plain:
        return None
    is_usual = unit.quantity in usual_quantities(item, wording)
    return PlainItem(item, position, named.start, is_usual, is_of_another(item))
