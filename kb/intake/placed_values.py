"""Values behind an item, a comma and a place: ``pretensioner circuit, left front 5.8 ohm``.

So readings are printed, and so they are written where an item has several places. A comma parts two
things as well, so it is left out only between the name of what is measured in the value's unit and
a place that the value follows at once. How it is written is common practice, no source.
"""

import re
from collections.abc import Iterator

from kb.intake.lifting import Place, blanked
from kb.intake.positions import find_position
from kb.intake.reading_drafts import quantity_of
from kb.intake.reading_items import item_before
from kb.intake.usual_units import names_measure
from kb.intake.values import VALUE
from kb.intake.wording import Wording
from kb.patterns import compiled

_COMMA = compiled(r",(?=\s{1,2}[^\W\d_])")
_WORD = compiled(r"\s{1,2}[^\s,;:]{1,12}")
_LINK = compiled(r"\s{1,2}(?:[:=]\s?)?")
_MOST_WORDS = 3
_ITEM_BEGINS = compiled(r"[,;:.\n]")


def without_place_commas(plain: str, wording: Wording) -> str:
    """Return a text with blanks for the commas between items and places, as long as it was.

    Examples
    --------
    >>> from kb.intake.items import trade_wording
    >>> without_place_commas("pads, front 4 mm, rear 6 mm; lamp on, LF 2.2 ohm", trade_wording())
    'pads  front 4 mm, rear 6 mm; lamp on, LF 2.2 ohm'
    """
    if "," not in plain:
        return plain
    return blanked(plain, _commas(plain, wording))


def _commas(plain: str, wording: Wording) -> Iterator[Place]:
    for comma in _COMMA.finditer(plain):
        value = _value_behind_place(plain, comma.end())
        if value and _is_measured_so(plain, comma.start(), value, wording):
            yield Place(*comma.span())


def _value_behind_place(plain: str, start: int) -> re.Match[str] | None:
    """Return the value that follows a place at once; None where there is no such."""
    end, found = start, None
    for _ in range(_MOST_WORDS):
        word = _WORD.match(plain, end)
        if not word:
            break
        end = word.end()
        position, rest = find_position(plain[start:end])
        link = _LINK.match(plain, end)
        if position and not rest and link and (value := VALUE.match(plain, link.end())):
            found = value
    return found


def _is_measured_so(plain: str, end: int, value: re.Match[str], wording: Wording) -> bool:
    """Whether what stands before a comma is the name of what is measured in a value's unit."""
    breaks = [each.end() for each in _ITEM_BEGINS.finditer(plain, max(0, end - 200), end)]
    item = item_before(plain, breaks[-1] if breaks else max(0, end - 200), end, wording)
    last = item.words.split()[-1:]
    if item.end != end or not last or find_position(last[0])[0] is not None:
        return False
    return names_measure(item.words, quantity_of(value), wording)
