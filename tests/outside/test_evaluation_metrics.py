"""Figures of chances and comparisons equal reference libraries'.

Sources: scikit-learn (`log_loss`, `brier_score_loss`, `roc_auc_score`, `calibration_curve`) and
statsmodels (`mcnemar`, exact; `DescrStatsW.zconfint_mean`).
"""

import numpy as np
import pytest
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss, roc_auc_score
from sklearn.metrics import log_loss as their_log_loss
from statsmodels.stats.contingency_tables import mcnemar
from statsmodels.stats.weightstats import DescrStatsW

from kb.evaluation.compare import Standing, compare, compare_losses
from kb.evaluation.figures import Answer, Truth, figures
from kb.evaluation.metrics import (
    area_under_curve,
    calibration_table,
    expected_calibration_error,
)

CLASSES = 6
"""The last one stands for 'not seen before'."""


def some_chances(seed: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    generator = np.random.default_rng(seed)
    chances = generator.dirichlet(np.full(CLASSES, 0.4), count)
    chances = (chances + 1e-3) / (1 + CLASSES * 1e-3)
    return chances, np.array([generator.choice(CLASSES, p=row / row.sum()) for row in chances])


def test_log_loss_and_brier_equal_scikit_learns_with_not_seen_before_as_a_class() -> None:
    chances, truths = some_chances(3, 300)
    answers = [
        Answer(
            chances={cause: row[cause] for cause in np.argsort(-row[:-1]).tolist()},
            not_seen_before=row[-1],
        )
        for row in chances
    ]
    new = CLASSES - 1
    ours = figures(answers, [Truth(cause=int(t), new=bool(t == new)) for t in truths])
    labels = list(range(CLASSES))
    assert ours.log_loss == pytest.approx(their_log_loss(truths, chances, labels=labels))
    theirs = brier_score_loss(truths, chances, labels=labels, scale_by_half=False)
    assert ours.brier == pytest.approx(theirs)
    area = roc_auc_score(truths == new, chances[:, new])
    assert ours.not_seen_before.area == pytest.approx(area)


def test_area_with_ties_is_the_published_one() -> None:
    """Hanley & McNeil 1982, Radiology 143: 109 images rated 1 to 5, area 0.893 (from memory)."""
    normal, abnormal = (33, 6, 6, 11, 2), (3, 2, 2, 11, 33)
    scores = np.repeat([*range(5), *range(5)], [*normal, *abnormal])
    positive = np.repeat([False, True], [sum(normal), sum(abnormal)])
    assert area_under_curve(scores, positive) == pytest.approx(0.893, abs=5e-4)


def test_bins_and_calibration_error_equal_scikit_learns_curve() -> None:
    generator = np.random.default_rng(6)
    chances = generator.random(500)
    came_true = generator.random(500) < chances**1.3
    shares, means = calibration_curve(came_true, chances, n_bins=15, strategy="uniform")
    bins = calibration_table(chances, came_true)
    assert [each.share for each in bins] == pytest.approx(list(shares))
    assert [each.chance for each in bins] == pytest.approx(list(means))
    counts = np.array([each.count for each in bins])
    error = (np.abs(shares - means) * counts).sum() / counts.sum()
    assert expected_calibration_error(chances, came_true) == pytest.approx(error)


@pytest.mark.parametrize("lost", range(0, 16, 3))
def test_the_verdict_is_that_of_the_exact_test(lost: int) -> None:
    for won in range(16):
        ours = [True] * won + [False] * lost + [True] * 5 + [False] * 4
        theirs = [False] * won + [True] * lost + [True] * 5 + [False] * 4
        chance = mcnemar([[5, won], [lost, 4]], exact=True).pvalue
        told = compare(ours, theirs).verdict is not Standing.CANNOT_TELL
        assert told == (chance < 0.05), won


def test_the_interval_of_many_losses_is_that_of_the_normal_approximation() -> None:
    # Of many losses that are not wild the bootstrap comes to the textbook interval of a mean.
    generator = np.random.default_rng(7)
    ours, theirs = generator.exponential(1.0, 2000), generator.exponential(1.2, 2000)
    compared = compare_losses(ours.tolist(), theirs.tolist())
    low, high = DescrStatsW(ours - theirs).zconfint_mean(alpha=0.05)
    width = high - low
    assert compared.low == pytest.approx(low, abs=0.1 * width)
    assert compared.high == pytest.approx(high, abs=0.1 * width)
