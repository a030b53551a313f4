"""Runs of entries in one array, as they hold the rows of a sparse matrix."""

from dataclasses import dataclass
from typing import Any, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from kb.recall.hashing import Keys

Floats = NDArray[np.float32]
Places = NDArray[np.int32]
N = TypeVar("N", bound=np.generic)

LONG = 256
"""Runs this long on average are put together from slices, shorter ones entry by entry: about where
both take the same time."""

MANY = 64
"""So many are worth to be sorted before they are looked up."""


@dataclass(frozen=True, slots=True)
class Spans:
    """Some runs: from `starts` up to, not including, `ends`, one a run."""

    starts: NDArray[np.integer[Any]]
    ends: NDArray[np.integer[Any]]

    @property
    def lengths(self) -> NDArray[np.integer[Any]]:
        """How many entries each run has."""
        return self.ends - self.starts

    def entries(self) -> NDArray[np.intp]:
        """Return the places of all entries, run after run."""
        lengths = self.lengths.astype(np.intp)
        ends = np.cumsum(lengths)
        places = np.repeat(self.starts - (ends - lengths), lengths)
        places += np.arange(len(places))
        return places

    def of(self, array: NDArray[N]) -> NDArray[N]:
        """Return what an array holds there, run after run."""
        if int(self.lengths.sum()) < LONG * len(self.starts):
            return np.take(array, self.entries())
        runs = zip(self.starts.tolist(), self.ends.tolist(), strict=True)
        return np.concatenate([array[:0], *(array[start:end] for start, end in runs)])

    def spread(self, values: Floats, members: Places, into: Floats) -> None:
        """Add the value of each run to all its members' places in `into`."""
        np.add.at(into, self.of(members), np.repeat(values, self.lengths))

    def sums(self, values: Floats, members: Places) -> Floats:
        """Return for each run the sum of its members' values."""
        total = np.zeros(len(self.starts), dtype=np.float32)
        filled = np.flatnonzero(self.lengths)
        if len(filled):
            first = np.cumsum(self.lengths)[filled] - self.lengths[filled]
            total[filled] = np.add.reduceat(np.take(values, self.of(members)), first)
        return total


@dataclass(frozen=True, slots=True)
class Lists:
    """For each term a list of members, all in one array (the rows of a sparse matrix, CSR).

    `keys` are those of the terms, ascending, shape (n_terms,); term i owns entries ``starts[i]`` to
    ``starts[i + 1]`` of `members`.
    """

    keys: Keys
    starts: Places
    members: Places


@dataclass(frozen=True, slots=True)
class Holders:
    """Lists of members that hold a term, each list with what the term is worth to its members.

    `keys` are those of the terms, ascending, shape (n_lists,); a term that is worth more to some
    members than to others has several lists, one after the other. List i, worth ``worth[i]``, owns
    entries ``starts[i]`` to ``starts[i + 1]`` of `members`.
    """

    keys: Keys
    starts: Places
    members: Places
    worth: Floats

    def spread(self, terms: Keys, weights: Floats, size: int) -> Floats:
        """Return what each of `size` members gets of weighted terms, shape (size,)."""
        of_term, lists = self._of(terms)
        total = np.zeros(size, dtype=np.float32)
        self.runs(lists).spread(weights[of_term] * self.worth[lists], self.members, total)
        return total

    def gather(self, terms: Keys, of_members: Floats) -> Floats:
        """Return what each term gets of its members, each taken times its worth, shape (n,)."""
        of_term, lists = self._of(terms)
        total = np.zeros(len(terms), dtype=np.float32)
        gathered = self.runs(lists).sums(of_members, self.members)
        np.add.at(total, of_term, self.worth[lists] * gathered)
        return total

    def with_member(self, member: int) -> Keys:
        """Return the terms whose lists hold a member."""
        entries = np.flatnonzero(self.members == member)
        return distinct(self.keys[np.searchsorted(self.starts, entries, side="right") - 1])

    def runs(self, lists: NDArray[np.integer[Any]]) -> Spans:
        """Return where in `members` some lists lie."""
        return Spans(self.starts[lists], self.starts[lists + 1])

    def _of(self, terms: Keys) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return for every list of some terms the term's place, and the list's."""
        found = Spans(places_of(self.keys, terms), places_of(self.keys, terms, side="right"))
        return np.repeat(np.arange(len(terms)), found.lengths), found.entries()


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


def among(values: NDArray[N], few: NDArray[N]) -> NDArray[np.bool_]:
    """Return which values are any of a few, as `numpy.isin`, which asks for their range first."""
    there = np.zeros(len(values), dtype=np.bool_)
    for each in few:
        there |= values == each
    return there


def places_of(
    known: Keys, wanted: Keys, *, side: Literal["left", "right"] = "left"
) -> NDArray[np.intp]:
    """Return `numpy.searchsorted`; of many, asked in their order: neighbours lie near in memory."""
    if len(wanted) < MANY or _ascends(wanted):
        return np.searchsorted(known, wanted, side)
    order = np.argsort(wanted)
    places = np.empty(len(wanted), dtype=np.intp)
    places[order] = np.searchsorted(known, wanted[order], side)
    return places


def _ascends(values: Keys) -> bool:
    return bool((values[1:] >= values[:-1]).all())


def look_up(known: Keys, wanted: Keys) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
    """Find keys in an ascending array: which are there, and at which place."""
    places = places_of(known, wanted)
    inside = places < len(known)
    found = inside.copy()
    found[inside] = known[places[inside]] == wanted[inside]
    return found, places
