"""Codes typed with blanks inside (``P0 1 1 3``, ``U112 3``): whether they can be nothing else."""

import itertools
import re
from dataclasses import dataclass

from kb.intake.code_forms import as_typed
from kb.intake.units import find_unit
from kb.patterns import compiled

_NEAR = 40
_WORDS = frozenset(
    ["A", "AD", "AS", "BE", "BAD", "DO", "DOES", "ID", "IF", "IS", "OF", "OIL", "SO"]
)
"""Words of which every letter is a digit of codes, or looks like one."""
_SLIPS = frozenset("OIL")
_BEFORE_NUMBER = compiled(r"(?:[0-9][%\"']? |\b[A-Z]/)$")
"""A number whose unit the letter may be ("20 C 30 15"), or a letter that it belongs to ("A/C")."""
_LETTERED = compiled(
    r"\b(?:BANK|ROW|TRACK|PIN|PLUG|CONN(?:ECTORS?)?|SOCKET|SPLICE|TERMINAL|FUSE|RELAY|GROUP|POINT"
    r"|CYL(?:INDERS?)?|BATT?(?:ERY)?|SPANNUNG|VOLTAGE|TEMP(?:ERATURE)?|DEG(?:REES)?|CLASS|TYPE|MODEL"
    r"|FUEL|OIL|RAIL|BOOST|BRAKE|TYRE|TIRE|COMP(?:RESSION)?|INTAKE|INLET|MANIFOLD|EXHAUST|CRANKCASE"
    r"|LINE|GAS|SYSTEM|TURBO|DPF|STEERING|CLUTCH)[\s:.#]*$"
)
"""What is known by a letter, or has a pressure that is written so; common practice, no source."""
_CALLED = compiled(
    r"\b(?:(?:FEHLER|FAULT|TROUBLE|ERROR)?CODES?|FEHLER(?:SPEICHER)?|DTCS?|FAULTS?|ERRORS?|D[EÉ]FAUTS?"
    r"|B[LŁ][AĄ]?[EĘ]?DY?|CODES? D[EÉ]FAUTS?|STORED|PENDING)[\s:#=]*$"
)
_CODE = r"[PCBU][ -]?[0-3O][0-9A-FOIL]{3}"
_BESIDE_BEFORE = compiled(
    rf"(?<![^\W_]){_CODE}(?:[-:/ ][0-9A-F]{{2}})?[\s,;/&+-]+(?:(?:AND|UND|ET|OR|THEN)\s+)?$"
)
_BESIDE_BEHIND = compiled(rf"[\s,;/&+-]+(?:(?:AND|UND|ET|OR|THEN)\s+)?{_CODE}(?![^\W_])")
_NUMBER_BEHIND = compiled(r" [0-9]+(?![^\W_]|[.,/:-][0-9])")
_COUNTED_BEHIND = compiled(r"\s*(?:X|TIMES?|OFF|OF|PCS|MAL|FOIS|RAZY)(?![^\W_])")
_NEXT_WORD = compiled(r"\s*(\S{0,20})")


@dataclass(frozen=True, slots=True)
class Parted:
    """What a code with blanks in it is, and whether it may be another thing as well."""

    meant: str
    sure: bool


def parted_code(piece: str, text: str, plain: str, start: int) -> Parted | None:
    """Judge digits with blanks among them that would make a code; None if they are none.

    A number that has a unit, or a letter that is the unit of what stands before it, is another
    thing, save for pairs of digits behind a P or U, which are asked about. Where the letter may
    name a connector, a bank, a pressure or a list of cylinders, the code is not sure unless it is
    called one or stands beside another.

    Examples
    --------
    >>> parted_code("P0 1 1 3", "P0 1 1 3 iat", "P0 1 1 3 IAT", 0)
    Parted(meant='P0113', sure=True)
    >>> parted_code("P 16 39", "P 16 39 V", "P 16 39 V", 0)
    Parted(meant='P1639', sure=False)
    >>> parted_code("P 2 150", "P 2 150 bar", "P 2 150 BAR", 0) is None
    True
    >>> parted_code("C10 59", "C10 59 loose", "C10 59 LOOSE", 0)
    Parted(meant='C1059', sure=False)
    """
    typed, end = as_typed(piece), start + len(piece)
    groups = re.findall(r"[^\W_]+", piece[1:])
    before = plain[max(0, start - _NEAR) : start]
    alone = piece[1] == " "
    if typed is None:
        return None
    if _has_unit(text, end):
        pairs = piece[0] in "PUpu" and set(map(len, groups)) == {2} and not _LETTERED.search(before)
        return Parted(str(typed), sure=False) if pairs else None
    if _COUNTED_BEHIND.match(plain, end) or (alone and _BEFORE_NUMBER.search(before)):
        return None
    if any(_is_word(group, groups, text[start:end]) for group in groups):
        return None
    called = (
        _CALLED.search(before) or _BESIDE_BEFORE.search(before) or _BESIDE_BEHIND.match(plain, end)
    )
    number = _NUMBER_BEHIND.match(plain, end)
    follows = number is not None and not _has_unit(text, number.end())
    sure = bool(called) or _is_plain(typed.code, groups, alone=alone)
    return Parted(str(typed), sure and not follows and not (alone and _LETTERED.search(before)))


def _has_unit(text: str, end: int) -> bool:
    behind = _NEXT_WORD.match(text, end)
    return behind is not None and find_unit(behind[1].strip(",.;)")) is not None


def _is_word(group: str, groups: list[str], typed: str) -> bool:
    """Whether letters among the digits may be a word: ``P 1 of 2``, ``B 12 a 3``."""
    if any(map(str.isdigit, group)):
        return False
    if group in _SLIPS and (group == groups[0] or set(map(len, groups)) == {1}):
        return False
    return group in _WORDS or group not in typed


def _is_plain(code: str, groups: list[str], *, alone: bool) -> bool:
    """Whether the way in which digits are parted is that of no other thing."""
    letter, sizes = code[0], [len(group) for group in groups]
    if code[:2] == "C0" and groups[0] == "O" and not alone:
        return False  # carbon monoxide
    if code[1] == "0" and (sizes[0] > 1 or (len(sizes) > len("01") and not alone)):
        return True
    if set(sizes) == {1}:
        digits = code[1:] if alone else code[2:]
        return not _counts_up(digits) or (alone and letter == "P")
    if letter == "P":
        slip = not _SLIPS.isdisjoint("".join(groups))
        return slip or sizes != [1, 3] or alone or code[1] == "0"
    if sizes == [1, 3]:
        return code[1] == "0"
    return letter == "U" and not alone


def _counts_up(digits: str) -> bool:
    return all(one < other for one, other in itertools.pairwise(digits))
