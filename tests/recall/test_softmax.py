"""The fit of the linear model's weights, against scikit-learn on the same cases."""

from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.linear_model import LogisticRegression

from kb.recall import softmax
from kb.recall.softmax import CaseState

SHARES = (0.5, 0.25, 0.25)


@settings(max_examples=10)
@given(
    seed=st.integers(0, 2**32 - 1),
    cases=st.integers(12, 60),
    kinds=st.integers(3, 8),
    strength=st.sampled_from([0.1, 1.0, 10.0]),
)
def test_it_is_scikit_learn_with_every_case_told_thrice(
    seed: int, cases: int, kinds: int, strength: float
) -> None:
    # source: sklearn.linear_model.LogisticRegression, multinomial, each case once a state
    random = np.random.default_rng(seed)
    words = random.normal(size=(cases, 6)).astype(np.float32)
    found, told = (random.normal(size=(cases, 4)).astype(np.float32) for _ in range(2))
    chosen = [*range(kinds), *(Random(seed).randrange(kinds) for _ in range(cases - kinds))]
    classes = np.array(chosen, dtype=np.int32)
    states = [
        CaseState(0.5, found),
        CaseState(0.25, told),
        CaseState(0.25, np.empty((cases, 0), np.float32)),
    ]
    weights, intercepts = softmax.fit(words, states, classes, strength=strength, tolerance=1e-6)
    rows = np.vstack([np.hstack([words, each]) for each in (found, told, np.zeros_like(found))])
    peer = LogisticRegression(C=strength, max_iter=1000, tol=1e-6)
    peer.fit(rows, np.tile(classes, 3), sample_weight=np.repeat(SHARES, cases))
    scores = rows @ weights + intercepts
    chances = np.exp(scores - scores.max(axis=1, keepdims=True))
    chances /= chances.sum(axis=1, keepdims=True)
    assert chances == pytest.approx(peer.predict_proba(rows), abs=1e-3)


def test_the_tighter_the_tolerance_the_nearer_to_the_end() -> None:
    random = np.random.default_rng(1)
    words = random.normal(size=(40, 5)).astype(np.float32)
    classes = np.arange(40, dtype=np.int32) % 4
    states = [CaseState(1.0, np.empty((40, 0), np.float32))]
    far, near, end = (
        softmax.fit(words, states, classes, strength=10.0, tolerance=tolerance)[0]
        for tolerance in (1e-1, 1e-3, 1e-7)
    )
    assert np.abs(near - end).max() < np.abs(far - end).max()
