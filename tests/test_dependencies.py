"""What the program rests on: versions within bounds, and no network but the store's."""

import subprocess
import sys
import tomllib
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
