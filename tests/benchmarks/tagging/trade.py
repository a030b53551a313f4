"""What the trade's tables know of a word, whichever shop wrote it."""

from collections.abc import Iterator
from functools import lru_cache

from kb.intake.deed_words import is_work
from kb.intake.failure_words import failure_mode
from kb.intake.known_words import is_trade_word
from kb.intake.part_words import PART_NOUN
from kb.intake.wording import Wording
from kb.patterns import compiled

_PART = compiled(rf"(?:{PART_NOUN})")


@lru_cache(maxsize=1 << 16)
def trade_marks(word: str, wording: Wording) -> tuple[str, ...]:
    """Return what a word in small letters is by the trade's tables.

    Examples
    --------
    >>> wording = Wording.default()
    >>> [trade_marks(word, wording) for word in ("filters", "replaced", "leaking", "tuesday")]
    [('part',), ('work', 'known'), ('failure', 'known'), ()]
    """
    return tuple(_marks(word, wording))


def _marks(word: str, wording: Wording) -> Iterator[str]:
    if _PART.fullmatch(word):
        yield "part"
    if is_work(word):
        yield "work"
    if failure_mode(word):
        yield "failure"
    if is_trade_word(word, wording):
        yield "known"
