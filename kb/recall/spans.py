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
