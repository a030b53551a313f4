"""Imported by the process that starts others: what is asked and recorded here, they know already.

A command that is run for the first time in a process imports, compiles patterns, reads tables and
makes statements; that takes longer than all the rest of it.
"""

import gc
from pathlib import Path
from tempfile import TemporaryDirectory

from click.testing import CliRunner

from kb.cli.main import kb
from kb.store.database import create_store
from kb.store.unit_of_work import UnitOfWork
from tests.cli.test_job import Keyboard
from tests.recall.shop import CASES

NEW = len(CASES) + 1
COMMANDS = (
    ("job open airbag lamp on since the seat was moved, RF pretensioner 6.1 ohm", "\n" * 6),
    ("job add battery 12.1 V", "a\ny\n"),
    ("job add replaced clock spring, no change", "y\n"),
    ("job circuit airbag ECU, harness, seat connector*", "y\n"),
    ("job edit sunato kiri", "1\n\ny\n"),
    ("job work", "t\nwiggle test: jumps\nseat connector\n\ny\nq\n"),
    ("next-test", ""),
    (f"job show {NEW}", ""),
    (f"job close {NEW}", "seat connector, high resistance\n1\n\n\ny\ny\ny\ny\n"),
    ("undo", "y\n"),
    ("causes no crank, clicks once", ""),
    ("db check", ""),
)


def warm() -> None:
    """Ask and record in a store of no use, at a terminal; whatever comes of it."""
    with TemporaryDirectory() as folder:
        store = str(Path(folder) / "warm.sqlite")
        with UnitOfWork(create_store(store), who="BT") as work:
            for case in CASES:
                work.jobs.add(case)
            work.commit()
        for words, keys in COMMANDS:
            told = ["--store", store, "--who", "BT", *words.split()]
            CliRunner().invoke(kb, told, input=Keyboard(keys.encode()))
    gc.freeze()


warm()
