"""Reading a store's cases one after the other, as whole-shop questions do."""

import gc
from collections.abc import Callable, Container, Iterator
from contextlib import contextmanager
from datetime import date

from kb.case import Job
from kb.errors import InvalidField
from kb.progress import Progress, counted
from kb.store.unit_of_work import UnitOfWork


@contextmanager
def keeping_all() -> Iterator[None]:
    """Let Python not look for garbage meanwhile: all that is read of a shop is kept.

    It would go through a hundred thousand jobs over and over, a third of the time.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def read_cases(
    work: UnitOfWork,
    progress: Progress | None,
    wanted: Callable[[Job], bool] = lambda _: True,
    *,
    lists: Container[str] | None = None,
) -> list[Job]:
    """Read the cases that are wanted; `progress` counts all that are read.

    `lists` are those of a job's lists that are looked at, all if left out (`Jobs.all`).
    """
    every = work.jobs.all(cases_only=True, lists=lists)
    with keeping_all():
        return [job for job in counted(every, work.jobs.count_cases(), progress) if wanted(job)]


def read_closed(
    work: UnitOfWork, progress: Progress | None, *, lists: Container[str] | None = None
) -> list[Job]:
    """Read the closed jobs, with a cause or without one; `progress` and `lists` as above."""
    every = work.jobs.all(lists=lists)
    with keeping_all():
        return [
            job
            for job in counted(every, work.jobs.count(), progress)
            if job.closed is not None and job.void is None
        ]


def opened_between(since: date | None, until: date | None) -> Callable[[Job], bool]:
    """Return what tells whether a job was opened between two days, both included.

    Raises
    ------
    InvalidField
        If `until` lies before `since`.
    """
    _in_order(since, until)
    return lambda job: (since or date.min) <= job.opened <= (until or date.max)


def closed_between(since: date | None, until: date | None) -> Callable[[Job], bool]:
    """Return what tells whether a job was closed between two days, both included.

    Raises
    ------
    InvalidField
        If `until` lies before `since`.
    """
    _in_order(since, until)
    return lambda job: (
        job.closed is not None and (since or date.min) <= job.closed <= (until or date.max)
    )


def _in_order(since: date | None, until: date | None) -> None:
    """See that days do not run backwards.

    Raises
    ------
    InvalidField
        If `until` lies before `since`.
    """
    if since and until and until < since:
        raise InvalidField("until", str(until), f"lies before --since {since}")
