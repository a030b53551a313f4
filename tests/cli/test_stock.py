"""`kb stock` at the terminal."""

import json
from datetime import date

from click.testing import CliRunner, Result

from kb.cli.main import kb


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "stock", "--until", "2026-10-31", *words])


def test_the_page_fits_and_detail_tells_all(demo_store: str) -> None:
    page = run(demo_store)
    assert page.exit_code == 0
    assert max(map(len, page.output.splitlines())) <= 80
    assert "more: --detail" in page.output
    detail = run(demo_store, "--detail").output
    assert "more: --detail" not in detail
    assert "Corvane Lido" in detail


def test_machines_get_the_counts(demo_store: str) -> None:
    told = json.loads(run(demo_store, "--json").output)
    assert {len(each["counts"]) for each in told["parts"]} == {len(told["parts"][0]["counts"])}


def test_an_empty_store_is_no_error(empty_store: str) -> None:
    assert "no closed job" in run(empty_store).output


def test_without_a_day_it_is_today(demo_store: str) -> None:
    told = CliRunner().invoke(kb, ["--store", demo_store, "stock", "--json"]).output
    assert json.loads(told)["until"] == str(date.today())
