"""Runs of entries in one array, as they hold the rows of a sparse matrix."""

from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from kb.recall.hashing import Keys

Floats = NDArray[np.float32]
Places = NDArray[np.int32]
N = TypeVar("N", bound=np.generic)

AT_ONCE = 4_096
"""Runs that are summed together: their values stay in the processor's cache."""


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

    def of(self, array: NDArray[N]) -> NDArray[N]:
        """Return what an array holds there, run after run."""
        runs = zip(self.starts.tolist(), self.ends.tolist(), strict=True)
        return np.concatenate([array[:0], *(array[start:end] for start, end in runs)])

    def spread(self, values: Floats, members: Places, into: Floats) -> None:
        """Add the value of each run to all its members' places in `into`."""
        np.add.at(into, self.of(members).astype(np.intp), np.repeat(values, self.lengths))

    def sums(self, values: Floats, members: Places) -> Floats:
        """Return for each run the sum of its members' values."""
        lengths = self.lengths
        starts = np.concatenate([[0], np.cumsum(lengths)])
        return sums(values, self.of(members), starts)


@dataclass(frozen=True, slots=True)
class Lists:
    """For each term a list of members, all in one array (the rows of a sparse matrix, CSR).

    `keys` are those of the terms, ascending, shape (n_terms,); term i owns entries ``starts[i]`` to
    ``starts[i + 1]`` of `members`.
    """

    keys: Keys
    starts: Places
    members: Places

    def find(self, terms: Keys) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return which of some terms have a list, and which list each of these has."""
        found, places = look_up(self.keys, terms)
        return np.flatnonzero(found), places[found]

    def spans(self, places: NDArray[np.intp]) -> Spans:
        """Return where in `members` some lists lie."""
        return Spans(self.starts[places], self.starts[places + 1])

    def with_member(self, member: int) -> Keys:
        """Return the terms whose lists hold a member."""
        entries = np.flatnonzero(self.members == member)
        return distinct(self.keys[np.searchsorted(self.starts, entries, side="right") - 1])


def sums(values: Floats, members: Places, starts: NDArray[Any]) -> Floats:
    """Return for every i the sum of the values of ``members[starts[i]:starts[i + 1]]``."""
    total = np.zeros(len(starts) - 1, dtype=np.float32)
    for first in range(0, len(total), AT_ONCE):
        some = starts[first : first + AT_ONCE + 1]
        filled = some[1:] > some[:-1]
        if filled.any():
            taken = np.take(values, members[some[0] : some[-1]])
            into = total[first : first + AT_ONCE]
            into[filled] = np.add.reduceat(taken, some[:-1][filled] - some[0])
    return total


def greatest(rows: Places, values: NDArray[np.float64]) -> tuple[Places, NDArray[np.float64]]:
    """Return the different rows, which must be ascending, and the greatest value of each."""
    if not len(rows):
        return rows, values
    first = np.flatnonzero(np.diff(rows, prepend=-1))
    return rows[first], np.maximum.reduceat(values, first)


def distinct(values: NDArray[N]) -> NDArray[N]:
    """Return the different values, ascending, as `numpy.unique`, which imports `numpy.ma` first."""
    ordered = np.sort(values)
    return ordered[np.flatnonzero(np.append(True, ordered[1:] != ordered[:-1])[: len(ordered)])]


def look_up(known: Keys, wanted: Keys) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
    """Find keys in an ascending array: which are there, and at which place."""
    places = np.searchsorted(known, wanted)
    inside = places < len(known)
    found = inside.copy()
    found[inside] = known[places[inside]] == wanted[inside]
    return found, places
