"""`kb evaluate` at the terminal."""

import json
from pathlib import Path

from click.testing import CliRunner, Result

from kb.cli.main import kb


def evaluate(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "evaluate", *words])


def test_the_tables_fit_the_screen_and_say_what_can_be_told(
    small_demo: None, small_store: str
) -> None:
    assert evaluate(small_store, "--since", "2026-13").exit_code == 2
    result = CliRunner().invoke(kb, ["--demo", "evaluate", "--since", "2025"])
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    for words in ("this program", "logistic regression", "too small to tell", "Calibration error"):
        assert words in result.output


def test_without_baselines_only_the_program_is_told(small_store: str) -> None:
    output = evaluate(small_store, "--least-known", "1", "--no-baselines").output
    assert output.splitlines()[1].startswith("Of complaints with a cause seen before")
    assert "this program" in output
    assert "neighbours" not in output
    assert "read every figure as rough" in output


def test_json_is_json_and_the_page_is_written_beside_it(small_store: str, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    result = evaluate(small_store, "--least-known", "3", "--json", "--page", str(page))
    found = json.loads(result.stdout)
    assert found["whole"]["questions"] == 3
    assert "of 3 were new to the shop" in found["in_short"]
    written = page.read_text(encoding="utf-8")
    assert found["in_short"] in written
    (unsure,) = (each for each in found["notices"] if "cannot be told from 3 questions" in each)
    for told in (unsure, "Whether the chances hold cannot be told from so few"):
        assert told in written
    assert "beyond luck" not in written
    assert {way["name"] for way in found["whole"]["ways"]} >= {"this program", "BM25 neighbours"}
    assert str(page) in result.stderr
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_page_that_cannot_be_written_is_refused_before_anything_is_asked(
    small_store: str, tmp_path: Path
) -> None:
    missing = evaluate(small_store, "--page", str(tmp_path / "nowhere" / "page.html"))
    assert missing.exit_code == 1
    assert "make it first" in missing.output
    folder = evaluate(small_store, "--page", str(tmp_path))
    assert (folder.exit_code, "never written over" in folder.output) == (1, True)


def test_nothing_to_ask_is_no_error(small_store: str, empty_store: str) -> None:
    for address, words in ((small_store, "Lower --least-known"), (empty_store, "no closed job")):
        result = evaluate(address)
        assert result.exit_code == 0
        assert words in " ".join(result.output.split())
    assert json.loads(evaluate(empty_store, "--json").output)["whole"] is None


def test_a_number_that_makes_no_sense_is_refused(small_store: str) -> None:
    assert evaluate(small_store, "--least-known", "0").exit_code == 2
