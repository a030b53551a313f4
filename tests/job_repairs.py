"""Whole jobs as fix rates need them, for tests and benchmarks that have no store."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Self

from kb.case import Job
from kb.rates.trials import Heard, Tried


@dataclass(frozen=True, slots=True)
class JobRepair:
    """A `RepairRecord` made of a whole job."""

    number: int | None
    cause: Hashable
    position: str | None
    car: Hashable | None
    opened: date
    closed: date
    odometer_km: int | None
    attempts: Sequence[Tried]
    contacts: Sequence[Heard]
    seen: date | None
    seen_km: int | None = None
    reproduced: bool | None = None

    @classmethod
    def of(cls, job: Job, seen: date | None = None) -> Self | None:
        """Take what matters of a job; None of one that is still open or has no cause."""
        if job.closed is None or job.cause is None:
            return None
        return cls(
            number=job.number,
            cause=job.cause.key,
            position=job.cause.position,
            car=job.vehicle.key,
            opened=job.opened,
            closed=job.closed,
            odometer_km=job.odometer_km,
            attempts=job.attempts,
            contacts=job.contacts,
            seen=seen,
            reproduced=job.reproduced,
        )
