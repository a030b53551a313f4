"""Runs of entries: which values are any of a few."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from kb.recall.spans import among

VALUES = st.lists(st.integers(0, 9), max_size=20)


@given(VALUES, VALUES)
def test_values_among_a_few_are_those_that_numpy_finds(values: list[int], few: list[int]) -> None:
    there, some = (np.array(each, dtype=np.uint64) for each in (values, few))
    assert (among(there, some) == np.isin(there, some)).all()
