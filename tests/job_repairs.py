"""Whole jobs as fix rates need them, for tests and benchmarks that have no store."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from typing import Self

from kb.case import (
    Attempt,
    Contact,
    Heard,
    Job,
    JobEntry,
    LaterVisit,
    Outcome,
    RepairRecord,
    SaidAt,
    ToldIn,
    Tried,
)
from kb.rates.returns import came_after


class JobRepair(RepairRecord):
    """A `RepairRecord` made of a whole job."""

    __slots__ = ()

    @classmethod
    def of(cls, job: Job, jobs: Iterable[Job] = ()) -> Self | None:
        """Take what matters of a job, and of later ones of its car among others.

        None of one that is still open or has no cause.
        """
        if job.closed is None or job.cause is None:
            return None
        made = cls(
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
            complaint=job.complaint,
            component=job.cause.component,
            location=job.cause.location,
            attempts=[_tried(each, job.entries) for each in job.attempts],
            contacts=[_heard(each) for each in job.contacts],
            visits=(),
        )
        car = job.vehicle.key
        same = [_visit(each, job) for each in jobs if car is not None and each.vehicle.key == car]
        later = [
            each
            for each in same
            if came_after(made, each) or made.opened < each.opened < made.closed
        ]
        if car is not None:
            later += _told_of_earlier(job, [each for each in jobs if each.vehicle.key == car])
        return made._replace(visits=sorted(later, key=lambda each: (each.opened, each.number)))


def repairs_of_jobs(
    jobs: Iterable[Job], cause: tuple[str, str, str] | None = None
) -> list[JobRepair]:
    """Take what matters of the cases among some jobs, of one cause if told, with later visits."""
    of_car = defaultdict[Hashable, list[Job]](list)
    known = list(jobs)
    for each in known:
        of_car[each.vehicle.key].append(each)
    wanted = [job for job in known if cause is None or (job.cause and job.cause.key == cause)]
    made = [JobRepair.of(job, of_car[job.vehicle.key]) for job in wanted]
    return [each for each in made if each is not None]


def _visit(job: Job, first: Job) -> LaterVisit:
    families = {code.family for code in first.codes}
    proved = job.cause if job.closed else None
    return LaterVisit(
        number=job.number or 0,
        opened=job.opened,
        odometer_km=job.odometer_km,
        system=job.system,
        complaint=job.complaint,
        kin=any(code.family in families for code in job.codes),
        cause=proved.key if proved else None,
        position=proved.position if proved else None,
    )


def _told_of_earlier(job: Job, jobs: Iterable[Job]) -> Iterator[LaterVisit]:
    """Yield the comebacks told of earlier jobs of a car since one was handed over."""
    known, closed = {each.number: each for each in jobs}, job.closed
    for other in known.values():
        if other is job or not (closed and other.closed) or other.closed > closed:
            continue
        if other.closed == closed and (other.number or 0) > (job.number or 0):
            continue
        for contact in other.contacts:
            named = known.get(contact.job)
            on = min(contact.on, named.opened) if named else contact.on
            if contact.outcome is not Outcome.COMEBACK or named is job or on <= closed:
                continue
            km, visit = contact.odometer_km, _visit(other, job)
            same = bool(other.cause and job.cause and other.cause.key == job.cause.key)
            yield visit._replace(
                number=(named or other).number or 0,
                opened=on,
                odometer_km=named.odometer_km if named and km is None else km,
                kin=visit.kin or same,
                cause=None,
                position=None,
                told_of=other.number,
            )


def _tried(each: Attempt, entries: Sequence[JobEntry]) -> Tried:
    told = {name: getattr(each, name) for name in Tried._fields if name != "told_in"}
    supposed = each.supposed and each.supposed.key
    return Tried(**told | {"supposed": supposed, "told_in": _told_in(each.said, entries)})


def _told_in(said: SaidAt | None, entries: Sequence[JobEntry]) -> ToldIn | None:
    text = entries[said.entry].text if said and said.entry < len(entries) else ""
    more = said is not None and len(text) > said.end - said.start
    return ToldIn(text, said.start, said.end) if said and more else None


def _heard(each: Contact) -> Heard:
    return Heard(**{name: getattr(each, name) for name in Heard._fields})
