"""Asking the index: the past cases most likely to share their cause with a complaint."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from numpy.typing import NDArray

from kb.case import TroubleCode, Vehicle
from kb.intake.wording import Wording
from kb.recall import blend, naming
from kb.recall.features import Asked, blocks
from kb.recall.findings import Asking
from kb.recall.hashing import MISSING, Keys, key
from kb.recall.index import Index, Segment, spoken
from kb.recall.naming import Named
from kb.recall.spans import Floats, look_up
from kb.settings import Recall as Settings

SUREST = 0.9999
"""Chances above this count as this in the vote."""
DIRECT = ("complaint", "codes", "readings", "tests")
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

    `vote` is how much it counts for its cause.
    """

    number: int
    cause: int
    chance: float
    vote: float
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaning:
    """A cause that the linear model thinks of: its chance, and the newest job that had it."""

    cause: int
    chance: float
    job: int


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
    new_model : bool
        Whether the car asked about is of a model that no case is of.
    leanings : tuple of Leaning
        Every cause the linear model knows; their chances sum to one. Empty where it has no say.
    named : tuple of Named
        Causes with whose own words the complaint shares any.
    naming_share : float
        Share of the complaint's words, by squared weights, that name any cause in question.
    names : tuple of Names
        The words of all causes of the index, in question or not.
    """

    neighbours: tuple[Neighbour, ...]
    read_as: dict[str, str]
    strange_codes: tuple[TroubleCode, ...]
    cases: int
    causes_seen: int
    causes_seen_once: int
    leanings: tuple[Leaning, ...] = ()
    new_model: bool = False
    named: tuple[Named, ...] = ()
    naming_share: float = 0.0
    names: tuple[naming.Names, ...] = field(default=(), repr=False, compare=False)


def recall(
    asked: Asked,
    index: Index,
    wording: Wording,
    settings: Settings,
    *,
    since: date | None = None,
    before: date | None = None,
    without: Collection[int] = (),
    hidden: Collection[int] = (),
) -> Recalled:
    """Find the cases most likely to share their cause with a complaint.

    Parameters
    ----------
    asked : Asked
    index : Index
    wording : Wording
        The one the index was made with.
    settings : Settings
    since, before : date, optional
        Only cases opened on or after, and before, these days.
    without : collection of int
        Job numbers to leave out, such as the open job the complaint comes from.
    hidden : collection of int
        Keys of causes to leave out, as if the shop had never had them.

    Returns
    -------
    Recalled
    """
    found = compare(
        asked, index, wording, settings, since=since, before=before, without=without, hidden=hidden
    )
    added = blend.parts(found.similarities, settings.weights)
    chances = blend.chances(added, settings.intercept)
    rows = np.flatnonzero(found.worth & (chances >= settings.least_chance))
    order = np.lexsort((-found.numbers[rows], -chances[rows]))
    rows = rows[order][: settings.neighbours]
    return Recalled(
        neighbours=tuple(
            Neighbour(
                number=int(found.numbers[row]),
                cause=int(found.causes[row]),
                chance=float(chances[row]),
                vote=_vote(float(chances[row]), settings.vote_power),
                parts=_parts(int(row), found.similarities, added),
            )
            for row in rows
        ),
        read_as=found.read_as,
        strange_codes=tuple(
            code
            for code in asked.complaint.codes
            if not any(segment.codes.holds(code) for segment in (index.base, index.recent))
        ),
        cases=int(found.times_seen.sum()),
        causes_seen=len(found.seen),
        causes_seen_once=int((found.times_seen == 1).sum()),
        new_model=_is_new_model(asked.complaint.vehicle, index),
        leanings=_leanings(asked, index, found, wording) if found.all_learnt else (),
        named=_named(index, found),
        naming_share=naming.naming_share(found.query, _names(index), found.seen),
        names=_names(index),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Every case of an index held against what is asked.

    Attributes
    ----------
    similarities : dict of str to ndarray of float32, shape (n,)
        One array a signal; nan where either side lacks it.
    worth : ndarray of bool, shape (n,)
        Whether the case is in question and has anything direct in common with what is asked.
    numbers : ndarray of int64, shape (n,)
        Job numbers.
    causes : ndarray of uint64, shape (n,)
    seen : ndarray of uint64, shape (m,)
        The causes of the cases in question, ascending.
    times_seen : ndarray of int64, shape (m,)
    newest : ndarray of int64, shape (m,)
        The newest job with each.
    all_learnt : bool
        Whether everything the linear model has learnt from is in question: cases cannot be left
        out of it, only causes can.
    read_as : dict of str to str
    query : tuple of ndarray
        Terms and weights of the words asked.
    """

    similarities: dict[str, Floats]
    worth: NDArray[np.bool_]
    numbers: NDArray[np.int64]
    causes: Keys
    seen: Keys
    times_seen: NDArray[np.int64]
    newest: NDArray[np.int64]
    all_learnt: bool
    read_as: dict[str, str]
    query: tuple[Keys, Floats]


def compare(
    asked: Asked,
    index: Index,
    wording: Wording,
    settings: Settings,
    *,
    since: date | None = None,
    before: date | None = None,
    without: Collection[int] = (),
    hidden: Collection[int] = (),
) -> Compared:
    """Hold every case against what is asked; the arguments are those of `recall`."""
    tokens = wording.tokens(spoken(asked.complaint))
    read_as = index.model.read_as(tokens) if settings.read_unknown_words else {}
    query = index.model.weigh([*tokens, *read_as.values()])
    tests = index.agreement.weigh(asked.complaint.tests, wording, index.base.tests)
    segments = (index.base, index.recent)
    said = [_similarities(asked, each, query, tests, index, wording) for each in segments]
    similarities = {name: np.concatenate([each[name] for each in said]) for name in said[0]}
    numbers = np.concatenate([each.numbers for each in segments])
    causes = np.concatenate([each.causes for each in segments])
    live = np.concatenate([~index.superseded, np.ones(len(index.recent), dtype=np.bool_)])
    chosen = np.concatenate([_chosen(each, since, before, without) for each in segments])
    mask = live & chosen & ~np.isin(causes, np.fromiter(hidden, dtype=np.uint64))
    by_cause = np.lexsort((-numbers, causes))
    by_cause = by_cause[mask[by_cause]]
    seen, first, times_seen = np.unique(causes[by_cause], return_index=True, return_counts=True)
    return Compared(
        similarities=similarities,
        worth=mask & _direct_evidence(similarities, settings),
        numbers=numbers,
        causes=causes,
        seen=seen,
        times_seen=times_seen,
        newest=numbers[by_cause[first]],
        all_learnt=bool(chosen[: len(index.base)].all()),
        read_as=read_as,
        query=query,
    )


def _vote(chance: float, power: float) -> float:
    """Return the odds to a power, so that votes go on growing where chances come close to 1."""
    kept = min(chance, SUREST)
    return float((kept / (1 - kept)) ** power)


def _is_new_model(vehicle: Vehicle, index: Index) -> bool:
    segments = (index.base, index.recent)
    return vehicle.model is not None and not any(s.vehicles.holds_model(vehicle) for s in segments)


def _leanings(asked: Asked, index: Index, found: Compared, wording: Wording) -> tuple[Leaning, ...]:
    """Ask the linear model, of the causes in question only."""
    facts = index.linear.weigh(blocks(asked, wording, index.widths))
    chances = index.linear.chances(found.similarities["complaint"], facts)
    kept, places = look_up(found.seen, index.linear.causes)
    total = float(chances[kept].sum())
    if not total:
        return ()
    return tuple(
        Leaning(cause=cause, chance=chance / total, job=job)
        for cause, chance, job in zip(
            index.linear.causes[kept].tolist(),
            chances[kept].tolist(),
            found.newest[places[kept]].tolist(),
            strict=True,
        )
    )


def _named(index: Index, found: Compared) -> tuple[Named, ...]:
    """Return the causes in question that the complaint names."""
    newest = dict(zip(found.seen.tolist(), found.newest.tolist(), strict=True))
    likenesses = naming.likenesses(found.query, _names(index))
    return tuple(
        Named(cause=cause, likeness=likeness, job=newest[cause])
        for cause, likeness in likenesses.items()
        if cause in newest
    )


def _names(index: Index) -> tuple[naming.Names, ...]:
    return index.base.names, index.recent.names


def _similarities(
    asked: Asked,
    segment: Segment,
    query: tuple[Keys, Floats],
    tests: Sequence[Asking],
    index: Index,
    wording: Wording,
) -> dict[str, Floats]:
    """One array a signal; nan where either side lacks it."""
    complaint = asked.complaint
    nothing = np.full(len(segment), np.nan, dtype=np.float32)
    conditions = index.model.weigh(wording.tokens(complaint.conditions or ""))
    system = np.uint64(key(complaint.system))
    systems = np.where(segment.systems == MISSING, nothing, segment.systems == system)
    return {
        "complaint": segment.complaint.cosines(*query) if len(query[0]) else nothing,
        "codes": segment.codes.similarities(complaint.codes),
        "readings": segment.readings.similarities(complaint.readings, wording, index.widths),
        "tests": segment.tests.similarities(tests),
        "vehicle": segment.vehicles.similarities(complaint.vehicle, asked.kin),
        "conditions": segment.conditions.cosines(*conditions) if len(conditions[0]) else nothing,
        "system": systems.astype(np.float32) if system else nothing,
    }


def _chosen(
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
