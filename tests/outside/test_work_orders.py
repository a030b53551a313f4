"""The matcher on real maintenance shorthand, against plain neighbours on the same questions.

Source: excavator work orders of the package nist-nestor 0.4.4 (public domain), read from the
installed package; plain neighbours are those of package bm25s on the words as they are typed.
Asked: the functional location, upper-cased, of those with at least five work orders; every other
question of the first of five folds, equal texts in one fold. All figures:
``tests/benchmarks/recall.py``.
"""

import re
from collections import defaultdict
from dataclasses import replace

import bm25s
import pytest

from kb.case import Cause, Complaint, Job
from kb.evaluation.figures import Figures, figures
from tests.benchmarks.asking import DEFAULTS, Fold
from tests.benchmarks.datasets import by_text, misspelt, work_orders


def first_fold(*, told_all: bool) -> Fold:
    known, asked = by_text(work_orders(told_all=told_all))[0]
    return Fold((known, asked[::2]))


@pytest.fixture(scope="module")
def text_alone() -> Fold:
    return first_fold(told_all=False)


@pytest.fixture(scope="module")
def clean(text_alone: Fold) -> Figures:
    return figures(text_alone.answers(DEFAULTS), text_alone.truths)


@pytest.fixture(scope="module")
def plain(text_alone: Fold) -> tuple[float, float]:
    """How often the ten neighbours by BM25 vote the right cause first, and among three."""

    def typed(job: Job) -> list[str]:
        return re.findall(r"\w+", job.complaint.casefold())

    neighbours = bm25s.BM25(method="lucene", k1=1.2, b=0.75)
    neighbours.index([typed(job) for job in text_alone.known], show_progress=False)
    causes = [job.cause for job in text_alone.known]
    places = []
    for job in text_alone.asked:
        scores = neighbours.get_scores(typed(job))
        votes: dict[Cause | None, float] = defaultdict(float)
        for row in (-scores).argsort(kind="stable")[:10]:
            votes[causes[row]] += scores[row]
        ranked = sorted(votes, key=votes.__getitem__, reverse=True)
        places.append(ranked.index(job.cause) if job.cause in ranked else len(ranked) + 3)
    return sum(at == 0 for at in places) / len(places), sum(at < 3 for at in places) / len(places)


def test_text_alone_ranks_better_than_plain_neighbours(
    clean: Figures, plain: tuple[float, float]
) -> None:
    assert clean.questions > 500
    assert 0.3 < plain[0] < clean.first
    assert plain[1] < clean.first_three


def test_misspelt_questions_still_rank_at_least_as_well_as_clean_ones_by_plain_neighbours(
    text_alone: Fold, plain: tuple[float, float]
) -> None:
    def slipped(job: Job) -> Complaint:
        return replace(Complaint.of(job), text=misspelt(job))

    found = figures(text_alone.answers(DEFAULTS, asked_as=slipped), text_alone.truths)
    assert found.first >= plain[0]
    assert found.first_three >= plain[1]


def test_the_asset_and_the_day_make_it_better_still(clean: Figures) -> None:
    fold = first_fold(told_all=True)
    found = figures(fold.answers(DEFAULTS), fold.truths)
    assert found.first > clean.first
    assert found.first_three > clean.first_three
