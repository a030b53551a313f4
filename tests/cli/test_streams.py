"""Streams a program may be started with: closed, of another encoding, read no further, full."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

RUN = [sys.executable, "-c", "from kb.cli.main import run; run()"]


def shell(line: str, address: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    """Run a line of a shell in which `$KB` is the program."""
    words = {"KB": f'{RUN[0]} -c "{RUN[2]}"', "KB_STORE": address, "KB_WHO": "QQ"}
    return subprocess.run(
        ["bash", "-c", line.replace("$KB", words["KB"])],
        env=os.environ | words | env,
        capture_output=True,
        check=False,
        timeout=120,
    )


def typed(address: str, number: int) -> str:
    with UnitOfWork(open_store(address), read_only=True) as work:
        return json.dumps([each.text for each in work.jobs.get(number).entries])


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("$KB export >&-", 2),
        ("$KB job show 1 --json >&-", 0),
        ('$KB job add 1 "battery 12.7 V" --yes <&-', 0),
        ("$KB db erase <&-", 1),
    ],
)
def test_a_closed_stream_brings_no_traceback(small_store: str, line: str, code: int) -> None:
    done = shell(line, small_store)
    assert b"Traceback" not in done.stderr
    assert done.returncode == code


def test_what_a_terminal_cannot_show_is_stored_all_the_same(small_store: str) -> None:
    done = shell(
        '$KB job add 1 "rattle \u4e2d\u6587" --yes && $KB job show 1',
        small_store,
        PYTHONIOENCODING="cp1252",
    )
    assert (done.returncode, b"Traceback" in done.stderr) == (0, False)
    assert b"rattle ??" in done.stdout
    assert "rattle \u4e2d\u6587" in json.loads(typed(small_store, 1))


@pytest.mark.parametrize("output", ["| true", ">/dev/full"])
def test_a_line_whose_printing_fails_is_kept_or_stored_and_told(
    small_store: str, output: str, tmp_path: Path
) -> None:
    line = f'set -o pipefail; $KB job add 1 "battery 11.41 V" --yes {output}'
    done = shell(line, small_store, XDG_STATE_HOME=str(tmp_path))
    assert done.returncode != 0
    stored = "battery 11.41 V" in typed(small_store, 1)
    told = b"It was stored" if stored else b"What you typed is kept"
    assert told in done.stderr
    kept = b"".join(each.read_bytes() for each in tmp_path.rglob("*.json"))
    assert stored or b"11.41" in kept
