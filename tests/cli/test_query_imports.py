"""A question is quick because it leaves the heavy libraries alone."""

import subprocess
import sys

import pytest

FORBIDDEN = ("sklearn", "scipy", "pandas", "alembic", "statsmodels", "lifelines", "pint", "joblib")
SCRIPT = """
import sys
from kb.cli.main import kb
kb(["--store", *sys.argv[1:]], standalone_mode=False)
print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
"""


CAUSES = ("causes", "airbag lamp on", "--code", "B1201-1B")
SEARCH = ("search", "seat plug", "--vehicle", "lido")


def loaded(address: str, *words: str) -> list[str]:
    command = [sys.executable, "-c", SCRIPT, address, *words]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return done.stdout.splitlines()[-1].split()[1:]


@pytest.mark.parametrize(
    "words", [CAUSES, SEARCH, ("similar", "airbag lamp"), ("fixes", "clock spring")]
)
def test_a_question_imports_no_heavy_library(demo_store: str, words: tuple[str, ...]) -> None:
    modules = loaded(demo_store, *words)
    if not {*FORBIDDEN}.isdisjoint(modules):  # the first question may have fitted the index
        modules = loaded(demo_store, *words)
    assert "numpy" in modules
    assert [name for name in FORBIDDEN if name in modules] == []
