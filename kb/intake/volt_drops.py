"""Drops of voltage: over which path each was measured, however it is told.

``volt drop engine to battery negative 1.3 V``, ``earth side 0.1 V drop``, ``losing 0.9 V across the
relay``, ``from block to battery negative 0.6 V``. The path is the item, whatever stands between it
and the word *drop*, before or behind the value; the other side of a circuit may be told by its name
alone: ``positive side 0.2 V``. The words are common practice, no source.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from enum import Enum, auto
from itertools import pairwise, takewhile
from typing import NamedTuple

from kb.case import Quantity
from kb.errors import InvalidField
from kb.intake.company import Company, Qualifier, said
from kb.intake.company_words import Aspect
from kb.intake.items import is_item_word
from kb.intake.lifting import Place
from kb.intake.positions import find_position
from kb.intake.reading_drafts import DROPS, quantity_of
from kb.intake.reading_items import ARTICLES, COMPLAINT, COUNTED, LINKS, STOP
from kb.intake.reading_words import item_and_position
from kb.intake.stated import objection
from kb.intake.values import VALUE, Value, read_match
from kb.intake.wording import Wording
from kb.patterns import compiled

_ITEM = "voltage drop"


def _numbered(words: str) -> frozenset[str]:
    """Return words, one of each and several."""
    return frozenset(each for word in words.split() for each in (word, f"{word}s"))


class Drop(NamedTuple):
    """A drop: what it was measured over, its state, its value, and the stretch it is told in."""

    item: str
    position: str | None
    condition: str | None
    match: re.Match[str]
    place: Place
    supposed: bool = False
    """Nobody called it a drop: it is one only if its path carried current."""


_DROP = compiled(r"\b(?:(?:volt(?:age|s)?|v)[ -]?drops?|v/?d|drop)\b(?! link)", re.IGNORECASE)
_LOSS = compiled(r"\b(?:los(?:ing|es|t|s of)|drop(?:ping|ped|s))\b", re.IGNORECASE)
_MAY_BE = compiled(
    r"drop|\bv/?d\b|\blos(?:ing|es|t|s)\b|\b(?:from|between|neg(?:ative)?|-ve)\b"
    r"|\b(?:engine|block|gearbox|body|chassis)\b[^,;\n]{0,30}?\bto\b"
    r"|\b(?:cables?|straps?|leads?|earth|ground|gnd|joints?|fuses?|contacts?|clamps?|terminals?"
    r"|across)\b",
    re.IGNORECASE,
)
_SWITCHED = compiled(
    r"\b(?:(?:with|when|while) )?(?:all )?(?:under load\b|(?:fan|pump|lights?|lamps?|headlamps?"
    r"|headlights?|key|ign(?:ition)?|engine|motor|blower|heater|loads?|screen|everything|consumers"
    r"|horn|brakes?) (?:on|off|running|lit)\b)",
    re.IGNORECASE,
)
_SWITCHED_BEHIND = compiled(
    rf"[\s,(]*(?:at |and )?(?P<state>{_SWITCHED.pattern})\)?", re.IGNORECASE
)
_TOKEN = compiled(r"\S+")
_POINT = compiled(r"[a-z]{1,2}[0-9]{1,4}|[a-z]{1,3}[+-]")
_NUMBER = compiled(r"[0-9]{1,3}")
_TERMINALS = frozenset(["15", "30", "31", "50", "85", "86", "87", "87a"])
"""Numbers of terminals by DIN 72552 (from memory)."""
_BEGINS = compiled(r"(?:^|[,;:.\n]|(?<=[0-9V]))\s*$", re.IGNORECASE)
_JOINT = compiled(r"[\s,;/&]*(?:and\s+)?")
_PARTS_SENTENCE = compiled(r"[;\n]|\.\s")
_SIDES = {
    **dict.fromkeys(("earth", "ground", "gnd", "negative", "neg", "minus", "-ve"), "earth"),
    **dict.fromkeys(("positive", "pos", "plus", "+ve", "live", "feed", "supply"), "positive"),
}
_OF_A_SIDE = frozenset(["side", "other", "cable", "lead", "leg", "path"])
_OF_ANY = frozenset(["battery", "batt", "bat", "post", "terminal", "strap", "both", "sides"])
"""Words that tell a side of any circuit, and so do not tell of which."""
_EARTHED = frozenset(["engine", "block", "gearbox", "body", "chassis", "case", "housing", "shell"])
_OTHER_PLACES = """
main stud clamp braid socket joint splice crimp bulb holder headlight headlights headlamp headlamps
lamp lamps lights wing box frame b+ b- plug point contact contacts
"""
_PLACES = _EARTHED | _SIDES.keys() | _OF_A_SIDE | _OF_ANY | frozenset(_OTHER_PLACES.split())
_ENGINE = frozenset(["engine", "eng"])
_STATES = frozenset(["cranking", "cranked", "loaded", "running", "idle", "charging"])
_SAID_BETWEEN = """
is was measured reads reading gives gave shows showing got found = - total only still now about
approx a an the
"""
_FILLERS = frozenset(_SAID_BETWEEN.split())
_ACROSS = frozenset(["across", "between", "over"])
_ALSO_LINKS = frozenset(["over", "through"])
_CONDUCTORS = _numbered("cable strap lead earth ground gnd joint fuse contact clamp terminal link")
"""What does nothing but carry current: the little that is read on it under load is lost there."""
_OF_A_SIGNAL = _numbered(
    "sensor sender probe lambda o2 signal data bus can lin reference ref pedal pot feed supply"
    " control ignition igniter airbag pretensioner squib"
)
"""What may have so little as its signal, or be fed it."""
_LOADED = compiled(
    r"\b(?:crank\w*|starting|on the starter|(?<!no )(?<!without )load(?:ed|s)?|running|runs|revs"
    r"|idl\w+|tick ?over|[0-9]+ ?rpm|charging|driving|glowing|lit|beim (?:starten|anlassen)"
    r"|unter last|sous charge|au démarrage|pod obciążeniem|przy rozruchu"
    r"|(?<!key )(?<!ignition )(?<!ign )on)\b",
    re.IGNORECASE,
)
_AT_REST = compiled(r"\b(?:not|never|before|off|unloaded)\b", re.IGNORECASE)
_FAR, _MOST_WORDS = 160, 14
_MOST_OF_A_SIDE = 3.0
"""V; what is told of a side alone and is more may be its supply."""
_OF_A_STATE = frozenset([Quantity.ROTATION, Quantity.TIME, Quantity.TEMPERATURE])
"""What a second value may be of that only tells in which state the first was read."""


class _Kind(Enum):
    DROP = auto()
    LOSS = auto()
    STATE = auto()
    FILLER = auto()
    LINK = auto()
    PLACE = auto()
    OTHER = auto()


class _Word(NamedTuple):
    word: str
    kind: _Kind
    start: int
    end: int
    mark: str
    """The sign that ends the word and may part it from the next."""


def lost(value: Value) -> Value:
    """Return how much was lost: which way round the leads were tells nothing of a drop.

    Examples
    --------
    >>> from kb.intake.values import parse_value
    >>> lost(parse_value("-1.3 V")).value
    1.3
    """
    if value.value is None or value.upper is not None:
        return value
    return replace(value, value=abs(value.value))


def find_drops(plain: str, wording: Wording, state: str = "") -> list[Drop]:
    """Find the drops of a line in the order they are told; those of no path are left out.

    `plain` was prepared by `kb.intake.values.prepare`; `state` is what is told elsewhere of how all
    was measured. What nobody calls a drop is one where so little was read under load on what only
    carries current: ``starter cable 1.1 V cranking``, but not ``fuse 12.4 V``.

    Examples
    --------
    >>> line = "volt drop engine to battery negative 1.3 V cranking, positive side 0.2 V"
    >>> [each.item for each in find_drops(line, Wording.default())]
    ['volt drop engine to battery negative', 'voltage drop positive side']
    """
    if not _MAY_BE.search(plain):
        return []
    found = _told_last(list(_Search(plain, wording).drops()))
    return [
        each for each in found if not each.supposed or is_loaded(f"{each.condition or ''} {state}")
    ]


def is_loaded(condition: str) -> bool:
    """Whether a circuit carried its current, as a condition tells.

    Examples
    --------
    >>> is_loaded("cranking"), is_loaded("lights on"), is_loaded("key on"), is_loaded("engine off")
    (True, True, False, False)
    """
    return _LOADED.search(condition) is not None and not _AT_REST.search(condition)


def _told_last(drops: list[Drop]) -> list[Drop]:
    """Give drops told one after the other the state that is told behind the last of them."""
    shared = drops[-1:]
    for each in drops[-2::-1]:
        between = each.match.string[each.place.end : shared[-1].place.start]
        follows = each.condition is None and _JOINT.fullmatch(between)
        shared.append(each._replace(condition=shared[-1].condition) if follows else each)
    return shared[::-1]


class _Search:
    """One line, its values and what may stand around them."""

    def __init__(self, plain: str, wording: Wording) -> None:
        self._plain, self._wording = plain, wording
        self._company = Company(plain)
        found = (
            (match.start(), match.end(), kind)
            for kind, pattern in (
                (_Kind.STATE, _SWITCHED),
                (_Kind.DROP, _DROP),
                (_Kind.LOSS, _LOSS),
            )
            for match in pattern.finditer(plain)
        )
        self._spans = sorted(found, key=lambda each: each[:2])
        self._drop_ends = sorted(end for _, end, kind in self._spans if kind is not _Kind.STATE)

    def drops(self) -> Iterator[Drop]:
        """Yield the drops of the line."""
        floor, last = 0, None
        found = VALUE.finditer(self._plain)
        values = [each for each in found if quantity_of(each) not in _OF_A_STATE]
        for place, match in enumerate(values):
            limit = values[place + 1].start() if place + 1 < len(values) else len(self._plain)
            last = self._drop(match, floor, limit, last)
            floor = last.place.end if last else match.end()
            if last:
                yield last

    def _drop(self, match: re.Match[str], floor: int, limit: int, last: Drop | None) -> Drop | None:
        """Read one value as a drop; None if it is none, or of no path."""
        is_volts = quantity_of(match) is Quantity.VOLTAGE and not match["over"]
        if not is_volts or not _is_readable(match):
            return None
        before = self._before(floor, match.start())
        behind = self._behind(match.end(), limit, before)
        run = [*before, *behind]
        is_lost = any(each.kind is _Kind.LOSS for each in run)
        if not is_lost and objection(match):
            return None
        path = _path([*_beside(before), *_beside(behind)])
        if not path:
            return None
        is_drop = any(each.kind in (_Kind.DROP, _Kind.LOSS) for each in run)
        sided = _is_of_a_side(path) and last is not None and self._headed(match.start())
        across = bool({each.word for each in run} & _ACROSS)
        supposed = not (is_drop or _is_of_earth(path) or self._is_other_side(path, match, last))
        if supposed and not _may_lose(path, match, across=across):
            return None
        if supposed or (is_drop and not sided) or _is_of_earth(path):
            item, position = item_and_position(" ".join(path))
        else:
            circuit = _circuit(last.item) if last else []
            item, position = item_and_position(" ".join((*circuit, *path)))
            position = position or (last.position if last and circuit else None)
        if not item:
            return None  # of a position alone
        named = " ".join(each.word for each in run if each.kind is _Kind.DROP)
        link = _link(before) or _link(behind) if named else ""
        as_typed = run[0].kind is _Kind.DROP and named in DROPS
        name = " ".join(filter(None, (named if as_typed else _ITEM, link, item)))
        begin = min([each.start for each in before] + [match.start()])
        end = max([each.end for each in behind] + [match.end()])
        lead = _states(self._company.before(floor, begin))
        front = self._plain[floor : lead[0].start] if lead else ""
        if lead and (not _BEGINS.search(front) or (floor and not front.strip())):
            lead = []  # "no start, ...", or of the value before
        begin = min([begin, *(each.start for each in lead)])
        inner = " ".join(each.word for each in run if each.kind is _Kind.STATE)
        trail, end = self._states_behind(end, limit)
        told = [said(lead).condition, inner, *trail]
        condition = ", ".join(dict.fromkeys(filter(None, told))) or None
        if condition is None and last and floor == last.place.end:
            condition = last.condition
        return Drop(name, position, condition, match, Place(begin, end), supposed)

    def _is_other_side(self, path: Sequence[str], match: re.Match[str], last: Drop | None) -> bool:
        """Whether a side is told alone, where drops are told of: it has the drop of that side."""
        told = set(path)
        if not _is_of_a_side(path):
            return False
        if told & {"supply", "feed"} and "side" not in told:
            return False  # its volts may be meant
        headed = self._headed(match.start())
        return _is_small(match) and headed and (last is not None or bool(told & _OF_A_SIDE))

    def _headed(self, place: int) -> bool:
        """Whether a drop is told of in front of a place, in the same sentence."""
        at = bisect_right(self._drop_ends, place) - 1
        if at < 0 or place - self._drop_ends[at] > _FAR:
            return False
        return not _PARTS_SENTENCE.search(self._plain, self._drop_ends[at], place)

    def _states_behind(self, end: int, limit: int) -> tuple[list[str], int]:
        """Return the states that are told just behind a place, and where the last one ends."""
        told: list[str] = []
        while True:
            switched = _SWITCHED_BEHIND.match(self._plain, end, limit)
            chain = [] if switched else _states(self._company.after(end, limit))
            if not (switched or chain):
                return told, end
            told.append(switched["state"] if switched else said(chain).condition or "")
            end = switched.end() if switched else chain[-1].end

    def _words(self, start: int, end: int) -> list[_Word]:
        found = []
        for match in _TOKEN.finditer(self._plain, start, end):
            bare = match[0].lower().strip("(),;:=").removesuffix(".") or match[0][0]
            mark = match[0][-1] if match[0][-1] in ",;:." else ""
            stop = match.start() + len(match[0].rstrip(",;:."))
            found.append(_Word(bare, _Kind.OTHER, match.start(), stop, mark))
        return [each._replace(kind=self._kind(found, at)) for at, each in enumerate(found)]

    def _kind(self, words: Sequence[_Word], at: int) -> _Kind:  # noqa: PLR0911 - one a kind
        each = words[at]
        span = bisect_right(self._spans, each.start, key=lambda span: span[0]) - 1
        if span >= 0 and each.end <= self._spans[span][1]:
            return self._spans[span][2]
        word, before = each.word, words[at - 1].word if at else ""
        behind = words[at + 1].word if at + 1 < len(words) else ""
        of_engine = word in _ENGINE and behind in _STATES and before not in LINKS | _ALSO_LINKS
        if word in _STATES or of_engine:
            return _Kind.STATE
        if word in _FILLERS:
            return _Kind.FILLER
        joins = word == "and" and any(one.word == "between" for one in words[:at])
        if word in LINKS | _ALSO_LINKS or joins:
            return _Kind.LINK
        counted = _NUMBER.fullmatch(word) and before in COUNTED
        ends = {before, behind}
        pinned = word in _TERMINALS and ends & {"to", "and", "terminal"}
        if counted or pinned or word in _PLACES or _POINT.fullmatch(word):
            return _Kind.PLACE
        if word in COMPLAINT or word in STOP:
            return _Kind.OTHER
        known = is_item_word(word, self._wording) is not None or find_position(word)[0] is not None
        return _Kind.PLACE if known else _Kind.OTHER

    def _before(self, floor: int, end: int) -> list[_Word]:
        """Return the words just before a value that tell a drop or its path."""
        run: list[_Word] = []
        for each in reversed(self._words(max(floor, end - _FAR), end)[-_MOST_WORDS:]):
            is_loss = each.kind is _Kind.LOSS
            comma = each.mark == "," and run and each.kind is not _Kind.DROP
            if comma or each.mark in {";", "."} or each.kind is _Kind.OTHER:
                break
            across = bool(run) and run[0].word in _ACROSS
            if run and not across and is_loss is not (run[0].kind is _Kind.LOSS):
                break  # "drops to 9.1 V" tells where something falls to
            run.insert(0, each)
        if run and run[-1].mark == "," and not any(each.kind is _Kind.DROP for each in run):
            return []
        first = next((at for at, each in enumerate(run) if each.kind is not _Kind.FILLER), len(run))
        return run[first:]

    def _behind(self, start: int, limit: int, before: Sequence[_Word]) -> list[_Word]:
        """Return the words just behind a value that tell a drop, or its path if none is told."""
        run: list[_Word] = []
        named = bool(_path(before))
        words = self._words(start, min(limit, start + _FAR))[:_MOST_WORDS]
        for at, each in enumerate(words):
            sided = each.word in _SIDES and self._headed(start)
            led = run or sided or each.kind in (_Kind.DROP, _Kind.LOSS, _Kind.LINK)
            ends = each.kind in (_Kind.OTHER, _Kind.STATE, _Kind.FILLER)
            if not led or (ends and not (at and each.word in ARTICLES)):
                break
            run.append(each)
            if each.mark:
                break
        while run and run[-1].kind in (_Kind.LINK, _Kind.FILLER):
            run.pop()
        is_led = not run or run[0].kind is not _Kind.PLACE
        if not is_led and limit < len(self._plain) and not self._plain[run[-1].end : limit].strip():
            return []  # the next value's
        sides = [_SIDES.keys() & set(_path(each)) for each in (before, run)]
        if named and (sides[0] or not sides[1]):
            run = [each for each in run[:1] if each.kind in (_Kind.DROP, _Kind.LOSS)]
        return run


def _beside(run: Sequence[_Word]) -> list[_Word]:
    return [each for each in run if each.kind in (_Kind.LINK, _Kind.PLACE)]


def _states(chain: Sequence[Qualifier]) -> list[Qualifier]:
    """Return the states of a chain up to the first side, which is of a path."""
    return list(takewhile(lambda each: each.kind not in (Aspect.SIDE, Aspect.ROLE), chain))


def _is_readable(match: re.Match[str]) -> bool:
    try:
        read_match(match, match[0])
    except InvalidField:
        return False
    return True


def _is_small(match: re.Match[str]) -> bool:
    value = read_match(match, match[0]).value
    return value is not None and abs(value) < _MOST_OF_A_SIDE


def _may_lose(path: Sequence[str], match: re.Match[str], *, across: bool) -> bool:
    """Whether so little, told of a path that carries current or across a part, may be lost there.

    Examples
    --------
    >>> from kb.intake.values import VALUE
    >>> small = VALUE.search("0.4 V")
    >>> [_may_lose(each.split(), small, across=False) for each in ("earth strap", "sensor lead")]
    [True, False]
    """
    words = set(path)
    is_signal = bool(words & _OF_A_SIGNAL) and not words & _SIDES_OF_EARTH
    carries = bool(words & _CONDUCTORS) or across
    return carries and not is_signal and _is_small(match)


def _is_of_a_side(path: Sequence[str]) -> bool:
    """Whether a path is but the side of some circuit: ``earth side``, ``positive cable``."""
    return bool(_SIDES.keys() & set(path)) and not set(path) - _SIDES.keys() - _OF_A_SIDE


def _link(run: Sequence[_Word]) -> str:
    """Return the word by which a drop is linked to its path: ``volt drop across the relay``."""
    links = (
        each.word
        for before, each in pairwise(run)
        if each.kind is _Kind.LINK and before.kind in (_Kind.DROP, _Kind.FILLER)
    )
    first = run[0].word if run and run[0].kind is _Kind.LINK else ""
    found = next(links, first)
    return found if found in {"across", "on", "at"} else ""


def _path(run: Sequence[_Word]) -> list[str]:
    """Return the words of a path, without links at its ends; none if it names no place."""
    words = _beside(run)
    while words and words[0].kind is _Kind.LINK:
        words.pop(0)
    while words and words[-1].kind is _Kind.LINK:
        words.pop()
    return ["to" if each.word == "and" else each.word for each in words]


def _is_of_earth(path: Sequence[str]) -> bool:
    """Whether both ends of a path are earthed, so that volts between them are lost on it.

    Examples
    --------
    >>> _is_of_earth(["block", "to", "battery", "negative"])
    True
    >>> _is_of_earth(["battery", "positive", "to", "earth"])
    False
    """
    ends = " ".join(path).split(" to ")
    earths = [
        bool(words & _EARTHED or _SIDES_OF_EARTH & words) and not words - _EARTH_WORDS
        for words in (set(end.split()) for end in ends)
    ]
    return len(ends) == len(("from", "to")) and all(earths)


_SIDES_OF_EARTH = frozenset(word for word, side in _SIDES.items() if side == "earth")
_EARTH_WORDS = _EARTHED | _SIDES_OF_EARTH | _OF_ANY | frozenset(["point", "stud", "clamp"])


_OF_NONE = (
    _SIDES.keys() | _OF_A_SIDE | _OF_ANY | _EARTHED | LINKS
    | {"voltage", "volt", "drop", "vd", "v/d", "and", "b+", "b-"}
)  # fmt: skip


def _circuit(item: str) -> list[str]:
    """Return the words of a drop's item that tell of which circuit it is, and not of what side."""
    words = item.split()
    return [word for word in words if word not in _OF_NONE]
