"""What else of a store tells a field that cannot be read: its history, and what was typed."""

import json
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import msgspec
from sqlalchemy import JSON, Column, Connection, select

from kb.case import UNREADABLE, EntryKind
from kb.patterns import compiled
from kb.store.condition import LIST_OF_TABLE, UNREADABLE_ERRORS, BadCell, raw_column
from kb.store.mapping import INNER_COLUMNS
from kb.store.tables import CHANGES, JOBS, LISTS, METADATA

_ENTRIES = LISTS["entries"]
_TYPED_AS = {"complaint": EntryKind.COMPLAINT, "notes": EntryKind.NOTE}
"""Fields of a job that are kept as they were typed, too."""
_STEP = compiled(r"[^.\[\]]+")


def kept_value(connection: Connection, cell: BadCell) -> Any:
    """Return what a cell of a job held, as the store tells it elsewhere; None if nothing does.

    The last change of the field tells it exactly. A complaint or note that was never changed stands
    word for word among the job's entries; one told anew, as it was told last.
    """
    table = METADATA.tables[cell.table]
    if cell.job is None or (table is not JOBS and cell.table not in LIST_OF_TABLE):
        return None
    column = table.c[cell.column]
    for told in (*_last_change(connection, cell), *_typed(connection, cell)):
        if told is not None and told != UNREADABLE:
            with suppress(msgspec.ValidationError):
                return _as_held(column, told)
    return None


def _last_change(connection: Connection, cell: BadCell) -> Iterator[Any]:
    """Yield what the last change that tells of a field left there, if there is one.

    A change of what the field is in, as of a list's item that was added, tells of it as well.
    """
    wanted = _STEP.findall(_path(cell))
    query = select(CHANGES.c.field, raw_column(CHANGES.c.new, connection))
    query = query.where(CHANGES.c.job == cell.job).order_by(CHANGES.c.sequence.desc())
    for field, new in connection.execute(query):
        steps = _STEP.findall(field) if isinstance(field, str) else []
        if steps and steps == wanted[: len(steps)]:
            yield _inside(_from_json(new, connection), wanted[len(steps) :])
            return


def _path(cell: BadCell) -> str:
    """Return the path of a cell's field, as a change names it."""
    for prefix, columns in INNER_COLUMNS.items():
        if cell.column in columns:
            return cell.field.removesuffix(cell.column) + f"{prefix}.{columns[cell.column]}"
    return cell.field


def _inside(value: Any, steps: list[str]) -> Any:
    for step in steps:
        if not isinstance(value, dict):
            return None
        value = value.get(step)
    return value


def _from_json(raw: Any, connection: Connection) -> Any:
    """Read a value of the history: a server gives it as it was, SQLite its text, or a number."""
    if connection.dialect.name != "sqlite" or not isinstance(raw, str):
        return None if isinstance(raw, bytes) else raw
    try:
        return json.loads(raw)
    except UNREADABLE_ERRORS:
        return None


def _typed(connection: Connection, cell: BadCell) -> Iterator[Any]:
    """Yield what was typed for a field, the last first."""
    kind = _TYPED_AS.get(cell.field)
    if kind is None:
        return
    query = select(raw_column(_ENTRIES.c.text, connection))
    query = query.where(_ENTRIES.c.job_number == cell.job, _ENTRIES.c.kind == kind.value)
    texts = connection.scalars(query.order_by(_ENTRIES.c.place.desc())).all()
    yield from (each for each in texts if isinstance(each, str) and each)


def _as_held(column: Column[Any], told: Any) -> Any:
    """Return a JSON value as its column takes it.

    Raises
    ------
    msgspec.ValidationError
        If it is none.
    """
    if isinstance(column.type, JSON):
        return told
    return msgspec.convert(told, column.type.python_type)
