"""Looking jobs up: one, a list, or the history of one."""

from dataclasses import dataclass
from datetime import date

from kb.case import Job
from kb.intake.codes import parse_code
from kb.intake.systems import parse_system
from kb.safety.cautions import cautions_for, systems_of
from kb.store.database import open_store
from kb.store.history import Change
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Which jobs to list; see `kb.store.repository.Jobs.select`."""

    state: str | None = None
    vehicle: str | None = None
    system: str | None = None
    code: str | None = None
    since: date | None = None
    limit: int | None = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class JobList:
    """The jobs selected, the last opened first, of how many there are in the store."""

    jobs: tuple[Job, ...]
    total: int


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSheet:
    """All that is known of one job, under the cautions of its system."""

    job: Job
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Every change of one job, oldest first."""

    job: int
    changes: tuple[Change, ...]


def list_jobs(address: str, selection: Selection) -> JobList:
    """List jobs, the last opened first.

    Raises
    ------
    KbError
        If the store cannot be opened, or the system or code cannot be understood.
    """
    system = parse_system(selection.system) if selection.system else None
    code = parse_code(selection.code) if selection.code else None
    with UnitOfWork(open_store(address), read_only=True) as work:
        jobs = work.jobs.select(
            state=selection.state,
            vehicle=selection.vehicle,
            system=system,
            code=code,
            since=selection.since,
            limit=selection.limit,
        )
        return JobList(jobs=tuple(jobs), total=work.jobs.count())


def show_job(address: str, number: int) -> JobSheet:
    """Return all that is known of a job.

    Raises
    ------
    NoSuchJob
        If there is none of that number.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        job = work.jobs.get(number)
    return JobSheet(job=job, cautions=cautions_for(systems_of(job.codes, [job.system])))


def job_history(address: str, number: int) -> History:
    """Return every change of a job.

    Raises
    ------
    NoSuchJob
        If there is none of that number.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        work.jobs.get(number)
        return History(job=number, changes=tuple(work.changes.of(number)))
