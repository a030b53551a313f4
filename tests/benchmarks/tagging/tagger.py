"""Finds what the words of a card name, learnt from a few confirmed texts and many unread ones.

Every run of a few words is judged by itself, so that a name within a name ("air *horn*") is found
as well: a multinomial logistic regression over its words and neighbours, what the like was
confirmed to be (`memory.py`), what the trade's tables know of its words and where these lie
(`word_space.py`). Of the runs that are likely enough the likeliest are taken that go together:
apart from one another, or one at the end of another of its kind.

Fitting and asking need scikit-learn.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.intake.wording import Wording
from tests.benchmarks.tagging.features import features_of, place_of
from tests.benchmarks.tagging.memory import NOTHING, Memory
from tests.benchmarks.tagging.named import ConfirmedText, NamedRun, ProposedRun, candidates
from tests.benchmarks.tagging.word_space import WordSpace

LEAST_LIKELY = 0.3
"""From this chance on a run is proposed; below a half, for a name missed is worse than one offered
in vain, and F1 counts both alike (`tests/benchmarks/card_words.py`)."""
_PLACES_COUNT = 1.2
"""How much the places of words count beside a feature of 1; chosen with `_FREEDOM` on the same."""
_FREEDOM = 1.0
"""Inverse of the penalty on large weights, scikit-learn's C."""
_MOST_STEPS = 300


@dataclass(frozen=True)
class RunTagger:
    """What was learnt; `model` is None unless some runs were to name something and some nothing."""

    memory: Memory
    space: WordSpace
    wording: Wording
    columns: Any = field(repr=False)
    model: Any = field(repr=False)

    @classmethod
    def fit(
        cls, confirmed: Sequence[ConfirmedText], space: WordSpace, wording: Wording
    ) -> "RunTagger":
        """Learn from confirmed texts; `space` may know the words of many others."""
        from sklearn.feature_extraction import DictVectorizer  # noqa: PLC0415  slow to import
        from sklearn.linear_model import LogisticRegression  # noqa: PLC0415

        memory = Memory.of(confirmed)
        tagger = cls(memory, space, wording, DictVectorizer(dtype=np.float32), None)
        kinds = [kind for text in confirmed for kind in _kinds(text)]
        if NOTHING not in kinds or set(kinds) == {NOTHING}:
            return tagger
        rows = [
            features_of(text.words, *run, others, wording)
            for text in confirmed
            for others in [memory.without(text)]
            for run in candidates(text.words)
        ]
        tagger.columns.fit(rows)
        table = tagger._table(rows, [text.words for text in confirmed])
        model = LogisticRegression(C=_FREEDOM, max_iter=_MOST_STEPS, tol=1e-3)
        return cls(memory, space, wording, tagger.columns, model.fit(table, kinds))

    def propose(self, texts: Sequence[Sequence[str]]) -> list[tuple[ProposedRun, ...]]:
        """Return for each text, given in words, what its words may name, in order of place."""
        runs = [(words, run) for words in texts for run in candidates(words)]
        if self.model is None or not runs:
            return [() for _ in texts]
        rows = [features_of(words, *run, self.memory, self.wording) for words, run in runs]
        chances = self.model.predict_proba(self._table(rows, texts))
        proposed, first = [], 0
        for words in texts:
            places = list(candidates(words))
            proposed.append(self._going_together(places, chances[first : first + len(places)]))
            first += len(places)
        return proposed

    def _table(self, rows: Sequence[dict[str, float]], texts: Iterable[Sequence[str]]) -> Any:
        """Return features and places beside each other, shape (n_runs, n_columns), sparse."""
        from scipy.sparse import csr_matrix, hstack  # noqa: PLC0415  slow to import

        lie = [place_of(words, *run, self.space) for words in texts for run in candidates(words)]
        table = [self.columns.transform(rows), csr_matrix(_PLACES_COUNT * np.array(lie))]
        return hstack(table, format="csr", dtype=np.float64)

    def _going_together(
        self, places: Sequence[tuple[int, int]], chances: NDArray[np.float64]
    ) -> tuple[ProposedRun, ...]:
        kinds = list(self.model.classes_)
        nothing = kinds.index(NOTHING)
        something = 1 - chances[:, nothing]
        best = np.delete(chances, nothing, axis=1).argmax(axis=1)
        named = np.delete(self.model.classes_, nothing)[best]
        taken: list[ProposedRun] = []
        for at in np.argsort(-something, kind="stable"):
            if something[at] < LEAST_LIKELY:
                break
            start, end = places[at]
            run = ProposedRun(start, end, str(named[at]), float(something[at]))
            if all(go_together(run.named, other.named) for other in taken):
                taken.append(run)
        return tuple(sorted(taken))


def go_together(one: NamedRun, other: NamedRun) -> bool:
    """Whether two runs may both name something: apart, or with the same last word and of one kind.

    Examples
    --------
    >>> horn, air_horn = NamedRun(2, 3, "part"), NamedRun(1, 3, "part")
    >>> go_together(horn, air_horn), go_together(NamedRun(1, 2, "part"), air_horn)
    (True, False)
    """
    apart = one.end <= other.start or other.end <= one.start
    return apart or (one.end == other.end and one.kind == other.kind)


def _kinds(text: ConfirmedText) -> list[str]:
    """Return the kind of each candidate of a confirmed text, in their order."""
    named = {(run.start, run.end): run.kind for run in text.runs}
    return [named.get(run, NOTHING) for run in candidates(text.words)]
