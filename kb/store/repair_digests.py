"""Digests of the rows that fix rates rest on, by which a change without history is noticed."""

from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime
from hashlib import blake2b
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Connection, Table, text
from sqlalchemy.exc import DBAPIError

from kb.store.tables import ATTEMPTS, CODES, CONTACTS, ENTRIES, JOBS, TESTS, VEHICLES

BLOCK = 256
"""So many jobs have one digest: where one of them changed as history tells, it says nothing."""
_COLUMNS: dict[Table, tuple[str, ...]] = {
    JOBS: (
        *("cause_digest", "cause_position", "cause_component", "cause_location", "vehicle_id"),
        *("opened", "closed", "odometer_km", "system", "proved_by", "reproduced", "complaint"),
        *("void", "notes"),
    ),
    ATTEMPTS: (
        *("place", "action", "component", "words", "minutes", "parts_cost", "cured", "part_maker"),
        *("verified", "supposed_component", "supposed_location", "supposed_failure_mode"),
        *("said_entry", "said_start", "said_end"),
    ),
    ENTRIES: ("place", "kind", "text"),
    TESTS: ("place", "name", "seen"),
    CONTACTS: ("place", "on", "outcome", "odometer_km", "job", "by"),
    CODES: ("place", "code"),
    VEHICLES: ("ref", "vin"),
}
_ALL = "all"
_BETWEEN = " || '|' || "
_SURE_SECONDS = 0.05
"""A file that was written so shortly before a reading began may have been written since, too."""


def digests(connection: Connection) -> dict[str, str] | None:
    """Digest the rows that rates rest on; None where the database cannot tell them.

    Of 20,000 jobs that takes a fifth of a second, of 1,000 a hundredth.

    Returns
    -------
    dict of str to str or None
        By table and block of jobs (*attempts 7*); of vehicles, which are no job's, by table alone.
    """
    found: dict[str, str] = {}
    try:
        for table, names in _COLUMNS.items():
            said = _statement(connection.dialect.name, table, [table.c[each] for each in names])
            for block, told in connection.execute(text(said)):
                held = told if isinstance(told, bytes) else str(told).encode()
                found[f"{table.name} {block}"] = blake2b(held, digest_size=8).hexdigest()
    except DBAPIError:
        return None
    return found


def differ(before: dict[str, str], now: dict[str, str], changed: Iterable[int]) -> bool:
    """Whether rows changed of which history tells nothing; `changed` are the jobs it tells of.

    Examples
    --------
    >>> differ({"jobs 0": "a", "jobs 1": "b"}, {"jobs 0": "a", "jobs 1": "c"}, [300])
    False
    >>> differ({"jobs 0": "a", "jobs 1": "b"}, {"jobs 0": "a", "jobs 1": "c"}, [12])
    True
    """
    told = {str(number // BLOCK) for number in changed}
    unlike = {key for key in before.keys() | now.keys() if before.get(key) != now.get(key)}
    blocks = {key.rpartition(" ")[2] for key in unlike}
    return bool(blocks - told - ({_ALL} if told else set()))


def stamp(connection: Connection, begun: datetime) -> str | None:
    """Return what differs as soon as anybody has stored anything; None where nobody can say.

    Parameters
    ----------
    begun : datetime
        When the transaction began: a file that was written later is not what is read in it.

    References
    ----------
    https://www.postgresql.org/docs/current/functions-info.html#FUNCTIONS-PG-SNAPSHOT; SQLite
    writes to its file or to the log beside it, https://www.sqlite.org/wal.html
    """
    if connection.dialect.name != "sqlite":
        return str(connection.scalar(text("SELECT CAST(pg_current_snapshot() AS TEXT)")))
    path = Path(str(connection.engine.url.database))
    told = []
    for file in (path, path.with_name(f"{path.name}-wal")):
        with suppress(FileNotFoundError):
            if (found := file.stat()).st_size:
                told.append(f"{found.st_ino} {found.st_size} {found.st_mtime_ns}")
                if found.st_mtime > begun.timestamp() - _SURE_SECONDS:
                    return None
    return "; ".join(told)


def _statement(dialect: str, table: Table, columns: list[Column[Any]]) -> str:
    """Say what tells the rows of each block; SQLite has no digest of its own, and gives them."""
    (key, *_) = (column.name for column in table.primary_key)
    block = f"'{_ALL}'" if table is VEHICLES else f"{key} / {BLOCK}"
    values = [key, *(f"coalesce(CAST(\"{each.name}\" AS TEXT), '-')" for each in columns)]
    if dialect == "sqlite":
        told = f"CAST(group_concat({_BETWEEN.join(values)}) AS BLOB)"
    else:
        told = f"sum(hashtextextended(concat_ws('|', {', '.join(values)}), 0))"
    return f"SELECT {block} AS block, {told} FROM {table.name} GROUP BY block"  # noqa: S608  names of columns alone
