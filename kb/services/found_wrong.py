"""What a cause proved to be instead, where its cases came back with the same fault."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from kb.case import CameBack, even
from kb.rates.doubt import found_wrong
from kb.rates.returns import returned_as
from kb.safety.job_words import FIT
from kb.services.kept_rates import CauseRepairs
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork

CauseKey = tuple[str, str, str]
"""As `kb.case.Cause.key`."""


@dataclass(frozen=True, slots=True)
class WrongBefore:
    """How many cases of a cause were found wrong, and what they were then, the most frequent first.

    `jobs` are these, of so many `cases` of the cause.
    """

    jobs: tuple[int, ...]
    cases: int
    then: tuple[str, ...]


def came_back(work: UnitOfWork) -> list[CameBack]:
    """Return every job of which a comeback was told, with the jobs as which it came back.

    Each is the one that the comeback names, or may be taken for it.
    """
    named = work.repairs.came_back()
    known = {(each.number, each.later) for each in named}
    return named + [
        CameBack(repair.number, repair.cause, visit.number, visit.cause)
        for repair in work.repairs.back_as_unknown()
        for visit in returned_as(repair)
        if (repair.number, visit.number) not in known
    ]


def refuted_jobs(work: UnitOfWork) -> frozenset[int]:
    """Return the cases for which a later visit of the car proved another part to be the cause.

    They are no cases of that part, whatever counts cars that had it; where the same part had failed
    in another way, they are.
    """
    wrong = found_wrong(came_back(work))
    numbers = {number for each in wrong for number in (each.number, each.later)}
    parts = {
        job.number: (even(job.cause.component), even(job.cause.location or ""))
        for job in work.jobs.get_many(numbers)
        if job.cause
    }
    again = {each.number for each in wrong if parts.get(each.number) == parts.get(each.later)}
    return frozenset(each.number for each in wrong if each.number not in again)


def told_wrong_of(work: UnitOfWork, number: int) -> list[str]:
    """Say of one job that its cause was found wrong, and what proved to be so."""
    later = [each.later for each in found_wrong(came_back(work)) if each.number == number]
    return [
        f"Its cause was found wrong: back with the same fault, #{job.number} of {job.opened} "
        f"proved {FIT.shown_cause(job.cause).label}."
        for job in work.jobs.get_many(later)
        if job.cause
    ]


def told_wrong(work: UnitOfWork, digest: str) -> list[str]:
    """Say of each case of a cause that it was found wrong, and of others that this was found."""
    comebacks = came_back(work)
    proved = {each.later: each.later_cause for each in comebacks}
    wrong = [each for each in found_wrong(comebacks) if digest in {each.cause, proved[each.later]}]
    jobs = work.jobs.get_many({number for each in wrong for number in (each.number, each.later)})
    causes = {job.number: job.cause for job in jobs if job.cause}
    return [
        f"#{each.number} was taken for {FIT.shown_cause(first).label}: back with the same fault, "
        f"#{each.later} proved {FIT.shown_cause(then).label}"
        for each in wrong
        if (first := causes.get(each.number)) and (then := causes.get(each.later))
    ]


def wrong_before(
    work: UnitOfWork, repairs: Mapping[CauseKey, CauseRepairs]
) -> dict[CauseKey, WrongBefore]:
    """Return it for those of some causes that were ever found wrong."""
    digests = {cause_digest(key): key for key in repairs}
    wrong = [each for each in found_wrong(came_back(work)) if each.cause in digests]
    then = {job.number: job.cause for job in work.jobs.get_many({each.later for each in wrong})}
    jobs: dict[CauseKey, list[int]] = defaultdict(list)
    names: dict[CauseKey, Counter[str]] = defaultdict(Counter)
    for each in wrong:
        key, cause = digests[each.cause], then[each.later]
        jobs[key].append(each.number)
        if cause:
            names[key][FIT.named(cause.component)] += 1
    return {
        key: WrongBefore(
            tuple(dict.fromkeys(numbers)),
            repairs[key].cases,
            tuple(name for name, _ in names[key].most_common()),
        )
        for key, numbers in jobs.items()
    }
