"""What was done on a car before, where an open job is that very fault come back."""

from dataclasses import replace

from kb.case import Attempt, Job, Outcome
from kb.rates.returns import unjudged
from kb.safety.job_words import FIT
from kb.store.unit_of_work import UnitOfWork


def failed_before(work: UnitOfWork, job: Job) -> dict[int, Attempt]:
    """Return the fixes left on a car that came back as an open job, by number of the earlier job.

    They are told as not cured. That it was the same fault was judged: a comeback of the earlier job
    names this one, or a job that itself came back as this one.
    """
    if job.closed is not None or job.number is None:
        return {}
    came, found = {job.number}, {}
    earlier = work.jobs.get_many(work.jobs.numbers_of_vehicle(job.vehicle))
    for each in reversed(earlier):
        back = {told.job for told in each.contacts if told.outcome is Outcome.COMEBACK}
        if each.number is None or each.number in came or back.isdisjoint(came):
            continue
        came.add(each.number)
        if each.attempts:
            found[each.number] = replace(each.attempts[-1], cured=False)
    return found


def not_judged(work: UnitOfWork, job: Job) -> list[str]:
    """Name what was done on a car for something like an open job, and what nobody has judged."""
    if job.closed is not None or job.number is None or job.vehicle.key is None:
        return []
    before = [each for each in work.jobs.numbers_of_vehicle(job.vehicle) if each != job.number]
    back = {
        repair.number
        for repair in work.repairs.of_jobs(before)
        for visit in unjudged(repair)
        if visit.number == job.number
    }
    return [
        f"{FIT.named(each.attempts[-1].label)} was done on this car on job "
        f"{each.number}, closed {each.closed}, for something alike. Whether this is that fault "
        f"again nobody has said: kb job follow-up {each.number} same fault --job {job.number} "
        "(or another fault)"
        for each in work.jobs.get_many(back)
        if each.attempts
    ]
