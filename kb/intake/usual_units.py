"""The unit an item is usually measured in: to be offered where a number was written alone."""

import re
from decimal import Decimal
from functools import cache, lru_cache
from pathlib import Path
from typing import NamedTuple

from kb.case import Quantity, Reading, Relation
from kb.intake.items import item_key
from kb.intake.units import find_unit
from kb.intake.values import VALUE
from kb.intake.wording import Wording
from kb.patterns import compiled

USUAL_UNITS_FILE = Path(__file__).with_name("usual_units.txt")
_MOST_CACHED = 20_000
_BEFORE_A_PART = frozenset(
    ["runout", "play", "drop", "vd", "v/d", "ripple", "clearance", "gap", "insulation", "iso"]
)
"""What a part is named behind, with a unit of its own: a hub has a temperature, its runout not."""
_DROP_OVER = compiled(r"(?:v|volt|voltage) drop ")
_FAR_OFF = 10
_THOUSANDS = compiled(r"[1-9][0-9]?,[0-9]{3}")


_SAID = {
    "voltage": Quantity.VOLTAGE,
    "volts": Quantity.VOLTAGE,
    "current": Quantity.CURRENT,
    "resistance": Quantity.RESISTANCE,
    "pressure": Quantity.PRESSURE,
    "temperature": Quantity.TEMPERATURE,
    "temp": Quantity.TEMPERATURE,
}
"""What the last word of an item says is measured, whatever its part is usually measured in."""


class _Usual(NamedTuple):
    unit: str
    least: float
    most: float


def usual_unit(item: str, number: float, wording: Wording) -> str | None:
    """Unit in which an item is usually measured and the number makes sense; None if not known.

    The last words of an item tell it where all of them are no item of the table.

    Examples
    --------
    >>> wording = Wording.default()
    >>> usual_unit("battery", 12.4, wording), usual_unit("compression", 175, wording)
    ('V', 'psi')
    >>> usual_unit("door", 3, wording) is None
    True
    >>> usual_unit("voltage drop relay", 0.3, wording)
    'V'
    """
    for usual in _usual(item, wording):
        if usual.least <= abs(number) < usual.most:
            return usual.unit
    return None


@lru_cache(maxsize=_MOST_CACHED)
def usual_quantities(item: str, wording: Wording) -> frozenset[Quantity]:
    """Quantities that an item is usually measured in; none if it is not known.

    Examples
    --------
    >>> usual_quantities("battery", Wording.default()) == {Quantity.VOLTAGE, Quantity.CURRENT}
    True
    """
    units = (find_unit(usual.unit) for usual in _usual(item, wording))
    return frozenset(unit.quantity for unit in units if unit)


def names_measure(item: str, quantity: Quantity | None, wording: Wording) -> bool:
    """Whether an item is known to be measured in a quantity, or says so with its last word.

    Examples
    --------
    >>> wording = Wording.default()
    >>> names_measure("wheel speed sensor current", Quantity.CURRENT, wording)
    True
    >>> names_measure("battery", Quantity.PRESSURE, wording), names_measure("", None, wording)
    (False, False)
    """
    words = item.casefold().split()
    if not words or quantity is None:
        return False
    return _SAID.get(words[-1]) is quantity or quantity in usual_quantities(item, wording)


def thousands_joined(match: re.Match[str], item: str, wording: Wording) -> re.Match[str]:
    """Read a comma as one between thousands where the item is never measured in so little.

    The match, and what comes back, is of `kb.intake.values.VALUE`.

    Examples
    --------
    >>> match = VALUE.match("1,340 bar")
    >>> thousands_joined(match, "rail pressure", Wording.default())["number"]
    '1340'
    >>> thousands_joined(match, "boost", Wording.default()) is match
    True
    """
    number, unit = match["number"] or "", match["unit"]
    if not _THOUSANDS.fullmatch(number):
        return match
    joined, parted = number.replace(",", ""), number.replace(",", ".")
    is_plain = usual_unit(item, float(joined), wording) == unit
    if not is_plain or usual_unit(item, float(parted), wording) == unit:
        return match
    told = match[0].replace(number, joined)
    return VALUE.fullmatch(told) or match


def is_far_off(reading: Reading, wording: Wording) -> bool:
    """Whether a value is so far above all that its item is measured in that it may be a slip.

    Examples
    --------
    >>> from kb.intake.readings import parse_reading
    >>> wording = Wording.default()
    >>> [
    ...     is_far_off(parse_reading(f"pretensioner {value}"), wording)
    ...     for value in ("2k4", "6.1 ohm", "OL")
    ... ]
    [True, False, False]
    """
    if reading.value is None or reading.relation is Relation.ABOVE:
        return False
    most = _most(reading.item, reading.quantity, wording)
    return most is not None and abs(reading.value) > _FAR_OFF * most


@lru_cache(maxsize=_MOST_CACHED)
def _most(item: str, quantity: Quantity, wording: Wording) -> float | None:
    """Return the most that an item usually has of a quantity; None where nobody knows."""
    name = " ".join(word for word in item.split() if not word.isdigit())
    alike = (
        unit.convert(Decimal(repr(usual.most)))
        for usual in _usual(name, wording)
        if (unit := find_unit(usual.unit)) and unit.quantity is quantity
    )
    return max(alike, default=None)


@lru_cache(maxsize=_MOST_CACHED)
def _usual(item: str, wording: Wording) -> tuple[_Usual, ...]:
    table = _units(wording)
    bare = " ".join(name for word in item.split() if (name := word.rstrip("0123456789")))
    tails = [tail for name in (item, bare) for tail in (*_measures(name), *_tails(name))]
    keys = (item_key(form, wording) for tail in tails for form in (tail, tail.removesuffix("s")))
    return next((table[key] for key in keys if key in table), ())


def _measures(name: str) -> list[str]:
    """Return what was measured, told in front of what it was measured of: ``runout hub``."""
    if _DROP_OVER.match(name):
        return ["voltage drop"]
    measured, *part = name.split() or [""]
    is_told = part and (measured in _BEFORE_A_PART or part[0] in {"at", "on", "in", "of", "across"})
    return [measured] if is_told else []


def _tails(name: str) -> list[str]:
    words = name.split()
    return [" ".join(words[start:]) for start in range(len(words))]


@lru_cache(maxsize=4)
def _units(wording: Wording) -> dict[str, tuple[_Usual, ...]]:
    table: dict[str, tuple[_Usual, ...]] = {}
    for usual, names in _lines():
        for name in names:
            key = item_key(name, wording)
            table[key] = (*table.get(key, ()), usual)
    return table


@cache
def _lines() -> tuple[tuple[_Usual, tuple[str, ...]], ...]:
    read = []
    for line in USUAL_UNITS_FILE.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            told, _, names = line.partition(" = ")
            unit, _, ends = told.partition(" ")
            least, _, most = ends.partition("-")
            usual = _Usual(unit, float(least or 0), float(most or "inf"))
            read.append((usual, tuple(names.split(" | "))))
    return tuple(read)
