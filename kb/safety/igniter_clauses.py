"""A sentence in clauses, and every word of it with its role."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

from kb.intake.items import trade_wording
from kb.intake.wording import Wording, words_of_languages
from kb.patterns import compiled
from kb.safety.igniter_words import (
    Aside,
    Lexicon,
    Role,
    aside,
    even,
    role_of,
    roles,
    spelt,
    words_in,
)

_MARKS = compiled(
    r"(?P<stop>[.!?…]+(?=\s|$)|\n+)"
    r"|(?P<pause>[,;:](?!\d)|(?<!\d)[,;:]|[()\[\]{}\"“”„]|\s[-–—~/|]+(?=\s)|[-=~]*[>→⇒]+|[+&·•@])"
)
_DIGIT = compiled(r"\d")
_SENTENCE = compiled(r"(?:[.!?…]+(?=\s|$)|\n)\s*")
_NUMBER = compiled(r"[<>±]?(\d+(?:[.,:]\d+)*)([^\W\d_]\w*|%c?|°c?)?")
_DATE = compiled(r"\b\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4}\b")
_SHORT_FORM = compiled(
    r"\b([Bb]att?|[Nn]eg|[Ii]gn|[Ss]w|[Cc]onn|[Pp]r[eé]tens)\.\s+(?=[a-zà-ÿ]|[A-Z]{2,3}\b)"
)
_SHORTENED = ("batt", "bat", "neg", "ign", "sw", "conn", "pretens", "prétens")
"""End no sentence where a small letter follows, or a short form in capitals."""
_SMALL_OR_SHORT = compiled(r"[^\W\dA-Z]|[A-Z]{2,3}\b")
_NUMBERED = compiled(r"\bno\.\s?(?=\d)")
_MONEY = compiled(r"[£€$](?=\s?\d)")
_PRICE = compiled(
    r"(?i)(?<![\w.,])([0-9]{1,5}(?:[.,][0-9]{1,2})?) ?"
    r"(?:€|£|eur(?:os?)?|gbp|quid|pounds|pln|zł|zl|chf|usd|czk)(?![\w/])"
)
"""The same told behind the amount."""
_ON_MOT = compiled(r"(?i)\b(mot) (?:on |am )?[0-3]?[0-9]\.(?:1[0-2]|0?[1-9])\.(?=[\s,;]|$)")
_TAX = compiled(r"\+\s*(?=(?:vat|tax|mwst|tva)\b)")
_SO_MANY = compiled(r"\(\s?x?\s?\d{1,2}\s?x?\s?\)")
_AND = compiled(r"(?<=[a-z])\s&\s(?=[a-z])")
_BARE_VALUE = compiled(r"\d+r\d+")
_PRICES = (["parts"], ["cost"], ["costs"], ["price"])
_LARGE = 4
"""A whole number without a unit is a year, a part's number or a mileage from here on."""
_LISTED = (
    frozenset([Role.PLACE, Role.NUMBER, Role.VALUE, Role.FUNCTION, Role.HARNESS]),
    frozenset([Role.VALUE, Role.QUANTITY, Role.RAIL]),
    frozenset(
        [Role.IGNITER, Role.SHARED, Role.CONTACT, Role.NEIGHBOUR, Role.CLOCK_SPRING, Role.UNIT]
    ),
)
"""Roles between which *and* makes a list, and no new clause."""


_DO_NOT = (("do", "not"), ("dont",), ("please", "dont"), ("never",), ("repeat", "never"))


@dataclass(frozen=True, slots=True)
class Piece:
    """Words that have one role together."""

    role: Role
    words: tuple[str, ...]

    @property
    def text(self) -> str:
        """The words as they are told."""
        return " ".join(self.words)


@dataclass(frozen=True)
class Clause:
    """What stands between two marks or joining words.

    Attributes
    ----------
    pieces : tuple of Piece
    joiner : str
        The word or mark that it begins with; empty at the start of a sentence.
    """

    pieces: tuple[Piece, ...]
    joiner: str = ""

    @property
    def first(self) -> bool:
        """Whether it begins a sentence."""
        return not self.joiner

    @cached_property
    def roles(self) -> frozenset[Role]:
        """Every role that a word of it has."""
        return frozenset(piece.role for piece in self.pieces)

    @cached_property
    def words(self) -> tuple[str, ...]:
        """Its words in their order."""
        return tuple(word for piece in self.pieces for word in piece.words)

    @cached_property
    def vocabulary(self) -> frozenset[str]:
        """Its words, each once."""
        return frozenset(self.words)

    @cached_property
    def piece_at(self) -> tuple[int, ...]:
        """For every word the place of its piece."""
        return tuple(at for at, piece in enumerate(self.pieces) for _ in piece.words)

    @property
    def stops_at_denial(self) -> bool:
        """Whether it stops at its denial and the next goes on: *do not, repeat do not, ...*."""
        return self.words[-2:] in _DO_NOT

    @cached_property
    def by_scan_tool(self) -> bool:
        """Whether a scan tool is the means here, and not only spoken of."""
        if Role.SCAN not in self.roles:
            return False
        if any(map(_is_any_tester, self.pieces)) and self._is_clipped_on:
            return False  # *the value on the tester at the plug* may be a meter's
        end = -1 if self.words[-1] == "instead" else None  # it is what was used, then
        others = [w for p in self.pieces[:end] if p.role is not Role.SCAN for w in p.words]
        return not aside(Aside.NOT_THE_MEANS).any_in(others)

    @property
    def _is_clipped_on(self) -> bool:
        return Role.CONTACT in self.roles or not _CLIPPED.isdisjoint(self.words)


_CLIPPED = frozenset(
    ["pin", "pins", "clipped", "clip", "hooked", "held", "leads", "across", "bridged"]
)


_LOGGING = (("tester", "logging"), ("tester", "recording"), ("tester", "is"), ("tester", "was"))


def _is_any_tester(piece: Piece) -> bool:
    """Whether it is named so that it may be a meter: *value off the tester*."""
    valued = piece.words[-1] == "tester" and piece.words[0] in {"value", "values", "over"}
    return valued or piece.words[:2] in _LOGGING


def sentences_of(text: str) -> list[str]:
    """Part a text at what ends a sentence, each with the marks and blanks behind it.

    Examples
    --------
    >>> sentences_of("Looked first. Plug 2.2 mm off, no. 3")
    ['Looked first. ', 'Plug 2.2 mm off, no. 3']
    """
    parts: list[str] = []
    begin = 0
    for end in _SENTENCE.finditer(text):
        told = text[begin : end.start()].casefold()
        goes_on = told.endswith(_SHORTENED) and _SMALL_OR_SHORT.match(text, end.end())
        if not (goes_on or told.endswith((" no", " nr"))):
            parts.append(text[begin : end.end()])
            begin = end.end()
    return [*parts, text[begin:]] if begin < len(text) else parts


def words_of(text: str, wording: Wording) -> list[str]:
    """Words of a text and the marks between them, shorthand and the shop's names written out.

    A mark is kept as "." where a sentence ends and as "," or ":" where a clause does.
    """
    return list(_words_of(text, wording))


@lru_cache(maxsize=20_000)
def _words_of(text: str, wording: Wording) -> tuple[str, ...]:
    words: list[str] = []
    begin = 0
    evened = _put_plainly(text)
    for mark in _MARKS.finditer(evened):
        words += _plain_words(evened[begin : mark.start()], wording)
        words.append("." if mark["stop"] else ":" if mark.group() == ":" else ",")
        begin = mark.end()
    return (*words, *_plain_words(evened[begin:], wording))


_SCRIPTS_MEET = compiled(
    r"(?<=[A-Za-z0-9])(?=[\u3040-\u30ff\u4e00-\u9fff])"
    r"|(?<=[\u3040-\u30ff\u4e00-\u9fff])(?=[A-Za-z0-9])"
)
"""Where letters of two scripts stand without a space between them."""


def _put_plainly(text: str) -> str:
    """Write short forms and prices out, leave days and counts out; where a sign of one is."""
    told = _SHORT_FORM.sub(r"\1 ", text) if "." in text else text
    told = told if told.isascii() else _SCRIPTS_MEET.sub(" ", told)
    if _DIGIT.search(told):
        told = _ON_MOT.sub(r"\1", _PRICE.sub(r"price \1", told))
        told = _SO_MANY.sub("", _MONEY.sub("price ", told))
    evened = even(told)
    evened = _TAX.sub("", evened) if "+" in evened else evened
    evened = _AND.sub(" and ", evened) if "&" in evened else evened
    return _NUMBERED.sub("no ", _DATE.sub("", evened)) if _DIGIT.search(evened) else evened


def _plain_words(text: str, wording: Wording) -> list[str]:
    read = _reading(wording)
    words = [part for token in read.tokens(text) for part in _parted(token)]
    return _renamed(words, wording) if wording.phrases else words


@lru_cache(maxsize=4)
def _reading(wording: Wording) -> Wording:
    return Wording(_Shorthand(wording.shorthand), wording.phrases)


@dataclass(frozen=True, slots=True)
class _Shorthand(Mapping[str, tuple[str, ...]]):
    """A wording's shorthand, but what the table of igniter words reads otherwise.

    A shop's own words go before the table.
    """

    known: Mapping[str, tuple[str, ...]]

    def __getitem__(self, written: str) -> tuple[str, ...]:
        meant = self.known[written]
        if meant == trade_wording().shorthand.get(written) and _in_the_table(written):
            raise KeyError(written)
        return meant

    def __iter__(self) -> Iterator[str]:
        return (written for written in self.known if written in self)

    def __len__(self) -> int:
        return sum(1 for _ in self)


@cache
def _in_the_table(written: str) -> bool:
    """Whether the table has a word as it stands; of another language any form of it."""
    return written in roles().whole or (written in _foreign() and roles().any_in([written]))


@cache
def _foreign() -> frozenset[str]:
    return frozenset(even(word) for word in words_of_languages())


@lru_cache(maxsize=50_000)
def _parted(written: str) -> tuple[str, ...]:
    """Return a word evened, a value and its unit apart, and the sides of a slash."""
    token = even(written)
    number = _NUMBER.fullmatch(token)
    if number and number[2] and not _BARE_VALUE.fullmatch(token):
        return number[1], number[2]
    if "/" in token and token not in roles().whole:
        return tuple(part for part in token.split("/") if part)
    compound = _compound().fullmatch(token)
    if compound and token not in roles().whole and not _is_instrument(token):
        return compound[1], _METER
    return (token,)


@cache
def _compound() -> re.Pattern[str]:
    """Return the pattern of words made of what is measured and what measures: *squibmeter*."""
    measured, measuring = (
        "|".join(sorted(words_in(each), key=len, reverse=True))
        for each in (Aside.MEASURED, Aside.MEASURING)
    )
    return re.compile(rf"({measured})(?:s|n|en|o)?(?:{measuring})(?:s|e|en)?")


def _is_instrument(token: str) -> bool:
    found = roles().longest([token], 0)
    return found is not None and found[1] is Role.INSTRUMENT


_METER = "meter"


@lru_cache(maxsize=4)
def _phrases(wording: Wording) -> Lexicon[Role]:
    return Lexicon.of({Role.KNOWN: wording.phrases})


def _renamed(words: list[str], wording: Wording) -> list[str]:
    """Replace the shop's own names of several words by what they mean."""
    renamed: list[str] = []
    at = 0
    while at < len(words):
        found = _phrases(wording).longest(words, at)
        size = found[0] if found else 1
        name = " ".join(words[at : at + size])
        renamed += wording.tokens(wording.phrases[name]) if found else [name]
        at += size
    return renamed


@lru_cache(maxsize=5_000)
def clauses_of(text: str, wording: Wording) -> tuple[Clause, ...]:
    """Part a text into clauses, at its marks and at words such as *but*, *then* and *and*.

    An *and* between two sides, numbers or parts of the car parts nothing.
    """
    pieces = tuple(_pieces(words_of(text, wording)))
    clauses: list[Clause] = []
    begin, joiner = 0, ""
    for at, piece in enumerate(pieces):
        if piece.role in {Role.STOP, Role.PAUSE} or _parts(pieces, at):
            clauses.append(Clause(pieces[begin:at], joiner))
            begin, joiner = at + 1, "" if piece.role is Role.STOP else piece.text
    clauses.append(Clause(pieces[begin:], joiner))
    told = _with_headings([clause for clause in clauses if clause.pieces])
    return tuple(_with_unit(_with_fuse(each)) for clause in told for each in _stretches(clause))


_MOST_PIECES = 80
"""Pieces judged together: more than three times what the longest kept sentence has in a clause."""
_STEP_OF_PIECES = 60
"""How far the next stretch begins behind the last: what belongs together stands in one of them."""


def _stretches(clause: Clause) -> Iterator[Clause]:
    """Yield a clause, an endless one in stretches, so that its cost grows as it does."""
    yield Clause(clause.pieces[:_MOST_PIECES], clause.joiner)
    last = len(clause.pieces) - _MOST_PIECES + _STEP_OF_PIECES
    for begin in range(_STEP_OF_PIECES, last, _STEP_OF_PIECES):
        yield Clause(clause.pieces[begin : begin + _MOST_PIECES], ",")


def _with_headings(clauses: Sequence[Clause]) -> Iterator[Clause]:
    """Read *supply of the unit: 12.4 V* as one: the heading says of what the value is."""
    heading: Clause | None = None
    for clause in clauses:
        of_it = clause.joiner == ":" and clause.pieces[0].role is Role.VALUE
        if heading is not None and of_it:
            yield Clause((*heading.pieces, *clause.pieces), heading.joiner)
            heading = None
            continue
        if heading is not None:
            yield heading
        heading = clause if _heads_supply(clause) else None
        if heading is None:
            yield clause
    if heading is not None:
        yield heading


def _heads_supply(clause: Clause) -> bool:
    """Whether no more is named than the control unit's supply or earth."""
    named = clause.roles - {Role.FUNCTION, Role.PLACE}
    return named == {Role.RAIL, Role.UNIT} and clause.pieces[0].role is Role.RAIL


def _with_fuse(clause: Clause) -> Clause:
    """Read *fuse F22 airbag* as one part: what it feeds is a part of its name."""
    pieces = clause.pieces
    for at, piece in enumerate(pieces):
        if piece.role is not Role.NEIGHBOUR or not piece.words[-1].startswith(_FUSES):
            continue
        end = at + 1
        while end < len(pieces) and (
            pieces[end].role is Role.NUMBER or any(map(str.isdigit, pieces[end].text))
        ):
            end += 1
        behind = {each.role for each in pieces[end + 1 : end + 2]}
        if end < len(pieces) and pieces[end].text in _SYSTEM and not behind & _OF_CIRCUIT:
            words = tuple(word for each in pieces[at : end + 1] for word in each.words)
            named = Piece(Role.NEIGHBOUR, words)
            return Clause((*pieces[:at], named, *pieces[end + 1 :]), clause.joiner)
    return clause


_FUSES = ("fuse", "sicherung", "fusible", "bezpiecznik")
_SYSTEM = frozenset(["airbag", "airbags", "airbag system"])
_OF_CIRCUIT = frozenset([Role.IGNITER, Role.SHARED, Role.CONTACT, Role.HARNESS, Role.UNIT])


def _with_unit(clause: Clause) -> Clause:
    """Read *airbag module* as the control unit where its supply, earth, bus or code is told."""
    if not (_tells_of_unit(clause) or any(map(_is_supply, clause.pieces))):
        return clause
    others = (p for at, p in enumerate(clause.pieces) if not is_fed_unit(clause.pieces, at - 1))
    applied = (p for p in others if p.role is not Role.RAIL)
    if any(p.role is Role.POWER or words_in(Aside.LIGHT) & {*p.words} for p in applied):
        return clause
    pieces = (Piece(Role.UNIT, p.words) if _is_module(p) else p for p in clause.pieces)
    return Clause(tuple(pieces), clause.joiner)


def _tells_of_unit(clause: Clause) -> bool:
    """Whether words stand there that are told of the control unit alone."""
    told = Role.RAIL in clause.roles or bool((COMMS | {"between"}) & clause.vocabulary)
    told = told or clause.words[2:3] == ("power",) or any(map(_is_bus, clause.pieces))
    told = told or any(map(_is_earth_point, clause.pieces))
    return told or any(is_fed_unit(clause.pieces, at) for at in range(len(clause.pieces)))


def is_fed_unit(pieces: Sequence[Piece], at: int) -> bool:
    """Whether the control unit is told to have a supply: *airbag module fed 12.1*."""
    unit = at >= 0 and (_is_module(pieces[at]) or pieces[at].role is Role.UNIT)
    return unit and bool(pieces[at + 1 : at + 2]) and pieces[at + 1].text in _FED


_FED = frozenset(
    [
        "fed",
        "power",
        "powered",
        "has",
        "gets",
        "got",
        "alimente",
        "versorgt",
        "zasilany",
        "zasilane",
    ]
)


def _is_supply(piece: Piece) -> bool:
    """Whether a supply is named together with its earth: *power and ground*."""
    return piece.role is Role.NEIGHBOUR and "and" in piece.words and piece.words[0] in _SUPPLIES


_SUPPLIES = frozenset(["supply", "power", "feed", "feeds"])
COMMS = frozenset(["comms", "communication", "communicate", "communicating"])


def _is_bus(piece: Piece) -> bool:
    """Whether a data bus is named, by which control units speak to one another."""
    return piece.role is Role.NEIGHBOUR and not _BUSES.isdisjoint(piece.words)


_BUSES = frozenset(["can", "canbus", "lin", "bus"])


def _is_earth_point(piece: Piece) -> bool:
    """Whether a unit's earth is named by where it is fixed: *earth point of the airbag box*."""
    fixed = not _FIXED_AT.isdisjoint(piece.words[1:]) or piece.words[0].startswith("massepunkt")
    return piece.role is Role.NEIGHBOUR and fixed and piece.words[0].startswith(_EARTHS)


_EARTHS = ("earth", "ground", "masse")
_FIXED_AT = frozenset(["point", "points", "stud", "studs", "bolt", "bolts", "nut", "screw", "lug"])


def _is_module(piece: Piece) -> bool:
    return piece.role is Role.IGNITER and piece.text.startswith(_MODULES)


_MODULES = ("airbag module", "air bag module", "airbagmodul", "airbag box")


def _parts(pieces: Sequence[Piece], at: int) -> bool:
    if pieces[at].role is not Role.JOINER:
        return False
    if pieces[at].text == "since" and _ends(pieces, at):
        return False  # *lamp on since*
    if pieces[at].text not in {"and", "und", "et", "oraz"} or not 0 < at < len(pieces) - 1:
        return True
    if _is_between(pieces, at):
        return False
    sides = {pieces[at - 1].role, _after_article(pieces, at + 1)}
    return not any(sides <= listed for listed in _LISTED)


def _is_between(pieces: Sequence[Piece], at: int) -> bool:
    """Whether the two ends of something are told: *between box plug and seat plug*."""
    before = [piece.text for piece in pieces[max(0, at - _FAR_ENDS) : at]]
    return "between" in before and not {",", "."} & {*before[before.index("between") :]}


_FAR_ENDS = 6


def _ends(pieces: Sequence[Piece], at: int) -> bool:
    """Whether nothing of the same clause follows."""
    return all(piece.role in {Role.STOP, Role.PAUSE} for piece in pieces[at + 1 : at + 2])


def _after_article(pieces: Sequence[Piece], at: int) -> Role:
    """Role of what follows *the*, *both*, *left* ..."""
    small = {Role.FUNCTION, Role.PLACE}
    following = (piece.role for piece in pieces[at : at + 3] if piece.role not in small)
    return next(following, pieces[at].role)


def _pieces(words: Sequence[str]) -> Iterator[Piece]:
    read = [spelt(word) for word in words]
    at, before = 0, list[Role]()
    while at < len(words):
        if free := _both_unplugged(read, at):
            yield Piece(Role.APART, tuple(words[at : at + free]))
            at += free
            continue
        size, role = roles().longest(read, at) or (1, _other_role(read, at))
        if (
            role is Role.JOINED
            and read[at] in _BAG
            and read[at + size : at + size + 1] in _ARTICLES
        ):
            size, role = 1, Role.SHARED  # *the bag in the press* is not *with the bag in*
        if read[at] == "vom" and read[at + 1 : at + 2] and read[at + 1] not in _BEHIND_A_METER:
            size, role = 1, Role.FUNCTION  # German *from the*, and no volt-ohm meter
        taken = before[-1:] in ([Role.VALUE], [Role.QUANTITY])
        if read[at] == "shorted" and taken and _ends_clause(read[at + 1 :]):
            size, role = 1, Role.KNOWN  # what a value was taken for: *1.1 ohm, shorted*
        told = tuple(read[at : at + size])
        value = before[-1:] == [Role.VALUE] and Role.CONTACT not in before
        if value and told in _OHMS_OF_EACH and _is_of_sides(read[at + size :]):
            size, role = 1, Role.QUANTITY  # *2.3 ohm both sides* is not *ohm both*
        before.append(role)
        yield Piece(role, tuple(words[at : at + size]))
        at += size


_BEHIND_A_METER = frozenset(
    [
        *("on", "at", "in", "to", "across", "between", "over", "through", "and", "or", "with"),
        *("read", "reads", "reading", "readings", "said", "says", "shows", "showed", "gave"),
        *("was", "is", "set", "leads", "lead", "probe", "probes", "used", "put", "connected"),
        *("check", "checked", "test", "tested", "measured", "reported", "it", "out", "off"),
        *(".", ",", ":"),
    ]
)


def _ends_clause(following: Sequence[str]) -> bool:
    return not following or following[0] in _MARK_ROLES


def _is_of_sides(following: Sequence[str]) -> bool:
    """Whether both or each means the sides of the car: *sides* or no more, not *of the plug*."""
    named = following[:1] in (["side"], ["sides"])
    rest = following[1:] if named else following
    plain = not rest or rest[0] in _MARK_ROLES or rest[0] in _BY
    return plain or (named and rest[0] not in {"of", "at", "on", "in"})


_BY = frozenset(["by", "with", "via", "mit", "par"])


def _both_unplugged(words: Sequence[str], at: int) -> int:
    """Return how many words tell that both ends are free: *unit and bag both unplugged*; or 0."""
    end = at
    named: list[Role | None] = []
    while end < len(words) and end - at <= _LONGEST_BOTH:
        word = words[end]
        if word in _FREE and len(named) == 2:
            ends = {Role.UNIT, Role.SHARED if "seat" not in words[at:end] else Role.KNOWN}
            return end + 1 - at if ends <= {*named} | ({Role.SHARED} & {*named}) else 0
        if word in _BOXES and named and words[end - 1] in _OF_BOX:
            named[-1] = Role.UNIT
        elif not (word in _BESIDE_BOTH or word in _KIND or role_of(word) is Role.PLACE):
            named.append(Role.SHARED if role_of(word) is Role.IGNITER else role_of(word))
        elif end == at and word in _BESIDE_BOTH:
            return 0
        end += 1
    return 0


_KIND = frozenset(["buckle", "belt", "side", "knee", "lap"])
_OF_BOX = ("airbag", "control")
_BOXES = frozenset(["box", "ecu", "module", "unit"])
_BESIDE_BOTH = frozenset(["and", "&", "the", "both", "are", "were", "now", "restraint", "control"])
_FREE = frozenset(["off", "unplugged", "disconnected", "disconected", "out", "apart"])
_LONGEST_BOTH = 7
_BAG = ("bag", "tensioner")
_OHMS_OF_EACH = (("ohm", "both"), ("ohm", "each"))
_ARTICLES = (["the"], ["a"], ["an"], ["its"], ["my"])
_MARK_ROLES = {".": Role.STOP, ",": Role.PAUSE, ":": Role.PAUSE}


def _other_role(words: Sequence[str], at: int) -> Role:
    """Role of a mark, a number, or a word that the table does not have."""
    word = words[at]
    if word in _MARK_ROLES:
        return _MARK_ROLES[word]
    if _BARE_VALUE.fullmatch(word):
        return Role.VALUE
    if _NUMBER.fullmatch(word):
        return Role.NUMBER if _is_harmless(words, at) else Role.VALUE
    if word in words_in(Aside.ELECTRICAL) and at and _NUMBER.fullmatch(words[at - 1]):
        return Role.QUANTITY
    if at and _NUMBER.fullmatch(words[at - 1]) and word in words_in(Aside.PHYSICAL):
        return Role.KNOWN
    named = len(word) <= _SHORTEST_WORD or not word.isalpha()  # a part's name, a code
    named |= at > 0 and words[at - 1] in _TITLES
    return Role.KNOWN if named else Role.UNKNOWN


def _is_harmless(words: Sequence[str], at: int) -> bool:
    """Whether a number is a time, a length, a count or a name."""
    word = words[at]
    following = list(words[at + 1 : at + 3])
    if following and following[0] in words_in(Aside.ELECTRICAL):
        return False
    if ":" in word or _is_numbered(words, at) or words[at - 1 : at] in _PRICES:
        return True
    if following and (following[0][0] in "%°" or aside(Aside.PHYSICAL).longest(following, 0)):
        return True
    if not word.isdigit():
        return False
    if at == 1 and following[:1] != ["ohm"] and _is_name(words[0]):
        return True
    return len(word.lstrip("0")) >= _LARGE or _is_count(following) or _goes_on(words, at)


def _is_name(word: str) -> bool:
    """Whether a word may be the name of a model: no list has it."""
    return word.isalpha() and len(word) > _SHORTEST_WORD and roles().longest([word], 0) is None


def _goes_on(words: Sequence[str], at: int) -> bool:
    """Whether a number has the unit of the one before: *on at 3 sec, off at 6*."""
    before = words[max(0, at - 6) : at]
    units = (i for i in range(1, len(before)) if _NUMBER.fullmatch(before[i - 1]))
    return before[-1:] in (["at"], ["to"], ["then"]) and any(
        aside(Aside.PHYSICAL).longest(before, i) for i in units
    )


def _is_count(following: Sequence[str]) -> bool:
    """Whether such things follow as are counted: *pins*, *green pins*."""
    if following and _is_plural(following[0]):
        return True
    adjective = following and roles().longest(following[:1], 0) == (1, Role.KNOWN)
    return any(
        aside(Aside.COUNTED).longest(following, at)
        for at in range(len(following) if adjective else 1)
        if at < len(following)
    )


def _is_plural(word: str) -> bool:
    """Whether a word is an ordinary one, and several of it."""
    many = word.endswith("s") and len(word) > _SHORTEST_PLURAL
    return many and (roles().longest([word], 0) or (1, Role.UNKNOWN)) in _ORDINARY


_TITLES = frozenset(["mr", "mrs", "ms", "miss", "dr", "herr", "frau", "mme", "monsieur", "madame"])
"""Behind these stands a name."""
_SHORTEST_PLURAL = 4
_SHORTEST_WORD = 2
"""So short a word that no list has is a name, not a deed."""
_ORDINARY = ((1, Role.KNOWN), (1, Role.UNKNOWN))


def _is_numbered(words: Sequence[str], at: int) -> bool:
    """Whether a number is the name of a pin, a fuse, a stage ..., or follows such a number."""
    before = [word for word in words[max(0, at - 6) : at] if word not in {"and", "the", ","}]
    while before and _NUMBER.fullmatch(before[-1]) and before[-1].isdigit():
        before.pop()
    return (
        words[at].isdigit() and bool(before) and bool(aside(Aside.NUMBERED).longest(before[-1:], 0))
    )
