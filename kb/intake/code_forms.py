"""How one trouble code may be typed: signs inside, slips of the finger, suffixes, short forms."""

import re
from typing import NamedTuple

from kb.case import TroubleCode
from kb.intake.code_areas import FAILURE_TYPES
from kb.patterns import compiled

LETTERS = "PCBU"
DIGIT = "[0-9A-FOQILS]"
"""A digit of a code, or the letter that looks like one: O or Q for 0, I or L for 1, S for 5."""
FIRST_DIGIT = "[0-3OIL]"
_AS_DIGITS = str.maketrans("OQILS", "00115")

_FORM = str.maketrans("abcdefghijklmnopqrstuvwxyz‐‑‒–—−\u00a0", "ABCDEFGHIJKLMNOPQRSTUVWXYZ------ ")
_ONE = compiled(
    rf"(?P<letter>[{LETTERS}])(?P<twice>(?P=letter))?[-._ ]?(?P<digits>{FIRST_DIGIT}{DIGIT}{{3}})"
    rf"(?:(?P<joint>[-:._ /]|\()?(?P<type>{DIGIT}{{2}})\)?)?"
    r"(?P<more>[-:.](?:[0-9A-F]{2}|[0-9]{3}))?"
)
_B_AS_8 = compiled(rf"8{FIRST_DIGIT}{DIGIT}{{3}}[-:.]{DIGIT}{{2}}")
PARTED = rf"[{LETTERS}](?= ?{FIRST_DIGIT})(?! ?{DIGIT}{{4}})(?: ?{DIGIT}){{4}}"
"""A code with blanks among its digits; whether they may be another thing is asked apart."""
_BLANKS = compiled(rf"(?P<code>{PARTED})(?P<behind>[-:._/(].*)?")
_DASHED = compiled(r"P(?:[-._ ]?[0-9O]){4}|U[-_ ]?[0O](?:[-_ ]?[0-9O]){3}|U[-._ ]?[0-9O]{4}")
_TOGETHER = compiled(r"[PU][-._ ]?[0-9O]{4}")
_HEX = compiled("[0-9A-F]{2}")
_LEAN = compiled("[PU]O(?:[IL][0-9]{2}|[0-9]O[0-9IL])")
"""Two slips at once where no word of the trade begins so: ``POl71``, but ``POS12``, ``COIL2``."""
_SENSOR = compiled(r"B[12]S[1-4].?")  # bank 1 sensor 2


class TypedCode(NamedTuple):
    """A code as it was meant, and whether it was typed otherwise than codes are written."""

    code: str
    failure_type: str | None
    slip: bool

    def as_code(self) -> TroubleCode:
        """Return the code itself."""
        return TroubleCode(code=self.code, failure_type=self.failure_type)

    def __str__(self) -> str:
        return str(self.as_code())


def one_form(text: str) -> str:
    """Bring letters to capitals, dashes and blanks to one sign; the length stays the same."""
    return text.translate(_FORM)


def as_typed(piece: str) -> TypedCode | None:
    """Read one code, in the form of `one_form`; None if it is none, or may be another thing.

    Examples
    --------
    >>> str(as_typed("P0L71")), str(as_typed("B1201:1B")), str(as_typed("P-01-71"))
    ('P0171', 'B1201-1B', 'P0171')
    >>> as_typed("COILS"), as_typed("P0171B")
    (None, None)
    """
    dashed, eight = _DASHED.fullmatch(piece), _B_AS_8.fullmatch(piece)
    blanks = None if dashed else _BLANKS.fullmatch(piece)
    slip = bool(eight or blanks or (dashed and not _TOGETHER.fullmatch(piece)))
    plain = f"B{piece[1:]}" if eight else re.sub("[-._ ]", "", piece) if dashed else piece
    if blanks:
        plain = blanks["code"].replace(" ", "") + (blanks["behind"] or "")
    match = _ONE.fullmatch(plain)
    if match is None or _SENSOR.fullmatch(plain):
        return None
    digits = match["digits"].translate(_AS_DIGITS)
    kind = match["type"] and match["type"].translate(_AS_DIGITS)
    named = match["joint"] == "-" and match["type"] in FAILURE_TYPES
    sure = _is_sure(match["digits"]) or _LEAN.fullmatch(plain) is not None
    sure = sure or (blanks is not None and sum(map(str.isdigit, match["digits"])) > 1)
    if not (sure or (named and any(map(str.isdigit, match["digits"])))):
        return None
    if kind and not (_HEX.fullmatch(kind) and (match["joint"] or kind in FAILURE_TYPES)):
        return None
    slip = slip or bool(match["twice"] or match["more"])
    slip = slip or (digits, kind) != (match["digits"], match["type"])
    return TypedCode(match["letter"] + digits, kind, slip)


def repaired(digits: str) -> str:
    """Put the letters right that stand for digits."""
    return digits.translate(_AS_DIGITS)


def _is_sure(digits: str) -> bool:
    """Whether four characters are digits of a code: ``COILS``, ``COIL2``, ``POS12`` are words."""
    real = sum(char.isdigit() for char in digits)
    if set("ILQS").isdisjoint(digits):
        return real > 0
    return real > 1 and not set("OILQS").issuperset(digits[:2])
