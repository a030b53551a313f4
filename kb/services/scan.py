"""Scanning the shop's past for what keeps coming back."""

from dataclasses import dataclass
from datetime import date

from kb.case import Job, System
from kb.errors import Notice
from kb.intake.systems import parse_system
from kb.progress import Progress, counted
from kb.recurrence.excess import recurring
from kb.recurrence.pattern import Pattern
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """What keeps coming back, the surest first, and what was looked at for it.

    Looked at were `cases` of all systems, opened from `since` until `until` (None if there are
    none); with a `system` only its faults are told.
    """

    system: System | None
    since: date | None
    until: date | None
    cases: int
    notices: tuple[str, ...]
    patterns: tuple[Pattern, ...]


def scan(
    address: str,
    settings: Settings,
    *,
    system: str | None = None,
    since: date | None = None,
    progress: Progress | None = None,
) -> Scan:
    """Find the faults that some make or model has more often than its share.

    With a system only its faults are told, compared with all; `since` leaves out what came earlier.
    """
    wanted = parse_system(system) if system else None
    cases = [job for job in read_cases(address, progress) if since is None or job.opened >= since]
    days = [job.opened for job in cases]
    return Scan(
        system=wanted,
        since=min(days, default=None),
        until=max(days, default=None),
        cases=len(cases),
        notices=_notices(cases, settings),
        patterns=recurring(cases, settings.recurrence, system=wanted),
    )


def read_cases(address: str, progress: Progress | None = None) -> list[Job]:
    """Read every case of a store, oldest number first."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        cases = work.jobs.all(cases_only=True)
        return list(counted(cases, work.jobs.count_cases(), progress))


def _notices(cases: list[Job], settings: Settings) -> tuple[str, ...]:
    if not cases:
        return (Notice.NO_CASES,)
    if len(cases) < settings.diagnosis.few_jobs:
        return (Notice.FEW_TO_COMPARE,)
    return ()
