"""Kills the program, and refuses it the disk, at every place: what is lost, and what unreadable.

Run by hand, in a checkout, with a C compiler at hand:

    python tests/benchmarks/crash.py --kills 40 --database sqlite --target record --seed 1

Every target is a few commands on a fresh copy of a filled store. They are killed with SIGKILL once
at every statement, commit and renaming of a file (`tests.crashes`), at every call that changes a
file (SQLite alone; some of them where there are more than `--calls`), with that call made by half,
and at random moments. A call that changes a file is also refused, once and from then on, as by a
full disk and as by a broken one.

A command is acknowledged when it ends with exit code 0. Afterwards the store must hold all that was
acknowledged, and of the next command all or nothing; every copy under a copy's name must be whole;
and the store must be sound and answer questions. After a refusal the message must be one line, and
no traceback.
"""

import argparse
import ctypes
import errno
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import count
from pathlib import Path
from random import Random
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from click.testing import CliRunner
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from kb.cli.main import kb
from kb.errors import KbError
from kb.services.demo import demo_address
from kb.services.erasing import places_to_erase
from kb.services.exchange import export_file
from kb.store.backup import back_up
from kb.store.condition import condition_of
from kb.store.database import (
    create_store,
    open_store,
    store_status,
    upgrade_store,
)
from kb.store.tables import REVISIONS
from kb.store.unit_of_work import UnitOfWork
from tests.crashes import (
    Arming,
    Ended,
    contents,
    open_engine,
    rows,
    run,
)
from tests.forked import PRELOADED, STARTER
from tests.store.conftest import Server
from tests.store.test_migrations import at_revision

HERE = Path(__file__).parent
COUNT, KILL, TEAR, ONCE, FROM_THEN_ON = range(5)
"""What `faults.c` does with the call it is armed for."""
RECORD = (
    ("job", "open", "no crank, clicks once, battery 12.1 V", "--vehicle", "bramwick dray 2014"),
    ("job", "add", "{new}", "--yes", "wiggle test: feed jumps; replaced battery, cured, 40 min"),
    ("job", "edit", "{new}", "--yes", "--set", "odometer_km=81500"),
    ("job", "close", "{new}", "--yes", "battery, worn", "--proved-by", "cranks, 12.6 V"),
    ("job", "add", "contact", "{new}", "--yes", "held, 82000 km"),
)
AS_MODULE = "tests.benchmarks.crash"
"""Under this name the program is imported once, by what starts all the processes under test."""
STARTER.set_forkserver_preload([*PRELOADED, AS_MODULE])
QUESTION = ("causes", "no crank, clicks once")


@dataclass(frozen=True, slots=True)
class Case:
    """What is ended: commands, on a store of a revision with so many jobs."""

    commands: Sequence[Sequence[str]]
    jobs: int = 60
    revision: str = REVISIONS[-1]


TARGETS = {
    "record": Case(RECORD),
    "import": Case([("import", "{more}")], jobs=30),
    "backup": Case([("db", "backup"), ("db", "backup")]),
    "restore": Case([("db", "restore", "--force", "{copy}")]),
    "erase": Case([("db", "erase", "battery", "--confirm", "{places}")]),
    **{f"upgrade-{each}": Case([("db", "upgrade")], revision=each) for each in REVISIONS[:-1]},
    "index": Case([("db", "reindex"), QUESTION], jobs=200),
    "learn": Case([("weights", "--learn")], jobs=155),
}
HOWS = ("statements", "calls", "torn", "random", "full", "broken")


class Sqlite:
    """Places for SQLite stores: a folder each."""

    with_files = True

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._names = count(1)

    def new(self) -> str:
        place = self._folder / f"place{next(self._names)}"
        place.mkdir()
        return str(place / "shop.sqlite")

    def like(self, address: str) -> str:
        return str(shutil.copy(address, self.new()))

    def copies(self, address: str) -> list[str]:
        return [str(each) for each in Path(address).parent.glob("*.backup.sqlite")]

    def settle(self, address: str) -> None:
        """Nobody goes on by himself after a process has ended."""

    def remove(self, address: str) -> None:
        shutil.rmtree(Path(address).parent)


class PostgreSql:
    """Databases of a server that is started for the run."""

    with_files = False

    def __init__(self, folder: Path) -> None:
        self._server = Server(folder / "data")

    def new(self) -> str:
        return self._server.address(self._server.create())

    def like(self, address: str) -> str:
        return self._server.address(self._server.create(_database(address)))

    def copies(self, address: str) -> list[str]:
        return []

    def settle(self, address: str) -> None:
        """Wait until the server has noticed that its client is gone.

        Each look is a transaction of its own: within one the server says what it said at first
        (https://www.postgresql.org/docs/current/monitoring-stats.html#MONITORING-STATS-VIEWS).
        """
        others = text("SELECT count(*) FROM pg_stat_activity WHERE datname = :name")
        with open_engine(self._server.address("postgres")).connect() as opened:
            connection = opened.execution_options(isolation_level="AUTOCOMMIT")
            while connection.scalar(others, {"name": _database(address)}):
                time.sleep(0.01)

    def remove(self, address: str) -> None:
        self._server._administer(f"DROP DATABASE {_database(address)} WITH (FORCE)")


def _database(address: str) -> str:
    return str(open_engine(address).url.database)


Places = Sqlite | PostgreSql


@dataclass(frozen=True, slots=True)
class Ready:
    """A case made ready: the store to copy, its commands, and what it holds after each of them."""

    template: str
    commands: Sequence[Sequence[str]]
    stages: Sequence[str]
    old: object
    steps: int
    calls: int
    seconds: float

    def on(self, address: str) -> list[list[str]]:
        return [["--store", address, *words] for words in self.commands]


def made_ready(case: Case, places: Places, shop: Sequence[str], folder: Path) -> Ready:
    """Fill a store of an older revision perhaps, and run its commands undisturbed."""
    template, more = places.new(), folder / "more.jsonl"
    create_store(template)
    more.write_text("".join(shop[: case.jobs]))
    _must([["--store", template, "import", str(more)]])
    copy = back_up(template, Path(f"{places.new()}.copy")) if places.with_files else ""
    with UnitOfWork(open_store(template), read_only=True) as work:
        new = str(work.jobs.last_number() + 1)
    more = folder / "all.jsonl"
    more.write_text("".join(shop[: 4 * case.jobs]))
    told = {"new": new, "more": str(more), "copy": str(copy)}
    if case.commands[0][1] == "erase":
        told["places"] = str(len(places_to_erase(template, case.commands[0][2:3])))
    commands = [[word.format(**told) for word in words] for words in case.commands]
    if "{copy}" in case.commands[0]:  # then there is something to go back from
        _must([["--store", template, "job", "add", str(int(new) - 1), "--yes", "ok after rain"]])
    old = None
    if case.revision != REVISIONS[-1]:
        at_revision(template, case.revision)
        old = rows(open_engine(template))
    address = places.like(template)
    stages = [contents(address)] if old is None else [""]
    for words in commands:
        _must([["--store", address, *words]])
        stages.append(contents(address))
    seconds = []
    for _ in range(2):
        address, begin = places.like(template), time.monotonic()
        straight = [["--store", address, *words] for words in commands]
        ended = _must(straight, partial(arm, 0, COUNT, 0))
        seconds.append(time.monotonic() - begin)
    return Ready(template, commands, stages, old, ended.steps, ended.calls, min(seconds))


def _must(commands: Sequence[Sequence[str]], armed: Arming | None = None) -> Ended:
    ended = run(commands, armed=armed)
    if ended.code or ended.done < len(commands):
        raise RuntimeError(f"{commands}: {ended}")
    return ended


def arm(at: int, how: int, error: int) -> Callable[[], int]:
    """Arm the calls of this process that change files; what counts them."""
    faults = ctypes.CDLL(None)
    faults.fault_count.restype = ctypes.c_long
    faults.fault_arm(ctypes.c_long(at), how, error)
    return lambda: int(faults.fault_count())


@dataclass(slots=True)
class Found:
    """What became of the runs of one target that were ended in one way."""

    runs: int = 0
    ended: int = 0
    lost: int = 0
    unreadable: int = 0
    between: int = 0
    defects: int = 0
    said: Counter[str] = field(default_factory=Counter)

    def __str__(self) -> str:
        figures = (
            f"{self.runs} runs, {self.ended} ended early: {self.lost} lost, {self.unreadable} "
        )
        return figures + f"unreadable, {self.between} between, {self.defects} defects"

    def add(self, other: "Found") -> None:
        for name in ("runs", "ended", "lost", "unreadable", "between", "defects"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        self.said += other.said

    def judge(self, ready: Ready, places: Places, address: str, ended: Ended, *, ask: bool) -> None:
        """Look at a store after a run."""
        self.runs += 1
        self.ended += ended.done < len(ready.commands)
        if ended.error or ended.said.rstrip().count("\nError") > 1:
            self._note("defects", ended.error or ended.said)
        elif ended.said:
            self.said[ended.said.strip().splitlines()[-1].replace(address, "STORE")] += 1
        places.settle(address)
        try:
            self._compare(ready, places, address, ended)
            if ask and (asked := run([["--store", address, *QUESTION]])).done == 0:
                self._note("unreadable", asked.said)
        except (KbError, DBAPIError, ValueError) as error:
            self._note("unreadable", repr(error))

    def _compare(self, ready: Ready, places: Places, address: str, ended: Ended) -> None:
        copies = places.copies(address)
        if ready.old is not None and store_status(address).revision != REVISIONS[-1]:
            if ended.done:
                self._note("lost", "upgrade")
            if rows(open_engine(address)) != ready.old:
                self._note("between", "old store")
            upgrade_store(address)
        if not condition_of(address).is_sound:
            self._note("unreadable", str(condition_of(address)))
        holds = contents(address)
        done = ended.done if ready.old is None else 0
        if holds not in ready.stages[done : done + 2]:
            self._note("lost" if holds in ready.stages else "between", f"after {ended.done}")
        if ready.commands[0][:2] == ["db", "backup"] and len(copies) < ended.done:
            self._note("lost", "copy")
        for copy in copies:
            if ready.old is not None:
                if rows(open_engine(copy)) != ready.old:
                    self._note("between", copy)
            elif contents(copy) not in ready.stages or not condition_of(copy).is_sound:
                self._note("between", copy)

    def _note(self, what: str, why: str) -> None:
        setattr(self, what, getattr(self, what) + 1)
        print(f"  {what}: {why[-300:]}", flush=True)


def runs_of(
    how: str, ready: Ready, given: argparse.Namespace, random: Random
) -> Iterator[dict[str, Any]]:
    """Yield how to end one run after the other, as arguments of `run`."""
    calls = range(1, ready.calls + 1)
    some = sorted(random.sample(calls, min(given.calls, len(calls))))
    if how == "statements":
        steps = range(1, ready.steps + 1)
        chosen = sorted(random.sample(steps, min(given.statements, len(steps))))
        yield from ({"at": at} for at in chosen)
    elif how == "random":
        yield from ({"after": random.uniform(0, ready.seconds)} for _ in range(given.kills))
    elif how in {"calls", "torn"}:
        what = KILL if how == "calls" else TEAR
        yield from ({"armed": partial(arm, at, what, 0)} for at in some)
    else:
        error = errno.ENOSPC if how == "full" else errno.EIO
        for at in some:
            for what in (ONCE, FROM_THEN_ON):
                yield {"armed": partial(arm, at, what, error)}


def main() -> None:
    """Read the options, and print the figures."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--kills", type=int, default=30, help="random kills a target [30]")
    options.add_argument("--statements", type=int, default=10_000, help="most of a target [all]")
    options.add_argument("--calls", type=int, default=60, help="most calls of files a target [60]")
    options.add_argument("--minutes", type=float, default=math.inf, help="begin no run later")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--database", choices=("sqlite", "postgresql"), default="sqlite")
    options.add_argument("--target", action="append", choices=tuple(TARGETS))
    options.add_argument("--how", action="append", choices=HOWS)
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if "KB_FAULTS" not in os.environ:
            sys.exit(_again(folder))
        os.environ["COLUMNS"] = "500"
        measure(given, folder)


def _shop() -> list[str]:
    """Return the jobs of the demonstration shop, a line each."""
    with tempfile.TemporaryDirectory() as name:
        export_file(demo_address(), Path(name, "shop.jsonl"))
        return Path(name, "shop.jsonl").read_text().splitlines(keepends=True)


def _again(folder: Path) -> int:
    """Run this program again, with calls that can be refused and folders of its own."""
    faults = folder / "faults.so"
    source = str(HERE / "faults.c")
    subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", str(faults), source, "-ldl"], check=True)
    own = {f"XDG_{each}_HOME": str(folder / each) for each in ("DATA", "CACHE", "STATE")}
    own["XDG_RUNTIME_DIR"] = str(folder)
    more = own | {"LD_PRELOAD": str(faults), "KB_FAULTS": "1", "OMP_NUM_THREADS": "1"}
    return subprocess.call([sys.executable, *sys.argv], env={**os.environ, **more})


def measure(given: argparse.Namespace, folder: Path) -> None:
    """End every target in every way that was asked for."""
    random, shop = Random(given.seed), _shop()
    places: Places = Sqlite(folder) if given.database == "sqlite" else PostgreSql(folder)
    total, until = Found(), time.monotonic() + 60 * given.minutes
    for target in given.target or TARGETS:
        case = TARGETS[target]
        if not places.with_files and target in {"backup", "restore"}:
            continue
        ready = made_ready(case, places, shop, folder)
        print(f"{target}: {ready.steps} statements, {ready.calls} calls, {ready.seconds:.1f} s")
        for how in given.how or HOWS:
            if not (places.with_files or how in {"statements", "random"}):
                continue
            found = Found()
            for number, way in enumerate(runs_of(how, ready, given, random)):
                if time.monotonic() > until:
                    break
                address = places.like(ready.template)
                ended = run(ready.on(address), **way)
                found.judge(ready, places, address, ended, ask=number % 10 == 0)
                places.remove(address)
            print(f"{given.database} {target:13} {how:10} {found}", flush=True)
            for said, times in found.said.most_common(4):
                print(f"    {times} x {said}")
            total.add(found)
    print(f"{given.database} in all {total}")


def warm_up() -> None:
    """Let everything be imported and compiled that a process under test would wait for."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        few = folder / "few.jsonl"
        store, jobs = str(folder / "shop.sqlite"), 30
        few.write_text("".join(_shop()[:jobs]))
        create_store(store)
        record = [[word.format(new=1) for word in words] for words in RECORD]
        for words in (*record, ["import", str(few)], QUESTION, ["db", "backup"]):
            CliRunner().invoke(kb, ["--store", store, *words])


if __name__ == AS_MODULE and "KB_FAULTS" in os.environ:  # and not where doctests are looked for
    warm_up()
if __name__ == "__main__":
    main()
