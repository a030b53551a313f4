"""Trouble codes: from what people type to `TroubleCode`, and what the structure tells.

Letter, range and failure type byte follow SAE J2012 / ISO 15031-6 and ISO 14229-1. What a single
maker-defined code means is for the shop's own cases to say.
"""

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, replace

from kb.bounds import CODE_PATTERN, VIN_PATTERN
from kb.case import CodeStatus, TroubleCode
from kb.errors import InvalidField
from kb.intake.code_areas import (
    FAILURE_CATEGORIES,
    FAILURE_TYPES,
    SYSTEMS,
    Origin,
    area_of,
    origin_of,
)
from kb.intake.lifting import Doubt, Lifted, Place, cut
from kb.intake.units import find_unit

_LONGEST_RANGE = 16
_NEAR = 40
_LETTERS = "PCBU"

_STATUS = {
    "current": CodeStatus.CURRENT,
    "active": CodeStatus.CURRENT,
    "present": CodeStatus.CURRENT,
    "pending": CodeStatus.PENDING,
    "stored": CodeStatus.STORED,
    "history": CodeStatus.STORED,
    "historic": CodeStatus.STORED,
    "confirmed": CodeStatus.STORED,
    "permanent": CodeStatus.STORED,
}
_STATUS_WORD = "|".join(_STATUS)
_DASH = str.maketrans("‐‑‒–—−", "------")
_AS_HEX = str.maketrans("OIL", "011")

_WHOLE = re.compile(
    r"(?:DTC|CODE|FAULT CODE)?[\s:#]*"
    r"(?P<letter>[PCBU])[\s\-.]*(?P<digits>[0-9A-FOIL]{4})"
    r"(?:(?:[\s\-:./(\[]|FTB?)*(?P<type>[0-9A-FOIL]{2})[)\]]?)?"
)
_RAW = re.compile(r"(?:0X|\$)([0-9A-F]{4})([0-9A-F]{2})?")
_STATUS_AT_END = re.compile(rf"(?<![\s,;(\[])[\s,;(\[]+({_STATUS_WORD})[)\]]?$", re.IGNORECASE)


def parse_code(text: str) -> TroubleCode:
    """Read one trouble code that somebody typed.

    As ``P0171``, ``p 0171``, ``PO171`` (letter O), ``b1234 13``, ``B1234-13 stored``, or the raw
    bytes of the control unit, ``0x012700``.

    Raises
    ------
    InvalidField
        If it is none; the message says what is amiss.

    References
    ----------
    Two- and three-byte form: SAE J2012-DA; the top two bits are the letter (P, C, B, U).

    Examples
    --------
    >>> str(parse_code("po171")), str(parse_code("b1234 13")), str(parse_code("0x803910"))
    ('P0171', 'B1234-13', 'B0039-10')
    """
    plain = unicodedata.normalize("NFKC", text).translate(_DASH).strip()
    status = None
    at_end = _STATUS_AT_END.search(plain)
    if at_end:
        status = _STATUS[at_end[1].lower()]
        plain = plain[: at_end.start()]
    upper = plain.upper()
    raw = _RAW.fullmatch(upper)
    if raw:
        return replace(_from_bytes(int(raw[1], 16), raw[2]), status=status)
    match = _WHOLE.fullmatch(upper)
    if match:
        code = match["letter"] + match["digits"].translate(_AS_HEX)
        if CODE_PATTERN.fullmatch(code):
            failure_type = match["type"] and match["type"].translate(_AS_HEX)
            return TroubleCode(code=code, failure_type=failure_type, status=status)
    raise InvalidField("code", text, _what_is_amiss(upper))


def _from_bytes(two: int, failure_type: str | None) -> TroubleCode:
    code = f"{_LETTERS[two >> 14]}{two & 0x3FFF:04X}"
    return TroubleCode(code=code, failure_type=failure_type)


def _what_is_amiss(upper: str) -> str:
    bare = re.sub(r"[^0-9A-Z]", "", upper)
    shape = "write it as P0171, with a failure type as B1234-13"
    if len(_INSIDE.findall(upper)) > 1:
        shape = "holds more than one code; write each by itself"
    elif re.fullmatch(r"[0-9][0-9A-F]{3}", bare):
        shape = f"lacks its letter; write P{bare}, C{bare}, B{bare} or U{bare}"
    elif bare and bare[0] not in _LETTERS:
        shape = f"does not start with P, C, B or U; {shape}"
    elif re.match(r"[4-9]", bare[1:]):
        shape = f"has {bare[1]} after its letter, where only 0 to 3 occur; {shape}"
    elif re.fullmatch(r"[0-9A-F]+", bare[1:]):
        shape = f"has {len(bare) - 1} digits after its letter, where 4 are due; {shape}"
    else:
        shape = f"is no trouble code; {shape}"
    return shape


@dataclass(frozen=True, slots=True)
class CodesFound:
    """Codes lifted out of a text, the text without them, and what only looked like a code.

    `places` tell where each code stands, all codes of a range in the same place; `lifted` what was
    taken out with them: their status, and the words that introduce them.
    """

    codes: tuple[TroubleCode, ...]
    rest: str
    doubtful: tuple[Doubt, ...] = ()
    places: tuple[Place, ...] = ()
    lifted: tuple[Place, ...] = ()


_CODE = r"[PCBU][-‐‑–—−]?[0-3O][0-9A-FO]{3}"
_DASHES = r"[-‐‑–—−]"
_END_OF_WORD = r"(?![A-Za-z0-9])"
_ENDS_PHRASE = rf"\s*(?:$|[,;.()\[\]/&+!?\n]|(?:and|then|only|{_STATUS_WORD})\b|[PCBU][ -]?[0-3O])"

# Letters and digits, joined by signs that occur inside codes and part numbers.
_RUN = re.compile(
    rf"[A-Za-z0-9](?:[A-Za-z0-9]|[/&+_](?=[A-Za-z0-9])|\.(?=[0-9])"
    rf"|{_DASHES}(?=[A-Za-z0-9])(?![A-Za-z]{{4}})|:(?=[0-9A-Fa-f]{{2}}{_END_OF_WORD}))*"
)
_PIECE = re.compile(rf"(?P<code>{_CODE})(?:(?:{_DASHES}|:)(?P<type>[0-9A-F]{{2}}))?")
_RANGE = re.compile(
    rf"(?P<first>{_CODE}){_DASHES}(?P<letter>[PCBU]?)(?P<last>[0-3O][0-9A-FO]{{3}})"
)
# "COCOA" and "BOOED" would be codes if every O might be a zero: one digit must be a real one.
_SURE = re.compile(rf"[PCBU]{_DASHES}?(?:[0-3]|O[0-9A-FO]*[0-9])")
_DIGITS = re.compile(r"[0-3O][0-9A-FO]{3}")
_INSIDE = re.compile(r"[PCBU][0-3O](?=[0-9A-F]*[0-9])[0-9A-F]{3}")

_SPACED = re.compile(rf"(?<![A-Za-z0-9])([PCBU]) ([0-3O][0-9A-FO]{{3}}){_END_OF_WORD}", re.I)
_SPACED_RANGE = re.compile(rf"({_CODE})\s+(?:to|thru|through|{_DASHES})\s+(?={_CODE})", re.I)
_LOOSE_TYPE = re.compile(
    rf"(?<![A-Za-z0-9])({_CODE}) ((?=[0-9A-F]?[0-9])[0-9A-F]{{2}}){_END_OF_WORD}(?![.,]?[0-9])",
    re.I,
)
_AFTER_TYPE = re.compile(_ENDS_PHRASE, re.I)
_STATUS_AFTER = re.compile(
    rf"[ ,]*[(\[]?\b(?:(pending|stored)\b|({_STATUS_WORD})\b(?={_ENDS_PHRASE}))[)\]]?", re.I
)
_INTRODUCED = re.compile(
    r"\b(?:(?P<status>pending|stored)\s+(?:(?:fault )?(?:codes?|dtcs?|faults?)[\s:#=]*)?"
    r"|(?:(?:fault|trouble|error) )?(?:codes?|dtcs?)[\s:#=]*)$",
    re.I,
)
_PART_WORD = re.compile(
    r"\b(?:part|p/n|pn|campaign|recall|bulletin|tsb|invoice|order|stock|batch|serial|label|date)[\s:#.]*"
    r"(?:(?:number|num|no|nr|ref)[\s:#.]*)?$",
    re.I,
)
_BETWEEN = re.compile(r"[\s,;/&+]*+(?:and[\s,;/&+]*+)?", re.I)
_NEXT_WORD = re.compile(r"\s*(\S*)")


def find_codes(text: str) -> CodesFound:
    """Lift trouble codes out of running text.

    What comes back are the codes in order of appearance, each once; the text without them; and a
    `Doubt` for each piece that looks like a code but was not taken (part and campaign numbers, a
    digit too many or too few, a loose number that may be a failure type).

    Examples
    --------
    >>> found = find_codes("EML on, p0171/P0174 stored, rough at idle")
    >>> [str(code) for code in found.codes], found.rest
    (['P0171', 'P0174'], 'EML on, rough at idle')
    >>> [str(code) for code in find_codes("P0301-P0304").codes]
    ['P0301', 'P0302', 'P0303', 'P0304']
    >>> str(find_codes("P0301-13").codes[0])
    'P0301-13'
    >>> find_codes("fitted 4H0B1234C").doubtful[0].text
    '4H0B1234C'
    """
    doubts: list[Doubt] = []
    joined, origin = text, list(range(len(text) + 1))
    for pattern, written in (
        (_SPACED, _join_spaced),
        (_SPACED_RANGE, lambda match: f"{match[1]}-"),
        (_LOOSE_TYPE, lambda match: _join_type(match, doubts)),
    ):
        joined, origin = _rewritten(pattern, written, joined, origin)
    codes: dict[str, TroubleCode] = {}
    places: dict[str, Place] = {}
    lifted: list[Lifted] = []
    done = 0
    status: CodeStatus | None = None
    for run in _RUN.finditer(joined):
        taken, words = _codes_in_run(run, joined[max(0, run.start() - _NEAR) : run.start()], doubts)
        if not taken:
            continue
        before = joined[done : run.start()]
        in_a_list = bool(codes) and _BETWEEN.fullmatch(before) is not None
        introduced = _INTRODUCED.search(before)
        if introduced and introduced["status"]:
            status = _STATUS[introduced["status"].lower()]
        elif not in_a_list:
            status = None
        said_after = _STATUS_AFTER.match(joined, run.end())
        own = _STATUS[(said_after[1] or said_after[2]).lower()] if said_after else status
        for code in taken:
            if str(code) not in codes or own is not None:
                codes[str(code)] = replace(code, status=own)
                places.setdefault(str(code), Place(origin[run.start()], origin[run.end()]))
        begin = done if in_a_list else run.start()
        if introduced:
            begin = done + introduced.start()
        done = said_after.end() if said_after else run.end()
        lifted.append(Lifted(origin[begin], origin[done], words))
    return CodesFound(
        tuple(codes.values()),
        cut(text, lifted),
        tuple(doubts),
        tuple(places.values()),
        tuple(Place(start, end) for start, end, _ in lifted),
    )


def _rewritten(
    pattern: re.Pattern[str], written: Callable[[re.Match[str]], str], text: str, origin: list[int]
) -> tuple[str, list[int]]:
    pieces: list[str] = []
    places: list[int] = []
    done = 0
    for match in pattern.finditer(text):
        new = written(match)
        pieces += text[done : match.start()], new
        places += origin[done : match.start()]
        places += [origin[min(match.start() + n, match.end() - 1)] for n in range(len(new))]
        done = match.end()
    return "".join((*pieces, text[done:])), [*places, *origin[done:]]


def _join_spaced(match: re.Match[str]) -> str:
    """Close the gap of ``P 0171``, unless the number is a year or has a unit of its own."""
    letter, digits = match[1], match[2].upper().replace("O", "0")
    following = _following(match)
    is_year = letter not in "Pp" and digits.isdigit() and 1950 <= int(digits) <= 2099
    has_unit = bool(following) and find_unit(following.strip(",.;")) is not None
    return match[0] if is_year or has_unit else letter + match[2]


def _following(match: re.Match[str]) -> str:
    behind = _NEXT_WORD.match(match.string, match.end())
    return behind[1] if behind else ""


def _join_type(match: re.Match[str], doubts: list[Doubt]) -> str:
    """Close the gap of ``B1234 13`` where nothing follows that the 13 could belong to."""
    code, loose = match[1], match[2]
    if _AFTER_TYPE.match(match.string, match.end()):
        return f"{code}-{loose}"
    if find_unit(_following(match).strip(",.;")) is None and loose.upper() in FAILURE_TYPES:
        doubts.append(
            Doubt(match[0], f"may carry a failure type; write {code.upper()}-{loose.upper()} if so")
        )
    return match[0]


def _codes_in_run(
    run: re.Match[str], before: str, doubts: list[Doubt]
) -> tuple[list[TroubleCode], str]:
    """Codes of one written run, and the plain words in it (``ABS/C0035``); none if in doubt."""
    codes: list[TroubleCode] = []
    words: list[str] = []
    upper = run[0].upper()
    for typed, piece in zip(re.split(r"[/&+]", run[0]), re.split(r"[/&+]", upper), strict=True):
        found = _codes_of_piece(piece, codes[-1].code[0] if codes else "")
        codes += found
        if not found:
            words.append(typed)
    reason = _why_not(upper, codes, [word for word in words if not word.isalpha()])
    if not reason and codes and _PART_WORD.search(before):
        reason = "is called a number of another kind; not taken as a code"
    if reason:
        doubts.append(Doubt(run[0], reason))
        return [], ""
    return codes, "/".join(words)


def _codes_of_piece(piece: str, letter: str) -> list[TroubleCode]:
    single = _PIECE.fullmatch(piece)
    if single and _SURE.match(piece):
        return [TroubleCode(code=_proper(single["code"]), failure_type=single["type"])]
    if letter and _DIGITS.fullmatch(piece):
        return [TroubleCode(code=letter + _proper(piece))]
    raw = _RAW.fullmatch(piece)
    if raw and raw[2]:
        return [_from_bytes(int(raw[1], 16), raw[2])]
    span = _RANGE.fullmatch(piece)
    if span and span["letter"] in ("", piece[0]):
        return _range(_proper(span["first"]), _proper(span["last"]))
    return []


def _proper(code: str) -> str:
    return re.sub(_DASHES, "", code).replace("O", "0")


def _range(first: str, last: str) -> list[TroubleCode]:
    """Codes from first to last; counted in tens where both ends are plain numbers."""
    digits = first[1:]
    base = 10 if (digits + last).isdigit() else 16
    numbers = range(int(digits, base), int(last, base) + 1)
    if not 1 < len(numbers) <= _LONGEST_RANGE:
        return []
    form = "04d" if base == 10 else "04X"
    return [TroubleCode(code=f"{first[0]}{number:{form}}") for number in numbers]


_SEVEN = re.compile(r"(?P<code>[PCBU][0-3O][0-9A-FO]{3})(?P<type>[0-9A-F]{2})")
_SHORT = re.compile(r"P(?P<digits>[0-9]{3})")
_IMPOSSIBLE = re.compile(r"P[4-9][0-9]{3}")


def _why_not(upper: str, codes: list[TroubleCode], leftover: list[str]) -> str:
    """Say why a run that resembles a code is not taken; empty if it is, or resembles none."""
    why = ""
    if not leftover or VIN_PATTERN.fullmatch(upper):
        return why
    seven, short = _SEVEN.fullmatch(upper), _SHORT.fullmatch(upper)
    if seven:
        code = f"{_proper(seven['code'])}-{seven['type']}"
        why = f"is not taken; write {code} if it is a code"
    elif _RAW.fullmatch(upper):
        why = f"may be raw bytes; write {parse_code(upper)} if it is a code"
    elif short:
        why = f"is a digit short; write P0{short['digits']} if that is meant"
    elif _IMPOSSIBLE.fullmatch(upper):
        why = "has a digit that no code has after its letter; not taken"
    elif _RANGE.fullmatch(upper):
        why = f"is no range of 2 to {_LONGEST_RANGE} codes; write the ones that were there"
    elif codes or _INSIDE.search(upper):
        why = "only holds something like a code; not taken. Write the code apart if it is one"
    return why


@dataclass(frozen=True, slots=True)
class CodeFacts:
    """What the structure of a code tells, in words; None where it tells nothing."""

    system: str
    origin: Origin
    area: str | None
    failure_category: str | None
    failure: str | None

    @property
    def words(self) -> str:
        """One line: ``body, maker-defined; open circuit (electrical circuit)``."""
        parts = [f"{self.system}, {self.origin}"]
        if self.area:
            parts[0] += f": {self.area}"
        if self.failure:
            parts.append(f"{self.failure} ({self.failure_category})")
        elif self.failure_category:
            parts.append(f"failure type: {self.failure_category}")
        return "; ".join(parts)


def facts(code: TroubleCode) -> CodeFacts:
    """Tell what the standard structure says about a code: its area only for standard codes.

    References
    ----------
    See `kb.intake.code_areas`.

    Examples
    --------
    >>> facts(parse_code("P0301")).words
    'powertrain, standard: ignition, misfire, engine speed and cam signals'
    >>> facts(parse_code("B1234-13")).words
    'body, maker-defined; open circuit (electrical circuit)'
    """
    origin = origin_of(code.code)
    kind = code.failure_type
    category = None
    if kind is not None:
        reserved = "maker-defined" if kind[0] == "F" else "reserved"
        category = FAILURE_CATEGORIES.get(kind[0], reserved)
    area = area_of(code.code)
    return CodeFacts(
        system=SYSTEMS[code.system_letter],
        origin=origin,
        area=area.words if area else None,
        failure_category=category,
        failure=FAILURE_TYPES.get(kind) if kind else None,
    )
