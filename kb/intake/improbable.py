"""Values with a unit that can hardly be meant, so that they are asked about."""

import re
from functools import lru_cache

from kb.case import Quantity
from kb.intake.grammar import with_article
from kb.intake.units import find_unit
from kb.intake.usual_units import usual_quantities
from kb.intake.wording import Wording
from kb.patterns import compiled

_ELECTRICAL = frozenset({Quantity.RESISTANCE, Quantity.VOLTAGE, Quantity.CURRENT})
_MECHANICAL = frozenset(
    {Quantity.PRESSURE, Quantity.MASS_FLOW, Quantity.TORQUE, Quantity.ROTATION, Quantity.SPEED}
)
_NEVER_NEGATIVE = frozenset({Quantity.RESISTANCE, Quantity.FREQUENCY, Quantity.ROTATION})
_ON_A_METER = {
    Quantity.RESISTANCE: (1e-6, 1e12),
    Quantity.VOLTAGE: (1e-6, 1e5),
    Quantity.CURRENT: (1e-9, 1e4),
}
"""Least and largest size of what any meter of a workshop shows, but for nothing; from memory."""
_ANY = 0.0, float("inf")
_OF_TWO_MEANINGS = {"MV": "mV (millivolts) or MV (megavolts)", "MA": "mA or MA (megaamps)"}
_LEADING_NOUGHT = compiled(r"[-+±~ ]*0[0-9]")
_SOURCE = compiled(r"(?:battery|batt|accumulator)$", re.IGNORECASE)
_MAY_HAVE_PRESSURE = compiled(
    r"\b(?:sensors?|sender|switch|valve|regulator|solenoid|transducer|injectors?|pump|compressor"
    r"|cooler|fan|map|boost|press\w*)\b",
    re.IGNORECASE,
)


def doubt_of_value(match: re.Match[str], item: str, wording: Wording) -> str | None:
    """Say why a value is hardly the one that was meant; None if it may be.

    The match is of `kb.intake.values.VALUE`, in its whole text.

    Examples
    --------
    >>> from kb.intake.values import VALUE
    >>> doubt_of_value(VALUE.search("coil -5 ohm"), "coil", Wording.default())
    'is below nothing; write what was measured'
    >>> doubt_of_value(VALUE.search("coil 5 ohm"), "coil", Wording.default()) is None
    True
    """
    return doubt_of_nought(match) or _doubt_of_size(match, item, wording)


def _doubt_of_size(match: re.Match[str], item: str, wording: Wording) -> str | None:
    typed = match["unit"]
    unit = find_unit(typed) if typed else None
    if unit is None or not match["number"]:
        return None
    if typed in _OF_TWO_MEANINGS and not match.string.isupper():
        return f"has a unit that may be {_OF_TWO_MEANINGS[typed]}; write which"
    number = match["number"].replace(",", ".").replace(" ", "")
    try:
        size = float(number) * unit.scale
    except ValueError:
        return None
    if size < 0 and unit.quantity in _NEVER_NEGATIVE:
        return "is below nothing; write what was measured"
    if not is_on_a_meter(size, unit.quantity):
        return "is no value that a meter shows; write what was measured"
    return odd_for(item, unit.quantity, wording)


def is_on_a_meter(size: float, quantity: Quantity) -> bool:
    """Whether a meter of a workshop shows so much of a quantity, or so little."""
    least, most = _ON_A_METER.get(quantity, _ANY)
    return not size or least <= abs(size) <= most


def may_be_of_two(typed_unit: str) -> bool:
    """Whether a unit is another where capitals are not meant: ``MV``."""
    return typed_unit in _OF_TWO_MEANINGS


def doubt_of_nought(match: re.Match[str]) -> str | None:
    """Say that a number begins with a nought, so that a point or a digit may be missing: ``03 V``.

    Examples
    --------
    >>> from kb.intake.values import VALUE
    >>> doubt_of_nought(VALUE.search("feed 03 V"))
    'begins with a nought: a point or a digit may be missing; write 3 or 0.3'
    >>> doubt_of_nought(VALUE.search("feed 0.3 V")) is None
    True
    """
    for name in ("number", "low", "high"):
        typed = match[name] or ""
        if _LEADING_NOUGHT.match(typed):
            digits = typed.lstrip("-+±~ ")
            plain = digits.lstrip("0") or "0"
            meant = plain if plain[0].isdigit() else f"0{plain}"
            other = f" or 0.{digits.lstrip('0')}" if digits.isdigit() and digits.strip("0") else ""
            return f"begins with a nought: a point or a digit may be missing; write {meant}{other}"
    return None


@lru_cache(maxsize=4096)
def odd_for(item: str, quantity: Quantity, wording: Wording) -> str | None:
    """Say that an item has no value of a quantity: a coil no pressure, a battery no ohms."""
    usual = usual_quantities(item, wording)
    mechanical = quantity in _MECHANICAL and usual and usual <= _ELECTRICAL
    mechanical = bool(mechanical) and not _MAY_HAVE_PRESSURE.search(item)
    inside = quantity is Quantity.RESISTANCE and _SOURCE.search(item) is not None
    if mechanical or (inside and Quantity.RESISTANCE not in usual):
        return (
            f"is {with_article(quantity)}, which is not measured of “{item}”; write what it was of"
        )
    return None
