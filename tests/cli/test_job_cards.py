"""A spreadsheet of job cards, from `kb import` to the first useful answer."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.cli.main import kb

SHEET = """\
Order;In;Out;Car;Customer says;Work done;Mechanic
101;03.02.2024;04.02.2024;Lido;whistling noise, shakes at idle;intake gasket torn, new one;RT
102;05.03.2024;06.03.2024;Kiri;battery flat after two days;glove box lamp stays on, latch bent;MB
103;09.04.2024;09.04.2024;Lido;whistles when cold, rough idle;intake gasket replaced, quiet;RT
104;11.05.2024;;Dray;no crank, clicks once;earth strap cleaned;MB
105;12.06.2024;12.06.2024;Kiri;airbag lamp on;put an ohmmeter on the seat airbag, 2.1 ohm;RT
"""
MAPPING = """\
delimiter = ";"
dates = "%d.%m.%Y"
[columns]
"Order" = "number"
"In" = "opened"
"Out" = "closed"
"Car" = "vehicle.model"
"Customer says" = "complaint"
"Work done" = "notes"
"Mechanic" = "technician"
"""


@pytest.fixture
def shop(empty_store: str, tmp_path: Path) -> str:
    sheet, mapping = tmp_path / "cards.csv", tmp_path / "columns.toml"
    sheet.write_text(SHEET)
    mapping.write_text(MAPPING)
    run(empty_store, "import", "--mapping", str(mapping), str(sheet))
    return empty_store


def run(address: str, *words: str) -> str:
    done = CliRunner().invoke(kb, ["--store", address, *words])
    assert done.exit_code == 0, done.output
    return done.output


def in_a_line(page: str) -> str:
    return " ".join(page.split())


def test_similar_finds_cards_by_what_came_in_and_by_what_was_done(shop: str) -> None:
    by_complaint = json.loads(run(shop, "similar", "rough idle, whistles", "--json"))
    assert by_complaint["jobs"] == 5
    assert [each["number"] for each in by_complaint["matches"]][:2] == [103, 101]
    by_work = json.loads(run(shop, "similar", "intake gasket", "--json"))
    assert {each["number"] for each in by_work["matches"]} == {101, 103}
    assert by_work["matches"][0]["state"] == "closed without a cause"


def test_an_open_job_is_found_and_said_to_be_open(shop: str) -> None:
    page = in_a_line(run(shop, "similar", "clicks once, no crank"))
    assert "#104" in page
    assert "written: earth strap cleaned still open" in page


def test_causes_tell_the_nearest_work_where_no_cause_was_told(shop: str) -> None:
    page = in_a_line(run(shop, "causes", "rough idle, whistles"))
    assert "None of 5 past jobs has a proved cause" in page
    assert "written: intake gasket replaced, quiet" in page
    assert "%" in page


def test_a_void_card_is_none_of_the_past_jobs(shop: str) -> None:
    run(shop, "job", "void", "104", "--why", "written twice", "--yes")
    assert "None of 4 past jobs has" in in_a_line(run(shop, "causes", "rough idle, whistles"))


def test_causes_tell_cases_and_the_nearest_work_where_few_have_a_cause(shop: str) -> None:
    run(shop, "job", "close", "104", "earth strap, high resistance", "--yes")
    answer = json.loads(run(shop, "causes", "whistles, no crank", "--json"))
    confirmed = [each for each in answer["causes"] if set(each["jobs"]) - set(each["proposed"])]
    assert [each["cause"]["component"] for each in confirmed] == ["earth strap"]
    assert all(each["all_proposed"] for each in answer["causes"] if each not in confirmed)
    assert 103 in [each["number"] for each in answer["nearest"]]
    assert any("Only 1 of 5 past jobs has" in notice for notice in answer["notices"])


@pytest.mark.parametrize("command", ["similar", "causes"])
def test_a_card_is_told_under_cautions_and_without_a_dangerous_step(
    shop: str, command: str
) -> None:
    page = run(shop, command, "airbag lamp on")
    assert page.startswith("CAUTION")
    assert "#105" in page
    assert "2.1 ohm" not in page
    assert "not shown" in page


def searched(address: str, *words: str) -> list[int]:
    return [each["number"] for each in json.loads(run(address, "search", *words, "--json"))["jobs"]]


@pytest.mark.parametrize(
    ("words", "numbers"),
    [
        (("intake", "gasket"), [103, 101]),
        (("gasket", "--technician", "rt", "--until", "2024-03-01"), [101]),
        (("--part", "earth strap"), [104]),
        (("--vehicle", "lido"), [103, 101]),
        (("--on", "2024-03-05"), [102]),
        (("--since", "2024-05-01", "--state", "open"), [104]),
        (("wipers",), []),
    ],
)
def test_search_finds_by_words_vehicle_part_technician_and_day(
    shop: str, words: tuple[str, ...], numbers: list[int]
) -> None:
    assert searched(shop, *words) == numbers


def test_search_finds_a_code_whether_lifted_or_only_written(shop: str) -> None:
    run(shop, "job", "open", "misfire P0301", "--vehicle", "Lido", "--yes")
    run(shop, "job", "edit", "102", "--set", "notes=P0301 came with it", "--yes")
    assert set(searched(shop, "P0301")) == {102, 106}
    assert set(searched(shop, "--code", "P0301")) == {102, 106}


def test_search_marks_the_hits_on_the_page_and_in_json(shop: str) -> None:
    assert "notes: *intake* *gasket* torn" in in_a_line(run(shop, "search", "intake gasket"))
    first = json.loads(run(shop, "search", "intake gasket", "--json"))["jobs"][0]
    (hit,) = first["hits"]
    assert [hit["text"][start:end] for start, end in hit["marks"]] == ["intake", "gasket"]


def test_search_tells_nothing_dangerous_and_cautions_first(shop: str) -> None:
    page = run(shop, "search", "ohmmeter")
    assert page.startswith("CAUTION")
    assert "#105" in page
    assert "2.1 ohm" not in page
    assert "not shown" not in page  # nothing in the line that stands for it is a hit
    assert run(shop, "search", "airbag", "lamp").startswith("CAUTION")


def test_a_search_for_nothing_is_refused(shop: str) -> None:
    done = CliRunner().invoke(kb, ["--store", shop, "search"])
    assert done.exit_code == 1
    assert "nothing to look for" in done.output


@pytest.mark.parametrize("nothing", ["%", "*", "\u202e", "--"])
def test_what_holds_no_word_finds_no_job(shop: str, nothing: str) -> None:
    done = CliRunner().invoke(kb, ["--store", shop, "search", "--", nothing])
    assert done.exit_code == 1
    assert "no word to look for" in in_a_line(done.output)
