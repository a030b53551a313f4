"""What a reading means: good, doubtful, bad, open, a placeholder, or not to be told.

The shop's own history speaks first: this car's twin, this model, this make. Then the limit that the
trade sets for the state in which the reading was taken, and last the readings of all makes; what
the limit passes is doubtful if it lies far outside those. Where the state would have to be known
and was not told, nothing can be said.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kb.bands.bands import Band, BandLevel
from kb.bands.conditions import told_of
from kb.bands.levels import deciding, draw_bands, of_state, states_told
from kb.bands.limits import Limit, Reach, Worse, find_limit
from kb.bands.measured import Taken, ends_of, kind_of, near
from kb.bands.neighbours import OddOne, odd_one
from kb.bands.placeholders import Placeholder, find_placeholder, is_told_missing
from kb.bands.twins import Twinship, find_twin, twin_band
from kb.case import Quantity, Reading, Relation, Stage, Vehicle
from kb.errors import Notice
from kb.intake.wording import Wording
from kb.settings import ReadingSettings

_AT_THE_EDGE = 1 + 1e-9
"""Half-widths up to which a reading is inside: the edge itself is, whatever rounding does."""
_WIDE = 2.5
"""Half-widths: nearer the middle than this, what is near the same value narrows no more, as good
readings lie there close together anyhow."""
MOST_PAST = 24
"""Past readings that a verdict is given with: about a page of them."""


class Finding(StrEnum):
    """What a reading means."""

    GOOD = "good"
    DOUBTFUL = "doubtful"
    BAD_LOW = "bad, too low"
    BAD_HIGH = "bad, too high"
    OPEN = "open"
    PLACEHOLDER = "placeholder"
    CANNOT_TELL = "cannot tell"


class VerdictReason(StrEnum):
    """Why."""

    INSIDE = "inside the normal band"
    JUST_OUTSIDE = "just outside the normal band"
    FAR_OUTSIDE = "far outside the normal band"
    BUT_LIKE_TWIN = "just outside the band of other models, but like its twin"
    OUTSIDE_AND_UNLIKE = "outside the normal band and unlike its twin"
    UNLIKE_TWIN = "unlike its twin, though nothing else speaks against it"
    LIKE_TWIN = "like its twin, but nothing says whether both are good"
    UNLIKE_OTHERS_OF_CAR = "far from what the others of this car read"
    LIKE_TWIN_OF_CAR = "like its twin, which tells most of such a circuit"
    ACROSS = "a range or bound across the edge of the normal band"
    BEYOND = "beyond the instrument"
    REPEATED = "the same value stands on circuits that nothing was wrong with"
    WITHIN_LIMIT = "within the limit"
    PAST_LIMIT = "past the limit"
    PAST_LIMIT_THOUGH_USUAL = "usual in this shop, but past the limit"
    UNLIKE_OTHERS = "within the limit, but far outside what good ones read here"
    BETWEEN = "neither good nor a fault by the limit; measure again, or by another way"
    ONLY_POSSIBLE = "possible, but only the maker's figure tells whether it is good"
    UNTOLD = "it depends on the state in which it was measured, which was not told"
    SILENT = "too few good readings, and no limit"


@dataclass(frozen=True, slots=True, kw_only=True)
class BandOpinion:
    """What one level says: its band, and how far the reading lies from its middle.

    `apart` is in half-widths of the band, None where the level does not speak or the reading is
    no number.
    """

    band: Band
    apart: float | None

    @property
    def side(self) -> Worse | None:
        """Outside the band on this side; None inside."""
        if self.apart is None or abs(self.apart) <= _AT_THE_EDGE:
            return None
        return Worse.HIGH if self.apart > 0 else Worse.LOW


@dataclass(frozen=True, slots=True, kw_only=True)
class PastReading:
    """A past reading near the same value, and what the job's cause turned out to be.

    `good` is None where the item was not proved either way, `told_missing` if it was written to
    be not fitted; `cause` is given for items that were not good.
    """

    job: int | None
    place: str
    typed: str
    good: bool | None
    cause: str | None
    told_missing: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The judgement of one reading.

    Attributes
    ----------
    finding, reason : Finding, VerdictReason
    by : BandLevel or None
        Whose readings decided; None where a limit did, or nothing.
    said : tuple of BandOpinion
        Every level, those without readings enough too, the nearest first.
    twin : Reading or None
        The reading of this car that it was compared with.
    twinship : Twinship or None
        How that lies to it.
    twin_stands : bool
        The twin itself lies in its band, so that it can speak.
    odd : OddOne or None
        How it lies to the others of this car, where it is far off them and that decided.
    limit : Limit or None
        The trade's or the shop's own figure, shown apart.
    needs : tuple of str
        States of which one must be told, as they are typed, for more to be said.
    past : tuple of PastReading
        Nearest first.
    """

    reading: Reading
    finding: Finding
    reason: VerdictReason
    by: BandLevel | None = None
    said: tuple[BandOpinion, ...] = ()
    twin: Reading | None = None
    twinship: Twinship | None = None
    twin_stands: bool = False
    odd: OddOne | None = None
    placeholder: Placeholder | None = None
    limit: Limit | None = None
    needs: tuple[str, ...] = ()
    past: tuple[PastReading, ...] = ()


def judge(
    reading: Reading,
    vehicle: Vehicle,
    history: Sequence[Taken],
    wording: Wording,
    settings: ReadingSettings,
    *,
    same_car: Sequence[Reading] = (),
    limits: Iterable[Limit] = (),
    asked: Reading | None = None,
) -> Verdict:
    """Judge a reading, whose item is named as in the history.

    `asked` is the same as it was named by who asks: its words choose the limit and tell the state
    it was taken in. `history` are past readings of the same item, and those with the same value
    for placeholders; make and model choose whose speak. `same_car` are other readings of the same
    visit, `limits` lines of the tables of limits.
    """
    limits = tuple(limits)
    lines = find_limit(asked or reading, vehicle, limits, wording)
    limit = lines.line
    worse = limit.worse if limit else Worse.BOTH
    told = told_of(asked or reading, vehicle)
    kind = kind_of(reading, wording)
    mine = [each for each in history if kind_of(each.reading, wording) == kind]
    alike = of_state(mine, told, lines.kinds, certain=lines.certain)
    speaking = [] if limit and limit.reach is Reach.NONE else alike
    bands = draw_bands(reading, vehicle, speaking, wording, settings, worse)
    if limit and limit.reach is not Reach.ALL:
        bands = tuple(band for band in bands if band.level is not BandLevel.ALL)
    own = deciding(bands, settings)
    needs = () if limit and limit.when else states_told(speaking, told, lines.kinds)
    if not (own.speaks and own.level is BandLevel.MODEL):
        needs = lines.needs or needs
    found = find_twin(reading, same_car, wording)
    twin, lies = found or (None, None)
    twin_stands = False
    if twin is not None and lies is not None and twin.value is not None:
        bands = (twin_band(reading, twin, lies, mine, own, wording, settings), *bands)
        twin_stands = _stands(twin.value, own, limit, settings)
    here = [Taken(reading=other, vehicle=vehicle) for other in (*same_car, reading)]
    holder = find_placeholder(here[-1], [*history, *here], bands[-1], wording, settings)
    number = reading.value if reading.relation is Relation.EXACT else None
    said = tuple(
        BandOpinion(
            band=band, apart=band.apart(number) if band.speaks and number is not None else None
        )
        for band in bands
    )
    finding, reason, by = _decide(reading, said, own.level, twin_stands, worse, limit, settings)
    finding, reason, by = _under_limit((finding, reason, by), reading, own, limit, needs)
    odd = odd_one(reading, same_car, vehicle, limits, wording, settings)
    if odd is not None and finding in (_OPEN_TO_LIMIT if odd.by_limit else _OPEN_TO_RATIO):
        finding, reason, by = _bad(odd.side), VerdictReason.UNLIKE_OTHERS_OF_CAR, None
    else:
        odd = None
    if holder is not None:
        finding, reason, by = Finding.PLACEHOLDER, VerdictReason.REPEATED, None
    return Verdict(
        reading=reading,
        finding=finding,
        reason=reason,
        by=by,
        said=said,
        twin=twin,
        twinship=lies,
        twin_stands=twin_stands,
        odd=odd,
        placeholder=holder,
        limit=limit,
        needs=needs if reason is VerdictReason.UNTOLD else (),
        past=_past(reading, alike, own, settings),
    )


_OPEN_TO_RATIO = frozenset([Finding.CANNOT_TELL, Finding.DOUBTFUL])
_OPEN_TO_LIMIT = _OPEN_TO_RATIO | {Finding.GOOD}
"""What a reading far off the others of its car may still be found to be."""
_SURE = frozenset([VerdictReason.WITHIN_LIMIT, VerdictReason.PAST_LIMIT])
_Decision = tuple[Finding, VerdictReason, BandLevel | None]


def _stands(value: float, own: Band, limit: Limit | None, settings: ReadingSettings) -> bool:
    """Whether a twin's value is itself in order, so that a difference speaks against the other.

    Other models may usually read a little else, so their band is not held against it as strictly.
    """
    if own.speaks:
        most = _AT_THE_EDGE if own.level is BandLevel.MODEL else settings.doubtful_to
        return abs(own.apart(value)) <= most
    return limit is None or limit.side_of(value) is None


def _decide(
    reading: Reading,
    said: Sequence[BandOpinion],
    level: BandLevel,
    twin_stands: bool,
    worse: Worse,
    limit: Limit | None,
    settings: ReadingSettings,
) -> _Decision:
    if reading.relation is Relation.OVER_RANGE:
        unclear = Finding.OPEN if reading.quantity is Quantity.RESISTANCE else Finding.CANNOT_TELL
        harmless = worse is Worse.LOW and reading.quantity is Quantity.RESISTANCE
        return Finding.GOOD if harmless else unclear, VerdictReason.BEYOND, None
    twin = said[0] if twin_stands and said[0].band.level is BandLevel.TWIN else None
    own = next(each for each in said if each.band.level is level)
    limited = _by_limit(reading, limit)
    surer = own.band.level is BandLevel.ALL and limited[1] in _SURE
    unlike = _is_far(own, settings) and not _is_mixed(own.band, limit)
    if surer and unlike and limited[0] is Finding.GOOD:
        limited = Finding.DOUBTFUL, VerdictReason.UNLIKE_OTHERS, BandLevel.ALL
    if surer or not own.band.speaks:
        decision = _with_twin(limited, twin)
        like = decision[1] is VerdictReason.LIKE_TWIN
        if like and limit is not None and limit.twin_first:
            return Finding.GOOD, VerdictReason.LIKE_TWIN_OF_CAR, BandLevel.TWIN
        return decision
    if own.apart is None:
        return _bounded(reading, own.band)
    return _by_history(own, own.apart, twin, settings)


def _is_far(own: BandOpinion, settings: ReadingSettings) -> bool:
    return own.apart is not None and abs(own.apart) > settings.doubtful_to


def _is_mixed(band: Band, limit: Limit | None) -> bool:
    """Whether a band is of various conditions, and the limit of the very one that was told."""
    stated = limit is not None and bool(limit.when)
    return stated and Notice.VARIOUS_CONDITIONS in band.notices


def _by_history(
    own: BandOpinion, apart: float, twin: BandOpinion | None, settings: ReadingSettings
) -> _Decision:
    if own.side is None:
        return _with_twin((Finding.GOOD, VerdictReason.INSIDE, own.band.level), twin)
    if abs(apart) > settings.doubtful_to:
        return _bad(own.side), VerdictReason.FAR_OUTSIDE, own.band.level
    if twin is not None and twin.side is own.side:
        return _bad(own.side), VerdictReason.OUTSIDE_AND_UNLIKE, own.band.level
    if twin is not None and twin.side is None and own.band.level is not BandLevel.MODEL:
        return Finding.GOOD, VerdictReason.BUT_LIKE_TWIN, BandLevel.TWIN
    return Finding.DOUBTFUL, VerdictReason.JUST_OUTSIDE, own.band.level


def _bad(side: Worse) -> Finding:
    return Finding.BAD_HIGH if side is Worse.HIGH else Finding.BAD_LOW


def _with_twin(decision: _Decision, twin: BandOpinion | None) -> _Decision:
    """Let a twin that stands doubt what nothing else speaks against."""
    finding = decision[0]
    if twin is None or twin.apart is None or finding not in (Finding.GOOD, Finding.CANNOT_TELL):
        return decision
    if twin.side is not None:
        return Finding.DOUBTFUL, VerdictReason.UNLIKE_TWIN, BandLevel.TWIN
    return (
        decision if finding is Finding.GOOD else (finding, VerdictReason.LIKE_TWIN, BandLevel.TWIN)
    )


def _bounded(reading: Reading, band: Band) -> _Decision:
    """Judge a bound or a range: it tells something only where all it allows lies on one side."""
    low, high = ends_of(reading)
    sides = band.apart(low), band.apart(high)
    if all(abs(side) <= _AT_THE_EDGE for side in sides):
        return Finding.GOOD, VerdictReason.INSIDE, band.level
    if min(sides) > 1:
        return Finding.BAD_HIGH, VerdictReason.FAR_OUTSIDE, band.level
    if max(sides) < -1:
        return Finding.BAD_LOW, VerdictReason.FAR_OUTSIDE, band.level
    return Finding.CANNOT_TELL, VerdictReason.ACROSS, band.level


def _by_limit(reading: Reading, limit: Limit | None) -> _Decision:
    if limit is None or not limit.says_a_figure:
        return Finding.CANNOT_TELL, VerdictReason.SILENT, None
    ends = ends_of(reading)
    sides = {limit.side_of(end) for end in ends}
    if len(sides) > 1:
        return Finding.CANNOT_TELL, VerdictReason.ACROSS, None
    (side,) = sides
    if side is not None:
        return _bad(side), VerdictReason.PAST_LIMIT, None
    if all(limit.passes(end) for end in ends):
        return Finding.GOOD, VerdictReason.WITHIN_LIMIT, None
    if limit.good == (None, None):
        return Finding.CANNOT_TELL, VerdictReason.ONLY_POSSIBLE, None
    return Finding.DOUBTFUL, VerdictReason.BETWEEN, None


def _under_limit(
    decision: _Decision, reading: Reading, own: Band, limit: Limit | None, needs: tuple[str, ...]
) -> _Decision:
    """Hold what the shop's readings say, of any state or of other models, under the limit.

    Past the limit nothing of theirs is good, and nothing is told of a reading whose state would
    have to be known.
    """
    finding, _, by = decision
    if reading.relation is Relation.OVER_RANGE:
        return decision
    limited, why, _ = _by_limit(reading, limit)
    faulty = why is VerdictReason.PAST_LIMIT
    if needs:
        return (limited, why, None) if faulty else (Finding.CANNOT_TELL, VerdictReason.UNTOLD, None)
    if not faulty or finding is not Finding.GOOD:
        return decision
    open_side = own.low is None if limited is Finding.BAD_LOW else own.high is None
    if own.speaks and open_side:
        return limited, why, None
    if by is BandLevel.MODEL:
        return decision
    return Finding.DOUBTFUL, VerdictReason.PAST_LIMIT_THOUGH_USUAL, by


def _past(
    reading: Reading, mine: Iterable[Taken], band: Band, settings: ReadingSettings
) -> tuple[PastReading, ...]:
    """Return past readings near the same value, as found ones and proved ones only."""

    def far(each: Taken) -> tuple[float, int]:
        values = reading.value, each.reading.value
        points = [band.scale.to(value) for value in values if value is not None]
        return abs(points[0] - points[-1]) if points else 0.0, -(each.job or 0)

    found = [
        each
        for each in mine
        if each.reading.stage is not Stage.AFTER_FIX
        and _is_near(reading, each.reading, band, settings)
    ]
    return tuple(
        PastReading(
            job=each.job,
            place=each.reading.place,
            typed=each.reading.typed,
            good=each.reading.proved_good,
            cause=each.cause if each.reading.proved_good is False else None,
            told_missing=is_told_missing(each.reading),
        )
        for each in sorted(found, key=far)[:MOST_PAST]
    )


def _is_near(one: Reading, other: Reading, band: Band, settings: ReadingSettings) -> bool:
    if one.relation is Relation.OVER_RANGE or other.relation is Relation.OVER_RANGE:
        return one.relation is other.relation
    if one.value is None or other.value is None or other.relation is not one.relation:
        return False
    if not band.speaks:
        return near(one.value, other.value, settings.near_without_band)
    here, there = band.apart(one.value), band.apart(other.value)
    if not here and not there:
        return near(one.value, other.value, settings.near)
    return abs(here - there) <= settings.near * max(abs(here), _WIDE)
