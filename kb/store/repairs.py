"""What fix rates need of the jobs of a store, and nothing else: plain rows, read in bulk.

Whole jobs take several times as long, and a question may have to read thousands.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from functools import cache, lru_cache
from itertools import groupby
from operator import attrgetter, itemgetter
from types import MappingProxyType
from typing import Any

from sqlalchemy import Select, and_, bindparam, case, func, null, or_, select

from kb.case import (
    FAMILY,
    OF_OTHERS,
    Action,
    Attempt,
    CameBack,
    Cause,
    EntryKind,
    FailureMode,
    Heard,
    LaterVisit,
    Outcome,
    Placed,
    RepairRecord,
    System,
    ToldIn,
    Tried,
    may_name_igniter,
    outcome_told,
)
from kb.store.cars import spelt_alike
from kb.store.mapping import cause_digest
from kb.store.names import ShopNames, Vocabulary
from kb.store.repair_digests import digests, stamp
from kb.store.tables import (
    ATTEMPTS,
    CODES,
    CONTACTS,
    COUNTS,
    ENTRIES,
    IS_CASE,
    JOBS,
    READINGS,
    TESTS,
    VEHICLES,
)
from kb.store.transaction import InTransaction, Transaction, batches


class Repairs(InTransaction):
    """The cases of a store as fix rates need them.

    One that is closed on a day yet to come is none of them.
    The `cause` of each is a `cause_digest`, its `car` the key of a vehicle, and one key for jobs
    without a tag that an answer joined; causes and fixes are told by the shop's own names.
    """

    def __init__(self, transaction: Transaction, names: ShopNames) -> None:
        super().__init__(transaction)
        self._names = names

    def of_causes(self, keys: Iterable[tuple[str, str, str]]) -> dict[str, list[RepairRecord]]:
        """Read the cases of some causes (`Cause.key`), by `cause_digest`, in order of number.

        With them those of other causes on which something was tried for one of these.
        """
        digests = [cause_digest(key) for key in keys]
        found: dict[str, list[RepairRecord]] = {digest: [] for digest in digests}
        for repair in self._read(self._about(digests)):
            about = {repair.cause, *(each.supposed for each in repair.attempts)}
            for digest in about.intersection(digests):
                found[digest].append(repair)
        return found

    def of_jobs(self, numbers: Iterable[int]) -> list[RepairRecord]:
        """Read those of some jobs that are cases, in order of number."""
        return self._read(JOBS.c.number.in_(list(numbers)))

    def all(self) -> list[RepairRecord]:
        """Read every case, in order of number."""
        return self._read()

    def digests(self) -> dict[str, str] | None:
        """Digest what rates rest on (`kb.store.repair_digests.digests`)."""
        return digests(self._connection)

    def stamp(self, begun: datetime) -> str | None:
        """Return what differs as soon as anybody has stored anything, if that can be said."""
        return stamp(self._connection, begun)

    def causes(self) -> list[tuple[Cause, int]]:
        """Every different cause, without position and words, with how many cases it has."""
        named = JOBS.c["cause_component", "cause_location", "cause_failure_mode"].values()
        query = (
            select(func.count(), *(func.min(column) for column in named[:2]), named[2])
            .where(IS_CASE)
            .group_by(JOBS.c.cause_digest, named[2])
            .order_by(func.count().desc(), *map(func.min, named[:2]))
        )
        known = self._names.vocabulary()
        return [
            (known.cause(_cause(*cause)), count)
            for count, *cause in self._connection.execute(query)
        ]

    def supposed(self) -> list[Cause]:
        """Every different cause that a fix was tried for, where the job's own proved another."""
        query = select(*_SUPPOSED).where(_SUPPOSED[0].is_not(None)).distinct()
        rows = self._connection.execute(query.order_by(*_SUPPOSED))
        return list({cause.key: cause for cause in (_cause(*row) for row in rows)}.values())

    def untagged(self) -> frozenset[int]:
        """Numbers of the cases whose car has neither key tag nor VIN: no other visit names it."""
        car = JOBS.join(VEHICLES, VEHICLES.c.id == JOBS.c.vehicle_id)
        query = select(JOBS.c.number).select_from(car)
        query = query.where(IS_CASE, VEHICLES.c.ref.is_(None), VEHICLES.c.vin.is_(None))
        return frozenset(self._connection.scalars(query))

    def of_cars_with(self, key: tuple[str, str, str]) -> list[int]:
        """Numbers of all jobs of the cars that had a cause: its fix rates rest on no others."""
        had_it = select(JOBS.c.vehicle_id).where(self._about([cause_digest(key)]))
        one_car = self._one_car(spelt_alike(self._connection))
        query = select(JOBS.c.number).where(JOBS.c.vehicle_id.in_(had_it))
        found = set(self._connection.scalars(query))
        if one_car:
            cars = {one_car.get(car, car) for car in self._connection.scalars(had_it)}
            for some in batches({car for car, first in one_car.items() if first in cars}):
                of_some = select(JOBS.c.number).where(JOBS.c.vehicle_id.in_(some))
                found.update(self._connection.scalars(of_some))
        return sorted(found)

    def _one_car(self, joined: Mapping[int, int]) -> dict[int, int]:
        """Return of vehicles that are one, by their tags or by answers, the first, by each.

        A car without key tag and VIN is another vehicle at each visit; a contact that names a later
        job says that it was the same.
        """
        found = dict(joined)

        def first(car: int) -> int:
            while found.get(car, car) != car:
                car = found[car]
            return car

        for pair in self._connection.execute(_named_as_one()):
            one, two = sorted(map(first, pair))
            found |= {one: one, two: one}
        return {car: first(car) for car in found}

    def came_back(self) -> list[CameBack]:
        """Jobs of which a comeback was told, each with every job as which it came back.

        A job of another car, named by mistake, proves nothing of this one.
        """
        one_car = self._one_car(spelt_alike(self._connection))
        return [
            CameBack._make(told)
            for here, there, *told in self._connection.execute(_told_back())
            if one_car.get(here, here) == one_car.get(there, there)
        ]

    def back_as_unknown(self) -> list[RepairRecord]:
        """Read the cases of which a comeback was told that names no job, in order of number."""
        no_visit = or_(CONTACTS.c.job.is_(None), _NAMES_VOID)
        unnamed = select(CONTACTS.c.job_number).where(_TOLD_BACK, no_visit)
        return self._read(JOBS.c.number.in_(unnamed))

    def ahead(self, key: tuple[str, str, str]) -> list[int]:
        """Numbers of the cases of a cause that are closed on a day yet to come: they count nowhere.

        That day was mistyped, or the car is not handed over yet.
        """
        of_cause = JOBS.c.cause_digest == cause_digest(key)
        query = select(JOBS.c.number).where(IS_CASE, JOBS.c.closed > _TODAY, of_cause)
        return sorted(self._connection.scalars(query))

    def placed(self, numbers: Collection[int]) -> list[Placed]:
        """Where on the car some cases were, as far as they tell."""
        columns = JOBS.c["number", "cause_location", "cause_component", "cause_failure_mode"]
        query = select(*columns).where(JOBS.c.number.in_(list(numbers)), IS_CASE)
        return [Placed._make(row) for row in self._connection.execute(query)]

    def only_final_fixes(self, least: int = 10) -> bool:
        """Whether there are that many attempts and not one failed: first attempts are missing."""
        counting = select(ATTEMPTS.c.job_number).join(JOBS).where(COUNTS)
        failed = counting.where(ATTEMPTS.c.cured.is_(False)).limit(1)
        if self._connection.execute(failed).first() is not None:
            return False
        every = select(func.count()).select_from(counting.subquery())
        return self._connection.execute(every).scalar_one() >= least

    def _about(self, digests: Collection[str]) -> Any:
        """Say which jobs had one of some causes, or something tried for it.

        Few attempts tell what they were tried for, in fewer spellings.
        """
        proved = JOBS.c.cause_digest.in_(digests)
        supposed = select(*_SUPPOSED).where(_SUPPOSED[0].is_not(None)).distinct()
        meant = [
            and_(
                *(
                    column.is_not_distinct_from(part)
                    for column, part in zip(_SUPPOSED, row, strict=True)
                )
            )
            for row in self._connection.execute(supposed)
            if _supposed(self._names.vocabulary(), *row) in digests
        ]
        tried = select(ATTEMPTS.c.job_number).where(or_(*meant)) if meant else None
        return proved if tried is None else or_(proved, JOBS.c.number.in_(tried))

    def _read(self, *wanted: Any) -> list[RepairRecord]:
        known = self._names.vocabulary()
        attempts: dict[int, list[Tried]] = defaultdict(list)
        fixes: dict[tuple[Action, str], tuple[str, str]] = {}
        for number, *told in self._connection.execute(_of(wanted, _attempts())):
            supposed = _supposed(known, *told[len(_ATTEMPT) :][: len(_SUPPOSED)])
            told[1] = known.component(told[1])
            name = (told[0], told[1])
            if name not in fixes:
                fixes[name] = Attempt(action=told[0], component=told[1]).fix
            behind = told[len(_TRIED) : len(_ATTEMPT)]
            around = told[len(_ATTEMPT) + len(_SUPPOSED) :]
            told_in = None if around[0] is None else ToldIn(*around)
            row = (*told[: len(_TRIED)], fixes[name], supposed, *behind, told_in)
            attempts[number].append(Tried._make(row))
        contacts: dict[int, list[Heard]] = defaultdict(list)
        for number, *told in self._connection.execute(_of(wanted, _contacts())):
            contacts[number].append(Heard(*told))
        joined = spelt_alike(self._connection)
        visits: dict[int, list[LaterVisit]] = defaultdict(list)
        for of_its_car in (_visits, _told_of_earlier):
            for number, *told in self._of_one_car(of_its_car, wanted, joined):
                visits[number].append(LaterVisit(*told))
        for each in visits.values():
            each.sort(key=attrgetter("opened", "number"))
        found: list[RepairRecord] = []
        one_car = self._one_car(joined)
        for row in self._connection.execute(_cases().where(*wanted)):
            parts = (each.get(row[0], ()) for each in (attempts, contacts, visits))
            repair = RepairRecord(*row, *parts)
            car = one_car.get(repair.car, repair.car)
            found.append(repair if car == repair.car else repair._replace(car=car))
        numbers = [each.number for each in found if _may_concern_igniter(each)]
        done = self._told(numbers, (_typed(*_OF_SHOP), _methods(), _tested(), _notes()))
        heard = self._told(numbers, (_typed(EntryKind.COMPLAINT),))
        since = self._told(numbers, (_typed(EntryKind.CONTACT), _heard()))
        none: list[str] = []
        told_of = done.keys() | heard.keys() | since.keys()
        return [
            each._replace(
                told=done.get(each.number, none),
                heard=heard.get(each.number, none),
                since=since.get(each.number, none),
            )
            if each.number in told_of
            else each
            for each in found
        ]

    def _told(self, numbers: Iterable[int], queries: Sequence[Select[Any]]) -> dict[int, list[str]]:
        """Read what else the words of some jobs tell, see `RepairRecord`."""
        found: dict[int, list[str]] = defaultdict(list)
        for some in batches(numbers):
            for query in queries:
                (key, *_) = query.selected_columns
                for number, *words in self._connection.execute(query.where(key.in_(some))):
                    found[number].append(outcome_told(*words) if words[1:] else words[0])
        return found

    def _of_one_car(
        self, query: Callable[..., Select[Any]], wanted: Sequence[Any], joined: Mapping[int, int]
    ) -> Iterator[Sequence[Any]]:
        """Read what a query tells of visits of one car, in whatever spelling of its key tag.

        Cars in several spellings are read apart, some at a time: no index helps to find them, and
        a statement that named them all might be longer than the database takes.
        """
        for car, *told in self._connection.execute(_of_tagged(query).where(*wanted)):
            if car not in joined:
                yield told
        for cars in _some_at_a_time(joined):
            for _, *told in self._connection.execute(query(cars).where(*wanted)):
                yield told


def _some_at_a_time(joined: Mapping[int, int]) -> Iterator[dict[int, int]]:
    """Part cars, each with the first of its spellings, so that all of one stay together."""
    ordered = sorted(joined.items(), key=itemgetter(1))
    some: dict[int, int] = {}
    for _, spellings in groupby(ordered, key=itemgetter(1)):
        some |= dict(spellings)
        if len(some) >= _CARS_AT_A_TIME:
            yield some
            some = {}
    if some:
        yield some


_CARS_AT_A_TIME = 24
"""Few: each is compared with each."""
_JOB = JOBS.c[
    "number",
    "cause_digest",
    "cause_position",
    "vehicle_id",
    "opened",
    "closed",
    "odometer_km",
    "system",
    "proved_by",
    "reproduced",
    "complaint",
    "cause_component",
    "cause_location",
]
_TRIED = ATTEMPTS.c["action", "component", "words", "minutes", "parts_cost", "cured"]
_ATTEMPT = (*_TRIED, ATTEMPTS.c.part_maker, ATTEMPTS.c.verified)
_SUPPOSED = tuple(ATTEMPTS.c["supposed_component", "supposed_location", "supposed_failure_mode"])
_TOLD_IN = (
    select(ENTRIES.c.text)
    .where(
        ENTRIES.c.job_number == ATTEMPTS.c.job_number,
        ENTRIES.c.place == ATTEMPTS.c.said_entry,
        func.length(ENTRIES.c.text) > ATTEMPTS.c.said_end - ATTEMPTS.c.said_start,
    )
    .correlate(ATTEMPTS)
    .scalar_subquery()
)
_AROUND = (_TOLD_IN.label("told_in"), *ATTEMPTS.c["said_start", "said_end"])
_TOLD_BACK = CONTACTS.c.outcome == Outcome.COMEBACK
_VISIT, _LATER, _EARLIER = JOBS.alias(), JOBS.alias(), JOBS.alias()
_HERE, _THERE = VEHICLES.alias(), VEHICLES.alias()
_CODE_HERE, _CODE_THERE = CODES.alias(), CODES.alias()
"""Named once: to name all columns of a table anew at each question takes longer than to read it."""
_TODAY = bindparam("today", callable_=date.today, type_=CONTACTS.c.on.type)
"""The day on which a statement is run: most are made once."""
_NAMES_VOID = (
    select(_VISIT.c.number)
    .where(_VISIT.c.number == CONTACTS.c.job, _VISIT.c.void.is_not(None))
    .correlate(CONTACTS)
    .exists()
)
_OF_VOID_VISIT = and_(_NAMES_VOID, CONTACTS.c.outcome != Outcome.COMEBACK)
"""What a visit that is void was seen for counts as little as that; but a comeback that somebody
told stands, by its day alone."""

_CONTACT = (
    *CONTACTS.c["on", "outcome", "odometer_km"],
    case((~_NAMES_VOID, CONTACTS.c.job)),
    CONTACTS.c.by,
)


def _cause(component: str, location: str | None, how: FailureMode) -> Cause:
    return Cause(component=component, location=location, failure_mode=how)


def _supposed(
    known: Vocabulary, component: str | None, location: str | None, how: FailureMode | None
) -> str | None:
    """Return the digest of what an attempt was tried for; None if that was the job's own cause."""
    if not (component and how):
        return None
    return _digest(known.cause(_cause(component, location, how)))


@lru_cache(maxsize=10_000)
def _digest(cause: Cause) -> str:
    return cause_digest(cause.key)


@cache
def _attempts() -> Select[Any]:
    return _parts(ATTEMPTS, (*_ATTEMPT, *_SUPPOSED, *_AROUND))


@cache
def _contacts() -> Select[Any]:
    return _parts(CONTACTS, _CONTACT).where(CONTACTS.c.on <= _TODAY, ~_OF_VOID_VISIT)


def _may_concern_igniter(case: RepairRecord) -> bool:
    named = (case.complaint, case.component, *(each.component for each in case.attempts))
    return case.system is System.RESTRAINTS or any(map(may_name_igniter, named))


_OF_SHOP = tuple(each for each in EntryKind if each not in OF_OTHERS)


@cache
def _typed(*kinds: EntryKind) -> Select[Any]:
    return _parts(ENTRIES, (ENTRIES.c.text,)).where(ENTRIES.c.kind.in_(kinds))


@cache
def _methods() -> Select[Any]:
    return _parts(READINGS, (READINGS.c.method,)).where(READINGS.c.method.is_not(None))


@cache
def _heard() -> Select[Any]:
    return _parts(CONTACTS, (CONTACTS.c.words,)).where(CONTACTS.c.words.is_not(None))


@cache
def _tested() -> Select[Any]:
    return _parts(TESTS, TESTS.c["name", "seen"])


@cache
def _notes() -> Select[Any]:
    return select(JOBS.c.number, JOBS.c.notes).where(JOBS.c.notes.is_not(None))


@cache
def _cases() -> Select[Any]:
    return select(*_JOB).where(IS_CASE, JOBS.c.closed <= _TODAY).order_by(JOBS.c.number)


@cache
def _of_tagged(query: Callable[[], Select[Any]]) -> Select[Any]:
    """Make the statement of `_visits` or `_told_of_earlier` that is asked most."""
    return query()


@cache
def _named_as_one() -> Select[Any]:
    """Pairs of vehicles of which an answer says that they are one."""
    untagged = (and_(each.c.ref.is_(None), each.c.vin.is_(None)) for each in (_HERE, _THERE))
    return (
        select(_HERE.c.id, _THERE.c.id)
        .select_from(CONTACTS.join(JOBS, JOBS.c.number == CONTACTS.c.job_number))
        .join(_LATER, _LATER.c.number == CONTACTS.c.job)
        .join(_HERE, _HERE.c.id == JOBS.c.vehicle_id)
        .join(_THERE, _THERE.c.id == _LATER.c.vehicle_id)
        .where(COUNTS, _LATER.c.void.is_(None), _HERE.c.id != _THERE.c.id, or_(*untagged))
        .distinct()
    )


@cache
def _told_back() -> Select[Any]:
    """Jobs of which a comeback was told with the job as which it came back, the cars first."""
    proved = case((_LATER.c.closed.is_not(None), _LATER.c.cause_digest))
    return (
        select(
            *(JOBS.c.vehicle_id, _LATER.c.vehicle_id),
            *(JOBS.c.number, JOBS.c.cause_digest, _LATER.c.number, proved),
        )
        .join(CONTACTS, CONTACTS.c.job_number == JOBS.c.number)
        .join(_LATER, _LATER.c.number == CONTACTS.c.job)
        .where(_TOLD_BACK, CONTACTS.c.on >= JOBS.c.closed, COUNTS, _LATER.c.void.is_(None))
        .order_by(JOBS.c.number, _LATER.c.number)
        .distinct()
    )


def _parts(table: Any, columns: Any) -> Select[Any]:
    return select(table.c.job_number, *columns).order_by(table.c.job_number, table.c.place)


def _of(wanted: Sequence[Any], parts: Select[Any]) -> Select[Any]:
    """Rows of a list of the jobs wanted, be they cases or not: numbers come from an index alone."""
    (number, *_) = parts.selected_columns
    return parts.where(number.in_(select(JOBS.c.number).where(*wanted)))


def _same_car(one: Any, other: Any, joined: Mapping[int, int]) -> Any:
    """Say that two visits are one car's: the same, or of those that are joined."""
    cars = one.c.vehicle_id, other.c.vehicle_id
    if not joined:
        return cars[0] == cars[1]
    first = [case(joined, value=car) for car in cars]
    return and_(*(car.in_(list(joined)) for car in cars), first[0] == first[1])


def _visits(joined: Mapping[int, int] = MappingProxyType({})) -> Select[Any]:
    """For each case the later jobs of its car, and those opened while it was open on paper.

    The car comes first; with `joined` only these cars are read. Nobody has seen a car yet on a day
    to come: that was mistyped.
    """
    later = _LATER
    proved = case((later.c.closed.is_not(None), later.c.cause_digest))
    told: tuple[Any, ...] = (
        *(later.c.number, later.c.opened, later.c.odometer_km, later.c.system, later.c.complaint),
        *(_kin(later), proved, later.c.cause_position),
    )
    came = or_(
        later.c.opened > JOBS.c.closed,
        and_(later.c.opened == JOBS.c.closed, later.c.number > JOBS.c.number),
        and_(later.c.opened > JOBS.c.opened, later.c.opened < JOBS.c.closed),
    )
    return (
        select(JOBS.c.vehicle_id, JOBS.c.number, *told)
        .join(later, _same_car(later, JOBS, joined))
        .where(IS_CASE, came, later.c.void.is_(None), later.c.opened <= date.today())
    )


def _told_of_earlier(joined: Mapping[int, int] = MappingProxyType({})) -> Select[Any]:
    """For each case the comebacks told of earlier jobs of its car once it was handed over.

    As `_visits`.
    """
    earlier, named = _EARLIER, _LATER
    number = func.coalesce(named.c.number, earlier.c.number)
    on = case((named.c.opened < CONTACTS.c.on, named.c.opened), else_=CONTACTS.c.on)
    odometer_km = func.coalesce(CONTACTS.c.odometer_km, named.c.odometer_km)
    kin = or_(_kin(earlier), earlier.c.cause_digest.is_not_distinct_from(JOBS.c.cause_digest))
    handed_over_before = or_(
        earlier.c.closed < JOBS.c.closed,
        and_(earlier.c.closed == JOBS.c.closed, earlier.c.number < JOBS.c.number),
    )
    of_its_car = and_(
        named.c.number == CONTACTS.c.job,
        _same_car(named, JOBS, joined),
        named.c.void.is_(None),
    )
    return (
        select(
            *(JOBS.c.vehicle_id, JOBS.c.number),
            *(number, on, odometer_km, earlier.c.system, earlier.c.complaint, kin),
            *(null(), null(), earlier.c.number),
        )
        .join(earlier, _same_car(earlier, JOBS, joined))
        .join(CONTACTS, CONTACTS.c.job_number == earlier.c.number)
        .join(named, of_its_car, isouter=True)
        .where(IS_CASE, handed_over_before, earlier.c.void.is_(None))
        .where(CONTACTS.c.outcome == Outcome.COMEBACK, CONTACTS.c.on <= _TODAY)
        .where(on > JOBS.c.closed, number != JOBS.c.number)
    )


def _kin(other: Any) -> Any:
    """Say whether another job has a code of the same family as one of the case."""
    here, there = _CODE_HERE, _CODE_THERE
    return (
        select(here.c.code)
        .join(there, func.substr(there.c.code, 1, FAMILY) == func.substr(here.c.code, 1, FAMILY))
        .where(here.c.job_number == JOBS.c.number, there.c.job_number == other.c.number)
        .exists()
    )
