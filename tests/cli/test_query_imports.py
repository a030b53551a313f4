"""A question is quick because it leaves the heavy libraries alone."""

import json
import subprocess
import sys
from collections.abc import Iterator

FORBIDDEN = ("sklearn", "scipy", "pandas", "alembic", "statsmodels", "lifelines", "pint", "joblib")
SCRIPT = """
import json, sys
from kb.cli.main import kb
for line in sys.stdin:
    kb(["--store", *json.loads(line)], standalone_mode=False)
    print()
    print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
"""
CAUSES = ("causes", "airbag lamp on", "--code", "B1201-1B")
SEARCH = ("search", "seat plug", "--vehicle", "lido")
QUESTIONS = (CAUSES, SEARCH, ("similar", "airbag lamp"), ("fixes", "clock spring"))


def loaded(address: str) -> Iterator[list[str]]:
    """Ask in one process of its own; what is imported after each question."""
    asked = "".join(json.dumps([address, *words]) + "\n" for words in QUESTIONS)
    command = [sys.executable, "-c", SCRIPT]
    done = subprocess.run(command, input=asked, check=True, capture_output=True, text=True)
    lines = (line.split() for line in done.stdout.splitlines() if line.startswith("loaded:"))
    yield from (names for _, *names in lines)


def test_a_question_imports_no_heavy_library(demo_store: str) -> None:
    every = [*loaded(demo_store)]
    if not {*FORBIDDEN}.isdisjoint(every[-1]):  # the first question may have fitted the index
        every = [*loaded(demo_store)]
    assert len(every) == len(QUESTIONS)
    for words, modules in zip(QUESTIONS, every, strict=True):
        assert "numpy" in modules, words
        assert [name for name in FORBIDDEN if name in modules] == [], words
