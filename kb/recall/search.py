"""Searching cards by words and codes: jobs that have most of them first, then the most like."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from kb.case import TroubleCode
from kb.intake.known_words import is_meant
from kb.intake.wording import Wording
from kb.recall.cards import Cards, CardSegment
from kb.recall.hashing import keys
from kb.recall.spans import Floats

_SHORTEST_PLURAL = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class CardsFound:
    """The jobs found, best first, and of how many words each has how many.

    Attributes
    ----------
    numbers : tuple of int
        Job numbers.
    held : tuple of int
        How many of the words asked each of them has.
    words : tuple of frozenset of str
        The words asked, each in all the forms that count as it.
    read_as : dict of str to str
        Words that no job has -> the known word they were read as, too.
    """

    numbers: tuple[int, ...]
    held: tuple[int, ...]
    words: tuple[frozenset[str], ...]
    read_as: dict[str, str]


def search_cards(
    text: str,
    codes: Sequence[TroubleCode],
    cards: Cards,
    wording: Wording,
    among: Collection[int] | None = None,
) -> CardsFound:
    """Find the jobs that have any of the words of a text, and all of the codes.

    Of jobs with as many of the words the more like ones come first (`CardSegment.told`), then the
    last opened; without words the last opened. A code without a failure type fits with any.

    Parameters
    ----------
    among : collection of int, optional
        Only jobs of these numbers.
    """
    tokens = list(dict.fromkeys(wording.tokens(text)))
    read_as = cards.model.read_as(tokens, partial(is_meant, wording=wording))
    words = tuple(_forms(token, read_as.get(token)) for token in tokens)
    segments = (cards.base, cards.recent)
    held = np.concatenate([_held(words, each) for each in segments])
    query = cards.model.weigh([*tokens, *read_as.values()])
    likeness = np.concatenate([_likeness(query, each) for each in segments])
    numbers = np.concatenate([each.numbers for each in segments])
    opened = np.concatenate([each.opened for each in segments])
    chosen = np.concatenate([~cards.superseded, np.ones(len(cards.recent), dtype=np.bool_)])
    for code in codes:
        chosen &= np.concatenate([np.take(s.codes.having(code), s.codes_of) for s in segments])
    if words:
        chosen &= held > 0
    if among is not None:
        chosen &= np.isin(numbers, np.fromiter(among, np.int64, len(among)))
    rows = np.flatnonzero(chosen)
    order = rows[np.lexsort((-numbers[rows], -opened[rows], -likeness[rows], -held[rows]))]
    return CardsFound(
        numbers=tuple(numbers[order].tolist()),
        held=tuple(held[order].tolist()),
        words=words,
        read_as=read_as,
    )


def _forms(token: str, read_as: str | None) -> frozenset[str]:
    """Return what counts as a word: itself, its plural or singular, what it was read as."""
    return frozenset(form for word in filter(None, (token, read_as)) for form in _numbers_of(word))


def _numbers_of(word: str) -> Iterator[str]:
    yield word
    if word.isalpha():
        yield f"{word}s"
        if word.endswith("s") and len(word) >= _SHORTEST_PLURAL:
            yield word.removesuffix("s")


def _held(words: Sequence[frozenset[str]], segment: CardSegment) -> NDArray[np.int64]:
    """Return how many of the words each row has in any of their forms, shape (n_rows,)."""
    count = np.zeros(len(segment), dtype=np.int64)
    for forms in words:
        terms = keys(f"w {form}" for form in forms)
        ones = np.ones(len(terms), dtype=np.float32)
        count += segment.written.words.spread(terms, ones, len(segment)) > 0
    return count


def _likeness(query: tuple[NDArray[np.uint64], Floats], segment: CardSegment) -> Floats:
    if not len(query[0]):
        return np.zeros(len(segment), dtype=np.float32)
    return np.nan_to_num(segment.told(*query))
