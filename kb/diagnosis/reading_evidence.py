"""What the readings of a complaint show: how each was judged, and which causes read so."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from kb.bands.bands import Band, BandLevel
from kb.bands.conditions import exclude, told_of
from kb.bands.judgement import Finding, Verdict
from kb.bands.limits import Limit, Worse, trade_limits
from kb.bands.measured import ends_of, kind_of
from kb.bands.measured import near as like
from kb.bands.neighbours import odd_one
from kb.case import Complaint, Job, Reading, Relation
from kb.intake.wording import Wording
from kb.settings import ReadingSettings


class Side(StrEnum):
    """Where a reading lies."""

    BELOW = "below"
    WITHIN = "within"
    ABOVE = "above"
    NOTHING = "open or not fitted"
    """Beyond the instrument, or at a control unit's ceiling: no measurement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingEvidence:
    """One reading of a complaint beside what good ones read, as it was judged.

    Attributes
    ----------
    low, high : float or None
        Between which values it would be good, in the unit of the quantity; None where that side
        does no harm, and both None of what is no measurement.
    good : int
        Good readings behind these; 0 where the trade's limit decided.
    jobs : tuple of int
        Similar past jobs whose reading of the same lay on the same side, nearest first.
    causes : tuple of (str, int)
        What these turned out to be, with how many, the most frequent first.
    others : float or None
        What the others of this car read, where being far off them decided.
    """

    reading: Reading
    side: Side
    low: float | None
    high: float | None
    good: int
    jobs: tuple[int, ...]
    causes: tuple[tuple[str, int], ...]
    others: float | None = None


_SIDES = {
    Finding.GOOD: Side.WITHIN,
    Finding.BAD_LOW: Side.BELOW,
    Finding.BAD_HIGH: Side.ABOVE,
    Finding.OPEN: Side.NOTHING,
    Finding.PLACEHOLDER: Side.NOTHING,
}


def reading_evidence(
    complaint: Complaint,
    verdicts: Sequence[Verdict],
    near: Sequence[Job],
    wording: Wording,
    settings: ReadingSettings,
) -> tuple[ReadingEvidence, ...]:
    """Place every reading of a complaint that can be placed, in their order.

    `verdicts` are those on its readings; one that cannot be told has no place. `near` are the
    recalled cases, nearest first.
    """
    placed = (
        _evidence(reading, verdict, complaint, near, wording, settings)
        for reading, verdict in zip(complaint.readings, verdicts, strict=True)
    )
    return tuple(each for each in placed if each is not None)


def _evidence(
    reading: Reading,
    verdict: Verdict,
    complaint: Complaint,
    near: Sequence[Job],
    wording: Wording,
    settings: ReadingSettings,
) -> ReadingEvidence | None:
    rule = _rule(verdict)
    side = _side(verdict, rule)
    if side is None:
        return None
    kind, told = kind_of(verdict.reading, wording), told_of(reading, complaint.vehicle)
    same = [
        job
        for job in near
        if any(
            kind_of(then, wording) == kind
            and not exclude(told, told_of(then, job.vehicle))
            and _lies(then, verdict, rule) is side
            for then in Complaint.of(job).readings
        )
        or (verdict.odd and _has_odd_one(job, verdict, wording, settings))
    ]
    causes = Counter(job.cause.label for job in same if job.cause)
    low, high = _edges(rule)
    return ReadingEvidence(
        reading=reading,
        side=side,
        low=low,
        high=high,
        good=rule.count if isinstance(rule, Band) else 0,
        jobs=tuple(job.number for job in same if job.number is not None),
        causes=tuple(causes.most_common()),
        others=verdict.odd.others if verdict.odd else None,
    )


def _has_odd_one(job: Job, verdict: Verdict, wording: Wording, settings: ReadingSettings) -> bool:
    """Whether one of the same lay as far off its others on a past job, on the same side."""
    kind, readings = kind_of(verdict.reading, wording), Complaint.of(job).readings
    odd = (
        odd_one(each, readings, job.vehicle, trade_limits(), wording, settings)
        for each in readings
        if kind_of(each, wording) == kind
    )
    return any(each and verdict.odd and each.side is verdict.odd.side for each in odd)


def _rule(verdict: Verdict) -> Band | Limit | None:
    """Return what decided, as far as other cars' readings can be held against it."""
    own = [each.band for each in verdict.said if each.band.level is not BandLevel.TWIN]
    if verdict.by is BandLevel.TWIN:
        return next((band for band in own if band.speaks), verdict.limit)
    return next((band for band in own if band.level is verdict.by), verdict.limit)


def _side(verdict: Verdict, rule: Band | Limit | None) -> Side | None:
    """Return where a judged reading lies; None where that cannot be told."""
    if verdict.finding is Finding.DOUBTFUL:
        side = _lies(verdict.reading, verdict, rule)
        return side if side is not Side.WITHIN else None
    return _SIDES.get(verdict.finding)


def _lies(then: Reading, verdict: Verdict, rule: Band | Limit | None) -> Side | None:
    """Return where a reading lies by what decided on another one."""
    holder = verdict.placeholder.value if verdict.placeholder else None
    if then.value is None or then.relation is Relation.OVER_RANGE:
        return Side.NOTHING
    if holder is not None and like(then.value, holder, 1e-3):
        return Side.NOTHING
    if rule is None:
        return None
    sides = {_off(rule, end) for end in ends_of(then)}
    return sides.pop() if len(sides) == 1 else None


def _off(rule: Band | Limit, value: float) -> Side:
    if isinstance(rule, Limit):
        worse = rule.side_of(value)
    else:
        apart = rule.apart(value)
        worse = None if abs(apart) <= 1 else Worse.HIGH if apart > 0 else Worse.LOW
    if worse is None:
        return Side.WITHIN
    return Side.ABOVE if worse is Worse.HIGH else Side.BELOW


def _edges(rule: Band | Limit | None) -> tuple[float | None, float | None]:
    if isinstance(rule, Band):
        return rule.low, rule.high
    if rule is None:
        return None, None
    low = rule.least if rule.least is not None else rule.bad_below
    return low, rule.most if rule.most is not None else rule.bad_above
