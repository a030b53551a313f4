"""`kb report` at the terminal."""

import json
from pathlib import Path

from click.testing import CliRunner, Result

from kb.cli.main import kb


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "report", *words])


def test_a_page_is_written_and_none_is_written_over(tmp_path: Path, small_store: str) -> None:
    path = tmp_path / "friday.html"
    assert run(small_store, str(path)).exit_code == 0
    first = path.read_text(encoding="utf-8")
    assert first.startswith("<!DOCTYPE html>")
    refused = run(small_store, str(path))
    assert refused.exit_code == 1
    assert "--force" in refused.output
    assert run(small_store, str(path), "--force").exit_code == 0


def test_it_is_asked_where_to(small_store: str) -> None:
    result = run(small_store)
    assert result.exit_code == 2
    assert "Where to?" in result.output


def test_machines_get_the_same(small_store: str) -> None:
    told = json.loads(run(small_store, "--json").output)
    assert set(told) == {
        "on",
        "scan",
        "fixes",
        "by_fix",
        "by_cause",
        "by_maker",
        "health",
        "evaluation",
        "readings",
        "cautions",
    }
