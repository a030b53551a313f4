"""Whole jobs as fix rates need them, for tests and benchmarks that have no store."""

from datetime import date
from typing import Self

from kb.case import Attempt, Contact, Heard, Job, RepairRecord, Tried


class JobRepair(RepairRecord):
    """A `RepairRecord` made of a whole job."""

    __slots__ = ()

    @classmethod
    def of(cls, job: Job, seen: date | None = None) -> Self | None:
        """Take what matters of a job; None of one that is still open or has no cause."""
        if job.closed is None or job.cause is None:
            return None
        return cls(
            number=job.number or 0,
            cause=job.cause.key,
            position=job.cause.position,
            car=job.vehicle.key,
            opened=job.opened,
            closed=job.closed,
            odometer_km=job.odometer_km,
            system=job.system,
            proved_by=job.proved_by,
            reproduced=job.reproduced,
            attempts=[_tried(each) for each in job.attempts],
            contacts=[_heard(each) for each in job.contacts],
            seen=seen,
            seen_km=None,
        )


def _tried(each: Attempt) -> Tried:
    return Tried(**{name: getattr(each, name) for name in Tried._fields})


def _heard(each: Contact) -> Heard:
    return Heard(**{name: getattr(each, name) for name in Heard._fields})
