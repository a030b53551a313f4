"""What a trouble code turned out to be in the shop's own jobs: plain counts, no chances."""

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from kb.case import Cause, CodeStatus, Job, TroubleCode

T = TypeVar("T", bound=Hashable)


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeCause:
    """One cause that jobs with the code had, and which jobs, in order of number."""

    cause: Cause
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelCount:
    """On how many jobs and different cars of one model the code was."""

    label: str
    jobs: int
    cars: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeHistory:
    """What some jobs with a code, or with several together, have in common.

    Attributes
    ----------
    jobs : tuple of int
        All that had it, in order of number.
    cases : int
        Those closed with a cause.
    models : tuple of ModelCount
    causes : tuple of CodeCause
    companions : tuple of (str, int)
        Other codes on the same jobs, and on how many.
    failure_types : tuple of (str, int)
        That the code was read with, and on how many jobs.
    statuses : tuple of (CodeStatus, int)
        All the most frequent first.
    """

    jobs: tuple[int, ...]
    cases: int
    models: tuple[ModelCount, ...]
    causes: tuple[CodeCause, ...]
    companions: tuple[tuple[str, int], ...]
    failure_types: tuple[tuple[str, int], ...]
    statuses: tuple[tuple[CodeStatus, int], ...]


def code_history(codes: Sequence[TroubleCode], jobs: Iterable[Job]) -> CodeHistory:
    """Count what jobs with some codes have in common.

    The codes are one, or several together; one without a failure type stands for any. The jobs
    are stored ones; those that lack one of the codes are passed over.
    """
    asked = {code.code for code in codes}
    found = sorted(
        (job for job in jobs if all(any(_is(code, had) for had in job.codes) for code in codes)),
        key=lambda job: job.number or 0,
    )
    own = [{had for had in job.codes if had.code in asked} for job in found]
    return CodeHistory(
        jobs=tuple(job.number for job in found if job.number is not None),
        cases=sum(job.is_case for job in found),
        models=_models(found),
        causes=_causes(found),
        companions=_counted({had.code for had in job.codes} - asked for job in found),
        failure_types=_counted({c.failure_type for c in codes if c.failure_type} for codes in own),
        statuses=_counted({c.status for c in codes if c.status} for codes in own),
    )


def _is(asked: TroubleCode, had: TroubleCode) -> bool:
    return asked.code == had.code and asked.failure_type in {None, had.failure_type}


def _models(jobs: Sequence[Job]) -> tuple[ModelCount, ...]:
    groups: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        kind = replace(job.vehicle, year=None, engine=None, vin=None, ref=None)
        groups[kind.label].append(job)
    counts = (
        ModelCount(
            label=label,
            jobs=len(group),
            cars=len({job.vehicle.key or ("job", job.number) for job in group}),
        )
        for label, group in groups.items()
    )
    return tuple(sorted(counts, key=lambda model: (-model.jobs, model.label)))


def _causes(jobs: Sequence[Job]) -> tuple[CodeCause, ...]:
    groups: dict[tuple[str, str, str], list[Job]] = defaultdict(list)
    causes: dict[tuple[str, str, str], Cause] = {}
    for job in jobs:
        if job.is_case and job.cause is not None:
            groups[job.cause.key].append(job)
            causes[job.cause.key] = replace(job.cause, position=None, words=None)
    ranked = sorted(groups, key=lambda key: (-len(groups[key]), key))
    return tuple(
        CodeCause(cause=causes[key], jobs=tuple(job.number for job in groups[key] if job.number))
        for key in ranked
    )


def _counted(sets: Iterable[set[T]]) -> tuple[tuple[T, int], ...]:
    counts = Counter(item for each in sets for item in each)
    return tuple(sorted(counts.items(), key=lambda pair: (-pair[1], str(pair[0]))))
