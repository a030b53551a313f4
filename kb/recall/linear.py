"""A linear model of the causes: what the words and facts of all cases say together.

The terms of a case, words and facts (`kb.recall.features`) apart, are brought down to a few hundred
dimensions by truncated singular value decompositions (latent semantic indexing, Deerwester et al.
1990), and a multinomial logistic regression is fitted on those. Both steps are linear, so every
term has one weight for each cause and can be told apart. Where a text lies follows from its cosines
with the cases learnt from: with their matrix ``M = U S V'`` a text ``x`` lies at
``x V = (x M') (U / S)``, so no term of a text is kept here. Fitting needs scipy, asking numpy
only.

References
----------
Deerwester, S., Dumais, S. T., Furnas, G. W., Landauer, T. K. & Harshman, R. (1990). Indexing by
latent semantic analysis. Journal of the American Society for Information Science 41, 391-407.

Halko, N., Martinsson, P. G. & Tropp, J. A. (2011). Finding structure with randomness: probabilistic
algorithms for constructing approximate matrix decompositions. SIAM Review 53, 217-288.
"""

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.case import Job
from kb.intake.wording import Wording
from kb.recall import softmax
from kb.recall.features import SCALES, Query, blocks
from kb.recall.hashing import Keys, keys
from kb.recall.reading_signal import WidthColumns
from kb.recall.spans import Floats, Places, look_up
from kb.recall.text_signal import Postings, TextModel, Tokens, matrix
from kb.settings import RecallSettings

Facts = Mapping[str, float]

AT_ONCE = ("vehicle", "system", "time", "time of model")
"""Blocks of facts that are known before anything was looked at."""
SHARES = (0.5, 0.25, 0.25)
"""What each of the three states of a case counts (`_in_three_states`; chosen on the demonstration
shop, `tests/benchmarks/everyday.py --systems`)."""
ROUNDING = 1e-4
"""Components weaker than this share of the strongest hold no more than single precision loses."""
EXACTLY = 2_000
"""Up to so many rows the components are found exactly, as that takes no longer (some 2 s)."""
MORE_DRAWN, POWERS = 10, 2
"""Dimensions that are drawn beyond those wanted, and how often the strong ones are brought out of
the random start: more adds nothing where a text has words enough (Halko et al. 2011)."""
COLUMNS_AT_ONCE = 8_192


@dataclass(frozen=True, slots=True)
class Latent:
    """Where each term lies in a space of few dimensions.

    `terms` are keys, ascending, shape (n_terms,); `vectors` have shape (n_terms, n_dimensions).
    """

    terms: Keys
    vectors: Floats

    def place(self, terms: Keys, values: Floats) -> Floats:
        """Return where a text or a set of facts lies, shape (n_dimensions,)."""
        found, places = look_up(self.terms, terms)
        return np.asarray(values[found] @ self.vectors[places[found]])

    def along(self, terms: Keys, values: Floats, direction: Floats) -> Floats:
        """Return how far each term goes in a direction, shape of `terms`; 0 where unknown."""
        found, places = look_up(self.terms, terms)
        gone = np.zeros(len(terms), dtype=np.float32)
        gone[found] = values[found] * (self.vectors[places[found]] @ direction)
        return gone


@dataclass(frozen=True, slots=True)
class WeighedFacts:
    """The facts of what is asked: their keys, their weights, and the facts in words."""

    terms: Keys
    weights: Floats
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LinearModel:
    """One weight for each term and cause, as products of matrices.

    `weights` have shape (n_dimensions of words + of facts, n_causes), `intercepts` (n_causes,).

    Attributes
    ----------
    learnt : ndarray of int32, shape (n_learnt,)
        The rows that were learnt from.
    words : ndarray of float32, shape (n_learnt, n_dimensions of words)
        How far a cosine of 1 with each of them takes a text.
    facts_idf : ndarray of float32, shape (n_facts,)
        Inverse document frequency of the facts.
    causes : ndarray of uint64, shape (n_causes,)
        Keys of the causes, ascending; empty where the store was too small to fit.
    """

    learnt: Places
    words: Floats
    facts: Latent
    facts_idf: Floats
    causes: Keys
    weights: Floats
    intercepts: Floats

    def place(self, cosines: Floats, facts: WeighedFacts) -> Floats:
        """Return where a complaint lies, shape (n_dimensions of words + of facts,).

        `cosines` of its text with every row, nan where either has none, shape (n_rows,).
        """
        likeness = cosines[self.learnt]
        likeness[np.isnan(likeness)] = 0
        return np.concatenate([likeness @ self.words, self.facts.place(facts.terms, facts.weights)])

    def chances(self, cosines: Floats, facts: WeighedFacts) -> Floats:
        """Return the chance of every cause, shape (n_causes,); the arguments are `place`'s."""
        if not len(self.causes):
            return np.empty(0, dtype=np.float32)
        scores = self.place(cosines, facts) @ self.weights + self.intercepts
        scores = np.exp(scores - scores.max())
        return np.asarray(scores / scores.sum(), dtype=np.float32)

    def pulls(
        self, words: tuple[Keys, Floats], facts: WeighedFacts, texts: Postings, cause: int
    ) -> tuple[Floats, Floats]:
        """Return what each word and fact adds to a cause's score above its mean over all causes.

        `words` is a vector from `TextModel.weigh`, `texts` are those of the rows that the model was
        fitted on. All are 0 for a cause the model does not know.
        """
        column = np.flatnonzero(self.causes == np.uint64(cause))
        size = self.words.shape[1]
        direction = np.zeros(len(self.weights), dtype=np.float32)
        if len(column):
            direction = self.weights[:, column[0]] - self.weights.mean(axis=1)
        of_rows = np.zeros(len(texts), dtype=np.float32)
        of_rows[self.learnt] = self.words @ direction[:size]
        return (
            texts.along(*words, of_rows),
            self.facts.along(facts.terms, facts.weights, direction[size:]),
        )

    def weigh(self, counted: Mapping[str, Facts]) -> WeighedFacts:
        """Weigh the facts of a complaint (`kb.recall.features.blocks`)."""
        parts = [self._block(name, facts) for name, facts in counted.items()]
        return WeighedFacts(
            terms=np.concatenate([terms for terms, _ in parts]),
            weights=np.concatenate([weights for _, weights in parts]),
            names=tuple(chain.from_iterable(counted.values())),
        )

    def _block(self, name: str, counted: Facts) -> tuple[Keys, Floats]:
        terms = keys(counted)
        found, places = look_up(self.facts.terms, terms)
        idf = np.zeros(len(terms), dtype=np.float32)
        idf[found] = self.facts_idf[places[found]]
        return terms, _unit(np.fromiter(counted.values(), np.float32, len(counted)) * idf, name)


EMPTY = LinearModel(
    learnt=np.empty(0, np.int32),
    words=np.empty((0, 0), np.float32),
    facts=Latent(terms=keys(()), vectors=np.empty((0, 0), np.float32)),
    facts_idf=np.empty(0, np.float32),
    causes=keys(()),
    weights=np.empty((0, 0), np.float32),
    intercepts=np.empty(0, np.float32),
)


def fit(
    cases: Sequence[Job],
    causes: Keys,
    tokens: Callable[[Job], Tokens],
    model: TextModel,
    wording: Wording,
    widths: WidthColumns,
    settings: RecallSettings,
) -> LinearModel:
    """Fit the model on cases, with scipy.

    `causes` are the keys of theirs, `tokens` gives the words on which the text model was fitted. At
    least `linear_least` cases must be there, else it is `EMPTY`; of more than `linear_most` the
    newest are taken, and of more than `linear_causes` causes the most frequent.
    """
    rows = _learnt_from(cases, causes, settings)
    if len(rows) < settings.linear_least or len(np.unique(causes[rows])) < 2:
        return EMPTY
    words = matrix([tokens(cases[row]) for row in rows], model)
    found = [blocks(Query.past(cases[row]), wording, widths) for row in rows]
    terms, idf = _vocabulary(found)
    facts = _weighed(found, terms, idf)
    words_places = _placing(words, settings.linear_dimensions)
    facts_vectors = _components(facts, settings.linear_dimensions)
    told = [{name: each[name] for name in AT_ONCE} for each in found]
    known, classes = np.unique(causes[rows], return_inverse=True)
    weights, intercepts = softmax.fit(
        np.asarray(words @ (words.T @ words_places), dtype=np.float32),
        _in_three_states(facts @ facts_vectors, _weighed(told, terms, idf) @ facts_vectors),
        classes.astype(np.int32),
        strength=settings.linear_strength,
        tolerance=settings.linear_tolerance,
    )
    return LinearModel(
        learnt=rows.astype(np.int32),
        words=words_places,
        facts=Latent(terms=terms, vectors=facts_vectors),
        facts_idf=idf,
        causes=known,
        weights=weights,
        intercepts=intercepts,
    )


def _in_three_states(found: Floats, told: Floats) -> tuple[softmax.CaseState, ...]:
    """Return every case as it was found, as it was told at once, and by its words alone.

    Learnt from what was found alone, the model would take what nobody has looked for yet, a code or
    a reading, for a sign that it is not there.
    """
    facts = (found, told, np.empty((len(found), 0)))
    return tuple(
        softmax.CaseState(share, np.asarray(each, dtype=np.float32))
        for share, each in zip(SHARES, facts, strict=True)
    )


def _learnt_from(cases: Sequence[Job], causes: Keys, settings: RecallSettings) -> NDArray[np.intp]:
    """Choose the newest cases of the most frequent causes."""
    newest = np.argsort([job.opened.toordinal() for job in cases], kind="stable")
    newest = newest[-settings.linear_most :]
    known, counts = np.unique(causes[newest], return_counts=True)
    frequent = known[np.argsort(-counts, kind="stable")[: settings.linear_causes]]
    return np.sort(newest[np.isin(causes[newest], frequent)])


def _components(matrix: Any, most: int) -> Floats:
    """Return where each column of a matrix lies in the space of its strongest components."""
    directions, _ = _strongest(matrix.T, most)
    return np.ascontiguousarray(directions, dtype=np.float32)


def _placing(texts: Any, most: int) -> Floats:
    """Return what takes cosines with texts, a row each, to the space of their strongest components.

    Components that are nothing but rounding are left at 0.
    """
    places, strengths = _strongest(texts, most)
    there = strengths > ROUNDING * strengths.max(initial=0)
    scale = np.divide(1, strengths, out=np.zeros_like(strengths), where=there)
    return np.ascontiguousarray(places * scale, dtype=np.float32)


def _strongest(matrix: Any, most: int) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return the strongest left singular vectors of a sparse matrix, and their singular values.

    They are exact where there are few rows: a random start would move every chance a little each
    time that a case is added.
    """
    rows, columns = matrix.shape
    dimensions = min(most, rows, columns)
    if not dimensions:
        return np.empty((rows, 0)), np.empty(0)
    if rows <= EXACTLY:
        from scipy.linalg import eigh  # noqa: PLC0415  slow to import

        products = (matrix @ matrix.T).toarray().astype(np.float64)
        squares, vectors = eigh(products, subset_by_index=(rows - dimensions, rows - 1))
        return vectors, np.sqrt(np.maximum(squares, 0))
    return _drawn(matrix, dimensions)


def _drawn(matrix: Any, dimensions: int) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return what `_strongest` does, found from a random start (Halko et al. 2011, algorithm 4.3).

    What has a row a column of the matrix is never held whole: of n-grams there are many.
    """
    from scipy.linalg import eigh, qr  # noqa: PLC0415  slow to import

    by_column = matrix.tocsc()
    parts = [by_column[:, at : at + COLUMNS_AT_ONCE] for at in _steps(matrix.shape[1])]
    start, size = np.random.RandomState(0), dimensions + MORE_DRAWN
    found = sum(
        part @ start.normal(size=(part.shape[1], size)).astype(np.float32) for part in parts
    )
    for _ in range(POWERS):
        found = sum(part @ (part.T @ found) for part in parts)
    basis, _ = qr(found, mode="economic")
    products = np.zeros((basis.shape[1], basis.shape[1]))
    for part in parts:
        along = (part.T @ basis).astype(np.float64)
        products += along.T @ along
    first = max(len(products) - dimensions, 0)
    squares, vectors = eigh(products, subset_by_index=(first, len(products) - 1))
    return basis @ vectors, np.sqrt(np.maximum(squares, 0))


def _steps(columns: int) -> range:
    return range(0, columns, COLUMNS_AT_ONCE)


def _vocabulary(counted: Sequence[Mapping[str, Facts]]) -> tuple[Keys, Floats]:
    """Return the keys of the facts, ascending, and their inverse document frequency.

    A fact that one case alone has tells nothing of others and is left out.
    """
    seen = Counter(fact for each in counted for block in each.values() for fact in block)
    names = [name for name, times in seen.items() if times > 1]
    terms = keys(names)
    order = np.argsort(terms)
    frequency = np.array([seen[names[old]] for old in order], dtype=np.float64)
    idf = (1 + np.log((1 + len(counted)) / (1 + frequency))).astype(np.float32)
    return terms[order], idf


def _weighed(counted: Sequence[Mapping[str, Facts]], terms: Keys, idf: Floats) -> Any:
    """Return the weighed facts of cases as a sparse matrix, shape (n_cases, n_facts)."""
    from scipy.sparse import csr_array  # noqa: PLC0415  slow to import

    starts, columns, values, there = [0], [np.empty(0, np.int32)], [np.empty(0, np.float32)], 0
    for each in counted:
        for name, block in each.items():
            found, places = look_up(terms, keys(block))
            at = places[found]
            kept = np.fromiter(block.values(), np.float32, len(block))[found]
            columns.append(at.astype(np.int32))
            values.append(_unit(kept * idf[at], name))
            there += len(at)
        starts.append(there)
    return csr_array(
        (np.concatenate(values), np.concatenate(columns), np.array(starts)),
        shape=(len(counted), len(terms)),
    )


def _unit(weights: Floats, block: str) -> Floats:
    length = math.sqrt(float(weights @ weights))
    return (weights * (SCALES[block] / length)).astype(np.float32) if length else weights
