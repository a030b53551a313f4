"""Opening a job: what was told of a car becomes a draft."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kb.case import EntryKind, Job, JobEntry, same_text
from kb.errors import InvalidField
from kb.intake.account import placed
from kb.intake.bare import what_is_missing
from kb.intake.codes import parse_code
from kb.intake.distances import lift_odometer_beside_car
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import understand
from kb.intake.systems import parse_system
from kb.intake.vehicle import tag_meant
from kb.safety.job_words import JobWords
from kb.services.doubts import less_far, mistyped_tags, other_car, other_distance, tag_or_car
from kb.services.drafts import Draft, car_named, draft_of, kept_odometer, shortened, whole_entry
from kb.services.indexing import shop_wording
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

RECENT = timedelta(days=365)
"""A car that was here so lately may have come back for the same thing."""


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
    codes = [
        replace(parse_code(text), said=whole_entry(place, text))
        for place, text in enumerate(told.codes, 1)
    ]
    readings = [
        replace(parse_reading(text), said=whole_entry(place, text))
        for place, text in enumerate(told.readings, 1 + len(codes))
    ]
    words = [
        (EntryKind.COMPLAINT, told.text),
        *((EntryKind.CODE, text) for text in told.codes),
        *((EntryKind.READING, text) for text in told.readings),
        *([(EntryKind.NOTE, told.notes)] if told.notes and told.notes.strip() else []),
    ]
    with UnitOfWork(open_store(address), read_only=True) as work:
        known, models, wording = (
            work.jobs.readable_vehicles(),
            work.models.all(),
            shop_wording(work),
        )
        ref, car, misplaced = tag_or_car(told.ref, told.vehicle, known, models)
        told, miles = odometer_beside_car(replace(told, ref=ref, vehicle=car))
        missing = (
            None
            if told.codes or told.readings
            else what_is_missing(told.text, lambda: known, models, wording)
        )
        if missing:
            raise InvalidField("complaint", told.text, missing)
        tag = tag_meant(told.ref, known)
        understood = understand(
            told.text,
            codes=codes,
            readings=readings,
            vehicle=" ".join(filter(None, (tag, told.vehicle))),
            vehicles=known,
            models=models,
            conditions=told.conditions,
            system=parse_system(told.system) if told.system else None,
            wording=wording,
        )
        complaint = understood.complaint
        job = Job(
            vehicle=replace(complaint.vehicle, ref=tag or told.ref or complaint.vehicle.ref),
            opened=told.opened or today,
            complaint=complaint.text if complaint.text.strip() else told.text,
            system=complaint.system,
            conditions=complaint.conditions,
            odometer_km=kept_odometer(told.odometer_km, understood.odometer),
            technician=told.technician or who,
            codes=placed(complaint.codes, understood.account, 0),
            readings=placed(complaint.readings, understood.account, 0),
            notes=told.notes,
            entries=tuple(JobEntry(kind=kind, text=text) for kind, text in words),
        )
        visits = work.jobs.of_vehicle(job.vehicle)
    less = tuple(less_far(job, visits))
    earlier = (*_earlier_visits(visits, job.opened), *less)
    spelt = () if tag is None or same_text(tag, told.ref) else (tag_spelt_otherwise(told.ref, tag),)
    misplaced = (
        *misplaced,
        *spelt,
        *miles,
        *(() if ref or car else mistyped_tags(told.text, known)),
    )
    far = other_distance(job, understood.odometer)
    notices = (*misplaced, *understood.notices, *earlier, *far)
    draft = draft_of(job, None, notices, understood.account, today=today, wording=wording)
    ref = job.vehicle.ref if complaint.vehicle.ref else None
    retagged = None if same_text(ref, complaint.vehicle.ref) else ref
    clash = other_car(complaint.vehicle, understood.clash or retagged)
    return replace(draft, clash=clash, misspelt=bool(less))


def tag_spelt_otherwise(told: str | None, tag: str) -> str:
    """Say that a key tag was taken for one that the shop writes otherwise."""
    return f"“{told}” is the key tag {tag}, written otherwise: the job is that car's."


def odometer_beside_car(told: Opening) -> tuple[Opening, tuple[str, ...]]:
    """Take a distance that was told with the car for the odometer, and say what was made of it."""
    driven, car = lift_odometer_beside_car(told.vehicle or "")
    if driven is None:
        return told, ()
    said = f"{driven.miles:,} miles are {driven.km:,} km." if driven.miles is not None else None
    if told.odometer_km not in (None, driven.km):
        said = f"{driven.km:,} km were told with the car, but {told.odometer_km:,} km beside it."
    km = driven.km if told.odometer_km is None else told.odometer_km
    return replace(told, vehicle=car.strip(" ,;") or None, odometer_km=km), (said,) if said else ()


def _earlier_visits(jobs: Sequence[Job], opened: date) -> list[str]:
    """Point to what the same car is here for, or was here for lately."""
    told = []
    for job in (JobWords.of(each).shown_job(each) for each in jobs):
        what = f"job {job.number}: {shortened(job.complaint_as_typed)}"
        if job.closed is None:
            told.append(f"{car_named(job.vehicle)} is here already, {what}")
        elif timedelta() <= opened - job.closed <= RECENT:
            was = f" ({job.cause.label})" if job.cause else ""
            told.append(
                f"{car_named(job.vehicle)} was here until {job.closed}, {what}{was}. "
                f"If that came back: kb job add contact {job.number} comeback"
            )
    return told[-2:]
