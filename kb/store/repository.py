"""Jobs, as a unit of work hands them out and takes them in."""

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any
from uuid import uuid4

from sqlalchemy import (
    Column,
    ColumnElement,
    CompoundSelect,
    Select,
    and_,
    delete,
    func,
    or_,
    select,
    union,
    update,
)

from kb.bounds import FIRST_YEAR, LARGEST_INTEGER, LAST_YEAR, check_text
from kb.case import (
    CaseTests,
    Cause,
    DiagnosticTest,
    Job,
    Quantity,
    System,
    TroubleCode,
    Vehicle,
    VehicleModel,
)
from kb.errors import Conflict, NoSuchJob, StoreUnusable
from kb.store.cars import Cars, spelt_alike, vehicle_columns, vehicle_of
from kb.store.changes import Changes, Recording
from kb.store.history import ADDED, differences
from kb.store.mapping import (
    CAUSE_COLUMNS,
    PARTS,
    ListField,
    cause_digest,
    cause_of,
    job_of,
    job_row,
    part_of,
    part_rows,
)
from kb.store.names import ShopNames
from kb.store.tables import ATTEMPTS, CODES, COUNTS, IS_CASE, JOBS, READINGS, VEHICLES
from kb.store.transaction import Transaction

BATCH = 1000
"""How many jobs are read at once: bounds memory and the length of one statement."""

_STATES = {
    "open": JOBS.c.closed.is_(None) & COUNTS,
    "closed": IS_CASE,
    "closed without a cause": JOBS.c.closed.is_not(None)
    & JOBS.c.cause_component.is_(None)
    & COUNTS,
    "void": ~COUNTS,
}
_JOB_COLUMNS = [
    column for column in JOBS.columns if column.name not in {"vehicle_id", "cause_digest"}
]
(_TESTS,) = (part for part in PARTS if part.field == "tests")


@cache
def _jobs() -> Select[Any]:
    """Jobs with their vehicles; made once, as it takes longer than to read one."""
    query = select(*_JOB_COLUMNS, *vehicle_columns(), VEHICLES.c.id)
    return query.outerjoin(VEHICLES).order_by(JOBS.c.number)


@cache
def _items_of(part: ListField) -> tuple[Select[Any], list[str]]:
    """Items of one of the lists in their order, behind their job's number; and their columns."""
    number, columns = part.table.c.job_number, part.columns
    query = select(number, *columns).order_by(number, part.table.c.place)
    return query, [column.name for column in columns]


class Jobs(Recording):
    """The jobs of a store. Nothing is kept unless the unit of work is committed."""

    def __init__(self, transaction: Transaction, changes: Changes, names: ShopNames) -> None:
        super().__init__(transaction, changes)
        self._names = names
        self._cars = Cars(transaction, changes)
        self._free: set[int | str | None] = set()

    def look_ahead(self, jobs: Iterable[Job]) -> None:
        """Read with few statements what `add` would ask about each of these jobs."""
        jobs = list(jobs)
        numbers = {job.number for job in jobs if job.number is not None}
        uids = {job.uid for job in jobs if job.uid is not None}
        self._free = {*(numbers - self.uids_of(numbers).keys())}
        self._free |= uids - self.numbers_of(uids).keys()
        self._cars.look_ahead(job.vehicle for job in jobs)

    def add(self, job: Job) -> Job:
        """Store a new job, and return it as stored, with what was known of the vehicle already.

        Without a number or uid it is given the next number and a fresh uid.

        Raises
        ------
        Conflict
            If its number or uid is taken, or it contradicts what is known of its vehicle.
        """
        self._refuse_taken(job)
        number = job.number or self.free_number()
        vehicle_id, vehicle = self._cars.admit(job.vehicle)
        stored = replace(job, number=number, uid=job.uid or uuid4().hex, vehicle=vehicle)
        self._transaction.put(JOBS, [job_row(stored, vehicle_id, self._counted(stored.cause))])
        self._free -= {stored.number, stored.uid}
        for part in PARTS:
            self._transaction.put(part.table, part_rows(stored, part))
        self._changes.note(number, ADDED)
        return stored

    def replace(self, job: Job) -> Job:
        """Store the edited form of a job, return it, and write down every field that changed.

        A changed vehicle is corrected for all jobs of that car, unless its ref (or vin) changed:
        then the job is moved to the other car.

        Raises
        ------
        NoSuchJob
            If there is no job of that number.
        Conflict
            If the uid differs, or the edit contradicts what is known of the vehicle.
        """
        if job.number is None:
            raise NoSuchJob("number: None is no stored job; add the job first")
        before = self.get(job.number)
        if job.uid not in {None, before.uid}:
            raise Conflict(f"uid: {job.uid!r} cannot replace {before.uid!r}; a job keeps its uid")
        if job.vehicle != before.vehicle:
            vehicle_id, vehicle = self._cars.correct(job.number, job.vehicle)
        else:
            vehicle_id, vehicle = self._vehicle_id(job.number), before.vehicle
        after = replace(job, uid=before.uid, vehicle=vehicle)
        for change in differences(before, after):
            self._changes.note(job.number, change.field, change.old, change.new)
        row = job_row(after, vehicle_id, self._counted(after.cause))
        self._connection.execute(update(JOBS).where(JOBS.c.number == job.number).values(row))
        for part in PARTS:
            if getattr(before, part.field) != getattr(after, part.field):
                self._connection.execute(
                    delete(part.table).where(part.table.c.job_number == job.number)
                )
                self._transaction.put(part.table, part_rows(after, part))
        return after

    def get(self, number: int) -> Job:
        """Return one job by its number, as it was typed, so that it may be edited.

        Raises
        ------
        NoSuchJob
            With the nearest numbers there are.
        """
        return self.get_many([number], as_typed=True)[0]

    def get_many(self, numbers: Iterable[int], *, as_typed: bool = False) -> list[Job]:
        """Return jobs by number, in the order asked for; as typed, or under the shop's own names.

        Raises
        ------
        NoSuchJob
            If one of them does not exist.
        """
        wanted = list(numbers)
        possible = [number for number in wanted if 1 <= number <= LARGEST_INTEGER]
        found = {
            job.number: job
            for start in range(0, len(possible), BATCH)
            for job in self._load(possible[start : start + BATCH], as_typed=as_typed)
        }
        missing = [number for number in wanted if number not in found]
        if missing:
            raise NoSuchJob(self._no_such(missing[0]))
        return [found[number] for number in wanted]

    def numbers_of(self, uids: Iterable[str]) -> dict[str, int]:
        """Numbers of the jobs with these uids, by uid; a uid that no job has is left out."""
        return dict(self._pairs(JOBS.c.uid, JOBS.c.number, uids))

    def uids_of(self, numbers: Iterable[int]) -> dict[int, str]:
        """Uids of the jobs with these numbers, by number; a number that is free is left out."""
        return dict(self._pairs(JOBS.c.number, JOBS.c.uid, numbers))

    def last_number(self) -> int:
        """Return the highest number of a job; 0 when there is none."""
        return self._connection.scalar(select(func.max(JOBS.c.number))) or 0

    def free_number(self) -> int:
        """Return the number after the highest, or the first gap where that is the last there is."""
        last = self.last_number()
        if last < LARGEST_INTEGER:
            return last + 1
        after = JOBS.alias()
        taken = select(after.c.number).where(after.c.number == JOBS.c.number + 1).exists()
        gap = select(func.min(JOBS.c.number)).where(JOBS.c.number < LARGEST_INTEGER, ~taken)
        return (self._connection.scalar(gap) or 0) + 1

    def all(
        self,
        *,
        cases_only: bool = False,
        as_typed: bool = False,
        lists: Container[str] | None = None,
    ) -> Iterator[Job]:
        """Every job (or case) in order of number, read in batches; `as_typed` as in `get_many`.

        Where `lists` are named, a job comes with no others of its lists, whatever it has: for who
        looks at none of them, since they take most of the time.
        """
        query = select(JOBS.c.number).order_by(JOBS.c.number).limit(BATCH)
        if cases_only:
            query = query.where(IS_CASE)
        numbers = self._numbers(query)
        while numbers:
            yield from self._load(numbers, as_typed=as_typed, lists=lists)
            numbers = self._numbers(query.where(JOBS.c.number > numbers[-1]))

    def tests_of_causes(self, keys: Iterable[tuple[str, str, str]]) -> list[CaseTests]:
        """Tests of the cases whose cause has one of the keys (`Cause.key`), in order of number.

        A case without tests is left out.
        """
        known = self._names.vocabulary()
        wanted = [IS_CASE, JOBS.c.cause_digest.in_([cause_digest(key) for key in keys])]
        tests: dict[int, list[DiagnosticTest]] = defaultdict(list)
        of_cases = _TESTS.table.c.job_number.in_(select(JOBS.c.number).where(*wanted))
        for number, test in self._items(_TESTS, of_cases):
            tests[number].append(test)
        query = select(JOBS.c.number, *JOBS.c[CAUSE_COLUMNS]).where(*wanted)
        return [
            CaseTests(
                number,
                known.cause(cause_of(dict(zip(CAUSE_COLUMNS, cause, strict=True)))),
                tests[number],
            )
            for number, *cause in self._connection.execute(query.order_by(JOBS.c.number))
            if number in tests
        ]

    def measured(self, quantity: Quantity) -> dict[str, int]:
        """Every item that a quantity was measured of, as spelt, with how many readings."""
        query = select(READINGS.c.item, func.count()).join(JOBS).where(COUNTS)
        query = query.where(READINGS.c.quantity == quantity)
        rows = self._connection.execute(query.group_by(READINGS.c.item))
        return {row[0]: row[1] for row in rows}

    def with_readings(
        self, items: Iterable[str], quantity: Quantity, value: float | None = None
    ) -> list[Job]:
        """Jobs on which a quantity was measured of one of the items, in order of number.

        With a value also the jobs that read it, within a thousandth, of any item.
        """
        wanted = [READINGS.c.item.in_(list(items))]
        if value is not None:
            low, high = sorted((value * 0.999, value * 1.001))
            wanted.append(READINGS.c.value.between(low, high))
        query = select(READINGS.c.job_number).join(JOBS).where(COUNTS)
        query = query.where(READINGS.c.quantity == quantity, or_(*wanted))
        return self.get_many(self._numbers(query.distinct().order_by(READINGS.c.job_number)))

    def select(
        self,
        *,
        state: str | None = None,
        vehicle: str | None = None,
        system: System | None = None,
        code: TroubleCode | None = None,
        since: date | None = None,
        limit: int | None = None,
        or_unnamed: bool = False,
    ) -> list[Job]:
        """List jobs, the last opened first.

        `state` is as `Job.state` tells it; void jobs are only listed by it. The words of `vehicle`
        must all occur in the vehicle's details, its ref and vin included; a code without a failure
        type fits with any. With `or_unnamed` jobs that name no system are listed with those of one.
        """
        wanted = _wanted(state, vehicle, None if or_unnamed else system, code, since)
        if or_unnamed and system is not None:
            wanted.append(or_(JOBS.c.system == system, JOBS.c.system.is_(None)))
        return self._last_opened(wanted, limit)

    def numbers_with(
        self,
        *,
        state: str | None = None,
        vehicle: str | None = None,
        part: str | None = None,
        technician: str | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> Sequence[int]:
        """Return the numbers of the jobs chosen, as in `select`.

        The words of `part` must all stand in what was repaired, in the cause, or in the notes, with
        case evened out; `until` is the last day of opening.
        """
        wanted = _wanted(state=state, vehicle=vehicle, since=since)
        if until is not None:
            wanted.append(JOBS.c.opened <= until)
        if technician is not None:
            wanted.append(func.lower(JOBS.c.technician) == technician.strip().lower())
        if part is not None:
            check_text("part", part)
            repaired = ATTEMPTS.c.component, JOBS.c.cause_component, JOBS.c.notes
            attempts, cause, notes = (_has_words(column, part) for column in repaired)
            repaired_on = select(ATTEMPTS.c.job_number).where(attempts)
            wanted.append(or_(JOBS.c.number.in_(repaired_on), cause, notes))
        return self._numbers(select(JOBS.c.number).join(VEHICLES).where(*wanted))

    def of_model(
        self, words: str, spellings: Iterable[str], lines: Sequence[VehicleModel], limit: int
    ) -> tuple[list[Job], int]:
        """Jobs of one model, the last opened first, and how many there are in all.

        The words must all occur in the vehicle's details, and its model be one of the spellings;
        where there are lines, it was built in the years of one of them, if its year is known.
        """
        wanted = [*_wanted(vehicle=words), VEHICLES.c.model.in_(list(spellings))]
        if lines:
            years = (
                VEHICLES.c.year.between(line.first_year or FIRST_YEAR, line.last_year or LAST_YEAR)
                for line in lines
            )
            wanted.append(or_(VEHICLES.c.year.is_(None), *years))
        count = select(func.count()).select_from(JOBS).join(VEHICLES).where(*wanted)
        return self._last_opened(wanted, limit), self._count(count)

    def of_vehicle(self, vehicle: Vehicle) -> list[Job]:
        """Jobs of one car that count, by its ref, else its vin, in order of opening."""
        return self.get_many(self.numbers_of_vehicle(vehicle))

    def numbers_of_vehicle(self, vehicle: Vehicle) -> Sequence[int]:
        """Numbers of these jobs."""
        if vehicle.ref is not None:
            same = VEHICLES.c.ref == vehicle.ref
            own = self._connection.scalar(select(VEHICLES.c.id).where(same))
            joined = spelt_alike(self._connection)
            if own in joined:
                one = [car for car, first in joined.items() if first == joined[own]]
                same = VEHICLES.c.id.in_(one)
        elif vehicle.vin is not None:
            same = VEHICLES.c.vin == vehicle.vin
        else:
            return []
        query = select(JOBS.c.number).join(VEHICLES).where(same, COUNTS)
        return self._numbers(query.order_by(JOBS.c.opened, JOBS.c.number))

    def vehicles(self) -> list[Vehicle]:
        """Every different vehicle of the store."""
        query = select(*vehicle_columns()).distinct()
        return [vehicle_of(row) for row in self._connection.execute(query)]

    def vehicles_of_model(self, model: str) -> list[Vehicle]:
        """Every different vehicle of a model, in whatever case that is written."""
        named = func.lower(VEHICLES.c.model) == model.lower()
        query = select(*vehicle_columns()).where(named).distinct()
        return [vehicle_of(row) for row in self._connection.execute(query)]

    def readable_vehicles(self) -> list[Vehicle]:
        """Every different vehicle that can be read: what a spoilt one tells is for its own jobs."""
        query = select(*vehicle_columns()).distinct()
        found = []
        for row in self._connection.execute(query):
            with suppress(ValueError, TypeError, AttributeError):
                found.append(vehicle_of(row))
        return found

    def codes_like(self, family: str) -> list[tuple[str, int]]:
        """Codes that begin so, with how many jobs each, the most frequent first."""
        count = func.count(CODES.c.job_number.distinct())
        begins = CODES.c.code.startswith(family, autoescape=True)
        query = select(CODES.c.code, count).join(JOBS).where(begins, COUNTS)
        rows = self._connection.execute(query.group_by(CODES.c.code))
        return sorted(((row[0], row[1]) for row in rows), key=lambda row: (-row[1], row[0]))

    def components(self) -> list[str]:
        """Every component that a cause or an attempt names, each spelling once.

        One that has another name is told by the shop's own.
        """
        causes = select(JOBS.c.cause_component).where(JOBS.c.cause_component.is_not(None), COUNTS)
        attempts = select(ATTEMPTS.c.component).join(JOBS).where(COUNTS)
        either: CompoundSelect[Any] = union(causes, attempts)
        return sorted({*map(self._names.vocabulary().component, self._connection.scalars(either))})

    def count(self) -> int:
        """How many jobs there are."""
        return self._count(select(func.count()).select_from(JOBS))

    def count_cases(self) -> int:
        """How many of them are closed with a cause."""
        return self._count(select(func.count()).select_from(JOBS).where(IS_CASE))

    def count_in_state(
        self, state: str, *, since: date | None = None, until: date | None = None
    ) -> int:
        """How many jobs, opened between two days, are in a state as `select` names them."""
        query = select(func.count()).select_from(JOBS).where(_STATES[state])
        if since:
            query = query.where(JOBS.c.opened >= since)
        if until:
            query = query.where(JOBS.c.opened <= until)
        return self._count(query)

    def _counted(self, cause: Cause | None) -> Cause | None:
        return cause and self._names.vocabulary().cause(cause)

    def _load(
        self,
        numbers: Sequence[int],
        *,
        as_typed: bool = False,
        lists: Container[str] | None = None,
    ) -> list[Job]:
        """Read the jobs there are among the numbers, ascending; one statement a table."""
        jobs = self._loaded(numbers, [p for p in PARTS if lists is None or p.field in lists])
        return jobs if as_typed else list(map(self._names.vocabulary().job, jobs))

    def _loaded(self, numbers: Sequence[int], lists: Iterable[ListField]) -> list[Job]:
        parts: dict[int, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
        for part in lists:
            of_jobs = part.table.c.job_number.in_(numbers)
            for number, item in self._items(part, of_jobs):
                parts[number][part.field].append(item)
        rows = self._connection.execute(_jobs().where(JOBS.c.number.in_(numbers))).all()
        if astray := [row.number for row in rows if row.id is None]:
            raise StoreUnusable(f"job {astray[0]}: its vehicle is not there; see 'kb db check'")
        width, names = len(_JOB_COLUMNS), [column.name for column in _JOB_COLUMNS]
        return [
            job_of(
                dict(zip(names, row[:width], strict=True)),
                vehicle_of(row[width:-1]),
                {field: tuple(items) for field, items in parts[row.number].items()},
            )
            for row in rows
        ]

    def _items(self, part: ListField, *wanted: Any) -> Iterator[tuple[int, Any]]:
        """Read items of one of the lists, each with its job's number, in order."""
        query, names = _items_of(part)
        for job, *values in self._connection.execute(query.where(*wanted)).all():
            yield job, part_of(part, dict(zip(names, values, strict=True)))

    def _last_opened(self, wanted: Iterable[Any], limit: int | None) -> list[Job]:
        query = select(JOBS.c.number).join(VEHICLES).where(*wanted)
        last_first = query.order_by(JOBS.c.opened.desc(), JOBS.c.number.desc())
        return self.get_many(self._numbers(last_first.limit(limit)))

    def _numbers(self, query: Select[int]) -> Sequence[int]:
        return self._connection.scalars(query).all()

    def _count(self, query: Select[int]) -> int:
        return self._connection.execute(query).scalar_one()

    def _pairs(self, key: Any, value: Any, wanted: Iterable[Any]) -> Iterator[tuple[Any, Any]]:
        keys = list(wanted)
        for start in range(0, len(keys), BATCH):
            query = select(key, value).where(key.in_(keys[start : start + BATCH]))
            yield from self._connection.execute(query).all()

    def _vehicle_id(self, number: int) -> int:
        query = select(JOBS.c.vehicle_id).where(JOBS.c.number == number)
        return int(self._connection.execute(query).scalar_one())

    def _refuse_taken(self, job: Job) -> None:
        told = {job.number, job.uid} - {None}
        if told <= self._free:
            return
        taken = or_(JOBS.c.number == job.number, JOBS.c.uid == job.uid)
        row = self._connection.execute(select(JOBS.c.number, JOBS.c.uid).where(taken)).first()
        if row is None:
            return
        if row.uid == job.uid:
            raise Conflict(f"uid: {job.uid!r} is job {row.number} already; edit that job instead")
        raise Conflict(
            f"number: {job.number} is taken by another job; leave it out to get the next one"
        )

    def _no_such(self, number: int) -> str:
        count = self.count()
        if not count:
            return f"number: there is no job {number}; the store holds no job yet"
        within = min(max(number, 0), LARGEST_INTEGER)
        below = self._connection.scalar(
            select(func.max(JOBS.c.number)).where(JOBS.c.number < within)
        )
        above = self._connection.scalar(
            select(func.min(JOBS.c.number)).where(JOBS.c.number > within)
        )
        nearest = " and ".join(str(near) for near in (below, above) if near is not None)
        return f"number: there is no job {number} among the {count:,}; the nearest is {nearest}"


def _wanted(
    state: str | None = None,
    vehicle: str | None = None,
    system: System | None = None,
    code: TroubleCode | None = None,
    since: date | None = None,
) -> list[Any]:
    """Conditions on jobs and their vehicles; see `Jobs.select`."""
    wanted: list[Any] = [COUNTS if state is None else _STATES[state]]
    if vehicle is not None:
        check_text("vehicle", vehicle)
        wanted += [
            VEHICLES.c.search.contains(word, autoescape=True) for word in vehicle.casefold().split()
        ]
    if system is not None:
        wanted.append(JOBS.c.system == system)
    if code is not None:
        wanted.append(JOBS.c.number.in_(_with_code(code)))
    if since is not None:
        wanted.append(JOBS.c.opened >= since)
    return wanted


def _has_words(column: Column[Any], text: str) -> ColumnElement[bool]:
    return and_(*(column.icontains(word, autoescape=True) for word in text.split()))


def _with_code(code: TroubleCode) -> Select[int]:
    query = select(CODES.c.job_number).where(CODES.c.code == code.code)
    if code.failure_type is not None:
        query = query.where(CODES.c.failure_type == code.failure_type)
    return query
