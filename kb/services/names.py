"""One name for one thing: joining the names of components and locations, and parting them."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from kb.case import Job, even
from kb.errors import InvalidField
from kb.recall.alike_names import NamePair, proposed_pairs
from kb.safety.job_dangers import refuse_dangerous
from kb.safety.job_words import is_igniter_job
from kb.services.indexing import shop_wording
from kb.store.database import open_store
from kb.store.names import Thing
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherName:
    """What else the shop calls a thing: the name, its own name for it, and what it is.

    `jobs` say the other name.
    """

    kind: Thing
    name: str
    meant: str
    jobs: int


def list_names(address: str) -> list[OtherName]:
    """List the other names, those of one thing together."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        known = work.names.vocabulary()
        if not known:
            return []
        said = {kind: _said(work.jobs.all(as_typed=True), kind) for kind in Thing}
    told = [
        OtherName(kind=kind, name=name, meant=meant, jobs=said[kind][name])
        for kind, names in (
            (Thing.COMPONENT, known.components),
            (Thing.LOCATION, known.locations),
        )
        for name, meant in names.items()
    ]
    return sorted(told, key=lambda each: (each.kind, even(each.meant), each.name))


def propose_names(address: str, *, limit: int | None = None) -> list[NamePair]:
    """Propose pairs of names of components that may be of one thing, the surest first.

    Names that are joined already count as one. Nothing is changed.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return proposed_pairs(work.jobs.all(), shop_wording(work))[:limit]


def join_names(
    address: str, name: str, meant: str, *, kind: Thing = Thing.COMPONENT, who: str | None = None
) -> OtherName:
    """Let a name mean what another one means, in every count from now on.

    Raises
    ------
    InvalidField
        If no job says either name, or both are one already.
    Dangerous
        If one of them tells a dangerous step.
    """
    refuse_dangerous("name", name, meant)
    with UnitOfWork(open_store(address), who=who) as work:
        jobs = work.jobs.all(as_typed=True)
        said, wording = _said(jobs, kind), shop_wording(work)
        for each in (name, meant):
            of_igniter = any(
                even(each) in _names_on(job, kind) and is_igniter_job(job, wording) for job in jobs
            )
            refuse_dangerous("name", each, igniter_job=of_igniter)
        for each in (name, meant):
            if not said[even(each)] and even(each) not in _known(work, kind):
                raise InvalidField("name", each, f"is a {kind} of no job; see kb job list")
        work.names.join(kind, name, meant)
        known = work.names.vocabulary()
        names = known.components if kind is Thing.COMPONENT else known.locations
        work.commit()
    key = even(name)
    return OtherName(kind=kind, name=key, meant=names[key], jobs=said[key])


def part_names(
    address: str, name: str, *, kind: Thing = Thing.COMPONENT, who: str | None = None
) -> str:
    """Take a name apart from the thing it meant, which is returned.

    Raises
    ------
    InvalidField
        If it was joined to none.
    """
    with UnitOfWork(open_store(address), who=who) as work:
        meant = work.names.part(kind, name)
        work.commit()
    return meant


def _known(work: UnitOfWork, kind: Thing) -> set[str]:
    known = work.names.vocabulary()
    names = known.components if kind is Thing.COMPONENT else known.locations
    return {*names, *map(even, names.values())}


def _said(jobs: Iterable[Job], kind: Thing) -> Counter[str]:
    """Count the jobs that say each name."""
    return Counter(name for job in jobs for name in {*_names_on(job, kind)})


def _names_on(job: Job, kind: Thing) -> Iterator[str]:
    causes = [job.cause, *(each.supposed for each in job.attempts)]
    for cause in filter(None, causes):
        told = cause.component if kind is Thing.COMPONENT else cause.location
        if told:
            yield even(told)
    if kind is Thing.COMPONENT:
        yield from (even(each.component) for each in job.attempts)
        yield from (even(each.name) for each in job.circuit)
