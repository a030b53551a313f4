"""Creating, opening and upgrading a store; what its address can turn out to be."""

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path
from typing import Any

from sqlalchemy import (
    URL,
    ColumnElement,
    Connection,
    Engine,
    NullPool,
    create_engine,
    event,
    func,
    inspect,
    select,
    text,
)
from sqlalchemy.exc import DBAPIError, IntegrityError, NoSuchModuleError

from kb.errors import Conflict, StoreBusy, StoreMissing, StoreOutdated, StoreTooNew, StoreUnusable
from kb.patterns import compiled
from kb.store.address import file_of, index_folder, shown, url_of
from kb.store.backup import back_up
from kb.store.beside import check_place
from kb.store.clock import WrongClock, wrong_clock
from kb.store.roles import StoreRole, make_roles, renew_roles
from kb.store.sqlite_file import TABLES, connect, why_refused
from kb.store.tables import CHANGES, IS_CASE, JOBS, REVISIONS

PATIENCE_SECONDS = 60
"""How long to wait for another program that writes: many at once, on a busy machine, take turns."""
ANSWER_SECONDS = 10
"""How long to wait for a database server to answer at all."""
_WRITERS = 7_265_283
"""Key of the lock that writers take in PostgreSQL; any number that stays the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreStatus:
    """What was found at an address. `revision` is None where there is no store.

    `cases` is None in a store of another revision. `index` is the folder of what is computed from
    it, None where nothing has been yet. `clock` tells of this machine's, where it seems wrong.
    """

    address: str
    revision: str | None
    head: str
    pending: tuple[str, ...] = ()
    jobs: int | None = None
    cases: int | None = None
    index: str | None = None
    clock: WrongClock | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Upgrade:
    """What an upgrade did; `backup` is the copy made before, None where none was needed."""

    address: str
    before: str
    after: str
    backup: Path | None


def create_store(address: str) -> Engine:
    """Make a new, empty store.

    Raises
    ------
    StoreThere
        If there is a store already.
    Conflict
        If the place belongs to another.
    StoreUnusable
        If the place cannot be written, or holds something else.
    """
    path = file_of(address)
    if path is not None:
        _must_be_place(path)
        if not path.exists():
            check_place(path)
    with explained(url_of(address)):
        if path is not None:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            path.touch(mode=0o600)  # what SQLite keeps beside it is as private
        engine = _engine(address)
        with engine.connect() as connection:
            _refuse_second(connection, address)
        _migrate(address, anew=True)
    return engine


class StoreThere(Conflict):
    """There is a store already, perhaps since a moment ago."""


def _refuse_second(connection: Connection, address: str) -> None:
    if _revision(connection, address) is not None:
        raise StoreThere(f"store: there is a store already: {shown(address)}; use that one")


def open_store(address: str) -> Engine:
    """Open an existing store of this program's revision.

    Raises
    ------
    StoreMissing
        If there is none; create it first.
    StoreOutdated, StoreTooNew
        If another version of the program made it.
    StoreUnusable
        If the address holds something else, or cannot be read.
    """
    revision = _found(address)
    if revision not in REVISIONS:
        raise StoreTooNew(
            f"store: {shown(address)} has revision {revision!r}, which this program does not "
            "know; it was made by a newer one: update the program. Nothing was changed."
        )
    if revision != REVISIONS[-1]:
        raise StoreOutdated(
            f"store: {shown(address)} has the older revision {revision!r}; "
            "run 'kb db upgrade' (it makes a copy first). Nothing was changed."
        )
    return _engine(address)


def store_status(address: str) -> StoreStatus:
    """Look at a store without changing it, whatever its revision.

    Raises
    ------
    StoreUnusable
        If the address holds something else, or cannot be read.
    """
    try:
        revision = _found(address)
    except StoreMissing:
        return StoreStatus(address=shown(address), revision=None, head=REVISIONS[-1])
    with explained(url_of(address)), _engine(address).connect() as connection:
        return StoreStatus(
            address=shown(address),
            revision=revision,
            head=REVISIONS[-1],
            pending=_pending(revision),
            jobs=_count(connection),
            cases=_count(connection, IS_CASE) if revision == REVISIONS[-1] else None,
            index=str(folder) if (folder := index_folder(address)).is_dir() else None,
            clock=_clock(connection) if revision == REVISIONS[-1] else None,
        )


def clock_of(address: str) -> WrongClock | None:
    """Hold this machine's clock against a store's last change; None where they agree.

    Raises
    ------
    StoreMissing, StoreOutdated, StoreTooNew, StoreUnusable
        As for `open_store`.
    """
    with explained(url_of(address)), open_store(address).connect() as connection:
        return _clock(connection)


def _clock(connection: Connection) -> WrongClock | None:
    return wrong_clock(datetime.now(UTC), newest_change(connection))


def newest_change(connection: Connection) -> datetime | None:
    """When the last change was made; None where there is none, or its moment cannot be read."""
    last = select(CHANGES.c.at).order_by(CHANGES.c.sequence.desc()).limit(1)
    try:
        return connection.scalar(last)
    except (ValueError, TypeError, OverflowError):
        return None


def upgrade_store(address: str, *, copy_first: bool = True) -> Upgrade:
    """Bring a store to this program's revision, after a copy.

    Raises
    ------
    StoreMissing, StoreTooNew, StoreUnusable
        As for `open_store`; or if no copy can be made, and then nothing is changed.
    """
    revision = _found(address)
    if revision not in REVISIONS:
        open_store(address)
    backup = None
    if _pending(revision):
        backup = _copied(address) if copy_first else None
        with explained(url_of(address)):
            _migrate(address)
    return Upgrade(address=shown(address), before=revision, after=REVISIONS[-1], backup=backup)


def _copied(address: str) -> Path:
    try:
        return back_up(address)
    except (StoreUnusable, Conflict) as error:
        raise StoreUnusable(
            f"{error}. Nothing was upgraded: mend that, or make a copy in another way and go on "
            "with 'kb db upgrade --no-backup'"
        ) from error


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreRoles:
    """Names of the roles in a database server; each may do what those before it may."""

    address: str
    reader: str
    technician: str
    foreman: str


def let_in(address: str) -> StoreRoles:
    """Make the roles of a store in a database server, or set right what they may.

    Raises
    ------
    StoreUnusable
        If the store is a file, or whoever asks may make no roles.
    StoreMissing, StoreOutdated, StoreTooNew
        As for `open_store`.
    """
    if path := file_of(address):
        raise StoreUnusable(
            f"roles: {path} is a file, which has an owner and no roles; "
            "they are for a store in a PostgreSQL server"
        )
    engine = open_store(address).execution_options(kb_read_only=False)
    with explained(engine.url), engine.begin() as connection:
        names = make_roles(connection)
    return StoreRoles(
        address=shown(address),
        reader=names[StoreRole.READER],
        technician=names[StoreRole.TECHNICIAN],
        foreman=names[StoreRole.FOREMAN],
    )


def migrations_folder() -> Path:
    """Where the migrations are: inside an installed package, or beside it in a checkout."""
    package = Path(__file__).parents[1]
    installed = package / "_migrations"
    return installed if installed.is_dir() else package.parent / "migrations"


@contextmanager
def explained(url: URL) -> Iterator[None]:
    """Turn what a database complains of into a `StoreUnusable` that names the store.

    A broken constraint passes through: the code is to check before the database has to. What a
    trigger refuses is none of the program's.
    """
    name = shown(url.render_as_string(hide_password=False))
    try:
        yield
    except IntegrityError as error:
        if getattr(error.orig, "sqlite_errorname", None) != "SQLITE_CONSTRAINT_TRIGGER":
            raise
        raise StoreUnusable(
            f"store: {name}: a trigger that another program put into it refuses the change "
            f"({' '.join(str(error.orig).split())}); 'kb db check' names it"
        ) from None
    except DBAPIError as error:
        path = Path(str(url.database)) if url.get_backend_name() == "sqlite" else None
        if path is not None and (why := why_refused(path, error.orig)):
            raise StoreUnusable(f"store: {name}: {why}") from error
        reason = " ".join(str(error.orig).split())
        kind = StoreBusy if _is_busy(reason) else StoreUnusable
        raise kind(f"store: {name}: {reason}; {_cure(reason, in_file=path is not None)}") from error
    except OSError as error:
        raise StoreUnusable(f"store: {name}: {error.strerror}; choose another place") from error


def _is_busy(reason: str) -> bool:
    return "locked" in reason or "lock timeout" in reason


def _cure(reason: str, *, in_file: bool) -> str:
    if _is_busy(reason):
        return "another program is writing to it: try again when it is done"
    if "not a database" in reason or "malformed" in reason:
        return "it is not a case store, or it is damaged: choose another or restore a backup"
    if "decode" in reason:
        return "a value in it is spoilt: 'kb db check' names it"
    if "permission denied for" in reason or "permission denied to" in reason:
        return "your role in the database may not do that: ask whoever looks after the store"
    if "readonly" in reason or "unable to open" in reason or "permission" in reason:
        return "check that you may read and write the file and its folder, and that there is room"
    of_file = "check the disk and its room, and look the store through with 'kb db check'"
    of_server = "check the address, and that the database is running and has room"
    return of_file if in_file else of_server


def _found(address: str) -> str:
    """Revision of the store at an address; nothing is written."""
    path = file_of(address)
    if path is not None:
        _must_be_place(path)
        if not path.exists():
            raise StoreMissing(_missing(address))
    with explained(url_of(address)), _engine(address).connect() as connection:
        revision = _revision(connection, address)
    if revision is None:
        raise StoreMissing(_missing(address))
    return revision


def _must_be_place(path: Path) -> None:
    """See that a store is, or can be, a file.

    Raises
    ------
    StoreUnusable
        If something else stands there, or in its way.
    """
    if path.is_dir():
        raise StoreUnusable(
            f"store: {path} is a folder; name a file in it, as {path / 'shop.sqlite'}"
        )
    if path.exists() and not path.is_file():
        raise StoreUnusable(f"store: {path} is a pipe or a device and no file; name a file")
    above = next((each for each in path.parents if os.path.lexists(each)), None)
    if above is not None and above.exists() and not above.is_dir():
        raise StoreUnusable(f"store: {above} is no folder; choose another place than {path}")


def _missing(address: str) -> str:
    return f"store: there is none yet at {shown(address)}; run 'kb init' to create it"


def _revision(connection: Connection, address: str) -> str | None:
    """Revision of the store, None where the database is empty."""
    tables = set(inspect(connection).get_table_names())
    if tables <= {"alembic_version"}:
        return None
    if not tables >= TABLES:
        raise StoreUnusable(
            f"store: {shown(address)} holds other data and is no case store; choose another place"
        )
    told = _told_revisions(connection) if "alembic_version" in tables else ()
    if len(told) == 1 and (told[0] in REVISIONS or _REVISION.fullmatch(str(told[0]))):
        return str(told[0])
    held = " and ".join(map(repr, told[:_MOST_TOLD])) or "nothing"
    raise StoreUnusable(
        f"store: {shown(address)} does not tell its revision any more: alembic_version holds "
        f"{held:.200}, where one number belongs. Put a copy back: 'kb db restore COPY'. "
        "Nothing was changed."
    )


def _told_revisions(connection: Connection) -> Sequence[object]:
    """Return what stands where the revision belongs; nothing where its column is not there."""
    columns = {column["name"] for column in inspect(connection).get_columns("alembic_version")}
    if "version_num" not in columns:
        return ()
    return connection.scalars(text("SELECT version_num FROM alembic_version")).all()


_REVISION = compiled(r"[0-9]{4}")
_MOST_TOLD = 3


def _pending(revision: str) -> tuple[str, ...]:
    return REVISIONS[REVISIONS.index(revision) + 1 :] if revision in REVISIONS else ()


def _count(connection: Connection, *wanted: ColumnElement[bool]) -> int:
    query = select(func.count()).select_from(JOBS).where(*wanted)
    return connection.execute(query).scalar_one()


def _migrate(address: str, *, anew: bool = False) -> None:
    """Run the migrations that are missing, all or none of them; `anew` only where none ran yet."""
    from alembic import command  # noqa: PLC0415  (costs a second, and is seldom needed)
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    engine = _engine(address, migrating=True)
    with engine.execution_options(kb_read_only=False).begin() as connection:
        if anew:  # others may have made one since it was looked
            _refuse_second(connection, address)
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        if connection.dialect.name == "sqlite":
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
            if broken:
                raise StoreUnusable(f"store: {shown(address)}: rows refer to nothing: {broken}")
        else:
            renew_roles(connection)


def _engine(address: str, *, migrating: bool = False) -> Engine:
    """Connections to the store; each unit of work has one of its own, and leaves none open."""
    return _engine_of(url_of(address), PATIENCE_SECONDS, migrating)


@cache
def _engine_of(url: URL, seconds: int, migrating: bool) -> Engine:
    """Make the one engine of an address: what it has learnt of its statements serves them all."""
    sqlite = url.get_backend_name() == "sqlite"
    how: dict[str, Any] = {"connect_args": {"connect_timeout": ANSWER_SECONDS}}
    if sqlite:
        how = {"creator": partial(connect, Path(str(url.database)), seconds)}
    try:
        engine = create_engine(url, poolclass=NullPool, **how)
    except (NoSuchModuleError, ModuleNotFoundError) as error:
        address = shown(url.render_as_string(hide_password=False))
        raise StoreUnusable(
            f"store: {address} needs a driver that is not installed: "
            "pip install 'shop-case-base[postgresql]'"
        ) from error
    if sqlite:
        event.listen(engine, "connect", _prepare_migration if migrating else _prepare)
    event.listen(engine, "begin", _begin_sqlite if sqlite else _begin_postgresql)
    return engine.execution_options(kb_read_only=True)


def _prepare(connection: Any, record: object) -> None:  # noqa: ARG001
    connection.isolation_level = None
    connection.execute("PRAGMA foreign_keys=ON")
    connection.execute("PRAGMA synchronous=FULL")  # some builds would lose the last changes


def _prepare_migration(connection: Any, record: object) -> None:  # noqa: ARG001
    """Foreign keys are checked after a migration, because it may rebuild a table."""
    connection.isolation_level = None
    connection.execute("PRAGMA foreign_keys=OFF")
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")


def _begin_sqlite(connection: Connection) -> None:
    """A writer takes the lock at once: one that first reads could not wait for it later."""
    options = connection.get_execution_options()
    read_only = options["kb_read_only"]
    if patience := options.get("kb_patience"):
        connection.exec_driver_sql(f"PRAGMA busy_timeout={patience * 1000}")
    connection.exec_driver_sql(f"PRAGMA query_only={int(read_only)}")
    connection.exec_driver_sql("BEGIN" if read_only else "BEGIN IMMEDIATE")


def _begin_postgresql(connection: Connection) -> None:
    """One writer at a time, as in SQLite, so that numbers and changes come in order."""
    options = connection.get_execution_options()
    if options["kb_read_only"]:
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
    else:
        patience = options.get("kb_patience") or PATIENCE_SECONDS
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{patience}s'")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS})")
