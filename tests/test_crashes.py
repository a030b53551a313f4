"""A program that is killed or refused the disk leaves the store before it or after it."""

import errno
import os
import resource
import shutil
import signal
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from functools import partial
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from kb.files import write_whole
from kb.services.adding import add_line
from kb.services.demo import seed_files
from kb.services.erasing import places_to_erase
from kb.services.keeping import keep
from kb.store.backup import back_up
from kb.store.condition import condition_of
from kb.store.database import open_store, store_status
from kb.store.tables import REVISIONS
from kb.store.unit_of_work import UnitOfWork
from tests.crashes import Ended, contents, open_engine, rows, run
from tests.store.test_migrations import at_revision

KILLED_EVERY = 8
"""Of so many steps one ends a process; at the others its files are copied, which is quicker."""


def at_every_step(
    template: str, folder: Path, commands: list[list[str]]
) -> list[tuple[str, Ended]]:
    """Stores as commands leave them that are killed at each of their steps, and what was done.

    The last is that of commands that came to their end.
    """
    places = (folder / "place", folder / "copies")
    for place in places:
        place.mkdir()
    whole = str(shutil.copy(template, places[0] / "shop.sqlite"))
    finished = run([["--store", whole, *words] for words in commands], copies=places)
    assert (finished.code, finished.done, finished.error) == (0, len(commands), "")
    copies = {int(each.name.partition("-")[0]): each for each in places[1].iterdir()}
    assert sorted(copies) == list(range(1, finished.steps + 1))
    made = [
        (str(each / "shop.sqlite"), Ended(-signal.SIGKILL, int(each.name.partition("-")[2])))
        for _, each in sorted(copies.items())
    ]
    for step in range(1, finished.steps + 1, KILLED_EVERY):
        address = str(shutil.copy(template, folder / f"step{step}.sqlite"))
        ended = run([["--store", address, *words] for words in commands], at=step)
        assert (ended.code, ended.error) == (-signal.SIGKILL, "")
        made.append((address, ended))
    return [*made, (whole, finished)]


def test_what_was_told_to_be_stored_is_there_wherever_the_next_entry_is_killed(
    small_store: str, tmp_path: Path
) -> None:
    commands = [["job", "add", "6", "--yes", "replaced door latch, cured, 40 min; K031"]]
    before = str(shutil.copy(small_store, tmp_path / "stages.sqlite"))
    stages = [contents(before)]
    for words in commands:
        assert run([["--store", before, *words]]).done == 1
        stages.append(contents(before))
    made = at_every_step(small_store, tmp_path, commands)
    assert len(made) > 10
    for address, ended in made:
        assert condition_of(address).is_sound
        assert contents(address) in stages[ended.done : ended.done + 2]
    assert {ended.done for _, ended in made} == {0, 1}


def test_a_store_whose_upgrade_is_killed_is_the_old_one_or_the_new_one(
    small_store: str, tmp_path: Path
) -> None:
    at_revision(small_store, "0006")
    old = rows(open_engine(small_store))
    killed = at_every_step(small_store, tmp_path, [["db", "upgrade"]])
    new = contents(killed[-1][0])
    halfway = [each for each, _ in killed if store_status(each).revision != REVISIONS[-1]]
    assert len(halfway) > 20
    assert all(rows(open_engine(each)) == old for each in halfway)
    assert run([["--store", halfway[-1], "db", "upgrade"]]).done == 1
    for address in (halfway[-1], *(each for each, _ in killed if each not in halfway)):
        assert condition_of(address).is_sound
        assert contents(address) == new


def test_a_restore_that_is_killed_leaves_the_store_before_it_or_the_copy(
    small_store: str, tmp_path: Path
) -> None:
    copy = back_up(small_store, tmp_path / "copy.sqlite")
    copied = contents(str(copy))
    keep_line(small_store, "replaced door latch, cured, 40 min")
    before = contents(small_store)
    command = ["db", "restore", "--force", str(copy)]
    killed = at_every_step(small_store, tmp_path, [command])
    assert len(killed) > 10
    for address, ended in killed:
        assert condition_of(address).is_sound
        assert contents(address) in ([copied] if ended.done else [before, copied])
    assert contents(killed[0][0]) == before


def test_an_erasure_that_is_killed_leaves_the_store_before_it_or_after_it(
    small_store: str, tmp_path: Path
) -> None:
    keep_line(small_store, "Berit Talle says: worse in the rain")
    before = contents(small_store)
    places = len(places_to_erase(small_store, ["Berit Talle"]))
    assert places
    command = ["db", "erase", "Berit Talle", "--confirm", str(places)]
    killed = at_every_step(small_store, tmp_path, [command])
    after = contents(killed[-1][0])
    assert {contents(address) for address, _ in killed} == {before, after}
    for address, ended in killed:
        assert condition_of(address).is_sound
        left = len(places_to_erase(address, ["Berit Talle"]))
        assert left == (places if contents(address) == before else 0)
        assert not (ended.done and left)


def keep_line(address: str, line: str) -> None:
    keep(address, add_line(address, 6, line, today=date.today()))


def room_for(size: int) -> Callable[[], int]:
    """Let no file of this process grow beyond a size: what a full disk does, for anybody."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    return int


@pytest.mark.parametrize("room", [0, 1, 3, 6, 12, 25, 50])
@pytest.mark.parametrize(
    "words",
    [
        ("job", "add", "6", "--yes", "replaced door latch, cured, 40 min"),
        ("import", "{file}"),
        ("db", "backup"),
    ],
    ids=lambda words: words[0],
)
def test_without_room_the_store_is_as_it_was_or_has_all_of_it(
    small_store: str, tmp_path: Path, words: Sequence[str], room: int
) -> None:
    commands = [["--store", small_store, *(word.format(file=seed_files()[0]) for word in words)]]
    before = contents(small_store)
    ended = run(commands, armed=partial(room_for, room * 4096))
    assert not ended.error
    assert room or not ended.done
    assert condition_of(small_store).is_sound
    copies = list(tmp_path.glob("*.backup.sqlite"))
    if ended.done:
        return
    assert contents(small_store) == before
    assert not copies
    assert not list(tmp_path.glob("*.part*"))
    (line,) = ended.said.strip().splitlines()[-1:]
    assert line.startswith("Error: ")
    assert run(commands).done == 1


@pytest.mark.parametrize("call", ["open", "fsync", "close"])
@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EIO])
def test_a_file_is_the_old_one_or_the_new_one_whatever_call_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, error: int
) -> None:
    path = tmp_path / "weights.json"
    write_whole(path, b"first")
    real, calls = getattr(os, call), count(1)
    for refused in range(1, 4):
        times = count(1)

        def failing(*told: Any, times: Iterator[int] = times, refused: int = refused) -> Any:
            if next(times) == refused:
                raise OSError(error, os.strerror(error))
            return real(*told)

        with monkeypatch.context() as patch:
            patch.setattr(os, call, failing)
            content = f"turn {next(calls)}".encode()
            before = path.read_bytes()
            try:
                write_whole(path, content)
            except OSError:
                assert path.read_bytes() in {before, content}
            else:
                assert path.read_bytes() == content
        assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("junk", [False, True])
def test_what_was_stored_stands_when_the_power_fails_while_the_next_is_written(
    small_store: str, tmp_path: Path, junk: bool
) -> None:
    """Of what was written since, the disk has any beginning, or what lay there before."""
    log = Path(f"{small_store}-wal")
    with UnitOfWork(open_store(small_store), read_only=True) as reader:
        reader.jobs.count()  # as long as somebody reads, nothing is taken out of the log
        keep_line(small_store, "replaced door latch, cured, 40 min")
        kept, acknowledged = log.stat().st_size, contents(small_store)
        keep_line(small_store, "battery 12.1 V")
        written, after = log.read_bytes(), contents(small_store)
        main = Path(small_store).read_bytes()
    whole = len(written)
    assert whole > kept
    for cut in sorted({kept, kept + 1, whole - 1, whole, *range(kept, whole, 1009)}):
        (folder := tmp_path / f"cut{cut}").mkdir()
        torn = str(folder / "shop.sqlite")
        Path(torn).write_bytes(main)
        Path(f"{torn}-wal").write_bytes(written[:cut] + bytes(whole - cut) * junk)
        assert contents(torn) in {acknowledged, after}
        assert condition_of(torn).is_sound
