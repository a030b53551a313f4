"""Trouble codes: from what people type to `TroubleCode`, and what the structure tells.

Letter, range and failure type byte follow SAE J2012 / ISO 15031-6 and ISO 14229-1. What a single
maker-defined code means is for the shop's own cases to say.
"""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from kb.bounds import CODE_PATTERN, FAILURE_TYPE_PATTERN, VIN_PATTERN
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
from kb.intake.code_forms import (
    DIGIT,
    FIRST_DIGIT,
    LETTERS,
    PARTED,
    as_typed,
    one_form,
    repaired,
)
from kb.intake.distances import is_among_codes
from kb.intake.lifting import Doubt, Lifted, Place, cut, is_within
from kb.intake.parted_codes import parted_code
from kb.intake.units import find_unit
from kb.patterns import compiled

_LONGEST_RANGE = 16
_NEAR = 40

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
    "perm": CodeStatus.STORED,
    "pend": CodeStatus.PENDING,
}
_STATUS_WORD = "|".join(_STATUS)
_WHOLE = compiled(
    rf"(?:DTC|CODE|FAULT CODE)?[\s:#]*"
    rf"(?P<letter>[{LETTERS}])[\s\-.]*(?P<digits>{DIGIT}{{4}})"
    rf"(?:(?:[\s\-:./(\[]|FTB?)*(?P<type>{DIGIT}{{2}})[)\]]?)?"
)
_RAW = compiled(r"(?:0X|\$)([0-9A-F]{4})([0-9A-F]{2})?")
_STATUS_AT_END = compiled(rf"(?<![\s,;(\[])[\s,;(\[]+({_STATUS_WORD})[)\]]?$", re.IGNORECASE)


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
    plain = unicodedata.normalize("NFKC", text).strip()
    status = None
    at_end = _STATUS_AT_END.search(plain)
    if at_end:
        status = _STATUS[at_end[1].lower()]
        plain = plain[: at_end.start()]
    upper = one_form(plain).upper()
    raw = _RAW.fullmatch(upper)
    if raw:
        return replace(_from_bytes(int(raw[1], 16), raw[2]), status=status)
    match = _WHOLE.fullmatch(upper)
    if match:
        code = match["letter"] + repaired(match["digits"])
        failure_type = match["type"] and repaired(match["type"])
        if CODE_PATTERN.fullmatch(code) and _is_type(failure_type):
            return TroubleCode(code=code, failure_type=failure_type, status=status)
    typed = as_typed(upper)
    if typed:
        return replace(typed.as_code(), status=status)
    raise InvalidField("code", text, _what_is_amiss(upper))


def _is_type(text: str | None) -> bool:
    return text is None or FAILURE_TYPE_PATTERN.fullmatch(text) is not None


def _from_bytes(two: int, failure_type: str | None) -> TroubleCode:
    code = f"{LETTERS[two >> 14]}{two & 0x3FFF:04X}"
    return TroubleCode(code=code, failure_type=failure_type)


def _what_is_amiss(upper: str) -> str:
    bare = re.sub(r"[^0-9A-Z]", "", upper)
    shape = "write it as P0171, with a failure type as B1234-13"
    if len(_INSIDE.findall(upper)) > 1:
        shape = "holds more than one code; write each by itself"
    elif re.fullmatch(r"[0-9][0-9A-F]{3}", bare):
        shape = f"lacks its letter; write P{bare}, C{bare}, B{bare} or U{bare}"
    elif bare and bare[0] not in LETTERS:
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
    """Codes lifted out of a text, the text without them, and what is doubtful.

    `places` tell where each code stands; what lies between the ends of a range stands at the whole
    of it. `lifted` is what was taken out with the codes: status, and words that introduce them.
    """

    codes: tuple[TroubleCode, ...]
    rest: str
    doubtful: tuple[Doubt, ...] = ()
    places: tuple[Place, ...] = ()
    lifted: tuple[Place, ...] = ()

    @property
    def refused(self) -> tuple[Doubt, ...]:
        """Doubts about what was not taken; slips that were put right are none of them."""
        return tuple(doubt for doubt in self.doubtful if doubt.place not in self.places)


_START, _END = r"(?<![^\W_])", r"(?![^\W_])"
# Letters and digits, joined by signs that occur inside codes and part numbers; at the start also
# by the blanks that people leave inside a code.
_WITH_BLANKS = rf"(?:{PARTED}|P[0-9]{{2}} [0-9])(?![^\W_]|[.,][0-9])"
_TORN = compiled(
    rf"{_START}(?:[PU]0 ?[-,./] ?[0-9]{{3}}|[PU]0[0-9] ?[-,./] ?[0-9]{{2}}"
    rf"|P0[0-9]{{2}} ?[-,/] ?[0-9]"
    rf"|[{LETTERS}]-(?:[0-3] [0-9]{{3}}|[0-3][0-9] [0-9]{{2}})){_END}(?![.,][0-9])"
)
_RUN = compiled(
    rf"{_START}(?:{_WITH_BLANKS}|(?:[{LETTERS}] (?={FIRST_DIGIT}{DIGIT}{{3}}{_END}))?[^\W_])"
    rf"(?:[/&+]{_WITH_BLANKS}|[/&+][{LETTERS}] (?={FIRST_DIGIT}{DIGIT}{{3}}{_END})"
    rf"|[^\W_]|[/&+_](?=[^\W_])|\.(?=[0-9])|-(?=[^\W_])(?![A-Z]{{4}})"
    rf"|:(?=[0-9A-F]{{2}}{_END})|\([0-9A-F]{{2}}\))*+"
)
_DECIMAL = compiled(r"[0-9]+\.[0-9]+")
_YEAR = compiled("[CBU] (?:19[5-9]|20[0-9])[0-9]")
_PETROL = compiled("P (?:19[89]|20[0-3])[0-9]")
_ENGINE_SIZE = compiled(r"[0-9][.,][0-9] ?L?\s+$")
_PIECE = compiled(r"[^/&+]+(?:/[0-9][A-F](?![^/&+]))?")
_RANGE = compiled(
    rf"(?P<first>[{LETTERS}]{DIGIT}{{4}})-(?P<letter>[{LETTERS}]?)(?P<last>{DIGIT}{{4}})"
)
_PLAIN = r"[PCBU][0-3][0-9]{3}"
_ANY = rf"[{LETTERS}][ -]?{FIRST_DIGIT}{DIGIT}{{3}}"
_GLUED = compiled(
    r"(?:CODES?|DTCS?|FAULTS?|FOUND|STORED|PENDING|ERROR|GOT|HAS|WITH|AND)?"
    rf"(?P<codes>{_PLAIN}(?:(?:AND)?{_PLAIN})*)(?P<words>[A-Z]{{3,}})?"
)
_LOOSE_TYPE = compiled(rf" (-)?\(?([0-9A-F]{{2}}){_END}\)?(?![.,:]?[0-9])")
_TYPE_APART = compiled(rf" ?[-:] ?([0-9A-F]) ?([0-9A-F]){_END}(?![.,:]?[0-9])")
_NEXT_WORD = compiled(r"\s*(\S{0,20})")

_CODES = r"(?:FEHLERCODES?|(?:(?:FAULT|TROUBLE|ERROR) )?(?:CODES?|DTCS?))"
_ENDS_PHRASE = rf"\s*(?:$|[,;.()\[\]/&+!?\n]|(?:AND|THEN|ONLY|{_STATUS_WORD})\b|[PCBU][ -]?[0-3O])"
_STATUS_AFTER = compiled(
    rf"[ ,]*[(\[]?\b(?:(PENDING|STORED)\b|({_STATUS_WORD})\b(?={_ENDS_PHRASE}))[)\]]?", re.I
)
_INTRODUCED = compiled(
    rf"\b(?:(?P<status>PENDING|STORED)\s+(?:(?:{_CODES}|FAULTS?)[\s:#=]*)?|{_CODES}[\s:#=]*)$"
)
_OF_ANOTHER_KIND = compiled(
    r"\b(?:CAMP(?:AIGN)?|RECALL|R(?:[Üü]|UE)CKRUF(?:AKTION)?|BULLETIN|TSB|INVOICE|ORDER|STOCK|BATCH|SERIAL|LABEL|DATE|PAINT|COLOU?R"
    r"|REG|PLATE|TAG|SHELF|BIN|PAGE|DIAGRAM|JOB|CARD|MODEL|TYRE|TIRE|TREAD|RADIO|PHONE|TEL|PIN"
    r"|TERMINAL|(?:ENGINE|UNIT|MODULE|KIT|ASSET|FLEET|TRUCK|VAN|CLAIM|DRAWING)"
    r"(?: NO\.| NR| NUMBER| NUM| #)|ENGINE NO|(?:VIN|CHASSIS|FRAME)"
    r"(?:\s+(?:ENDS?|ENDING)(?:\s+(?:IN|WITH))?)?"
    r"|(?:PART|PT|P/N|PN)(?=(?P<part>)))[\s:#.]*"
    r"(?:(?:NUMBER|NUM|NO|NR|REF|CODE|CARD|PAGE|CAMP(?:AIGN)?)[\s:#.]*){0,2}"
    r"(?(part)(?:[0-9A-Z-]*[0-9][0-9A-Z-]*\s+){0,2})$"
)
_CONNECTOR = compiled(r"\b(?:PLUG|CONNECTORS?|CONN|SOCKET|SPLICE|MULTIPLUG)[\s:#.]*$")
_LISTED = compiled(r"\b(?:CODES|DTCS|FAULTS)[\s:=]*$")
_DENIED = compiled(
    rf"\b(?:NO|NOT|NEVER|WITHOUT)\s+(?:{_CODES}\s+)?(?:{_PLAIN}[\s,/]+(?:OR\s+|AND\s+)?){{0,3}}$"
)
_PART_BEFORE = compiled(r"\b(?:FITTED|FIT|ORDERED|BOUGHT)\s+(?:A\s+|NEW\s+)*$")
_PART_BEHIND = compiled(
    r"\s+(?:[A-Z]+\s+)?(?:FILTER|BATTERY|BULB|BELT|PADS?|DISCS?|SENSOR|MODULE|UNIT|KIT|HOSE|PLUGS?|OIL"
    r"|GASKET|SEAL|BEARING|PUMP|VALVE|SWITCH|RELAY|CLIP|LAMP)\b"
)
_IN_STOCK = compiled(
    r"\s+(?:IS\s+)?(?:(?:IN|OUT OF|FROM|EX) STOCK|(?:ON|OFF) (?:ORDER|THE SHELF|SHELF))\b"
)
_NO_CODE_BEHIND = compiled(
    r"(?:\s+[A-Z]+)?[\s,(]+(?:IS )?(?:NOT|NO|ISN['’]?T|ISNT) (?:A |THE |ANY )?(?:FAULT |TROUBLE )?"
    r"(?:CODE|DTC)\b"
)
_DENIED_BEHIND = compiled(
    r"\s+(?:(?:NO|NOT (?:STORED|PRESENT|THERE|SET|LOGGED|FOUND)|ABSENT)(?=\s*(?:$|[.,;]))"
    r"|(?:NO|NOT IN) (?:HISTORY|MEMORY)\b(?! OF\b)|NO LONGER (?:STORED|PRESENT|THERE|SET|LOGGED)\b)"
)
_NOT_BACK = (
    r"(?:(?:DID|HAS|HAVE)(?: NOT|N['’]?T)|NEVER|NOT) (?:COME |CAME |BEEN )?(?:BACK|RETURN(?:ED)?)"
)
_GONE_BEHIND = compiled(
    rf"(?:\s*(?:AND|[/&+])\s*{_PLAIN})*\s+(?:(?:IS|ARE|HAS|HAVE|NOW|BOTH|ALL)\s+)*(?:"
    r"(?:(?:CLEARED AND )?GONE|WENT AWAY|DISAPPEARED|VANISHED|NO LONGER|NO MORE"
    rf"|STAYS? (?:AWAY|OUT|CLEAR))(?! (?:TO|INTO|FROM|{_STATUS_WORD})\b)"
    r"(?!\W+(?:[A-Z]+ )?(?:THEN|BUT|UNTIL|AND)\s+(?:(?:IT|THEN|NOW|IS|SOON|LATER)\s+)*"
    r"(?:BACK|AGAIN|RETURN(?:ED|S)?|CAME)\b)"
    rf"|(?:CLEARED?(?: OK)?[\s,]*(?:(?:AND|BUT|IT)\s+)*)?{_NOT_BACK})\b"
    rf"(?P<now>[\s,;-]+(?:BUT )?NOW\s+(?:{_CODES}\s+)?{_PLAIN})?",
    re.IGNORECASE,
)
_WAS = compiled(r"\bWAS\s+$")
_WAS_BEFORE = compiled(r"\b(?:CLEAR|CLEARED|NONE|GONE|NO CODES?|NOTHING)[\s,;.(-]+(?:IT )?WAS\s+$")
_WAS_THEN = compiled(rf"[\s,;-]+(?:BUT )?NOW\s+(?:{_CODES}\s+)?(?:{_PLAIN}|NONE|CLEAR|GONE|NO\b)")
_ANOTHER_TIME = compiled(r"\s+(?:LAST (?:TIME|VISIT|YEAR|MONTH)|THE TIME BEFORE)\b")
_HEDGED = compiled(
    r"\b(?:MAYBE|PERHAPS|POSSIBLY|MIGHT BE|COULD BE|MAY BE|WOULD|SOMETHING LIKE|I THINK"
    rf"|HE THINKS|VIELLEICHT|EVTL\.?|M(?:.|OE)GLICHERWEISE|PEUT[- ]?.TRE|MO.E|CHYBA"
    rf"|EITHER|ENTWEDER|SOIT|ALBO)\s+(?:{_ANY}\??[\s,]+(?:OR|ODER|OU|LUB|ALBO|SOIT)\s+)?$"
    r"|[0-9A-F]\s?\?\s*(?:OR|ODER|OU|LUB|ALBO)\s+$"
)
_HEDGED_BEHIND = compiled(
    r"\s*\?(?:\?|\s*(?:NO|NOPE|SORRY|NEIN|NON)\b)"
    r"|\s*\?\s*(?:OR\s+|ODER\s+|OU\s+|LUB\s+)?(?:MAYBE|PERHAPS|POSSIBLY|VIELLEICHT|EVTL"
    r"|PEUT[- ]?.TRE|MO.E|CHYBA)\b"
    r"|(?:\s+[A-Z]+){0,2}\s+(?:MAYBE|PERHAPS|OR (?:SO|SIMILAR|SOMETHING)|NOT SURE|UNSURE"
    r"|(?:HE|SHE|I|THEY) (?:THINKS?|RECKONS?))(?=\s*(?:$|[.,;?]))"
)
_BETWEEN = compiled(r"[\s,;/&+]*+(?:AND[\s,;/&+]*+)?")
_RANGE_BETWEEN = compiled(r"\s+(?:(?P<word>TO|THRU|THROUGH)|-)\s+")


def find_codes(text: str, fixes: Sequence[Place] = ()) -> CodesFound:
    """Lift trouble codes out of running text.

    What comes back are the codes in order of appearance, each once; the text without them; and a
    `Doubt` for each slip that was put right (``P0l71``), and for each piece that looks like a code
    but was not taken (part and campaign numbers, a digit too many or too few, a loose number that
    may be a failure type). Of a range written with a dash the ends are taken, of one written with
    *to* every code.

    Examples
    --------
    >>> found = find_codes("EML on, p0171/P0174 stored, rough at idle")
    >>> [str(code) for code in found.codes], found.rest
    (['P0171', 'P0174'], 'EML on, rough at idle')
    >>> [str(code) for code in find_codes("P0301 to P0304").codes]
    ['P0301', 'P0302', 'P0303', 'P0304']
    >>> found = find_codes("B1201-1b, P0l71")
    >>> [str(code) for code in found.codes], str(found.doubtful[0])
    (['B1201-1B', 'P0171'], '“P0l71” is read as P0171')
    >>> find_codes("fitted 4H0B1234C").doubtful[0].text
    '4H0B1234C'
    """
    search = _Search(text, fixes)
    for run in _RUN.finditer(search.plain):
        search.look_at(run)
    search.join()
    search.listen()
    return CodesFound(
        tuple(search.codes.values()),
        cut(text, [Lifted(*place) for place in search.lifted]),
        tuple(sorted(search.doubts, key=lambda doubt: doubt.place or ())),
        tuple(search.places.values()),
        tuple(search.lifted),
    )


class _Refused(Exception):
    """A written run is not taken; says why."""


class _Found(NamedTuple):
    code: TroubleCode
    place: Place


class _Search:
    """What was found in a text up to a place."""

    def __init__(self, text: str, fixes: Sequence[Place]) -> None:
        self.text, self.plain, self.fixes = text, one_form(text), fixes
        self.codes: dict[str, TroubleCode] = {}
        self.places: dict[str, Place] = {}
        self.doubts: list[Doubt] = []
        self.lifted: list[Place] = []
        self._done = 0
        self._last: _Found | None = None
        self._status: CodeStatus | None = None

    def look_at(self, run: re.Match[str]) -> None:
        """Take the codes of one written run, or say why they are not taken."""
        if run[0].isalpha() or _DECIMAL.fullmatch(run[0]):
            return
        said, last = len(self.doubts), self._last
        listed = last and _BETWEEN.fullmatch(self.plain, self._done, run.start())
        ranged = last and _RANGE_BETWEEN.fullmatch(self.plain, self._done, run.start())
        try:
            found = self._codes_of(run, last if listed or ranged else None)
            if not found:
                return
            self._object(found[0])
        except _Refused as refused:
            del self.doubts[said:]
            self._doubt(Place(*run.span()), str(refused))
            return
        if last and ranged:
            found = [*self._between(last, found[0], named=bool(ranged["word"])), *found]
        self._store(found, listed=bool(listed or ranged))

    def join(self) -> None:
        """Ask about codes that a slip of the hand parted: ``P0,171``, ``U-0 100``."""
        seen = [*self.lifted, *(doubt.place for doubt in self.doubts if doubt.place)]
        for match in _TORN.finditer(self.plain):
            place = Place(*match.span())
            meant = re.sub("[^0-9A-Z]", "", match[0])
            apart = all(place.end <= start or end <= place.start for start, end in seen)
            if apart and CODE_PATTERN.fullmatch(meant) and not self._has_unit(place.end):
                self._doubt(place, f"may be {meant}; write it so if it is a code")

    def listen(self) -> None:
        """Ask about codes written as they are said aloud."""
        for match in _SPOKEN.finditer(self.plain):
            words = re.findall("[A-Z]+|[0-9]+", match["digits"])
            digits = "".join(str(_SAID.get(word, word)) for word in words)
            if len(digits) == len("0171") and any(map(str.isalpha, words)):
                self._doubt(Place(*match.span()), f"may be P{digits}; write it so if it is")

    def _doubt(self, place: Place, why: str) -> None:
        self.doubts.append(Doubt(self.text[slice(*place)], why, place))

    def _object(self, found: _Found) -> None:
        """Refuse what is called a number of another kind, or said not to be there."""
        before = self._before(found)
        if _OF_ANOTHER_KIND.search(before) or _NO_CODE_BEHIND.match(self.plain, found.place.end):
            raise _Refused("is called a number of another kind; not taken as a code")
        if found.code.system_letter == "C" and _CONNECTOR.search(before):
            raise _Refused("is called a connector; not taken as a code")
        end = found.place.end
        if _PART_BEFORE.search(before) and _PART_BEHIND.match(self.plain, end):
            raise _Refused("may be the number of a part; write it apart if it is a code")
        if _IN_STOCK.match(self.plain, end):
            raise _Refused("may be the number of a part; write it apart if it is a code")
        if _DENIED.search(before) or _DENIED_BEHIND.match(self.plain, end):
            raise _Refused("is said not to be there; not taken")
        if self._is_gone(found):
            raise _Refused("is said to be gone; not taken: write it by itself if it was found")
        if _ANOTHER_TIME.match(self.plain, end):
            raise _Refused("is said of another time; write it by itself if it is there now")
        if _HEDGED.search(before) or _HEDGED_BEHIND.match(self.plain, end):
            raise _Refused("is said to be unsure; write it by itself if it is there")

    def _is_gone(self, found: _Found) -> bool:
        """Whether a code is said to have been there: behind a fix that is one to keep."""
        before, end = self._before(found), found.place.end
        gone = _GONE_BEHIND.match(self.plain, end)
        if gone and (gone["now"] or not any(is_within(found.place, each) for each in self.fixes)):
            return True
        was = _WAS.search(before) and _WAS_THEN.match(self.plain, end)
        return bool(was or _WAS_BEFORE.search(before))

    def _before(self, found: _Found, least: int = 0) -> str:
        return self.plain[max(least, found.place.start - _NEAR) : found.place.start]

    def _store(self, found: Sequence[_Found], *, listed: bool) -> None:
        """Keep codes that follow one another, with the status said before or behind them."""
        begin = self._done if listed else found[0].place.start
        introduced = _INTRODUCED.search(self._before(found[0], self._done))
        if introduced:
            begin = found[0].place.start - len(introduced[0])
        if introduced and introduced["status"]:
            self._status = _STATUS[introduced["status"].lower()]
        elif not listed:
            self._status = None
        said_after = _STATUS_AFTER.match(self.plain, found[-1].place.end)
        own = _STATUS[(said_after[1] or said_after[2]).lower()] if said_after else self._status
        for code, place in found:
            if str(code) not in self.codes or own is not None:
                self.codes[str(code)] = replace(code, status=own)
            self.places.setdefault(str(code), place)
            if place.end > self._done:
                apart = self._done and not _BETWEEN.fullmatch(self.plain, begin, place.start)
                self.lifted.append(Place(place.start if apart else begin, place.end))
                begin = self._done = place.end
        self._last = found[-1]
        if said_after:
            self.lifted.append(Place(self._done, said_after.end()))
            self._done = said_after.end()

    def _is_year(self, run: re.Match[str]) -> bool:
        """Whether a letter and a year only look like a code: ``1.6 p 2013`` is petrol."""
        size = _ENGINE_SIZE.search(self.plain, max(0, run.start() - _NEAR), run.start())
        return bool(_YEAR.fullmatch(run[0]) or (size and _PETROL.fullmatch(run[0])))

    def _is_parted(self, run: re.Match[str]) -> bool:
        """Whether digits with blanks among them are a code; raises where they may be one."""
        for piece in _PIECE.finditer(run[0]):
            if " " in piece[0][2:]:
                read = parted_code(piece[0], self.text, self.plain, run.start() + piece.start())
                if read is None and (why := _resembles(piece[0].replace(" ", ""))):
                    raise _Refused(why)
                if read is None:
                    return False
                if not read.sure:
                    raise _Refused(f"may be {read.meant}; write it so if it is a code")
        return True

    def _ask_of_pairs(self, run: re.Match[str]) -> None:
        """Ask about pairs of digits before a unit that may be a code: ``P 16 39 V``."""
        for piece in _PIECE.finditer(run[0]):
            read = parted_code(piece[0], self.text, self.plain, run.start() + piece.start())
            if read and " " in piece[0][2:]:
                raise _Refused(f"may be {read.meant}; write it so if it is a code")

    def _codes_of(self, run: re.Match[str], last: _Found | None) -> list[_Found]:
        """Codes of one written run; those told short need the `last` code before them."""
        if " " in run[0] and self._is_year(run):
            return []
        if " " in run[0] and self._has_unit(run.end()):
            self._ask_of_pairs(run)
            return []
        if " " in run[0][2:] and not self._is_parted(run):
            return []
        glued = _GLUED.fullmatch(run[0])
        if glued and (not glued["words"] or self.text[run.end() - 1].islower()):
            begin = run.start() + glued.start("codes")
            pieces = re.finditer(_PLAIN, glued["codes"])
            places = [Place(begin + piece.start(), begin + piece.end()) for piece in pieces]
            found = [_Found(TroubleCode(code=self.plain[slice(*each)]), each) for each in places]
            return found if glued["words"] else self._with_loose_type(found)
        if last is None and run[0].isdecimal():  # no code is but digits, unless told short
            if why := self._why_not(run, holds_codes=False):
                raise _Refused(why)
            return []
        found, strange = [], False
        joint = self.plain[self._done : run.start()].strip()
        for piece in _PIECE.finditer(run[0]):
            place = Place(run.start() + piece.start(), run.start() + piece.end())
            taken = self._whole(piece[0], place)
            short = self._short(piece[0], place, last, joint) if last and not taken else []
            why = _resembles(piece[0]) if not taken and piece[0] != run[0] else ""
            if why:
                self._doubt(place, why)
            elif short is not None:
                strange = strange or not (taken or short or piece[0].isalpha())
                found += taken or short
            last = found[-1] if found else last
            joint = run[0][piece.end() : piece.end() + 1]
        if strange and (why := self._why_not(run, holds_codes=bool(found))):
            raise _Refused(why)
        return [] if strange or not found else self._with_loose_type(found)

    def _whole(self, piece: str, place: Place) -> list[_Found]:
        """Read a code that is written whole, or the two ends of a range."""
        typed = as_typed(piece)
        if typed:
            if typed.slip:
                self._doubt(place, f"is read as {typed}")
            return [_Found(typed.as_code(), place)]
        raw = _RAW.fullmatch(piece)
        if raw and raw[2]:
            return [_Found(_from_bytes(int(raw[1], 16), raw[2]), place)]
        span = _RANGE.fullmatch(piece)
        if span and span["letter"] in ("", piece[0]):
            first, last = as_typed(span["first"]), as_typed(piece[0] + span["last"])
            if first and last and first.code < last.code:
                middle = place.start + len(span["first"])
                ends = (Place(place.start, middle), Place(middle + 1, place.end))
                found = [
                    _Found(each.as_code(), end)
                    for each, end in zip((first, last), ends, strict=True)
                ]
                self._between(*found, named=False)
                return found
        return []

    def _short(self, piece: str, place: Place, last: _Found, joint: str) -> list[_Found] | None:
        """Read what is told short behind a code (``P0171/174``); None if it was asked about."""
        code, digits = last.code.code, repaired(piece)
        joined = joint in {"/", "&", "+"}
        if not _SHORT.fullmatch(piece) or (not joined and self._has_unit(place.end)):
            return []
        if code[0] == "C" and joined and len(piece) <= len("16"):
            raise _Refused("may be a connector and its pin; write the code apart if it is one")
        meant = code[: -len(digits)] + digits
        if digits.isdecimal() and self._counts_on(digits, place, last, joint):
            self._doubt(place, f"is read as {meant}")
            return [_Found(TroubleCode(code=meant), place)]
        may_be_type = joint == "-" and digits in FAILURE_TYPES
        if (
            not may_be_type
            and _is_plain_short(code, digits, joined=joined or joint in _TO)
            and (joined or len(piece) > len("17") or joint in _TO)
        ):
            if piece != digits:
                self._doubt(place, f"is read as {meant}")
            return [_Found(TroubleCode(code=meant), place)]
        if not (joined or may_be_type or self._counts_codes(place.start)):
            return []
        other = f", {code}-{digits} if that" if digits in FAILURE_TYPES else ""
        self._doubt(place, f"is told short; write {meant} if it is a code{other}")
        return None

    def _counts_on(self, digits: str, place: Place, last: _Found, joint: str) -> bool:
        """Whether digits count on from the last code: ``P0301/2/3``, ``P0301,02,03``."""
        code, number = last.code.code, int(digits)
        if number != int(code[-len(digits) :], 16) + 1:
            return False
        if joint == ",":
            return len(digits) == len("02") and place.start - last.place.end == len(",")
        before = self.plain[max(0, place.start - _NEAR) : place.start]
        behind = self.plain[place.end : place.end + _NEAR]
        goes_on = behind.startswith(f"/{number + 1}") or before.endswith(f"/{number - 1}/")
        return joint == "/" and len(digits) == 1 and goes_on

    def _counts_codes(self, end: int) -> bool:
        """Whether what stands before a place is a list that was called codes."""
        first = min((place.start for place in self.places.values()), default=end)
        return _LISTED.search(self.plain, max(0, first - _NEAR), first) is not None

    def _between(self, first: _Found, last: _Found, *, named: bool) -> list[_Found]:
        """Codes between the ends of a range that is named one; else ask about them."""
        base = 10 if (first.code.code[1:] + last.code.code[1:]).isdigit() else 16
        numbers = range(int(first.code.code[1:], base) + 1, int(last.code.code[1:], base))
        if not numbers or first.code.system_letter != last.code.system_letter:
            return []
        place = Place(first.place.start, last.place.end)
        whole = last.place.end - last.place.start >= len("P0171")
        if not (named and whole and len(numbers) <= _LONGEST_RANGE - 2):
            self._doubt(place, "is read as its ends; write the codes between if they were there")
            return []
        form = "04d" if base == len("0123456789") else "04X"
        codes = (f"{first.code.system_letter}{number:{form}}" for number in numbers)
        return [_Found(TroubleCode(code=code), place) for code in codes]

    def _with_loose_type(self, found: list[_Found]) -> list[_Found]:
        """Take the failure type of ``B1201 1B``, if it can be nothing else."""
        code, place = found[-1]
        if apart := self._type_apart(found[-1]):
            return [*found[:-1], apart]
        loose = _LOOSE_TYPE.match(self.plain, place.end)
        if not loose or code.failure_type or loose[2] not in FAILURE_TYPES:
            return found
        if self._has_unit(loose.end()):
            return found
        kind, whole = loose[2], Place(place.start, loose.end())
        of_the_bus = code.system_letter == "U" and FAILURE_CATEGORIES[kind[0]] == "bus message"
        if not loose[1] and (kind == "00" or not kind.isdigit() or of_the_bus):
            return [*found[:-1], _Found(replace(code, failure_type=kind), whole)]
        self._doubt(whole, f"may carry a failure type; write {code.code}-{kind} if so")
        return found

    def _type_apart(self, found: _Found) -> _Found | None:
        """Take the failure type behind a code that was typed with blanks: ``c0 0 40 - 1 c``."""
        code, place = found
        typed = self.plain[slice(*place)]
        apart = _TYPE_APART.match(self.plain, place.end) if " " in typed[2:] else None
        if apart is None or code.failure_type or apart[1] + apart[2] not in FAILURE_TYPES:
            return None
        whole = replace(code, failure_type=apart[1] + apart[2])
        wide = Place(place.start, apart.end())
        self.doubts = [doubt for doubt in self.doubts if doubt.place != place]
        self._doubt(wide, f"is read as {whole}")
        return _Found(whole, wide)

    def _has_unit(self, end: int) -> bool:
        behind = _NEXT_WORD.match(self.text, end)
        return behind is not None and find_unit(behind[1].strip(",.;")) is not None

    def _why_not(self, run: re.Match[str], *, holds_codes: bool) -> str:
        """Say why a run that resembles a code is not taken; empty if it resembles none."""
        bare = run[0].replace(" ", "")
        if VIN_PATTERN.fullmatch(bare):
            return ""
        if why := _resembles(bare):
            return why
        before = self.plain[max(0, run.start() - _NEAR) : run.start()]
        alone = self.plain[run.start() - 1 : run.start()] in {"", " ", "\n", "(", '"'}
        introduced = _INTRODUCED.search(before) and not _OF_ANOTHER_KIND.search(before)
        measured = self._has_unit(run.end()) and not _IN_WHAT.match(self.plain, run.end())
        if (_BARE.fullmatch(bare) and alone and not measured) or (
            introduced and _BARE_SHORT.fullmatch(bare)
        ):
            code = f"{bare:0>4}"
            return f"lacks its letter; write P{code}, C{code}, B{code} or U{code} if it is a code"
        if is_among_codes(bare, before) and not self._has_unit(run.end()):
            return "stands among codes; kept as words. Write km behind it if the odometer shows it"
        if holds_codes or _INSIDE.search(bare) or as_typed(bare.partition("-")[0]):
            return "only holds something like a code; not taken. Write the code apart if it is one"
        return ""


_SHORT = compiled(f"(?={DIGIT}*[0-9]){DIGIT}{{1,4}}")
_TO = frozenset(["TO", "THRU", "THROUGH", "-"])


def _is_plain_short(code: str, digits: str, *, joined: bool) -> bool:
    """Whether digits behind a code are those of another: as many of them as differ, counting on."""
    meant = code[: -len(digits)] + digits
    if not CODE_PATTERN.fullmatch(meant):
        return False
    if len(digits) == len("0171"):
        is_year = _YEAR.fullmatch(f"C {digits}")
        return joined or digits[0] == "0" or (digits[:2] == code[1:3] and not is_year)
    if len(digits) == len("171"):
        return digits[0] == code[2] and (joined or digits.isdigit())
    return len(digits) == len("71") and digits.isdigit() and code[-2:] < digits


# What resembles a code, letters that look like digits put right, and what is the matter with it.
_RESEMBLE = tuple(
    (compiled(pattern), why)
    for pattern, why in (
        (r"P[0-9O]{3}", "is a digit short; write P0{repaired} if that is meant"),
        (
            rf"[{LETTERS}][4-9][0-9]{{3}}",
            "has a digit that no code has after its letter; not taken",
        ),
        (
            r"[AD-OQ-TV-Z]0[0-9]{3}",
            "begins with a letter that no code has; write P{digits}, C{digits}, B{digits} or"
            " U{digits} if it is one",
        ),
        (
            rf"(?=.(?:.?[0-9]){{2}})[{LETTERS}](?=[^A-NPR-Y]*$)(?:[^\W_]){{4}}"
            rf"|[{LETTERS}][0-3](?=[0-9]*[GTZ][0-9]*$)[^\W_]{{3}}|[PU]Q[0-9]{{3}}"
            r"|[PU]O[IL][0-9IL]{2}",
            "looks like a code with a slip; write it out if it is one",
        ),
        (
            rf"[{LETTERS}]0[0-9O]{{4}}|[{LETTERS}]{{2}}[0-3][0-9]{{3,4}}",
            "has a digit or letter too many; write it out if it is a code",
        ),
        (
            rf"[{LETTERS}][0-3O][0-9A-FO]{{3}}[0-9A-F]{{2}}",
            "is not taken; write it with a dash before its failure type if it is a code",
        ),
        (r"0X[0-9A-F]{4}", "may be raw bytes; write the code out if it is one"),
    )
)


def _resembles(bare: str) -> str:
    """Say what is the matter with what is nearly a code; empty if it is not."""
    if bare.isdecimal():
        return ""
    for pattern, why in _RESEMBLE:
        if pattern.fullmatch(bare):
            return why.format(bare, digits=bare[1:], repaired=repaired(bare[1:]))
    return ""


_IN_WHAT = compiled(r"\s+IN\s+(?:[A-Z]+\s+)?(?:ECU|ECM|PCM|BCM|TCM|MODULE|MEMORY|STORE|SPEICHER)\b")
_BARE, _BARE_SHORT = compiled("0[0-9]{3}"), compiled("[0-9]{3,4}")
_INSIDE = compiled(r"[PCBU][0-3O](?=[0-9A-F]*[0-9])[0-9A-F]{3}")
_SAID = {
    word: digit
    for digit, words in enumerate(
        (
            "ZERO NULL NOUGHT OH O",
            "ONE",
            "TWO",
            "THREE",
            "FOUR",
            "FIVE",
            "SIX",
            "SEVEN",
            "EIGHT",
            "NINE",
        )
    )
    for word in words.split()
}
_SAID_DIGIT = f"(?:{'|'.join(_SAID)}|[0-9]{{1,3}})"
_SPOKEN = compiled(
    rf"{_START}(?:P|PEE)[\s-]+(?P<digits>{_SAID_DIGIT}(?:[\s-]+{_SAID_DIGIT}){{1,3}}){_END}"
)


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
