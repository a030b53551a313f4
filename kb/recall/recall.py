"""Asking the index: the past cases most likely to share their cause with a complaint."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from math import isnan
from types import MappingProxyType
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from kb.case import TroubleCode
from kb.intake.in_vain import wears
from kb.intake.known_words import is_meant
from kb.intake.said_fine import SaidFine, said_fine
from kb.intake.subjects import trade_subjects
from kb.intake.wording import Wording
from kb.recall import blend, naming
from kb.recall.faulty_readings import speak_for
from kb.recall.features import Query, blocks
from kb.recall.hashing import MISSING, Keys, key, keys
from kb.recall.index import Index, Segment, spoken
from kb.recall.naming import NamedCause
from kb.recall.spans import Floats, among, look_up
from kb.recall.subject_signal import SubjectColumns, at_home, named_about
from kb.recall.tests_signal import WeighedTest
from kb.settings import RecallSettings

N = TypeVar("N", bound=np.generic)

SUREST = 0.9999
"""Chances above this count as this in the vote: one job in ten thousand, more than a shop can tell,
so that votes stay finite."""
MOST_NAMED = 50
"""So many causes that nothing but their words speaks for are told: as many as neighbours are."""
_BESIDE_A_PART_WORDS = """
connector connection wiring harness loom wire cable earth ground fuse relay terminal pin hose pipe
bracket mount seal gasket
"""
_BESIDE_A_PART = frozenset(_BESIDE_A_PART_WORDS.split())
"""What is not replaced with a part that is named without it."""
_LEAST_HEARD = 0.2
"""Likeness of a part's word to a cause of four words: less is of like letters alone."""
IN_VAIN = 0.8
"""How much a cause counts as said to be fine that was replaced in vain: a new part is wrong once in
ten (by judgement, no source)."""
NEW = 0.5
"""How much a cause counts as said to be fine whose part is told to be new behind what is wrong: it
may be the wrong part, or badly fitted, oftener than one that was tried and made no difference (by
judgement)."""
NEW_WEARING = 0.7
"""How much a cause counts as said to be fine whose part is new and of those that are changed as
they wear: it may be bad from the shelf or badly clamped, and hardly worn (by judgement)."""
CLEANED = 0.5
"""How much a cause counts as said to be fine whose part was cleaned in vain: dirt is its usual
fault, but not its only one (by judgement)."""
WORKING = 0.5
"""How much a cause counts as said to be fine that is about what is seen to work: as a part whose
words are half of its own (by judgement)."""
DIRECT = ("complaint", "codes", "readings", "tests")
"""Signals that alone make a job worth showing; a like car or system does not."""


@dataclass(frozen=True, slots=True)
class SignalShare:
    """What one signal said of one match: similarity 0 to 1, and the log-odds it added."""

    signal: str
    similarity: float
    added: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """One recalled case: its number, its cause's key, and the chance that it shares its cause.

    `vote` is how much it counts for its cause beside the others (`voting`); `proposed` says that
    nobody confirmed that.
    """

    number: int
    cause: int
    chance: float
    vote: float = 0.0
    parts: tuple[SignalShare, ...]
    proposed: bool = False


class LinearChance(NamedTuple):
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
    causes_seen_once : int
        How many causes only one of them has.
    new_model : bool
        Whether the car asked about is of a model that no case is of.
    words_alone : bool
        Whether neither codes nor readings nor tests are told.
    linear_chances : tuple of LinearChance
        Every cause the linear model knows; their chances sum to one. Empty where it has no say.
    named : tuple of NamedCause
        Causes with whose own words the complaint shares any: those of the neighbours and of the
        linear model, and of the others those it is most like.
    naming_share : float
        Share of the complaint's words, by squared weights, that name any cause in question.
    names : tuple of Names
        The words of all causes of the index, in question or not.
    about : tuple of str
        The subjects that the complaint speaks of (`kb.intake.subjects`), in order of the alphabet.
    at_home : dict of int to float
        How far each cause is about these, 0 to 1 (`kb.recall.subject_signal.at_home`); without
        those that are not at all.
    same_system : dict of int to float
        Share of each cause's cases that are of a system of these; without those of none.
    said_fine : dict of int to float
        How much each cause is like what the complaint says is fine, 0 to 1; without those that are
        not at all.
    shown : dict of int to float
        How much each cause is like what a faulty reading speaks for, 0 to 1; without those that are
        not at all.
    """

    neighbours: tuple[Neighbour, ...]
    read_as: dict[str, str]
    strange_codes: tuple[TroubleCode, ...]
    cases: int
    causes_seen_once: int
    linear_chances: tuple[LinearChance, ...] = ()
    new_model: bool = False
    words_alone: bool = False
    named: tuple[NamedCause, ...] = ()
    naming_share: float = 0.0
    names: tuple[naming.Names, ...] = field(default=(), repr=False, compare=False)
    about: tuple[str, ...] = ()
    at_home: Mapping[int, float] = field(default_factory=dict)
    same_system: Mapping[int, float] = field(default_factory=dict)
    said_fine: Mapping[int, float] = field(default_factory=dict)
    shown: Mapping[int, float] = field(default_factory=dict)


def recall(
    asked: Query,
    index: Index,
    wording: Wording,
    settings: RecallSettings,
    *,
    since: date | None = None,
    without: Collection[int] = (),
    hidden: Collection[int] = (),
) -> Recalled:
    """Find the cases most likely to share their cause with a complaint.

    The wording is the one the index was made with. Only cases opened on or after `since` are in
    question, none of the jobs `without` (such as the open job the complaint comes from), and no
    cause whose key is `hidden`, as if the shop had never had it.
    """
    found = compare(asked, index, wording, settings, since=since, without=without, hidden=hidden)
    neighbours = voting(_neighbours(found, settings), settings)
    linear_chances = _linear_chances(asked, index, found, wording) if found.all_learnt else ()
    in_view = {each.cause for each in neighbours} | {each.cause for each in linear_chances}
    fine = said_fine(asked.complaint.text, wording)
    about = tuple(sorted(fine.subjects(wording)))
    amiss = _amiss(asked, fine, index, wording, found)
    return Recalled(
        neighbours=neighbours,
        read_as=found.read_as,
        strange_codes=_strange_codes(asked, index),
        cases=int(found.times_seen.sum()),
        causes_seen_once=int((found.times_seen == 1).sum()),
        new_model=_is_new_model(asked, index),
        words_alone=asked.complaint.in_words_alone,
        linear_chances=linear_chances,
        named=_named(index, found, amiss, in_view),
        naming_share=naming.naming_share(amiss, _names(index), found.seen),
        names=_names(index),
        about=about,
        at_home=_at_home(about, index, found),
        same_system=_same_system(about, index, found),
        said_fine=_said_fine(fine, index, wording),
        shown=_shown(asked, index, wording),
    )


def nearest(
    asked: Query,
    index: Index,
    wording: Wording,
    settings: RecallSettings,
    *,
    since: date | None = None,
    without: Collection[int] = (),
) -> Recalled:
    """Find the jobs that a complaint is most like: every job, where the index is of `Cards`.

    The arguments are those of `recall`. Nothing is said of causes, which not every job has.
    """
    found = compare(asked, index, wording, settings, since=since, without=without)
    return Recalled(
        neighbours=_neighbours(found, settings),
        read_as=found.read_as,
        strange_codes=_strange_codes(asked, index),
        cases=int(found.in_question.sum()),
        causes_seen_once=0,
        new_model=_is_new_model(asked, index),
    )


def _strange_codes(asked: Query, index: Index) -> tuple[TroubleCode, ...]:
    held = (index.base.codes, index.recent.codes)
    return tuple(
        code for code in asked.complaint.codes if not any(each.holds(code) for each in held)
    )


def _is_new_model(asked: Query, index: Index) -> bool:
    car, held = asked.complaint.vehicle, (index.base.vehicles, index.recent.vehicles)
    return car.model is not None and not any(each.holds_model(car) for each in held)


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Every case of an index held against what is asked.

    `causes` have shape (n,), `times_seen` (m,).

    Attributes
    ----------
    similarities : dict of str to ndarray of float32, shape (n,)
        One array a signal; nan where either side lacks it.
    in_question, worth : ndarray of bool, shape (n,)
        Whether the case is in question, and has anything direct in common with what is asked, too.
    numbers : ndarray of int64, shape (n,)
        Job numbers.
    seen : ndarray of uint64, shape (m,)
        The causes of the cases in question, ascending.
    newest : ndarray of int64, shape (m,)
        The newest job with each.
    all_learnt : bool
        Whether everything the linear model has learnt from is in question: cases cannot be left
        out of it, only causes can.
    query : tuple of ndarray
        Terms and weights of the words asked.
    """

    similarities: dict[str, Floats]
    in_question: NDArray[np.bool_]
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
    asked: Query,
    index: Index,
    wording: Wording,
    settings: RecallSettings,
    *,
    since: date | None = None,
    without: Collection[int] = (),
    hidden: Collection[int] = (),
) -> Compared:
    """Hold every case against what is asked; the arguments are those of `recall`."""
    tokens = wording.tokens(spoken(asked.complaint))
    read_as = (
        index.model.read_as(tokens, partial(is_meant, wording=wording))
        if settings.read_unknown_words
        else {}
    )
    query = index.model.weigh([*tokens, *read_as.values()])
    agreement, known = index.agreement, index.base.tests
    tests = [agreement.weigh(test, wording, known) for test in asked.complaint.tests]
    segments = [each for each in (index.base, index.recent) if len(each)] or [index.base]
    said = [_similarities(asked, each, query, tests, index, wording) for each in segments]
    similarities = {name: _joined([each[name] for each in said]) for name in said[0]}
    numbers = _joined([each.numbers for each in segments])
    causes = _joined([each.causes for each in segments])
    live = np.concatenate([~index.superseded, np.ones(len(index.recent), dtype=np.bool_)])
    chosen = np.concatenate([_chosen(each, since, without) for each in segments])
    mask = live & chosen
    if hidden:
        mask &= ~np.isin(causes, np.fromiter(hidden, dtype=np.uint64, count=len(hidden)))
    size = len(index.base)
    seen, times_seen, newest = _merged(
        _by_cause(index.base, mask[:size]), _by_cause(index.recent, mask[size:])
    )
    return Compared(
        similarities=similarities,
        in_question=mask,
        worth=mask & _direct_evidence(similarities, settings),
        numbers=numbers,
        causes=causes,
        seen=seen,
        times_seen=times_seen,
        newest=newest,
        all_learnt=bool(chosen[:size].all()),
        read_as=read_as,
        query=query,
    )


def _neighbours(found: Compared, settings: RecallSettings) -> tuple[Neighbour, ...]:
    """Blend the signals of the cases worth showing, and keep the likeliest."""
    worth = np.flatnonzero(found.worth)
    similarities = {name: values[worth] for name, values in found.similarities.items()}
    added = blend.parts(similarities, settings.weights)
    chances = blend.chances(added, settings.intercept)
    numbers = found.numbers[worth]
    likely = np.flatnonzero(chances >= settings.least_chance)
    if len(likely) > settings.neighbours:
        least = np.partition(chances[likely], -settings.neighbours)[-settings.neighbours]
        likely = likely[chances[likely] >= least]
    places = likely[np.lexsort((-numbers[likely], -chances[likely]))][: settings.neighbours]
    shares = [
        map(partial(SignalShare, name), values[places].tolist(), added[name][places].tolist())
        for name, values in similarities.items()
    ]
    told = (numbers[places], found.causes[worth[places]], chances[places])
    return tuple(
        Neighbour(
            number=number,
            cause=cause,
            chance=chance,
            parts=tuple(
                sorted((s for s in said if not isnan(s.similarity)), key=lambda s: -s.added)
            ),
        )
        for number, cause, chance, *said in zip(
            *(each.tolist() for each in told), *shares, strict=True
        )
    )


def voting(
    neighbours: Iterable[Neighbour],
    settings: RecallSettings,
    worth: Mapping[int, float] = MappingProxyType({}),
) -> tuple[Neighbour, ...]:
    """Return the jobs with their votes, none of which outvotes many others by itself.

    A vote is cut to `vote_most` times the highest one for any other cause, where that is more than
    the vote of the chance `vote_always`, else to the latter. Jobs of one cause do not cut each
    other. `worth` is what the votes of some jobs, by number, are multiplied by; 1 for the others.
    """
    cast = [
        (each, worth.get(each.number, 1.0) * _vote(each.chance, settings.vote_power))
        for each in neighbours
    ]
    best: dict[int, float] = {}
    for each, vote in cast:
        best[each.cause] = max(vote, best.get(each.cause, 0.0))
    first, second = sorted((*best.values(), 0.0, 0.0), reverse=True)[:2]
    least = _vote(settings.vote_always, settings.vote_power)

    def bound(cause: int) -> float:
        other = second if best[cause] == first else first
        return max(least, settings.vote_most * other)

    return tuple(replace(each, vote=min(vote, bound(each.cause))) for each, vote in cast)


def _vote(chance: float, power: float) -> float:
    """Return the odds to a power, so that votes go on growing where chances come close to 1."""
    kept = min(chance, SUREST)
    return float((kept / (1 - kept)) ** power)


def _linear_chances(
    asked: Query, index: Index, found: Compared, wording: Wording
) -> tuple[LinearChance, ...]:
    """Ask the linear model, of the causes in question only."""
    facts = index.linear.weigh(blocks(asked, wording, index.widths))
    chances = index.linear.chances(found.similarities["complaint"], facts)
    kept, places = look_up(found.seen, index.linear.causes)
    total = float(chances[kept].sum())
    if not total:
        return ()
    told = (index.linear.causes[kept], chances[kept] / total, found.newest[places[kept]])
    return tuple(map(LinearChance, *(each.tolist() for each in told)))


def _amiss(
    asked: Query, fine: SaidFine, index: Index, wording: Wording, found: Compared
) -> tuple[Keys, Floats]:
    """Return the terms and weights of the words asked without what they say is fine."""
    if fine.rest == asked.complaint.text:
        return found.query
    tokens = wording.tokens(spoken(replace(asked.complaint, text=fine.rest)))
    return index.model.weigh([*tokens, *found.read_as.values()])


def _said_fine(fine: SaidFine, index: Index, wording: Wording) -> dict[int, float]:
    """Return how much each cause is like what is said to be fine."""
    likeness: dict[int, float] = {}
    if fine.parts:
        heard = naming.heard(index.model.weigh(wording.tokens(fine.parts)), _names(index))
        likeness.update(zip(*(each.tolist() for each in heard), strict=True))
    likeness.update(_not_anew(fine.cleaned, CLEANED, index, wording))
    new = NEW_WEARING if wears(fine.new.split()) else NEW
    likeness.update(_not_anew(fine.new, new, index, wording))
    likeness.update(_not_anew(fine.in_vain, IN_VAIN, index, wording))
    for segment in (index.base, index.recent):
        for cause in named_about(fine.working, segment.subjects_of_names, segment.names.causes):
            likeness[cause] = max(WORKING, likeness.get(cause, 0.0))
    return likeness


def _shown(asked: Query, index: Index, wording: Wording) -> dict[int, float]:
    """Return how much each cause is like what a faulty reading speaks for."""
    complaint = asked.complaint
    likeness: dict[int, float] = {}
    for causes in speak_for(complaint.readings, complaint.vehicle, wording):
        for words in causes:
            heard = naming.heard(index.model.weigh(wording.tokens(words)), _names(index))
            for cause, alike in zip(*(each.tolist() for each in heard), strict=True):
                likeness[cause] = max(alike, likeness.get(cause, 0.0))
    return likeness


def _not_anew(part: str, much: float, index: Index, wording: Wording) -> dict[int, float]:
    """Return how much each cause counts as a part that was replaced already.

    What joins or holds that part was not replaced with it: its connector may yet be the cause.
    """
    words = wording.tokens(part)
    heard = _heard_of(words, index) if words else set()
    for word in _BESIDE_A_PART.difference(words) if heard else ():
        heard -= _heard_of([word], index)
    return dict.fromkeys(heard, much)


def _heard_of(words: Sequence[str], index: Index) -> set[int]:
    """Return the causes that some words name rather than resemble."""
    causes, cosines = naming.heard(index.model.weigh(words), _names(index))
    return set(causes[cosines >= _LEAST_HEARD].tolist())


def _named(
    index: Index, found: Compared, amiss: tuple[Keys, Floats], in_view: Collection[int]
) -> tuple[NamedCause, ...]:
    """Return the causes in question that the complaint names, of those not in view the most so."""
    causes, likenesses = naming.heard(amiss, _names(index))
    there, places = look_up(found.seen, causes)
    causes, likenesses, newest = causes[there], likenesses[there], found.newest[places[there]]
    viewed, _ = look_up(np.sort(np.fromiter(in_view, np.uint64, len(in_view))), causes)
    most = min(MOST_NAMED, len(causes))
    least = np.partition(likenesses, -most)[-most] if most else 0.0
    chosen = np.flatnonzero(viewed | (likenesses >= least))
    told = map(NamedCause, *(each[chosen].tolist() for each in (causes, likenesses, newest)))
    return tuple({each.cause: each for each in told}.values())


def _at_home(about: Sequence[str], index: Index, found: Compared) -> dict[int, float]:
    size = len(index.base)
    segments = [
        SubjectColumns(
            each.subjects, each.causes, in_question, each.subjects_of_names, each.names.causes
        )
        for each, in_question in (
            (index.base, found.in_question[:size]),
            (index.recent, found.in_question[size:]),
        )
    ]
    shares = at_home(about, segments, found.seen, found.times_seen)
    some = np.flatnonzero(shares)
    return dict(zip(found.seen[some].tolist(), shares[some].tolist(), strict=True))


def _same_system(about: Sequence[str], index: Index, found: Compared) -> dict[int, float]:
    systems = np.concatenate([index.base.systems, index.recent.systems])
    wanted = keys(trade_subjects()[each][0] for each in about)
    ours = found.causes[found.in_question & among(systems, wanted)]
    causes, times = np.unique(ours, return_counts=True)
    _, places = look_up(found.seen, causes)
    shares = times / found.times_seen[places]
    return dict(zip(causes.tolist(), shares.tolist(), strict=True))


def _names(index: Index) -> tuple[naming.Names, ...]:
    return index.base.names, index.recent.names


Tally = tuple[Keys, NDArray[np.int64], NDArray[np.int64]]
"""Causes, ascending; how many cases have each; the newest of these."""


def _by_cause(segment: Segment, mask: NDArray[np.bool_]) -> Tally:
    """Count the chosen cases of each cause that any of them has."""
    causes, starts, rows = segment.by_cause.keys, segment.by_cause.starts, segment.by_cause.members
    if mask.all():  # most often, and of each cause the newest stands first
        return causes, np.diff(starts).astype(np.int64), segment.numbers[rows[starts[:-1]]]
    chosen = np.take(mask, rows)
    times = np.add.reduceat(chosen.astype(np.int64), starts[:-1])
    newest = np.maximum.reduceat(np.where(chosen, np.take(segment.numbers, rows), 0), starts[:-1])
    had = times > 0
    return causes[had], times[had], newest[had]


def _merged(one: Tally, other: Tally) -> Tally:
    if not len(other[0]):
        return one
    causes, places = np.unique(np.concatenate([one[0], other[0]]), return_inverse=True)
    times, newest = np.zeros(len(causes), np.int64), np.zeros(len(causes), np.int64)
    np.add.at(times, places, np.concatenate([one[1], other[1]]))
    np.maximum.at(newest, places, np.concatenate([one[2], other[2]]))
    return causes, times, newest


def _similarities(
    asked: Query,
    segment: Segment,
    query: tuple[Keys, Floats],
    tests: Sequence[WeighedTest],
    index: Index,
    wording: Wording,
) -> dict[str, Floats]:
    """One array a signal; nan where either side lacks it."""
    complaint = asked.complaint
    nothing = np.full(len(segment), np.nan, dtype=np.float32)
    conditions = index.model.weigh(wording.tokens(complaint.conditions or ""))
    under = segment.conditions
    system = np.uint64(key(complaint.system))
    systems = np.where(segment.systems == MISSING, nothing, segment.systems == system)
    return {
        "complaint": segment.told(*query) if len(query[0]) else nothing,
        "codes": np.take(segment.codes.similarities(complaint.codes), segment.codes_of),
        "readings": segment.readings.similarities(complaint.readings, wording, index.widths),
        "tests": segment.tests.similarities(tests),
        "vehicle": np.take(
            segment.vehicles.similarities(complaint.vehicle, asked.platform_cars),
            segment.vehicle_of,
        ),
        "conditions": (
            np.take(under.cosines(*conditions), segment.conditions_of)
            if len(conditions[0])
            else nothing
        ),
        "system": systems.astype(np.float32) if system else nothing,
    }


def _joined(parts: list[NDArray[N]]) -> NDArray[N]:
    """Put arrays together; a single one is given back as it is."""
    return parts[0] if len(parts) == 1 else np.concatenate(parts)


def _chosen(segment: Segment, since: date | None, without: Collection[int]) -> NDArray[np.bool_]:
    kept = np.ones(len(segment), dtype=np.bool_)
    if without:
        kept &= ~np.isin(segment.numbers, np.fromiter(without, np.int64, len(without)))
    if since is not None:
        kept &= segment.opened >= since.toordinal()
    return kept


def _direct_evidence(
    similarities: dict[str, Floats], settings: RecallSettings
) -> NDArray[np.bool_]:
    with np.errstate(invalid="ignore"):
        enough = [similarities[name] >= settings.least_similarity[name] for name in DIRECT]
    return np.asarray(np.any(enough, axis=0))
