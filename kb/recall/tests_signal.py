"""Similarity of tests: the same look or measurement, and whether it showed the same.

Tests are the same if their names have the same words, and what was seen is compared word by word
(Jaccard's share of common words). A test made on both sides counts as in the linkage of records
(Fellegi & Sunter 1969): for a shared cause by how much oftener cases of one cause agree in it than
any two cases do, against it likewise by how much oftener they differ; between agreeing and
differing in proportion. What is seen rarely thus says much, and what every car shows says nothing.
A test that only one side made is missing, not unlike.

References
----------
Fellegi, I. P. & Sunter, A. B. (1969). A theory for record linkage. Journal of the American
Statistical Association 64, 1183-1210.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import log

import numpy as np
from numpy.typing import NDArray

from kb.case import DiagnosticTest
from kb.intake.wording import Wording
from kb.recall.hashing import Keys, key, keys
from kb.recall.spans import among, greatest

WHOLE = 20.0
"""Log-odds for a shared cause at which similarity is whole; against it, none; 0 is half way. Five
tests that agree as tellingly as `LEAST` allows come so far."""
USUAL_WITHIN, USUAL_OF_ANY = 0.75, 0.5
"""How often cases of one cause, and any two cases, agree in a test nothing is known of (by guess),
and how many cases that weighs as much as:"""
WEIGHT_WITHIN, WEIGHT_OF_ANY = 4.0, 1.0
LEAST = 0.02
"""Shares are kept this far from 0 and 1, by guess: of fifty tests one is written down wrongly, so
that none alone can prove or rule out."""
MOST_OUTCOMES = 20
"""Outcomes of a test on one cause that are compared with one another, the commonest: enough for
nearly every cause, and at most 190 pairs of them however long the history."""


@dataclass(frozen=True, slots=True)
class TestColumns:
    """The tests of all rows, ordered by `names`.

    Test i, named ``names[i]``, of ``rows[i]``, showed words ``starts[i]`` to ``starts[i + 1]``;
    `size` is the number of rows.
    """

    names: Keys
    rows: NDArray[np.int32]
    starts: NDArray[np.int64]
    words: Keys
    size: int

    def made(self, name: np.uint64) -> slice:
        """Return where the tests of one name stand."""
        first = int(np.searchsorted(self.names, name, "left"))
        return slice(first, int(np.searchsorted(self.names, name, "right")))

    def similarities(self, asked: Sequence["WeighedTest"]) -> NDArray[np.float32]:
        """Return how like the tests made on both sides are, shape (size,); nan where none was."""
        total = np.zeros(self.size, dtype=np.float64)
        shared = np.zeros(self.size, dtype=np.bool_)
        for test in asked:
            place = self.made(test.name)
            alike = test.alike if test.known is self else self.alike(place, test.seen)
            rows, best = greatest(self.rows[place], alike)
            total[rows] += test.differ + best * (test.agree - test.differ)
            shared[rows] = True
        similarity = np.full(self.size, np.nan, dtype=np.float32)
        similarity[shared] = np.clip(0.5 + total[shared] / (2 * WHOLE), 0, 1)
        return similarity

    def alike(self, place: slice, seen: Keys) -> NDArray[np.float64]:
        """Return the share of common words of some tests with what one test showed."""
        starts = self.starts[place.start : place.stop + 1]
        words = self.words[starts[0] : starts[-1]]
        before = np.zeros(len(words) + 1, dtype=np.int32)
        np.cumsum(among(words, seen), out=before[1:])
        common = np.diff(before[starts - starts[0]])
        every = np.diff(starts) + len(seen) - common
        return np.where(every > 0, common / np.maximum(every, 1), 1.0)


@dataclass(frozen=True, slots=True)
class WeighedTest:
    """A test asked about, with the log-odds for a shared cause if another agrees or differs.

    `alike` is its likeness to each test of its name among those `known`, by which it was weighed.
    """

    name: np.uint64
    seen: Keys
    agree: float
    differ: float
    known: TestColumns
    alike: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Agreement:
    """How often cases of one cause agree in a test, shape (n,), ordered by `names`."""

    names: Keys
    within: NDArray[np.float64]

    def weigh(self, test: DiagnosticTest, wording: Wording, known: TestColumns) -> WeighedTest:
        """Weigh a test asked about by those of the known cases."""
        name, seen = np.uint64(key(name_of(test, wording))), keys(outcome(test, wording))
        place = int(np.searchsorted(self.names, name))
        there = place < len(self.names) and self.names[place] == name
        within = float(self.within[place]) if there else USUAL_WITHIN
        alike = known.alike(known.made(name), seen)
        of_any = (float(alike.sum()) + USUAL_OF_ANY * WEIGHT_OF_ANY) / (len(alike) + WEIGHT_OF_ANY)
        of_any = min(max(of_any, LEAST), 1 - LEAST)
        within = min(max(within, of_any), 1 - LEAST)
        agree, differ = evidence(within, of_any)
        return WeighedTest(name, seen, agree, differ, known, alike)


def evidence(within: float, of_any: float) -> tuple[float, float]:
    """Return the log-odds for a shared cause if a test agrees, and if it differs.

    `within` and `of_any` tell how often cases of one cause agree in the test, and how often any two
    do, between 0 and 1.
    """
    return log(within / of_any), log((1 - within) / (1 - of_any))


def fit(columns: TestColumns, causes: Keys) -> Agreement:
    """Learn how often cases of one cause, shape (size,), 0 for none, agree in each test."""
    names = np.unique(columns.names)
    return Agreement(
        names=names,
        within=np.array([_within(columns, columns.made(name), causes) for name in names]),
    )


def _within(columns: TestColumns, place: slice, causes: Keys) -> float:
    shown: dict[int, Counter[frozenset[int]]] = defaultdict(Counter)
    of_test = causes[columns.rows[place]].tolist()
    for cause, seen in zip(of_test, _outcomes(columns, place), strict=True):
        if cause:  # what no cause was found of tells nothing of what a cause shows
            shown[cause][seen] += 1
    agreed, cases = USUAL_WITHIN * WEIGHT_WITHIN, WEIGHT_WITHIN
    for outcomes in shown.values():
        counts = dict(outcomes.most_common(MOST_OUTCOMES))
        number = sum(counts.values())
        if number > 1:
            agreed += _agreeing(counts) / (number - 1)
            cases += number
    return agreed / cases


def _outcomes(columns: TestColumns, place: slice) -> Iterator[frozenset[int]]:
    starts = columns.starts[place.start : place.stop + 1].tolist()
    words = columns.words[starts[0] : starts[-1]].tolist()
    for first, last in pairwise(starts):
        yield frozenset(words[first - starts[0] : last - starts[0]])


def _agreeing(counts: dict[frozenset[int], int]) -> float:
    """Return the sum over the ordered pairs of cases of how far they agree."""
    pairs = float(sum(count * (count - 1) for count in counts.values()))
    for (one, times), (other, often) in combinations(counts.items(), 2):
        pairs += 2 * times * often * len(one & other) / len(one | other)
    return pairs


def build(rows: Sequence[Sequence[DiagnosticTest]], wording: Wording) -> TestColumns:
    """Lay the tests of many jobs out as columns."""
    flat = [(row, test) for row, tests in enumerate(rows) for test in tests]
    names = keys(name_of(test, wording) for _, test in flat)
    order = np.argsort(names, kind="stable")
    outcomes = [outcome(flat[place][1], wording) for place in order]
    return TestColumns(
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
