"""`kb code` at the terminal."""

import json

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb


def code(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "code", *words])


@pytest.mark.parametrize("asked", ["P0171/P0174", "b1201", "po301-po304", "U0121", "B1201-13"])
def test_the_page_fits_and_cautions_first(demo_store: str, asked: str) -> None:
    result = code(demo_store, asked)
    assert result.exit_code == 0
    assert result.output.startswith("CAUTION")
    assert max(map(len, result.output.splitlines())) <= 80


def test_the_page_tells_structure_models_companions_and_causes(demo_store: str) -> None:
    output = code(demo_store, "b1201").output
    for words in (
        "body, maker-defined",
        "-1B resistance too high (8)",
        "Corvane Tessel 4 (1 car)",
        "often with B1211",
        "seat connector, under seat: high resistance  6 of 13",
    ):
        assert words in output


def test_detail_and_json(demo_store: str) -> None:
    assert (
        code(demo_store, "P0302", "-d").output.count("#") == 27
    )  # fourteen jobs, thirteen of them with a cause
    told = json.loads(code(demo_store, "P0302", "--json").output)
    assert told["codes"][0]["history"]["causes"][0]["jobs"]


def test_a_slip_is_questioned(small_store: str) -> None:
    result = code(small_store, "P171")
    assert (result.exit_code, "write P0171" in result.output) == (1, True)


@settings(max_examples=40)
@given(st.text(max_size=20) | st.text("pPbBcCuU0123456789OoIAF-/ ", max_size=16))
def test_whatever_is_typed_no_traceback(small_store: str, text: str) -> None:
    result = code(small_store, "--", text)
    assert result.exception is None or isinstance(result.exception, SystemExit)
