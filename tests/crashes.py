"""Commands in a process of their own that is killed at one of its steps, and what a store holds."""

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import count
from multiprocessing.connection import Connection as Pipe
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from sqlalchemy import Engine, MetaData, NullPool, create_engine, event, select

from kb.cli.main import kb
from kb.store.address import url_of
from kb.store.database import open_store
from kb.store.tables import CHANGES
from kb.store.unit_of_work import UnitOfWork
from tests.forked import STARTER

STEPS = ("after_cursor_execute", "commit")
"""What SQLAlchemy tells of: a statement was run, the transaction is about to be kept. SQLite tells
of its own statements, whoever gives them, before each of them."""
FILE_STEPS = frozenset(["os.link", "os.rename", "os.remove"])
"""What Python tells of before it is done: a copy gets its name, or a file goes."""
PATIENCE_SECONDS = 600


@dataclass(frozen=True, slots=True)
class Ended:
    """How a process ended.

    `done` commands had come to their end with exit code 0, after `steps` steps in all and `calls`
    of what was armed, if it came so far; of the next one `said` is what it printed, and `error` a
    defect that it showed.
    """

    code: int | None
    done: int
    steps: int = 0
    said: str = ""
    error: str = ""
    calls: int = 0


Copies = tuple[Path, Path]
Arming = Callable[[], Callable[[], int]]
"""Called in a process before its first command; what it returns counts calls."""


def run(
    commands: Sequence[Sequence[str]],
    *,
    at: int | None = None,
    after: float | None = None,
    armed: Arming | None = None,
    copies: Copies | None = None,
) -> Ended:
    """Run commands one after the other in a process of their own, up to the first that fails.

    Parameters
    ----------
    at : int, optional
        Kill it at that step, from 1: a statement, or a file that is renamed or removed.
    after : float, optional
        Kill it after so many seconds, unless it has ended.
    armed : callable, optional
        Is called in the process before the first command, and returns what counts calls.
    copies : (Path, Path), optional
        A folder, and the one that gets a copy of it before each step, named by the step and how
        many commands were done: what a process leaves that is killed there, for what it wrote is
        the system's, and nothing of it runs any more.
    """
    ours, theirs = STARTER.Pipe(duplex=False)
    process = STARTER.Process(target=_commands, args=(theirs, commands, at, armed, copies))
    process.start()
    theirs.close()
    told: list[Any] = []
    try:
        told.append(ours.recv())  # it begins now
        if after is not None and not ours.poll(0):
            process.join(after)
            process.kill()
        while ours.poll(PATIENCE_SECONDS):
            told.append(ours.recv())
    except EOFError:
        pass
    process.join()
    done = sum(each is True for each in told)
    ended = next((each for each in told if isinstance(each, Ended)), Ended(None, done))
    return replace(ended, code=process.exitcode)


def _commands(
    pipe: Pipe,
    commands: Sequence[Sequence[str]],
    at: int | None,
    armed: Arming | None,
    copies: Copies | None,
) -> None:
    steps = count(1)
    last = done = 0

    def step(*_: object) -> None:
        nonlocal last
        last = next(steps)
        if last == at:
            os.kill(os.getpid(), signal.SIGKILL)
        if copies:  # by another process: whoever closes a file gives up all his locks on it
            subprocess.run(["cp", "-a", copies[0], copies[1] / f"{last}-{done}"], check=True)

    def in_server(connection: Any, *_: object) -> None:
        if connection.dialect.name != "sqlite":
            step()

    real = sqlite3.connect

    def traced(*given: Any, **named: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = real(*given, **named)
        connection.set_trace_callback(step)
        return connection

    for name in STEPS:
        event.listen(Engine, name, in_server)
    setattr(sqlite3, "connect", traced)  # noqa: B010
    sys.addaudithook(lambda name, _: step() if name in FILE_STEPS else None)
    pipe.send("begins")
    calls = armed() if armed else int
    for done, words in enumerate(commands):
        result = CliRunner().invoke(kb, words)
        if result.exit_code:
            defect = not isinstance(result.exception, SystemExit)
            error = repr(result.exception) if defect else ""
            pipe.send(Ended(None, done, last, result.output, error, calls()))
            return
        pipe.send(True)
    pipe.send(Ended(None, len(commands), last, calls=calls()))


def contents(address: str) -> str:
    """Return a digest of what a store holds, but for random uids and the time of day."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        jobs = [
            replace(job, uid=None, entries=tuple(replace(each, at=None) for each in job.entries))
            for job in work.jobs.all()
        ]
        words, models = sorted(work.words.all()), work.models.all()
        notes = work.jobs._connection.execute(
            select(CHANGES.c.job, CHANGES.c.field, CHANGES.c.who).order_by(CHANGES.c.sequence)
        ).all()
    return sha256(repr((jobs, words, models, notes)).encode()).hexdigest()


def open_engine(address: str) -> Engine:
    """Return an engine for a store of any revision."""
    return create_engine(url_of(address), poolclass=NullPool)


def rows(engine: Engine, *, without: Iterable[str] = ()) -> dict[str, list[Any]]:
    """Return every row of every table, as a store of any revision has it."""
    with engine.connect() as connection:
        tables = MetaData()
        tables.reflect(connection)
        return {
            table.name: sorted(
                (dict(row) for row in connection.execute(select(table)).mappings()), key=repr
            )
            for table in tables.sorted_tables
            if table.name not in without
        }
