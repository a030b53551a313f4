"""Runs of entries in one array, as they hold the rows of a sparse matrix."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.recall.hashing import Keys

Floats = NDArray[np.float32]
Places = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Spans:
    """Some runs: from `starts` up to, not including, `ends`, one a run."""

    starts: Places
    ends: Places

    @property
    def lengths(self) -> Places:
        """How many entries each run has."""
        return self.ends - self.starts

    def entries(self) -> NDArray[np.intp]:
        """Return the places of all entries, run after run."""
        lengths = self.lengths.astype(np.intp)
        ends = np.cumsum(lengths)
        total = int(ends[-1]) if len(ends) else 0
        return np.asarray(np.arange(total) + np.repeat(self.starts - (ends - lengths), lengths))

    def spread(self, values: Floats, members: Places, into: Floats) -> None:
        """Add the value of each run to all its members' places in `into`."""
        places = np.take(members, self.entries()).astype(np.intp)
        np.add.at(into, places, np.repeat(values, self.lengths))

    def sums(self, values: Floats, members: Places) -> Floats:
        """Return for each run the sum of its members' values."""
        lengths = self.lengths
        starts = np.concatenate([[0], np.cumsum(lengths)])
        return sums(np.take(values, np.take(members, self.entries())), starts)


@dataclass(frozen=True, slots=True)
class Lists:
    """For each term a list of members, all in one array (the rows of a sparse matrix, CSR).

    Attributes
    ----------
    keys : ndarray of uint64, shape (n_terms,)
        Ascending.
    starts : ndarray of int32, shape (n_terms + 1,)
        Term i owns entries ``starts[i]`` to ``starts[i + 1]`` of `members`.
    members : ndarray of int32
    """

    keys: Keys
    starts: Places
    members: Places

    def find(self, terms: Keys) -> tuple[NDArray[np.intp], Spans]:
        """Return which of some terms have a list, and where in `members` it lies."""
        found, places = look_up(self.keys, terms)
        places = places[found]
        return np.flatnonzero(found), Spans(self.starts[places], self.starts[places + 1])

    def with_member(self, member: int) -> Keys:
        """Return the terms whose lists hold a member."""
        entries = np.flatnonzero(self.members == member)
        return np.unique(self.keys[np.searchsorted(self.starts, entries, side="right") - 1])


def sums(values: Floats, starts: NDArray[Any]) -> Floats:
    """Return the sum of ``values[starts[i]:starts[i + 1]]`` for every i, 0 where that is empty."""
    total = np.zeros(len(starts) - 1, dtype=np.float32)
    filled = starts[1:] > starts[:-1]
    if filled.any():
        total[filled] = np.add.reduceat(values, starts[:-1][filled])
    return total


def look_up(known: Keys, wanted: Keys) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
    """Find keys in an ascending array: which are there, and at which place."""
    places = np.searchsorted(known, wanted)
    inside = places < len(known)
    found = inside.copy()
    found[inside] = known[places[inside]] == wanted[inside]
    return found, places
