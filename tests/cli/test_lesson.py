"""`kb lesson` at the terminal."""

import json

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import System
from kb.cli.main import kb


def lesson(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "lesson", *words])


@pytest.mark.parametrize("system", list(System))
def test_cautions_first_and_80_columns(demo_store: str, system: System) -> None:
    result = lesson(demo_store, *system.value.split())
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    if system is not System.OTHER:
        assert result.output.startswith("CAUTION")


def test_the_page_tells_causes_readings_failures_and_a_job(demo_store: str) -> None:
    output = lesson(demo_store, "restraints").output
    for words in (
        "turned out to be",
        "seat connector, under seat: high resistance",
        "fix: ",
        "proved good",
        "in vain",
        "it was: ",
        "Worth reading: job ",
        "Proof",
    ):
        assert words in output


def test_detail_tells_more(demo_store: str) -> None:
    brief = lesson(demo_store, "restraints").output
    full = lesson(demo_store, "restraints", "--detail").output
    assert "more causes" in brief
    assert "more causes" not in full
    assert full.count("#") > brief.count("#")


def test_json_holds_the_lesson(demo_store: str) -> None:
    taught = json.loads(lesson(demo_store, "restraints", "--json").output)
    assert taught["cautions"]
    assert taught["lesson"]["causes"][0]["jobs"]


def test_an_empty_store_still_cautions(empty_store: str) -> None:
    output = lesson(empty_store, "high voltage").output
    assert output.startswith("CAUTION")
    assert "no closed job" in output


@settings(max_examples=25)
@given(st.text(max_size=20))
def test_whatever_is_typed_no_traceback(small_store: str, system: str) -> None:
    result = lesson(small_store, "--", system)
    assert result.exception is None or isinstance(result.exception, SystemExit)
