"""What fix rates need of the jobs of a store, and nothing else: plain rows, read in bulk.

Whole jobs take several times as long, and a question may have to read thousands.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import func, select

from kb.case import Action, Attempt, Cause, FailureMode, Heard, Outcome, RepairRecord, Tried
from kb.store.mapping import cause_digest
from kb.store.tables import ATTEMPTS, CONTACTS, COUNTS, IS_CASE, JOBS
from kb.store.transaction import InTransaction


class StoredReturn(NamedTuple):
    """A later job of a case's car about the same system."""

    case: int
    closed: date
    job: int
    opened: date
    complaint: str
    odometer_km: int | None
    cause: Cause | None


class Repairs(InTransaction):
    """The cases of a store as fix rates need them.

    The `cause` of each is a `cause_digest`, its `car` the key of a vehicle.
    """

    def of_causes(self, keys: Iterable[tuple[str, str, str]]) -> dict[str, list[RepairRecord]]:
        """Read the cases of some causes (`Cause.key`), by `cause_digest`, in order of number."""
        digests = [cause_digest(key) for key in keys]
        found: dict[str, list[RepairRecord]] = {digest: [] for digest in digests}
        for repair in self._read(JOBS.c.cause_digest.in_(digests)):
            found[repair.cause].append(repair)
        return found

    def all(self) -> list[RepairRecord]:
        """Read every case, in order of number."""
        return self._read()

    def causes(self) -> list[tuple[Cause, int]]:
        """Every different cause, without position and words, with how many cases it has."""
        named = JOBS.c["cause_component", "cause_location", "cause_failure_mode"].values()
        query = (
            select(func.count(), *(func.min(column) for column in named[:2]), named[2])
            .where(IS_CASE)
            .group_by(JOBS.c.cause_digest, named[2])
            .order_by(func.count().desc(), *map(func.min, named[:2]))
        )
        return [(_cause(*cause), count) for count, *cause in self._connection.execute(query)]

    def of_causes_closed(self, first: date, last: date) -> list[RepairRecord]:
        """Read the cases of every cause that a case closed in these days had, by number."""
        recent = select(JOBS.c.cause_digest).where(JOBS.c.closed.between(first, last), COUNTS)
        return self._read(JOBS.c.cause_digest.in_(recent))

    def returns(self, first: date, last: date) -> list[StoredReturn]:
        """Later jobs of the cars of cases closed in these days, about the same system, by number.

        Without those that a contact of the case names: somebody has judged them.
        """
        later = JOBS.alias()
        judged = select(CONTACTS.c.job_number).where(
            CONTACTS.c.job_number == JOBS.c.number,
            CONTACTS.c.job == later.c.number,
            CONTACTS.c.outcome != Outcome.NOT_TOLD,
        )
        told: tuple[Any, ...] = (
            *(JOBS.c.number, JOBS.c.closed),
            *(later.c.number, later.c.opened, later.c.complaint, later.c.odometer_km),
            *(later.c.cause_component, later.c.cause_location, later.c.cause_failure_mode),
        )
        query = (
            select(*told)
            .join(later, later.c.vehicle_id == JOBS.c.vehicle_id)
            .where(IS_CASE, JOBS.c.closed.between(first, last), ~judged.exists())
            .where(later.c.opened >= JOBS.c.closed, later.c.number > JOBS.c.number)
            .where(later.c.system == JOBS.c.system, later.c.void.is_(None))
            .order_by(JOBS.c.number, later.c.number)
        )
        return [
            StoredReturn._make((*row[:6], _cause(*row[6:]) if row[6] else None))
            for row in self._connection.execute(query)
        ]

    def only_final_fixes(self, least: int = 10) -> bool:
        """Whether there are that many attempts and not one failed: first attempts are missing."""
        counting = select(ATTEMPTS.c.job_number).join(JOBS).where(COUNTS)
        failed = counting.where(ATTEMPTS.c.cured.is_(False)).limit(1)
        if self._connection.execute(failed).first() is not None:
            return False
        every = select(func.count()).select_from(counting.subquery())
        return self._connection.execute(every).scalar_one() >= least

    def _read(self, *wanted: Any) -> list[RepairRecord]:
        attempts: dict[int, list[Tried]] = defaultdict(list)
        fixes: dict[tuple[Action, str], tuple[str, str]] = {}
        for number, *told in self._connection.execute(_parts(ATTEMPTS, _ATTEMPT, wanted)):
            name = (told[0], told[1])
            if name not in fixes:
                fixes[name] = Attempt(action=told[0], component=told[1]).fix
            attempts[number].append(Tried._make((*told, fixes[name])))
        contacts: dict[int, list[Heard]] = defaultdict(list)
        heard = _parts(CONTACTS, _CONTACT, (*wanted, CONTACTS.c.on <= date.today()))
        for number, *told in self._connection.execute(heard):
            contacts[number].append(Heard(*told))
        visits = {row[0]: (row[1], row[2]) for row in self._connection.execute(_visits(wanted))}
        query = select(*_JOB).where(IS_CASE, *wanted).order_by(JOBS.c.number)
        found = []
        for row in self._connection.execute(query):
            parts = attempts.get(row[0], ()), contacts.get(row[0], ()), *visits.get(row[0], _NONE)
            found.append(RepairRecord._make((*row, *parts)))
        return found


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
]
_ATTEMPT = ATTEMPTS.c["action", "component", "words", "minutes", "parts_cost", "cured"]
_CONTACT = CONTACTS.c["on", "outcome", "odometer_km", "job"]
_NONE: tuple[date | None, int | None] = (None, None)


def _cause(component: str, location: str | None, how: FailureMode) -> Cause:
    return Cause(component=component, location=location, failure_mode=how)


def _parts(table: Any, columns: Any, wanted: Any) -> Any:
    query = select(table.c.job_number, *columns).join(JOBS, JOBS.c.number == table.c.job_number)
    return query.where(IS_CASE, *wanted).order_by(table.c.job_number, table.c.place)


def _visits(wanted: Any) -> Any:
    """For each case whose car came again after it was closed, the last such day and odometer."""
    later = JOBS.alias()
    return (
        select(JOBS.c.number, func.max(later.c.opened), func.max(later.c.odometer_km))
        .join(later, later.c.vehicle_id == JOBS.c.vehicle_id)
        .where(IS_CASE, later.c.opened > JOBS.c.closed, later.c.void.is_(None), *wanted)
        .group_by(JOBS.c.number)
    )
