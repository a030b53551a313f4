"""Recall equals a reference library's: scikit-learn's brute-force cosine neighbours.

Source: scikit-learn, `sklearn.neighbors.NearestNeighbors` and
`sklearn.feature_extraction.text.TfidfVectorizer`.
"""

import numpy as np
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.neighbors import NearestNeighbors
from sklearn.pipeline import FeatureUnion

from kb.recall import text_signal as text

STEMS = [
    "lamp",
    "door",
    "lock",
    "seat",
    "airbag",
    "crank",
    "battery",
    "noise",
    "rain",
    "cold",
    "hot",
    "misfire",
    "idle",
    "stall",
    "fan",
]


def some_texts(seed: int, count: int) -> list[list[str]]:
    generator = np.random.default_rng(seed)
    return [list(generator.choice(STEMS, generator.integers(2, 9))) for _ in range(count)]


def test_top_neighbours_and_cosines_equal_scikit_learns() -> None:
    corpus, queries = some_texts(1, 300), some_texts(2, 50)
    union = FeatureUnion(
        [
            (block.__name__, TfidfVectorizer(analyzer=block, sublinear_tf=True))
            for block in (text.word_features, text.character_features)
        ]
    )
    matrix = union.fit_transform(corpus)
    reference = NearestNeighbors(n_neighbors=10, metric="cosine", algorithm="brute").fit(matrix)
    distances, rows = reference.kneighbors(union.transform(queries))
    model, postings = text.fit(corpus, character_share=0.5)
    for query, their_distances, their_rows in zip(queries, distances, rows, strict=True):
        ours = postings.cosines(*model.weigh(query)).astype(np.float64)
        np.testing.assert_allclose(ours[their_rows], 1 - their_distances, atol=1e-5)
        best = np.sort(ours)[::-1][:10]
        np.testing.assert_allclose(best, 1 - their_distances, atol=1e-5)
