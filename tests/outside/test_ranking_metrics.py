"""Our ranking figures equal a reference library's: ir-measures (Success@k, RR).

Source: package ir-measures, which wraps the TREC evaluation measures.
"""

import ir_measures
import numpy as np
import pytest

from kb.evaluation.metrics import mean_reciprocal_rank, success_at


def test_success_and_reciprocal_rank_equal_ir_measures() -> None:
    generator = np.random.default_rng(5)
    places = [int(p) if p <= 10 else None for p in generator.integers(1, 14, 200)]
    truths, rankings = [], []
    for query, place in enumerate(places):
        truths.append(ir_measures.Qrel(str(query), "truth", 1))
        for rank in range(1, 11):
            name = "truth" if rank == place else f"other {rank}"
            rankings.append(ir_measures.ScoredDoc(str(query), name, 1.0 / rank))
    wanted = [ir_measures.Success @ 1, ir_measures.Success @ 3, ir_measures.RR]
    theirs = ir_measures.calc_aggregate(wanted, truths, rankings)
    assert success_at(places, 1) == pytest.approx(theirs[wanted[0]])
    assert success_at(places, 3) == pytest.approx(theirs[wanted[1]])
    assert mean_reciprocal_rank(places) == pytest.approx(theirs[wanted[2]])
