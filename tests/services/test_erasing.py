"""What is computed from a store and what was typed and not stored is rid of a text as well."""

from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from sqlite3 import connect

import pytest

from kb.case import Vehicle
from kb.reports.store import erased_lines
from kb.services.erasing import Erased, _beside, erase_for_good, places_to_erase
from kb.services.indexing import reindex
from kb.settings import Settings
from kb.store.address import DUMP, desk_file, dumps, file_of, index_folder
from kb.store.backup import dated
from kb.store.cell_repair import ENDING
from kb.store.database import open_store
from kb.store.desk import Desk
from kb.store.erasing import Eraser
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES

NAME = "Berit Talle"


def bytes_under(folder: Path) -> bytes:
    files = [each for each in folder.rglob("*") if each.is_file()]
    return b"".join(each.read_bytes() for each in files).lower()


def test_index_and_drafts_are_rid_of_it(empty_store: str) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        for case in CASES:
            work.jobs.add(replace(case, complaint=f"{case.complaint}, says {NAME}"))
        work.commit()
    reindex(empty_store, Settings())
    folder = index_folder(empty_store)
    (folder / "weights.json").write_text("{}")
    desk = Desk(desk_file(empty_store, "BT"))
    typed = {"complaint": f"{NAME} again", "km": "81000"}
    desk.keep("open", typed, datetime(2026, 3, 2, tzinfo=UTC))
    assert b"talle" in bytes_under(folder)

    done = erase_for_good(empty_store, [NAME], who="BT")

    assert (done.places, done.scrubbed, done.beside) == (len(CASES) + 1, True, ())
    assert b"talle" not in bytes_under(folder)
    assert (folder / "weights.json").exists()
    kept = desk.unstored("open")
    assert kept is not None
    assert kept[1].answers == {"complaint": f"{'█' * len(NAME)} again", "km": "81000"}
    reindex(empty_store, Settings())
    assert b"talle" not in bytes_under(folder)


def erased(**told: object) -> Erased:
    known: dict[str, object] = {
        "address": "postgresql://shop@server/cases",
        "places": 0,
        "scrubbed": True,
        "beside": ("cases.backup.dump",),
        "in_server": True,
    }
    return Erased(**(known | told))  # type: ignore[arg-type]


def test_a_second_run_says_what_it_did_and_where_a_server_may_hold_the_text_still() -> None:
    again = erased_lines(erased())
    assert "Not found in" in again
    assert "overwritten all the same" in again
    assert all(each in again for each in ("pg_wal", "its backups", "cases.backup.dump"))
    assert "overwritten" not in erased_lines(erased(scrubbed=False)).partition("\n")[0]
    of_a_file = erased_lines(erased(address="shop.sqlite", in_server=False))
    assert "pg_wal" not in of_a_file


def test_copies_of_a_store_in_a_server_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    address = "postgresql://shop@server/cases"
    copies = dumps(address)
    copies.parent.mkdir(parents=True)
    made = [dated(copies, ending) for ending in (DUMP, ENDING)]
    for each in made:
        each.touch()
    copies.with_name("postgresql-00000000.2026.backup.dump").touch()
    assert sorted(_beside(address, Eraser([NAME]))) == sorted(made)


def test_files_beside_the_store_that_hold_the_text_are_named_and_no_others(
    empty_store: str,
) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        work.jobs.add(replace(CASES[0], complaint=f"no crank, says {NAME}"))
        work.commit()
    path = file_of(empty_store)
    assert path is not None
    copied, without = path.with_name("mine.sqlite"), path.with_name("list.csv")
    with closing(connect(path)) as store, closing(connect(copied)) as copy:
        store.backup(copy)
    exported = path.with_name("jobs.jsonl")
    exported.write_text(f"{'-' * 4_000_000}{NAME.upper()}\n", encoding="utf-8")
    without.write_text("Berit, Tall\n")
    done = erase_for_good(empty_store, [NAME], who="BT")
    assert sorted(done.beside) == sorted(map(str, (copied, exported)))
    assert NAME.encode() in copied.read_bytes()


def test_what_is_only_looked_for_changes_no_draft(empty_store: str) -> None:
    desk = Desk(desk_file(empty_store, "BT"))
    typed = {"complaint": f"{NAME} again"}
    desk.keep("open", typed, datetime(2026, 3, 2, tzinfo=UTC))
    assert len(places_to_erase(empty_store, [NAME])) == 1
    kept = desk.unstored("open")
    assert kept is not None
    assert kept[1].answers == typed


def test_a_name_over_make_and_model_or_with_signs_without_width_is_found(empty_store: str) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        car = Vehicle(make="Berit", model="Talle", year=2014)
        added = work.jobs.add(replace(CASES[0], vehicle=car, complaint="ask Ber\u200bit Talle"))
        work.commit()
    assert erase_for_good(empty_store, [NAME], who="BT").places >= 3
    path = file_of(empty_store)
    assert path is not None
    assert b"talle" not in path.read_bytes().lower()
    with UnitOfWork(open_store(empty_store), read_only=True) as work:
        job = work.jobs.get(added.number or 0)
    assert (job.vehicle.make, job.vehicle.model) == ("█" * 5, "█" * 5)
    assert "Talle" not in job.complaint
