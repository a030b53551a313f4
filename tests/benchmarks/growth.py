"""Time and memory of commands on shops of growing size; run by hand.

    python tests/benchmarks/growth.py --jobs 5000 --jobs 20000 --command import --command list

Every command is a process of its own; told are the seconds of a processor that it took and the most
memory it held, the second time where the first was short: what is computed once is there then.
With `--folder` stores are kept there, and taken if they are there. The last column says by how much
more time grew than n log n between two sizes: 1 is just so much, and what stays well above 1 from
size to size grows faster. A command that has taken `--minutes` at one size is not asked at a larger
one.
"""

import argparse
import os
import subprocess
import sys
import tempfile
from math import log
from pathlib import Path

import msgspec

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.store.database import create_store, open_store
from kb.store.unit_of_work import UnitOfWork
from tests.benchmarks.datasets import demonstration_shop
from tests.benchmarks.large_shop import LargeShop

COMMANDS = {
    "import": ("import", "{file}"),
    "index": ("db", "reindex"),
    "causes": ("causes", "no crank, clicks once"),
    "similar": ("similar", "no crank, clicks once"),
    "list": ("job", "list", "--limit", "50"),
    "show": ("job", "show", "100"),
    "reading": ("reading", "battery 12.1 V"),
    "fixes": ("fixes", "--job", "100"),
    "lesson": ("lesson", "charging and starting"),
    "open": ("--who", "GB", "job", "open", "no crank, clicks once, battery 12.1 V"),
    "next-test": ("next-test", "{open}"),
    "undo": ("--who", "GB", "undo", "--yes"),
    "status": ("db", "status"),
    "backup": ("db", "backup", "--keep", "1"),
    "export": ("export", "{folder}/out.jsonl", "--force"),
    "check": ("db", "check"),
    "search": ("search", "seat plug"),
    "recurring": ("recurring",),
    "comebacks": ("comebacks",),
    "watch": ("watch",),
    "stock": ("stock",),
    "report": ("report", "{folder}/report.html", "--force"),
    "evaluate": ("evaluate",),
    "learn": ("weights", "--learn"),
}
"""In this order, on one store: what a command leaves beside the store serves the next."""
ONCE = {"import", "index", "open", "undo"}
SHORT_SECONDS = 10
"""What takes no longer is measured twice, and the second time told."""
RUN = "from kb.cli.main import run; run()"


def measured(store: Path, words: list[str]) -> tuple[float, float, int]:
    """Run a command; seconds of a processor, megabytes at the most, and the exit code."""
    process = subprocess.Popen(
        [sys.executable, "-c", RUN, "--store", str(store), *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, process.returncode


def made_store(folder: Path, count: int) -> tuple[Path, Path]:
    """Return an empty store and a file of so many jobs, or the store and file that are there."""
    file, store = folder / f"jobs-{count}.jsonl", folder / f"shop-{count}.sqlite"
    if not store.exists():
        shop = LargeShop(demonstration_shop())
        file.write_bytes(b"".join(msgspec.json.encode(job) + b"\n" for job in shop.jobs(count)))
        create_store(str(store)).dispose()
    return store, file


def last_job(store: Path) -> int:
    """Return the number of the job opened last."""
    with UnitOfWork(open_store(str(store)), read_only=True) as work:
        return max(work.jobs.numbers_with(state="open"), default=1)


def main() -> None:
    """Read the options, and print a row for each size and command."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--jobs", type=int, action="append")
    options.add_argument("--command", action="append", choices=tuple(COMMANDS))
    options.add_argument("--minutes", type=float, default=5)
    options.add_argument("--folder", type=Path)
    given = options.parse_args()
    chosen = [name for name in COMMANDS if name in (given.command or COMMANDS)]
    before: dict[str, tuple[int, float]] = {}
    print("command", "jobs", "seconds", "MB", "to n log n", sep="\t")
    for count in sorted(given.jobs or (1_250, 5_000, 20_000)):
        with tempfile.TemporaryDirectory() as name:
            folder = given.folder or Path(name)
            is_there = (folder / f"shop-{count}.sqlite").exists()
            store, file = made_store(folder, count)
            if "import" not in chosen and not is_there:
                measured(store, ["import", str(file)])
            for each in chosen:
                size, spent = before.get(each, (0, 0.0))
                if spent > 60 * given.minutes:
                    continue
                places = {"file": file, "folder": folder, "open": last_job(store)}
                words = [word.format_map(places) for word in COMMANDS[each]]
                seconds, memory, code = measured(store, words)
                if seconds < SHORT_SECONDS and each not in ONCE:
                    seconds, memory, code = measured(store, words)
                grown = ""
                if size:
                    grown = f"{seconds / spent / (count * log(count) / (size * log(size))):.2f}"
                before[each] = count, seconds
                failed = "" if code == 0 else f"exit code {code}"
                told = (each, f"{count:,}", f"{seconds:.1f}", f"{memory:,.0f}", grown, failed)
                print(*told, sep="\t", flush=True)


if __name__ == "__main__":
    main()
