"""The index beside a store: whatever happens to it, the answer is that of a fresh one."""

import json
import os
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from shutil import copy, rmtree
from threading import Thread

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import Complaint, Contact, Outcome
from kb.cli.main import kb
from kb.errors import Notice
from kb.evaluation.replay import grown_index
from kb.files import is_plain
from kb.intake.wording import Wording
from kb.recall.cards import Cards
from kb.recall.index import FILE, Index
from kb.reports.store import reindexed_line
from kb.services import indexing, kept_rates, weights
from kb.services.ask import CausesAnswer, causes
from kb.services.inquiry import Question
from kb.services.similar import similar
from kb.settings import ReadingSettings, RecallSettings, Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.damage import damaged
from tests.recall.shop import CASES, pretensioner
from tests.store_copies import copied
from tests.test_files import STRANGE, strange

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
    broken = data.draw(damaged(whole))
    file.unlink()
    file.write_bytes(broken)
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


def test_a_shop_is_asked_of_every_case_and_the_replay_fits_now_and_then(empty_store: str) -> None:
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
        assert len(replayed) == len(index) == len(index.base) == known
        fitted.add(len(replayed.base))
    assert fitted == {1, 5, 9, 14}


def base_after(address: str, change: Callable[[UnitOfWork], object], limit: Settings) -> Index:
    """Return the index that is asked after a change."""
    with UnitOfWork(open_store(address)) as work:
        change(work)
        work.commit()
    with UnitOfWork(open_store(address), read_only=True) as work:
        return indexing.current_index(work, address, Wording.default(), limit)


def test_only_what_an_index_looks_at_has_it_fitted_again(small_store: str) -> None:
    def sequence(change: Callable[[UnitOfWork], object]) -> int:
        return base_after(small_store, change, SETTINGS).sequence

    def edit(**fields: object) -> Callable[[UnitOfWork], object]:
        return lambda work: work.jobs.replace(replace(work.jobs.get(1), **fields))  # type: ignore[arg-type]

    fitted = sequence(lambda work: None)
    call = Contact(on=date(2024, 9, 1), words="all good", outcome=Outcome.HELD)
    opened = replace(CASES[0], number=None, closed=None, cause=None)
    for change in (edit(contacts=(call,)), edit(notes="aux"), lambda work: work.jobs.add(opened)):
        assert sequence(change) == fitted
    for change in (edit(complaint="no crank"), edit(void="twice"), edit(void=None)):
        before, fitted = fitted, sequence(change)
        assert fitted > before


MOST_MOVED = 0.05
"""By so much a first chance may depend on when the index was fitted."""


def first_chances(address: str, questions: list[Complaint]) -> list[tuple[str, float]]:
    asked = [Question(text=each.text, codes=tuple(map(str, each.codes))) for each in questions]
    answers = [causes(address, each, SETTINGS) for each in asked]
    return [(each.causes[0].cause.label, each.causes[0].chance) for each in answers if each.causes]


def test_an_answer_does_not_depend_on_when_the_index_was_fitted(
    demo_store: str, tmp_path: Path
) -> None:
    new = 3
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        known = list(work.jobs.all(cases_only=True))
    store = copied(demo_store, tmp_path)
    first_chances(store, [Complaint.of(known[0])])
    with UnitOfWork(open_store(store)) as work:
        for job in known[:new]:  # the words of one cause with another one
            cause = replace(known[-1].cause, component=f"thing {job.number}")  # type: ignore[type-var]
            work.jobs.add(replace(job, number=None, uid=None, cause=cause, entries=(), codes=()))
        work.commit()
    asked = [Complaint.of(job) for job in (*known[:new], *known[:: len(known) // 8])]
    before = first_chances(store, asked)
    indexing.reindex(store, SETTINGS)
    after = first_chances(store, asked)
    assert len(before) == len(asked)
    assert [cause for cause, _ in before] == [cause for cause, _ in after]
    moved = [abs(was - now) for (_, was), (_, now) in zip(before, after, strict=True)]
    assert max(moved) <= MOST_MOVED


def nearest_jobs(address: str, questions: list[str]) -> list[list[tuple[int, float]]]:
    found = [similar(address, Question(text=each), SETTINGS) for each in questions]
    return [[(each.number, each.chance) for each in answer.matches] for answer in found]


def test_similar_jobs_do_not_depend_on_when_their_index_was_fitted(small_store: str) -> None:
    asked = ["airbag lamp on after seat was moved", "horn relay clicks", "no crank, wet loom"]
    nearest_jobs(small_store, asked)
    for notes in ("horn relay clicks, wet loom", "customer calls back"):
        with UnitOfWork(open_store(small_store)) as work:
            work.jobs.add(replace(CASES[0], number=None, complaint=notes, closed=None, cause=None))
            work.jobs.replace(replace(work.jobs.get(2), notes=notes))
            work.commit()
        before = nearest_jobs(small_store, asked)
        indexing.reindex(small_store, SETTINGS)
        assert before == nearest_jobs(small_store, asked)
        assert before[1]


def test_only_what_a_card_tells_has_the_index_of_all_jobs_fitted_again(small_store: str) -> None:
    def sequence(change: Callable[[UnitOfWork], object]) -> int:
        with UnitOfWork(open_store(small_store)) as work:
            change(work)
            work.commit()
        with UnitOfWork(open_store(small_store), read_only=True) as work:
            return indexing.current_cards(work, small_store, Wording.default(), SETTINGS).sequence

    def edit(**fields: object) -> Callable[[UnitOfWork], object]:
        return lambda work: work.jobs.replace(replace(work.jobs.get(1), **fields))  # type: ignore[arg-type]

    fitted = sequence(lambda work: None)
    call = Contact(on=date(2024, 9, 1), words="all good", outcome=Outcome.HELD)
    for change in (edit(circuit=()), edit(odometer_km=90_001)):
        assert sequence(change) == fitted
    for change in (edit(contacts=(call,)), edit(notes="aux"), edit(void="twice")):
        before, fitted = fitted, sequence(change)
        assert fitted > before


@pytest.mark.parametrize(("cases", "few"), [(0, 0), (2_000, 0), (2_099, 0), (5_000, 30)])
def test_a_small_store_leaves_no_case_unfitted_and_a_large_one_few(cases: int, few: int) -> None:
    assert Index.most_unfitted(cases, SETTINGS.recall) == few
    assert Cards.most_unfitted(cases, SETTINGS.recall) == few
    assert Index.most_unfitted(10**9, SETTINGS.recall) == SETTINGS.recall.refit_most


def test_a_folder_that_cannot_be_written_is_told_and_the_answer_given(small_store: str) -> None:
    expected = ask(small_store)
    folder = index_folder(small_store)
    rmtree(folder)
    folder.write_text("a file where the folder should be")
    found = ask(small_store)
    assert found.notices[:-1] == expected.notices
    assert f"{folder} is no folder, which is none of this program's" in found.notices[-1]
    assert replace(found, notices=expected.notices) == expected


def test_a_folder_with_something_in_it_in_place_of_an_index_is_named_and_left(
    small_store: str,
) -> None:
    expected = ask(small_store)
    letter = index_folder(small_store) / FILE / "letter"
    letter.parent.unlink()
    letter.parent.mkdir()
    letter.write_text("theirs")
    for _ in range(2):
        found = ask(small_store)
        assert f"{letter.parent} is a folder with something in it" in found.notices[-1]
        assert replace(found, notices=expected.notices) == expected
    made = indexing.reindex(small_store, SETTINGS)
    assert str(letter.parent) in reindexed_line(made)
    assert letter.read_text() == "theirs"
    letter.unlink()
    assert ask(small_store) == expected
    assert letter.parent.is_file()


@pytest.mark.parametrize("kind", STRANGE)
def test_whatever_stands_in_the_place_of_what_is_kept_gives_way(
    small_store: str, kind: str
) -> None:
    calls = (["causes", "no crank"], ["similar", "no crank"], ["fixes", "battery"])

    def answers() -> list[str]:
        return [CliRunner().invoke(kb, ["--store", small_store, *call]).output for call in calls]

    answers()
    before = answers()
    kept = [path for path in index_folder(small_store).rglob("*") if path.is_file()]
    for path in kept:
        path.unlink()
        strange(path, kind)
    assert answers() == before
    assert all(is_plain(path) for path in kept if path.name in {FILE, Cards.file, "fixes.json"})


@pytest.mark.parametrize("kind", STRANGE)
def test_weights_that_are_no_plain_file_are_lost_and_not_waited_for(
    small_store: str, kind: str
) -> None:
    index_folder(small_store).mkdir(exist_ok=True)
    strange(index_folder(small_store) / weights.FILE, kind)
    assert weights.weights(small_store, SETTINGS).lost


@pytest.mark.parametrize("sequence", [10**30, -(10**30), 2**63, 2**63 - 1])
def test_a_change_that_no_store_can_have_was_made_at_no_time(
    small_store: str, sequence: int
) -> None:
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        assert work.changes.moment(sequence) is None


def test_only_what_is_computed_is_taken_out_also_behind_a_link(
    small_store: str, tmp_path: Path
) -> None:
    theirs, folder = tmp_path / "letters", index_folder(small_store)
    (theirs / "sub").mkdir(parents=True)
    for name in ("letter.txt", "sub/fixes.json"):
        (theirs / name).write_text("theirs")
    if folder.exists():
        rmtree(folder)
    folder.symlink_to(theirs)
    ask(small_store)
    made = {each.name for each in theirs.iterdir()} - {"letter.txt", "sub"}
    assert FILE in made
    indexing.forget_computed(small_store)
    left = sorted(str(each.relative_to(theirs)) for each in theirs.rglob("*"))
    assert left == ["letter.txt", "sub", "sub/fixes.json"]


def test_all_that_questions_keep_is_known_as_computed(
    demo_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept_rates, "LEAST_KEPT", 1)
    shop = copied(demo_store, tmp_path / "shop")
    for call in (["causes", "airbag lamp on"], ["similar", "no crank"], ["review", "--health"]):
        assert not CliRunner().invoke(kb, ["--store", shop, *call]).exit_code
    assert (index_folder(shop) / kept_rates.FOLDER).is_dir()
    indexing.forget_computed(shop)
    assert not list(index_folder(shop).iterdir())


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
        "unkept": "",
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


def test_an_index_that_others_took_away_meanwhile_is_saved_once_more(
    small_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As two repairs at once do: each forgets what is computed, and the folder with it."""
    tried, save = [], Index.save

    def once_refused(index: Index, folder: Path) -> None:
        tried.append(folder)
        if len(tried) == 1:
            raise FileNotFoundError
        save(index, folder)

    monkeypatch.setattr(Index, "save", once_refused)
    assert indexing.reindex(small_store, Settings()).kept
    assert (index_folder(small_store) / FILE).exists()
