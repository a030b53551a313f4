"""Words that somebody knows: the trade's tables, and the ordinary words of English.

A word that stands here is no slip of another, however near the two are: *worn* is not *horn*.
"""

from functools import lru_cache

from kb.intake.items import trade_items
from kb.intake.systems import trade_words
from kb.intake.wording import Wording

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
