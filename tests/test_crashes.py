"""A program that is killed at any statement leaves the store before it or after it."""

import shutil
import signal
from itertools import count
from pathlib import Path

from kb.store.condition import condition_of
from kb.store.database import REVISIONS, store_status
from tests.crashes import Ended, contents, open_engine, rows, run
from tests.store.test_migrations import at_revision


def at_every_step(
    template: str, folder: Path, commands: list[list[str]]
) -> list[tuple[str, Ended]]:
    """Kill commands on copies of a store at each of their steps; the copies, and what was done."""
    made = []
    for step in count(1):
        address = str(shutil.copy(template, folder / f"step{step}.sqlite"))
        ended = run([["--store", address, *words] for words in commands], at=step)
        assert not ended.error, ended
        made.append((address, ended))
        if ended.code == 0:
            return made
        assert ended.code == -signal.SIGKILL
    raise AssertionError


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
    at_revision(small_store, REVISIONS[-2])
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
