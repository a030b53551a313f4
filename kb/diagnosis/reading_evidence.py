"""What the readings of a complaint show: whether good ones read so here, and which causes did.

The bands are those of the index, over all makes; `kb.bands.judgement` judges one reading closely.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from kb.bands.measured import ends_of, kind_of
from kb.case import Complaint, Job, Reading
from kb.intake.wording import Wording
from kb.recall.index import Index
from kb.recall.reading_signal import Width


class Side(StrEnum):
    """Where a reading lies."""

    BELOW = "below"
    WITHIN = "within"
    ABOVE = "above"
    NOTHING = "open or not fitted"
    """Beyond the instrument, or at a control unit's ceiling: no measurement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingEvidence:
    """One reading of a complaint beside what good ones read here.

    Attributes
    ----------
    low, high : float or None
        The normal band in the unit of the quantity; None where that side does no harm, and both
        None where the shop knows no band.
    good : int
        Good readings behind the band.
    jobs : tuple of int
        Similar past jobs whose reading of the same lay on the same side, nearest first.
    causes : tuple of (str, int)
        What these turned out to be, with how many, the most frequent first.
    """

    reading: Reading
    side: Side
    low: float | None
    high: float | None
    good: int
    jobs: tuple[int, ...]
    causes: tuple[tuple[str, int], ...]


def reading_evidence(
    complaint: Complaint, near: Sequence[Job], index: Index, wording: Wording
) -> tuple[ReadingEvidence, ...]:
    """Place every reading of a complaint that can be placed, in their order.

    A reading without a band cannot, unless it is no measurement. `near` are the recalled cases,
    nearest first.
    """
    placed = (_evidence(reading, near, index, wording) for reading in complaint.readings)
    return tuple(each for each in placed if each is not None)


def _evidence(
    reading: Reading, near: Sequence[Job], index: Index, wording: Wording
) -> ReadingEvidence | None:
    kind = kind_of(reading, wording)
    width = index.widths.of_kind(kind)
    side = _side(reading, index, width)
    if side is None:
        return None
    same = [
        job
        for job in near
        if any(
            kind_of(then, wording) == kind and _side(then, index, width) is side
            for then in Complaint.of(job).readings
        )
    ]
    causes = Counter(job.cause.label for job in same if job.cause)
    return ReadingEvidence(
        reading=reading,
        side=side,
        low=width.low if width else None,
        high=width.high if width else None,
        good=width.good if width else 0,
        jobs=tuple(job.number for job in same if job.number is not None),
        causes=tuple(causes.most_common()),
    )


def _side(reading: Reading, index: Index, width: Width | None) -> Side | None:
    """Return where a reading lies; None where that cannot be told."""
    if index.widths.is_ceiling(reading):
        return Side.NOTHING
    if width is None or reading.value is None:
        return None
    least, most = map(width.places, ends_of(reading))
    if least > 1:
        return Side.ABOVE
    if most < -1:
        return Side.BELOW
    return Side.WITHIN if least >= -1 and most <= 1 else None
