"""The blend: missing says nothing, more similarity never lowers the chance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.recall import blend
from kb.settings import RecallSettings

SETTINGS = RecallSettings()


def chance(**similarities: float) -> float:
    arrays = {name: np.array([value], dtype=np.float32) for name, value in similarities.items()}
    added = blend.parts(arrays, SETTINGS.weights)
    return float(blend.chances(added, SETTINGS.intercept)[0])


def test_a_missing_signal_says_nothing() -> None:
    assert chance(complaint=0.5, codes=float("nan")) == pytest.approx(chance(complaint=0.5))


def test_a_neutral_similarity_says_nothing() -> None:
    neutral = SETTINGS.weights["codes"].neutral
    assert chance(complaint=0.5, codes=neutral) == pytest.approx(chance(complaint=0.5), abs=1e-6)


@given(st.sampled_from(sorted(SETTINGS.weights)), st.floats(0, 1), st.floats(0, 1))
def test_more_similarity_never_lowers_the_chance(signal: str, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert chance(**{signal: low}) <= chance(**{signal: high}) + 1e-6
