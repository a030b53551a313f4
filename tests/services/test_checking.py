"""The index held against its store."""

import random
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from shutil import copy

import pytest
from click.testing import CliRunner

from kb.cli.main import kb
from kb.recall.cards import Cards
from kb.recall.index import FILE, Index
from kb.services import fix_history, indexing
from kb.services.ask import causes
from kb.services.checking import Checked, IndexState, check
from kb.services.inquiry import Question
from kb.services.similar import similar
from kb.settings import ReadingSettings, Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.store_copies import copied

SETTINGS = Settings()


def state(address: str, settings: Settings = SETTINGS) -> IndexState:
    found = check(address, settings)
    assert found.is_sound
    assert found.index is not None
    return found.index.state


def state_of_cards(address: str) -> IndexState:
    found = check(address, SETTINGS)
    assert found.is_sound
    assert found.cards is not None
    return found.cards.state


def written_by_another(address: str, statement: str) -> None:
    with closing(sqlite3.connect(address)) as connection:
        connection.execute(statement)
        connection.commit()


def test_it_is_told_whether_it_is_there_whole_and_of_this_store(small_store: str) -> None:
    assert state(small_store) == IndexState.NONE
    indexing.reindex(small_store, SETTINGS)
    assert state(small_store) == IndexState.IN_STEP
    assert state(small_store, Settings(readings=ReadingSettings(content=0.5))) == IndexState.BEHIND
    file = index_folder(small_store) / FILE
    whole = file.read_bytes()
    file.unlink()
    file.write_bytes(whole[: len(whole) // 2])
    assert state(small_store) == IndexState.DAMAGED


def test_what_history_tells_of_is_not_astray(small_store: str) -> None:
    indexing.reindex(small_store, SETTINGS)
    with UnitOfWork(open_store(small_store)) as work:
        work.jobs.replace(replace(work.jobs.get(1), complaint="no crank"))
        work.jobs.add(replace(work.jobs.get(2), number=None, uid=None))
        work.commit()
    assert state(small_store) == IndexState.IN_STEP


def test_jobs_that_another_program_wrote_are_named_and_the_index_made_again(
    small_store: str,
) -> None:
    indexing.reindex(small_store, SETTINGS)
    written_by_another(small_store, "UPDATE jobs SET complaint = 'no crank' WHERE number = 3")
    written_by_another(small_store, "UPDATE jobs SET closed = NULL WHERE number = 5")
    found: Checked = check(small_store, SETTINGS)
    assert not found.is_sound
    assert found.astray == (3, 5)
    told = CliRunner().invoke(kb, ["--store", small_store, "db", "check"])
    assert (told.exit_code, "job 3, 5 otherwise" in told.output) == (1, True)
    mended = CliRunner().invoke(kb, ["--store", small_store, "db", "check", "--repair"])
    assert mended.exit_code == 0, mended.output
    assert state(small_store) == IndexState.IN_STEP
    again = Index.load(Path(index_folder(small_store)))
    assert again is not None
    assert 5 not in again.base.numbers


def test_the_index_of_all_jobs_is_looked_at_likewise(small_store: str) -> None:
    assert state_of_cards(small_store) == IndexState.NONE
    indexing.reindex(small_store, SETTINGS)
    assert state_of_cards(small_store) == IndexState.IN_STEP
    with UnitOfWork(open_store(small_store)) as work:
        work.jobs.add(replace(work.jobs.get(2), number=None, uid=None, closed=None, cause=None))
        work.jobs.replace(replace(work.jobs.get(1), notes="keys at desk"))
        work.commit()
    assert state_of_cards(small_store) == IndexState.IN_STEP  # history tells of it
    file = index_folder(small_store) / Cards.file
    whole = file.read_bytes()
    file.unlink()
    file.write_bytes(whole[:-100])
    assert state_of_cards(small_store) == IndexState.DAMAGED
    file.unlink()
    file.symlink_to(file.with_name("nowhere"))
    assert state_of_cards(small_store) == IndexState.DAMAGED


def test_cards_that_another_program_wrote_are_named_and_the_index_made_again(
    small_store: str,
) -> None:
    indexing.reindex(small_store, SETTINGS)
    written_by_another(small_store, "UPDATE jobs SET notes = 'keys at desk' WHERE number = 4")
    found = check(small_store, SETTINGS)
    assert not found.is_sound
    assert found.astray == (4,)  # no case looks at notes, every card does
    assert found.index is not None
    assert found.index.astray == ()
    told = CliRunner().invoke(kb, ["--store", small_store, "db", "check"])
    assert (told.exit_code, "job 4 otherwise" in told.output) == (1, True)
    mended = CliRunner().invoke(kb, ["--store", small_store, "db", "check", "--repair"])
    assert mended.exit_code == 0, mended.output
    assert "So does that of all jobs" in mended.output
    assert state_of_cards(small_store) == IndexState.IN_STEP


ASKED = Question(text="airbag lamp on after seat was moved", codes=("B1234",))


def answers(address: str) -> list[object]:
    return [causes(address, ASKED, SETTINGS), similar(address, ASKED, SETTINGS)]


def afresh(address: str, folder: Path) -> str:
    """Copy a store without what is computed from it."""
    folder.mkdir()
    return str(copy(address, folder / "shop.sqlite"))


@pytest.fixture
def shop(demo_store: str, tmp_path: Path) -> str:
    """The demonstration shop, to be changed."""
    return copied(demo_store, tmp_path / "shop")


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE jobs SET complaint = 'no crank' WHERE number = 1",
        "UPDATE jobs SET void = 'twice' WHERE number = 1",
        "UPDATE jobs SET closed = NULL WHERE number = 1",
        "DELETE FROM codes WHERE job_number = 1",
        "UPDATE vehicles SET model = 'Other' WHERE id = (SELECT vehicle_id FROM jobs LIMIT 1)",
    ],
)
def test_a_question_is_answered_from_what_another_program_wrote(
    small_store: str, tmp_path: Path, statement: str
) -> None:
    answers(small_store)
    written_by_another(small_store, statement)
    fresh = answers(afresh(small_store, tmp_path / "fresh"))
    assert answers(small_store) == fresh
    found = check(small_store, SETTINGS)
    # no other program makes the words anew that a car is found by
    told = ["search"] if "vehicles" in statement else []
    assert ["search" for cell in found.cells if cell.reason.endswith("is found by")] == told
    assert len(found.cells) == len(told)
    assert replace(found, cells=()).is_sound


def test_after_a_repair_answers_are_those_of_an_index_made_anew(shop: str, tmp_path: Path) -> None:
    answers(shop)
    with closing(sqlite3.connect(shop)) as connection:
        connection.execute("PRAGMA ignore_check_constraints=ON")
        for at, wrong in enumerate(
            ("complaint = x'ff00fe41'", "opened = '20xx-99-01'", "odometer_km = 'nan'"), 3
        ):
            number = f"(SELECT number FROM jobs WHERE complaint LIKE '%lamp%' LIMIT 1 OFFSET {at})"
            connection.execute(f"UPDATE jobs SET {wrong} WHERE number = {number}")
        connection.commit()
    answers_without_them = CliRunner().invoke(kb, ["--store", shop, "causes", "airbag lamp"])
    assert "left out" in answers_without_them.stderr
    mended = CliRunner().invoke(kb, ["--store", shop, "db", "check", "--repair"])
    assert (mended.exit_code, "Made again: " in mended.output) == (0, True)
    found = check(shop, SETTINGS)
    assert found.is_sound
    assert found.index is not None
    assert found.index.state == IndexState.IN_STEP
    assert not (index_folder(shop) / fix_history.FILE).exists()
    with UnitOfWork(open_store(shop), read_only=True) as work:
        last = work.changes.last()
    index = Index.load(index_folder(shop))
    assert index is not None
    assert index.sequence == last
    assert answers(shop) == answers(afresh(shop, tmp_path / "fresh"))


def test_rates_that_another_program_made_untrue_are_told_and_learnt_again(shop: str) -> None:
    causes(shop, ASKED, SETTINGS)
    assert check(shop, SETTINGS).is_sound
    written_by_another(shop, "UPDATE contacts SET outcome = 'comeback'")
    found = check(shop, SETTINGS)
    assert (found.astray, found.rates_astray, found.is_sound) == ((), True, False)
    told = CliRunner().invoke(kb, ["--store", shop, "db", "check"])
    assert (told.exit_code, "how fixes fared" in told.output) == (1, True)
    mended = CliRunner().invoke(kb, ["--store", shop, "db", "check", "--repair"])
    assert mended.exit_code == 0, mended.output
    causes(shop, ASKED, SETTINGS)
    assert check(shop, SETTINGS).is_sound


def test_a_store_with_torn_pages_is_told_to_be_put_back_alone(
    small_store: str, tmp_path: Path
) -> None:
    """Of no copy and no mending, for neither can be made of it."""
    torn, complained = tmp_path / "torn.sqlite", 0
    for seed in range(20):
        drawn, content = random.Random(seed), bytearray(Path(small_store).read_bytes())
        for _ in range(60):
            content[drawn.randrange(100, len(content))] ^= 1 << drawn.randrange(8)
        torn.write_bytes(content)

        def told(*words: str) -> str:
            done = CliRunner().invoke(kb, ["--store", str(torn), *words])
            assert done.exception is None or isinstance(done.exception, SystemExit), words
            return done.output

        if "The database complains" not in (checked := told("db", "check")):
            continue
        complained += 1
        pages = [checked, told("db", "check", "--repair"), told("search", "seat"), told("export")]
        assert "kb db restore" in checked
        assert not any("--repair" in each or "nothing was copied" in each for each in pages)
    assert complained
