"""Many people at one store: errors seen, jobs lost or numbered twice, and how long they wait.

Run by hand, in a checkout:

    python tests/benchmarks/together.py --seconds 120 --writers 8 --readers 8 --database sqlite

Every writer opens a job and adds a line to it, every reader asks, lists and shows, each in a
process of its own, again and again. Meanwhile a file of `--import` jobs is imported. What a writer
was told to be stored must be there afterwards, word for word and once; nobody may see an error.
"""

import argparse
import re
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from multiprocessing.connection import Connection as Pipe
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from click.testing import CliRunner

from kb.cli.main import kb
from kb.services.demo import demo_address
from kb.services.exchange import export_file, import_file
from kb.store.condition import condition_of
from kb.store.database import create_store, open_store
from kb.store.unit_of_work import UnitOfWork
from tests.forked import STARTER
from tests.store.conftest import Server

READ = (
    ("causes", "no crank, clicks once"),
    ("job", "list", "--limit", "5"),
    ("job", "show", "{number}"),
    ("db", "status"),
)
STORED = re.compile(r"Stored as job (\d+)")


@dataclass(slots=True)
class Seen:
    """What one person saw: errors, what was told to be stored, and seconds each command took."""

    errors: list[str] = field(default_factory=list)
    stored: dict[int, str] = field(default_factory=dict)
    seconds: list[float] = field(default_factory=list)

    def run(self, address: str, words: Sequence[str]) -> str:
        """Run one command; what it printed."""
        begin = time.monotonic()
        result = CliRunner().invoke(kb, ["--store", address, *words])
        self.seconds.append(time.monotonic() - begin)
        if result.exit_code:
            self.errors.append(f"{' '.join(words)}: {result.output[-200:]} {result.exception!r}")
        return result.output


def write(pipe: Pipe, address: str, who: int, until: float) -> None:
    """Open a job and add to it, until it is time to go."""
    seen, turn = Seen(), 0
    while time.monotonic() < until:
        turn += 1
        told = f"no crank, clicks once, bay {who}, turn {turn}"
        found = STORED.search(seen.run(address, ["--who", f"W{who}", "job", "open", told]))
        if found is None:
            seen.errors.append(f"no number told for: {told}")
            continue
        number = int(found[1])
        if number in seen.stored:
            seen.errors.append(f"number {number} twice")
        seen.stored[number] = told
        seen.run(
            address, ["--who", f"W{who}", "job", "add", str(number), "--yes", "battery 12.1 V"]
        )
    pipe.send(seen)


def read(pipe: Pipe, address: str, who: int, until: float) -> None:
    """Ask, list and show, until it is time to go."""
    seen, turn = Seen(), who
    with UnitOfWork(open_store(address), read_only=True) as work:
        number = str(work.jobs.last_number())
    while time.monotonic() < until:
        turn += 1
        seen.run(address, [word.format(number=number) for word in READ[turn % len(READ)]])
    pipe.send(seen)


def import_all(pipe: Pipe, address: str, path: str, until: float) -> None:
    """Import a long file, beginning in the middle of the time."""
    seen = Seen()
    time.sleep(max(0.0, (until - time.monotonic()) / 3))
    seen.run(address, ["import", path])
    pipe.send(seen)


def main() -> None:
    """Read the options, let all work together, and print what became of it."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--seconds", type=float, default=120)
    options.add_argument("--writers", type=int, default=8)
    options.add_argument("--readers", type=int, default=8)
    options.add_argument("--import", dest="jobs", type=int, default=800, help="jobs imported [800]")
    options.add_argument("--database", choices=("sqlite", "postgresql"), default="sqlite")
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if given.database == "sqlite":
            measure(given, folder, str(folder / "shop.sqlite"))
        else:
            server = Server(folder / "data")
            measure(given, folder, server.address(server.create()))
            server.stop()


def measure(given: argparse.Namespace, folder: Path, address: str) -> None:
    """Let all work together on an empty store."""
    create_store(address)
    export_file(demo_address(), folder / "shop.jsonl")
    lines = (folder / "shop.jsonl").read_text().splitlines(keepends=True)
    (folder / "few.jsonl").write_text("".join(lines[:100]))
    (folder / "rest.jsonl").write_text("".join(lines[100 : 100 + given.jobs]))
    import_file(address, folder / "few.jsonl")
    until = time.monotonic() + given.seconds
    people: list[tuple[Callable[..., None], int | str]] = [
        *((write, who) for who in range(given.writers)),
        *((read, who) for who in range(given.readers)),
        *([(import_all, str(folder / "rest.jsonl"))] if given.jobs else []),
    ]
    started = []
    for work, told in people:
        ours, theirs = STARTER.Pipe(duplex=False)
        process = STARTER.Process(target=work, args=(theirs, address, told, until))
        process.start()
        theirs.close()
        started.append((work, ours, process))
    seen: dict[str, list[Seen]] = {}
    for work, ours, process in started:
        seen.setdefault(work.__name__, []).append(ours.recv())
        process.join()
    report(address, seen)


def report(address: str, seen: dict[str, list[Seen]]) -> None:
    """Print what everybody saw, and what of it the store has."""
    for name, people in seen.items():
        spent = sorted(second for each in people for second in each.seconds)
        errors = [error for each in people for error in each.errors]
        print(
            f"{name}: {len(people)} people, {len(spent)} commands, {len(errors)} errors; median "
            f"{spent[len(spent) // 2]:.2f} s, longest {spent[-1]:.2f} s"
        )
        for error, times in Counter(errors).most_common(3):
            print(f"  {times} x {error}")
    stored = [pair for each in seen.get("write", []) for pair in each.stored.items()]
    with UnitOfWork(open_store(address), read_only=True) as work:
        there = {job.number: job.complaint for job in work.jobs.all()}
    lost = sum(there.get(number) != told for number, told in stored)
    twice = len(stored) - len({number for number, _ in stored})
    print(f"{len(stored)} jobs told to be stored: {lost} lost, {twice} numbers twice")
    print(f"the store is sound: {condition_of(address).is_sound}")


if __name__ == "__main__":
    main()
