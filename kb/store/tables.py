"""The tables, made from the vocabulary. What a case may not hold, the database refuses as well.

A column is named as the field of `kb.case` that it holds, and has the field's bounds (`kb.bounds`)
as its type and its constraint; a cause inside another value, or the place where it was said, is
spread over columns with the field's name in front. Each of a job's lists is a table, whose rows are
keyed by the job's number and their place in the list, so order is kept.
"""

import math
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import is_dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    Dialect,
    Double,
    Enum,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)
from sqlalchemy.types import TypeEngine

from kb.bounds import (
    FIRST_YEAR,
    LARGEST_INTEGER,
    LAST_YEAR,
    LONGEST_KEY,
    DayBounds,
    FieldType,
    NumberBounds,
    TextBounds,
    field_types,
)
from kb.case import Cause, Job, Relation, SaidAt, Vehicle, VehicleModel


class UtcTime(TypeDecorator[datetime]):
    """A moment; held as UTC without a zone, because SQLite keeps none."""

    impl = DateTime
    cache_ok = True

    @property
    def python_type(self) -> type[datetime]:
        """What a value is, as a column of a plain kind says it."""
        return datetime

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """To UTC, zone dropped."""
        return value and value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Zone restored."""
        return value and value.replace(tzinfo=UTC)


class _YesNoHeld(dict[Any, bool | None]):
    """What a database without a kind for yes and no holds of it, and what that is."""

    def __missing__(self, held: Any) -> bool:
        raise ValueError("is neither yes nor no")


_YES_NO_HELD = _YesNoHeld({None: None, 0: False, 1: True})


class YesNo(Boolean):
    """Yes or no; of anything else that lies there, reading it is refused: it may be no yes."""

    def result_processor(self, dialect: Dialect, coltype: object) -> Any:  # noqa: ARG002
        """What reads a value; nothing where the database knows yes and no itself."""
        return None if dialect.supports_native_boolean else _YES_NO_HELD.__getitem__


REVISIONS = tuple(f"{number:04}" for number in range(1, 13))
"""Every schema revision, oldest first; the last one is what this program works on."""
METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)
"""Constraints are named, so that migrations can change them."""
_TYPES: dict[Any, TypeEngine[Any]] = {
    bool: YesNo(),
    int: Integer(),
    float: Double(),
    str: Text(),
    date: Date(),
    datetime: UtcTime(),
}
Options = Mapping[str, dict[str, Any]]
_NONE: Options = {}
_SAID = tuple(f"said_{name}" for name in field_types(SaidAt))
_LONGEST_CHOICE = 40
"""Characters of an enumeration's longest word, with room for longer ones to come."""


def _type_of(field: FieldType, *, looked_up: bool) -> TypeEngine[Any]:
    bounds = field.bounds
    if field.is_list:
        return JSON()
    if issubclass(field.kind, StrEnum):
        return Enum(
            field.kind,
            native_enum=False,
            length=_LONGEST_CHOICE,
            values_callable=lambda members: [member.value for member in members],
        )
    if isinstance(bounds, TextBounds) and (looked_up or bounds.pattern):
        return String(bounds.longest)
    return _TYPES[field.kind]


def _bound(column: str, field: FieldType) -> str | None:
    """Say in SQL what a column may hold besides what its type says."""
    said = None
    match field.bounds:
        case None if issubclass(field.kind, StrEnum):
            said = f"{column} IN ({', '.join(map(_quoted, field.kind))})"
        case TextBounds(pattern=None, filled=True):
            said = f"{column} <> ''"
        case TextBounds(pattern=re.Pattern(), longest=longest):
            said = f"length({column}) = {longest}"
        case NumberBounds(least=least, most=most, usual=usual) if math.isfinite(least):
            open_above = usual or most >= LARGEST_INTEGER
            within = f">= {least}" if open_above else f"BETWEEN {least} AND {most}"
            said = f"{column} {within}"
        case DayBounds() if field.kind is date:
            said = f"{column} BETWEEN '{FIRST_YEAR}-01-01' AND '{LAST_YEAR}-12-31'"
    return said


def _quoted(word: str) -> str:
    return f"'{word}'"


def _held(
    kind: type, options: Options = _NONE, *, prefix: str = "", unchecked: Collection[str] = ()
) -> Iterator[Column[Any] | CheckConstraint]:
    """Make the columns of a value's fields, each with its constraint.

    Fields that are lists of values, and a vehicle, are left out: they have tables of their own.
    `options` say what else a column is told; with a prefix, the field that holds the value, all of
    its columns may be null; `unchecked` ones get no constraint from their bounds.
    """
    for name, field in field_types(kind).items():
        column = f"{prefix}_{name}" if prefix else name
        if field.kind is Cause:
            yield from _held(Cause, prefix=column)
            yield from _whole_cause(column)
        elif field.kind is SaidAt:  # slices of a text, which cannot go wrong
            yield from _held(SaidAt, prefix=column, unchecked=_SAID)
        elif not is_dataclass(field.kind):
            holds = _type_of(field, looked_up=column in options)
            told: dict[str, Any] = {"nullable": field.optional or bool(prefix)}
            yield Column(column, holds, **told | options.get(column, {}))
            if field.is_list or column in unchecked:
                continue
            if bound := _bound(column, field):
                yield CheckConstraint(bound, name=column)


def _whole_cause(prefix: str) -> tuple[CheckConstraint, ...]:
    """A cause has a component and a failure mode, or it has nothing at all."""
    component, mode = f"{prefix}_component", f"{prefix}_failure_mode"
    rest = " AND ".join(f"{prefix}_{name} IS NULL" for name in ("location", "position", "words"))
    return (
        CheckConstraint(f"({component} IS NULL) = ({mode} IS NULL)", name=f"{prefix}_whole"),
        CheckConstraint(f"{component} IS NOT NULL OR ({rest})", name=f"{prefix}_detail"),
    )


def _list(
    field: str,
    *checks: CheckConstraint,
    name: str = "",
    options: Options = _NONE,
    unchecked: Collection[str] = (),
) -> Table:
    """Make the table of one of a job's lists, named as its field unless told otherwise."""
    return Table(
        name or field,
        METADATA,
        Column("job_number", ForeignKey("jobs.number"), primary_key=True),
        Column("place", Integer, primary_key=True, autoincrement=False),
        *_held(field_types(Job)[field].kind, options, unchecked=unchecked),
        *checks,
    )


# One row a car. `search` has all its words with case evened out, to find it by text. Make, model
# and engine have never been checked by the database.
VEHICLES = Table(
    "vehicles",
    METADATA,
    Column("id", Integer, primary_key=True),
    *_held(
        Vehicle,
        {"ref": {"unique": True}, "vin": {"unique": True}},
        unchecked={"make", "model", "engine"},
    ),
    Column("search", Text, nullable=False),
)
# One row a visit. `cause_digest` stands for `Cause.key`, whose texts are too long to index.
JOBS = Table(
    "jobs",
    METADATA,
    *_held(
        Job,
        {
            "number": {"primary_key": True, "autoincrement": False, "nullable": False},
            "uid": {"unique": True, "nullable": False},
            "opened": {"index": True},
        },
    ),
    Column("vehicle_id", ForeignKey("vehicles.id"), index=True, nullable=False),
    Column("cause_digest", String(64), index=True),
    CheckConstraint("closed >= opened", name="closed_after_opened"),
    CheckConstraint("(cause_component IS NULL) = (cause_digest IS NULL)", name="cause_digest"),
)
COUNTS = JOBS.c.void.is_(None)
"""Whether a job, of a row, counts at all."""
IS_CASE = JOBS.c.closed.is_not(None) & JOBS.c.cause_component.is_not(None) & COUNTS
"""`Job.is_case`, of a row."""
CODES = _list(
    "codes",
    CheckConstraint(
        "length(code) = 5 AND substr(code, 1, 1) IN ('P', 'C', 'B', 'U')"
        " AND substr(code, 2, 1) IN ('0', '1', '2', '3')",
        name="code",
    ),
    options={"code": {"index": True}},
    unchecked={"code"},
)
READINGS = _list(
    "readings",
    CheckConstraint(
        f"(value IS NULL) = (relation = '{Relation.OVER_RANGE}')", name="value_fits_relation"
    ),
    CheckConstraint(
        f"(upper IS NOT NULL) = (relation = '{Relation.RANGE}')", name="upper_fits_relation"
    ),
    CheckConstraint("upper >= value", name="upper_above_value"),
)
ENTRIES, TESTS = _list("entries"), _list("tests")
ATTEMPTS = _list("attempts", options={"proofs": {"server_default": "[]"}})
# `job` is no foreign key: it may name a job of another store.
CONTACTS = _list("contacts")
LISTS = {
    "codes": CODES,
    "readings": READINGS,
    "tests": TESTS,
    "attempts": ATTEMPTS,
    "contacts": CONTACTS,
    "circuit": _list("circuit", name="links"),
    "confirmations": _list("confirmations"),
    "entries": ENTRIES,
}
"""A job's field -> the table of its list."""
# One row a field of a job that changed, or (without a job) a shop word or vehicle.
CHANGES = Table(
    "changes",
    METADATA,
    Column("sequence", Integer, primary_key=True),
    Column("job", ForeignKey("jobs.number")),
    Column("at", UtcTime, nullable=False),
    Column("who", Text),
    Column("field", Text, nullable=False),
    Column("old", JSON(none_as_null=True)),
    Column("new", JSON(none_as_null=True)),
    CheckConstraint("field <> ''", name="field"),
    Index(None, "job", "sequence"),
)
# The shop's list of vehicles; `key` is `VehicleModel.key` as one text.
VEHICLE_MODELS = Table(
    "vehicle_models",
    METADATA,
    Column("key", String(700), primary_key=True),
    *_held(VehicleModel),
    CheckConstraint("last_year >= first_year", name="years_in_order"),
)
# What else the shop calls a component or a location, evened out, and its own name for it.
NAMES = Table(
    "names",
    METADATA,
    Column("kind", String(_LONGEST_CHOICE), primary_key=True),
    Column("name", String(LONGEST_KEY), primary_key=True),
    Column("meant", Text, nullable=False),
    CheckConstraint("kind IN ('component', 'location')", name="kind"),
    CheckConstraint("name <> ''", name="name"),
    CheckConstraint("meant <> ''", name="meant"),
)
# One row an act of the foreman's (`kb.store.watched.WatchAct`): never changed nor taken out.
WATCHED = Table(
    "watched",
    METADATA,
    Column("sequence", Integer, primary_key=True),
    Column("at", UtcTime, nullable=False),
    Column("who", Text),
    Column("act", String(_LONGEST_CHOICE), nullable=False),
    *(Column(name, Text) for name in ("component", "location", "code", "make", "model")),
    Column("day", Date, nullable=False),
    CheckConstraint("act IN ('follow', 'stop', 'seen')", name="act"),
)
WORDS = Table(
    "words",
    METADATA,
    Column("short", String(LONGEST_KEY), primary_key=True),
    Column("expansions", JSON, nullable=False),
    CheckConstraint("short <> ''", name="short"),
)
