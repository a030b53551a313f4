"""The table of words by which a sentence about an igniter is judged, and how words get a role.

The words stand in ``igniter_words.toml`` beside this module, to be read and edited by the trade.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from itertools import product
from pathlib import Path
from typing import Any, Generic, NamedTuple, Self, TypeVar

from kb.intake.slips import Slips
from kb.patterns import compiled
from kb.tables import read_table

WORDS_FILE = Path(__file__).with_name("igniter_words.toml")
SHORTEST_MISSPELT = 5
"""A word so long is known with one slip of spelling; shorter ones are too alike."""
LONG_WORD = 10
"""A word so long is known with two slips."""
_STAR = "*"


class Role(StrEnum):
    """What a word does in a sentence; of equal entries the first role counts."""

    JOINER = "joiner"
    HARMLESS = "harmless"
    SCAN = "scan"
    SUBSTITUTE = "substitute"
    GRIP = "grip"
    JOINED = "joined"
    APART = "apart"
    ISOLATE = "isolate"
    DEFEAT = "defeat"
    INSTRUMENT = "instrument"
    LAMP = "lamp"
    POWER = "power"
    BRIDGE = "bridge"
    DEPLOY = "deploy"
    FORCE = "force"
    LIVE = "live"
    PATH = "path"
    MEASURE = "measure"
    QUANTITY = "quantity"
    IGNITER = "igniter"
    NEIGHBOUR = "neighbour"
    CLOCK_SPRING = "clock_spring"
    SHARED = "shared"
    RAIL = "rail"
    UNIT = "unit"
    CONTACT = "contact"
    HARNESS = "harness"
    IN_PLACE = "in_place"
    JUMP = "jump"
    WEAK = "weak"
    ONTO = "onto"
    PLACE = "place"
    FUNCTION = "function"
    KNOWN = "known"
    # not in the table:
    VALUE = "value"
    NUMBER = "number"
    UNKNOWN = "unknown"
    STOP = "stop"
    PAUSE = "pause"


class Aside(StrEnum):
    """Lists that are asked beside the role of a word."""

    NOT_THE_MEANS = "not_the_means"
    FORBID = "forbid"
    LOOSEN = "loosen"
    MODAL = "modal"
    PHYSICAL = "physical"
    COUNTED = "counted"
    NUMBERED = "numbered"
    BESIDE = "beside"
    LIGHT = "light"
    PRONOUN = "pronoun"
    JUDGING = "judging"
    VERDICT = "verdict"
    CRASH = "crash"
    OTHERS = "others"
    REFUSAL = "refusal"
    STOPPING = "stopping"
    CLEANING = "cleaning"
    PUTTING = "putting"
    ARTICLE = "article"
    FITTINGS = "fittings"
    MEANS = "means"
    ACTING = "acting"
    ELECTRICAL = "electrical"
    DEED = "deed"
    PRICE = "price"
    LABOUR = "labour"
    CODE_WORDS = "code_words"
    TOO_MUCH = "too_much"
    LIMITS = "limits"
    DAMAGE = "damage"
    READS = "reads"
    HIDING = "hiding"
    CODING = "coding"
    OFF = "off"
    LINKING = "linking"
    LOOKING = "looking"
    STAYS = "stays"
    BARE = "bare"
    MADE_FOR_IT = "made_for_it"
    LAMPS = "lamps"
    TAKING = "taking"
    TAKEN = "taken"
    COVERING = "covering"
    MENDED = "mended"
    CUTTING = "cutting"
    FOUND = "found"
    RIGHTED = "righted"
    HANDLING = "handling"
    HARMED = "harmed"
    SPOILT = "spoilt"
    REFITTED = "refitted"
    RENEWED = "renewed"
    HEATED = "heated"
    TAKEN_OUT = "taken_out"
    NOT_OUT = "not_out"
    BATTERY = "battery"
    DENIAL = "denial"
    BATTERY_STATE = "battery_state"
    SHRUGGED = "shrugged"
    UNDOING = "undoing"
    KEPT_ON = "kept_on"
    AT_ONCE = "at_once"
    MINUTES = "minutes"
    SPLICED = "spliced"
    SOLDERED = "soldered"
    TOGETHER = "together"
    SWITCHED_OUT = "switched_out"
    LACKING = "lacking"
    IN_UNIT = "in_unit"
    LEAVES = "leaves"
    UNLISTED = "unlisted"
    AS_ABSENT = "as_absent"
    STILL_ASKED = "still_asked"
    LEFT_SO = "left_so"
    GOES_HOME = "goes_home"
    OUT_AGAIN = "out_again"
    NO_REPAIR = "no_repair"
    PRAISED = "praised"
    OUTSIDERS = "outsiders"
    AFTERMATH = "aftermath"
    CAME_OF_IT = "came_of_it"
    BLINKS = "blinks"
    OTHER_LAMP = "other_lamp"
    ASKED = "asked"
    CRASH_SENSOR = "crash_sensor"
    BLOWS = "blows"
    SWAPPING = "swapping"
    FIRED_BY = "fired_by"
    SETTING_OFF = "setting_off"
    LENS = "lens"
    OVER = "over"
    STANDS_FOR = "stands_for"
    RUBBISH = "rubbish"
    CARRYING = "carrying"
    AT_BODY = "at_body"
    TIMED = "timed"
    FACING = "facing"
    KEPT_OLD = "kept_old"
    STAYS_IN = "stays_in"
    SEATED = "seated"
    SUPPLY_AGAIN = "supply_again"
    GETTING_OUT = "getting_out"
    FROM_AFAR = "from_afar"
    FOR_ALL = "for_all"
    DRIVE_BELT = "drive_belt"
    LEFT_ALONE = "left_alone"
    WISHED = "wished"
    REFUSED_SO = "refused_so"
    AFTER_ALL = "after_all"
    AT_FIRST = "at_first"
    MEASURED = "measured"
    MEASURING = "measuring"


Pattern = tuple[str, ...]
_MOST_KEPT = 50_000
R = TypeVar("R", bound=StrEnum)


Entry = tuple[Pattern, R, tuple[int, int, int]]
"""Words of an entry of the table, its role, and what it is worth: words, letters, role's rank."""


@dataclass(frozen=True, slots=True, eq=False)
class Lexicon(Generic[R]):
    """Words and phrases with their roles, found by their first word.

    Compared and hashed by identity: what a word may begin is kept.

    Attributes
    ----------
    whole : Mapping[str, Sequence[Entry]]
        First word -> phrases that begin with it, as they are written.
    begun : Mapping[str, Sequence[Entry]]
        Beginning of a first word, where that has a star -> phrases.
    sizes : tuple[int, ...]
        How many letters the beginnings have, longest first.
    heads : frozenset[str]
        The first two letters of every phrase: by them most words are told to begin none. A
        beginning with a star has at least so many.
    """

    whole: Mapping[str, Sequence[Entry[R]]]
    begun: Mapping[str, Sequence[Entry[R]]]
    sizes: tuple[int, ...]
    heads: frozenset[str]

    @classmethod
    def of(cls, table: Mapping[R, Iterable[str]]) -> Self:
        """Build from role -> entries; of equally long ones the first role counts."""
        whole: dict[str, list[Entry[R]]] = defaultdict(list)
        begun: dict[str, list[Entry[R]]] = defaultdict(list)
        for rank, (role, entries) in enumerate(table.items()):
            for written in entries:
                pattern = tuple(written.split())
                worth = (len(pattern), len(written.rstrip(_STAR)), -rank)
                first = pattern[0]
                if first[-1] == _STAR:
                    begun[first[:-1]].append((pattern, role, worth))
                else:
                    whole[first].append((pattern, role, worth))
        sizes = tuple(sorted({len(each) for each in begun}, reverse=True))
        return cls(whole, begun, sizes, _heads((*whole, *begun)))

    def longest(self, words: Sequence[str], at: int) -> tuple[int, R] | None:
        """Return how many words from a place on have a role together, and the role."""
        if words[at][:_HEAD] not in self.heads:
            return None
        for pattern, role, _ in self._candidates(words[at]):
            if _goes_on(pattern, words, at):
                return len(pattern), role
        return None

    def any_in(self, words: Sequence[str]) -> bool:
        """Whether any entry stands in these words."""
        if self.heads.isdisjoint(_heads(tuple(words))):
            return False
        for at, word in enumerate(words):
            if word[:_HEAD] not in self.heads:
                continue
            for pattern, _, _ in self._candidates(word):
                if _goes_on(pattern, words, at):
                    return True
        return False

    @lru_cache(maxsize=_MOST_KEPT)  # noqa: B019 - the few lexicons live as long as the process
    def _candidates(self, word: str) -> Sequence[Entry[R]]:
        """Return the entries that begin with a word, what is worth most first."""
        found = [*self.whole.get(word, ())]
        for size in self.sizes:
            if size <= len(word):
                found += self.begun.get(word[:size], ())
        return sorted(found, key=_worth, reverse=True)


def _worth(entry: Entry[R]) -> tuple[int, int, int]:
    return entry[2]


_HEAD = 2


@lru_cache(maxsize=20_000)
def _heads(words: tuple[str, ...]) -> frozenset[str]:
    return frozenset([word[:_HEAD] for word in words])


def _goes_on(pattern: Pattern, words: Sequence[str], at: int) -> bool:
    """Whether a pattern stands at a place where its first word does."""
    size = len(pattern)
    if size == 1:
        return True
    if at + size > len(words):
        return False
    for place in range(1, size):
        word, part = words[at + place], pattern[place]
        if word != part and not (part[-1] == _STAR and _is_begun(word, part[:-1])):
            return False
    return True


def _is_begun(word: str, beginning: str) -> bool:
    """Whether a word begins so; a star by itself stands for any word, but for no mark."""
    return word.startswith(beginning) and word not in _MARKS


_MARKS = frozenset([".", ",", ":"])


class Named(NamedTuple):
    """Words that speak of an igniter, unless the text has one that speaks of something else."""

    words: Lexicon[Role]
    unless: Lexicon[Role]


@cache
def _table() -> Mapping[str, Any]:
    return read_table(WORDS_FILE)


def entries(text: str) -> list[str]:
    """Return the words and phrases of a list, which has a comma behind each."""
    return [entry for each in text.split(",") if (entry := each.strip())]


@cache
def roles() -> Lexicon[Role]:
    """Read the roles of words, once."""
    table = {role: entries(_table()[role]["words"]) for role in Role if role in _table()}
    for group in _table()["named_alike"]:
        table[Role.SHARED] += _names(group)
    table[Role.KNOWN] += entries(_table()["pictured"]["words"])
    return Lexicon.of(table)


@lru_cache(maxsize=20_000)
def role_of(word: str) -> Role | None:
    """Return the role that a word has by itself."""
    found = roles().longest([spelt(word)], 0)
    return found[1] if found else None


@cache
def igniters() -> Lexicon[Role]:
    """Read the words that name an igniter whatever stands beside them, once."""
    return Lexicon.of({Role.IGNITER: entries(_table()["igniter"]["words"])})


@cache
def belted() -> Lexicon[Role]:
    """Read the words beside which a tensioner is a seat belt's even on an engine's job, once."""
    return Lexicon.of({Role.SHARED: entries(_table()["belted"]["words"])})


@cache
def named_alike() -> tuple[Named, ...]:
    """Read the nouns that igniters share with other parts, once."""
    return tuple(_named(group) for group in _table()["named_alike"])


@cache
def implied() -> Named:
    """Read what names no igniter, but is done where hardly anything else is, once."""
    return _named(_table()["implied"])


@cache
def pictured() -> Named:
    """Read what the picture on the restraints' lamp is called, once: it is no igniter itself."""
    return _named(_table()["pictured"])


@cache
def speaking() -> Lexicon[Role]:
    """Read every word that may speak of an igniter; without any of them no text does."""
    groups = [
        *_table()["named_alike"],
        *(_table()[name] for name in ("pictured", "implied", "igniter")),
    ]
    written = [entry for group in groups for entry in _names(group)]
    return Lexicon.of({Role.SHARED: [*written, *entries(_table()[Aside.BESIDE]["words"])]})


def known_words() -> list[str]:
    """Return what plugs, seats and workshops are full of, and the names of their parts."""
    plain = (Role.KNOWN, Role.HARNESS, Role.CONTACT, Role.UNIT, Role.NEIGHBOUR, Role.PLACE)
    return [entry for role in plain for entry in entries(_table()[role]["words"])]


def _named(group: Mapping[str, str]) -> Named:
    written = (_names(group), entries(group["unless"]))
    words, unless = (Lexicon.of({Role.SHARED: each}) for each in written)
    return Named(words, unless)


def _names(group: Mapping[str, str]) -> list[str]:
    """Return the names of a group, each with every place where it is meant if it has such."""
    parts = (entries(group[key]) for key in ("words", "stands", "places") if key in group)
    return [" ".join(each) for each in product(*parts)]


@cache
def aside(name: Aside) -> Lexicon[Aside]:
    """Read one of the lists beside the roles, once."""
    return Lexicon.of({name: entries(_table()[name]["words"])})


@cache
def words_in(name: Aside) -> frozenset[str]:
    """Return one of the lists beside the roles that has single words only."""
    return frozenset(entries(_table()[name]["words"]))


@cache
def _full_words() -> tuple[str, ...]:
    return tuple(entries(_table()["spelt"]["words"]))


@cache
def _slips(most: int) -> Slips:
    return Slips.of(_full_words(), most=most)


@lru_cache(maxsize=20_000)
def spelt(word: str) -> str:
    """Return the word of the table that a word is a slip of, or the word itself.

    Only words that the table does not have, or has as harmless by their beginning alone.
    """
    found = roles().longest([word], 0)
    if len(word) < SHORTEST_MISSPELT - 1 or not word.isalpha() or word in roles().whole:
        return word
    if found is not None and found[1] is not Role.KNOWN:
        return word
    return _slips(2 if len(word) >= LONG_WORD else 1).nearest(word) or word


_LETTERS = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "Ω": "ω", "’": "'", "‘": "'", "ʼ": "'"})
_FRENCH = compiled(r"\b([cdjlmnst]|qu)'(?=[aeiouyhéèêà])")
_WORD = compiled(r"\w+")
_MIXED = compiled(r"[a-z][^\W\da-z_]|[^\W\da-z_][a-z]")
_LOOK_ALIKE = str.maketrans("авекмнорстухіјѕԁɡοανιρτυкп", "abekmhopctyxijsdgoaviptukn")
"""Cyrillic and Greek letters that stand for the Latin ones they look like."""
_SIGNED = compiled(r"(?<![a-z@$!|\d])[a-z]*[@$!|\d][a-z@$!|\d]*")
"""A run of letters and signs that has a sign: one of letters alone is disguised as nothing."""
_SIGN = compiled(r"[@$!|\d]")
_SPELT = compiled(r"[a-z]{2}|[a-z][@$!|\d][a-z]")
_SIGNS = str.maketrans("0134578@$!|", "oleasT8asil".lower())
_NAMING = (Role.IGNITER, Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE)


def even(text: str) -> str:
    """Fold case and accents away, part French articles from their words, undo disguises.

    A letter of another alphabet within a Latin word is read as the Latin one it looks like, and
    what cannot be seen is left out.
    """
    if text.isascii():
        told = _FRENCH.sub(r"\1 ", text.lower()) if "'" in text else text.lower()
        return _SIGNED.sub(_undisguised, told) if _SIGN.search(told) else told
    folded = unicodedata.normalize("NFKC", text).casefold().translate(_LETTERS)
    folded = _FRENCH.sub(r"\1 ", folded)
    parts = unicodedata.normalize("NFKD", folded)
    seen = "".join(each for each in parts if unicodedata.category(each) not in _UNSEEN)
    if not seen.isascii():
        seen = _WORD.sub(_in_one_alphabet, seen)
    return _SIGNED.sub(_undisguised, seen)


def _in_one_alphabet(word: re.Match[str]) -> str:
    text = word.group()
    return text.translate(_LOOK_ALIKE) if _MIXED.search(text) else text


def _undisguised(word: re.Match[str]) -> str:
    text = word.group()
    return undisguised(text) if _SPELT.search(text) else text


_UNSEEN = frozenset(["Mn", "Cf"])


@lru_cache(maxsize=20_000)
def undisguised(word: str) -> str:
    """Return the word of the table that a word with digits for letters stands for, or itself.

    Examples
    --------
    >>> undisguised("5quib"), undisguised("b0012"), undisguised("12v")
    ('squib', 'b0012', '12v')
    """
    if word.isalpha() or len(word) < SHORTEST_MISSPELT:
        return word
    meant = (word.translate(_SIGNS), word.replace("1", "i").translate(_SIGNS))
    for each in meant:
        if each.isalpha() and (each in _full_words() or _is_named(each)):
            return each
    return word


def _is_named(word: str) -> bool:
    found = roles().longest([word], 0)
    return found is not None and found[1] in _NAMING
