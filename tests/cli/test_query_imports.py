"""A question is quick because it leaves the heavy libraries alone."""

import subprocess
import sys

FORBIDDEN = ("sklearn", "scipy", "pandas", "alembic", "statsmodels", "lifelines", "pint", "joblib")
SCRIPT = """
import sys
from kb.cli.main import kb
words = ["--store", sys.argv[1], "causes", "airbag lamp on", "--code", "B1201-1B"]
kb(words, standalone_mode=False)
print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
"""


def loaded(address: str) -> list[str]:
    command = [sys.executable, "-c", SCRIPT, address]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return done.stdout.splitlines()[-1].split()[1:]


def test_kb_causes_imports_no_heavy_library(demo_store: str) -> None:
    modules = loaded(demo_store)
    modules = loaded(demo_store)  # the first question may have fitted the index
    assert "numpy" in modules
    assert [name for name in FORBIDDEN if name in modules] == []
