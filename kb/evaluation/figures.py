"""What is said of many answers together: how often right, how sure, how well the chances hold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Self

from kb.diagnosis.causes import Ranking
from kb.evaluation import metrics
from kb.evaluation.metrics import Bin, Rank

MOST_LUCK = 0.15
"""Where honest chances may be off by more than this by luck, too few were asked to tell whether
chances hold: fewer than some 130 (by judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What one way of ranking said to one question.

    Chances by cause key, likeliest first; `not_seen_before` is that of a cause no known case had.
    """

    chances: Mapping[int, float]
    not_seen_before: float

    @classmethod
    def of(cls, ranking: Ranking) -> Self:
        """Take over the tool's ranking."""
        return cls(
            chances={each.cause: each.chance for each in ranking.causes},
            not_seen_before=ranking.not_seen_before,
        )

    @classmethod
    def leaving(cls, chances: Mapping[int, float], share: float) -> Self:
        """Take over chances that sum to one, and leave a share for what was not seen before.

        Where there is no chance at all, everything is left.
        """
        return cls(
            chances={cause: (1 - share) * chance for cause, chance in chances.items()},
            not_seen_before=share if chances else 1.0,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """The cause that a question proved to have, and whether no known case had it (`new`)."""

    cause: int
    new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Unseen:
    """How 'not seen before' tells new causes from known ones.

    `when_new` and `when_known` are its means where the cause was new and where it was not, None
    without such a question; `area` is that under the curve: 0.5 tells nothing, 1 tells all.
    """

    when_new: float | None
    when_known: float | None
    area: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """How good the answers to some questions were.

    A cause that was new counts as not found, since no ranking can name it; what the answer gave
    to 'not seen before' is then the chance that it gave to the truth.

    Attributes
    ----------
    first, first_three, first_five : float
        Share of questions with the true cause so far in front.
    reciprocal_rank : float
        Mean of one over its place.
    log_loss, brier : float
        Lower is better; see `kb.evaluation.metrics`.
    calibration_error, calibration_luck : float or None
        Of the chance of the first cause, over 15 bins: the expected calibration error, and what
        it stays below by luck if the chances hold. None where no cause was named.
    """

    questions: int
    first: float
    first_three: float
    first_five: float
    reciprocal_rank: float
    log_loss: float
    brier: float
    calibration_error: float | None
    calibration_luck: float | None
    calibration: tuple[Bin, ...]
    not_seen_before: Unseen

    @property
    def tells_little(self) -> bool:
        """Whether honest chances, too, may be off by so much that few questions prove nothing."""
        return self.calibration_luck is not None and self.calibration_luck > MOST_LUCK

    @property
    def is_off(self) -> bool:
        """Whether the chances are off by more than luck explains."""
        error, luck = self.calibration_error, self.calibration_luck
        return error is not None and luck is not None and error > luck


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightsTrial:
    """Learnt weights held against the defaults on the newest cases, asked in time order.

    The losses are log losses, lower is better. The learnt weights are `better` if they lose less
    and have no fewer first causes right.
    """

    questions: int
    with_defaults: float
    with_learnt: float
    better: bool


def figures(answers: Sequence[Answer], truths: Sequence[Truth]) -> Figures:
    """Measure the answers of one way of ranking, each with its truth.

    Raises
    ------
    ValueError
        If there is no answer.
    """
    pairs = list(zip(answers, truths, strict=True))
    if not pairs:
        raise ValueError("nothing to measure: there is no answer")
    ranks = [rank_of(truth, answer) for answer, truth in pairs]
    to_truth = [chance_of(truth, answer) for answer, truth in pairs]
    named = [
        (answer, rank == 1) for answer, rank in zip(answers, ranks, strict=True) if answer.chances
    ]
    chances = [next(iter(answer.chances.values())) for answer, _ in named]
    came_true = [right for _, right in named]
    return Figures(
        questions=len(pairs),
        first=metrics.success_at(ranks, 1),
        first_three=metrics.success_at(ranks, 3),
        first_five=metrics.success_at(ranks, 5),
        reciprocal_rank=metrics.mean_reciprocal_rank(ranks),
        log_loss=metrics.log_loss(to_truth),
        brier=sum(
            metrics.brier_score((*answer.chances.values(), answer.not_seen_before), chance)
            for (answer, _), chance in zip(pairs, to_truth, strict=True)
        )
        / len(pairs),
        calibration_error=metrics.expected_calibration_error(chances, came_true) if named else None,
        calibration_luck=metrics.calibration_luck(chances) if named else None,
        calibration=metrics.calibration_table(chances, came_true),
        not_seen_before=_unseen(pairs),
    )


def rank_of(truth: Truth, answer: Answer) -> Rank:
    """Return the place of the true cause in an answer, from 1; None where it is not in it."""
    if truth.new or truth.cause not in answer.chances:
        return None
    return 1 + list(answer.chances).index(truth.cause)


def loss_of(truth: Truth, answer: Answer) -> float:
    """Return the log loss of one answer."""
    return metrics.log_loss([chance_of(truth, answer)])


def chance_of(truth: Truth, answer: Answer) -> float:
    """Return the chance that an answer gave to the truth."""
    return answer.not_seen_before if truth.new else answer.chances.get(truth.cause, 0.0)


def _unseen(pairs: Sequence[tuple[Answer, Truth]]) -> Unseen:
    said = [answer.not_seen_before for answer, _ in pairs]
    new = [truth.new for _, truth in pairs]
    return Unseen(
        when_new=_mean([answer.not_seen_before for answer, truth in pairs if truth.new]),
        when_known=_mean([answer.not_seen_before for answer, truth in pairs if not truth.new]),
        area=metrics.area_under_curve(said, new),
    )


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None
