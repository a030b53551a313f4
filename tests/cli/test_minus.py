"""What begins with a minus is a value or a line, and comes back byte for byte."""

import re
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from kb.cli.main import kb
from kb.cli.minus import words_last
from kb.services.lookup import show_job
from tests.cli.test_job import ok

LINES = (
    "-0,3 V drop on earth",
    " -0.3 V drop on earth",
    "-.3 V drop",
    "- 0.3 V on earth",
    "-",
    "--",
)
OPTIONS = {"--yes": True, "--method": False}


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "--who", "BT", *words])


@pytest.mark.parametrize("told", ["-5 °C outside", "- warm", " -5 °C", "-5", "--", "-x"])
def test_a_value_of_an_option_is_kept_as_it_was_typed(
    empty_store: str, tmp_path: Path, told: str
) -> None:
    ok(run(empty_store, "job", "open", "no crank", "--conditions", told))
    ok(run(empty_store, "job", "add", "reading", "1", "battery 12.1 V", "--method", told))
    ok(run(empty_store, "job", "edit", "1", "--set", f"notes={told}", "--yes"))
    job = show_job(empty_store, 1).job
    assert (job.conditions, job.readings[0].method, job.notes) == (told, told, told.strip())
    for form in ("jobs.jsonl", "jobs.csv"):
        first, again = tmp_path / form, tmp_path / f"again-{form}"
        ok(run(empty_store, "export", str(first)))
        other = str(tmp_path / f"{form}.sqlite")
        ok(run(other, "init"))
        ok(run(other, "import", str(first)))
        ok(run(other, "export", str(again)))
        assert again.read_bytes() == first.read_bytes()


@pytest.mark.parametrize("told", LINES[:4])
def test_a_line_is_kept_as_it_was_typed(small_store: str, told: str) -> None:
    ok(run(small_store, "job", "add", "6", told, "--yes"))
    ok(run(small_store, "job", "add", "line", "6", "--yes", told))
    assert [entry.text for entry in show_job(small_store, 6).job.entries] == [told, told]


def test_a_file_may_be_named_with_a_minus(
    empty_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    ok(run(empty_store, "export", "-5.jsonl"))
    ok(run(empty_store, "job", "list", "--limit", "5"))
    assert [each.name for each in tmp_path.glob("*.jsonl")] == ["-5.jsonl"]
    assert run(empty_store, "import", "-5.jsonl").exit_code == 0


@given(
    st.lists(
        st.sampled_from([*OPTIONS, "--method=x", "-y", "-m", "-ym", "-m5", *LINES, "12", "word"])
        | st.text("-5x ", max_size=4)
    )
)
def test_arguments_are_what_they_are_where_nothing_begins_with_a_minus(args: list[str]) -> None:
    options = [
        click.Option([name, f"-{name[2]}"], is_flag=flag or None) for name, flag in OPTIONS.items()
    ]
    command = click.Command("add", params=[*options, click.Argument(["words"], nargs=-1)])
    hidden = [re.sub(r"\A-(?![A-Za-z-]|\Z)", "\1", each) for each in args]
    told = parsed(command, hidden)
    expected = told and {name: shown(value) for name, value in told.items()}
    assert parsed(command, words_last(command, args)) == expected


def parsed(command: click.Command, args: list[str]) -> dict[str, Any] | None:
    """What click makes of arguments; None where it refuses them."""
    try:
        return command.make_context("add", [*args]).params
    except click.UsageError:
        return None


def shown(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(map(shown, value))
    return value.replace("\1", "-") if isinstance(value, str) else value
