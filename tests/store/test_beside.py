"""No store and no copy is put where another store's own files have their place."""

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.cli.main import kb
from kb.errors import Conflict
from kb.store.address import caches, demo_file, desks
from kb.store.backup import back_up, restore
from kb.store.beside import check_place, database_beside
from kb.store.database import create_store, store_status
from kb.store.sqlite_file import SIDES

INSIDE = (".index", ".index/fixes.json", ".index/new.json", ".index/below/new.json")
MAKERS: list[Callable[[str, Path], object]] = [
    back_up,
    lambda store, place: create_store(str(place)),
    lambda store, place: restore(str(place), back_up(store)),
]


@pytest.mark.parametrize("end", [*SIDES, "-WAL", *INSIDE])
def test_what_belongs_to_a_store_is_no_place_for_another(empty_store: str, end: str) -> None:
    place = Path(f"{empty_store}{end}")
    before = Path(empty_store).read_bytes()
    for make in MAKERS:
        with pytest.raises(Conflict, match="belongs to the store"):
            make(empty_store, place)
        assert not place.exists()
    assert database_beside(place) == Path(empty_store)
    assert Path(empty_store).read_bytes() == before


@pytest.mark.parametrize("sign", ["x", "ü"])
def test_a_name_too_long_for_what_lies_beside_it_is_refused_and_leaves_nothing(
    empty_store: str, tmp_path: Path, sign: str
) -> None:
    """NAME_MAX is 255 bytes, and SQLite's longest ending ``-journal``: from memory."""
    longest = 255 - len("-journal")
    place = tmp_path / "stores" / (sign * (longest // len(sign.encode()) + 1))
    place.parent.mkdir()
    for make in MAKERS:
        with pytest.raises(Conflict, match="more than 247 bytes"):
            make(empty_store, place)
    assert list(place.parent.iterdir()) == []
    create_store(str(place.with_name("x" * longest))).dispose()


@pytest.mark.parametrize("end", SIDES)
def test_a_name_of_sqlite_s_own_is_refused_before_there_is_a_store_of_it(
    empty_store: str, tmp_path: Path, end: str
) -> None:
    place = tmp_path / f"later.sqlite{end}"
    for make in MAKERS:
        with pytest.raises(Conflict, match="SQLite gives to its own files"):
            make(empty_store, place)
        assert not place.exists()


def test_a_roundabout_way_into_an_index_is_seen(empty_store: str, tmp_path: Path) -> None:
    folder = Path(f"{empty_store}.index")
    folder.mkdir(exist_ok=True)
    (tmp_path / "way").symlink_to(folder)
    with pytest.raises(Conflict, match="belongs to the store"):
        back_up(empty_store, tmp_path / "way" / "new.json")


def test_what_the_program_keeps_for_itself_is_no_place_of_a_copy(empty_store: str) -> None:
    for place in (demo_file("0a1b2c3d"), desks() / "0.json", caches() / "0.index" / "a"):
        place.parent.mkdir(parents=True, exist_ok=True)
        with pytest.raises(Conflict, match="name another place"):
            back_up(empty_store, place)
        assert not place.exists()


def test_any_other_name_is_free(tmp_path: Path) -> None:
    for name in ("shop.sqlite", "wal", "-wal.sqlite", "a-walk", "x.index", "shop.backup.sqlite"):
        check_place(tmp_path / name)


@pytest.mark.parametrize("end", [*SIDES, *INSIDE[1:3]])
def test_a_copy_told_as_made_is_there_after_the_next_command(small_store: str, end: str) -> None:
    Path(f"{small_store}.index").mkdir(exist_ok=True)
    place = f"{small_store}{end}"
    for words in (["--store", small_store, "db", "backup", place], ["demo", "copy", place]):
        told = CliRunner().invoke(kb, words)
        assert told.exit_code == 1
        assert "belongs to the store" in told.output
    assert store_status(small_store).jobs
