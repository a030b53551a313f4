"""The voltage beside a resistance of insulation: it tells the system's, and is no reading."""

import re

from kb.case import Quantity
from kb.errors import InvalidField
from kb.intake.values import VALUE, prepare, read_match
from kb.patterns import compiled

_INSULATION = compiled(r"\b(?:insulation|isolation|iso)\b", re.IGNORECASE)
_BEHIND = compiled(
    r"[\s,(]*(?:(?:at|with|on|for) )?(?:an? )?"
    r"(?P<voltage>(?:[0-9]{2,4} ?V(?:olts?)?|[0-9](?:[.,][0-9])? ?kV)\b"
    r"(?:[ -](?:d\.?c\b\.?|a\.?c\b\.?|system|battery|pack|bus|test))*)\)?",
    re.IGNORECASE,
)


def voltage_beside(item: str, plain: str, end: int) -> re.Match[str] | None:
    """Find the voltage just behind a resistance of insulation that ends at a place of a text.

    `plain` was prepared by `kb.intake.values.prepare`; what it tells is the group *voltage*.

    Examples
    --------
    >>> voltage_beside("hv insulation", "hv insulation 60 kohm 800 V dc", 21)["voltage"]
    '800 V dc'
    >>> voltage_beside("battery", "battery 60 kohm 800 V", 15) is None
    True
    """
    return _BEHIND.match(plain, end) if _INSULATION.search(item) else None


def voltage_told(condition: str | None) -> float | None:
    """Return the highest voltage that a condition tells of, in volts; None if it tells none.

    Examples
    --------
    >>> voltage_told("400 V dc"), voltage_told("1 kV"), voltage_told("cold")
    (400.0, 1000.0, None)
    """
    volts = []
    for match in VALUE.finditer(prepare(condition or "")):
        try:
            value = read_match(match, match[0])
        except InvalidField:
            continue
        if value.quantity is Quantity.VOLTAGE and value.value is not None:
            volts.append(value.upper or value.value)
    return max(volts, default=None)
