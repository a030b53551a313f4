"""Recording: opening, adding to and editing jobs; `kb.services.closing` closes them.

What changes a job comes in two steps, so that what was understood can be shown before it is
stored: a first call returns a `Draft`, and `keep` stores it.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from textwrap import fill
from typing import Any

import msgspec

from kb.case import (
    Attempt,
    Contact,
    DiagnosticTest,
    Job,
    Reading,
    TroubleCode,
    Vehicle,
    same_text,
)
from kb.errors import Conflict, Dangerous, InvalidField, NoSuchJob
from kb.intake.codes import parse_code
from kb.intake.edits import edited
from kb.intake.findings import Findings, find_findings
from kb.intake.items import trade_wording
from kb.intake.privacy import personal_data
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import understand
from kb.intake.systems import parse_system
from kb.intake.wording import suggest
from kb.safety.hazards import Situation, cautions_of
from kb.safety.igniter import Danger, dangerous_step
from kb.safety.job_words import NO_STEPS, danger_line, dangers_of, is_igniter_job
from kb.services.deeds import deeds_of, steps_of
from kb.services.indexing import shop_wording
from kb.settings import CONFIRMATION_HOURS
from kb.store.database import open_store
from kb.store.history import Change, Difference, differences
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.circuit import shorted
from kb.troubleshooting.locks import unvouched

Part = TroubleCode | Reading | DiagnosticTest | Attempt | Contact
_LISTS = {
    TroubleCode: "codes",
    Reading: "readings",
    DiagnosticTest: "tests",
    Attempt: "attempts",
    Contact: "contacts",
}
WIDTH = 79
"""Of the lines in which a refusal is told."""
RECENT = timedelta(days=365)
"""A car that was here so lately may have come back for the same thing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A job as it would be stored.

    Attributes
    ----------
    job : Job
        Without a number if it is a new one.
    base : Job or None
        The stored job it was made from.
    notices : tuple of str
        What was doubtful, or should be looked at before it is stored.
    cautions : tuple of str
        What comes before any word of the job.
    dangers : tuple of Danger
        Steps told in it that nobody should repeat: stored only as what happened.
    """

    job: Job
    base: Job | None
    notices: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    dangers: tuple[Danger, ...] = ()

    @property
    def changes(self) -> tuple[Difference, ...]:
        """What storing it would change; nothing for a new job."""
        return () if self.base is None else tuple(differences(self.base, self.job))


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """A job as it was stored, and what was changed in it.

    `unvouched` are steps among it that wanted a confirmation and had none.
    """

    job: Job
    changes: tuple[Difference, ...]
    notices: tuple[str, ...]
    unvouched: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """What is told of a new job, as typed. `ref` is the key tag of the car, `vehicle` the rest."""

    text: str
    ref: str | None = None
    codes: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    vehicle: str | None = None
    system: str | None = None
    conditions: str | None = None
    odometer_km: int | None = None
    technician: str | None = None
    notes: str | None = None
    opened: date | None = None


def open_job(address: str, told: Opening, *, who: str | None = None, today: date) -> Draft:
    """Draft a new job of what was told.

    Parameters
    ----------
    address : str
        The store.
    told : Opening
        Its text may hold codes and readings.
    who : str, optional
        The technician, where none is told.
    today : date
        Day of opening, where none is told.

    Raises
    ------
    KbError
        If the store cannot be opened, or something told cannot be understood.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        known = work.jobs.vehicles()
        tag = next((car.ref for car in known if same_text(car.ref, told.ref)), None)
        understood = understand(
            told.text,
            codes=tuple(parse_code(code) for code in told.codes),
            readings=tuple(parse_reading(reading) for reading in told.readings),
            vehicle=" ".join(filter(None, (tag, told.vehicle))),
            vehicles=known,
            models=work.models.all(),
            conditions=told.conditions,
            system=parse_system(told.system) if told.system else None,
            wording=shop_wording(work),
        )
        complaint = understood.complaint
        job = Job(
            vehicle=replace(complaint.vehicle, ref=tag or told.ref or complaint.vehicle.ref),
            opened=told.opened or today,
            complaint=complaint.text if complaint.text.strip() else told.text,
            system=complaint.system,
            conditions=complaint.conditions,
            odometer_km=told.odometer_km,
            technician=told.technician or who,
            codes=complaint.codes,
            readings=complaint.readings,
            notes=told.notes,
        )
        earlier = _earlier_visits(work.jobs.of_vehicle(job.vehicle), job.opened)
    return draft_of(job, None, (*understood.notices, *earlier))


def add_line(address: str, number: int, text: str, *, today: date) -> Draft:
    """Draft a job with what one line of shop talk tells of it; see `find_findings`.

    Words that are no code, reading, test, attempt or contact are added to the notes.

    Raises
    ------
    KbError
        If there is no such job, or something told cannot be understood.
    """
    found = find_findings(text, today)
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        job = _told(base, found)
        if job == base:
            raise InvalidField("line", text, "tells nothing to add")
        spelt = tuple(spelt_otherwise(work, job, base))
    early = [notice for contact in found.contacts for notice in _doubtful(contact, base)]
    nothing = _proves_nothing(base, (*found.readings, *found.tests))
    return draft_of(job, base, (*map(str, found.doubts), *early, *spelt, *nothing))


def _told(base: Job, found: Findings) -> Job:
    return replace(
        base,
        codes=base.codes + found.codes,
        readings=base.readings + found.readings,
        tests=base.tests + found.tests,
        attempts=base.attempts + found.attempts,
        contacts=base.contacts + found.contacts,
        notes="\n".join(filter(None, (base.notes, found.rest))) or None,
    )


def add_part(address: str, number: int, part: Part) -> Draft:
    """Draft a job with one part more.

    Raises
    ------
    NoSuchJob
        If there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return with_part(work, work.jobs.get(number), part)


def dangerous_words(address: str, number: int, text: str) -> Danger | None:
    """Name what is dangerous in words that could not be read as a part of a job.

    Raises
    ------
    NoSuchJob
        If there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        igniter_job = is_igniter_job(work.jobs.get(number), trade_wording())
    danger = dangerous_step(text, igniter_job=igniter_job)
    return danger if danger and danger.reason not in NO_STEPS else None


def with_part(work: UnitOfWork, base: Job, part: Part) -> Draft:
    """Draft a stored job with one part more."""
    field = _LISTS[type(part)]
    longer: dict[str, Any] = {field: (*getattr(base, field), part)}
    job = replace(base, **longer)
    early = _doubtful(part, base) if isinstance(part, Contact) else []
    spelt = spelt_otherwise(work, job, base)
    return draft_of(job, base, (*early, *spelt, *_proves_nothing(base, [part])))


def edit_job(address: str, number: int, edits: Iterable[str], *, today: date) -> Draft:
    """Draft a job with some of its fields set; see `kb.intake.edits.edited`.

    Raises
    ------
    KbError
        If there is no such job or field, or a value does not fit.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        job = edited(base, edits, today=today, vehicles=work.jobs.vehicles())
        same_car = len(work.jobs.of_vehicle(base.vehicle))
    notices = []
    if job.vehicle != base.vehicle and job.vehicle.ref == base.vehicle.ref and same_car > 1:
        notices.append(f"The vehicle is corrected on all {same_car} jobs of {_tag(job.vehicle)}.")
    return draft_of(job, base, notices)


def keep(address: str, draft: Draft, *, who: str | None = None, happened: bool = False) -> Recorded:
    """Store a draft.

    Parameters
    ----------
    happened : bool
        Somebody said that its dangerous steps were in fact done.

    Raises
    ------
    Dangerous
        If it tells dangerous steps and nobody said so.
    Conflict
        If the job was changed since the draft was made, or contradicts what the store holds.
    """
    if draft.dangers and not happened:
        told = [*map(danger_line, draft.dangers), "If it was done all the same: --happened."]
        raise Dangerous("\n".join(fill(line, WIDTH) for line in told))
    with UnitOfWork(open_store(address), who=who) as work:
        before = work.changes.last()
        if draft.base is None:
            stored = work.jobs.add(draft.job)
        else:
            if work.jobs.get(_number(draft.base)) != draft.base:
                raise Conflict(
                    f"job: {draft.base.number} was changed by somebody else meanwhile; "
                    f"look with 'kb job show {draft.base.number}' and do it again"
                )
            stored = work.jobs.replace(draft.job)
        changes = work.changes.of(_number(stored)) if draft.base else []
        work.commit()
    loose = _unvouched(stored, changes, before)
    return Recorded(job=stored, changes=draft.changes, notices=draft.notices, unvouched=loose)


def _unvouched(job: Job, changes: Sequence[Change], before: int) -> tuple[str, ...]:
    """Return the steps told since a change that wanted a confirmation and had none."""
    begin = min((each.at for each in changes if each.sequence > before), default=None)
    steps = [step for step in steps_of(job, changes) if step.at and begin and step.at >= begin]
    deeds = deeds_of(job, changes)
    return unvouched(job, steps, deeds, trade_wording(), CONFIRMATION_HOURS)


def draft_of(job: Job, base: Job | None, notices: Iterable[str] = ()) -> Draft:
    """Draft a job, with a warning of everything in it that looks like personal data."""
    told = [change.new for change in differences(base, job)] if base else msgspec.to_builtins(job)
    personal = (warning for text in _texts(told) for warning in personal_data(text))
    return Draft(
        job=job,
        base=base,
        notices=tuple(dict.fromkeys((*notices, *personal))),
        cautions=cautions_of(Situation.of_job(job), trade_wording()),
        dangers=tuple(dangers_of(job, base)),
    )


def _texts(value: Any) -> Iterator[str]:
    """Yield every text inside a JSON value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)


def _doubtful(contact: Contact, job: Job) -> list[str]:
    """Say why a contact would not count, or not be what it seems, and how to mend it."""
    if job.closed is None:
        return ["The job is open yet: close it, so that the contact counts."]
    place = f"contacts[{len(job.contacts)}]"
    mend = f"correct it with kb job edit {job.number} --set {place}"
    doubts = []
    if contact.on < job.closed:
        doubts.append(
            f"{contact.on} lies before the job was closed, {job.closed}: it does not count; "
            f"{mend}.on=DAY"
        )
    if None not in (contact.odometer_km, job.odometer_km) and (
        (contact.odometer_km or 0) < (job.odometer_km or 0)
    ):
        doubts.append(
            f"{contact.odometer_km:,} km is less than the {job.odometer_km:,} km of the job: its "
            f"distance does not count; {mend}.odometer_km=KM"
        )
    return doubts


def _proves_nothing(job: Job, parts: Iterable[Part]) -> Iterator[str]:
    """Warn of what was measured through a connector whose shorting bars bridge it when open."""
    for part in parts:
        match part:
            case Reading():
                text = f"{part.place} {part.typed} {part.method or ''} {part.condition or ''}"
            case DiagnosticTest():
                text = f"{part.name} {part.seen}"
            case _:
                continue
        restraint = is_igniter_job(job, trade_wording())
        if link := shorted(text, job.circuit, trade_wording(), restraint=restraint):
            yield (
                f"Through {link} this proves nothing: its shorting bars bridge it when it is "
                "open. Read the live value, or put a known load in its place."
            )


def _number(job: Job) -> int:
    if job.number is None:
        raise NoSuchJob("number: None is no stored job; open it first")
    return job.number


def spelt_otherwise(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Ask about components that no job has, but that resemble ones some jobs have."""
    told = [attempt.component for attempt in job.attempts if attempt not in base.attempts]
    if job.cause is not None and job.cause != base.cause:
        told.append(job.cause.component)
    known = work.jobs.components() if told else ()
    for component in dict.fromkeys(told):
        near = [] if component in known else suggest(component, known, limit=2)
        if near:
            meant = " or ".join(f"“{name}”" for name in near)
            yield f"No job yet has “{component}”; did you mean {meant}?"


def _earlier_visits(jobs: Sequence[Job], opened: date) -> list[str]:
    """Point to what the same car is here for, or was here for lately."""
    told = []
    for job in jobs:
        what = f"job {job.number}: {_short(job.complaint)}"
        if job.closed is None:
            told.append(f"{_tag(job.vehicle)} is here already, {what}")
        elif timedelta() <= opened - job.closed <= RECENT:
            was = f" ({job.cause.label})" if job.cause else ""
            told.append(
                f"{_tag(job.vehicle)} was here until {job.closed}, {what}{was}. "
                f"If that came back: kb job add contact {job.number} comeback"
            )
    return told[-2:]


def _tag(vehicle: Vehicle) -> str:
    return vehicle.ref or vehicle.vin or vehicle.label


def _short(text: str, limit: int = 50) -> str:
    line = " ".join(text.split())
    return line if len(line) <= limit else f"{line[: limit - 1]}…"
