"""`kb vehicle` at the terminal."""

import json

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb


def vehicle(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "vehicle", *words])


def test_add_list_remove(empty_store: str) -> None:
    assert "no vehicle yet" in vehicle(empty_store, "list").output
    options = ["-g", "second", "-y", "2017-", "-e", "1.2 petrol", "--drive", "right"]
    added = vehicle(empty_store, "add", "Corvane", "Lido", *options)
    for words in ("Corvane Lido", "second", "2017–", "1.2 petrol", "right"):
        assert words in added.output
    assert "second" in vehicle(empty_store, "list").output
    (line,) = json.loads(vehicle(empty_store, "list", "--json").output)
    assert line["handedness"] == "right-hand drive"
    assert vehicle(empty_store, "remove", "corvane", "lido").exit_code == 1
    assert vehicle(empty_store, "remove", "corvane", "lido", "-g", "second").exit_code == 0


@pytest.mark.parametrize(
    "line", [(" ",), ("Corvane", "-y", "soon"), ("Corvane", "-y", "2020-2010")]
)
def test_a_line_that_cannot_be_is_refused(empty_store: str, line: tuple[str, ...]) -> None:
    make, *years = line
    assert vehicle(empty_store, "add", make, "Lido", *years).exit_code == 1
    assert "no vehicle yet" in vehicle(empty_store, "list").output


@pytest.mark.parametrize("text", ["K031", "corvne lido 14", "1M8GDM9AXKP042788 tesel", "lido 2005"])
def test_the_page_of_a_vehicle_fits(demo_store: str, text: str) -> None:
    result = vehicle(demo_store, "show", *text.split())
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    assert "Vehicle" in result.output


def test_the_page_tells_vin_line_and_jobs(demo_store: str) -> None:
    output = vehicle(demo_store, "show", "1M8GDM9AXKP042788", "lido").output
    for words in ("maker 1M8, North America", "check digit right", "model year 1989", "Last jobs"):
        assert words in output
    assert "platform C1b" in vehicle(demo_store, "show", "lido", "2018").output


def test_a_vin_that_can_be_none_is_questioned(demo_store: str) -> None:
    result = vehicle(demo_store, "show", "1M8GDM9AXKPO42788")
    assert (result.exit_code, "holds O" in result.output) == (1, True)


@settings(max_examples=30)
@given(st.text(max_size=20))
def test_whatever_is_typed_no_traceback(small_store: str, text: str) -> None:
    result = vehicle(small_store, "show", "--", text)
    assert result.exception is None or isinstance(result.exception, SystemExit)
