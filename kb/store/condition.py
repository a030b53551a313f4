"""What of a store cannot be read back, named by job and field, and as it lies there.

The database and the program refuse what a case may not hold. What is found here came otherwise: a
bit flipped on a disk, another program, a broken copy.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from math import isfinite
from typing import Any

import msgspec
from sqlalchemy import (
    JSON,
    CheckConstraint,
    Column,
    ColumnElement,
    Connection,
    Double,
    LargeBinary,
    Select,
    Table,
    Text,
    and_,
    cast,
    false,
    inspect,
    literal,
    or_,
    select,
    text,
    type_coerce,
)
from sqlalchemy.exc import DatabaseError
from sqlalchemy.types import NullType

from kb.bounds import check_text, field_types
from kb.case import Cause, Job, SaidAt, Vehicle, VehicleModel
from kb.errors import InvalidField, StoreUnusable
from kb.patterns import compiled
from kb.store.backup import complaints
from kb.store.database import open_store
from kb.store.mapping import (
    INNER_COLUMNS,
    JOB_FIELDS,
    PARTS,
    VEHICLE_FIELDS,
    gathered,
    part_of,
    vehicle_row,
)
from kb.store.tables import (
    CHANGES,
    JOBS,
    METADATA,
    VEHICLE_MODELS,
    VEHICLES,
    WORDS,
    UtcTime,
)

Row = Mapping[str, Any]
UNREADABLE_ERRORS = (
    ValueError,
    TypeError,
    LookupError,
    AttributeError,
    OverflowError,
    RecursionError,
    MemoryError,
)
"""What reading a value raises that the program did not write."""
LIST_OF_TABLE = {part.table.name: part for part in PARTS}
_LONGEST = 60
_DEEPEST = 32
"""Lists and objects in one another: a whole job has fewer, and Python reads no more than so many,
which depends on who asks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BadCell:
    """A value of a store that cannot be read back.

    `key` are the values of the row's primary key; `raw` is what stands there, cut short.
    """

    table: str
    key: tuple[Any, ...]
    column: str
    raw: str
    reason: str

    @property
    def job(self) -> int | None:
        """The job it belongs to."""
        of_job = self.table == JOBS.name or self.table in LIST_OF_TABLE
        return int(self.key[0]) if of_job and isinstance(self.key[0], int) else None

    @property
    def field(self) -> str:
        """The field, as errors and edits name it."""
        if part := LIST_OF_TABLE.get(self.table):
            return f"{part.field}[{self.key[1]}].{self.column}"
        return self.column if self.table == JOBS.name else f"{self.table}.{self.column}"

    @property
    def place(self) -> str:
        """The job and field, else the row and field, as it is told to somebody."""
        if self.job:
            return f"job {self.job}, {self.field}"
        row = "/".join(map(str, self.key))
        return f"row {row}, {self.field}" if row else self.field


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """What is wrong with a store; all empty where nothing is.

    `database` is what the database itself complains of, `missing` the tables and columns that are
    not there.
    """

    address: str
    database: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    cells: tuple[BadCell, ...] = ()

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong."""
        return not (self.database or self.missing or self.cells)


def condition_of(address: str) -> Condition:
    """Look through a whole store; changes nothing.

    Raises
    ------
    StoreUnusable
        If it cannot be opened at all.
    """
    with open_store(address).connect() as connection:
        missing = tuple(_missing(connection))
        database, cells = tuple(_complaints(connection)), list[BadCell]()
        try:
            cells += [] if missing else bad_cells(connection)
        except DatabaseError as error:
            database += (" ".join(str(error.orig).split()),)
        return Condition(
            address=address,
            database=tuple(dict.fromkeys(database)),
            missing=missing,
            cells=tuple(cells),
        )


def bad_cells(connection: Connection) -> Iterator[BadCell]:
    """Yield every value that cannot be read back; the connection is for nothing else afterwards."""
    if connection.dialect.name == "sqlite":
        connection.connection.driver_connection.text_factory = _text  # type: ignore[union-attr]
        connection.exec_driver_sql("PRAGMA ignore_check_constraints=ON")  # a row may hold two
    else:
        connection.exec_driver_sql("SET LOCAL datestyle = 'ISO'")
    for table in METADATA.sorted_tables:
        readers = {column.name: _reader(column, connection) for column in table.columns}
        told: set[tuple[Any, ...]] = set()
        for row in connection.execute(as_it_lies(table, connection)).mappings():
            if bad := _bad_of(table, dict(row), readers):
                told.add(bad[0].key)
                yield from bad
        for cell in (*_astray(table, connection), *_forbidden(table, connection)):
            if cell.key not in told:
                told.add(cell.key)
                yield cell


def raw_rows(connection: Connection, cells: Iterable[BadCell]) -> list[bytes]:
    """Return the rows with these cells as they lie there, a line of JSON each.

    A line has the table, the row by columns, and what is wrong with which of them. Bytes that are
    no text, and numbers that JSON has not, stand as Python writes them.
    """
    wrong: dict[tuple[str, tuple[Any, ...]], dict[str, str]] = {}
    for cell in cells:
        wrong.setdefault((cell.table, cell.key), {})[cell.column] = cell.reason
    return [
        msgspec.json.encode({"table": name, "row": row, "unreadable": reasons}, enc_hook=repr)
        + b"\n"
        for (name, key), reasons in wrong.items()
        for row in _rows_at(METADATA.tables[name], key, connection)
    ]


def unreadable_rows(address: str) -> list[bytes]:
    """Return of a whole store, as `raw_rows` does, the rows that cannot be read back.

    Raises
    ------
    StoreUnusable
        If it cannot be opened, lacks a table or column, or is too spoilt to be looked through.
    """
    with open_store(address).connect() as connection:
        if missing := ", ".join(_missing(connection)):
            raise StoreUnusable(f"store: {missing} is missing; put a copy back: 'kb db restore'")
        try:
            return raw_rows(connection, list(bad_cells(connection)))
        except DatabaseError as error:
            told = " ".join(str(error.orig).split())
            raise StoreUnusable(
                f"store: {told}: nothing can be read of it; put a copy back: 'kb db restore'"
            ) from error


def as_it_lies(table: Table, connection: Connection) -> Select[Any]:
    """Ask for the rows of a table as they lie there."""
    return _lying(table, connection.dialect.name)


@cache  # a store is looked through again and again while it is mended
def _lying(table: Table, dialect: str) -> Select[Any]:
    return select(*(_raw(column, dialect) for column in table.columns))


def raw_column(column: Column[Any], connection: Connection) -> ColumnElement[Any]:
    """Ask for what lies in a column: of days in a server for their text, as any year has one."""
    return _raw(column, connection.dialect.name)


def _raw(column: Column[Any], dialect: str) -> ColumnElement[Any]:
    if dialect != "sqlite" and column.type.python_type in {date, datetime}:
        return cast(column, Text).label(column.name)
    return type_coerce(column, NullType()).label(column.name)


def at_key(table: Table, key: tuple[Any, ...]) -> ColumnElement[bool]:
    """Select the row of a key, whatever it holds: SQLite finds a text that is none by its bytes."""
    wanted = [
        (cast(column, LargeBinary) if isinstance(value, bytes) else column).is_not_distinct_from(
            value
        )
        for column, value in zip(table.primary_key, key, strict=True)
    ]
    return and_(*wanted)


def _rows_at(
    table: Table, key: tuple[Any, ...], connection: Connection
) -> Iterator[dict[str, Any]]:
    query = as_it_lies(table, connection).where(at_key(table, key))
    for row in connection.execute(query).mappings():
        yield {name: _in_json(value) for name, value in row.items()}


def _in_json(value: Any) -> Any:
    told = not isinstance(value, bytes | float) or (isinstance(value, float) and isfinite(value))
    return value if told else repr(value)


def _text(raw: bytes) -> str | bytes:
    """Read a text of SQLite; bytes that are none stay bytes."""
    try:
        return raw.decode()
    except UnicodeDecodeError:
        return raw


def _complaints(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return
    try:
        said = [line for (line,) in connection.exec_driver_sql("PRAGMA integrity_check")]
    except DatabaseError as error:  # so spoilt that it cannot even be looked through
        yield " ".join(str(error.orig).split())
        return
    yield from complaints(said)
    foreign = "SELECT type, name FROM sqlite_schema WHERE type IN ('trigger', 'view')"
    for kind, name in connection.exec_driver_sql(foreign):
        yield f"the {kind} {name} is none of this program's and may change what is stored"


def _missing(connection: Connection) -> Iterator[str]:
    there = inspect(connection)
    names = set(there.get_table_names())
    for table in METADATA.sorted_tables:
        if table.name not in names:
            yield table.name
            continue
        columns = {each["name"] for each in there.get_columns(table.name)}
        yield from (f"{table.name}.{c.name}" for c in table.columns if c.name not in columns)


def _reader(column: Column[Any], connection: Connection) -> Callable[[Any], Any]:
    """Return what turns a raw value of a column into the program's; a number is one already."""
    if isinstance(column.type, Double):
        return lambda raw: raw
    if connection.dialect.name != "sqlite" and column.type.python_type in {date, datetime}:
        told = column.type.python_type.fromisoformat
        if isinstance(moment := column.type, UtcTime):
            return lambda raw: raw and moment.process_result_value(told(raw), connection.dialect)
        return lambda raw: raw and told(raw)
    kind = column.type.dialect_impl(connection.dialect)
    return kind.result_processor(connection.dialect, None) or (lambda raw: raw)


def _astray(table: Table, connection: Connection) -> Iterator[BadCell]:
    """Yield the keys of a table that refer to a row which is not there."""
    for column, wanted, query in _strays(table, connection.dialect.name):
        for row in connection.execute(query).mappings():
            yield _bad(table, dict(row), column, f"refers to a row of {wanted} that is not there")


@cache
def _strays(table: Table, dialect: str) -> Sequence[tuple[str, str, Select[Any]]]:
    """Return, for each column that refers to a table, what asks for the rows that go astray."""
    found = []
    for key in table.foreign_keys:
        column, wanted = key.parent, key.column
        there = select(wanted).where(wanted == column).correlate(table).exists()
        query = _lying(table, dialect).where(column.is_not(None), ~there)
        found.append((column.name, wanted.table.name, query))
    return found


def _forbidden(table: Table, connection: Connection) -> Iterator[BadCell]:
    """Yield the cells of a table that its own rules forbid; most often there are none."""
    any_broken, each_broken = _breaches(table, connection.dialect.name)
    if connection.scalar(any_broken) is None:
        return
    for column, query in each_broken:
        for row in connection.execute(query).mappings():
            yield _bad(table, dict(row), column, "cannot stand there")


@cache
def _breaches(table: Table, dialect: str) -> tuple[Select[Any], Sequence[tuple[str, Select[Any]]]]:
    """Return what asks whether any rule is broken, and, for the column of each, by which rows."""
    rules = [each for each in table.constraints if isinstance(each, CheckConstraint)]
    broken = [text(f"NOT ({rule.sqltext})") for rule in rules]
    any_broken = select(literal(1)).select_from(table).where(or_(false(), *broken)).limit(1)
    columns = (_meant_by(rule, table) for rule in rules)
    each_broken = [
        (c, _lying(table, dialect).where(b)) for c, b in zip(columns, broken, strict=True)
    ]
    return any_broken, each_broken


def _meant_by(rule: CheckConstraint, table: Table) -> str:
    """Return the column that a rule is named after, or else one of it that may be empty."""
    name = str(rule.name).removeprefix(f"ck_{table.name}_")
    if name in table.c:
        return name
    in_it = [each for each in table.columns if each.name in _WORD.findall(str(rule.sqltext))]
    return str(next((each for each in in_it if each.nullable), in_it[0]).name)


_WORD = compiled(r"\w+")


def _bad_of(table: Table, row: Row, readers: Mapping[str, Callable[[Any], Any]]) -> list[BadCell]:
    """Return the bad cells of a row: those that cannot be read, else the one that does not fit."""
    values, bad = {}, []
    for name, read in readers.items():
        try:
            values[name] = read(row[name])
            _check_kind(table.c[name], values[name])
        except UNREADABLE_ERRORS as error:
            bad.append(_bad(table, row, name, str(error)))
    if bad := bad or [_bad(table, row, name, "is empty") for name in _lacking(values)]:
        return bad
    try:
        _build(table, values)
    except InvalidField as error:
        name = error.field.partition("[")[0].rpartition(".")[2]
        meant = (name, *(f"{prefix}_{name}" for prefix in INNER_COLUMNS))
        column = next((each for each in meant if each in row), next(iter(row)))
        return [_bad(table, row, column, error.cure)]
    except UNREADABLE_ERRORS as error:
        return [_bad(table, row, next(iter(row)), str(error))]
    return []


def _lacking(values: Row) -> Iterator[str]:
    """Yield the columns that a value of several columns cannot be without, where one is empty."""
    for prefix, columns in INNER_COLUMNS.items():
        told = {column: values[column] for column in columns if column in values}
        if any(each is not None for each in told.values()):
            kinds = field_types(SaidAt if prefix == "said" else Cause)
            needed = (column for column, name in columns.items() if not kinds[name].optional)
            yield from (column for column in needed if told[column] is None)


def _check_kind(column: Column[Any], value: Any) -> None:
    """See that a value is of its column's kind, for SQLite keeps what it is given."""
    if value is None:
        if not column.nullable:
            raise ValueError("is empty")
        return
    if isinstance(column.type, JSON):
        _check_depth(value)
        if column.table is not CHANGES and not _all_texts(value):
            raise ValueError("is no list of texts")
    kind = column.type.python_type
    if kind not in {dict, list} and not isinstance(value, (kind, int) if kind is float else kind):
        raise ValueError(f"is no {_KINDS.get(kind, kind.__name__)}")


def _check_depth(value: Any) -> None:
    level = [value] if isinstance(value, dict | list) else []
    for _ in range(_DEEPEST):
        inside = (e.values() if isinstance(e, dict) else e for e in level)
        level = [each for some in inside for each in some if isinstance(each, dict | list)]
    if level:
        raise ValueError("is nested too deep")


_KINDS = {str: "text", int: "whole number", float: "number", bool: "yes or no", date: "day"}


def _build(table: Table, values: dict[str, Any]) -> None:
    """Make of a row what the program makes of it, as far as one row goes."""
    if part := LIST_OF_TABLE.get(table.name):
        part_of(part, {column.name: values[column.name] for column in part.columns})
    elif table is JOBS:
        told = gathered(
            {k: v for k, v in values.items() if k not in {"vehicle_id", "cause_digest"}}
        )
        Job(vehicle=Vehicle(), **{name: told[name] for name in JOB_FIELDS})
    elif table is VEHICLES:
        vehicle = Vehicle(**{name: values[name] for name in VEHICLE_FIELDS})
        if values["search"] != vehicle_row(vehicle)["search"]:
            raise InvalidField("search", values["search"], "is not what the car is found by")
    elif table is VEHICLE_MODELS:
        values["engines"] = tuple(values["engines"])
        VehicleModel(**{name: values[name] for name in field_types(VehicleModel)})
    elif table is WORDS:
        if not _says_something(values["short"]):
            raise InvalidField("short", values["short"], "is no word")
        if not any(map(_says_something, values["expansions"])):
            raise InvalidField("expansions", values["expansions"], "say nothing")
    for name, value in values.items():
        if isinstance(value, str):
            check_text(name, value)


def _says_something(text: str) -> bool:
    return any(map(str.isalnum, text))


def _all_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, str) for each in value)


def _bad(table: Table, row: Row, column: str, reason: str) -> BadCell:
    raw = repr(row[column])
    return BadCell(
        table=str(table.name),
        key=tuple(row[each.name] for each in table.primary_key),
        column=column,
        raw=raw if len(raw) <= _LONGEST else raw[: _LONGEST - 1] + "…",
        reason=reason,
    )
