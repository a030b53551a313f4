"""Slips made on purpose, in a real terminal of 80 by 24 and in scripts: nothing is lost."""

import json
import os
import pty
import subprocess
import sys
from collections.abc import Sequence

import pytest

from kb.services.lookup import show_job
from kb.services.mending import last_entries
from tests.cli.terminal import COLUMNS, ROWS, Terminal
from tests.cli.test_job import ok, run, type_at
from tests.recall.shop import CASES

CTRL_C = "^C"
AIRBAG_LAMP = "airbag lamp on since the seat was moved, RF pretensioner 6.1 ohm"
Keys = Sequence[tuple[str, str]]
OPENING: Keys = (
    ("Complaint", "airbag lamp on since the seat was moved, RF pretensioner 6.1 ohm"),
    ("Key tag", "K900"),
    ("Make, model", "corvane lido 2016"),
    ("Odometer", "81000"),
    ("When does it show", "after rain"),
    ("Store it?", "y"),
)


def go(store: str, *words: str, keys: Keys = (), code: int | None = 0) -> str:
    """Run a command at a terminal: a key for each text, when it comes; what was shown."""
    with Terminal(*words, store=store) as screen:
        for text, key in keys:
            screen.expect(text)
            if key == CTRL_C:
                screen.press_ctrl_c()
            else:
                screen.answer(key)
    assert screen.code == code, screen.shown
    assert "Traceback" not in screen.shown
    return screen.shown


def left_at(place: int) -> Keys:
    """The answers to an opening up to a place, and Ctrl-C there."""
    return (*OPENING[:place], (OPENING[place][0], CTRL_C))


@pytest.mark.parametrize("place", range(len(OPENING)))
def test_no_answer_to_an_opening_is_lost_by_ctrl_c(empty_store: str, place: int) -> None:
    shown = go(empty_store, "job", "open", keys=left_at(place), code=1)
    assert ("kb job open goes on with it" in shown) is (place > 0)
    assert last_entries(empty_store).entries == ()
    if not place:
        return
    again = [("Go on with what you had typed?", ""), *((text, "") for text, _ in OPENING[:place])]
    go(empty_store, "job", "open", keys=(*again, *OPENING[place:]))
    job = show_job(empty_store, 1).job
    assert (job.complaint, job.vehicle.ref) == ("airbag lamp on since the seat was moved", "K900")
    assert (job.odometer_km, job.conditions, len(job.readings)) == (81_000, "after rain", 1)
    assert "Not stored yet" not in go(
        empty_store, "job", "open", keys=(("Complaint", CTRL_C),), code=1
    )


def test_a_no_keeps_what_was_typed_and_an_answer_can_be_put_right(empty_store: str) -> None:
    keys = (*OPENING[:-1], ("Store it?", "n"))
    assert "is kept" in go(empty_store, "job", "open", keys=keys)
    keys = (
        ("Go on", "y"),
        ("Complaint [", ""),
        ("Key tag [K900]", "K901"),  # the wrong car
        ("Make, model", "corvane lido 2017"),
        ("Odometer, km [81000]", "-"),  # the wrong value
        ("When does it show [", ""),
        ("Store it?", "y"),
    )
    go(empty_store, "job", "open", keys=keys)
    job = show_job(empty_store, 1).job
    assert (job.vehicle.ref, job.vehicle.year, job.odometer_km) == ("K901", 2017, None)


def test_a_job_from_open_to_close_with_slips(small_store: str) -> None:
    go(small_store, "job", "open", keys=OPENING)
    number = max(case.number or 0 for case in CASES) + 1
    car = f"job {number}, K900 Corvane Lido 2016"

    # the wrong job: a stranger's, closed long ago
    stranger = str(CASES[0].number)
    asked = go(small_store, "job", "add", stranger, "battery 9.1 V", keys=(("there? [y/N]", ""),))
    for words in (f"Job {stranger}", CASES[0].vehicle.label, "was closed on", "Nothing was stored"):
        assert words in asked
    assert show_job(small_store, CASES[0].number or 0).job.readings == CASES[0].readings

    # told again without a number it goes to the job in hand, whose car is told
    keys = (("Go on", "n"), ("What to add", "battery 9.1 V"), ("Store it?", "y"))
    assert car in go(small_store, "job", "add", keys=keys)
    assert len(show_job(small_store, number).job.readings) == 2

    # the wrong value: taken back, and told anew without a number
    shown = go(small_store, "undo", keys=(("Take it back?", "y"),))
    assert f"J{car[1:]}" in shown
    assert "battery 9.1 V" in shown
    shown = go(small_store, "job", "add", "battery 12.1 V", keys=(("Store it?", "y"),))
    assert f"This is for {car}" in shown

    # by its number on the page; empty answers leave everything as it is
    go(small_store, "job", "edit", keys=(("Number of what", ""),))
    part = next(
        each.number for each in show_job(small_store, number).parts if each.field == "readings[1]"
    )
    keys = (("Number of what", str(part)), ("instead", "battery 12.4 V"), ("Store it?", "y"))
    go(small_store, "job", "edit", keys=keys)
    assert show_job(small_store, number).job.readings[1].value == 12.4

    # a digit and Enter tell the cause; Ctrl-C at the next question, and on it goes
    left: Keys = (("Cause (", "1"), ("Last fix", "replaced seat connector"), ("cure it?", CTRL_C))
    shown = go(small_store, "job", "close", keys=left, code=1)
    assert f"kb job close {number} goes on with it" in shown
    going_on = (
        ("Go on", ""),
        ("Cause [", ""),
        ("Last fix [", ""),
        ("cure it?", ""),
        ("proved", ""),
    )
    go(small_store, "job", "close", keys=(*going_on, ("Store it?", "y")))
    job = show_job(small_store, number).job
    assert job.is_case
    assert job.cause is not None
    assert job.cause.key in {case.cause.key for case in CASES if case.cause}
    assert job.attempts[-1].cured is None  # nobody said so


def test_work_goes_on_where_it_was_left(small_store: str) -> None:
    go(small_store, "job", "open", keys=OPENING)
    number = str(max(case.number or 0 for case in CASES) + 1)
    keys: Keys = (("q: leave", "t"), ("What was found", "cleaned seat plug, no change"))
    go(small_store, "job", "work", keys=(*keys, ("Store it?", CTRL_C)), code=1)
    keys = (("Go on", ""), ("What was found", ""), ("Store it?", "y"), ("q: leave", "q"))
    go(small_store, "job", "work", number, keys=keys)
    assert show_job(small_store, int(number)).job.attempts[0].cured is False


def test_prompts_fit_the_terminal(small_store: str) -> None:
    go(small_store, "job", "open", keys=OPENING)
    shown = go(small_store, "job", "close", keys=(("Cause (", CTRL_C),), code=1)
    asked = [line for line in shown.splitlines() if "%" not in line or "━" not in line]
    assert max(len(line.split("^C")[0]) for line in asked) <= COLUMNS


def test_a_script_must_say_which_job_and_that_it_means_a_closed_one(small_store: str) -> None:
    number = str(CASES[0].number)
    assert run(small_store, "job", "add", "battery 9.1 V").exit_code == 2
    refused = run(small_store, "job", "edit", number, "--set", "notes=x")
    assert refused.exit_code == 1
    assert "say --yes" in " ".join(refused.output.split())
    ok(run(small_store, "job", "edit", number, "--set", "notes=x", "--yes"))
    ok(run(small_store, "job", "add", "contact", number, "held"))  # what one writes to closed jobs
    refused = run(small_store, "undo")
    assert refused.exit_code == 1
    assert "--yes" in refused.output
    done = json.loads(ok(run(small_store, "undo", "--yes", "--json")))
    assert done["jobs"] == [CASES[0].number]
    listed = json.loads(ok(run(small_store, "undo", "--list", "--json")))
    assert listed["entries"][1]["undone_by"] == done["by"]
    assert run(small_store, "job", "close", number, "1").exit_code == 1


def test_a_value_is_not_taken_for_a_job(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "no crank"))
    refused = run(empty_store, "job", "add", "1", "V", "at", "the", "lamp")
    assert refused.exit_code == 2
    assert "a value, or 1 a job?" in refused.output


def test_the_steps_are_seen_before_anything_is_asked_and_any_question_can_be_left(
    small_store: str,
) -> None:
    ok(run(small_store, "job", "open", AIRBAG_LAMP, "--vehicle", "corvane lido 2016"))
    keys: Keys = (
        ("q: leave", "1"),
        ("What was seen", "m"),
        ("any key", ""),
        ("any key", ""),
        ("What was seen", "Q"),
    )
    shown = go(small_store, "job", "work", "7", keys=keys)
    first = shown[: shown.index("1-3: that was done")].splitlines()
    page = first[next(place for place, line in enumerate(first) if "CAUTION" in line) :]
    assert len(page) <= ROWS
    for words in ("CAUTION", "%  seat connector", "Next, the best first", "1  ", "2  ", "3  "):
        assert any(words in line for line in page)
    asked = shown[shown.index("What was seen") :]
    assert "Until now" in asked  # what did not fit
    assert asked.index("CAUTION") < asked.rindex("What was seen")
    assert "Taken up again with: kb job work 7" in asked
    assert show_job(small_store, 7).job.tests == ()


def test_undo_means_what_was_stored_last_whatever_job_is_in_hand(small_store: str) -> None:
    for car in ("bramwick dray 2014", "corvane lido 2016"):
        ok(run(small_store, "job", "open", "no crank", "--vehicle", car))
    for job in ("7", "8"):
        ok(run(small_store, "job", "add", job, "battery 12.1 V"))
    ok(run(small_store, "job", "use", "7"))
    shown = go(small_store, "undo", keys=(("Take it back?", ""),))
    assert "it is not on job 7, which is in hand" in shown
    assert "Nothing was changed" in shown
    go(small_store, "undo", keys=(("Take it back?", "y"),))
    assert not show_job(small_store, 8).job.readings
    assert show_job(small_store, 7).job.readings
    go(small_store, "undo", keys=(("Take it back?", "y"),))  # the reading of job 7, before it
    assert not show_job(small_store, 7).job.readings


def test_a_cause_told_with_the_command_is_asked_its_fix_and_cure(small_store: str) -> None:
    ok(run(small_store, "job", "open", "no crank", "--vehicle", "bramwick dray 2014"))
    told = ("job", "close", "7", "glow relay, stuck")
    go(small_store, *told, keys=(("Last fix", "replaced glow relay"), ("cure it?", CTRL_C)), code=1)
    keys: Keys = (("Go on", ""), ("Last fix [replaced glow relay]", ""), ("cure it?", "y"))
    go(small_store, *told, keys=(*keys, ("Store it?", "y")))
    job = show_job(small_store, 7).job
    assert job.cause is not None
    assert (job.cause.component, job.attempts[-1].cured) == ("glow relay", True)


def test_a_refused_answer_takes_the_place_of_no_kept_one(small_store: str) -> None:
    go(small_store, "job", "open", keys=left_at(1), code=1)
    kept = "Complaint [airbag lamp on"
    car = CASES[0].vehicle.label
    keys: Keys = (("Go on", ""), (kept, car), (kept, CTRL_C))
    go(small_store, "job", "open", keys=keys, code=1)
    go(small_store, "job", "open", keys=(("Go on", ""), (kept, ""), ("Key tag", CTRL_C)), code=1)


def test_a_distance_typed_as_key_tag_is_asked_about(empty_store: str) -> None:
    keys: Keys = (OPENING[0], ("Key tag", "8o000"), ("Is it the key tag?", ""), *OPENING[1:])
    go(empty_store, "job", "open", keys=keys)
    assert show_job(empty_store, 1).job.vehicle.ref == "K900"


def test_what_is_neither_yes_nor_no_is_taken_as_no_answer(small_store: str) -> None:
    go(small_store, "job", "close", keys=(("Job number", "999"), ("Job number", CTRL_C)), code=1)
    shown = go(small_store, "job", "close", keys=(("Job number", CTRL_C),), code=1)
    assert "Not stored yet" not in shown  # a number that is no job's is nothing to go on with
    go(small_store, "job", "open", keys=left_at(1), code=1)
    keys: Keys = (("Go on", "clock spring, open"), ("neither y nor n", "y"), ("Complaint [air", ""))
    go(small_store, "job", "open", keys=(*keys, ("Key tag", CTRL_C)), code=1)


def test_a_suspect_left_with_ctrl_c_is_taken_up_by_the_shops_own_name(empty_store: str) -> None:
    for _ in range(2):
        ok(run(empty_store, "job", "open", "no crank", "--vehicle", "bramwick dray 2014"))
    pillar = ("--component", "door harness", "--location", "A pillar", "--mode", "open")
    ok(run(empty_store, "job", "close", "1", *pillar, "--fix", "repaired door harness"))
    go(empty_store, "job", "close", "2", keys=(("Cause (", "1"), ("Last fix", CTRL_C)), code=1)
    keys: Keys = (("Go on", ""), ("Cause [door harness, A pillar: open]", ""), ("Last fix", ""))
    keys = (*keys, ("What proved", ""), ("Was the fault ever seen", ""), ("Store it?", "y"))
    go(empty_store, "job", "close", "2", keys=keys)
    assert show_job(empty_store, 2).job.cause == show_job(empty_store, 1).job.cause


def test_a_cause_is_kept_by_ctrl_c_while_it_is_looked_at_and_not_once_it_is_refused(
    small_store: str,
) -> None:
    ok(run(small_store, "job", "open", "no crank", "--vehicle", "bramwick dray 2014"))
    keys: Keys = (("Cause (", "glow relay, high resistence"), ("meant?", CTRL_C))
    assert "is kept" in go(small_store, "job", "close", "7", keys=keys, code=1)
    keys = (("Go on", "n"), ("Cause (", "glow relay"), ("Cause (", CTRL_C))
    assert "is kept" not in go(small_store, "job", "close", "7", keys=keys, code=1)
    shown = go(small_store, "job", "close", "7", keys=(("Cause (", CTRL_C),), code=1)
    assert "Not stored yet" not in shown


def test_the_shops_name_is_offered_before_a_spelling_and_enter_makes_no_new_cause(
    small_store: str,
) -> None:
    ok(run(small_store, "job", "open", "airbag lamp on", "--vehicle", "bramwick dray 2014"))
    told = ("job", "close", "7", "seat conector under seat, high resistence")
    shown = ok(type_at(small_store, *told, keys="\n1\ncleaned seat connector\ny\ny\n"))
    assert "meant?" not in shown
    assert shown.count("Its number") == 2  # Enter alone is no answer
    cause = show_job(small_store, 7).job.cause
    assert cause is not None
    assert cause.label == "seat connector, under seat: high resistance"


def test_a_blank_before_enter_is_enter(small_store: str) -> None:
    ok(run(small_store, "job", "open", "no crank", "--vehicle", "bramwick dray 2014"))
    go(small_store, "job", "add", "7", "battery 12.1 V", keys=(("Store it?", CTRL_C),), code=1)
    keys: Keys = (("Go on", " "), ("What to add [battery 12.1 V]", " "), ("Store it?", " "))
    go(small_store, "job", "add", "7", keys=keys)
    assert show_job(small_store, 7).job.readings[0].typed == "12.1 V"


@pytest.mark.parametrize(
    "line", ["-0,3 V drop on earth", "-.3 V drop on earth", "- 0.3 V on earth"]
)
def test_a_line_may_begin_with_a_minus(small_store: str, line: str) -> None:
    ok(run(small_store, "job", "open", "no crank", "--vehicle", "bramwick dray 2014"))
    ok(run(small_store, "job", "add", "7", line, "--yes"))
    assert show_job(small_store, 7).job.entries[-1].text == line
    refused = run(small_store, "job", "add", "7", "-earth side 0.3 V")
    assert refused.exit_code == 2
    assert 'put "--" before it' in refused.output
    ok(run(small_store, "job", "add", "7", "--", "-earth side 0.3 V"))
    empty = run(small_store, "job", "add", "7", "")
    assert "What to add: nothing was given" in empty.output


def test_words_that_tell_nothing_are_stored_only_on_a_yes(small_store: str) -> None:
    ok(run(small_store, "job", "open", "no crank", "--vehicle", "bramwick dray 2014"))
    line = ("job", "add", "7", "looked at it with the boss")
    assert "Nothing was stored" in ok(type_at(small_store, *line, keys="\n"))
    ok(type_at(small_store, *line, keys="y\n"))
    assert show_job(small_store, 7).job.entries[-1].text == line[-1]


def test_what_was_typed_is_kept_where_the_terminal_is_closed(empty_store: str) -> None:
    with Terminal("job", "open", store=empty_store) as screen:
        screen.expect("Complaint")
        screen.answer("no crank, clicks once")
        screen.expect("Key tag")
        screen.close()
    go(empty_store, "job", "open", keys=(("Go on", ""), ("Complaint [no crank", CTRL_C)), code=1)


@pytest.mark.parametrize(
    ("words", "again"),
    [
        (("job", "open", "no crank, clicks once"), "Complaint [no crank"),
        (("job", "add", "6", "battery 12.1 V"), "What to add [battery 12.1 V]"),
    ],
)
def test_what_was_typed_is_kept_where_the_screen_is_gone_before_it_is_shown(
    small_store: str, words: tuple[str, ...], again: str
) -> None:
    keys, keyboard = pty.openpty()
    eyes, screen = pty.openpty()
    os.close(eyes)  # from here on the system refuses what is printed: EIO, termios(3)
    called = [sys.executable, "-c", "from kb.cli.main import run; run()"]
    called += ["--store", small_store, "--who", "BT"]
    try:
        code = subprocess.call(
            [*called, *words], stdin=keyboard, stdout=screen, stderr=screen, timeout=120
        )
    finally:
        for each in (keys, keyboard, screen):
            os.close(each)
    assert code != 0
    kept = words[:2] if words[1] == "open" else words[:3]
    go(small_store, *kept, keys=(("Go on", ""), (again, CTRL_C)), code=1)


def test_left_with_nothing_typed_says_that_nothing_was_stored(empty_store: str) -> None:
    shown = go(empty_store, "job", "open", keys=(("Complaint", CTRL_C),), code=1)
    assert "Nothing was stored." in shown


def test_ctrl_c_at_the_question_to_go_on_tells_that_all_is_still_kept(small_store: str) -> None:
    go(small_store, "job", "open", keys=left_at(1), code=1)
    shown = go(small_store, "job", "open", keys=(("Go on", CTRL_C),), code=1)
    assert "What you typed before is still kept: kb job open goes on with it." in shown
    go(small_store, "job", "open", keys=(("Go on", ""), ("Complaint [air", CTRL_C)), code=1)
