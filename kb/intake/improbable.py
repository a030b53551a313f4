"""Values with a unit that can hardly be meant, so that they are asked about."""

import re
from functools import lru_cache
from typing import NamedTuple

from kb.case import Quantity, Reading, Relation
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
_DASH_APART = compiled(r"(?:^|\s)-\s{1,2}$")
_SIGNED = compiled(r"\b(?:trims?|[sl]tft?|correction|balance)\b", re.IGNORECASE)
_UNSIGNED = compiled(r"[0-9]+(?:[.,][0-9]+)?")
_COLDEST = 60.0
"""Degrees that may be of frost, or what a control unit reads of an open sensor."""
_ADD = "or add it as a reading if it was measured: kb job add reading"
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
    return (
        doubt_of_nought(match)
        or _doubt_of_sign(match, item)
        or _doubt_of_size(match, item, wording)
    )


class _Usual(NamedTuple):
    """What something usually has in a state; the state None is every one."""

    quantity: Quantity
    state: str | None
    least: float
    most: float


_OF_A_BATTERY = (
    _Usual(Quantity.VOLTAGE, "at rest", 10.5, 13.5),
    _Usual(Quantity.VOLTAGE, "cranking", 6.0, 13.0),
    _Usual(Quantity.VOLTAGE, "running", 12.0, 15.5),
    _Usual(Quantity.VOLTAGE, "at idle", 12.0, 15.5),
)
_OF_CHARGING = (_Usual(Quantity.VOLTAGE, None, 12.0, 15.5),)
_OF_COOLANT = tuple(
    _Usual(Quantity.TEMPERATURE, state, 60.0, 120.0) for state in ("hot", "warm", "running")
)
_IN_A_STATE = {
    **dict.fromkeys(("battery", "batt", "bat", "vbatt", "batterie"), _OF_A_BATTERY),
    **dict.fromkeys(("charging", "charging voltage", "alternator output"), _OF_CHARGING),
    **dict.fromkeys(("coolant", "coolant temp", "coolant temperature", "ect"), _OF_COOLANT),
}
"""What is usual of the items in which a slipped point is told by that; of 12 V, not of 24 V or
48 V, whose values are no tenth and no tenfold of these (common practice, no source)."""


def slip_of_point(reading: Reading) -> str | None:
    """Say that a value is a tenth or the tenfold of what its item has in that state: ``1,24 V``.

    Examples
    --------
    >>> from kb.intake.readings import parse_reading
    >>> slip_of_point(parse_reading("battery 1.24 V @ at rest"))
    'is hardly meant; write 12.4 V, or add it as a reading if it was measured: kb job add reading'
    >>> slip_of_point(parse_reading("battery 12.4 V @ at rest")) is None
    True
    """
    usual = _IN_A_STATE.get(reading.item)
    if not usual or not reading.value or reading.relation is not Relation.EXACT:
        return None
    states = [None, *(reading.condition or "").split(", ")]
    for quantity, state, least, most in usual:
        if reading.quantity is quantity and state in states and not least <= reading.value <= most:
            slips = (reading.value * 10, reading.value / 10)
            meant = next((value for value in slips if least <= value <= most), None)
            if meant is not None:
                return f"is hardly meant; write {meant:g} {quantity.unit}, {_ADD}"
    return None


def _doubt_of_sign(match: re.Match[str], item: str) -> str | None:
    """Say that a dash apart from its number may be its sign: ``iat reads - 40 C``."""
    start, number = match.start("number"), match["number"] or ""
    unit = find_unit(match["unit"]) if match["unit"] else None
    if not (
        unit
        and _UNSIGNED.fullmatch(number)
        and _DASH_APART.search(match.string, max(0, start - len("a -  ")), start)
    ):
        return None
    quantity = unit.quantity
    is_small = float(number.replace(",", ".")) <= _COLDEST
    signed = (
        (quantity is Quantity.TEMPERATURE and is_small)
        or quantity is Quantity.ANGLE
        or (quantity is Quantity.PROPORTION and _SIGNED.search(item))
    )
    return f"may be {number} or -{number}; write which, without a blank" if signed else None


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
