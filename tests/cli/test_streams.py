"""Streams a program may be started with: closed, of another encoding, read no further, full."""

import errno
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from io import BufferedWriter, RawIOBase, StringIO, TextIOWrapper
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from kb.cli.main import kb, run
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.everywhere import changes, named, questions, takes_json

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
        '$KB job add 1 "rattle \u0142\u0105" --yes && $KB job show 1',
        small_store,
        PYTHONIOENCODING="cp1252",
    )
    assert (done.returncode, b"Traceback" in done.stderr) == (0, False)
    assert b"rattle ??" in done.stdout
    assert "rattle \u0142\u0105" in json.loads(typed(small_store, 1))


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


class Filling(RawIOBase):
    """A file on a disk that gets full: it takes what there is room for, and then refuses."""

    def __init__(self, room: int) -> None:
        self.left, self.taken, self.refused = room, 0, False

    def writable(self) -> bool:
        return True

    def write(self, content: Any, /) -> int:
        if content and not self.left:
            self.refused = True
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        size = min(len(content), self.left)
        self.left, self.taken = self.left - size, self.taken + size
        return size


def printed(
    words: Sequence[str], raw: Filling, monkeypatch: pytest.MonkeyPatch, *, buffered: bool
) -> tuple[int, str]:
    """Run a command on such an output; its exit code, and what was told."""
    told = StringIO()
    binary: Any = BufferedWriter(raw) if buffered else raw
    with monkeypatch.context() as patch:
        out = TextIOWrapper(binary, "utf-8", write_through=not buffered)
        patch.setattr(sys, "stdout", out)
        patch.setattr(sys, "stderr", told)
        patch.setattr(sys, "argv", ["kb", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        if not raw.closed:
            raw.left = sys.maxsize  # what is thrown away now is refused no more
            out.flush()
    code = ended.value.code
    return (code if isinstance(code, int) else int(code is not None)), told.getvalue()


def outputs(folder: Path) -> list[tuple[str, ...]]:
    """A call or two of every command that prints at once, every second as JSON where it can."""
    calls = (*questions("seat", 5, 1, folder), *changes("seat", 5, 1, folder))
    once = [*{named(call): call for call in reversed(calls)}.values()]
    once += [*{named(call): call for call in calls}.values()]
    slow = {("evaluate",), ("weights",), ("db", "upgrade"), ("db", "reindex")}
    calls = tuple(call for call in dict.fromkeys(once) if named(call) not in slow)
    as_json = [
        (*call, "--json") if place % 2 and takes_json(call) and "--csv" not in call else call
        for place, call in enumerate(calls)
    ]
    return [*as_json, ("--help",), ("--version",), ("job", "--help"), ("job", "add", "-h")]


def test_what_is_cut_off_by_a_full_disk_is_never_told_as_printed(
    small_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong, cut, before = [], 0, Path(small_store).read_bytes()
    again = tmp_path / "again.sqlite"
    for place, call in enumerate(outputs(tmp_path)):
        buffered = place % 3 == 0
        words = ["--store", small_store, *call]
        printed(words, whole := Filling(sys.maxsize), monkeypatch, buffered=buffered)
        if whole.taken < 2:
            continue
        again.write_bytes(before)
        room = whole.taken - 1 if place % 2 else whole.taken // 2
        full = Filling(room)  # a page of a store that changed may be shorter
        words = ["--store", str(again), *call]
        code, told = printed(words, full, monkeypatch, buffered=buffered)
        cut += full.refused
        if full.refused and (code != 1 or "No space left" not in told or "Traceback" in told):
            wrong.append((call, room, code, told))
    assert (wrong, cut > 40) == ([], True), cut


@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("words", ["schema", "job list --json", "export", "--help"])
def test_a_file_that_may_not_grow_ends_with_a_word(
    small_store: str, tmp_path: Path, words: str, unbuffered: str
) -> None:
    line = f"ulimit -f 1; $KB {words} >{tmp_path / 'out'}"
    # what Python compiles may not be cut off, too: every later command would end by it
    how = {"PYTHONUNBUFFERED": unbuffered, "PYTHONDONTWRITEBYTECODE": "1"}
    done = shell(line, small_store, **how)
    assert (done.returncode, b"File too large" in done.stderr) == (1, True), done
    assert b"Traceback" not in done.stderr


def test_what_is_refused_only_at_the_close_is_told(
    small_store: str, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """As a file system of the network may do that looks for room late."""

    def refused(handle: int) -> None:
        close(handle)
        if handle > 2:
            raise OSError(errno.EDQUOT, os.strerror(errno.EDQUOT))

    close = os.close
    with monkeypatch.context() as patch, Path(os.devnull).open("w", encoding="utf-8") as out:
        patch.setattr(sys, "argv", ["kb", "--store", small_store, "job", "list"])
        patch.setattr(sys, "stdout", out)
        patch.setattr(os, "close", refused)
        with pytest.raises(SystemExit) as ended:
            run()
    assert ended.value.code == 1
    assert os.strerror(errno.EDQUOT) in capfd.readouterr().err


@pytest.mark.parametrize("columns", ["0", "1", "12"])
def test_no_page_is_laid_out_so_narrow_that_its_words_are_lost(columns: str) -> None:
    """A width of nought is what a terminal without a size tells: tty_ioctl(4), from memory."""
    asked = ["--demo", "job", "show", "1012"]
    wide, narrow = (
        CliRunner(env={"COLUMNS": each}).invoke(kb, asked).output.split()
        for each in ("300", columns)
    )
    assert "CAUTION" in narrow
    assert "".join(narrow) == "".join(wide)
