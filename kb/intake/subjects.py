"""What a complaint is about: the parts and functions of a car that its words speak of.

They stand in ``subjects.txt`` beside this module, to be read and edited by the trade. A subject
proposes nothing; it tells whether anything the shop had was about the same.
"""

import re
from collections import defaultdict
from collections.abc import Mapping
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


@cache
def trade_subjects() -> Mapping[str, tuple[System, tuple[str, ...]]]:
    """Read the trade's table, once: subject -> its system, and the words that speak for it.

    Examples
    --------
    >>> trade_subjects()["horn"]
    (<System.BODY_ELECTRICS: 'body electrics'>, ('horn', 'hooter'))
    """
    table: dict[str, tuple[System, tuple[str, ...]]] = {}
    system = System.OTHER
    for line in SUBJECTS_FILE.read_text(encoding="utf-8").splitlines():
        heading = re.fullmatch(r"\[(.+)\]", line.strip())
        name, sign, words = line.partition(" = ")
        if heading:
            system = System(heading[1])
        elif sign and not line.startswith("#"):
            table[name] = (system, tuple(words.split(" | ")))
    return table


def subjects_of(text: str, wording: Wording) -> frozenset[str]:
    """Return the subjects that a text speaks of.

    Examples
    --------
    >>> wording = Wording.default()
    >>> sorted(subjects_of("LF tyres worn, steering fluid low", wording))
    ['steering hydraulics', 'tyres']
    >>> subjects_of("lamp on, dead when cold", wording)
    frozenset()
    >>> [sorted(subjects_of(text, wording)) for text in ("over bumps", "ABS lamp on over bumps")]
    [['suspension'], ['wheel speed']]
    """
    words = [_singular(word) for word in wording.tokens(text)]
    begun = [found for word in set(words) if (found := _phrases(wording).get(word))]
    if not begun:
        return frozenset()
    told = known_phrases(words, {words: names for each in begun for words, names in each.items()})
    spoken = [each for names in told if isinstance(names, tuple) for each in names]
    plainly = frozenset(each for each in spoken if not each.endswith(_ASIDE))
    return plainly or frozenset(each.removesuffix(_ASIDE) for each in spoken)


@lru_cache(maxsize=4)
def _phrases(wording: Wording) -> Mapping[str, Mapping[tuple[str, ...], tuple[str, ...]]]:
    """Return the phrases by their first word, as the wording reads them, with their subjects.

    A subject that a phrase speaks for only where nothing else is spoken of ends in `_ASIDE`.
    """
    found: dict[str, dict[tuple[str, ...], tuple[str, ...]]] = defaultdict(dict)
    for name, (_, phrases) in trade_subjects().items():
        for phrase in phrases:
            aside = _ASIDE if phrase.endswith(_ASIDE) else ""
            words = tuple(_singular(word) for word in wording.tokens(phrase.removesuffix(_ASIDE)))
            begun = found[words[0]]
            begun[words] = tuple(dict.fromkeys((*begun.get(words, ()), name + aside)))
    return dict(found)


def _singular(word: str) -> str:
    """Drop the s of a plural."""
    plural = len(word) >= _SHORTEST_PLURAL and word[-1] == "s" and not word.endswith(_NO_PLURAL)
    return word[:-1] if plural else word
