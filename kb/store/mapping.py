"""Values of `kb.case` to rows and back, without loss.

A column is named as the field it holds. A cause inside another value is spread over columns with
the field's name in front; a tuple of texts or words is a JSON list; the lists of a job are tables.
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from kb.case import (
    Attempt,
    Cause,
    Confirmation,
    Contact,
    DiagnosticTest,
    Job,
    Link,
    Proof,
    Reading,
    TroubleCode,
    Vehicle,
)
from kb.errors import Conflict
from kb.store.tables import (
    AttemptRow,
    CodeRow,
    ConfirmationRow,
    ContactRow,
    LinkRow,
    PartRow,
    ReadingRow,
    TestRow,
)

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class ListField:
    """One of a job's lists: its field, the kind of its items, and their table."""

    field: str
    kind: Callable[..., Any]
    table: type[PartRow]

    @property
    def columns(self) -> list[Any]:
        """The columns that hold an item."""
        return [c for c in self.table.__table__.columns if c.name not in {"job_number", "place"}]


PARTS = (
    ListField("codes", TroubleCode, CodeRow),
    ListField("readings", Reading, ReadingRow),
    ListField("tests", DiagnosticTest, TestRow),
    ListField("attempts", Attempt, AttemptRow),
    ListField("contacts", Contact, ContactRow),
    ListField("circuit", Link, LinkRow),
    ListField("confirmations", Confirmation, ConfirmationRow),
)
JOB_FIELDS = tuple(
    field.name
    for field in fields(Job)
    if field.name not in {"vehicle", *(part.field for part in PARTS)}
)
VEHICLE_FIELDS = tuple(field.name for field in fields(Vehicle))
_CAUSE_FIELDS = tuple(field.name for field in fields(Cause))
_CAUSE_COLUMNS = {
    prefix: tuple(f"{prefix}_{name}" for name in _CAUSE_FIELDS) for prefix in ("cause", "supposed")
}
_LISTS: Mapping[str, Callable[[str], str]] = {"points_to": str, "clears": str, "proofs": Proof}


def cause_digest(key: tuple[str, str, str]) -> str:
    """Fixed-length stand-in for a `Cause.key`, whose texts may be too long for an index."""
    return hashlib.sha256("\x1f".join(key).encode()).hexdigest()


def job_row(job: Job, vehicle_id: int) -> Row:
    """Columns of the job itself, without its lists."""
    row = _spread({name: getattr(job, name) for name in JOB_FIELDS})
    row["cause_digest"] = job.cause and cause_digest(job.cause.key)
    return row | {"vehicle_id": vehicle_id}


def part_rows(job: Job, part: ListField) -> list[Row]:
    """Rows of one of the job's lists."""
    return [
        {"job_number": job.number, "place": place}
        | _spread({field.name: getattr(item, field.name) for field in fields(item)})
        for place, item in enumerate(getattr(job, part.field))
    ]


def part_of(part: ListField, row: Row) -> Any:
    """Build the item of a list from its row, which is used up."""
    return part.kind(**_gathered(row))


def job_of(row: Row, vehicle: Vehicle, parts: Mapping[str, tuple[Any, ...]]) -> Job:
    """Build the job from its row, which is used up, its vehicle and its lists."""
    values = _gathered(row) | {"vehicle": vehicle} | dict(parts)
    return Job(**values)


def vehicle_row(vehicle: Vehicle) -> Row:
    """Columns of the vehicle."""
    row = {name: getattr(vehicle, name) for name in VEHICLE_FIELDS}
    words = (str(value).casefold() for value in row.values() if value is not None)
    return row | {"search": " ".join(words)}


def merged(known: Vehicle, told: Vehicle) -> Vehicle:
    """Fill the gaps of what is known of one car with what a further job tells of it.

    Raises
    ------
    Conflict
        If both know a detail and differ in it.
    """
    gaps = {}
    for name in VEHICLE_FIELDS:
        old, new = getattr(known, name), getattr(told, name)
        if old is None:
            gaps[name] = new
        elif new is not None and new != old:
            which = f"ref {known.ref!r}" if known.ref else f"vin {known.vin!r}"
            raise Conflict(
                f"vehicle.{name}: {new!r} contradicts {old!r}, which the store holds for the car "
                f"with {which}; use another ref, or correct the car on one of its jobs first"
            )
    return replace(known, **gaps)


def _spread(values: Row) -> Row:
    for name in _LISTS:
        if name in values:
            values[name] = list(values[name])
    for prefix, columns in _CAUSE_COLUMNS.items():
        if prefix in values:
            cause = values.pop(prefix)
            for column, name in zip(columns, _CAUSE_FIELDS, strict=True):
                values[column] = cause and getattr(cause, name)
    return values


def _gathered(values: Row) -> Row:
    for name, kind in _LISTS.items():
        if name in values:
            values[name] = tuple(map(kind, values[name]))
    for prefix, columns in _CAUSE_COLUMNS.items():
        if columns[0] in values:
            cause = [values.pop(column) for column in columns]
            known = cause[0] is not None
            values[prefix] = (
                Cause(**dict(zip(_CAUSE_FIELDS, cause, strict=True))) if known else None
            )
    return values
