"""Similarity of free text: TF-IDF cosine over words, word pairs and character n-grams.

Two blocks are weighted alike: words with word pairs, and the character 3- to 5-grams inside
words that carry misspellings. Term frequencies are sublinear, document frequencies smoothed, each
block has unit length: the forms and defaults of scikit-learn's ``TfidfVectorizer``, which does the
fitting. One analyser (`word_features`, `character_features`) serves fitting and asking alike.

A fitted text signal is a `TextModel` (what is known of terms) and `Postings` (term to rows), both
plain arrays that can be read back memory-mapped; asking needs numpy only.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kb.recall.hashing import Keys, key, keys

Floats = NDArray[np.float32]
Tokens = Sequence[str]

SHORTEST_GRAM, LONGEST_GRAM = 3, 5
CHARACTER_SHARE = 0.3
"""Share of the character n-grams in the cosine; the rest is the words' and word pairs'."""


def word_features(tokens: Tokens) -> Iterator[str]:
    """Yield every word and every pair of neighbouring words.

    Examples
    --------
    >>> list(word_features(["lamp", "on"]))
    ['w lamp', 'w on', 'w lamp on']
    """
    for token in tokens:
        yield f"w {token}"
    for first, second in pairwise(tokens):
        yield f"w {first} {second}"


def character_features(tokens: Tokens) -> Iterator[str]:
    """Return the character 3- to 5-grams of each word padded with one space at either end.

    Examples
    --------
    >>> list(character_features(["abs"]))
    ['c  ab', 'c abs', 'c bs ', 'c  abs', 'c abs ', 'c  abs ']
    """
    return chain.from_iterable(map(_grams, tokens))


@lru_cache(maxsize=100_000)
def _grams(token: str) -> tuple[str, ...]:
    padded = f" {token} "
    return tuple(
        f"c {padded[start : start + size]}"
        for size in range(SHORTEST_GRAM, LONGEST_GRAM + 1)
        for start in range(len(padded) - size + 1)
    )


BLOCKS = (word_features, character_features)


def split_by_word(tokens: Tokens, worth: Mapping[int, float]) -> dict[str, float]:
    """Split what the terms of a text are worth among its words.

    A pair of words or an n-gram that several words hold is split evenly among them.

    Parameters
    ----------
    tokens : sequence of str
    worth : mapping of int to float
        Key of a term -> what it is worth; terms that are not in it are worth nothing.

    Returns
    -------
    dict of str to float
        Word -> its share; the shares sum to the worth of all terms of the text.
    """
    owners: dict[str, set[str]] = defaultdict(set)
    for token in tokens:
        for term in (*word_features([token]), *character_features([token])):
            owners[term].add(token)
    for first, second in pairwise(tokens):
        *_, pair = word_features([first, second])
        owners[pair] |= {first, second}
    shares = dict.fromkeys(tokens, 0.0)
    for term, words in owners.items():
        for word in words:
            shares[word] += worth.get(key(term), 0.0) / len(words)
    return shares


@dataclass(frozen=True, slots=True)
class TextModel:
    """What is known of terms: inverse document frequencies, and the words that may be read as.

    Attributes
    ----------
    terms : ndarray of uint64, shape (n_terms,)
        Keys of the terms, ascending.
    idf : ndarray of float32, shape (n_terms,)
        ``1 + ln((1 + n) / (1 + df))``.
    documents : int
        Number n of texts fitted on.
    character_share : float
        Share of the character n-grams in the cosine.
    common_words : ndarray of uint8
        UTF-8 of the words seen at least twice, separated by newlines.
    """

    terms: Keys
    idf: Floats
    documents: int
    character_share: float
    common_words: NDArray[np.uint8]

    def weigh(self, tokens: Tokens) -> tuple[Keys, Floats]:
        """Return the unit-length vector of a text as term keys and weights.

        Terms never seen in fitting carry the greatest idf: they lengthen the vector, so a text of
        strange words is similar to nothing.
        """
        shares = _shares(self.character_share)
        parts = [
            self._block(Counter(features(tokens)), share)
            for features, share in zip(BLOCKS, shares, strict=True)
        ]
        return (
            np.concatenate([terms for terms, _ in parts]),
            np.concatenate([weights for _, weights in parts]),
        )

    def _block(self, counts: Counter[str], share: float) -> tuple[Keys, Floats]:
        terms = keys(counts)
        frequency = 1 + np.log(np.fromiter(counts.values(), np.float32, len(counts)))
        weights = frequency * self.idf_of(terms)
        length = float(np.linalg.norm(weights))
        scale = math.sqrt(share) / length if length else 0.0
        return terms, (weights * scale).astype(np.float32)

    def idf_of(self, terms: Keys) -> Floats:
        """Return the idf of each term, the greatest possible one for terms never seen."""
        found, places = look_up(self.terms, terms)
        idf = np.full(len(terms), 1 + math.log(1 + self.documents), dtype=np.float32)
        idf[found] = self.idf[places[found]]
        return idf

    def knows(self, tokens: Tokens) -> NDArray[np.bool_]:
        """Return for each word whether it was seen in fitting."""
        return look_up(self.terms, keys(f"w {token}" for token in tokens))[0]

    def read_as(self, tokens: Tokens, *, shortest: int = 4) -> dict[str, str]:
        """Return unknown words that are one edit away from a word seen at least twice.

        An edit is one letter left out, put in, changed, or two neighbours swapped (optimal string
        alignment). Of several such words the first in alphabetical order is taken.
        """
        long = [token for token in dict.fromkeys(tokens) if len(token) >= shortest]
        unknown = [word for word, known in zip(long, self.knows(long), strict=True) if not known]
        if not unknown:
            return {}
        from rapidfuzz.distance import OSA  # noqa: PLC0415  only for a word never seen
        from rapidfuzz.process import extractOne  # noqa: PLC0415

        words = self.common_words.tobytes().decode().split("\n")
        nearest = {
            word: extractOne(word, words, scorer=OSA.distance, score_cutoff=1) for word in unknown
        }
        return {word: match[0] for word, match in nearest.items() if match}


@dataclass(frozen=True, slots=True)
class Postings:
    """For each term the rows that hold it and its weight there (the transposed matrix, CSR).

    Attributes
    ----------
    terms : ndarray of uint64, shape (n_terms,)
        Keys, ascending.
    starts : ndarray of int64, shape (n_terms + 1,)
        Term i owns entries ``starts[i]`` to ``starts[i + 1]`` of `rows` and `weights`.
    rows : ndarray of int32
    weights : ndarray of float32
    present : ndarray of bool, shape (n_rows,)
        Whether the row has any text.
    """

    terms: Keys
    starts: NDArray[np.int64]
    rows: NDArray[np.int32]
    weights: Floats
    present: NDArray[np.bool_]

    def cosines(self, terms: Keys, weights: Floats) -> Floats:
        """Return the cosine of every row with a query vector; nan for rows without text.

        Parameters
        ----------
        terms, weights : ndarray
            A vector from `TextModel.weigh`.

        Returns
        -------
        ndarray of float32, shape (n_rows,)
        """
        found, places = look_up(self.terms, terms)
        scores = np.zeros(len(self.present), dtype=np.float32)
        for place, weight in zip(places[found], weights[found], strict=True):
            entries = slice(self.starts[place], self.starts[place + 1])
            scores[self.rows[entries]] += weight * self.weights[entries]
        scores[~self.present] = np.nan
        return np.minimum(scores, 1.0)

    def row(self, row: int) -> tuple[Keys, Floats]:
        """Return the terms of one row and their weights, as `TextModel.weigh` gave them."""
        entries = np.flatnonzero(self.rows == row)
        owners = np.searchsorted(self.starts, entries, side="right") - 1
        return self.terms[owners], self.weights[entries]

    def holds(self, terms: Keys, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return for each term whether any of the chosen rows holds it.

        Parameters
        ----------
        terms : ndarray of uint64, shape (n,)
        rows : ndarray of bool, shape (n_rows,)

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        found, places = look_up(self.terms, terms)
        held = np.zeros(len(terms), dtype=np.bool_)
        for at in np.flatnonzero(found):
            entries = slice(self.starts[places[at]], self.starts[places[at] + 1])
            held[at] = rows[self.rows[entries]].any()
        return held


def fit(
    texts: Sequence[Tokens], character_share: float = CHARACTER_SHARE
) -> tuple[TextModel, Postings]:
    """Fit a model on texts and post them, with scikit-learn.

    Parameters
    ----------
    texts : sequence of token sequences
        One a row, in row order.
    character_share : float
        Share of the character n-grams in the cosine, 0 to 1.

    Returns
    -------
    TextModel, Postings
    """
    if not any(texts):
        empty = TextModel(
            terms=keys(()),
            idf=np.empty(0, np.float32),
            documents=len(texts),
            character_share=character_share,
            common_words=np.empty(0, np.uint8),
        )
        return empty, post(texts, empty)
    from scipy.sparse import hstack  # noqa: PLC0415  a second to import, wanted in fitting only
    from sklearn.feature_extraction.text import TfidfTransformer  # noqa: PLC0415

    counted = _count_features(texts)
    weighers = [TfidfTransformer(sublinear_tf=True).fit(counts) for _, counts in counted]
    blocks = [weigh.transform(counts) for weigh, (_, counts) in zip(weighers, counted, strict=True)]
    terms = keys(chain.from_iterable(names for names, _ in counted))
    order = np.argsort(terms)
    shares = _shares(character_share)
    scaled = [block * np.float32(math.sqrt(s)) for block, s in zip(blocks, shares, strict=True)]
    matrix = hstack(scaled, "csc")[:, order]
    model = TextModel(
        terms=terms[order],
        idf=np.concatenate([weigh.idf_ for weigh in weighers])[order].astype(np.float32),
        documents=len(texts),
        character_share=character_share,
        common_words=_common_words(texts),
    )
    postings = Postings(
        terms=model.terms,
        starts=matrix.indptr.astype(np.int64),
        rows=matrix.indices.astype(np.int32),
        weights=matrix.data.astype(np.float32),
        present=_present(texts),
    )
    return model, postings


def _count_features(texts: Sequence[Tokens]) -> list[tuple[Sequence[str], Any]]:
    """Return the feature names and the counts (CSR, a row a text) of each block.

    Character n-grams lie inside words, so their counts are those of the words times those of the
    n-grams in each word: every different word is cut once.
    """
    from sklearn.feature_extraction.text import CountVectorizer  # noqa: PLC0415

    words = CountVectorizer(analyzer=word_features, dtype=np.float32)
    single = CountVectorizer(analyzer=list, dtype=np.float32)
    grams = CountVectorizer(analyzer=character_features, dtype=np.float32)
    word_counts, single_counts = words.fit_transform(texts), single.fit_transform(texts)
    grams_in_words = grams.fit_transform([word] for word in single.get_feature_names_out())
    return [
        (words.get_feature_names_out(), word_counts),
        (grams.get_feature_names_out(), single_counts @ grams_in_words),
    ]


def post(texts: Sequence[Tokens], model: TextModel) -> Postings:
    """Post a few further texts under a fitted model, without fitting again.

    Words that the model has never seen are posted too, so that a new text is found by them.
    """
    vectors = [model.weigh(tokens) for tokens in texts]
    terms = np.concatenate([terms for terms, _ in vectors] or [keys(())])
    weights = np.concatenate([weights for _, weights in vectors] or [np.empty(0, np.float32)])
    lengths = [len(terms) for terms, _ in vectors]
    rows = np.repeat(np.arange(len(texts), dtype=np.int32), lengths)
    order = np.argsort(terms, kind="stable")
    unique, first = np.unique(terms[order], return_index=True)
    return Postings(
        terms=unique,
        starts=np.append(first, len(terms)).astype(np.int64),
        rows=rows[order],
        weights=weights[order],
        present=_present(texts),
    )


def look_up(known: Keys, wanted: Keys) -> tuple[NDArray[np.bool_], NDArray[np.intp]]:
    """Find keys in an ascending array: which are there, and at which place."""
    places = np.searchsorted(known, wanted)
    inside = places < len(known)
    found = inside.copy()
    found[inside] = known[places[inside]] == wanted[inside]
    return found, places


def _common_words(texts: Iterable[Tokens], least: int = 2) -> NDArray[np.uint8]:
    counts = Counter(chain.from_iterable(set(tokens) for tokens in texts))
    words = sorted(word for word, count in counts.items() if count >= least)
    return np.frombuffer("\n".join(words).encode(), dtype=np.uint8)


def _present(texts: Sequence[Tokens]) -> NDArray[np.bool_]:
    return np.array([bool(tokens) for tokens in texts], dtype=np.bool_)


def _shares(character_share: float) -> tuple[float, float]:
    """Share of each block in the cosine, in the order of `BLOCKS`."""
    return 1 - character_share, character_share
