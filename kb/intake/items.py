"""What is measured: the many names of an item, brought to one for comparison.

The names stand in ``items.txt`` beside this module, to be read and edited by the trade; a shop's
own come from `kb.intake.wording.Wording.phrases`. What was typed is never changed.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from kb.intake.lifting import known_phrases, longest_phrases
from kb.intake.wording import Wording
from kb.patterns import compiled

ITEMS_FILE = Path(__file__).with_name("items.txt")
_QUANTITIES = frozenset(["resistance", "voltage", "current", "ohms", "ohm", "circuit"])
"""Words that the unit of a value tells as well, or that tell nothing."""
_RESISTANCE = compiled(r"(?<=\w)\s+res\.?\s*$", re.IGNORECASE)
"""Behind an item *res* is its resistance, whatever else it is short for."""
_DROP = "drop"
"""What drops is a voltage, wherever that word stands."""
_SMALL_WORDS = "of on at to from across in between and the a an its"
_LINKS = frozenset(_SMALL_WORDS.split())
_NEVER_ALONE = frozenset(
    ["off", "open", "rest", "test", "while", "key", "misfire", "misfires", "count"]
)
"""Words of the table's names that tell of anything elsewhere."""
_PLUGS = frozenset(["plug", "plugs"])
_HAVE_CONNECTORS = frozenset(
    [
        *("pretensioner", "tensioner", "airbag", "bag", "squib", "igniter", "curtain", "buckle"),
        *("injector", "sensor", "motor", "ecu", "module", "unit", "solenoid", "mat", "inverter"),
    ]
)
"""Parts that are plugged in (common practice, no source)."""
_MISSPELT_ONCE, _MISSPELT_TWICE = 5, 8
"""Words so long may have so many slips and still be read as a word of the table."""
_MOST_CACHED = 20_000


class Trade(NamedTuple):
    """The trade's table: name -> its other names, for parts and whole readings; loose words."""

    parts: Mapping[str, tuple[str, ...]]
    readings: Mapping[str, tuple[str, ...]]
    words: frozenset[str]


@cache
def trade_items() -> Trade:
    """Read the trade's table, once."""
    sections: dict[str, list[str]] = {}
    for line in ITEMS_FILE.read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            section = sections.setdefault(line.strip("[]"), [])
        elif line and not line.startswith("#"):
            section.append(line)
    names = {
        title: {
            name.strip(): tuple(other for other in others.strip().split(" | ") if other)
            for name, _, others in (line.partition("=") for line in sections[title])
        }
        for title in ("parts", "readings")
    }
    return Trade(**names, words=frozenset(" ".join(sections["words"]).split()))


@cache
def trade_wording() -> Wording:
    """Return the trade's wording without any shop's words, made once."""
    return Wording.default()


@lru_cache(maxsize=_MOST_CACHED)
def item_key(item: str, wording: Wording) -> str:
    """Bring the name of an item to the form in which items are compared.

    Words in order of the alphabet, each once: shorthand written out, other names of a part or a
    reading replaced by the first of `ITEMS_FILE`, links left out, and so are resistance, voltage,
    current and circuit at either end. Two items, told without their position, are the same if their
    keys and quantities are.

    Examples
    --------
    >>> wording = Wording.default()
    >>> item_key("abs sensor", wording) == item_key("WSS resistance", wording)
    True
    >>> item_key("resting battery voltage", wording), item_key("motor feed", wording)
    ('battery', 'motor supply')
    """
    names = _names(wording)
    tokens = _with_connectors(wording.tokens(_RESISTANCE.sub("", item)))
    key = _key(tokens, names.parts, names.longest)
    return names.readings.get(key, key)


def part_key(name: str, wording: Wording) -> str:
    """Bring the name of a part to the form in which parts are compared, as `item_key` does.

    What is measured at a part may be named by less than the part: *battery terminal* is the
    battery's voltage, but a terminal is no battery.

    Examples
    --------
    >>> wording = Wording.default()
    >>> part_key("battery terminal", wording) == part_key("battery", wording)
    False
    """
    names = _names(wording)
    return _key(wording.tokens(name), names.parts, names.longest)


@dataclass(frozen=True, slots=True)
class _Names:
    """The tables as one wording reads them."""

    parts: Mapping[tuple[str, ...], tuple[str, ...]]
    """Words of every name of a part -> words of its first name."""
    longest: Mapping[str, int]
    """The `longest_phrases` of these names."""
    readings: Mapping[str, str]
    """Key of every name of a reading -> key of its first name."""
    words: frozenset[str]
    """Every word that may stand in an item."""


@lru_cache(maxsize=4)
def _names(wording: Wording) -> _Names:
    trade = trade_items()
    words = set(trade.words)
    parts: dict[tuple[str, ...], tuple[str, ...]] = {}
    for name, others in trade.parts.items():
        meant = tuple(wording.tokens(name))
        for each in (name, *others):
            words.update(each.split())
            parts.setdefault(tuple(wording.tokens(each)), meant)
    for phrase, name in wording.phrases.items():
        words.update(phrase.split(), wording.tokens(name))
        told = tuple(wording.tokens(name))
        parts[tuple(wording.tokens(phrase))] = parts.get(told, told)
    longest, readings = longest_phrases(parts), dict[str, str]()
    for name, others in trade.readings.items():
        for each in (name, *others):
            words.update(each.split())
            key, first = (_key(wording.tokens(told), parts, longest) for told in (each, name))
            readings.setdefault(key, first)
    words.update(word for each in tuple(words) for word in wording.tokens(each))
    return _Names(parts, longest, readings, frozenset(words - _LINKS - _NEVER_ALONE))


def _key(
    tokens: Sequence[str],
    parts: Mapping[tuple[str, ...], tuple[str, ...]],
    longest: Mapping[str, int],
) -> str:
    named = known_phrases(tokens, parts, longest)
    words = [word for each in named for word in ((each,) if isinstance(each, str) else each)]
    words = [word for word in words if word not in _LINKS]
    if _DROP in words:
        words = [word for word in words if word != "voltage"]
    start, end = 0, len(words)
    while end - start > 1 and words[end - 1] in _QUANTITIES:
        end -= 1
    while end - start > 1 and words[start] in _QUANTITIES:
        start += 1
    return " ".join(sorted(set(words[start:end])))


def _with_connectors(tokens: Sequence[str]) -> list[str]:
    """Call the plug of a part that has one its connector: alone a plug is a spark plug."""
    pairs = zip(("", *tokens), tokens, strict=False)
    return [
        "connector" if word in _PLUGS and before in _HAVE_CONNECTORS else word
        for before, word in pairs
    ]


def is_item(words: Iterable[str], wording: Wording) -> bool:
    """Whether words name a part or a reading of the tables whole, slips of spelling aside.

    Examples
    --------
    >>> wording = Wording.default()
    >>> is_item(["abs", "sensor"], wording), is_item(["rattle"], wording)
    (True, False)
    """
    names = _names(wording)
    spelt = [is_item_word(word, wording) or word for word in words]
    tokens = tuple(wording.tokens(" ".join(spelt)))
    key = _key(tokens, names.parts, names.longest)
    return tokens in names.parts or key in names.readings


def is_item_word(word: str, wording: Wording) -> str | None:
    """Return the word of the tables that a word is, or was meant to be; None if it is none.

    Examples
    --------
    >>> wording = Wording.default()
    >>> is_item_word("wss", wording), is_item_word("pretensoner", wording)
    ('wss', 'pretensioner')
    >>> is_item_word("brakng", wording) is None
    True
    """
    words = _names(wording).words
    if word in words:
        return word
    if word in wording.shorthand:
        meant = wording.shorthand[word]
        return word if meant and all(each in words for each in meant) else None
    return _meant(word, words)


@cache
def _pairs() -> frozenset[tuple[str, str]]:
    trade = trade_items()
    names = (
        each.split()
        for table in (trade.parts, trade.readings)
        for name, others in table.items()
        for each in (name, *others)
    )
    return frozenset(pair for words in names for pair in pairwise(words))


def is_pair(word: str, after: str) -> bool:
    """Whether two words follow one another in some name of the trade's table.

    Examples
    --------
    >>> is_pair("crank", "sensor"), is_pair("crank", "battery")
    (True, False)
    """
    return (word, after) in _pairs()


@lru_cache(maxsize=_MOST_CACHED)
def _meant(word: str, words: frozenset[str]) -> str | None:
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - only a strange word needs it

    if len(word) < _MISSPELT_ONCE:
        return None
    most = 1 if len(word) < _MISSPELT_TWICE else 2
    near = [
        (OSA.distance(word, each, score_cutoff=most), each)
        for each in words
        if each[0] == word[0] and len(each) >= _MISSPELT_ONCE
    ]
    best = min(near, default=(most + 1, ""))
    return best[1] if best[0] <= most else None
