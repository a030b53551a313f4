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
_OF_TWO_MEANINGS = {"MV": "mV (millivolts) or MV (megavolts)", "MA": "mA or MA (megaamps)"}
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
    least, most = _ON_A_METER.get(unit.quantity, (0.0, float("inf")))
    if size < 0 and unit.quantity in _NEVER_NEGATIVE:
        return "is below nothing; write what was measured"
    if size and not least <= abs(size) <= most:
        return "is no value that a meter shows; write what was measured"
    return _odd_for(item, unit.quantity, wording)


@lru_cache(maxsize=4096)
def _odd_for(item: str, quantity: Quantity, wording: Wording) -> str | None:
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
