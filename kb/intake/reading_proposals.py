"""What is offered where a value lacks its item or its unit, to be taken or left."""

import re
from contextlib import suppress
from functools import lru_cache

from kb.case import Quantity, Reading
from kb.errors import InvalidField
from kb.intake.positions import is_corner
from kb.intake.reading_drafts import LastReading, ReadingDraft, quantity_of
from kb.intake.readings import parse_reading, written
from kb.intake.units import find_unit
from kb.intake.values import read_match
from kb.patterns import compiled

_BATTERY_LIKE = compiled(r"(?:[5-9]|1[0-5])[.,][0-9]{1,2} ?(?:V|volts?)", re.IGNORECASE)
_WHEEL_SENSOR_OHMS = 400, 4000  # of a coil that a toothed ring passes: common practice, no source
_TYRE_PASCALS = 40_000, 500_000
_NEARBY = compiled(r"[^.;\n]{0,48}|[^.;\n]{0,48}[0-9]\.[0-9][^.;\n]{0,40}")
_FAR = 120
_FREE_WORDS = compiled(r"[^\W\d][\w/'’+-]*(?:[ ][^\W\d][\w/'’+-]*){0,3}")
_MUST_BE_SAID = compiled(
    r"\b(?:with|w/?|on|at|when|while|after|in|under|without|others?|rest|now|was|then|act|set)\b",
    re.IGNORECASE,
)
_SMALL = compiled(
    r"(?:(?:and|but|then|now|only|it|that|is|was|just|to|at|got|gave|reads?|has|had|still|about"
    r"|which|dropp?(?:ed|s)|fell|went|rose|settled)(?: |$))+",
    re.IGNORECASE,
)
_BEGINS_CLAUSE = compiled(r"[\s,;(]*(?:(?:and|but|then|now|only|it|was)\b[\s,]*)*")
_DECIMAL = compiled(r"[.,][0-9]")


def item_of_unit(match: re.Match[str], draft: ReadingDraft) -> str | None:
    """Tell what a value most likely is of, by its unit and size: so many volts are the battery's.

    The match is of `kb.intake.values.VALUE`.
    """
    if match["unit"] and _BATTERY_LIKE.fullmatch(match[0]):
        return "charging" if "running" in (draft.own.condition or "") else "battery"
    if match["unit"] == "mA":
        return "parasitic current"
    quantity = quantity_of(match)
    if quantity is Quantity.RESISTANCE:
        return _item_of_ohms(match, draft.position)
    return _item_of_pressure(match, draft) if quantity is Quantity.PRESSURE else None


_OF_CHARGING = compiled(
    r"\b(?:(?:battery|batt|charge|charging|alternator) (?:warning )?(?:light|lamp|lite|symbol|icon)"
    r"|(?:not|no|never|over|under|poor|low|stops?|keeps?)[ -]?charg(?:e|es|ing)|overcharg\w*"
    r"|undercharg\w*|alternator|charging (?:fault|problem|system|low|high)"
    r"|ladekontroll\w*|lädt nicht|batterieleuchte|voyant (?:de )?batterie|kontrolka ładowania)\b",
    re.IGNORECASE,
)
"""What is wrong with the charging, as it is complained of (common practice, no source)."""
_OF_STARTING = compiled(
    r"\b(?:no start|no crank|won['’]?t (?:start|crank)|(?:cranks?|turns?(?: over)?) slow\w*"
    r"|slow (?:to )?crank\w*|hard start\w*|starter)\b",
    re.IGNORECASE,
)
_RUNS = compiled(r"\b(?:idle|idling|tick ?over|running|driving|revs|[0-9]+ ?rpm)\b", re.IGNORECASE)
_ENDS_OF_CHARGING = 8.0, 16.0
"""V, between which a bare voltage of a running 12 V car is that of its charging."""


@lru_cache(maxsize=64)
def _complained_of(plain: str) -> tuple[bool, bool]:
    """Whether a line complains of the charging, and of the starting; looked through once."""
    return _OF_CHARGING.search(plain) is not None, _OF_STARTING.search(plain) is not None


def volts_complained_of(match: re.Match[str], condition: str | None, plain: str) -> str | None:
    """Return of what a bare voltage is in a complaint of charging or starting; None if unknown.

    Of a running engine it is the charging's, while cranking the battery's.
    """
    if quantity_of(match) is not Quantity.VOLTAGE or not match["number"] or not condition:
        return None
    low, high = _ENDS_OF_CHARGING
    value = read_match(match, match[0]).value
    if value is None or not low <= value <= high:
        return None
    charging, starting = _complained_of(plain)
    if "cranking" in condition:
        return "battery" if charging or starting else None
    return "charging voltage" if charging and _RUNS.search(condition) else None


def _item_of_pressure(match: re.Match[str], draft: ReadingDraft) -> str | None:
    if "prime" in (draft.own.condition or ""):
        return "fuel pressure"
    if draft.position in {"low side", "high side"}:
        return "a/c"
    if match["unit"] and is_corner(draft.position):
        with suppress(InvalidField):
            value = read_match(match, match[0]).value
            if value and _TYRE_PASCALS[0] < value < _TYRE_PASCALS[1]:
                return "tyre"
    return None


def _item_of_ohms(match: re.Match[str], position: str | None) -> str | None:
    unit = find_unit(match["unit"] or match["high_unit"] or "")
    if unit and unit.symbol == "MΩ":
        return "insulation"
    with suppress(InvalidField):
        ohms = read_match(match, match[0]).value
        if is_corner(position) and ohms and _WHEEL_SENSOR_OHMS[0] < ohms < _WHEEL_SENSOR_OHMS[1]:
            return "wheel speed sensor"
    return None


def goes_with(last: LastReading | None, plain: str, start: int, *, later: bool) -> bool:
    """Whether a value at a place may be one more of the reading before it.

    With `later` it is told of another time (``now``, ``was``, ``after``): then it may stand in
    another sentence.
    """
    if last is None:
        return False
    return start - last.end < _FAR if later else bool(_NEARBY.fullmatch(plain, last.end, start))


def begins_clause(plain: str, start: int, end: int) -> bool:
    """Whether nothing but small words stands between the start of a clause and a number."""
    return _BEGINS_CLAUSE.fullmatch(plain, start, end) is not None


def is_likely_value(number: str, behind: str) -> bool:
    """Whether a number at the start of a clause is a value, not an amount: ``14,1 ohne``."""
    return bool(_DECIMAL.search(number) or _MUST_BE_SAID.match(behind.lstrip()))


def free_words(text: str) -> str | None:
    """Return a few words that no table knows, which may say when a value was taken."""
    words = text.strip(" \t,;:()=")
    is_free = _FREE_WORDS.fullmatch(words) and not _SMALL.fullmatch(words)
    return words if is_free else None


def tells_when(words: str | None) -> bool:
    """Whether free words in front of a number say when it was measured: ``after load test``."""
    return words is not None and _MUST_BE_SAID.match(words) is not None


def offer(reading: Reading, number: str) -> str:
    """Write a reading out for whoever typed a number alone, where it can be read back."""
    told = written(reading)
    with suppress(InvalidField):
        again = parse_reading(told)
        if (again.item, again.value, again.upper) == (reading.item, reading.value, reading.upper):
            return f"“{told}” if that was measured"
    return f"{number} ohm, {number} V ... if it was measured"
