"""Vehicle identification numbers: check digit, region, model-year letter; no network."""

import re
from dataclasses import dataclass

from kb.bounds import VIN_PATTERN
from kb.errors import InvalidField
from kb.intake.lifting import Doubt

_VALUES = dict(
    zip(
        "0123456789ABCDEFGHJKLMNPRSTUVWXYZ",
        (*range(10), *range(1, 9), *range(1, 6), 7, 9, *range(2, 10)),
        strict=True,
    )
)
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_YEAR_LETTERS = "ABCDEFGHJKLMNPRSTVWXY123456789"
_FIRST_CYCLE = 1980
NORTH_AMERICA = "North America"
_REGIONS = (
    ("ABCDEFGH", "Africa"),
    ("JKLMNPR", "Asia"),
    ("STUVWXYZ", "Europe"),
    ("12345", NORTH_AMERICA),
    ("67", "Oceania"),
    ("890", "South America"),
)


@dataclass(frozen=True, slots=True)
class VinFacts:
    """What a VIN tells by itself.

    `check_digit_right` and `years` only mean something where the region prescribes them (North
    America); elsewhere the one is None and the other empty. Of the two years that a letter may
    stand for, the first holds for cars and light trucks; heavier ones may be of either.
    """

    vin: str
    region: str
    years: tuple[int, ...] = ()
    check_digit_right: bool | None = None
    doubts: tuple[Doubt, ...] = ()


def check_digit(vin: str) -> str:
    """Compute the ninth character, ``0`` to ``9`` or ``X``, from the other sixteen.

    References
    ----------
    49 CFR 565.15(c): letters valued, weighted by place, summed, remainder of division by 11.

    Examples
    --------
    >>> check_digit("1M8GDM9AXKP042788")
    'X'
    """
    remainder = sum(_VALUES[char] * weight for char, weight in zip(vin, _WEIGHTS, strict=True)) % 11
    return "X" if remainder == 10 else str(remainder)


def check_vin(text: str) -> VinFacts:
    """Check a VIN, in any case, and tell what it says; spaces and dashes do not matter.

    A check digit that does not fit raises a doubt and never refuses a VIN, since outside North
    America the ninth character is the maker's own.

    Raises
    ------
    InvalidField
        If it has not 17 characters, or holds I, O, Q or another sign that no VIN has.

    References
    ----------
    ISO 3779, ISO 3780 (regions); 49 CFR 565.15 (check digit; model year by position 10, and in
    cars and light trucks the cycle by position 7: a digit before 2010, a letter since).

    Examples
    --------
    >>> facts = check_vin("1m8gdm9a xkp042788")
    >>> facts.region, facts.years, facts.check_digit_right
    ('North America', (1989, 2019), True)
    """
    vin = re.sub(r"[\s-]", "", text).upper()
    for letter, digit in (("I", "1"), ("O", "0"), ("Q", "0 or 9")):
        if letter in vin:
            raise InvalidField("vin", text, f"holds {letter}, which no VIN has; {digit} is meant")
    if len(vin) != len(_WEIGHTS):
        raise InvalidField("vin", text, f"has {len(vin)} characters; a VIN has 17")
    if not VIN_PATTERN.fullmatch(vin):
        raise InvalidField("vin", text, "must be 17 letters and digits")
    region = next(name for letters, name in _REGIONS if vin[0] in letters)
    if region != NORTH_AMERICA:
        return VinFacts(vin, region)
    is_right = check_digit(vin) == vin[8]
    years = _years(vin)
    doubts = []
    if not is_right:
        why = f"has {vin[8]} as its check digit where {check_digit(vin)} is due; look for a slip"
        doubts.append(Doubt(vin, why))
    if not years:
        doubts.append(Doubt(vin, f"has {vin[9]} in tenth place, which stands for no model year"))
    return VinFacts(vin, region, years, is_right, tuple(doubts))


def _years(vin: str) -> tuple[int, ...]:
    if vin[9] not in _YEAR_LETTERS:
        return ()
    old = _FIRST_CYCLE + _YEAR_LETTERS.index(vin[9])
    new = old + len(_YEAR_LETTERS)
    return (old, new) if vin[6].isdigit() else (new, old)
