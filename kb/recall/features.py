"""A complaint as weighted terms: what the linear model reads beside the words of the text.

Every block (vehicle, codes, system, readings, tests, time) is weighed like a text of its own and
has unit length times its scale, so a block with many terms says no more than one with few. A
block that was not recorded has no terms: missing is missing.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain

from kb.bands.measured import kind_of
from kb.case import Complaint, Job, Reading, TroubleCode, Vehicle, even
from kb.intake.wording import Wording
from kb.recall.reading_signal import WidthColumns
from kb.recall.tests_signal import name_of, outcome

SCALES: Mapping[str, float] = {
    "vehicle": 0.5,
    "codes": 1.0,
    "system": 0.5,
    "readings": 0.7,
    "tests": 3.0,
    "time": 0.3,
    "time of model": 0.3,
}
"""How much each block counts against the text, whose length is 1. Under the penalty of the
regression a scale is how far a block's weights easily move from 0: by guess in this order, for what
a test showed tells most, and the day or the car alone little."""

DAYS_A_STEP = 540
"""Steps of time in which what fails may change: a year and a half, so that a season alone is no
step and a fault that comes up is seen within two or three years (by judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Query:
    """What is asked on a day, with make and model of cars on the same platform."""

    complaint: Complaint
    on: date | None = None
    platform_cars: tuple[Vehicle, ...] = ()

    @classmethod
    def past(cls, job: Job) -> "Query":
        """A case as it is learnt from, with everything its tests showed."""
        return cls(complaint=Complaint.so_far(job), on=job.opened)


def blocks(asked: Query, wording: Wording, widths: WidthColumns) -> dict[str, dict[str, float]]:
    """Return the terms of every block, each with how often or how far it holds."""
    complaint = asked.complaint
    time = dict(_time(asked.on))
    model = _named(complaint.vehicle, "model")
    return {
        "vehicle": dict.fromkeys(_vehicle(complaint.vehicle), 1.0),
        "codes": dict.fromkeys(chain.from_iterable(map(_code, complaint.codes)), 1.0),
        "system": {f"system {complaint.system}": 1.0} if complaint.system else {},
        "readings": dict.fromkeys(_readings(complaint.readings, wording, widths), 1.0),
        "tests": {
            f"test {name_of(test, wording)} {' '.join(sorted(outcome(test, wording)))}": 1.0
            for test in complaint.tests
        },
        "time": time,
        "time of model": {f"{model} {term}": share for term, share in time.items()}
        if model
        else {},
    }


def _vehicle(vehicle: Vehicle) -> Iterator[str]:
    for fact in ("make", "model", "engine"):
        if name := _named(vehicle, fact):
            yield name


def _named(vehicle: Vehicle, fact: str) -> str | None:
    text: str | None = getattr(vehicle, fact)
    return f"{fact} {even(text)}" if text else None


def _code(code: TroubleCode) -> Iterator[str]:
    yield f"code {code.code}"
    yield f"code {code.family}"
    if code.failure_type:
        yield f"code {code}"


def _readings(readings: Sequence[Reading], wording: Wording, widths: WidthColumns) -> Iterator[str]:
    for reading in readings:
        kind = kind_of(reading, wording)
        words = f"reading {' '.join(sorted(kind[0]))} {kind[1]}"
        if widths.is_ceiling(reading):
            yield f"{words} open"
        elif (width := widths.of_kind(kind)) is not None:
            place = width.places(widths.number(reading))
            yield f"{words} {'low' if place < -1 else 'high' if place > 1 else 'normal'}"


def _time(on: date | None) -> Iterator[tuple[str, float]]:
    """Yield the two steps of time around a day, each by how near it is."""
    if on is not None:
        step, rest = divmod(on.toordinal(), DAYS_A_STEP)
        yield f"time {step}", 1 - rest / DAYS_A_STEP
        yield f"time {step + 1}", rest / DAYS_A_STEP
