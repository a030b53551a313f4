"""Taking a text that names a person or a car out of everything a store holds."""

import sqlite3
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

from sqlalchemy import JSON, Column, Enum, Row, String, Table, delete, false, select, update

from kb.bounds import LONGEST_TEXT
from kb.case import Vehicle
from kb.errors import InvalidField, StoreUnusable
from kb.patterns import compiled
from kb.store.database import explained, open_store
from kb.store.history import ERASED
from kb.store.mapping import CAUSE_COLUMNS, VEHICLE_FIELDS, cause_digest, cause_of, vehicle_row
from kb.store.sqlite_file import connect
from kb.store.tables import CHANGES, CODES, JOBS, METADATA, VEHICLE_MODELS, VEHICLES, WORDS
from kb.store.unit_of_work import UnitOfWork

MASK = "█"
FEWEST = 3
"""Letters and digits of a text to be erased; of fewer nobody can say where else they stand."""
PATIENCE_SECONDS = 10
"""How long to wait for others who have the store open, before its file is written anew."""
_STRETCH = 4_000_000
"""Characters of a file that are looked through at a time."""
_BETWEEN = r"[\s./()_\-\u00ad\u200b-\u200f\u2060\ufeff]{0,3}"
"""What may stand between two characters: a number or a plate is written with gaps or without, and
signs without width are not seen."""
_MADE = {CODES.c.code, CODES.c.failure_type, JOBS.c.cause_digest, VEHICLES.c.search}
"""Columns that follow from others, or name no person and no car."""
_EMPTIED = {VEHICLES.c.vin, VEHICLES.c.ref}
_DROPPED = {WORDS, VEHICLE_MODELS}
"""Tables whose rows are taken out whole: they are found by their text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldAt:
    """A cell that holds what is to be erased; `job` is None where it is no job's alone."""

    job: int | None
    table: str
    field: str


class Eraser:
    """Finds texts, however they are spaced and in whichever case, and masks them.

    A text is found as whole words. The mask is as long as what stood there, because other fields
    point into the words that something was told in.

    Examples
    --------
    >>> Eraser(["07700 900123"]).masked("call 07700-900 123, not 07700 900124")
    'call █████████████, not 07700 900124'
    """

    def __init__(self, texts: Iterable[str]) -> None:
        found = [_pattern(each) for each in texts]
        if not found:
            raise InvalidField("text", "", "is missing; say what is to be erased")
        self._pattern = compiled(rf"(?i)(?<![^\W_])(?:{'|'.join(found)})(?![^\W_])")
        self._anywhere = compiled(rf"(?i)(?:{'|'.join(found)})")

    def is_in(self, path: Path) -> bool:
        """Whether a file may hold one of the texts; False of one that cannot be read.

        In a store's file one field stands right behind another, so no word ends are looked for.
        """
        before = ""
        with suppress(OSError), path.open(encoding="utf-8", errors="replace", newline="") as file:
            while stretch := file.read(_STRETCH):
                if self._anywhere.search(before + stretch):
                    return True
                before = stretch[-LONGEST_TEXT:]
        return False

    def masked(self, value: Any) -> Any:
        """Return a text, or a JSON value with all texts in it, masked; anything else as it is."""
        match value:
            case str():
                return self._pattern.sub(lambda match: MASK * len(match[0]), value)
            case list() | tuple():
                return [self.masked(each) for each in value]
            case dict():
                masked = {key: self.masked(each) for key, each in value.items()}
                return masked | self.masked_pair(value)
        return value

    def masked_pair(self, held: Mapping[str, Any]) -> dict[str, str]:
        """Return make and model masked where a text stands in neither, but in the two together."""
        pair = {name: held.get(name) for name in ("make", "model")}
        if not all(isinstance(each, str) and self.masked(each) == each for each in pair.values()):
            return {}
        if self._pattern.search(" ".join(map(str, pair.values()))) is None:
            return {}
        return {name: MASK * len(str(each)) for name, each in pair.items()}


def _pattern(told: str) -> str:
    """Return the expression that finds a text.

    Raises
    ------
    InvalidField
        If it has too few letters and digits to be told from others.
    """
    signs = [char for char in unicodedata.normalize("NFC", told) if char.isalnum()]
    if len(signs) < FEWEST:
        raise InvalidField("text", told, f"has fewer than {FEWEST} letters and digits; say more")
    return _BETWEEN.join(map(_either_form, signs))


def _either_form(char: str) -> str:
    """Let a letter with an accent be found as one character, or as two."""
    apart = unicodedata.normalize("NFD", char)
    return char if apart == char else f"(?:{char}|{apart})"


def places_of(address: str, eraser: Eraser) -> list[HeldAt]:
    """List the cells that hold a text; nothing is changed.

    Raises
    ------
    KbError
        If the store cannot be opened, or a value of it cannot be read.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return [place for _, _, places, _ in _spotted(work, eraser) for place in places]


def erase(address: str, eraser: Eraser, *, who: str | None = None) -> list[HeldAt]:
    """Mask a text in every table, and note on every job concerned that it was done.

    A car's VIN and key tag are emptied, a shop word or a line of the vehicle list is taken out.
    What is freed in the file keeps the text until `scrub`.

    Raises
    ------
    KbError
        If the store cannot be opened or written, or a value of it cannot be read.
    """
    done: list[HeldAt] = []
    jobs: set[int] = set()
    with UnitOfWork(open_store(address), who=who) as work:
        # who may not change history erases nothing, also where history does not hold it
        work.execute(update(CHANGES).where(false()).values(who=None))
        for table, key, places, masked in list(_spotted(work, eraser)):
            its_own = [column == key[column.name] for column in table.primary_key]
            if table in _DROPPED:
                work.execute(delete(table).where(*its_own))
            else:
                work.execute(update(table).where(*its_own).values(masked))
            done += places
            if table is VEHICLES:
                visits = select(JOBS.c.number).where(JOBS.c.vehicle_id == key["id"])
                jobs.update(row.number for row in work.execute(visits))
        jobs.update(place.job for place in done if place.job is not None)
        for job in sorted(jobs):
            work.changes.note(job, ERASED)
        if done and not jobs:
            work.changes.note(None, ERASED)
        work.commit()
    return done


def scrub(address: str) -> bool:
    """Overwrite what a database has freed; whether that could be done.

    Others may have an SQLite file open; in PostgreSQL only the owner of the tables may do it.

    Raises
    ------
    StoreUnusable
        If it cannot be written.

    References
    ----------
    https://www.sqlite.org/pragma.html#pragma_secure_delete, https://www.sqlite.org/lang_vacuum.html,
    https://www.postgresql.org/docs/current/sql-vacuum.html
    """
    engine = open_store(address)
    if engine.dialect.name == "sqlite":
        return _scrub_file(Path(str(engine.url.database)))
    with explained(engine.url):
        writing = engine.execution_options(isolation_level="AUTOCOMMIT", kb_read_only=False)
        with writing.connect() as connection:
            driver: Any = connection.connection.driver_connection
            driver.autocommit = True
            warnings: list[object] = []  # a table that is somebody else's is passed over with one
            driver.add_notice_handler(warnings.append)
            cursor = connection.connection.cursor()
            for table in METADATA.sorted_tables:
                cursor.execute(f"VACUUM (FULL) {table.name}")
    return not warnings


def _scrub_file(path: Path) -> bool:
    """Write an SQLite file anew, with nothing left of what was freed, in it or in its log."""
    try:
        with closing(connect(path, PATIENCE_SECONDS)) as store:
            store.execute("PRAGMA secure_delete=ON")
            store.execute("VACUUM")
            (busy, _, _) = store.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    except sqlite3.OperationalError as error:
        if "locked" in str(error) or "busy" in str(error):
            return False
        raise StoreUnusable(f"store: {path}: {error}; make room on the disk") from error
    return not busy


Spotted = tuple[Table, dict[str, Any], list[HeldAt], dict[str, Any]]
"""A table, the key of a row, the places in it that hold the text, and its columns as masked."""


def _spotted(work: UnitOfWork, eraser: Eraser) -> Iterator[Spotted]:
    for table in METADATA.sorted_tables:
        columns = [column for column in table.columns if _holds_text(column)]
        try:
            for row in work.execute(select(table)):
                if found := _in_row(table, columns, row, eraser):
                    yield found
        except (ValueError, LookupError) as error:
            raise StoreUnusable(
                f"store: a value of {table.name} cannot be read: 'kb db check --repair' mends it"
            ) from error


def _holds_text(column: Column[Any]) -> bool:
    kind = column.type
    is_text = isinstance(kind, JSON | String) and not isinstance(kind, Enum)
    return is_text and column not in _MADE


def _in_row(
    table: Table, columns: list[Column[Any]], row: Row[Any], eraser: Eraser
) -> Spotted | None:
    """Mask a row; None where nothing is found in it."""
    values = dict(row._mapping)
    job = values.get({"jobs": "number", "changes": "job"}.get(table.name, "job_number"))
    if table is CHANGES and job is not None:  # the path of a field, which is no text of anybody's
        columns = [column for column in columns if column is not CHANGES.c.field]
    masked = {}
    for column in columns:
        before = values[column.name]
        if (after := eraser.masked(before)) != before:
            masked[column.name] = None if column in _EMPTIED else after
    masked |= eraser.masked_pair(values)
    if not masked:
        return None
    key = {column.name: values[column.name] for column in table.primary_key}
    places = [HeldAt(job=job, table=table.name, field=name) for name in masked]
    return table, key, places, masked | _following(table, values | masked, masked)


def _following(table: Table, values: dict[str, Any], masked: dict[str, Any]) -> dict[str, Any]:
    """Return the columns of a row that follow from those masked."""
    if table is VEHICLES:
        return vehicle_row(Vehicle(**{name: values[name] for name in VEHICLE_FIELDS}))
    if table is not JOBS:
        return {}
    new: dict[str, Any] = {"uid": uuid4().hex} if "uid" in masked else {}
    if not masked.keys().isdisjoint(CAUSE_COLUMNS):
        cause = cause_of({name: values[name] for name in CAUSE_COLUMNS})
        new["cause_digest"] = cause_digest(cause.key)
    return new
