"""What is written on demand never takes the place of the store, or of a file unasked."""

import os
from datetime import date
from pathlib import Path

import pytest

from kb.errors import Conflict, FileThere
from kb.services.destinations import check_destination, free_name
from kb.services.exchange import export_file, import_file
from kb.services.proposed import prepare_recall
from kb.settings import Settings
from kb.store.address import desk_file, index_folder
from kb.store.backup import back_up
from kb.store.database import store_status


def belonging(address: str) -> list[Path]:
    """Every kind of file that belongs to a store, under its name and under other ones."""
    store = Path(address)
    prepare_recall(address, Settings(), today=date.today())
    (other := store.with_name("other name.sqlite")).hardlink_to(store)
    beside = [store.with_name(f"{store.name}{end}") for end in ("-wal", "-shm", "-journal")]
    roundabout = store.parent / "folder" / ".." / store.name
    (store.parent / "folder").mkdir()
    inside = index_folder(address) / "new.jsonl"
    return [store, other, *beside, roundabout, back_up(address), inside]


def test_what_belongs_to_the_store_is_never_written_over(small_store: str) -> None:
    for path in belonging(small_store):
        before = path.read_bytes() if path.exists() else None
        with pytest.raises(Conflict, match="belongs to the store"):
            check_destination(path, small_store, replace=True)
        with pytest.raises(Conflict):
            export_file(small_store, path)
        assert (path.read_bytes() if path.exists() else None) == before
    assert store_status(small_store).cases


def test_what_belongs_to_another_store_is_never_written_over(
    small_store: str, empty_store: str
) -> None:
    for path in belonging(small_store):
        with pytest.raises(Conflict, match="never written"):
            check_destination(path, empty_store, replace=True)
    dump = Path(empty_store).with_name("postgresql-1.copies.1.backup.dump")
    for path in (dump, desk_file(small_store, "BT")):
        path.parent.mkdir(parents=True, exist_ok=True)
        with pytest.raises(Conflict, match="never written"):
            check_destination(path, empty_store, replace=True)
    assert store_status(small_store).cases


def test_a_link_a_pipe_and_a_folder_are_never_written_over(
    tmp_path: Path, small_store: str
) -> None:
    (tmp_path / "jobs.jsonl").write_text("mine")
    (tmp_path / "link.jsonl").symlink_to(tmp_path / "jobs.jsonl")
    (tmp_path / "broken.jsonl").symlink_to(tmp_path / "none")
    (tmp_path / "folder.jsonl").mkdir()
    os.mkfifo(tmp_path / "pipe.jsonl")
    for name in ("link", "broken", "folder", "pipe"):
        with pytest.raises(Conflict, match="never written over"):
            check_destination(tmp_path / f"{name}.jsonl", small_store, replace=True)
    assert (tmp_path / "jobs.jsonl").read_text() == "mine"


def test_a_file_is_replaced_only_when_told(tmp_path: Path, small_store: str) -> None:
    path = tmp_path / "jobs.jsonl"
    check_destination(path, small_store)
    path.write_text("mine")
    with pytest.raises(FileThere, match="--force"):
        check_destination(path, small_store)
    check_destination(path, small_store, replace=True)


def test_what_is_read_is_not_written_over(tmp_path: Path, empty_store: str) -> None:
    source = tmp_path / "jobs.jsonl"
    source.write_text("no job\n")
    with pytest.raises(Conflict, match="read at the same time"):
        import_file(empty_store, source, rejects=tmp_path / "." / "jobs.jsonl")
    assert source.read_text() == "no job\n"


def test_refused_jobs_of_a_second_import_leave_those_of_the_first(
    tmp_path: Path, empty_store: str
) -> None:
    source = tmp_path / "jobs.jsonl"
    for text in ("first\n", "second\n", "third\n"):
        source.write_text(text)
        import_file(empty_store, source)
    kept = sorted(tmp_path.glob("*rejects*"))
    assert [name.name for name in kept] == [
        "jobs.jsonl.rejects.2.jsonl",
        "jobs.jsonl.rejects.3.jsonl",
        "jobs.jsonl.rejects.jsonl",
    ]
    assert "first" in kept[2].read_text()
    assert free_name(kept[0]).name == "jobs.jsonl.rejects.2.2.jsonl"
