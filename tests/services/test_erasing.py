"""What is computed from a store and what was typed and not stored is rid of a text as well."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from kb.services.erasing import erase_for_good
from kb.services.indexing import reindex
from kb.settings import Settings
from kb.store.address import desk_file, index_folder
from kb.store.database import open_store
from kb.store.desk import Desk
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

    assert (done.places, done.scrubbed, done.beside) == (len(CASES), True, ())
    assert b"talle" not in bytes_under(folder)
    assert (folder / "weights.json").exists()
    kept = desk.unstored("open")
    assert kept is not None
    assert kept[1].answers == {"complaint": f"{'█' * len(NAME)} again", "km": "81000"}
    reindex(empty_store, Settings())
    assert b"talle" not in bytes_under(folder)
