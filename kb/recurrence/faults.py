"""What counts as one fault and as one group of vehicles, and how both are called."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TypedDict

from kb.cards.usual import wears_in_use
from kb.case import FailureMode, Job, even
from kb.recurrence.cars import CarKey, Wear, wear
from kb.recurrence.pattern import CarsOfModel, ModeCount
from kb.recurrence.recorders import recorder_of
from kb.settings import RecurrenceSettings
from kb.statistics.summaries import usual

NAMES_KEPT = 50_000
"""Causes, and models, as they are written, that are remembered as what they count as."""

Stratum = tuple[int, Wear]
"""Vehicles seen in one year, of like age and distance."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A component at its location, and the way it failed; None if all ways are meant."""

    component: str
    location: str
    mode: FailureMode | None

    @property
    def part(self) -> tuple[str, str]:
        """Component and location, whichever way it failed."""
        return self.component, self.location


@dataclass(frozen=True, slots=True)
class CarGroup:
    """The cars of a model, or of a whole make."""

    make: str
    model: str | None

    @property
    def by_model(self) -> bool:
        """Whether it is one model."""
        return self.model is not None

    def meets(self, other: "CarGroup") -> bool:
        """Whether it is the other, or its make, or a model of it."""
        return self.make == other.make and (
            self.model == other.model or None in {self.model, other.model}
        )

    def meets_any(self, others: Iterable["CarGroup"]) -> bool:
        """Whether it meets one of several."""
        return any(map(self.meets, others))


@dataclass(frozen=True, slots=True)
class Visit:
    """A case, as far as it counts."""

    job: Job
    faults: tuple[Fault, ...]
    groups: tuple[CarGroup, ...]
    stratum: Stratum
    recorder: str


def visit_of(job: Job, settings: RecurrenceSettings) -> Visit:
    """Return a case as it counts."""
    stratum = job.opened.year, wear(job, settings)
    return Visit(job, faults_of(job), groups_of(job), stratum, recorder_of(job))


def faults_of(job: Job) -> tuple[Fault, ...]:
    """Return what a case counts as: its part, and its part with the way it failed."""
    cause = job.cause
    return _faults_named(cause.component, cause.location, cause.failure_mode) if cause else ()


@lru_cache(maxsize=NAMES_KEPT)
def _faults_named(component: str, location: str | None, mode: FailureMode) -> tuple[Fault, ...]:
    part = even(component), even(location or "")
    any_mode = Fault(*part, None)
    return (any_mode,) if mode is FailureMode.UNKNOWN else (any_mode, Fault(*part, mode))


def groups_of(job: Job) -> tuple[CarGroup, ...]:
    """Return the groups of its car: make and model, as far as they are known."""
    return _groups_named(job.vehicle.make, job.vehicle.model)


@lru_cache(maxsize=NAMES_KEPT)
def _groups_named(make: str | None, model: str | None) -> tuple[CarGroup, ...]:
    if make is None:
        return ()
    whole = CarGroup(even(make), None)
    return (whole,) if model is None else (whole, CarGroup(whole.make, even(model)))


def cars_of_all(cars_of: Mapping[CarGroup, set[CarKey]], by_model: bool) -> set[CarKey]:
    """Return the cars of all models, or of all makes."""
    return set().union(*(cars_of[group] for group in cars_of if group.by_model is by_model))


def month_of(day: date) -> int:
    """Return the month of a day, counted from year 0."""
    return day.year * 12 + day.month - 1


def by_day(job: Job) -> tuple[date, int]:
    """Order jobs by the day they were opened."""
    return job.opened, job.number or 0


def numbers_of(jobs: Iterable[Job]) -> tuple[int, ...]:
    """Return the numbers of jobs that have one."""
    return tuple(job.number for job in jobs if job.number is not None)


class FaultNames(TypedDict):
    """As in `kb.recurrence.pattern.FaultOfGroup`."""

    component: str
    location: str | None
    failure_mode: FailureMode | None
    make: str
    model: str | None


def names_of(fault: Fault, group: CarGroup, jobs: Sequence[Job]) -> FaultNames:
    """Return the names of a fault and its group as they are mostly written."""
    return FaultNames(
        component=usual(job.cause.component for job in jobs if job.cause) or "",
        location=usual(job.cause.location for job in jobs if job.cause),
        failure_mode=fault.mode,
        make=usual(job.vehicle.make for job in jobs) or "",
        model=group.model and usual(job.vehicle.model for job in jobs),
    )


def wears_out(jobs: Sequence[Job]) -> bool:
    """Whether a part wears in use, or was mostly found worn."""
    causes = [job.cause for job in jobs if job.cause]
    worn = sum(each.failure_mode is FailureMode.WORN for each in causes)
    return 2 * worn > len(causes) or any(wears_in_use(each.component) for each in causes)


def modes_of(by_car: dict[CarKey, list[Job]]) -> tuple[ModeCount, ...]:
    """Count the cars by the way it failed, the most frequent first."""
    seen = Counter(
        mode
        for jobs in by_car.values()
        for mode in {job.cause.failure_mode for job in jobs if job.cause}
    )
    return tuple(
        ModeCount(failure_mode=mode, vehicles=count)
        for mode, count in sorted(seen.items(), key=lambda item: (-item[1], item[0]))
    )


def models_of(by_car: dict[CarKey, list[Job]]) -> tuple[CarsOfModel, ...]:
    """Count the cars by their model, as it is mostly written, the most frequent first."""
    names: dict[str, list[str]] = defaultdict(list)
    for jobs in by_car.values():
        for model in {job.vehicle.model for job in jobs if job.vehicle.model}:
            names[even(model)].append(model)
    return tuple(
        CarsOfModel(model=usual(written) or "", vehicles=len(written))
        for _, written in sorted(names.items(), key=lambda item: (-len(item[1]), item[0]))
    )
