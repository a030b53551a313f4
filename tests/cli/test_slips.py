"""The wrong car, a stray Enter, a number that is not there: at a terminal and in scripts."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.case import Stage
from kb.cli.main import kb
from kb.services.lookup import show_job
from kb.services.mending import last_entries
from tests.cli.test_job import ok, run, type_at
from tests.cli.test_mending import go

OSTRA = ("--ref", "K031", "--vehicle", "halbrecht ostra 2011")


def record(store: str, *words: str) -> str:
    result = run(store, *words)
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture
def ostra(empty_store: str) -> str:
    record(empty_store, "job", "open", "no crank", *OSTRA)
    record(empty_store, "job", "open", "runs hot", "--vehicle", "bramwick dray 2014")
    return empty_store


def test_a_car_that_does_not_fit_its_tag_is_stored_by_nobody_unasked(ostra: str) -> None:
    words = ("job", "open", "pulls left", "--ref", "K031", "--vehicle", "sunato kiri 2018")
    refused = run(ostra, *words)
    assert refused.exit_code == 1
    for told in ("k031", "halbrecht ostra 2011", "sunato kiri 2018", "--yes"):
        assert told in " ".join(refused.output.casefold().split()), refused.output
    assert "Nothing was stored" in go(ostra, *words, keys=(("Is that the car?", ""),))
    assert len(last_entries(ostra).entries) == 2
    record(ostra, *words, "--yes")


@pytest.mark.parametrize(
    "words", [("no crank", "--ref", "K99", "--vehicle", "K031"), ("K031 no crank", "--ref", "K99")]
)
def test_two_tags_are_two_cars(ostra: str, words: tuple[str, ...]) -> None:
    refused = run(ostra, "job", "open", *words)
    assert refused.exit_code == 1
    assert "K031 is a halbrecht ostra 2011, and not “K99”" in " ".join(refused.output.split())


@pytest.mark.parametrize("car", ["halbrecht ostra", "halbrect ostra 11", ""])
def test_a_car_that_fits_its_tag_is_not_asked_about(ostra: str, car: str) -> None:
    record(ostra, "job", "open", "pulls left", "--ref", "K031", "--vehicle", car)
    assert show_job(ostra, 3).job.vehicle == show_job(ostra, 1).job.vehicle


def test_a_model_unlike_any_on_the_list_is_taken_as_typed(ostra: str) -> None:
    car = "bramwick lido 2016, 84tkm"
    said = record(ostra, "job", "open", "pulls left", "--vehicle", car)
    job = show_job(ostra, 3).job
    assert (job.vehicle.make, job.vehicle.model, job.vehicle.year) == ("bramwick", "lido", 2016)
    assert job.odometer_km == 84_000
    assert "no model on the shop's list" in " ".join(said.split())


def test_the_tag_is_asked_about_and_may_be_told_with_the_car(ostra: str) -> None:
    start = [("Complaint", "12.6"), ("number and nothing else", "abs lamp on")]
    rest = [("Make, model", ""), ("Odometer", ""), ("When", ""), ("Store it?", "")]
    tag = [("Key tag", "abs lite on"), ("no key tag", "k31")]
    asked = "Is K031 meant, the halbrecht ostra 2011?"
    shown = go(ostra, "job", "open", keys=[*start, *tag, (asked, "y"), *rest])
    assert show_job(ostra, 3).job.vehicle.ref == "K031"
    assert shown.index("CAUTION") < shown.index("Key tag")
    again = ("the shop knows none by that tag", "")
    go(ostra, "job", "open", keys=[*start, *tag, (asked, ""), rest[0], again, *rest[1:]])
    assert show_job(ostra, 4).job.vehicle.ref == "k31"
    told = [("Key tag", ""), ("Make, model", "K99"), *rest[1:]]
    go(ostra, "job", "open", keys=[*start, *told])
    assert show_job(ostra, 5).job.vehicle.ref == "K99"


def test_a_car_that_is_not_told_is_asked_for_once_more(ostra: str) -> None:
    start = [("Complaint", "abs lamp on"), ("Key tag", ""), ("Make, model", "")]
    rest = [("No car is told", "halbrecht ostra 2011"), ("Odometer", ""), ("When", "")]
    go(ostra, "job", "open", keys=[*start, *rest, ("Store it?", "")])
    assert show_job(ostra, 3).job.vehicle.model == "ostra"


def test_enter_alone_closes_nothing_and_an_untold_fix_is_asked_about(ostra: str) -> None:
    record(ostra, "job", "add", "1", "replaced starter")
    shown = type_at(ostra, "job", "close", "1", keys="\n\n").output
    assert "Close without a cause? [y/N]" in shown
    assert show_job(ostra, 1).job.closed is None
    shown = ok(type_at(ostra, "job", "close", "1", keys="\ny\n\nn\ny\ny\n"))
    job = show_job(ostra, 1).job
    assert job.closed is not None
    assert job.attempts[-1].cured is False


@pytest.mark.parametrize("command", ["close", "add", "work"])
def test_a_job_that_is_not_there_is_asked_for_again(ostra: str, command: str) -> None:
    record(ostra, "job", "use", "--none")
    shown = type_at(ostra, "--who", "BT", "job", command, keys="99\n1\n").output
    assert "is not there" in shown
    assert shown.index("is not there") < shown.rindex("Job number")
    again = type_at(ostra, "--who", "BT", "job", command, keys="n\n").output
    assert "99" not in again


def test_a_near_failure_mode_is_offered(ostra: str) -> None:
    words = ("job", "close", "1", "battery cable, high resistence")
    refused = run(ostra, *words)
    assert refused.exit_code == 1
    assert "battery cable, high resistance" in refused.output
    ok(type_at(ostra, *words, keys="y\n\ny\n"))
    cause = show_job(ostra, 1).job.cause
    assert cause is not None
    assert cause.label == "battery cable: high resistance"


@pytest.mark.parametrize(
    ("key", "stage"),
    [
        ("a", Stage.AFTER_FIX),
        ("b", Stage.AS_FOUND),
        ("after it", Stage.AFTER_FIX),
        ("vorher", Stage.AS_FOUND),
        ("y\nn o\nyes", Stage.AS_FOUND),  # three in vain: not told
    ],
)
def test_a_reading_told_after_a_fix_is_asked_about(ostra: str, key: str, stage: Stage) -> None:
    record(ostra, "job", "add", "1", "replaced battery, no change")
    shown = ok(type_at(ostra, "job", "add", "1", "battery 12.6 V", keys=f"{key}\ny\n"))
    assert "before or after: replaced battery" in shown
    assert ("--set" in shown) is ("\n" in key)  # how it is told later, where it was not
    assert show_job(ostra, 1).job.readings[-1].stage is stage


def test_other_words_than_yes_and_no_are_asked_about_again(ostra: str) -> None:
    type_at(ostra, "job", "open", keys="airbag lamp on\n")
    shown = type_at(
        ostra, "job", "open", keys="brake pedal soft\nn\nbrake pedal soft\n\n\n\n\n\n\ny\n"
    ).output
    assert "invalid" not in shown
    assert shown.index("CAUTION") < shown.index("Go on with what you had typed?")
    assert show_job(ostra, 3).job.complaint_as_typed == "brake pedal soft"


def test_enter_behind_something_else_is_no_yes(ostra: str) -> None:
    shown = type_at(ostra, "job", "void", "1", keys="told twice\npasted\n\nn\n").output
    assert shown.count("neither y nor n") == 2
    assert show_job(ostra, 1).job.void is None


def test_what_is_taken_out_is_shown_as_on_the_page(ostra: str) -> None:
    record(ostra, "job", "open", "airbag lamp on, RF pretensioner 6.1 ohm")
    page = record(ostra, "job", "show", "3")
    (line,) = [each for each in page.splitlines() if "6.1 ohm" in each and "Readings" in each]
    shown = record(ostra, "job", "remove", "3", line.split()[0], "--yes")
    assert "Readings    pretensioner, right front 6.1 ohm → –" in shown
    listed = json.loads(record(ostra, "job", "list", "--json"))
    sheet = json.loads(record(ostra, "job", "show", "3", "--json"))
    typed = "airbag lamp on, RF pretensioner 6.1 ohm"
    assert listed["complaint_as_typed"]["3"] == sheet["complaint_as_typed"] == typed


def test_cautions_come_before_the_question_about_a_closed_job(ostra: str) -> None:
    record(ostra, "job", "open", "airbag lamp on, RF pretensioner 6.1 ohm")
    record(ostra, "job", "close", "3", "--no-cause")
    shown = type_at(ostra, "--who", "BT", "job", "work", "3", keys="n\n").output
    assert shown.index("CAUTION") < shown.index("Is that the one?")


def test_the_list_of_entries_tells_the_gravest_caution_in_full(ostra: str) -> None:
    for complaint in ("airbag lamp on", "ready lamp off, high voltage warning", "brakes soft"):
        record(ostra, "job", "open", complaint)
    shown = record(ostra, "undo", "--list")
    cautions = record(ostra, "job", "list").partition("\n\n")[0]
    assert cautions.startswith("CAUTION")
    assert shown.startswith(cautions)


def test_behind_one_wrong_key_enter_is_what_it_was(ostra: str) -> None:
    shown = ok(type_at(ostra, "job", "add", "1", "battery 12.6 V", keys="u\n\n"))
    assert shown.count("neither y nor n") == 1
    assert [reading.typed for reading in show_job(ostra, 1).job.readings] == ["12.6 V"]


@pytest.mark.parametrize("ahead", [1, 2, 400])
def test_a_day_to_come_is_refused_at_every_door(small_store: str, ahead: int) -> None:
    day = date.today() + timedelta(days=ahead)
    record(small_store, "job", "reopen", "6", "--yes")
    before = Path(small_store).read_bytes()
    for words in (
        ["open", "no crank", "--opened", str(day)],
        ["close", "6", "seat plug, open", "--closed", str(day)],
        ["add", "1", f"came back {day:%d.%m.%Y}"],
        ["add", "contact", "1", f"held {day}"],
        ["add", "contact", "1", "held", "--on", str(day)],
        ["edit", "1", "--set", f"closed={day}"],
        ["edit", "6", "--set", f"opened={day}"],
        ["follow-up", "1", "held", "--on", str(day)],
    ):
        done = CliRunner().invoke(kb, ["--store", small_store, "job", *words, "--yes"])
        assert (done.exit_code in {1, 2}, "to come" in done.output) == (True, True), done.output
    assert Path(small_store).read_bytes() == before
    today = ["--store", small_store, "job", "open", "no crank", "--opened", str(date.today())]
    assert CliRunner().invoke(kb, [*today, "--yes"]).exit_code == 0
