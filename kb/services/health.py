"""What shape a shop's case base is in: what it holds, and what in it wants looking at."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kb.cards.shape import (
    contradictions,
    duplicates,
    is_proved,
    names_used_once,
    tells_own_diagnosis,
)
from kb.case import Job, tag_key
from kb.recurrence.cars import tell_apart
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.job_words import FIT
from kb.services.comebacks import WorkKind, comebacks_of, trials_of
from kb.services.indexing import shop_wording
from kb.services.proposed import MARK
from kb.settings import RecurrenceSettings, Settings
from kb.store.cars import may_be_one
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

MOST_LISTED = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthALook:
    """One thing to look at: the jobs, and what of them is told, worded to be shown."""

    jobs: tuple[int, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HealthList:
    """Things of one kind to look at: all of them counted, the first listed."""

    name: str
    count: int
    first: tuple[WorthALook, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopHealth:
    """What a store holds, in jobs that count, and lists of what wants looking at.

    `from_cards` of the cases were confirmed from their cards; `waiting` are closed jobs without a
    cause, which are proposed at most. `unheard` left cured and were never heard of again, as fix
    rates count it; `unproved` are cases, `untagged` are jobs.
    """

    cautions: tuple[str, ...]
    jobs: int
    open: int
    waiting: int
    cases: int
    from_cards: int
    unheard: int
    unproved: int
    untagged: int
    lists: tuple[HealthList, ...]


def shop_health(address: str, settings: Settings) -> ShopHealth:
    """Look through all jobs of a store but the void ones."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        jobs = [job for job in work.jobs.all() if job.void is None]
        wording = shop_wording(work)
        cases = [job for job in jobs if job.is_case]
        fixes = comebacks_of(work, trials_of(work, cases, settings), kind=WorkKind.FIX).whole
    looks = _looks(jobs, cases, settings.recurrence)
    lists = tuple(_listed(name, found) for name, found in looks)
    shown = {number for each in lists for look in each.first for number in look.jobs}
    situation = Situation()
    for job in jobs:
        if job.number in shown:
            situation |= Situation.of_job(job)
    return ShopHealth(
        cautions=cautions_of_list(situation, wording),
        jobs=len(jobs),
        open=sum(job.closed is None for job in jobs),
        waiting=sum(job.closed is not None and job.cause is None for job in jobs),
        cases=len(cases),
        from_cards=sum(map(_is_from_card, cases)),
        unheard=fixes.unheard if fixes else 0,
        unproved=sum(not is_proved(case) for case in cases),
        untagged=sum(job.vehicle.key is None for job in jobs),
        lists=lists,
    )


def _looks(
    jobs: Sequence[Job], cases: Sequence[Job], settings: RecurrenceSettings
) -> Iterator[tuple[str, list[WorthALook]]]:
    yield (
        "cases that contradict their like",
        [
            _look(
                [each.case, *each.like], f"{_cause(each.case)}; the others {_cause(each.like[0])}"
            )
            for each in contradictions(cases)
        ],
    )
    yield "cases without proof", [_look([job], _cause(job)) for job in cases if not is_proved(job)]
    yield (
        "complaints that hold their own diagnosis",
        [_look([job], _cause(job)) for job in cases if tells_own_diagnosis(job)],
    )
    yield (
        "jobs that may be one, recorded twice",
        [_look(each, FIT.shown_vehicle(each[0].vehicle).label) for each in duplicates(jobs)],
    )
    yield (
        "cars without a key tag that look like one car",
        [
            _look(each, FIT.shown_vehicle(each[0].vehicle).label)
            for each in _one_car(jobs, settings)
        ],
    )
    yield (
        "key tags alike but for their spelling, on cars that differ",
        [_look(each, FIT.shown_vehicle(each[0].vehicle).tagged) for each in _one_tag(jobs)],
    )
    yield (
        "names used once",
        [_look([job], FIT.named(name)) for name, job in names_used_once(jobs)],
    )


def _one_car(jobs: Sequence[Job], settings: RecurrenceSettings) -> Iterator[list[Job]]:
    untagged = [job for job in jobs if job.vehicle.key is None]
    visits: dict[object, list[Job]] = defaultdict(list)
    for car, job in zip(tell_apart(untagged, settings).of, untagged, strict=True):
        visits[car].append(job)
    return (each for each in visits.values() if len(each) > 1)


def _one_tag(jobs: Sequence[Job]) -> Iterator[list[Job]]:
    """Yield the first job of each car of those with one key tag in several spellings.

    Where nothing else tells them apart they are read as one car.
    """
    cars: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        if job.vehicle.ref is not None:
            like = cars[tag_key(job.vehicle.ref)]
            if not any(may_be_one(each.vehicle, job.vehicle) for each in like):
                like.append(job)
    return (each for each in cars.values() if len(each) > 1)


def _look(jobs: Iterable[Job], words: str) -> WorthALook:
    return WorthALook(jobs=tuple(job.number or 0 for job in jobs), words=words)


def _cause(case: Job) -> str:
    return FIT.named(case.cause.label) if case.cause else ""


def _listed(name: str, found: Sequence[WorthALook]) -> HealthList:
    return HealthList(name=name, count=len(found), first=tuple(found[:MOST_LISTED]))


def _is_from_card(case: Job) -> bool:
    return any(each.text.endswith(f"({MARK})") for each in case.entries)
