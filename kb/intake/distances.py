"""What an odometer shows, as people write it: ``80.000``, ``80 000 km``, ``80k``, ``49,700 mi``."""

import re
from typing import NamedTuple

from kb.errors import InvalidField
from kb.intake.lifting import Lifted, cut

ODOMETER = "odometer_km"
"""Field of a job, or of a contact, that holds a distance."""
KM_A_MILE = 1.609344
"""The international mile, by definition (international yard and pound agreement, 1959)."""

_NUMBER = (
    r"(?:(?P<whole>[1-9][0-9]{0,2}(?P<gap>[ .,'’\u00a0\u202f])[0-9]{3}(?:(?P=gap)[0-9]{3})*|[0-9]+)"
    r"|(?P<thousands>[0-9]+(?:[.,][0-9])?) ?(?:k|t(?= ?km)))"
)
_UNIT = r"(?:(?P<km>kms?|kilomet(?:er|re)s?)|(?P<miles>mi|mls?|miles?))"
_ALONE = re.compile(rf"{_NUMBER}(?: ?{_UNIT})?", re.IGNORECASE)
_THOUSANDS = re.compile(
    r"(?<![\w.,])(?P<thousands>[0-9]{1,3}(?:[.,][0-9])?)k(?![\w/])", re.IGNORECASE
)
_IN_TEXT = re.compile(rf"\b(?:at )?(?<![0-9][.,]){_NUMBER} ?{_UNIT}\b", re.IGNORECASE)


class Distance(NamedTuple):
    """A distance in km, and in miles where it was told so."""

    km: int
    miles: int | None = None


def parse_odometer(text: str, field: str = "odometer") -> Distance:
    """Read what an odometer shows: in km, or in miles, which are turned into km.

    A point, comma, blank or apostrophe before three digits parts thousands, for nobody reads an
    odometer in metres.

    Raises
    ------
    InvalidField
        If it is no whole distance.

    Examples
    --------
    >>> [parse_odometer(text).km for text in ("80.000", "80,000 km", "80 000", "80k", "81234")]
    [80000, 80000, 80000, 80000, 81234]
    >>> parse_odometer("75000 mi")
    Distance(km=120701, miles=75000)
    """
    match = _ALONE.fullmatch(" ".join(text.split()))
    if match is None:
        raise InvalidField(field, text, "is no distance; write 81000, 81.000 km or 50k miles")
    return _distance(match)


def lift_odometer(text: str) -> tuple[Distance | None, str]:
    """Take the first distance that names its unit out of a text; with the text without it.

    Examples
    --------
    >>> lift_odometer("came back at 91 000 km, as job 214")
    (Distance(km=91000, miles=None), 'came back, as job 214')
    """
    match = _IN_TEXT.search(text)
    return (None, text) if match is None else (_distance(match), cut(text, [Lifted(*match.span())]))


def lift_odometer_beside_car(text: str) -> tuple[Distance | None, str]:
    """Take the distance out of what was typed of a car, where ``84k`` is one, too.

    Examples
    --------
    >>> lift_odometer_beside_car("bramwick lido 2016, 84tkm")
    (Distance(km=84000, miles=None), 'bramwick lido 2016')
    >>> lift_odometer_beside_car("lido 84k 2016")
    (Distance(km=84000, miles=None), 'lido 2016')
    """
    match = _IN_TEXT.search(text) or _THOUSANDS.search(text)
    return (None, text) if match is None else (_distance(match), cut(text, [Lifted(*match.span())]))


def _distance(match: re.Match[str]) -> Distance:
    found = match.groupdict()
    if found["thousands"]:
        told = round(float(found["thousands"].replace(",", ".")) * 1000)
    else:
        told = int(re.sub("[^0-9]", "", found["whole"]))
    return Distance(round(told * KM_A_MILE), told) if found.get("miles") else Distance(told)
