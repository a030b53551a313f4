"""`kb comebacks` at the terminal."""

import json

import pytest
from click.testing import CliRunner, Result

from kb.cli.main import kb


def run(address: str, *words: str, who: str | None = None) -> Result:
    person = ["--who", who] if who else []
    command = ["--store", address, *person, "comebacks", *words]
    return CliRunner().invoke(kb, command, env={"KB_WHO": ""})


@pytest.mark.parametrize("kind", ["fix", "action", "cause", "model"])
def test_the_page_fits_and_its_caution_comes_first(demo_store: str, kind: str) -> None:
    result = run(demo_store, "--by", kind)
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    assert result.output.startswith("CAUTION")
    assert "all of it" in result.output
    assert ("Without a row: " in result.output) is (kind != "model")  # every model has lost some


def test_no_figure_and_no_heading_is_cut_where_there_is_little_room(
    demo_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    page = run(demo_store).output
    assert "…" not in page
    assert "cured    back  vain  unheard    min  parts" in page
    assert max(map(len, page.splitlines())) <= 60


def test_detail_names_the_jobs(demo_store: str) -> None:
    result = run(demo_store, "--by", "action", "--detail")
    assert " more: --detail" not in result.output
    assert "#" in result.output


def test_ones_own_needs_to_know_who(demo_store: str) -> None:
    refused = run(demo_store, "--mine")
    assert refused.exit_code == 2
    assert "Whose?" in refused.output
    mine = json.loads(run(demo_store, "--mine", "--json", who="BT").output)
    assert mine["by"] == "BT"
    assert 0 < mine["cases"] < json.loads(run(demo_store, "--json").output)["cases"]


def test_an_empty_store_is_no_error(empty_store: str) -> None:
    result = run(empty_store)
    assert result.exit_code == 0
    assert "no closed job" in result.output
