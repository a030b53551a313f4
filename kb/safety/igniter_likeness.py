"""How far a sentence is worded like those that people judged dangerous at an igniter.

A second judge beside the lists, learnt from sentences: it hides what the lists do not know, and
shows what they could only not place. It weighs the words of a sentence, in runs of up to three, and
parts of words, by the table ``igniter_likeness.npy``, which ``tests/benchmarks/igniter_fit.py``
fits to the sentences kept under ``tests/``. What was dangerous was judged by people of the trade;
common practice, no source. The method is logistic regression on TF-IDF, as in scikit-learn.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache, lru_cache
from math import sqrt
from pathlib import Path
from typing import NamedTuple, Self
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from kb.patterns import compiled
from kb.tables import read_table

TABLE_FILE = Path(__file__).with_name("igniter_likeness.npy")
"""A row a piece, in the order of its mark; see `ROW`."""
SCALES_FILE = Path(__file__).with_name("igniter_likeness.toml")
"""What holds for all pieces; see `Scales`."""
ROW = np.dtype([("mark", "<u4"), ("rarity", "<u2"), ("weight", "<i2")])
"""The checksum of a piece, how rare it is, and what it weighs, in steps of one in `STEP`."""
STEP = 1000
FEWEST = 5
"""So many words a sentence must have to be judged by its wording: shorter ones are names. None of
the voices' dangerous sentences is shorter and not named by the lists."""
FEWEST_OF_PART = 4
Pieces = Callable[[str], Iterator[str]]
"""A way to cut a sentence into pieces."""
_LONGEST_RUN = 3
_PARTS_OF_WORDS = range(3, 6)
_NUMBER = compiled(r"\d+(?:[.,]\d+)?")
_WORD_OR_MARK = compiled(r"\w[\w'-]*|[?:;,.]")
_WORD = compiled(r"[\w'-]+")
_MOST_LETTERS = 40
"""Of a word; what is longer is none."""
_MOST_CHARACTERS = 2_000
"""Looked at of a sentence; the longest that is kept has some 400."""


class Scales(NamedTuple):
    """What holds for all pieces, in steps of one in `STEP`.

    Attributes
    ----------
    bias : int
        What every sentence has.
    hidden_from, hidden_though_allowed, shown_below : int
        From where on a sentence is like the dangerous ones, from where on though the lists allow
        what it does, and below which it is like the harmless ones.
    pieces : int
        Rows of the table.
    sentences : str
        Checksum of the sentences it was fitted to.
    """

    bias: int
    hidden_from: int
    hidden_though_allowed: int
    shown_below: int
    pieces: int
    sentences: str


def is_like_dangerous(sentence: str, *, allowed: bool = False) -> bool:
    """Whether a sentence on a job that concerns an igniter is worded like dangerous ones.

    Parameters
    ----------
    sentence : str
    allowed : bool
        What it does is one of the allowed ways, by the lists: it must be far more like them.
    """
    enough = scales().hidden_though_allowed if allowed else scales().hidden_from
    return _is_long_enough(sentence) and likeness(sentence) >= enough / STEP


def is_like_harmless(sentence: str) -> bool:
    """Whether a sentence is worded like harmless ones, and no part of it like dangerous ones.

    What stands beside a danger does not release it.

    Parameters
    ----------
    sentence : str
    """
    if not _is_long_enough(sentence) or likeness(sentence) >= scales().shown_below / STEP:
        return False
    return all(likeness(part) < 0 for part in parts_of(sentence))


def _is_long_enough(sentence: str) -> bool:
    return len(_WORD.findall(_plain(sentence))) >= FEWEST


@lru_cache(maxsize=10_000)
def likeness(sentence: str) -> float:
    """Return the logarithm of the odds that a sentence is dangerous, by its wording.

    Parameters
    ----------
    sentence : str
    """
    return scales().bias / STEP + sum(
        _weighed(pieces(sentence[:_MOST_CHARACTERS])) for pieces in (runs_of_words, parts_of_words)
    )


def _weighed(pieces: Iterable[str]) -> float:
    """Weigh what the table knows of some pieces, as much in a long sentence as in a short one."""
    table = rows()
    marks = np.fromiter({crc32(each.encode(errors="surrogatepass")) for each in pieces}, np.uint32)
    places = np.searchsorted(table.marks, marks)
    places = places[table.marks[np.minimum(places, len(table.marks) - 1)] == marks]
    rarity = table.rarities[places].astype(float)
    length = sqrt(float(rarity @ rarity))
    return float(rarity @ table.weights[places]) / STEP / length if length else 0.0


def runs_of_words(sentence: str) -> Iterator[str]:
    """Yield the words and marks of a sentence, alone and in runs, numbers alike."""
    words = _WORD_OR_MARK.findall(_plain(sentence))
    for length in range(1, _LONGEST_RUN + 1):
        for at in range(len(words) - length + 1):
            yield " ".join(words[at : at + length])


def parts_of_words(sentence: str) -> Iterator[str]:
    """Yield runs of letters within the words of a sentence, behind a mark that sets them apart."""
    for word in _WORD.findall(_plain(sentence)):
        letters = f" {word[:_MOST_LETTERS]} "
        for length in _PARTS_OF_WORDS:
            for at in range(len(letters) - length + 1):
                yield "#" + letters[at : at + length]


def _plain(sentence: str) -> str:
    return _NUMBER.sub("0", sentence.lower())


def parts_of(sentence: str) -> list[str]:
    """Return the parts of a sentence that may tell a deed of their own."""
    return [
        part
        for part in _BETWEEN_PARTS.split(sentence)
        if len(_WORD.findall(part)) >= FEWEST_OF_PART
    ]


_BETWEEN_PARTS = compiled(
    r"[.;:!?](?=\s|$)|,(?=\s)|\s[-–—]+\s|"
    r"\b(?:then|but|and|so|und|dann|puis|potem|after|before|while|when|because|cos|which)\b",
    re.IGNORECASE,
)


class Columns(NamedTuple):
    """The columns of the table, apart."""

    marks: NDArray[np.uint32]
    rarities: NDArray[np.uint16]
    weights: NDArray[np.int16]

    @classmethod
    def of(cls, table: NDArray[np.void]) -> Self:
        """Take a table with rows as `ROW` apart."""
        return cls(*(np.ascontiguousarray(table[name]) for name in ("mark", "rarity", "weight")))


@cache
def rows() -> Columns:
    """Read the table, once."""
    return Columns.of(np.load(TABLE_FILE))


@cache
def scales() -> Scales:
    """Read what holds for all pieces, once."""
    return Scales(**read_table(SCALES_FILE))
