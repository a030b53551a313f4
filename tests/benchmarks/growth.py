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
import re
import subprocess
import sys
import tempfile
from math import log
from pathlib import Path

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
HERE = Path(__file__).parent
STORED = re.compile(r"Stored as job (\d+)")


class Run:
    """One command on a store: seconds of a processor, megabytes at the most, and what it printed.

    The system counts what this process holds to the command's memory, so this one holds little.
    """

    def __init__(self, store: Path, *words: str) -> None:
        with subprocess.Popen(
            [sys.executable, "-c", RUN, "--store", str(store), *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        ) as process:
            self.printed = process.stdout.read() if process.stdout else ""
            _, status, used = os.wait4(process.pid, 0)
            self.code = process.returncode = os.waitstatus_to_exitcode(status)
        self.seconds, self.memory = used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def made_store(folder: Path, count: int) -> tuple[Path, Path]:
    """Return an empty store and a file of so many jobs, or the store and file that are there."""
    file, store = folder / f"jobs-{count}.jsonl", folder / f"shop-{count}.sqlite"
    if not store.exists():
        subprocess.run([sys.executable, HERE / "large_shop.py", str(count), file], check=True)
        Run(store, "init")
    return store, file


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
                Run(store, "import", str(file))
            places = {"file": file, "folder": folder, "open": "1"}
            for each in chosen:
                size, spent = before.get(each, (0, 0.0))
                if spent > 60 * given.minutes or (each == "import" and is_there):
                    continue
                words = [word.format_map(places) for word in COMMANDS[each]]
                ran = Run(store, *words)
                if ran.seconds < SHORT_SECONDS and each not in ONCE:
                    ran = Run(store, *words)
                if stored := STORED.search(ran.printed):
                    places["open"] = stored[1]
                grown = ""
                if size:
                    grown = f"{ran.seconds / spent / (count * log(count) / (size * log(size))):.2f}"
                before[each] = count, ran.seconds
                figures = f"{count:,}", f"{ran.seconds:.1f}", f"{ran.memory:,.0f}", grown
                failed = "" if ran.code == 0 else f"exit code {ran.code}"
                print(each, *figures, failed, sep="\t", flush=True)


if __name__ == "__main__":
    main()
