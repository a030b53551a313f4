"""What a job tells, numbered as on its page, so that any of it can be named by its number."""

from dataclasses import dataclass

from kb.case import Job
from kb.errors import InvalidField

ORDER = (
    "vehicle",
    "odometer_km",
    "complaint",
    "system",
    "conditions",
    "technician",
    "codes",
    "readings",
    "circuit",
    "tests",
    "confirmations",
    "cause",
    "proved_by",
    "attempts",
    "contacts",
    "reproduced",
    "notes",
    "void",
)
"""Fields of a job in the order of the work, which is that of its page."""


@dataclass(frozen=True, slots=True)
class NumberedPart:
    """A number on a job's page, and the field it stands for: a path as ``readings[0]``."""

    number: int
    field: str


def numbered_parts(job: Job) -> tuple[NumberedPart, ...]:
    """Number what is known of a job from 1, lists item by item.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import TroubleCode, Vehicle
    >>> codes = (TroubleCode(code="P0335"), TroubleCode(code="U0100"))
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank", codes=codes)
    >>> [(part.number, part.field) for part in numbered_parts(job)]
    [(1, 'vehicle'), (2, 'complaint'), (3, 'codes[0]'), (4, 'codes[1]')]
    """
    fields: list[str] = []
    for name in ORDER:
        value = getattr(job, name)
        if isinstance(value, tuple):
            fields += [f"{name}[{place}]" for place in range(len(value))]
        elif value is not None:
            fields.append(name)
    return tuple(NumberedPart(number, field) for number, field in enumerate(fields, start=1))


def field_of(job: Job, number: int) -> str:
    """Return the path of what has that number on the job's page.

    Raises
    ------
    InvalidField
        If nothing has.
    """
    parts = numbered_parts(job)
    if not 1 <= number <= len(parts):
        raise InvalidField(
            "number", number, f"is none of 1 to {len(parts)} on the page: kb job show {job.number}"
        )
    return parts[number - 1].field
