"""`kb fixes` and `kb job follow-up` at the terminal and in scripts; never a traceback."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb
from kb.services.lookup import show_job
from tests.cli.test_job import ok, run, type_at
from tests.services.test_follow_up import job, put

CLOSED = date.today() - timedelta(days=60)


def ask(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "fixes", *words])


def test_a_page_of_fixes_has_counts_rates_and_curves(demo_store: str) -> None:
    output = ok(ask(demo_store, "seat", "connector", "high"))
    assert output.startswith("CAUTION")
    for told in ("cured 9 of 9", "first is better", "watched", "median where it held"):
        assert told in output
    assert max(map(len, output.splitlines())) <= 80
    assert "jobs: #" in ok(ask(demo_store, "seat", "connector", "high", "--detail"))


def test_a_curve_is_drawn_where_cars_came_back(demo_store: str) -> None:
    output = ok(ask(demo_store, "ignition", "coil"))
    assert "1 came back" in output
    assert "100% ┤" in output


def test_a_flat_curve_is_one_line(demo_store: str) -> None:
    output = " ".join(ok(ask(demo_store, "clock", "spring")).split())
    assert "no cured car seen to fail; watched: 3 cars 90 days, 1 car 1 year" in output
    assert "100% ┤" not in output


def test_json_and_page_are_whole(demo_store: str, tmp_path: Path) -> None:
    told = json.loads(ok(ask(demo_store, "clock spring", "--json", "--km")))
    assert (told["clock"], told["horizons"]) == ("km", [4000, 15000])
    assert {"rate", "curve", "first_better", "with_silence"} <= set(told["fixes"][0])
    page = tmp_path / "fixes.html"
    assert str(page) in ok(ask(demo_store, "clock", "spring", "--page", str(page))).replace(
        "\n", ""
    )
    assert "<svg" in page.read_text(encoding="utf-8")


def test_a_page_that_cannot_be_written_is_an_error_with_a_cure(
    demo_store: str, tmp_path: Path
) -> None:
    result = ask(demo_store, "clock", "spring", "--page", str(tmp_path / "none" / "page.html"))
    assert result.exit_code == 1
    assert "choose another place" in result.output


def test_silence_is_off_unless_the_shop_sets_it(
    demo_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "silence" not in ok(ask(demo_store, "clock", "spring"))
    monkeypatch.setenv("KB_SILENCE_DAYS", "180")
    assert "with silence counted as held" in ok(ask(demo_store, "clock", "spring"))


def test_what_is_not_known_is_one_line(demo_store: str, empty_store: str) -> None:
    for result in (ask(demo_store, "flux"), ask(empty_store, "plug"), ask(demo_store, "-j", "1")):
        assert result.exit_code == 1
        assert result.output.startswith("Error: ")
    assert ask(demo_store).exit_code == 2


@settings(max_examples=15)
@given(st.text(max_size=30))
def test_any_words_are_answered_without_a_traceback(demo_store: str, text: str) -> None:
    result = ask(demo_store, "--", text)
    assert result.exception is None or isinstance(result.exception, SystemExit)


@pytest.fixture
def due_store(empty_store: str) -> str:
    """Three cars nobody has heard of for 60 days."""
    put(empty_store, *(job(f"K{n}", CLOSED, 80_000) for n in (1, 2, 3)))
    return empty_store


def contacts(address: str) -> list[list[str]]:
    return [
        [heard.outcome.value for heard in show_job(address, number).job.contacts]
        for number in (1, 2, 3)
    ]


def test_one_key_answers_a_car(due_store: str) -> None:
    output = ok(type_at(due_store, "job", "follow-up", keys="xhnc"))
    assert contacts(due_store) == [["held"], [], ["comeback"]]
    assert "2 recorded" in output
    assert "3 cars to ask after" in output


def test_stopping_keeps_what_was_answered(due_store: str) -> None:
    ok(type_at(due_store, "job", "follow-up", keys="oq"))
    assert contacts(due_store) == [["other reason"], [], []]


def test_a_visit_is_asked_about_and_cannot_be_waved_through_as_held(due_store: str) -> None:
    put(due_store, job("K1", CLOSED + timedelta(days=10), 81_000, component="lock motor"))
    output = ok(type_at(due_store, "job", "follow-up", "-n", "1", keys="hc"))
    assert "came again" in output
    (heard,) = show_job(due_store, 1).job.contacts
    assert (heard.outcome.value, heard.job) == ("comeback", 4)


def test_scripts_list_and_answer(due_store: str) -> None:
    told = json.loads(ok(run(due_store, "job", "follow-up", "--json")))
    assert (told["total"], len(told["cars"])) == (3, 3)
    assert "3 cars to ask after" in ok(run(due_store, "job", "follow-up"))
    ok(run(due_store, "job", "follow-up", "2", "held", "--km", "81 000"))
    assert contacts(due_store) == [[], ["held"], []]
    late = run(due_store, "job", "follow-up", "2", "held", "--on", "2020-01-01")
    assert late.exit_code == 1
    assert "before the handover" in late.output
    back = run(due_store, "job", "follow-up", "2", "held", "--km", "900")
    assert "leave it out" in back.output
    for words in (["2"], ["--km", "9"]):
        assert run(due_store, "job", "follow-up", *words).exit_code == 2
    assert "Not told whether the fix held" in ok(run(due_store, "job", "follow-up", "2", "purple"))
    assert contacts(due_store) == [[], ["held", "not told"], []]


def test_nobody_due_is_said(empty_store: str) -> None:
    assert "Nobody is due" in ok(run(empty_store, "job", "follow-up"))
