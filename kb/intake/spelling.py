"""Slips of the finger and of the ear in a line of shop talk, mended for the parsers alone.

A word is a slip only where nobody knows it (`kb.intake.known_words`): neither the shop, nor the
trade's tables, nor English. It is then read as the one word near it by which lines are understood:
what was done, how it fared, what took part. What was typed stays; each slip is told.
"""

import re
from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import cache, lru_cache

from kb.intake.deed_words import WORK_VERBS
from kb.intake.items import trade_wording
from kb.intake.known_words import is_known, is_meant
from kb.intake.lifting import Doubt, Place
from kb.intake.outcome_words import table_words
from kb.intake.part_words import PART_NOUN
from kb.intake.wording import Wording, words_of_languages
from kb.patterns import compiled

_WORD = compiled(r"(?<![\w/'’.-])[a-z]{3,}(?![\w/'’-])")
_FOREIGN_LETTER = compiled(r"[^\W\d_a-z]", re.IGNORECASE)
_READ_AS = "is read as “"
_TWICE = compiled(r"(.)\1")
_ENDED = compiled(r"(?<=[^aeiou])[ei]?[dt]$")
_SHORTEST, _LONG = 4, 7
"""Letters from which a word may be mended by one slip, of the shortest only by a letter left out
(commoner than one too many, and what abbreviations seldom lack), and by two."""
_OTHERS = """
should clock below customer before after again difference bracket cable fluid completely bubbles
hours minutes wheel wheels tyre pressure smell burning noise pedal frayed snapped split cracked
seized worn leaking engaging disengaging blocked brakes brake exhaust clutch rear front backfed
backfeeding
"""
"""Words of lines that are in no list of work or of outcomes."""


@dataclass(frozen=True, slots=True)
class SpeltLine:
    """A line as it is read, and where each of its letters stands in the line as typed."""

    text: str
    typed: str
    starts: tuple[int, ...] | None = None
    slips: tuple[Doubt, ...] = ()

    def as_typed(self, words: str, within: Place | None = None) -> str:
        """Return words of the line, as they are read, in the spelling in which they were typed.

        Where a word is typed rightly as well, each of the words is the one that stands there in its
        turn, in all of the line or `within` a place of it.
        """
        whole = within or Place(0, len(self.text))
        for meant in {slip.why[len(_READ_AS) : -1] for slip in self.slips}:
            word = re.compile(rf"(?<!\w){re.escape(meant)}(?!\w)", re.IGNORECASE)
            found = (Place(*each.span()) for each in word.finditer(self.text, *whole))
            typed = [self.typed[slice(*self.place(each))] for each in found]
            told = len(word.findall(words))
            if len(typed) == told or len(set(typed)) == 1:
                words = _each_in_turn(word, words, [*typed, *typed[-1:] * told])
        return words

    def place(self, place: Place) -> Place:
        """Return where in the typed line something stands that was read at a place."""
        if self.starts is None:
            return place
        last = len(self.starts) - 1
        return Place(self.starts[min(place.start, last)], self.starts[min(place.end, last)])


def _each_in_turn(word: re.Pattern[str], words: str, typed: Sequence[str]) -> str:
    turn = iter(typed)
    return word.sub(lambda _: next(turn), words)


def spelt(text: str) -> SpeltLine:
    """Mend the slips of a line; a line that has words of another language stays as it is.

    Examples
    --------
    >>> line = spelt("relpaced cabel, sqeal gone")
    >>> line.text, [str(slip) for slip in line.slips][:1]
    ('replaced cable, squeal gone', ['“relpaced” is read as “replaced”'])
    """
    lower = text.lower() if text.isupper() else text
    if len(lower) != len(text) or _is_foreign(text):
        return SpeltLine(text, text)
    pieces: list[str] = []
    starts: list[int] = []
    slips: list[Doubt] = []
    done = 0
    for word, meant in _slips(lower):
        start, end = word.span()
        pieces += text[done:start], meant
        starts += [*range(done, start), *(min(start + at, end - 1) for at in range(len(meant)))]
        slips.append(Doubt(text[start:end], f"{_READ_AS}{meant}”", Place(start, end)))
        done = end
    if not slips:
        return SpeltLine(text, text)
    starts += range(done, len(text) + 1)
    return SpeltLine("".join((*pieces, text[done:])), text, tuple(starts), tuple(slips))


def _is_foreign(text: str) -> bool:
    if _FOREIGN_LETTER.search(text):
        return True
    english = trade_wording().shorthand
    words = set(re.findall(r"\w+", text.casefold()))
    return any(word in words_of_languages() and word not in english for word in words)


def _slips(text: str) -> Iterator[tuple[re.Match[str], str]]:
    for word in _WORD.finditer(text):
        if meant := _meant(word[0]):
            yield word, meant


def mended(words: Sequence[str], vocabulary: AbstractSet[str], wording: Wording) -> Sequence[str]:
    """Return words with those that nobody knows put as the one of a vocabulary that is near them.

    A word is near by one slip, from eight letters on by two; a short one only if it lacks a letter
    or has two swapped. Words of other languages are known.

    Examples
    --------
    >>> from kb.intake.wording import Wording
    >>> said = ["brake", "pedl", "soft", "petal", "judderss"]
    >>> mended(said, frozenset(["pedal", "judder", "judders"]), Wording.default())
    ['brake', 'pedal', 'soft', 'petal', 'judders']
    """
    return [_near(word, vocabulary, wording) for word in words]


@lru_cache(maxsize=1 << 14)
def _near(word: str, vocabulary: AbstractSet[str], wording: Wording) -> str:
    if len(word) < _SHORTEST or word in vocabulary or not word.isalpha():
        return word
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - only a strange word needs it

    most = 1 if len(word) <= _LONG else 2
    near = [
        (OSA.distance(word, each, score_cutoff=most), each)
        for each in vocabulary
        if abs(len(each) - len(word)) <= most and each[:1] == word[0] and len(each) >= _SHORTEST
    ]
    least = min(near, default=(most + 1, ""))[0]
    meant = [each for far, each in near if far == least <= most]
    if len(word) <= _SHORTEST + 1:
        letters = sorted(word)
        meant = [each for each in meant if len(each) > len(word) or sorted(each) == letters]
    return meant[0] if len(meant) == 1 and not is_meant(word, wording) else word


@lru_cache(maxsize=1 << 16)
def _meant(word: str) -> str | None:
    """Return the one word that a word nobody knows was meant to be."""
    if len(word) < _SHORTEST or word in _vocabulary():
        return None
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - only a strange word needs it

    most = 2 if len(word) >= _LONG else 1
    sound = _sound(word)
    near = [
        (0 if heard == sound else OSA.distance(word, each, score_cutoff=most), each)
        for each, heard in _begun_with(word[0])
        if abs(len(each) - len(word)) <= 2
    ]
    least = min(near, default=(most + 1, ""))[0]
    if least > most or is_known(word, trade_wording()):
        return None
    meant = [each for far, each in near if far == least and is_known(each, trade_wording())]
    left_out = [each for each in meant if len(each) > len(word)]
    if (len(word) == _SHORTEST and least) or len(left_out) == 1:
        meant = left_out
    return meant[0] if len(meant) == 1 else None


def _sound(word: str) -> str:
    """Return what is heard of a word, as far as it is spelt by ear: ``plugd`` is ``plugged``."""
    return _ENDED.sub("d", _TWICE.sub(r"\1", word.replace("wh", "w")))


@cache
def _vocabulary() -> frozenset[str]:
    parts = (form for noun in PART_NOUN.split("|") for form in _forms(noun))
    words = (*parts, *_OTHERS.split(), *WORK_VERBS.split(), *table_words())
    return frozenset(word for word in words if len(word) >= _SHORTEST and word.isalpha())


@cache
def _begun_with(letter: str) -> tuple[tuple[str, str], ...]:
    """Return the words of the vocabulary that begin with a letter, and what is heard of each."""
    return tuple((word, _sound(word)) for word in sorted(_vocabulary()) if word[0] == letter)


def _forms(noun: str) -> tuple[str, str]:
    """Return a noun of a pattern with its ending and without: ``bush(?:es)?``, ``discs?``."""
    if "(" in noun:
        stem, _, ending = noun.partition("(?:")
        return stem, stem + ending.removesuffix(")?")
    return noun.removesuffix("?"), noun.removesuffix("s?")
