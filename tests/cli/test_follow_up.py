"""`kb job follow-up` at the terminal and in scripts."""

import json
from dataclasses import replace
from datetime import date, timedelta

import pytest

from kb.case import Action, Attempt, Contact, Vehicle
from kb.services.lookup import show_job
from tests.cli.terminal import Terminal
from tests.cli.test_job import ok, run, type_at
from tests.services.test_follow_up import job, put

TODAY = date.today()
CLOSED = TODAY - timedelta(days=60)
BACK = CLOSED + timedelta(days=10)


@pytest.fixture
def due_store(empty_store: str) -> str:
    """Three cars nobody has heard of for 60 days."""
    put(empty_store, *(job(f"K{n}", CLOSED, 80_000) for n in (1, 2, 3)))
    return empty_store


@pytest.fixture
def back_store(due_store: str) -> str:
    """The same; the first came back after ten days, and left with another diagnosis."""
    put(due_store, job("K1", BACK, 81_000, component="lock motor"))
    return due_store


def heard(address: str, number: int) -> tuple[Contact, ...]:
    return show_job(address, number).job.contacts


def contacts(address: str) -> list[list[str]]:
    return [[each.outcome.value for each in heard(address, number)] for number in (1, 2, 3)]


def test_an_answer_takes_a_key_its_day_and_its_job(due_store: str) -> None:
    keys = f"xh\n\nnc{BACK}\n\ny\n"  # held today; nobody reached; came back, with no job yet
    output = ok(type_at(due_store, "job", "follow-up", keys=keys))
    assert contacts(due_store) == [["held"], ["not told"], ["comeback"]]
    assert "3 fixes to ask after on 3 cars" in output
    assert f"For job 1, K1 Corvane Lido: {TODAY} held" in output
    assert f"For job 3, K3 Corvane Lido: {BACK} comeback" in output
    assert "3 recorded" in output
    assert max(map(len, output.splitlines())) <= 80


def test_nobody_reached_is_kept_and_rests(due_store: str) -> None:
    ok(type_at(due_store, "job", "follow-up", keys="nq"))
    (tried,) = heard(due_store, 1)
    assert (tried.outcome, tried.on, tried.words) == ("not told", TODAY, "not reached")
    output = " ".join(ok(run(due_store, "job", "follow-up")).split())
    assert "2 fixes to ask after on 2 cars" in output
    assert "1 more fix rests: asked after within 30 days" in output


def test_what_is_not_confirmed_is_not_stored(due_store: str) -> None:
    output = ok(type_at(due_store, "job", "follow-up", keys="h\nn\n\nq"))
    assert contacts(due_store) == [[], [], []]
    assert "0 recorded" in output


def test_stopping_keeps_what_was_answered(due_store: str) -> None:
    ok(type_at(due_store, "job", "follow-up", keys="o\n\n\nq"))
    assert contacts(due_store) == [["other reason"], [], []]


def test_ctrl_c_keeps_what_was_answered_and_stores_nothing_half(due_store: str) -> None:
    with Terminal("job", "follow-up", store=due_store) as screen:
        screen.expect("[q]uit")
        screen.press("h")
        screen.expect("Day")
        screen.answer("")
        screen.expect("Store it?")
        screen.answer("y")
        screen.expect("[q]uit")
        screen.press("h")
        screen.expect("Day")
        screen.answer("")
        screen.expect("Store it?")
        screen.press_ctrl_c()
    assert screen.code == 0
    assert "Nothing was stored of this car." in screen.shown
    assert "1 recorded" in screen.shown
    assert contacts(due_store) == [["held"], [], []]


@pytest.mark.parametrize("key", ["ctrl-c", "ctrl-d"])
def test_stopping_at_the_key_question_says_what_was_recorded(due_store: str, key: str) -> None:
    with Terminal("job", "follow-up", store=due_store) as screen:
        screen.expect("[q]uit")
        screen.press("o")
        screen.expect("Day")
        screen.answer("")
        screen.expect("Its own job")
        screen.answer("")
        screen.expect("Store it?")
        screen.answer("y")
        screen.expect("[q]uit")
        screen.press_ctrl_c() if key == "ctrl-c" else screen.press("\x04")
    assert screen.code == 0
    assert "1 recorded" in screen.shown
    assert "Aborted" not in screen.shown


def test_a_wrong_day_is_told_and_asked_again_at_once(due_store: str) -> None:
    early = str(CLOSED - timedelta(days=1))
    output = ok(type_at(due_store, "job", "follow-up", keys=f"hsoon\n{early}\n{TODAY}\n\nq"))
    assert "is none; write it as 2026-03-02" in output
    assert "lies before the handover" in " ".join(output.split())
    assert contacts(due_store) == [["held"], [], []]


def test_a_return_shows_both_complaints_and_is_judged_by_one_key(back_store: str) -> None:
    output = ok(type_at(back_store, "job", "follow-up", keys="hs\n\n\nq"))
    assert f"{CLOSED} as #1: “door lock dead”" in output
    assert f"{BACK} as #4: “door lock dead”" in output
    assert "[s]ame fault, [a]nother fault, [n]ot known" in output
    (back,) = heard(back_store, 1)
    assert (back.outcome, back.on, back.job, back.odometer_km) == ("comeback", BACK, 4, 81_000)


def test_another_fault_and_not_known_are_answers_too(back_store: str) -> None:
    put(back_store, job("K2", BACK, 81_000, component="lock motor"))
    ok(type_at(back_store, "job", "follow-up", keys="a\n\n\nnq"))
    (other,), (unknown,) = heard(back_store, 1), heard(back_store, 2)
    assert (other.outcome, other.on, other.job) == ("other reason", BACK, 4)
    assert (unknown.outcome, unknown.on, unknown.job) == ("not told", TODAY, 5)
    assert unknown.words == "not known"


def test_scripts_list_and_answer(due_store: str) -> None:
    told = json.loads(ok(run(due_store, "job", "follow-up", "--json")))
    assert (told["total"], len(told["cars"]), told["returns"], told["rested"]) == (3, 3, 0, 0)
    assert told["unheard"] == {"cars": 3, "of_cars": 3, "resting": 1, "fixes": 1}
    assert {"width", "cases", "weighed", "risk", "visit"} <= set(told["cars"][0])
    listing = ok(run(due_store, "job", "follow-up"))
    assert "3 fixes to ask after on 3 cars" in listing
    assert "Never heard of: 3 of the 3 cars that left cured (100%)" in " ".join(listing.split())
    ok(run(due_store, "job", "follow-up", "2", "held", "--km", "81 000"))
    assert contacts(due_store) == [[], ["held"], []]
    late = run(due_store, "job", "follow-up", "2", "held", "--on", "2020-01-01")
    assert late.exit_code == 1
    assert "before the handover" in late.output
    back = run(due_store, "job", "follow-up", "2", "held", "--km", "900")
    assert "leave it out" in back.output
    for words in (["2"], ["--km", "9"], ["2", "same", "fault"]):
        assert run(due_store, "job", "follow-up", *words).exit_code == 2
    assert "Not told whether the fix held" in ok(run(due_store, "job", "follow-up", "2", "purple"))
    ok(run(due_store, "job", "follow-up", "3", "not", "reached"))
    assert contacts(due_store) == [[], ["held", "not told"], ["not told"]]


def test_a_comeback_of_an_unwritten_cure_is_seen_on_every_page(empty_store: str) -> None:
    """Handed over with nobody writing down whether it cured; told to be back two weeks later."""
    unwritten = (Attempt(action=Action.CLEANED, component="door plug"),)
    put(
        empty_store,
        *(replace(job(f"K{n}", CLOSED, 80_000), attempts=unwritten) for n in (1, 2, 3)),
    )
    listed = " ".join(ok(run(empty_store, "job", "follow-up")).split())
    assert "3 fixes to ask after on 3 cars" in listed
    assert listed.count("days ago; not told whether it cured") == 3
    back = str(CLOSED + timedelta(days=14))
    ok(run(empty_store, "job", "follow-up", "1", "comeback", "--on", back))
    ok(run(empty_store, "job", "follow-up", "2", "held", "--on", str(CLOSED + timedelta(days=30))))
    due = json.loads(ok(run(empty_store, "job", "follow-up", "--json")))
    assert {each["job"]: (each["good_until"], each["untold"]) for each in due["cars"]} == {
        2: (30, False),
        3: (0, True),
    }
    fixes = ok(run(empty_store, "fixes", "--job", "1"))
    said = "cured 2 of 2, 1 came back, at 14 days, 1 good when last told, 1 not told"
    for page in (fixes, ok(run(empty_store, "causes", "door lock dead"))):
        assert said in " ".join(page.split())
    assert "2 told by what was heard since, not at the handover" in " ".join(fixes.split())
    rate = json.loads(ok(run(empty_store, "fixes", "--job", "1", "--json")))
    own = rate["fixes"][0]["rate"]
    assert (own["tried"], own["told_later"], own["untold"], own["came_back"]) == (2, 2, 1, [14])
    lost = json.loads(ok(run(empty_store, "comebacks", "--json")))["whole"]
    assert (lost["cured"], lost["came_back"]) == (2, 1)


def test_jobs_likely_of_one_car_without_a_tag_are_one_call(empty_store: str) -> None:
    none = Vehicle(make="Corvane", model="Lido", year=2018)
    visits = [
        replace(job("K9", CLOSED + timedelta(days=n), 80_000 + 100 * n), vehicle=none)
        for n in range(4)
    ]
    put(empty_store, *visits)
    page = " ".join(ok(run(empty_store, "job", "follow-up")).split())
    assert "1 fix to ask after on 1 car" in page
    assert "no key tag: likely, but not surely, the car of #" in page
    assert "3 more fixes wait: without a key tag, by model, year and odometer" in page
    first = json.loads(ok(run(empty_store, "job", "follow-up", "--json")))["cars"][0]["job"]
    ok(run(empty_store, "job", "follow-up", str(first), "not", "reached"))
    assert "4 more fixes rest" in ok(run(empty_store, "job", "follow-up"))


def test_a_comeback_heard_of_late_gives_no_credit_for_holding(due_store: str) -> None:
    output = ok(type_at(due_store, "job", "follow-up", keys="c\n\ny\nq"))
    assert "Day it came back (Enter: not known)" in output
    ok(run(due_store, "job", "follow-up", "2", "came back after a week", "--on", str(TODAY)))
    ok(run(due_store, "job", "follow-up", "3", "never held"))
    days = [heard(due_store, number)[0].on for number in (1, 2, 3)]
    assert days == [CLOSED, CLOSED + timedelta(days=7), CLOSED]


def test_a_script_judges_a_return(back_store: str) -> None:
    ok(run(back_store, "job", "follow-up", "1", "same", "fault", "--job", "4"))
    (back,) = heard(back_store, 1)
    assert (back.outcome, back.on, back.job) == ("comeback", BACK, 4)


def test_nobody_due_is_said(empty_store: str) -> None:
    assert "Nobody is due" in ok(run(empty_store, "job", "follow-up"))


def test_four_cars_back_with_the_same_words_come_before_all_others(empty_store: str) -> None:
    refs = [f"K{n}" for n in range(1, 5)]
    put(empty_store, *(job(ref, CLOSED, 80_000) for ref in refs))
    put(empty_store, *(job(ref, BACK, 81_000, component="lock motor") for ref in refs))
    told = json.loads(ok(run(empty_store, "job", "follow-up", "-n", "1", "--json")))
    assert (told["total"], told["returns"]) == (8, 4)
    *back, other = told["cars"]
    assert other["visit"] is None  # the one that was asked for besides
    pairs = [(each["job"], each["visit"]["job"], each["visit"]["on"]) for each in back]
    assert pairs == [(n, n + 4, str(BACK)) for n in range(1, 5)]
    page = " ".join(ok(run(empty_store, "job", "follow-up")).split())
    assert (
        "after 4 fixes the car was back with something alike or for the same system, and nobody has"
        in page
    )


def test_a_wrong_job_is_asked_again_with_nothing_lost(back_store: str) -> None:
    output = ok(type_at(back_store, "job", "follow-up", keys="s\n99\n2\n4\n\nq"))
    assert "there is no job 99" in output
    assert "2 is of another car" in output
    (back,) = heard(back_store, 1)
    assert (back.outcome, back.job) == ("comeback", 4)


def test_an_unknown_key_is_said_and_its_enter_leaves_no_car_for_later(due_store: str) -> None:
    output = ok(type_at(due_store, "job", "follow-up", keys="x\nh\n\nq"))
    assert "x is none of these" in output
    assert contacts(due_store) == [["held"], [], []]
    ok(type_at(due_store, "job", "follow-up", keys="x\n\nh\n\nq"))  # the next Enter is one
    assert contacts(due_store) == [["held"], [], ["held"]]


def test_a_void_job_is_not_followed_up(due_store: str) -> None:
    ok(run(due_store, "job", "void", "2", "--why", "typed twice", "--yes"))
    told = run(due_store, "job", "follow-up", "2", "held", "--yes")
    assert told.exit_code == 1
    assert "bring it back first" in " ".join(told.output.split())


def test_another_reason_judges_the_one_return(empty_store: str) -> None:
    back = CLOSED + timedelta(days=9)
    put(empty_store, job("K1", CLOSED), job("K1", back, component="loom"))
    ok(run(empty_store, "job", "follow-up", "1", "other", "reason", "-y"))
    (told,) = heard(empty_store, 1)
    assert (told.outcome, told.on, told.job) == ("other reason", back, 2)


def test_what_is_not_told_of_a_visit_names_the_visits_there_are(back_store: str) -> None:
    put(back_store, job("K1", BACK + timedelta(days=5), 82_000, component="loom"))
    asked = run(back_store, "job", "follow-up", "1", "same", "fault")
    assert asked.exit_code != 0
    assert "--job 4 (or 5)" in asked.output
    none = run(back_store, "job", "follow-up", "2", "same", "fault")
    assert "No later job of this car" in none.output
