"""Marks that go together: what must hold whatever the counts."""

from itertools import product
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.recurrence.association import Stratum, chance_of_association


@st.composite
def strata(draw: st.DrawFn) -> Stratum:
    total = draw(st.integers(1, 12))
    return Stratum(total, draw(st.integers(0, total)), draw(st.integers(0, total)))


@given(st.lists(strata(), min_size=1, max_size=3), st.integers(0, 30))
def test_chance_equals_counting_every_arrangement(tables: list[Stratum], observed: int) -> None:
    """Brute force over all ways in which the faults could have fallen."""
    ways = 0
    for hits in product(*(range(min(each.group, each.fault) + 1) for each in tables)):
        if sum(hits) >= observed:
            weight = 1
            for each, hit in zip(tables, hits, strict=True):
                weight *= comb(each.group, hit) * comb(each.total - each.group, each.fault - hit)
            ways += weight
    everything = 1
    for each in tables:
        everything *= comb(each.total, each.fault)
    assert chance_of_association(observed, tables) == pytest.approx(ways / everything, abs=1e-9)


def test_nothing_at_all() -> None:
    assert chance_of_association(0, [Stratum(0, 0, 0)]) == 1
