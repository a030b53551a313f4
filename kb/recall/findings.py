"""Similarity of tests: the same look or measurement, and whether it showed the same.

Tests are the same if their names have the same words. What was seen is compared word by word
(Jaccard's share of common words), and the similarity of two jobs is the mean over the tests made
on both, drawn towards neutral where these are few: a test that only one side made is missing, not
unlike, and one test in common is no proof.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.case import DiagnosticTest
from kb.intake.wording import Wording
from kb.recall.hashing import Keys, key, keys

NEUTRAL = 0.5
"""Similarity that says nothing ..."""
DRAWN_BY = 5
"""... and how many tests it weighs as much as."""


@dataclass(frozen=True, slots=True)
class FindingColumns:
    """The tests of all rows, ordered by `names`.

    Attributes
    ----------
    names : ndarray of uint64, shape (n,)
    rows : ndarray of int32, shape (n,)
    starts : ndarray of int64, shape (n + 1,)
        Test i showed words ``starts[i]`` to ``starts[i + 1]``.
    words : ndarray of uint64
    size : int
        Number of rows.
    """

    names: Keys
    rows: NDArray[np.int32]
    starts: NDArray[np.int64]
    words: Keys
    size: int

    def similarities(
        self, asked: Sequence[DiagnosticTest], wording: Wording
    ) -> NDArray[np.float32]:
        """Return the similarity over the tests made on both sides, nan where none was.

        Returns
        -------
        ndarray of float32, shape (size,)
        """
        total = np.zeros(self.size, dtype=np.float64)
        count = np.zeros(self.size, dtype=np.int64)
        for test in asked:
            wanted = np.uint64(key(name_of(test, wording)))
            first = np.searchsorted(self.names, wanted, "left")
            last = np.searchsorted(self.names, wanted, "right")
            best = np.zeros(self.size, dtype=np.float64)
            rows = self.rows[first:last]
            np.maximum.at(best, rows, self._alike(int(first), int(last), test, wording))
            total += best
            count[np.unique(rows)] += 1
        mean = np.full(self.size, np.nan, dtype=np.float32)
        made = count > 0
        mean[made] = (total[made] + NEUTRAL * DRAWN_BY) / (count[made] + DRAWN_BY)
        return mean

    def _alike(
        self, first: int, last: int, test: DiagnosticTest, wording: Wording
    ) -> NDArray[np.float64]:
        """Return the share of common words of the tests `first` to `last` with one test."""
        seen = keys(outcome(test, wording))
        starts = self.starts[first : last + 1]
        words = self.words[starts[0] : starts[-1]]
        lengths = np.diff(starts)
        owner = np.repeat(np.arange(last - first), lengths)
        common = np.bincount(owner, weights=np.isin(words, seen), minlength=last - first)
        every = lengths + len(seen) - common
        return np.where(every > 0, common / np.maximum(every, 1), 1.0)


def build(rows: Sequence[Sequence[DiagnosticTest]], wording: Wording) -> FindingColumns:
    """Lay the tests of many jobs out as columns."""
    flat = [(row, test) for row, tests in enumerate(rows) for test in tests]
    names = keys(name_of(test, wording) for _, test in flat)
    order = np.argsort(names, kind="stable")
    outcomes = [outcome(flat[place][1], wording) for place in order]
    return FindingColumns(
        names=names[order],
        rows=np.array([row for row, _ in flat], dtype=np.int32)[order],
        starts=np.cumsum([0, *map(len, outcomes)], dtype=np.int64),
        words=keys(word for words in outcomes for word in words),
        size=len(rows),
    )


def name_of(test: DiagnosticTest, wording: Wording) -> str:
    """Return the words of a test's name, evened out."""
    return " ".join(wording.tokens(test.name))


def outcome(test: DiagnosticTest, wording: Wording) -> tuple[str, ...]:
    """Return the different words of what a test showed."""
    return tuple(dict.fromkeys(wording.tokens(test.seen)))
