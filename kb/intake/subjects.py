"""What a complaint is about: the parts and functions of a car that its words speak of.

They stand in ``subjects.txt`` beside this module, to be read and edited by the trade. A subject
proposes nothing; it tells whether anything the shop had was about the same.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from functools import cache, lru_cache
from pathlib import Path

from kb.case import System
from kb.intake.lifting import known_phrases
from kb.intake.wording import Wording

SUBJECTS_FILE = Path(__file__).with_name("subjects.txt")
_SHORTEST_PLURAL = 4
_NO_PLURAL = ("ss", "us", "is")
_ASIDE = "?"
"""Ends a phrase of the table that speaks for a subject only where nothing else is spoken of."""


_WORKS = "seen to work"
"""Heads the lines of the table that tell which subjects work where something is done."""
_YET = "works, and yet"
"""Heads the line of trouble that shows what works, the subjects it is about behind `_ABOUT`."""
_ABOUT = " > "
_NO_PART = "where and when"
"""Heads the phrases that say only where or when something is, and speak of no subject."""


@cache
def trade_subjects() -> Mapping[str, tuple[System, tuple[str, ...]]]:
    """Read the trade's table, once: subject -> its system, and the words that speak for it.

    Examples
    --------
    >>> system, words = trade_subjects()["horn"]
    >>> system.value, words[:2]
    ('body electrics', ('horn', 'hooter'))
    """
    return {
        name: (System(heading), words)
        for heading, name, words in _lines()
        if heading not in (_WORKS, _YET, _NO_PART)
    }


@cache
def subject_lines() -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Return every line of the table, once: its heading, its name, and its phrases."""
    return tuple(_lines())


def _lines() -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Yield the heading of each line of the table, its name and its words."""
    heading = str(System.OTHER)
    for line in SUBJECTS_FILE.read_text(encoding="utf-8").splitlines():
        headed = re.fullmatch(r"\[(.+)\]", line.strip())
        name, sign, words = line.partition(" = ")
        if headed:
            heading = headed[1]
        elif sign and not line.startswith("#"):
            yield heading, name, tuple(words.split(" | "))


def subjects_of(text: str, wording: Wording, *, plainly: bool = False) -> frozenset[str]:
    """Return the subjects that a text speaks of, or `plainly` speaks of.

    Examples
    --------
    >>> wording = Wording.default()
    >>> sorted(subjects_of("LF tyres worn, steering fluid low", wording))
    ['steering hydraulics', 'tyres']
    >>> subjects_of("lamp on, dead when cold", wording)
    frozenset()
    >>> [sorted(subjects_of(text, wording)) for text in ("over bumps", "ABS lamp on over bumps")]
    [['suspension'], ['wheel speed']]
    >>> [sorted(subjects_of(text, wording)) for text in ("bonnet stuck", "knocks under the bonnet")]
    [['bonnet'], ['suspension']]
    """
    words = [_singular(word) for word in wording.tokens(text)]
    begun = [found for word in set(words) if (found := _phrases(wording).get(word))]
    if not begun:
        return frozenset()
    told = known_phrases(words, {words: names for each in begun for words, names in each.items()})
    spoken = [each for names in told if isinstance(names, tuple) for each in names]
    plain = frozenset(each for each in spoken if not each.endswith(_ASIDE))
    return plain if plain or plainly else frozenset(each.removesuffix(_ASIDE) for each in spoken)


@lru_cache(maxsize=4)
def subject_words(wording: Wording) -> frozenset[str]:
    """Return every word that speaks for a subject, with others or alone."""
    return frozenset(
        word for begun in _phrases(wording).values() for words in begun for word in words
    )


def seen_to_work(
    words: Sequence[str], wording: Wording, besides: AbstractSet[str]
) -> frozenset[str]:
    """Return the subjects that work where the words of a clause tell what is done and no more.

    `besides` are words that may follow.

    Examples
    --------
    >>> sorted(seen_to_work(["cranks", "fine"], Wording.default(), {"fine"}))
    ['battery', 'main cables', 'starting']
    >>> seen_to_work(["cranks", "slowly"], Wording.default(), {"fine"})
    frozenset()
    """
    evened = tuple(map(_singular, words))
    for done, subjects in _working(wording).items():
        if evened[: len(done)] == done and besides >= set(words[len(done) :]):
            return subjects
    return frozenset()


def works_and_yet(text: str, wording: Wording) -> frozenset[str]:
    """Return the subjects that work as the trouble itself shows: who cranks long cranks well.

    Examples
    --------
    >>> sorted(works_and_yet("long crank when hot", Wording.default()))
    ['battery', 'main cables', 'starting']
    >>> works_and_yet("cranks slowly and for ages", Wording.default())
    frozenset()
    """
    told = f" {' '.join(map(_singular, wording.tokens(text)))} "
    shows, unless = _troubles(wording)
    if any(phrase in told for phrase in unless):
        return frozenset()
    return frozenset().union(*(works for phrase, works in shows.items() if phrase in told))


@lru_cache(maxsize=4)
def _troubles(wording: Wording) -> tuple[Mapping[str, frozenset[str]], tuple[str, ...]]:
    """Return what shows by itself what works, and the phrases that deny it, each between blanks."""

    def spaced(phrases: Sequence[str]) -> list[str]:
        return [f" {' '.join(map(_singular, wording.tokens(phrase)))} " for phrase in phrases]

    lines = [(name, spaced(told)) for heading, name, told in subject_lines() if heading == _YET]
    shows = {
        phrase: frozenset(name.partition(_ABOUT)[0].split(" | "))
        for name, phrases in lines
        if _ABOUT in name
        for phrase in phrases
    }
    return shows, tuple(each for name, told in lines if _ABOUT not in name for each in told)


@lru_cache(maxsize=4)
def _working(wording: Wording) -> Mapping[tuple[str, ...], frozenset[str]]:
    """Return what is done, as the wording reads it -> the subjects that work then."""
    return {
        tuple(map(_singular, wording.tokens(phrase))): frozenset(name.split(" | "))
        for heading, name, phrases in subject_lines()
        if heading == _WORKS
        for phrase in phrases
    }


@lru_cache(maxsize=4)
def _phrases(wording: Wording) -> Mapping[str, Mapping[tuple[str, ...], tuple[str, ...]]]:
    """Return the phrases by their first word, as the wording reads them, with their subjects.

    A subject that a phrase speaks for only where nothing else is spoken of ends in `_ASIDE`; one
    that says where or when has none.
    """
    found: dict[str, dict[tuple[str, ...], tuple[str, ...]]] = defaultdict(dict)
    for name, (_, phrases) in trade_subjects().items():
        for phrase in phrases:
            aside = _ASIDE if phrase.endswith(_ASIDE) else ""
            words = tuple(_singular(word) for word in wording.tokens(phrase.removesuffix(_ASIDE)))
            begun = found[words[0]]
            begun[words] = tuple(dict.fromkeys((*begun.get(words, ()), name + aside)))
    for heading, name, phrases in subject_lines():
        about = tuple(filter(None, name.partition(_ABOUT)[2].split(" | ")))
        for phrase in phrases if heading == _NO_PART or about else ():
            words = tuple(map(_singular, wording.tokens(phrase)))
            found[words[0]].setdefault(words, about)
    return dict(found)


def _singular(word: str) -> str:
    """Drop the s of a plural."""
    plural = len(word) >= _SHORTEST_PLURAL and word[-1] == "s" and not word.endswith(_NO_PLURAL)
    return word[:-1] if plural else word
