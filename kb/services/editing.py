"""Setting fields of a stored job."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from kb.case import EntryKind, Job, Outcome, Vehicle
from kb.intake.contradictions import check_cures
from kb.intake.edits import car_doubts, edited
from kb.intake.vehicle import tag_meant
from kb.rates.returns import unjudged
from kb.safety.job_words import FIT
from kb.services.contact_doubts import doubts_of_edit, taken_along
from kb.services.doubts import less_far, less_than_before
from kb.services.drafts import Draft, car_named, draft_of, with_entry
from kb.services.indexing import shop_wording
from kb.services.knowledge import shop_causes
from kb.services.new_job import tag_spelt_otherwise
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


def edit_job(address: str, number: int, edits: Iterable[str], *, today: date) -> Draft:
    """Draft a job with some of its fields set; see `kb.intake.edits.edited`.

    A complaint told anew is a further entry; the one before is kept.

    Raises
    ------
    KbError
        If there is no such job or field, or a value does not fit.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        told, cars = list(edits), work.jobs.readable_vehicles()
        job = edited(base, told, today=today, vehicles=cars, causes=shop_causes(work))
        check_cures(job, base)
        back = any(next(unjudged(each), None) for each in work.repairs.of_jobs([number]))
        job = with_new_complaint(job, base)
        job, retagged = _with_known_tag(work, job, base, cars)
        notices = [*retagged, *car_doubts(told, cars), *edit_doubts(work, job, base)]
        wording = shop_wording(work)
    job, kept = _tried_for(job, base, back=back)
    return draft_of(job, base, (*notices, *kept), wording=wording)


def _with_known_tag(
    work: UnitOfWork, job: Job, base: Job, cars: Iterable[Vehicle]
) -> tuple[Job, list[str]]:
    """Give a job the tag of a known car where it is told that tag, written otherwise."""
    ref, own = job.vehicle.ref, base.vehicle
    if ref in (None, own.ref):
        return job, []
    is_alone = len(work.jobs.numbers_of_vehicle(own)) <= 1
    tag = tag_meant(ref, (car for car in cars if not (is_alone and car.ref == own.ref)))
    if tag in (None, ref):
        return job, []
    return replace(job, vehicle=replace(job.vehicle, ref=tag)), [tag_spelt_otherwise(str(ref), tag)]


def with_new_complaint(job: Job, base: Job) -> Job:
    """Keep the words of a complaint that was told anew."""
    if job.complaint == base.complaint:
        return job
    return with_entry(job, EntryKind.COMPLAINT, job.complaint)


def edit_doubts(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Say what an edit does to the car of a job, its odometer, and what was heard of its fix."""
    same_car = len(work.jobs.numbers_of_vehicle(base.vehicle))
    if job.vehicle != base.vehicle and job.vehicle.ref == base.vehicle.ref and same_car > 1:
        yield f"The vehicle is corrected on all {same_car} jobs of {car_named(job.vehicle)}."
    yield from doubts_of_edit(work, job, base)
    yield from taken_along(job, base)
    yield from less_than_before(job, base)
    if job.odometer_km != base.odometer_km:
        visits = work.jobs.of_vehicle(job.vehicle)
        yield from less_far(job, [each for each in visits if each.number != job.number])


def _tried_for(job: Job, base: Job, *, back: bool) -> tuple[Job, tuple[str, ...]]:
    """Keep what a fix that failed was for, when another cause is set over it, and say so.

    It failed if it did not cure, came back, or is `back` with something alike nobody has judged.
    """
    failed = back or any(each.outcome is Outcome.COMEBACK for each in base.contacts)
    failed = failed or any(each.cured is False for each in base.attempts[-1:])
    same = base.cause is None or job.cause is None or job.cause.key == base.cause.key
    if same or not failed or not job.attempts or base.cause is None or base.closed is None:
        return job, ()
    last = job.attempts[-1]
    if last.supposed is None:
        last = replace(last, supposed=base.cause)
    was, number, place = (
        FIT.named((last.supposed or base.cause).label),
        base.number,
        len(job.attempts),
    )
    said = (
        f"The fix of job {number} failed, or the car is back. {FIT.named(last.label)} was tried "
        f"for “{was}”, so it counts there still, and not for the new cause. If the cause was only "
        f"spelt wrong: kb job edit {number} --set attempts[{place - 1}].supposed="
    )
    return replace(job, attempts=(*job.attempts[:-1], last)), (said,)
