"""In which state a reading was taken: cranking or at rest, cold or hot, petrol or diesel.

The states and their words stand in ``conditions.toml`` beside this module, to be read and edited
by the trade.
"""

import re
import tomllib
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

import msgspec

from kb.case import Reading, Vehicle
from kb.patterns import compiled

CONDITIONS_FILE = Path(__file__).with_name("conditions.toml")
_NUMBER = r"(?P<number>\d{1,5}(?:[.,]\d)?)\s*"
_RPM = compiled(_NUMBER + r"(?:rpm|r/min|min-1)\b", re.IGNORECASE)
_CELSIUS = compiled(_NUMBER + r"(?:°\s*c|deg(?:rees)?\s*c|c)\b", re.IGNORECASE)
_WARMTH = compiled(
    r"\b(?:hot|warm|cold|engine|coolant|water)(?: (?:engine|temp|temperature|is|at|about))*[ ,]+"
    r"(?P<number>\d{1,3})(?:\s*(?:°|deg(?:rees)?))?(?!\s*(?:[\w°%/]|[.,]\d))",
    re.IGNORECASE,
)
"""A temperature without its unit, behind what is so warm: *engine at 80*."""
_DRIVEN = compiled(
    _NUMBER + r"(?:min|mins|minutes?|km|miles?)\s+(?:of\s+|on\s+the\s+|a\s+)?"
    r"(?:drive|driving|driven|run|road|motorway|test\s+drive)\b",
    re.IGNORECASE,
)
_VOLTS = compiled(_NUMBER + r"v(?:olts?)?\b", re.IGNORECASE)
_LOCKED = compiled(
    _NUMBER + r"min(?:s|utes?)?\s+(?:after|since)\s+(?:it\s+was\s+)?lock(?:ing|ed)?\b",
    re.IGNORECASE,
)
_NOT = r"(?<!not )(?<!no )(?<!(?<!pre)-)\b"
_ARTICLE = (
    r"(?: (?:the|a|an|any|first|next|dem|der|den|das|le|la|les|un|une|de|du|d['’]|l['’]|à))*"
    r"[ '’-]$"
)
_BEFORE = compiled(
    rf"(?<!\w)(?:before|b4|prior to|ahead of|pre|vor|bevor|avant|przed){_ARTICLE}",
    re.IGNORECASE,
)
_AFTER = compiled(rf"(?<!\w)(?:after|post|following|nach|après|po){_ARTICLE}", re.IGNORECASE)
_LONGEST_LEAD = 40
_PASSING = ("running", "cranking")
"""States that end: what was read after them was not read in them."""
_MOST_CACHED = 20_000
Numbers = tuple[tuple[tuple[float, float] | None, re.Pattern[str]], ...]
ALWAYS_MATTER = frozenset(["engine", "seat", "throttle"])
"""Kinds of state in which a reading of anything may differ; heat and fuel only make some differ."""


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One state: states of one `kind` exclude one another, unless one implies the other.

    `before` are deeds before which it holds. `rpm`, `celsius`, `driven`, `volts` and `locked` are
    the engine speeds, temperatures, minutes or distances of driving, voltages, and minutes since it
    was locked that say it, least and most.
    """

    name: str
    kind: str
    words: tuple[str, ...]
    implies: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    rpm: tuple[float, float] | None = None
    celsius: tuple[float, float] | None = None
    driven: tuple[float, float] | None = None
    volts: tuple[float, float] | None = None
    locked: tuple[float, float] | None = None

    def spans(self, text: str) -> list[tuple[int, int]]:
        """Return where a text says so, in words or by a number."""
        numbers = (
            (self.rpm, _RPM),
            (self.celsius, _CELSIUS),
            (self.celsius, _WARMTH),
            (self.driven, _DRIVEN),
            (self.volts, _VOLTS),
            (self.locked, _LOCKED),
        )
        words = [found.span() for found in _words(self.words).finditer(text)]
        return [
            *(each for each in words if not self._is_apart(text, *each)),
            *self._before(text),
            *self._by_numbers(text, numbers),
        ]

    def _is_apart(self, text: str, start: int, end: int) -> bool:
        """Whether words say when it was not so: "before cranking", "after running"."""
        lead = text[max(0, start - _LONGEST_LEAD) : start]
        if _BEFORE.search(lead):
            return True
        ends = self.name in _PASSING or "running" in self.implies
        return ends and not text[:end].casefold().endswith(" on") and bool(_AFTER.search(lead))

    def _before(self, text: str) -> Iterator[tuple[int, int]]:
        """Yield where a text tells of the time before a deed that ends the state."""
        for deed in _words(self.before).finditer(text) if self.before else ():
            lead = max(0, deed.start() - _LONGEST_LEAD)
            if told := _BEFORE.search(text[lead : deed.start()]):
                yield lead + told.start(), deed.end()

    @staticmethod
    def _by_numbers(text: str, numbers: Numbers) -> Iterator[tuple[int, int]]:
        for bounds, pattern in numbers:
            for found in pattern.finditer(text) if bounds else ():
                if bounds and bounds[0] <= float(found["number"].replace(",", ".")) <= bounds[1]:
                    yield found.span()


@cache
def conditions() -> dict[str, State]:
    """Read the trade's table of states, by name."""
    rows = tomllib.loads(CONDITIONS_FILE.read_text(encoding="utf-8"))["condition"]
    return {row["name"]: msgspec.convert(row, State) for row in rows}


@cache
def _words(words: tuple[str, ...]) -> re.Pattern[str]:
    longest = sorted(words, key=len, reverse=True)
    return compiled(_NOT + f"(?:{'|'.join(map(re.escape, longest))})" + r"\b", re.IGNORECASE)


@lru_cache(maxsize=_MOST_CACHED)
def told_in(text: str) -> frozenset[str]:
    """Return the names of the states that a text tells, with those they imply.

    Words within longer ones that tell another state tell nothing: a fast idle is no idle.

    Examples
    --------
    >>> sorted(told_in("2000 rpm, hot"))
    ['at 2000 rpm or more', 'hot', 'running']
    >>> sorted(told_in("engine not running"))
    ['at rest']
    >>> sorted(told_in("pump running"))
    ['switched on']
    >>> sorted(told_in("before cranking")), sorted(told_in("after cranking"))
    (['at rest'], [])
    """
    found = [(span, each) for each in conditions().values() for span in each.spans(text)]
    told = [each for span, each in found if not any(_within(span, other) for other, _ in found)]
    return frozenset(name for each in told for name in (each.name, *each.implies))


def _within(span: tuple[int, int], other: tuple[int, int]) -> bool:
    return span != other and other[0] <= span[0] and span[1] <= other[1]


def told_of(reading: Reading, vehicle: Vehicle | None = None) -> frozenset[str]:
    """Return the states that a reading was taken in, as far as it or its car's engine tells.

    What its item's name tells gives way to its condition: a quiescent current just after locking is
    one of a car that is awake.
    """
    engine = vehicle.engine if vehicle else None
    told = (reading.item, reading.position, reading.condition, engine)
    found, plainly = told_in(" | ".join(filter(None, told))), told_in(reading.condition or "")
    named = of_kinds(told_in(reading.item), kinds_of(plainly)) - plainly
    return found - named


def kinds_of(names: Iterable[str]) -> frozenset[str]:
    """Return of which kinds some states are."""
    return frozenset(conditions()[name].kind for name in names)


def of_kinds(names: Iterable[str], kinds: frozenset[str]) -> frozenset[str]:
    """Return those states that are of some kinds."""
    return frozenset(name for name in names if conditions()[name].kind in kinds)


def exclude(one: Iterable[str], other: Iterable[str]) -> bool:
    """Whether what two readings tell of their state cannot hold of both.

    Examples
    --------
    >>> exclude(["cranking"], ["idle", "running"]), exclude(["idle", "running"], ["running"])
    (True, False)
    >>> exclude(["cold"], ["idle"]), exclude(["idle", "running"], ["full load", "running"])
    (False, True)
    """
    mine, theirs = _by_kind(one), _by_kind(other)
    return any(
        not (mine[kind] <= theirs[kind] or theirs[kind] <= mine[kind])
        for kind in mine.keys() & theirs.keys()
    )


def _by_kind(names: Iterable[str]) -> dict[str, set[str]]:
    kinds: dict[str, set[str]] = defaultdict(set)
    for name in names:
        kinds[conditions()[name].kind].add(name)
    return kinds
