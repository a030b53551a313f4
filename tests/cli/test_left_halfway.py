"""Every command that asks, left with Ctrl-C at each of its questions, in a real terminal."""

import shutil
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from threading import Event
from typing import NamedTuple

import pytest

from kb.case import Job
from kb.cli.job import asking
from kb.cli.job.typed import _undisturbed
from kb.cli.job.work import TOLD
from kb.errors import StoreUnusable
from kb.local_time import local_now
from kb.services.exchange import ImportResult, import_file
from kb.services.lookup import show_job
from kb.services.mending import last_entries
from kb.store.address import desk_file
from kb.store.database import create_store, open_store
from kb.store.desk import Desk
from kb.store.transaction import BATCH
from kb.store.unit_of_work import UnitOfWork
from tests.cli.terminal import PATIENCE_SECONDS, Terminal
from tests.cli.test_job import ok, run
from tests.recall.shop import CASES


class Asked(NamedTuple):
    """A question, by its first words, the answer, and what is typed where that was kept.

    None where the question is then not asked any more.
    """

    words: str
    answer: str
    again: str | None = ""


class Dialogue(NamedTuple):
    """A command, the job it changes, what it asks, and what follows when that is stored."""

    command: str
    job: int
    asked: Sequence[Asked]
    after: Sequence[Asked] = ()


AIRBAG_LAMP = "airbag lamp on since the seat was moved, RF pretensioner 6.1 ohm"
STORE = Asked("Store it?", "y", "y")
AIRBAG, STARTER, TWICE = (len(CASES) + place for place in (1, 2, 3))
"""Open jobs: an airbag lamp, a starter that was replaced in vain, and one told twice, void."""
DIALOGUES = (
    Dialogue(
        "job open",
        TWICE + 1,
        [
            Asked("Complaint", AIRBAG_LAMP),
            Asked("Key tag", "k031"),
            Asked("Is K31 meant", "y", None),
            Asked("Make, model", ""),
            Asked("Odometer", "81000"),
            Asked("When does it show", "after rain"),
            STORE,
        ],
    ),
    Dialogue(
        f"job add {STARTER}",
        STARTER,
        [Asked("What to add", "battery 12.1 V"), Asked("Was battery measured", "a"), STORE],
    ),
    Dialogue(
        f"job add reading {STARTER}",
        STARTER,
        [Asked("Reading", "battery 12.1 V"), Asked("Was battery measured", "b"), STORE],
    ),
    Dialogue("job add contact 1", 1, [Asked("Contact", "held, 91000 km"), STORE]),
    Dialogue(
        "job circuit", AIRBAG, [Asked("Circuit", "airbag ECU, harness, seat connector*"), STORE]
    ),
    Dialogue(
        "job edit",
        AIRBAG,
        [Asked("Number of what to change", "1"), Asked("What should stand", "sunato kiri"), STORE],
    ),
    Dialogue("job remove", AIRBAG, [Asked("Number of what to take out", "4"), STORE]),
    Dialogue("job void", AIRBAG, [Asked("Why", "told twice"), STORE]),
    Dialogue(f"job void {TWICE} --back", TWICE, [Asked(f"Job {TWICE}, ", "y", "y")]),
    Dialogue("job reopen 1", 1, [Asked("Job 1, ", "y", "y")]),
    Dialogue("undo", STARTER, [Asked("Take it back?", "y", "y")]),
    Dialogue(
        "job close",
        AIRBAG,
        [
            Asked("Cause", "1"),
            Asked("Last fix", "replaced seat connector"),
            Asked("Did it cure it?", "y"),
            Asked("What proved the cause", "steady with a load"),
            Asked("reading back in band?", "y"),
            Asked("self-test passed?", "n"),
            Asked("terminals checked?", "y"),
            STORE,
        ],
    ),
    Dialogue(
        f"job close {STARTER}",
        STARTER,
        [
            Asked("Cause", "batery, worn"),
            Asked("Its number", "1"),
            Asked("Last fix", ""),
            Asked("What proved the cause", ""),
            Asked("Was the fault ever seen", "n"),
            STORE,
        ],
    ),
    Dialogue(
        f"job close {STARTER}",
        STARTER,
        [
            Asked("Cause", ""),
            Asked("Close without a cause?", "y"),
            Asked("Last fix", ""),
            Asked("Was the fault ever seen", "y"),
            STORE,
        ],
    ),
    Dialogue(
        "job work",
        AIRBAG,
        [
            Asked("q: leave", "t", None),
            Asked("What was found or done", "wiggle test: jumps"),
            Asked("“wiggle test” points to", "seat connector"),
            Asked("“wiggle test” clears", ""),
            STORE,
        ],
        [Asked("q: leave", "q")],
    ),
    Dialogue(
        "job work",
        AIRBAG,
        [
            Asked("q: leave", "1", None),
            Asked("What was seen", "a"),
            Asked("In your own words", "all fine"),
            Asked("Minutes it took", "5"),
        ],
        [Asked("q: leave", "q")],
    ),
)


MOST_SECONDS_UNTOLD = 2
"""So long somebody at the counter waits for others who write without being told."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with jobs in every state."""
    path = tmp_path_factory.mktemp("shop") / "shop.sqlite"
    with UnitOfWork(create_store(str(path)), who="BT") as work:
        for case in CASES:
            work.jobs.add(case)
        work.commit()
    told = (
        ("open", AIRBAG_LAMP, "--vehicle", "corvane lido 2016"),
        ("open", "no crank", "--ref", "K31", "--vehicle", "halbrecht ostra 2011"),
        ("open", "no crank", "--vehicle", "bramwick dray 2014"),
        ("void", str(TWICE), "--why", "told twice"),
        ("add", str(STARTER), "replaced starter, no change"),
    )
    for words in told:
        ok(run(str(path), "job", *words))
    return path


def copied(shop: Path, to: Path) -> str:
    """A store of its own, with the airbag lamp in hand."""
    address = str(shutil.copy(shop, to))
    ok(run(address, "job", "use", str(AIRBAG)))
    return address


def typed(store: str, command: str, keys: Iterable[tuple[str, str]], *, leave_at: str = "") -> str:
    """Run a command at a terminal, to its end or until Ctrl-C at a question; what was shown."""
    with Terminal(*command.split(), store=store) as screen:
        for words, answer in keys:
            screen.expect(words)
            screen.answer(answer)
        if leave_at:
            screen.expect(leave_at)
            screen.press_ctrl_c()
    assert screen.code == (1 if leave_at else 0), screen.shown
    assert "Traceback" not in screen.shown
    return screen.shown


def keys_of(answered: Sequence[Asked], *, kept: bool) -> Iterator[tuple[str, str]]:
    """What is typed up to a question, all but the last for the second time."""
    if kept:
        yield "Go on with what you had typed?", ""
    for each in answered[:-1]:
        again = each.again if kept else each.answer
        if again is not None:
            yield each.words, again
    yield from ((each.words, each.answer) for each in answered[-1:])


def without_moments(job: Job) -> Job:
    return replace(job, uid=None, entries=tuple(replace(each, at=None) for each in job.entries))


@pytest.mark.parametrize("dialogue", DIALOGUES, ids=lambda each: each.command)
def test_nothing_is_lost_and_nothing_half_stored(
    shop: Path, tmp_path: Path, dialogue: Dialogue
) -> None:
    command, number, asked, after = dialogue
    store, straight = (copied(shop, tmp_path / name) for name in ("left.sqlite", "straight.sqlite"))
    before, kept = last_entries(store, limit=50), False
    for place, question in enumerate(asked):
        keys = keys_of(asked[:place], kept=kept)
        shown = typed(store, command, keys, leave_at=question.words)
        assert last_entries(store, limit=50) == before
        kept = kept or "What you typed is kept" in shown
    end = [(each.words, each.answer) for each in after]
    typed(store, command, [*keys_of(asked, kept=kept), *end])
    typed(straight, command, [*((each.words, each.answer) for each in asked), *end])
    assert last_entries(store, limit=50) != before
    job, wanted = (show_job(address, number).job for address in (store, straight))
    assert without_moments(job) == without_moments(wanted)
    assert Desk(desk_file(store, "BT")).unstored(command.removeprefix("job ")) is None


def test_what_should_stand_there_is_kept_when_nobody_knows_its_number(
    shop: Path, tmp_path: Path
) -> None:
    store = copied(shop, tmp_path / "left.sqlite")
    typed(store, "job edit sunato kiri", [], leave_at="Number of what to change")
    again = (("Go on", ""), ("Number of what to change", "1"), ("[sunato kiri]", ""), ("Store", ""))
    typed(store, "job edit", again)
    assert show_job(store, AIRBAG).job.vehicle.label == "Sunato Kiri"


LINES = ("first line no crank", "second line brake squeal", "third line overheats uphill")


def test_lines_that_are_not_stored_lie_side_by_side(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "left.sqlite")
    before = show_job(store, TWICE).job.number
    for count, line in enumerate(LINES):
        shown = typed(store, f"job open {line}", [("Store it?", "n")])
        assert "What you typed is kept" in shown
        assert (f"beside {count} from before (20 at most)" in " ".join(shown.split())) == (
            count > 0
        )
    keys = [("n: none of them", "2"), ("Complaint [second", ""), ("Key tag", "K77")]
    typed(store, "job open", keys, leave_at="Make, model")
    none = [("n: none of them", "n"), ("Keep them for later?", "")]
    shown = typed(store, "job open", none, leave_at="Complaint:")
    assert "still kept" in shown
    places = [shown.index(line) for line in (LINES[0], LINES[2], LINES[1])]
    assert places == sorted(places)  # the second was typed at last
    for line in (LINES[0], LINES[2], LINES[1]):
        with Terminal("job", "open", store=store) as screen:
            many = line != LINES[1]
            screen.expect("n: none of them" if many else "Go on")
            screen.answer("")
            screen.expect("Complaint [")
            screen.answer("")
            for words in ("Key tag", "Make, model", "Make, model", "Odometer", "When does"):
                screen.expect(words)
                screen.answer("")
            screen.expect("Store it?")
            screen.answer("y")
        assert screen.code == 0, screen.shown
        before = (before or 0) + 1
        assert show_job(store, before).job.entries[0].text == line
    assert Desk(desk_file(store, "BT")).unstored("open") is None


def test_a_line_is_kept_where_the_program_is_told_to_end(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "left.sqlite")
    with Terminal("job", "open", LINES[0], store=store) as screen:
        screen.expect("Store it?")
        screen.signal(signal.SIGTERM)
        screen.expect("What you typed is kept")
    assert Desk(desk_file(store, "BT")).unstored("open")


@pytest.mark.parametrize("gone", [False, True])
def test_a_script_s_line_that_could_not_be_stored_is_kept(
    shop: Path, tmp_path: Path, gone: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = copied(shop, tmp_path / "full.sqlite")
    moved = tmp_path / "moved.sqlite"
    if gone:
        Path(store).rename(moved)
    else:
        monkeypatch.setattr("kb.services.keeping.UnitOfWork", Full)
    told = run(store, "job", "open", LINES[0], "--vehicle", "bramwick dray 2014", "--yes")
    assert told.exit_code == 1
    assert "What you typed is kept: kb job open goes on with it" in told.output
    if gone:
        moved.rename(store)
    shown = typed(store, "job open", [("Go on", "y")], leave_at="Complaint [first line")
    assert "bramwick dray 2014" in shown


class Full(UnitOfWork):
    """Work on a store whose disk is full."""

    def commit(self) -> None:
        raise StoreUnusable("store: no room")


def test_what_others_keep_from_being_stored_is_kept_and_offered_again(
    shop: Path, tmp_path: Path
) -> None:
    store = copied(shop, tmp_path / "busy.sqlite")
    line = "replaced earth strap, cured"
    with UnitOfWork(open_store(store)):  # somebody who writes, and does not end
        shown = typed(store, f"job add {STARTER} {line}", [("Store", "y")], leave_at="still trying")
    assert "What you typed is kept" in shown
    typed(store, f"job add {STARTER}", [("Go on", "y"), ("What to add", ""), ("Store", "y")])
    assert show_job(store, STARTER).job.entries[-1].text == line
    assert Desk(desk_file(store, "BT")).unstored("add") is None


@contextmanager
def importing(store: str, jobs: int) -> Iterator[Callable[[], ImportResult]]:
    """An import that stands still between two of its batches until it is called to go on."""
    file = Path(store).with_suffix(".jsonl")
    file.write_text('{"opened": "2026-01-01", "complaint": "no crank"}\n' * jobs)
    stands, goes_on = Event(), Event()

    def progress(done: int, total: int) -> None:
        if total // 2 < done < total:  # all are read, and the first batch is stored
            stands.set()
            assert goes_on.wait(PATIENCE_SECONDS)

    with ThreadPoolExecutor() as pool:
        running = pool.submit(import_file, store, file, progress=progress)
        try:
            assert stands.wait(PATIENCE_SECONDS)

            def end() -> ImportResult:
                goes_on.set()
                return running.result(PATIENCE_SECONDS)

            yield end
        finally:
            goes_on.set()


def test_somebody_at_the_counter_waits_for_an_import_no_longer_than_is_promised() -> None:
    assert asking.PATIENCE_SECONDS <= MOST_SECONDS_UNTOLD


def test_a_line_typed_while_an_import_runs_is_stored_behind_it(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "busy.sqlite")
    line, many = "replaced earth strap, cured", BATCH + 100
    with importing(store, many) as end:
        with Terminal("job", "add", str(STARTER), line, store=store) as screen:
            screen.expect("Store it?")
            screen.answer("y")
            screen.expect("still trying")
            assert len(show_job(store, STARTER).job.entries) == 2  # who reads waits for nobody
            assert end().added == many
        assert screen.code == 0, screen.shown
    assert show_job(store, STARTER).job.entries[-1].text == line
    assert Desk(desk_file(store, "BT")).unstored("add") is None


def test_a_line_typed_while_an_import_runs_is_kept_and_offered_again(
    shop: Path, tmp_path: Path
) -> None:
    store = copied(shop, tmp_path / "busy.sqlite")
    line, many = "replaced earth strap, cured", BATCH + 100
    with importing(store, many) as end:
        command = f"job add {STARTER} {line}"
        shown = typed(store, command, [("Store", "y")], leave_at="still trying")
        assert "What you typed is kept" in shown
        kept = Desk(desk_file(store, "BT")).unstored(f"add {STARTER}")
        assert kept is not None
        assert line in kept[1].answers.values()
        assert end().added == many
    typed(store, f"job add {STARTER}", [("Go on", "y"), ("What to add", ""), ("Store", "y")])
    assert show_job(store, STARTER).job.entries[-1].text == line
    assert Desk(desk_file(store, "BT")).unstored("add") is None


def test_a_stale_edit_shows_both_and_stores_what_does_not_collide(
    shop: Path, tmp_path: Path
) -> None:
    store = copied(shop, tmp_path / "stale.sqlite")
    edit = ("job", "edit", str(STARTER), "--set", "technician=MK", "--set", "notes=keys-at-desk")
    with Terminal(*edit, store=store) as screen:
        screen.expect("Store it?")
        ok(run(store, "job", "edit", str(STARTER), "--set", "technician=JO"))
        screen.answer("y")
        shown = screen.expect("Theirs:", "JO", "Yours:", "MK", "stay as theirs: technician")
        assert "keys-at-desk" in shown
        screen.expect("What is left of yours", "keys-at-desk", "on top of theirs?")
        screen.answer("y")
    assert screen.code == 0, screen.shown
    job = show_job(store, STARTER).job
    assert (job.technician, job.notes) == ("JO", "keys-at-desk")


def test_what_was_typed_for_another_job_is_offered_as_such(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "left.sqlite")
    typed(store, "job add 1 horn relay clicks", [], leave_at="Job 1, ")
    shown = typed(store, f"job add {STARTER}", [("instead?", "y"), ("[horn", ""), ("Store", "y")])
    assert "for job 1, Corvane Lido 2016" in shown
    assert show_job(store, STARTER).job.entries[-1].text == "horn relay clicks"
    assert Desk(desk_file(store, "BT")).unstored("add") is None


@pytest.mark.parametrize(
    ("kept", "answers"),
    [
        (["battery flat"], [("Go on with what", "q")]),
        (["battery flat", "lamp dim"], [("Go on with which", "q")]),
        (["battery flat", "lamp dim"], [("Go on with which", "n"), ("Keep them for later?", "q")]),
    ],
)
def test_q_leaves_job_work_where_it_asks_of_what_is_kept(
    shop: Path, tmp_path: Path, kept: list[str], answers: list[tuple[str, str]]
) -> None:
    store = copied(shop, tmp_path / "kept.sqlite")
    desk = Desk(desk_file(store, "BT"))
    for words in kept:
        desk.keep(f"work {STARTER}", {TOLD: words}, local_now())
    shown = typed(store, f"job work {STARTER}", answers)
    assert "neither" not in shown
    assert f"Taken up again with: kb job work {STARTER}" in " ".join(shown.split())
    assert len(desk.all_unstored(f"work {STARTER}")) == len(kept)


def test_what_was_seen_at_a_step_is_never_offered_for_another_job(
    shop: Path, tmp_path: Path
) -> None:
    store = copied(shop, tmp_path / "step.sqlite")
    typed(
        store,
        f"job work {AIRBAG}",
        [("q: leave", "1"), ("What was seen", "a")],
        leave_at="In your own words",
    )
    shown = typed(store, f"job work {STARTER}", [("q: leave", "q")])
    assert "instead?" not in shown
    assert "Not stored yet" not in shown
    assert f"kb job work {AIRBAG} goes on with it" in " ".join(shown.split())
    left = Desk(desk_file(store, "BT")).unstored(f"work {AIRBAG}")
    assert left is not None
    assert "a" in left[1].answers.values()


@pytest.mark.parametrize(
    ("command", "asked"),
    [
        ("job add relay R7 swapped no diff", "What to add"),
        ("job add reading horn 0.3 V", "Reading"),
    ],
)
def test_what_was_typed_without_a_job_is_not_lost_at_the_question_for_it(
    shop: Path, tmp_path: Path, command: str, asked: str
) -> None:
    store = copied(shop, tmp_path / "left.sqlite")
    ok(run(store, "job", "use", "--none"))
    assert "What you typed is kept" in typed(store, command, [], leave_at="Job number")
    keys = [("Go on", ""), ("Job number", str(AIRBAG)), (asked, ""), ("Store", "y")]
    bare = " ".join(command.split()[: 3 if asked == "Reading" else 2])
    typed(store, bare, keys)
    assert show_job(store, AIRBAG).job.entries[-1].text in command


def test_an_option_that_is_not_kept_is_named(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "left.sqlite")
    command = f"job add reading {AIRBAG} battery 12.1 V --good"
    assert "is kept, but not --good" in typed(store, command, [], leave_at="Store it?")
    keys = [("Go on", ""), ("Reading [battery 12.1 V]", ""), ("Store it?", "")]
    typed(store, f"job add reading {AIRBAG} --good", keys)
    assert show_job(store, AIRBAG).job.readings[-1].proved_good


def test_a_known_suspect_takes_two_keystrokes(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "brief.sqlite")
    ok(run(store, "job", "add", str(STARTER), "replaced battery, cured"))
    typed(store, f"job close {STARTER}", [("Cause", "1"), ("Store it?", "")])
    job = show_job(store, STARTER).job
    assert job.is_case
    assert job.attempts[-1].cured


def test_a_plus_behind_the_number_asks_for_the_rest(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "more.sqlite")
    ok(run(store, "job", "add", str(STARTER), "replaced battery, cured"))
    keys = [("Cause", "1+"), ("Last fix", ""), ("What proved the cause", "cranks with a new one")]
    typed(store, f"job close {STARTER}", keys, leave_at="?")


@pytest.mark.parametrize("dialogue", [DIALOGUES[0], DIALOGUES[4], DIALOGUES[11]])
def test_the_end_of_input_leaves_as_ctrl_c_does(
    shop: Path, tmp_path: Path, dialogue: Dialogue
) -> None:
    command, _, asked, _ = dialogue
    store = copied(shop, tmp_path / "left.sqlite")
    before = last_entries(store, limit=50)
    with Terminal(*command.split(), store=store) as screen:
        for each in asked[:-1]:
            screen.expect(each.words)
            screen.answer(each.answer)
        screen.expect(asked[-1].words)
        screen.press("\x04")
        screen.expect("What you typed is kept")
    assert (screen.code, last_entries(store, limit=50)) == (1, before)


def test_how_to_leave_is_told_where_an_answer_is_needed(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "left.sqlite")
    keys = [("Circuit", "q"), ("needs two links", "zz"), ("Ctrl-C leaves", ""), ("Ctrl-C", "x, y")]
    typed(store, "job circuit", keys, leave_at="Store it?")
    typed(store, "job circuit", [("Go on", ""), ("[x, y]", ""), ("Store it?", "")])


def test_a_second_ctrl_c_does_not_interrupt_what_is_kept() -> None:
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with _undisturbed():
            signal.raise_signal(signal.SIGINT)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    finally:
        signal.signal(signal.SIGINT, before)


def test_keys_typed_ahead_answer_no_question_whose_danger_was_not_read(
    shop: Path, tmp_path: Path
) -> None:
    store = copied(shop, tmp_path / "ahead.sqlite")
    before = show_job(store, AIRBAG).job
    with Terminal("job", "add", str(AIRBAG), store=store) as screen:
        screen.expect("What to add")
        screen.answer("checked resistance of LH pretensioner with multimeter\ry\ry\ry")
        screen.expect("DANGER", "Was that in fact done?")
        screen.answer("")
        screen.expect("Nothing was stored")
    assert show_job(store, AIRBAG).job == before


def test_keys_typed_ahead_store_nothing(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "ahead.sqlite")
    with Terminal("job", "add", str(STARTER), store=store) as screen:
        screen.expect("What to add")
        screen.answer("horn relay clicks\ry\ry\ry")
        screen.expect("Store it as words?")
        screen.answer("n")
        screen.expect("Nothing was stored")
    assert screen.code == 0, screen.shown


def test_a_line_that_is_not_shown_is_offered_by_what_it_is(shop: Path, tmp_path: Path) -> None:
    store = copied(shop, tmp_path / "unshown.sqlite")
    line = "checked resistance of LH pretensioner with multimeter"
    typed(store, f"job add {AIRBAG}", [("What to add", line)], leave_at="in fact done?")
    keys = [("Go on", "y"), ("[your last line, not shown]", ""), ("in fact done?", "n")]
    before = show_job(store, AIRBAG).job
    assert "Nothing was stored" in typed(store, f"job add {AIRBAG}", keys)
    assert show_job(store, AIRBAG).job == before
