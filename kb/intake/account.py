"""An account of what became of the words of one entry: lifted, kept as words only, or asked about.

Nothing that may be a fact is lost in silence: every number, everything that looks like a code, and
every phrase that may tell an outcome is in one of the three.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, TypeVar

from kb.case import Attempt, Contact, DiagnosticTest, Reading, SaidAt, TroubleCode
from kb.intake.costs import PartsCost
from kb.intake.distances import Distance
from kb.intake.durations import Labour
from kb.intake.lifting import Doubt, Place, blanked, merged
from kb.intake.units import find_unit
from kb.patterns import WORD_BEGINS, compiled


@dataclass(frozen=True, slots=True)
class FixVerdict:
    """How the last fix of a job fared, told in a line of its own."""

    cured: bool


@dataclass(frozen=True, slots=True)
class Fine:
    """What a complaint says is well, as typed: a part that is fine, or what is seen to work.

    And a part that was replaced `in_vain`, or `is_new`, or was cleaned in vain (`is_clean`): it is
    hardly what is wrong.
    """

    what: str
    works: bool = False
    in_vain: bool = False
    is_new: bool = False
    is_clean: bool = False


Fact = (
    TroubleCode
    | Reading
    | DiagnosticTest
    | Attempt
    | Contact
    | Distance
    | Labour
    | PartsCost
    | FixVerdict
    | Fine
)
_WHOLE = DiagnosticTest | Attempt | Contact | FixVerdict
"""Facts whose place is a whole piece of a line, numbers that they do not hold included."""
F = TypeVar("F", TroubleCode, Reading, Any)
_WORD = compiled(r"\S+")
_PIECE = compiled("(?:[^,;\n]|(?<=[0-9]),(?=[0-9]))+")
_LITTLE_WORDS = frozenset(
    ["a", "an", "and", "at", "but", "in", "is", "of", "on", "the", "then", "to"]
)
_DIGIT = compiled("[0-9]")
_POINT = compiled("[.][0-9]")
_CODE_LIKE = compiled(r"[PCBU][OIL]{4}", re.IGNORECASE)
"""A code of nothing but letters that are mistaken for digits; others have a digit."""
_NUMERAL = (
    "one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|(?:thir|four|fif|six|seven"
    "|eigh|nine)teen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred|thousand"
)
_NUMERALS = compiled(
    rf"{WORD_BEGINS}(?:{_NUMERAL})(?:[ -](?:and )?(?:{_NUMERAL}))+\b", re.IGNORECASE
)
_SAYS_SOMETHING = compiled(r"[^\W\d_]{3}")
_WORD_BEFORE = compiled(r"[^\s,;]{1,24}\s{1,3}\Z")
_COUNTED_BEFORE = compiled(
    r"\b(?:cyl(?:inder)?s?|zyl(?:inder)?|pin|fuse|coil|cell|relay|terminal|bank|inj(?:ector)?s?|plug|gear"
    r"|row|track|sensor|squib|module|no|nr)[ .#]{1,2}\Z",
    re.IGNORECASE,
)
_COUNT = compiled("#?[0-9]{1,2}")
_NEAR = 16
_STATES = frozenset(["ok", "okay", "good", "fine", "works", "working", "same"])
"""What a part is found to be by a test of it; how a fix fared is told in other words as well."""
_THOUSANDS = compiled("[0-9]{3}")
_COUNTED = frozenset(["mi", "mile", "miles", "weeks", "wks", "days", "hours", "hrs", "eur", "euro"])
OUTCOME_LIKE = compiled(
    rf"{WORD_BEGINS}(?:(?:(?:not |never |un)?(?:fixed|cured|sorted|solved|repaired)|"
    r"(?:all |still |not )?(?:good"
    r"|ok|okay|fine|works|worked|working|gone|cleared|held|holding))(?: now| again)?"
    r"(?: (?:for|until|till) (?:an? |the )?\w+)?|still|same|then (?:dead|died|failed|again)"
    r"|no (?:change|better|diff(?:erence)?|joy|cure|fix|good|help|effect|luck|use)|"
    r"(?:not |no )better"
    r"|(?:did(?:n['’]?t| not)|never|has(?:n['’]?t| not)) (?:help|work|cure|fix|change|sort)\w*"
    r"|(?:helped|made no|without success|to no avail|useless)"
    r"|(?:came|comes|come|is|was|went) (?:back|on again|off again)|back again|returned|comeback"
    r"|customer happy)\b",
    re.IGNORECASE,
)
"""What may tell an outcome, though nobody could say which."""
_LOOSE = " \t\n,;:.!?()[]\"'“”"


@dataclass(frozen=True, slots=True)
class Lift:
    """A fact and where it was said; a text is a condition, a key tag, or kept as words."""

    fact: Fact | str
    place: Place


@dataclass(frozen=True, slots=True)
class Account:
    """What became of the words of a text, in the order they were typed.

    `kept` stays words only, though it may be a fact.
    """

    lifted: tuple[Lift, ...] = ()
    kept: tuple[Lift, ...] = ()
    asked: tuple[Doubt, ...] = ()


NOTHING_TYPED = Account()


def account(
    text: str,
    lifted: Iterable[Lift],
    doubts: Iterable[Doubt],
    taken: Iterable[Place] = (),
    *,
    every_word: bool = False,
    unread: Iterable[Place] = (),
) -> Account:
    """Tell what became of the words of a text.

    Parameters
    ----------
    text : str
        As it was typed.
    lifted : iterable of Lift
        A test, attempt or contact takes the numbers that its fields hold, a code, a reading or a
        condition all of its place.
    doubts : iterable of Doubt
        What was asked about.
    taken : iterable of Place
        What else was understood, such as a code told twice.
    every_word : bool
        Whether all words left over may be facts, as in a line on what was found and done; else
        numbers, likely codes and likely outcomes: a complaint is recalled by its words.
    unread : iterable of Place
        Words within a test, attempt or contact that none of its fields holds.

    Examples
    --------
    >>> code = TroubleCode(code="P0171")
    >>> [each.fact for each in account("P0171, should be 50", [Lift(code, Place(0, 5))], []).kept]
    ['50']
    """
    facts = sorted((lift for lift in lifted if lift.fact), key=lambda lift: lift.place)
    asked = tuple(doubts)
    whole = [lift for lift in facts if isinstance(lift.fact, _WHOLE)]
    covered = [lift.place for lift in facts if not isinstance(lift.fact, _WHOLE)]
    covered += [*taken, *(_place_of(doubt, text) for doubt in asked)]
    rest = blanked(text, covered)
    kept = [
        _with_word_before(text, Place(lift.place.start + start, lift.place.start + end), lift)
        for lift in whole
        for start, end in likely_facts(rest[slice(*lift.place)])
        if not _tells(lift.fact, rest[lift.place.start + start : lift.place.start + end])
    ]
    if every_word:
        kept += _outcomes_within(text, facts)
    kept = merged([*kept, *unread])
    covered += (lift.place for lift in whole)
    if every_word:
        kept += _words_left(text, covered)
    else:
        rest = blanked(text, covered)
        kept += (_with_counted(rest, place) for place in likely_facts(rest))
    words = (Lift(text[slice(*place)], place) for place in sorted(kept))
    return Account(tuple(facts), tuple(words), asked)


def _with_word_before(text: str, place: Place, lift: Lift) -> Place:
    """Add the word in front to what says nothing alone: the 3 of ``coil 3 replaced``."""
    before = _WORD_BEFORE.search(text, lift.place.start, place.start)
    is_riddle = before and not _SAYS_SOMETHING.search(text, *place)
    return Place(before.start(), place.end) if before and is_riddle else place


def _with_counted(text: str, place: Place) -> Place:
    """Add to a number what it counts: ``cyl 3``."""
    if not _COUNT.fullmatch(text, *place):
        return place
    counted = _COUNTED_BEFORE.search(text, max(0, place.start - _NEAR), place.start)
    return Place(counted.start(), place.end) if counted else place


def as_words(told: Account, kinds: tuple[type, ...], text: str) -> Account:
    """Return an account in which facts of some kinds stay words only."""
    moved = [
        Lift(text[slice(*lift.place)], lift.place)
        for lift in told.lifted
        if isinstance(lift.fact, kinds)
    ]
    lifted = tuple(lift for lift in told.lifted if not isinstance(lift.fact, kinds))
    places = merged([lift.place for lift in (*told.kept, *moved)])
    kept = tuple(Lift(text[slice(*place)], place) for place in places)
    return replace(told, lifted=lifted, kept=kept)


def placed(facts: Sequence[F], told: Account, entry: int) -> tuple[F, ...]:
    """Tell those of some facts that an account has where in an entry they were said."""
    places = {lift.fact: lift.place for lift in reversed(told.lifted)}
    return tuple(
        replace(fact, said=SaidAt(entry=entry, start=places[fact].start, end=places[fact].end))
        if fact in places
        else fact
        for fact in facts
    )


def _place_of(doubt: Doubt, text: str) -> Place:
    if doubt.place:
        return doubt.place
    start = max(0, text.find(doubt.text))
    return Place(start, start + (len(doubt.text) if doubt.text in text else 0))


def likely_facts(text: str) -> list[Place]:
    """Find numbers with what they count, likely codes, and phrases that may tell an outcome."""
    return merged([*_numbers(text), *(match.span() for match in OUTCOME_LIKE.finditer(text))])


def _outcomes_within(text: str, facts: Iterable[Lift]) -> Iterator[Place]:
    """What may tell an outcome between item and value of a reading: ``coolant still only 65 C``."""
    for lift in facts:
        if isinstance(lift.fact, Reading):
            told = f"{lift.fact.item} {lift.fact.typed} {lift.fact.condition or ''}".casefold()
            for match in OUTCOME_LIKE.finditer(text, *lift.place):
                if match[0].casefold() not in told:
                    yield Place(*match.span())


def _words_left(text: str, covered: Iterable[Place]) -> Iterator[Place]:
    """What stands between stretches of a text, up to a comma, semicolon or line end."""
    ends = [(0, 0), *merged(covered), (len(text), len(text))]
    for (_, start), (end, _) in pairwise(ends):
        for match in _PIECE.finditer(text, start, max(start, end)):
            bare = _bare(match)
            if not _LITTLE_WORDS.issuperset(re.findall(r"\w+", text[slice(*bare)].casefold())):
                yield bare


def _bare(match: re.Match[str]) -> Place:
    """Return where words stand without loose signs; a point that begins a number is none."""
    words = match[0].strip(_LOOSE)
    start = match.end() - len(match[0].lstrip(_LOOSE))
    begins = _POINT.match(match.string, max(match.start(), start - 1))
    return Place(start - 1 if begins else start, start + len(words))


def _numbers(text: str) -> Iterator[Place]:
    """Words with digits, thousands parted by a blank together, with the unit behind them."""
    found: Place | None = None
    for match in _WORD.finditer(text):
        word = _bare(match)
        bare = text[slice(*word)]
        beside = found is not None and word.start == found.end + 1
        if found and beside and (_THOUSANDS.fullmatch(bare) or _is_unit(bare)):
            found = Place(found.start, word.end)
        else:
            if found:
                yield found
            found = word if _DIGIT.search(bare) or _CODE_LIKE.fullmatch(bare) else None
    if found:
        yield found
    yield from (Place(*match.span()) for match in _NUMERALS.finditer(text))


def _is_unit(word: str) -> bool:
    if word[:1].isdecimal():  # no unit begins so
        return False
    return word.casefold() in _COUNTED or find_unit(word) is not None


def _tells(fact: Fact | str, words: str) -> bool:
    """Whether the fields of a fact hold a number, or its name has it."""
    names = f"{getattr(fact, 'component', '')} {getattr(fact, 'name', '')}".casefold()
    if words.casefold() in names:
        return True
    held = {getattr(fact, name, None) for name in ("minutes", "odometer_km", "job", "on")}
    cost = getattr(fact, "parts_cost", None)
    told = {str(value) for value in held} | ({f"{cost:g}", f"{cost:.2f}"} if cost else set())
    digits = re.sub("[^0-9]", "", words)
    if isinstance(fact, DiagnosticTest) and words.casefold() in _STATES:
        return fact.seen.casefold() == words.casefold()
    if not digits:
        return not isinstance(fact, DiagnosticTest) and getattr(fact, "cured", True) is not None
    return digits in {re.sub("[^0-9]", "", each) for each in told}
