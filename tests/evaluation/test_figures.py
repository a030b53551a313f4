"""Figures of many answers, by hand and in general."""

from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Complaint
from kb.diagnosis.diagnose import Knowledge, diagnose
from kb.evaluation.figures import Answer, Truth, figures, rank_of
from kb.evaluation.metrics import FLOOR
from kb.intake.wording import Wording
from kb.recall.index import Index
from kb.settings import Settings
from tests.recall.shop import CASES

SURE = Answer(chances={1: 0.6, 2: 0.3}, not_seen_before=0.1)
SILENT = Answer(chances={}, not_seen_before=1.0)


def test_figures_by_hand() -> None:
    truths = [Truth(cause=1, new=False), Truth(cause=2, new=False), Truth(cause=9, new=True)]
    told = figures([SURE] * 3, truths)
    assert [told.first, told.first_three] == pytest.approx([1 / 3, 2 / 3])
    assert told.reciprocal_rank == pytest.approx((1 + 1 / 2) / 3)
    assert told.log_loss == pytest.approx(-(log(0.6) + log(0.3) + log(0.1)) / 3)
    # squares 0.36 + 0.09 + 0.01, less twice what the truth got, plus one
    assert told.brier == pytest.approx(0.46 + 1 - 2 * (0.6 + 0.3 + 0.1) / 3)
    # the first cause was said to have 0.6 three times and was right once
    assert told.calibration_error == pytest.approx(0.6 - 1 / 3)
    assert [(each.count, each.came_true) for each in told.calibration] == [(3, 1)]
    assert told.not_seen_before.when_new == told.not_seen_before.when_known == pytest.approx(0.1)
    assert told.not_seen_before.area == pytest.approx(0.5)


def test_an_answer_without_a_cause_says_nothing_of_calibration() -> None:
    told = figures([SILENT], [Truth(cause=1, new=False)])
    assert (told.calibration_error, told.calibration_luck, told.calibration) == (None, None, ())
    assert told.log_loss == pytest.approx(-log(FLOOR))
    assert told.not_seen_before.area is None


def test_a_new_cause_is_never_found() -> None:
    assert rank_of(Truth(cause=1, new=True), SURE) is None
    assert rank_of(Truth(cause=2, new=False), SURE) == 2
    assert rank_of(Truth(cause=3, new=False), SURE) is None


def test_the_tools_ranking_becomes_an_answer() -> None:
    wording, settings = Wording.default(), Settings()
    index = Index.fit(CASES, wording, settings)
    known = Knowledge(wording=wording, index=index, models=(), settings=settings)
    ranking = diagnose(Complaint.of(CASES[0]), known, on=CASES[0].opened).ranking
    answer = Answer.of(ranking)
    assert list(answer.chances) == [each.cause for each in ranking.causes]
    assert sum(answer.chances.values()) + answer.not_seen_before == pytest.approx(1)


def test_plain_chances_leave_room_for_what_was_not_seen() -> None:
    assert Answer.leaving({4: 1.0}, 0.2) == Answer(chances={4: 0.8}, not_seen_before=0.2)
    assert Answer.leaving({}, 0.2) == SILENT


def test_nothing_asked_is_an_error_not_a_number() -> None:
    with pytest.raises(ValueError, match="nothing to measure"):
        figures([], [])


@given(
    st.lists(
        st.tuples(st.floats(0.01, 1), st.floats(0.01, 1), st.integers(1, 3), st.booleans()),
        min_size=1,
        max_size=30,
    )
)
def test_figures_keep_their_bounds(rows: list[tuple[float, float, int, bool]]) -> None:
    answers = [
        Answer(
            chances={1: max(one, other) / 2.5, 2: min(one, other) / 2.5},
            not_seen_before=1 - (one + other) / 2.5,
        )
        for one, other, _, _ in rows
    ]
    told = figures(answers, [Truth(cause=cause, new=new) for _, _, cause, new in rows])
    assert told.first <= told.reciprocal_rank <= told.first_three == told.first_five
    assert 0 <= told.brier <= 2
    assert 0 <= told.log_loss <= -log(FLOOR)
    assert sum(each.count for each in told.calibration) == told.questions
