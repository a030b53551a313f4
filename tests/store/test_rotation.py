"""Older copies make room only for one of a store that can be read."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from kb.reports.store import copied_line
from kb.store import rotation
from kb.store.backup import back_up
from kb.store.database import open_store
from kb.store.rotation import rotate
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES


def test_only_the_newest_copies_are_kept(empty_store: str, tmp_path: Path) -> None:
    mine = tmp_path / "mine.sqlite"
    back_up(empty_store, mine)
    copies = [back_up(empty_store) for _ in range(3)]
    made = rotate(empty_store, keep=2)
    assert made.removed == tuple(copies[:2])
    there = [each.exists() for each in (*copies, made.copy, mine)]
    assert there == [False, False, True, True, True]


def test_what_only_has_the_name_of_a_copy_stays(empty_store: str) -> None:
    folder = back_up(empty_store)
    folder.unlink()
    folder.mkdir()
    assert rotate(empty_store, keep=1).removed == ()
    assert folder.is_dir()


def test_a_file_of_somebody_elses_is_neither_removed_nor_counted(empty_store: str) -> None:
    store = Path(empty_store)
    moments = [f"2020-01-0{day}_000000_000000" for day in range(1, 6)]
    text, empty, other, link, newer = (
        store.with_name(f"{store.stem}.{each}.backup.sqlite") for each in moments
    )
    text.write_text("a letter")
    empty.touch()
    with closing(sqlite3.connect(other)) as foreign:
        foreign.execute("CREATE TABLE jobs (what)")
    link.symlink_to(text)
    back_up(empty_store).rename(newer)
    made = rotate(empty_store, keep=2)
    assert (made.removed, newer.exists()) == ((), True)
    assert rotate(empty_store, keep=2).removed == (newer,)
    assert all(each.exists() for each in (text, empty, other, link))


def test_the_last_good_copy_outlives_a_store_that_cannot_be_read(empty_store: str) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        work.jobs.add(CASES[0])
        work.commit()
    good = back_up(empty_store)
    with closing(sqlite3.connect(empty_store)) as store:
        store.execute("PRAGMA ignore_check_constraints=ON")
        store.execute("UPDATE jobs SET opened = '0000-00-00'")
        store.commit()
    made = rotate(empty_store, keep=1)
    assert made.unsound == "1 value cannot be read"
    assert (good.exists(), made.copy.exists(), made.removed) == (True, True, ())


def test_a_copy_of_a_name_of_ones_own_is_none_of_the_dated(
    empty_store: str, tmp_path: Path
) -> None:
    copies = [back_up(empty_store) for _ in range(2)]
    rotate(empty_store, tmp_path / "mine.sqlite", keep=1)
    assert [each.exists() for each in copies] == [False, True]


def test_a_newer_copy_of_somebody_else_is_never_removed(
    empty_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    theirs: list[Path] = []

    def while_others_copy(address: str, target: Path | None = None) -> Path:
        mine = back_up(address, target)
        theirs.append(back_up(address))
        return mine

    monkeypatch.setattr(rotation, "back_up", while_others_copy)
    made = rotate(empty_store, keep=1)
    assert made.copy.exists()
    assert theirs[0].exists()


@pytest.mark.parametrize(
    "spoil",
    [
        "DELETE FROM alembic_version",
        "UPDATE alembic_version SET version_num = ''",
        "ALTER TABLE alembic_version RENAME version_num TO v",
    ],
)
def test_a_copy_of_a_store_without_a_revision_is_told_and_removes_none(
    empty_store: str, spoil: str
) -> None:
    copies = [back_up(empty_store) for _ in range(2)]
    with closing(sqlite3.connect(empty_store)) as connection:
        connection.execute(spoil)
        connection.commit()
    made = rotate(empty_store, keep=1)
    assert made.unsound
    assert made.removed == ()
    assert all(each.exists() for each in (*copies, made.copy))


def test_a_copy_from_a_clock_that_was_ahead_pushes_no_other_out_and_is_told(
    empty_store: str,
) -> None:
    ahead, older = back_up(empty_store), back_up(empty_store)
    ahead = ahead.rename(
        Path(empty_store).with_name(
            f"{Path(empty_store).stem}.2099-01-01_000000_000000.backup.sqlite"
        )
    )
    made = rotate(empty_store, keep=2)
    assert (made.removed, made.ahead, older.exists()) == ((), (ahead,), True)
    assert "1 copy has a moment to come in the name: " in copied_line(made)
    made = rotate(empty_store, keep=2)
    assert (made.removed, made.ahead, made.copy.exists()) == ((older,), (ahead,), True)
    assert ahead.exists()
