"""`kb fixes` at the terminal and in scripts; never a traceback."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb
from tests.cli.test_job import ok


def ask(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "fixes", *words])


def test_a_page_of_fixes_has_counts_rates_and_curves(demo_store: str) -> None:
    output = ok(ask(demo_store, "seat", "connector", "high"))
    assert output.startswith("CAUTION")
    for told in ("cured 11 of 11", "first is better", "watched", "median where it held"):
        assert told in output
    assert max(map(len, output.splitlines())) <= 80
    assert "jobs: #" in ok(ask(demo_store, "seat", "connector", "high", "--detail"))


def test_a_curve_is_drawn_where_cars_came_back(demo_store: str) -> None:
    output = ok(ask(demo_store, "ignition", "coil", "internal"))
    assert "1 came back" in output
    assert "100% ┤" in output


def test_a_flat_curve_is_one_line(demo_store: str) -> None:
    output = " ".join(ok(ask(demo_store, "clock", "spring")).split())
    assert "no car seen to fail after handover; watched: 3 cars 90 days, 1 car 1 year" in output
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
    assert "make it first" in result.output


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
