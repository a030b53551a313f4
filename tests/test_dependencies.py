"""What the program rests on: versions within bounds, and no network but the store's."""

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.requirements import Requirement

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))[
    "project"
]
NEEDED = [
    Requirement(each)
    for each in (*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["postgresql"])
]
NETWORK = ("socket.connect", "socket.bind", "socket.getaddrinfo", "socket.sendto", "urllib.Request")
"""Audit events of Python, https://docs.python.org/3/library/audit_events.html"""
PROGRAM = f"""
import sys
from click.testing import CliRunner
from kb.cli.main import kb

tried = []
sys.addaudithook(lambda event, _: tried.append(event) if event in {NETWORK!r} else None)
store, folder = sys.argv[1:]
for line in sys.stdin.read().splitlines():
    result = CliRunner().invoke(kb, ["--store", store, *line.replace("FOLDER", folder).split("|")])
    assert result.exit_code == 0, (line, result.output, result.exception)
assert not tried, tried
import socket
try:
    socket.create_connection(("127.0.0.1", 1), timeout=1)
except OSError:
    assert tried, "nothing would have been noticed"
"""
COMMANDS = """\
job|open|no crank, clicks once|--yes
job|list
job|show|1
causes|no crank
similar|no crank
next-test|7
recurring
comebacks
stock
weights
words|list
vehicle|list
code|P0301
schema
report|FOLDER/page.html
export|FOLDER/jobs.jsonl
import|FOLDER/jobs.jsonl
db|backup
db|check
db|reindex
db|status
db|upgrade
db|erase|Berit Talle
"""


@pytest.mark.parametrize("needed", NEEDED, ids=str)
def test_a_dependency_is_bounded_below_and_above_and_tried_within(needed: Requirement) -> None:
    signs = {each.operator for each in needed.specifier}
    assert signs == {">=", "<"}
    assert needed.specifier.contains(version(needed.name))


def test_nothing_speaks_to_a_network(small_store: str, tmp_path: Path) -> None:
    """Each command is run in a process that notes every use of a socket."""
    ran = subprocess.run(
        [sys.executable, "-c", PROGRAM, small_store, str(tmp_path)],
        input=COMMANDS,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr


EXECUTABLE = {"pickle", "cPickle", "dill", "cloudpickle", "joblib", "shelve", "marshal"}
"""Libraries whose files run as a program when they are read."""
SOURCES = [
    path
    for folder in ("kb", "migrations")
    for path in sorted((Path(__file__).parents[1] / folder).rglob("*.py"))
]


def runs_what_it_reads(source: str) -> Iterator[str]:
    """Yield what of a module would run what stands in a file."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import | ast.ImportFrom):
            named = [each.name for each in node.names]
            modules = [getattr(node, "module", None) or "", *named]
            yield from {each.partition(".")[0] for each in modules} & EXECUTABLE
        elif isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name) and node.func.id in {"eval", "exec"}:
                yield node.func.id
            yield from (each.arg for each in node.keywords if each.arg == "allow_pickle")


def test_nothing_that_is_read_is_run() -> None:
    for spoilt in ("import pickle", "from joblib import load", "eval(text)"):
        assert list(runs_what_it_reads(spoilt))
    assert list(runs_what_it_reads("np.load(path, allow_pickle=True)"))
    assert len(SOURCES) > 100
    found = {path.name: list(runs_what_it_reads(path.read_text("utf-8"))) for path in SOURCES}
    assert {name: what for name, what in found.items() if what} == {}
