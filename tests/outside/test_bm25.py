"""Our BM25 scores equal a reference library's, and the published form worked by hand.

Sources: package bm25s, method "lucene" (Kamphuis, de Vries, Boytsov & Lin 2020, "Which BM25 do you
mean?", ECIR), and its formula: idf = ln(1 + (N - n + 0.5) / (n + 0.5)), times
tf / (tf + k1 (1 - b + b length / mean length)).
"""

from math import log

import bm25s
import numpy as np
import pytest

from kb.evaluation.baselines import bm25

STEMS = ["lamp", "door", "lock", "seat", "airbag", "crank", "battery", "noise", "rain", "cold"]


def some_texts(seed: int, count: int) -> list[list[str]]:
    generator = np.random.default_rng(seed)
    return [list(generator.choice(STEMS, generator.integers(1, 9))) for _ in range(count)]


def test_scores_equal_the_library() -> None:
    corpus, questions = some_texts(1, 200), some_texts(2, 40)
    theirs = bm25s.BM25(method="lucene", k1=1.2, b=0.75)
    theirs.index(corpus, show_progress=False)
    for question, ours in zip(questions, bm25(corpus, questions), strict=True):
        np.testing.assert_allclose(ours, theirs.get_scores(question), rtol=1e-5)


def test_scores_by_hand() -> None:
    # mean length 2; "a" stands in one text of two, twice, in a text of three words
    (scores,) = bm25([["a", "a", "b"], ["b"]], [["a"]])
    idf = log(1 + (2 - 1 + 0.5) / (1 + 0.5))
    assert scores == pytest.approx([idf * 2 / (2 + 1.2 * (0.25 + 0.75 * 3 / 2)), 0])
