"""Looking jobs up: one, a list, or the history of one."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from kb.case import Contact, Job, LaterVisit, Outcome, System, is_too_soon
from kb.intake.codes import parse_code
from kb.intake.parts import NumberedPart, numbered_parts
from kb.intake.systems import parse_system
from kb.local_time import local_now
from kb.rates.returns import again_unsaid, came_back_on, denied_again, system_of
from kb.rates.trials import trials
from kb.safety.hazards import Situation, cautions_of, cautions_of_list, concerns, hazards
from kb.safety.igniter_concern import about_igniter
from kb.safety.job_dangers import dangers_of
from kb.safety.job_words import FIT, hidden_parts, is_igniter_job
from kb.services.deeds import deeds_of, imported, steps_of
from kb.services.found_wrong import told_wrong_of
from kb.services.indexing import shop_wording
from kb.settings import CONFIRMATION_HOURS, RateSettings
from kb.store.database import open_store
from kb.store.history import Change
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.locks import ended, unvouched


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
    """The jobs selected, the last opened first, of how many there are in the store.

    `complaint_as_typed` are their complaints as whole sentences, by number of the job;
    `igniter_jobs` the numbers of those that concern an igniter, also by the shop's own words.
    """

    cautions: tuple[str, ...] = ()
    jobs: tuple[Job, ...]
    total: int
    complaint_as_typed: dict[int, str] = field(default_factory=dict)
    igniter_jobs: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSheet:
    """All that is known of one job, under its cautions, and whether it concerns an igniter.

    `parts` number what is on its page. `unvouched` are steps that wanted a confirmation and had
    none, `ended` the places of the confirmations that hold no more, `imported` of those that
    came with the job from elsewhere and open nothing here; `dangerous` tells that a step was
    done that nobody should repeat, `withheld` that something of it is not shown.
    `complaint_as_typed` is the whole sentence, of which the job's own complaint is what is left
    without codes and readings. `back` is the first return of the car for something alike that
    nobody has judged, `denied` the first that was said to be for another fault, and proved the
    same cause; `again` the first that proved it, and nobody said so. `uncounted` says why some
    fixes and contacts count for nothing, by the field they are in; `found_since` says that its
    cause was found wrong, and which visits were judged to be for another fault; `undone` are
    the places of the entries that were taken back. `about` is the system that its returns are
    compared by, see `kb.rates.returns.system_of`.
    """

    cautions: tuple[str, ...]
    job: Job
    igniter_job: bool = False
    unvouched: tuple[str, ...] = ()
    ended: tuple[int, ...] = ()
    imported: tuple[int, ...] = ()
    dangerous: bool = False
    withheld: bool = False
    parts: tuple[NumberedPart, ...] = ()
    complaint_as_typed: str = ""
    back: LaterVisit | None = None
    denied: LaterVisit | None = None
    again: LaterVisit | None = None
    uncounted: dict[str, str] = field(default_factory=dict)
    found_since: tuple[str, ...] = ()
    undone: tuple[int, ...] = ()
    about: System | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Every change of one job, oldest first, under its cautions; likewise.

    `hidden` are the parts that its page does not show as they are, see `hidden_parts`; `of_drive`
    as for `kb.safety.job_words.JobWords`.
    """

    job: int
    changes: tuple[Change, ...]
    cautions: tuple[str, ...] = ()
    igniter_job: bool = False
    hidden: tuple[str, ...] = ()
    of_drive: bool = False


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
        total, wording = work.jobs.count(), shop_wording(work)
    return JobList(
        cautions=cautions_of_list(Situation.of_jobs(jobs), wording),
        jobs=tuple(jobs),
        total=total,
        complaint_as_typed={job.number or 0: job.complaint_as_typed for job in jobs},
        igniter_jobs=tuple(job.number or 0 for job in jobs if is_igniter_job(job, wording)),
    )


def show_job(
    address: str, number: int, *, now: datetime | None = None, hours: float = CONFIRMATION_HOURS
) -> JobSheet:
    """Return all that is known of a job, with the caution that comes before it.

    Parameters
    ----------
    now : datetime, optional
        With the workshop's time zone; by default now.
    hours : float
        How long a confirmation holds at most.

    Raises
    ------
    NoSuchJob
        If there is none of that number.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        job = work.jobs.get(number)
        wording, changes = shop_wording(work), work.changes.of(number)
        back = returns_of(work, [number])
        repairs = work.repairs.of_jobs([number])
        void = void_visits(work, [job])
        undone = work.changes.typed_in_vain(number)
        since = (*told_wrong_of(work, number), *_judged_other(work, job))
    deeds, dangers = deeds_of(job, changes), dangers_of(job, wording=wording)
    return JobSheet(
        cautions=cautions_of(Situation.of_job(job), wording),
        igniter_job=is_igniter_job(job, wording),
        job=job,
        unvouched=unvouched(job, steps_of(job, changes), deeds, wording, hours),
        imported=imported(job, changes),
        ended=ended(job, deeds, now or local_now(), hours),
        dangerous=bool(dangers),
        withheld=bool(hidden_parts(job, wording)),
        parts=numbered_parts(job),
        complaint_as_typed=job.complaint_as_typed,
        back=back.get(number),
        denied=next((each for case in repairs for each in denied_again(case)), None),
        again=next((each for case in repairs for each in again_unsaid(case)), None),
        uncounted=dict(_uncounted(job, void, came_back_on(repairs[0]) if repairs else None)),
        found_since=since,
        undone=undone,
        about=system_of(job.system, job.complaint),
    )


def _judged_other(work: UnitOfWork, job: Job) -> Iterator[str]:
    """Say which later visits were judged to be for another fault, and what was found at them."""
    other = {each.job for each in job.contacts if each.outcome is Outcome.OTHER_REASON}
    for number, visit in named_visits(work, [job]).items():
        if number in other and visit.void is None:
            cause = FIT.shown_cause(visit.cause).label if visit.is_case and visit.cause else ""
            proved = f", which proved {cause}" if cause else ""
            yield f"#{number} of {visit.opened} was judged to be for another fault{proved}."


def void_visits(work: UnitOfWork, jobs: Iterable[Job]) -> frozenset[int]:
    """Return the numbers of void jobs that contacts of some jobs name."""
    return void_of(named_visits(work, jobs).values())


def named_visits(work: UnitOfWork, jobs: Iterable[Job]) -> dict[int, Job]:
    """Return the jobs that contacts of some jobs name, by their numbers."""
    named = {each.job for job in jobs for each in job.contacts if each.job is not None}
    known = work.jobs.get_many(work.jobs.uids_of(named)) if named else ()
    return {each.number: each for each in known if each.number}


def void_of(jobs: Iterable[Job]) -> frozenset[int]:
    """Return the numbers of those jobs that are void."""
    return frozenset(each.number for each in jobs if each.void is not None and each.number)


def _uncounted(job: Job, void: Collection[int], back: date | None) -> Iterator[tuple[str, str]]:
    """Yield the field of each fix and contact that counts for nothing, and why."""
    if job.void is not None:
        lists = (("attempts", job.attempts), ("contacts", job.contacts))
        for name, items in lists:
            yield from ((f"{name}[{place}]", "the job is void") for place in range(len(items)))
        return
    for place, each in enumerate(job.contacts):
        why = _why_uncounted(each, job.closed, void)
        if why is None and overtaken(each, back):
            why = f"the car came back on {back}"
        if why is not None:
            yield f"contacts[{place}]", why


def overtaken(contact: Contact, back: date | None) -> bool:
    """Whether it was told that a car was good after a comeback that counts.

    That it held on the very day was told before, as the comeback then comes after it.
    """
    if back is None or contact.on < back:
        return False
    held_before = contact.outcome is Outcome.HELD and contact.on == back
    return contact.outcome in {Outcome.HELD, Outcome.OTHER_REASON} and not held_before


def _why_uncounted(contact: Contact, handed_over: date | None, void: Collection[int]) -> str | None:
    if contact.job in void and contact.outcome is not Outcome.COMEBACK:
        return f"job {contact.job} is void"
    if contact.outcome is Outcome.NOT_TOLD:
        return None  # it says so itself
    if handed_over is None:
        return "no handover yet"
    if contact.on < handed_over:
        return "before the handover"
    return "the day of the handover tells nothing" if is_too_soon(contact, handed_over) else None


def returns_of(work: UnitOfWork, numbers: Iterable[int]) -> dict[int, LaterVisit]:
    """Return the first return of each job that nobody has judged, where there is one.

    As rates count it: not of a fix that is told not to have cured, which cannot be back.
    """
    told = trials(work.repairs.of_jobs(numbers), RateSettings())
    return {each.job: each.back for each in told if each.back is not None}


def job_history(address: str, number: int) -> History:
    """Return every change of a job.

    Raises
    ------
    NoSuchJob
        If there is none of that number.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        job = work.jobs.get(number)
        wording, changes = shop_wording(work), tuple(work.changes.of(number))
    now = Situation.of_job(job)
    spoken = tuple(text for text in _said(changes) if about_igniter([text]))
    situation = replace(now, said=(*now.said, *spoken))
    return History(
        cautions=cautions_of(situation, wording),
        igniter_job=concerns(hazards(situation, wording), System.RESTRAINTS),
        job=number,
        changes=changes,
        hidden=hidden_parts(job, wording),
        of_drive=situation.of_drive,
    )


def _said(changes: Iterable[Change]) -> Iterator[str]:
    """Yield what was ever told, though it may be told no more: what it was on stays what it was."""
    values = [each for told in changes for each in (told.old, told.new)]
    while values:
        value = values.pop()
        if isinstance(value, str):
            yield value
        elif isinstance(value, dict):
            values += value.values()
        elif isinstance(value, list):
            values += value
