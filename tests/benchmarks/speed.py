"""How large, quick and hungry the program is on a store: index, whole command, warm recall.

Run by hand: ``python tests/benchmarks/speed.py STORE``, with a store of 100,000 jobs made by

    python tests/benchmarks/large_shop.py 100000 jobs.jsonl
    kb --store STORE init && kb --store STORE import jobs.jsonl

Times are processor time, user and system, of the quickest of several runs, so that what else the
machine does at the moment counts little; a command's modules have been compiled before. Recall is
warm, and beside it stand three plain ways to find like texts, asked one by one the same complaints
of the same texts. As in every command linear algebra has one thread: others would wait for one
another, which counts as processor time.
"""

import argparse
import json
import os
import sqlite3
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

import kb.cli  # noqa: F401  isort: skip  settles the threads before numpy is imported

import bm25s
from sklearn.neighbors import NearestNeighbors

from kb.case import Complaint, Job
from kb.diagnosis.diagnose import query_of
from kb.intake.wording import Wording
from kb.recall import text_signal as text
from kb.recall.features import Query
from kb.recall.index import Index, spoken
from kb.recall.recall import recall
from kb.services.indexing import current_index, shop_wording
from kb.settings import Settings
from kb.store.address import file_of
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.benchmarks.asking import target

IMPORTS = [sys.executable, "-c", "import numpy, sqlalchemy, click, rich"]
KB = [sys.executable, "-c", "from kb.cli.main import run; run()"]
COMPLAINT = ["airbag lamp on after seat was moved, B1234-1B", "--reading", "pretensioner 5.8 ohm"]
RUNS, REPEATS, QUESTIONS, NEAREST = 10, 3, 20, 40
LEFT_OUT = 0.2
"""Share of a past complaint's words that is left out where it is asked again."""
AS_INSTALLED = {
    name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"
}
"""Commands keep what Python compiles, as everywhere but on some build machines."""
Tokens = list[list[str]]


def spent(command: Sequence[str]) -> tuple[float, float, str]:
    """Run a command; processor seconds, the most memory it took in MB, and what it printed."""
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=AS_INSTALLED) as child:
        assert child.stdout is not None
        said = child.stdout.read()
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"{command} failed")
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, said


def index_of(store: str) -> None:
    """Print what the index takes."""
    start = time.perf_counter()
    seconds, megabytes, said = spent([*KB, "--store", store, "db", "reindex", "--json"])
    wall = time.perf_counter() - start
    made, file = json.loads(said), file_of(store)
    print(f"index of {made['cases']:,} cases: {made['bytes'] / 1e6:.1f} MB", end="")
    print(f", the store {file.stat().st_size / 1e6:.1f} MB" if file else "")
    print(
        f"made in {seconds:.0f} s of processor time ({wall:.0f} s), {megabytes:,.0f} MB of memory"
    )


def whole_command(store: str) -> None:
    """Print `kb causes` as a process beside the import of its main libraries, runs interleaved."""
    ask = [*KB, "--store", store, "causes", *COMPLAINT]
    spent(ask)
    pairs = [(spent(IMPORTS)[0], spent(ask)[0]) for _ in range(RUNS)]
    for name, choose in (("median", statistics.median), ("quickest", min)):
        imports, asking = (choose(side) for side in zip(*pairs, strict=True))
        print(f"imports {imports * 1000:.0f} ms, kb causes {asking * 1000:.0f} ms ({name})")
        target("kb causes in imports", asking / imports, most=2.5)


def milliseconds(ways: Iterable[Callable[[], object]]) -> float:
    """Return the median over questions of the quickest of some runs, in processor time."""
    return 1000 * statistics.median(min(_once(way) for _ in range(REPEATS)) for way in ways)


def _once(way: Callable[[], object]) -> float:
    start = time.process_time()
    way()
    return time.process_time() - start


def warm(store: str) -> None:
    """Print how long the matcher takes over a question, and the plain ways over its text."""
    settings, random = Settings(), Random(0)
    with UnitOfWork(open_store(store), read_only=True) as work:
        wording = shop_wording(work)
        index = current_index(work, store, wording, settings)
        jobs = list(work.jobs.all(cases_only=True))
    print(f"{len(jobs):,} jobs read", flush=True)
    asked = [_asked(job, random) for job in random.sample(jobs, QUESTIONS)]
    corpus = [wording.tokens(spoken(Complaint.of(job))) for job in jobs]
    said = [wording.tokens(spoken(each.complaint)) for each in asked]
    ours = milliseconds(_recalls(asked, index, wording, settings))
    print(f"warm recall, all fields: {ours:.1f} ms")
    target("warm recall in ms", ours, most=15.0)
    plain = {
        "bm25s": lucene(corpus, said),
        "SQLite FTS5": fts5(corpus, said),
        "scikit-learn brute": brute(corpus, said, index.model),
    }
    for name, way in plain.items():
        print(f"{name}, text alone: {milliseconds(way):.1f} ms", flush=True)


def _asked(job: Job, random: Random) -> Query:
    """Ask a past job with everything found on it, some words of its complaint left out."""
    complaint = Complaint.so_far(job)
    words = [word for word in complaint.text.split() if random.random() >= LEFT_OUT]
    return query_of(replace(complaint, text=" ".join(words)), (), job.opened)


def _recalls(
    asked: Sequence[Query], index: Index, wording: Wording, settings: Settings
) -> list[Callable[[], object]]:
    return [partial(recall, each, index, wording, settings.recall) for each in asked]


def lucene(corpus: Tokens, said: Tokens) -> list[Callable[[], object]]:
    """Package bm25s."""
    retriever = bm25s.BM25(method="lucene")
    retriever.index(corpus, show_progress=False)
    return [
        partial(retriever.retrieve, [tokens], k=NEAREST, show_progress=False) for tokens in said
    ]


def fts5(corpus: Tokens, said: Tokens) -> list[Callable[[], object]]:
    """SQLite's full-text search, in memory, best first by its BM25."""
    database = sqlite3.connect(":memory:")
    database.execute("CREATE VIRTUAL TABLE texts USING fts5 (words)")
    database.executemany("INSERT INTO texts VALUES (?)", ([" ".join(each)] for each in corpus))
    query = f"SELECT rowid FROM texts WHERE texts MATCH ? ORDER BY rank LIMIT {NEAREST}"

    def ask(tokens: list[str]) -> object:
        quoted = (f'"{token}"' for token in tokens if '"' not in token)
        return database.execute(query, [" OR ".join(quoted)]).fetchall()

    return [partial(ask, tokens) for tokens in said]


def brute(corpus: Tokens, said: Tokens, model: text.TextModel) -> list[Callable[[], object]]:
    """scikit-learn's neighbours by cosine over the same terms and weights as ours."""
    rows = text.matrix([*corpus, *said], model)
    past, asked = rows[: len(corpus)], rows[len(corpus) :]
    nearest = NearestNeighbors(n_neighbors=NEAREST, metric="cosine", algorithm="brute").fit(past)
    return [partial(nearest.kneighbors, asked[[place]]) for place in range(len(said))]


PARTS: dict[str, Callable[[str], None]] = {
    "index": index_of,
    "command": whole_command,
    "recall": warm,
}


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("store", help="an SQLite file or a URL")
    parser.add_argument("--part", action="append", choices=PARTS, help="may be given repeatedly")
    options = parser.parse_args()
    for name in options.part or PARTS:
        PARTS[name](options.store)


if __name__ == "__main__":
    main()
