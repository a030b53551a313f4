"""Asking the index: the past cases most likely to share their cause with a complaint."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from kb.case import Complaint, TroubleCode
from kb.intake.wording import Wording
from kb.recall import blend
from kb.recall.hashing import MISSING, key
from kb.recall.index import Index, Segment, spoken
from kb.recall.readings import WidthColumns
from kb.recall.text import Floats
from kb.settings import Recall as Settings

DIRECT = ("complaint", "codes", "readings")
"""Signals that alone make a job worth showing; a like car or system does not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What one signal said of one match: similarity 0 to 1, and the log-odds it added."""

    signal: str
    similarity: float
    added: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """One recalled case: its number, its cause's key, and the chance that it shares its cause.

    `alone` tells that no other case in question has the same cause.
    """

    number: int
    cause: int
    chance: float
    alone: bool
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recalled:
    """What the index gave back.

    Attributes
    ----------
    neighbours : tuple of Neighbour
        Best first; of equal chances the newer job first.
    read_as : dict of str to str
        Words of the complaint no case holds -> the known word they were read as, too.
    strange_codes : tuple of TroubleCode
        Codes of the complaint that no case has, whatever the failure type.
    cases : int
        How many cases were in question.
    causes_seen : int
        How many different causes these have.
    causes_seen_once : int
        How many of those on a single job.
    """

    neighbours: tuple[Neighbour, ...]
    read_as: dict[str, str]
    strange_codes: tuple[TroubleCode, ...]
    cases: int
    causes_seen: int
    causes_seen_once: int


def recall(
    complaint: Complaint,
    index: Index,
    wording: Wording,
    settings: Settings,
    *,
    since: date | None = None,
    before: date | None = None,
    without: Collection[int] = (),
) -> Recalled:
    """Find the cases most likely to share their cause with a complaint.

    Parameters
    ----------
    complaint : Complaint
    index : Index
    wording : Wording
        The one the index was made with.
    settings : Settings
    since, before : date, optional
        Only cases opened on or after, and before, these days.
    without : collection of int
        Job numbers to leave out, such as the open job the complaint comes from.

    Returns
    -------
    Recalled
    """
    tokens = wording.tokens(spoken(complaint))
    read_as = index.model.read_as(tokens)
    query = index.model.weigh([*tokens, *read_as.values()])
    conditions = index.model.weigh(wording.tokens(complaint.conditions or ""))
    segments = [
        (index.base, ~index.superseded),
        (index.recent, np.ones(len(index.recent), dtype=np.bool_)),
    ]
    sims: dict[str, list[Floats]] = {}
    eligible: list[NDArray[np.bool_]] = []
    for segment, live in segments:
        for name, values in _similarities(
            complaint, segment, query, conditions, wording, index.widths
        ).items():
            sims.setdefault(name, []).append(values)
        eligible.append(live & _in_question(segment, since, before, without))
    similarities = {name: np.concatenate(values) for name, values in sims.items()}
    mask = np.concatenate(eligible)
    numbers = np.concatenate([segment.numbers for segment, _ in segments])
    causes = np.concatenate([segment.causes for segment, _ in segments])

    added = blend.parts(similarities, settings.weights)
    chances = blend.chances(added, settings.intercept)
    worth = mask & _direct_evidence(similarities, settings)
    worth &= chances >= settings.least_chance
    rows = np.flatnonzero(worth)
    rows = rows[np.lexsort((-numbers[rows], -chances[rows]))][: settings.neighbours]
    seen, times_seen = np.unique(causes[mask], return_counts=True)
    alone = np.isin(causes[rows], seen[times_seen == 1])
    return Recalled(
        neighbours=tuple(
            Neighbour(
                number=int(numbers[row]),
                cause=int(causes[row]),
                chance=float(chances[row]),
                alone=bool(single),
                parts=_parts(int(row), similarities, added),
            )
            for row, single in zip(rows, alone, strict=True)
        ),
        read_as=read_as,
        strange_codes=tuple(
            code
            for code in complaint.codes
            if not any(segment.codes.holds(code) for segment, _ in segments)
        ),
        cases=int(mask.sum()),
        causes_seen=len(times_seen),
        causes_seen_once=int((times_seen == 1).sum()),
    )


def _similarities(
    complaint: Complaint,
    segment: Segment,
    query: tuple[NDArray[np.uint64], Floats],
    conditions: tuple[NDArray[np.uint64], Floats],
    wording: Wording,
    widths: WidthColumns,
) -> dict[str, Floats]:
    """One array a signal; nan where either side lacks it."""
    nothing = np.full(len(segment), np.nan, dtype=np.float32)
    system = np.uint64(key(complaint.system))
    systems = np.where(segment.systems == MISSING, nothing, segment.systems == system)
    return {
        "complaint": segment.complaint.cosines(*query) if len(query[0]) else nothing,
        "codes": segment.codes.similarities(complaint.codes),
        "readings": segment.readings.similarities(complaint.readings, wording, widths),
        "vehicle": segment.vehicles.similarities(complaint.vehicle),
        "conditions": segment.conditions.cosines(*conditions) if len(conditions[0]) else nothing,
        "system": systems.astype(np.float32) if system else nothing,
    }


def _in_question(
    segment: Segment, since: date | None, before: date | None, without: Collection[int]
) -> NDArray[np.bool_]:
    kept = ~np.isin(segment.numbers, np.fromiter(without, dtype=np.int64))
    if since is not None:
        kept &= segment.opened >= since.toordinal()
    if before is not None:
        kept &= segment.opened < before.toordinal()
    return kept


def _direct_evidence(similarities: dict[str, Floats], settings: Settings) -> NDArray[np.bool_]:
    with np.errstate(invalid="ignore"):
        enough = [similarities[name] >= settings.least_similarity[name] for name in DIRECT]
    return np.asarray(np.any(enough, axis=0))


def _parts(row: int, similarities: dict[str, Floats], added: dict[str, Floats]) -> tuple[Part, ...]:
    present = [name for name, values in similarities.items() if not np.isnan(values[row])]
    return tuple(
        Part(
            signal=name,
            similarity=float(similarities[name][row]),
            added=float(added[name][row]),
        )
        for name in sorted(present, key=lambda name: -added[name][row])
    )
