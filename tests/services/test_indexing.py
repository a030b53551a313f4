"""The index beside a store: whatever happens to it, the answer is that of a fresh one."""

import json
import os
from dataclasses import replace
from pathlib import Path
from shutil import copy, rmtree
from threading import Thread

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb
from kb.errors import Notice
from kb.evaluation.replay import grown_index
from kb.intake.wording import Wording
from kb.recall.cards import Cards
from kb.recall.index import FILE, Index
from kb.services import indexing, weights
from kb.services.ask import CausesAnswer, causes
from kb.services.inquiry import Question
from kb.settings import ReadingSettings, RecallSettings, Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.damage import damaged
from tests.recall.shop import CASES, pretensioner

SETTINGS = Settings()
QUESTION = Question(text="airbag lamp on after seat was moved", codes=("B1234",))


def ask(address: str, with_settings: Settings = SETTINGS) -> CausesAnswer:
    return causes(address, QUESTION, with_settings)


@pytest.fixture
def answered(small_store: str) -> tuple[CausesAnswer, bytes]:
    """What is answered by a whole index, and that index."""
    return ask(small_store), (index_folder(small_store) / FILE).read_bytes()


@given(st.data())
def test_no_damage_changes_an_answer(
    small_store: str, answered: tuple[CausesAnswer, bytes], data: st.DataObject
) -> None:
    expected, whole = answered
    file = index_folder(small_store) / FILE
    file.unlink()
    file.write_bytes(data.draw(damaged(whole)))
    assert ask(small_store) == expected
    assert Index.load(file.parent) is not None


@pytest.fixture
def larger(demo_store: str) -> bytes:
    """The index of the demonstration shop."""
    causes(demo_store, QUESTION, SETTINGS)
    return (index_folder(demo_store) / FILE).read_bytes()


@settings(max_examples=25)
@given(st.data())
def test_damage_to_a_larger_index_is_noticed(
    larger: bytes, tmp_path: Path, data: st.DataObject
) -> None:
    whole = larger
    broken = data.draw(damaged(whole))
    (tmp_path / FILE).unlink(missing_ok=True)
    (tmp_path / FILE).write_bytes(broken)
    found = Index.load(tmp_path)
    if found is not None:  # padding between arrays, or zeroes made zero
        (tmp_path / FILE).unlink()
        found.save(tmp_path)
        assert (tmp_path / FILE).read_bytes() == whole


def test_the_replay_fits_its_index_again_when_a_shop_does(empty_store: str) -> None:
    often = Settings(recall=RecallSettings(refit_least=3, refit_share=0.5))
    wording = Wording.default()
    replayed: Index | None = None
    fitted = set()
    jobs = [replace(CASES[place % 6], number=place + 1) for place in range(14)]
    for known, job in enumerate(jobs, 1):
        with UnitOfWork(open_store(empty_store)) as work:
            work.jobs.add(job)
            work.commit()
        with UnitOfWork(open_store(empty_store), read_only=True) as work:
            index = indexing.current_index(work, empty_store, wording, often)
        replayed = grown_index(replayed, jobs[:known], wording, often)
        assert len(replayed.base) == len(index.base)
        assert len(replayed) == len(index) == known
        fitted.add(len(index.base))
    assert fitted == {1, 5, 9, 14}


def test_a_folder_that_cannot_be_written_is_told_and_the_answer_given(small_store: str) -> None:
    expected = ask(small_store)
    folder = index_folder(small_store)
    rmtree(folder)
    folder.write_text("a file where the folder should be")
    found = ask(small_store)
    assert found.notices == (*expected.notices, Notice.INDEX_NOT_KEPT)
    assert replace(found, notices=expected.notices) == expected


def test_a_pipe_in_the_place_of_what_is_kept_is_not_waited_for(small_store: str) -> None:
    calls = (["causes", "no crank"], ["similar", "no crank"], ["fixes", "battery"], ["weights"])

    def answers() -> list[str]:
        return [CliRunner().invoke(kb, ["--store", small_store, *call]).output for call in calls]

    answers()
    before = answers()
    kept = [path for path in index_folder(small_store).rglob("*") if path.is_file()]
    for path in [*kept, index_folder(small_store) / weights.FILE]:
        path.unlink(missing_ok=True)
        os.mkfifo(path)
    after = [each.replace(Notice.INDEX_NOT_KEPT, "") for each in answers()]
    assert all(
        each.split()[-9:] == was.split()[-9:] for each, was in zip(after, before, strict=True)
    )


def test_a_full_disk_is_told_and_the_answer_given(
    small_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = ask(small_store)
    (index_folder(small_store) / FILE).unlink()

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    found = ask(small_store)
    assert Notice.INDEX_NOT_KEPT in found.notices
    assert found.causes == expected.causes
    assert list(index_folder(small_store).glob(f"{FILE}*")) == []


def test_savers_at_the_same_time_leave_one_whole_index(small_store: str) -> None:
    indexing.reindex(small_store, SETTINGS)
    index = Index.load(index_folder(small_store))
    assert index is not None
    failed: list[BaseException] = []

    def save() -> None:
        try:
            for _ in range(10):
                index.save(index_folder(small_store))
                assert Index.load(index_folder(small_store)) is not None
        except BaseException as error:
            failed.append(error)

    savers = [Thread(target=save) for _ in range(4)]
    for saver in savers:
        saver.start()
    for saver in savers:
        saver.join()
    assert failed == []
    assert sorted(each.name for each in index_folder(small_store).iterdir()) == [Cards.file, FILE]


def test_reindex_tells_what_it_made(small_store: str) -> None:
    ran = CliRunner().invoke(kb, ["--store", small_store, "db", "reindex", "--json"])
    told = json.loads(ran.output)
    size = (index_folder(small_store) / FILE).stat().st_size
    assert told == {
        "folder": str(index_folder(small_store)),
        "cases": 6,
        "bytes": size,
        "kept": True,
    }
    ran = CliRunner().invoke(kb, ["--store", small_store, "db", "reindex"])
    assert "6 cases indexed" in ran.output


def test_what_older_programs_kept_is_removed(small_store: str) -> None:
    folder = index_folder(small_store)
    (folder / "arrays-1-ab").mkdir(parents=True)
    (folder / "index.json").write_text("{}")
    indexing.reindex(small_store, SETTINGS)
    assert sorted(each.name for each in folder.iterdir()) == [Cards.file, FILE]


@pytest.mark.parametrize(
    "changed",
    [
        Settings(recall=RecallSettings(character_share=0.9)),
        Settings(recall=RecallSettings(linear_least=2, linear_strength=100.0)),
        Settings(readings=ReadingSettings(content=0.5)),
    ],
)
def test_changed_settings_answer_as_if_they_had_always_been_so(
    small_store: str, tmp_path: Path, changed: Settings
) -> None:
    with UnitOfWork(open_store(small_store)) as work:
        for value in (2.1, 2.2, 2.2, 2.3, 2.4, 2.5):
            good = replace(pretensioner(value), proved_good=True)
            work.jobs.add(replace(CASES[0], number=None, readings=(good,)))
        work.jobs.add(replace(CASES[2], number=None, readings=(pretensioner(6.0),)))
        work.commit()
    fresh = str(tmp_path / "fresh.sqlite")
    copy(small_store, fresh)
    asked = replace(QUESTION, readings=("pretensioner 2.6 ohm",))
    before = causes(small_store, asked, SETTINGS)
    assert causes(small_store, asked, changed) == causes(fresh, asked, changed) != before
