"""Words that somebody knows: the trade's tables, and ordinary words.

A word that stands here is no slip of another, however near the two are: *worn* is not *horn*.
"""

from functools import cache, lru_cache
from pathlib import Path

from kb.intake.items import trade_items
from kb.intake.outcome_words import table_words
from kb.intake.systems import trade_words
from kb.intake.wording import Wording, bare_spellings

ORDINARY_FILE = Path(__file__).with_name("ordinary_words.txt")

LANGUAGES = ("en",)
"""Whose ordinary words are looked up: a list is read whole, in 0.1 s for English; German would take
1 s and Polish 3."""


def is_known(word: str, wording: Wording) -> bool:
    """Whether a word, in lower case, is no mistake: the shop, the trade or plain English has it.

    A word with a digit in it is always known, for a number is never a slip of another number.

    References
    ----------
    Ordinary words, inflected ones included, are those of simplemma.

    Examples
    --------
    >>> wording = Wording.default()
    >>> [is_known(word, wording) for word in ("worn", "drained", "pretensioner", "12.4", "brakng")]
    [True, True, True, True, False]
    """
    return any(map(str.isdigit, word)) or is_trade_word(word, wording) or _is_ordinary(word)


def is_meant(word: str, wording: Wording) -> bool:
    """Whether a word, in lower case, is no mistake in a complaint, in whichever language it is.

    Besides what `is_known` knows these are the words by which outcomes are told, and the ordinary
    words of German, French and Polish in ``ordinary_words.txt``, with accents or without.

    Examples
    --------
    >>> wording = Wording.default()
    >>> [is_meant(word, wording) for word in ("fehlt", "lenkt", "gasnie", "coule", "leakt")]
    [True, True, True, True, False]
    """
    return word in _words_abroad() or is_known(word, wording)


def is_trade_word(word: str, wording: Wording) -> bool:
    """Whether a word, in lower case, stands in the tables of the trade or of the shop."""
    return word in _words(wording)


def _is_ordinary(word: str) -> bool:
    from simplemma import is_known  # noqa: PLC0415 - only a strange word needs it

    # the small form of a list is as quickly read, and holds a tenth of the memory
    return is_known(word, LANGUAGES, low_memory=True)


@lru_cache(maxsize=4)
def _words(wording: Wording) -> frozenset[str]:
    """Every word of the trade's tables and the shop's, what shorthand stands for included."""
    items = trade_items()
    names = (
        each
        for table in (items.parts, items.readings)
        for name, others in table.items()
        for each in (name, *others)
    )
    meant = (word for words in wording.shorthand.values() for word in words)
    foreign = (word for each in wording.sayings.values() for words in each for word in words)
    phrases = (part for pair in wording.phrases.items() for part in pair)
    told = " ".join((*names, *trade_words(), *phrases)).split()
    return items.words.union(wording.shorthand, meant, foreign, told)


@cache
def _words_abroad() -> frozenset[str]:
    """Read the ordinary words of other languages, once, with those that tell outcomes."""
    lines = ORDINARY_FILE.read_text(encoding="utf-8").splitlines()
    told = (word for line in lines if line[:1] != "#" for word in line.casefold().split())
    return table_words().union(*(bare_spellings(word) for word in told))
