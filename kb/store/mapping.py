"""Values of `kb.case` to rows and back, without loss.

A column is named as the field it holds. A cause inside another value, or the place where it was
said, is spread over columns with the field's name in front; a tuple of texts or words is a JSON
list; the lists of a job are tables.
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from sqlalchemy import Table

from kb.bounds import field_types
from kb.case import Cause, Job, SaidAt, Vehicle
from kb.errors import Conflict
from kb.store.tables import LISTS

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class ListField:
    """One of a job's lists: its field, the kind of its items, and their table."""

    field: str
    kind: Callable[..., Any]
    table: Table

    @property
    def columns(self) -> list[Any]:
        """The columns that hold an item."""
        return [c for c in self.table.columns if c.name not in {"job_number", "place"}]


PARTS = tuple(
    ListField(name, field.kind, LISTS[name])
    for name, field in field_types(Job).items()
    if name in LISTS
)
JOB_FIELDS = tuple(name for name in field_types(Job) if name != "vehicle" and name not in LISTS)
VEHICLE_FIELDS = tuple(field_types(Vehicle))
_INNER: Mapping[str, Callable[..., Any]] = {"cause": Cause, "supposed": Cause, "said": SaidAt}
"""Fields that hold a value of several columns."""
INNER_COLUMNS = {
    prefix: {f"{prefix}_{name}": name for name in field_types(kind)}
    for prefix, kind in _INNER.items()
}
"""Field that holds a value of several columns -> its columns, each with the name it has in it."""
CAUSE_COLUMNS = tuple(INNER_COLUMNS["cause"])
_LISTS: Mapping[str, Callable[[str], str]] = {
    name: field.kind
    for part in PARTS
    for name, field in field_types(part.kind).items()
    if field.is_list
}


def cause_digest(key: tuple[str, str, str]) -> str:
    """Fixed-length stand-in for a `Cause.key`, whose texts may be too long for an index."""
    return hashlib.sha256("\x1f".join(key).encode()).hexdigest()


def job_row(job: Job, vehicle_id: int, counted: Cause | None) -> Row:
    """Columns of the job itself, without its lists; `counted` is what its cause counts as."""
    row = _spread({name: getattr(job, name) for name in JOB_FIELDS})
    row["cause_digest"] = counted and cause_digest(counted.key)
    return row | {"vehicle_id": vehicle_id}


def part_rows(job: Job, part: ListField) -> list[Row]:
    """Rows of one of the job's lists."""
    return [
        {"job_number": job.number, "place": place}
        | _spread({name: getattr(item, name) for name in field_types(part.kind)})
        for place, item in enumerate(getattr(job, part.field))
    ]


def part_of(part: ListField, row: Row) -> Any:
    """Build the item of a list from its row, which is used up."""
    return part.kind(**gathered(row))


def job_of(row: Row, vehicle: Vehicle, parts: Mapping[str, tuple[Any, ...]]) -> Job:
    """Build the job from its row, which is used up, its vehicle and its lists."""
    values = gathered(row) | {"vehicle": vehicle} | dict(parts)
    return Job(**values)


def cause_of(row: Row) -> Cause:
    """Build the cause of a case from its columns, which are used up."""
    cause: Cause = gathered(row)["cause"]
    return cause


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
    for prefix, columns in INNER_COLUMNS.items():
        if prefix in values:
            inner = values.pop(prefix)
            for column, name in columns.items():
                values[column] = inner and getattr(inner, name)
    return values


def gathered(values: Row) -> Row:
    """Put the columns of a row together to the fields that they hold; the row is used up."""
    lists, inner_columns = _spread_over(tuple(values))
    for name, kind in lists:
        values[name] = tuple(map(kind, values[name]))
    for prefix, columns in inner_columns:
        inner = {name: values.pop(column) for column, name in columns}
        known = next(iter(inner.values())) is not None
        values[prefix] = _INNER[prefix](**inner) if known else None
    return values


@cache
def _spread_over(
    columns: tuple[str, ...],
) -> tuple[list[tuple[str, Callable[[str], str]]], list[tuple[str, tuple[tuple[str, str], ...]]]]:
    """Return which of some columns hold lists, and which fields are spread over several."""
    lists = [(name, kind) for name, kind in _LISTS.items() if name in columns]
    inner = [
        (prefix, tuple(spread.items()))
        for prefix, spread in INNER_COLUMNS.items()
        if next(iter(spread)) in columns
    ]
    return lists, inner
