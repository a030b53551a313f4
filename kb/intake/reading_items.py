"""Which of the words around a value name what was measured; the others are the complaint's.

The words of `kb.intake.items` are taken first. Unknown words are taken if they can be nouns: up to
three where nothing stands before them, else one; two before a word that says too little alone.
"""

import re
import sys
from bisect import bisect_right
from collections import deque
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import islice
from typing import NamedTuple

from kb.case import Quantity
from kb.intake.items import is_item, is_item_word, is_pair, trade_items
from kb.intake.lifting import Doubt, Place
from kb.intake.positions import find_position
from kb.intake.reading_words import FOREIGN_UNIT, LITTLE_WORDS, trimmed
from kb.intake.usual_units import usual_quantities
from kb.intake.values import VALUE
from kb.intake.wording import Wording
from kb.patterns import compiled

LINKS = frozenset(["on", "of", "across", "in", "at", "to", "from", "between"])
ARTICLES = frozenset(["the", "a", "an"])
_OTHER_STOPS = """
says said found find has have had with got get gets measured measure measures checked check
customer then after before when while is was are were it there no not only just by for via goes
went drops dropped dropping rises rose rising falls falling gave gives seen saw shows showing reads
reading this that which still so also if as be been or i we he she they his her its my over above
under below against vs versus than like dead broken inop done thru through instead
"""
_HOW_AND_WHEN = """
again better worse once twice partly still yet now
wieder besser schlechter teilweise nochmal nochmals erneut weiterhin immer wiederum jetzt noch
danach vorher nachher kaum etwas deutlich leicht ganz fast wenig mehr weniger erfolg trotzdem
encore nouveau toujours mieux pire après avant maintenant ensuite puis partiellement moins
presque légèrement
znowu znów ponownie nadal lepiej gorzej teraz potem wciąż częściowo trochę jeszcze mniej więcej
prawie
"""
"""How often, when and how far: adverbs, and words that tell an outcome."""
STOP = LINKS | ARTICLES | frozenset((*_OTHER_STOPS.split(), *_HOW_AND_WHEN.split()))
# How a car feels, when it does so, and what the customer does with it: never an item by itself.
_OF_COMPLAINTS = """
should would could must might will misfire misfires misfiring cold hot warm wet dry damp rain
frost snow slow fast hard heavy rough bad good ok okay fine poor weak flat faulty intermittent
noise noisy squeal clunk click clicks knock rattle judder shake shakes vibration smell smoke leak
leaks loss lost stall stalls start starts starting crank cranks lite lites warning lamp lamps
light lights lit limp sometimes always again now wont won't doesnt doesn't cant can't dont don't
isn't isnt today morning evening night week month year since until every all same different other
both even odd approx new old u/s on off up down out back cuts comes come comming coming stays wen
whn worn loose corroded open short shorted fell drew drawn runs ran holds held reaches reached
alone solid swirl gone blows swings went falling moves checks tests works makes turns takes needs
wants looks feels sounds seems leaves keeps spins blown blew mile miles km kms min mins hour hours
hr hrs days way ways times grad cust took taken takes stands stood came bleeds blow blows puts put
gives raised tech guy bloke someone anyone still also maybe about done left once twice twin tight
normal steady one ones nothing everything something pcs pc pieces minute minutes second seconds
"""
COMPLAINT = frozenset(_OF_COMPLAINTS.split())
_WHO = [[who] for who in ("customer", "owner", "driver", "he", "she", "they", "i", "we", "it")]
"""They left something behind; they are on no side."""
_LAMPS = frozenset(["lamp", "lamps", "light", "lights"])
_BEHIND_A_LAMP = "supply feed switch voltage earth ground current holder circuit bulb"
_OF_A_LAMP = frozenset(_BEHIND_A_LAMP.split())
_MISFIRES = frozenset(["misfire", "misfires"])
_OF_HIGH = frozenset(["side", "voltage", "tension", "beam"])
_MEASURED = compiled(
    r"(?:voltage|volts|vd|v/d|drop|resistance|current|draw|drain|pressure|vacuum|vac|temp|temperature|gap|play"
    r"|runout)"
)
_WARNING_LAMP = compiled(
    r"\b(?:airbag|srs|abs|esp|esc|engine|eml|mil|cel|oil|battery|charge|charging|temp|temperature|glow"
    r"|tpms|eps|stability|traction|pad|warning|ready|brake) (?:lamps?|lights?|lites?)$"
)
_VERBAL = compiled(r".{2,}(?:ing|ed|ly)")
_NOUN = compiled(r"[^\W\d_][\w/'+-]+")
_RATING = compiled(r"[0-9]+(?:\.[0-9])?v")
_NUMBER = compiled(r"[0-9]{1,2}")
_WHEN = compiled(
    r"(?:przy|po|podczas|bei|beim|nach|seit|während|pendant|après|depuis|lors) .*"
    r"|na .*(?:ym|im|ych|ich)"
)
"""What tells when a value was so, in German, French and Polish, and not of what: "bei Kälte"."""
_LINKED = compiled(r"\b(?:with|at|of|to|about)\b", re.IGNORECASE)
_BARE = compiled(r"(?<![\w.,])[0-9]{1,4}(?:[.,][0-9]{1,3})?(?![\w.,]*\w)")
_DECIMAL = compiled(r"[.,]")
_UNIT = "has no unit; write {0} ohm, {0} V ... if it was measured"
_UNDER_PRESSURE = frozenset(["oil", "fuel", "rail", "boost", "coolant"])
_WIRES = frozenset(["h", "l", "hi", "lo", "high", "low"])
COUNTED = frozenset(
    [
        "fuse",
        "pin",
        "cell",
        "relay",
        "terminal",
        "track",
        "block",
        "module",
        "injector",
        "inj",
        "coil",
        "plug",
        "glow",
        "squib",
        "stage",
        "sensor",
    ]
)
_WORD = compiled(r"\S+")
_LETTER = compiled(r"[^\W\d_]")
_MARK = compiled(r"[;,\n]")
_ENDS_ITEM = compiled(
    r"[,;:(]|\s-\s|\s(?=(?:with |while |when )?(?:the )?(?:engine|eng)"
    r" (?:at )?(?:running|idling|idle|cranking|cold|hot|warm|off|on|stopped)\b)",
    re.IGNORECASE,
)
_MOST_WORDS, _MOST_UNKNOWN, _MOST_BEFORE_A_VAGUE_ONE = 8, 3, 2
_IN_VIEW = 2 * _MOST_WORDS
"""Words that are looked at beside a value: those of the item, and what may stand around them."""
_LONG = 12 * _IN_VIEW
"""Characters that so many words usually have."""
_FURTHEST = 3 * _LONG
"""Characters beyond which nothing names what was measured: what has so few words there is none."""
_LONGEST_POSITION = 60


class NamedSpan(NamedTuple):
    """Words that name an item or a position, and the stretch of the text they stand in."""

    words: str
    start: int
    end: int


class _Words:
    """The words of a stretch of text, and what each of them can be."""

    def __init__(self, text: str, wording: Wording) -> None:
        self.matches = list(_WORD.finditer(text))
        self.bare = [match[0].lower().replace("’", "'").strip(",;:()=") for match in self.matches]
        self._wording = wording

    def is_position(self, place: int) -> bool:
        """Whether a word tells a position, alone or with the word before or behind it."""
        return place < len(self.bare) and any(
            self._begins_position(first, length)
            for first, length in ((place, 1), (place, 2), (place - 1, 2))
        )

    def _begins_position(self, first: int, length: int) -> bool:
        if first < 0 or (self.bare[first] == "left" and self.bare[first - 1 : first] in _WHO):
            return False
        return _is_position(" ".join(self.bare[first : first + length]))

    def is_known(self, place: int) -> bool:  # noqa: PLR0911 - one line a kind of word
        """Whether a word is one of items, and may be one here."""
        word = self.bare[place]
        after = self.bare[place + 1] if place + 1 < len(self.bare) else None
        if place and word == "test" and is_pair(self.bare[place - 1], word):
            return True
        if word == "p" and place and self.bare[place - 1] in _UNDER_PRESSURE:
            return True
        if word in _LAMPS:
            return after is None or after in _OF_A_LAMP or is_pair(word, after)
        if word in {"down", "off"} and self.bare[max(0, place - 1)] == "leak":
            return True
        if word in _MISFIRES and self.is_position(place + 1):
            return True
        if word == "key" and after is not None and is_pair(word, after):
            return True
        if word in COMPLAINT:
            return after is not None and any(
                is_pair(word, each) for each in (after, *self._meant(after))
            )
        if word in _WIRES and "can" in self.bare[max(0, place - 3) : place]:
            return True  # the two wires of a bus
        if word in {"high", "low"} and after not in _OF_HIGH:
            return False
        if word == "idle" and after not in {None, "speed"}:
            return False
        return self.is_rating(place) or is_item_word(word, self._wording) is not None

    def _meant(self, word: str) -> tuple[str, ...]:
        """Words of the tables that a word stands for."""
        meant = self._wording.shorthand.get(word, ())
        spelt = is_item_word(word, self._wording)
        return (*meant, spelt) if spelt else tuple(meant)

    def leading_position(self) -> int:
        """Count the words of a position at the start, if no item follows them."""
        every = range(len(self.bare))
        count = next((place for place in every if not self.is_position(place)), len(every))
        is_items = count < len(self.bare) and self.is_known(count)
        return 0 if is_items or self.bare[:count] == ["left"] else count

    def is_rating(self, place: int) -> bool:
        """Whether a word is part of ``12V`` or ``12 V``, told of a supply."""
        word = self.bare[place]
        before = self.bare[place - 1] if place else ""
        after = self.bare[place + 1] if place + 1 < len(self.bare) else ""
        return bool(
            _RATING.fullmatch(word)
            or (word in {"v", "a"} and before.isdigit())
            or (word.isdigit() and after == "v")
        )

    def is_counted(self, place: int) -> bool:
        """Whether a number is part of a name: ``cell 42``, ``track 1``."""
        return place > 0 and self.bare[place - 1] in COUNTED

    def is_link(self, place: int) -> bool:
        return self.bare[place] in LINKS | ARTICLES

    def is_noun(self, place: int) -> bool:
        """Whether an unknown word can be the name of a thing."""
        word = self.bare[place]
        return (
            _NOUN.fullmatch(word) is not None
            and word not in STOP
            and word not in COMPLAINT
            and not _VERBAL.fullmatch(word)
        )

    def says_enough(self, first: int, end: int) -> bool:
        """Whether a part or a reading of the table is named whole among some words."""
        return any(
            is_item(self.bare[start:stop], self._wording)
            for start in range(first, end)
            for stop in range(start + 1, min(start + 6, end) + 1)
            if stop - start > 1 or self.bare[start] not in trade_items().words
        )


@lru_cache(maxsize=4096)
def _is_position(words: str) -> bool:
    if len(words) > _LONGEST_POSITION:
        return False
    position, rest = find_position(words)
    return position is not None and not rest


def item_before(plain: str, start: int, end: int, wording: Wording) -> NamedSpan:
    """Find the words just before a value that name what was measured, position included.

    `plain` was prepared by `kb.intake.values.prepare`; the words may begin at `start`, and the
    value begins at `end`. It has no words where nothing before the value names an item or a
    position.
    """
    if not 0 <= end - start <= _LONG:
        return _item_at_end(plain, start, end, wording)
    words, begin, finish = _item_of_words(plain[start:end], wording)
    return NamedSpan(words, start + begin, start + finish)


@lru_cache(maxsize=4096)
def _item_of_words(words: str, wording: Wording) -> NamedSpan:
    return _item_at_end(words, 0, len(words), wording)


def _item_at_end(plain: str, start: int, end: int, wording: Wording) -> NamedSpan:
    if not _LETTER.search(plain, start, end):
        return NamedSpan("", end, end)
    finish = trimmed(plain, start, end)
    linked = _LINKED.search(plain, finish, end) is not None
    start = max(start, plain.rfind(":", start, finish) + 1)  # "live data: coolant 88"
    start = _last_words(plain, start, finish)
    region = plain[start:finish]
    begin = _begin_of_item(region, wording, linked=linked)
    return NamedSpan(region[begin:], start + begin if begin < len(region) else end, end)


@lru_cache(maxsize=4096)
def _begin_of_item(region: str, wording: Wording, *, linked: bool) -> int:
    """Where the item begins that ends some words; their length if there is none."""
    words = _Words(region, wording)
    first = _first_of_item(words, _floor(words.bare), linked=linked)
    if first == len(words.bare) or _WARNING_LAMP.search(" ".join(words.bare).strip()):
        return len(region)
    return words.matches[first].start()


def _last_words(plain: str, start: int, end: int) -> int:
    """Where the last words of a stretch begin; more of them than are looked at."""
    if end - start < 2 * _IN_VIEW:
        return start
    for length in (_LONG, _FURTHEST):
        words = list(_WORD.finditer(plain, max(start, end - length), end))
        if len(words) > _IN_VIEW:
            return words[-_IN_VIEW].start()
    return max(start, end - _FURTHEST)


def _first_words(plain: str, start: int, end: int) -> int:
    """Where the first words of a stretch stop; more of them than are looked at."""
    last = deque(islice(_WORD.finditer(plain, start, end), _IN_VIEW), maxlen=1)
    return last[0].end() if last else end


_STARTS = compiled(r"crank|start|anlass|motorstart|démarr|lancement|rozruch|uruchom|odpal")
_BEFORE_OR_AFTER = frozenset(
    ("before", "b4", "prior", "after", "vor", "nach", "avant", "après", "przed", "po")
)


def _is_when(bare: Sequence[str], place: int) -> bool:
    """Whether a start tells when something was read, and is no item: "before cranking"."""
    lead = bare[max(0, place - 3) : place]
    return _STARTS.match(bare[place]) is not None and not _BEFORE_OR_AFTER.isdisjoint(lead)


def _floor(bare: Sequence[str]) -> int:
    """Where the words that may belong to an item begin: behind the last that cannot."""
    begin = len(bare)
    for place in reversed(range(len(bare))):
        links = bare[place] in LINKS or (bare[place] in ARTICLES and bare[place - 1] in LINKS)
        measured = any(_MEASURED.fullmatch(word) for word in bare[max(0, place - 2) : place])
        if _joins_wires(bare, place):
            continue
        if _is_when(bare, place):
            break
        if (bare[place] in STOP and not (links and measured)) or len(bare) - place > _MOST_WORDS:
            break
        begin = place
    return begin


def _joins_wires(bare: Sequence[str], place: int) -> bool:
    """Whether ``to`` stands between the two wires of a bus: ``can hi to lo``."""
    beside = bare[max(0, place - 1) : place + 2]
    return beside[1:2] == ["to"] and _WIRES.issuperset([beside[0], beside[-1]])


def _first_of_item(words: _Words, floor: int, *, linked: bool) -> int:
    """Index of the first word of the item that ends the words; their number if there is none.

    `linked` says that more than a verb stands between the words and the value.
    """
    first = last = head = len(words.bare)
    known = placed = False
    for place in reversed(range(floor, last)):
        if words.is_position(place):
            placed, first = known, place
        elif known and words.is_link(place):
            placed = False
        elif placed:
            if not (words.is_known(place) and is_pair(words.bare[place], words.bare[head])):
                break
            first = place  # "ABS front left sensor"
        elif words.is_known(place):
            known, first, head = True, place, place
        elif not (_NUMBER.fullmatch(words.bare[place]) and (known or words.is_counted(place))):
            break
    if placed or (known and words.says_enough(first, last)):
        return first
    begin = _with_unknown(words, floor, first, known=known)
    if linked and not known and begin > 0 and not words.is_position(begin):
        return first
    return begin


def _with_unknown(words: _Words, floor: int, first: int, *, known: bool) -> int:
    """Take unknown words in front of what is known to be of the item."""
    most = _MOST_BEFORE_A_VAGUE_ONE if known else _MOST_UNKNOWN
    begin = first
    if known and begin - 1 > floor and _NUMBER.fullmatch(words.bare[begin - 1]):
        begin -= 2 if words.is_counted(begin - 1) else 0  # "squib 1 res", but "hp 9 lp"
    while begin > floor and first - begin < most and words.is_noun(begin - 1):
        begin -= 1
    while begin < first and words.bare[begin] in LITTLE_WORDS:
        begin += 1
    if not known and begin > 0 and _WHEN.fullmatch(" ".join(words.bare[begin - 1 : begin + 1])):
        return first
    while begin > floor and words.is_position(begin - 1):
        begin -= 1
    if not known and begin > 0 and not words.is_position(begin):
        begin = max(begin, first - 1)
    measured = begin - 2 >= floor and _MEASURED.fullmatch(words.bare[begin - 2])
    if measured and not known and begin < first and words.is_link(begin - 1):
        begin -= 2  # "drop across g103"
    return begin


def item_after(
    plain: str,
    start: int,
    end: int,
    wording: Wording,
    *,
    linked: bool = False,
    quantity: Quantity | None = None,
) -> NamedSpan | None:
    """Find the words just after a value that name what was measured: ``2k1 ohm coil``.

    The value stops at `start`, and the words must at `end` of what `kb.intake.values.prepare` made.
    With `linked` a link stands before them, as in ``4.1 V at motor feed``: unknown ones may be it.
    A word that says little alone is enough where it is usually measured in the `quantity` of the
    value: ``12 C vent``. None if no part or reading of the tables follows at once.
    """
    if not _LETTER.search(plain, start, end):
        return None
    region = _ENDS_ITEM.split(plain[start : _first_words(plain, start, end)], maxsplit=1)[0]
    begin, finish = _item_at_start(region, wording, linked=linked, quantity=quantity)
    return NamedSpan(region[begin:finish], start + begin, start + finish) if finish else None


@lru_cache(maxsize=4096)
def _item_at_start(
    region: str, wording: Wording, *, linked: bool, quantity: Quantity | None
) -> tuple[int, int]:
    """Where the item begins and ends that some words begin with; 0 and 0 if there is none."""
    words = _Words(region, wording)
    stop = place = 0
    unknown = 0
    while place < min(len(words.bare), _MOST_WORDS):
        if words.is_position(place) or words.is_known(place):
            stop = place + 1
        elif linked and unknown < _MOST_UNKNOWN and words.is_noun(place):
            unknown += 1
            stop = stop if words.bare[place] in LITTLE_WORDS else place + 1
        elif not (words.is_link(place) and (stop or linked)):
            break
        place += 1
    named = range(stop)
    enough = linked or words.says_enough(0, stop)
    enough = enough or sum(words.is_known(place) for place in named) > 1
    if not enough and quantity:
        name = find_position(" ".join(words.bare[:stop]))[1]
        enough = quantity in usual_quantities(name, wording)
    if not (stop and enough) or (not linked and all(map(words.is_position, named))):
        return 0, 0
    return words.matches[0].start(), words.matches[stop - 1].end()


def position_after(plain: str, start: int, end: int, wording: Wording) -> NamedSpan | None:
    """Find the position just after a value: ``2 mm O/S squeals``; ``7 mm left`` is what remains.

    None if there is none, or if it is that of an item behind it.
    """
    if not _LETTER.search(plain, start, end):
        return None
    region = plain[start : _first_words(plain, start, end)]
    begin, finish = _position_at_start(region, wording)
    return NamedSpan(region[begin:finish], start + begin, start + finish) if finish else None


@lru_cache(maxsize=4096)
def _position_at_start(region: str, wording: Wording) -> tuple[int, int]:
    words = _Words(region, wording)
    count = words.leading_position()
    return (words.matches[0].start(), words.matches[count - 1].end()) if count else (0, 0)


def without_unit(
    plain: str, wording: Wording, taken: Sequence[Place] = (), *, beside: bool = False
) -> Iterator[Doubt]:
    """Ask about numbers that something measured is told by, without a unit.

    The text is a line with blanks in the stead of what was `taken`, in order; with `beside` there
    were readings, and then a number and a position at its end may be one more.
    """
    content_ends = len(plain.rstrip(" .,;"))
    numbers = list(_BARE.finditer(plain))
    values = [match.span() for match in VALUE.finditer(plain)] if numbers else []
    marks = sorted([*(match.span() for match in _MARK.finditer(plain)), *taken])
    begins = [place.start for place in taken]
    for match in numbers:
        is_value = match.start() < _end_before(values, match.start())
        if is_value or FOREIGN_UNIT.match(plain, match.end()):
            continue
        floor = max(_end_before(marks, match.start()), match.start() - _FURTHEST)
        if not (_LETTER.search(plain, floor, match.start()) or beside):
            continue
        named = item_before(plain, floor, match.start(), wording)
        limit = (begins[bisect_right(begins, match.end()) :] or [len(plain)])[0]
        behind = position_after(plain, match.end(), limit, wording) if beside else None
        if _DECIMAL.search(match[0]) and _tells_item(named.words, wording):
            place = Place(named.start, match.end())
        elif behind and behind.end >= content_ends:
            place = Place(match.start(), behind.end)
        else:
            continue
        yield Doubt(plain[slice(*place)], _UNIT.format(match[0]), place)


def _end_before(spans: Sequence[tuple[int, int]], place: int) -> int:
    """Where the last of ordered spans stops that begins at a place or before; 0 without any."""
    count = bisect_right(spans, (place, sys.maxsize))
    return spans[count - 1][1] if count else 0


def _tells_item(words: str, wording: Wording) -> bool:
    """Whether words name a position, a part or a reading whole, or two words of items."""
    told = _Words(words, wording)
    places = range(len(told.bare))
    known = sum(told.is_known(place) for place in places)
    return any(map(told.is_position, places)) or known > 1 or told.says_enough(0, len(told.bare))
