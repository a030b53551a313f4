"""The shop's own name of an igniter is read as it is typed, as on the pages."""

from dataclasses import replace
from datetime import date

import pytest
from click.testing import CliRunner, Result

from kb.case import Job, Vehicle
from kb.cli.main import kb
from tests.services.test_follow_up import put

NOTES = "wakeup on hot box, good"
STEP = "put test lamp across the hot box"


def say(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, *words])


@pytest.fixture
def shop(empty_store: str) -> str:
    job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="trim loose")
    put(empty_store, job, replace(job, complaint=STEP))
    assert say(empty_store, "words", "add", "hot box", "airbag").exit_code == 0
    return empty_store


DOORS = [
    ("job", "open", "trim loose on hot box", "--notes", STEP),
    ("job", "add", "1", STEP),
    ("job", "edit", "1", "--set", f"notes={STEP}"),
    ("job", "close", "1", "hot box, open", "--proved-by", STEP),
]


@pytest.mark.parametrize("door", DOORS)
def test_a_dangerous_step_is_asked_about(shop: str, door: tuple[str, ...]) -> None:
    result = say(shop, *door, "-y")
    assert result.exit_code != 0
    assert "is dangerous" in result.output
    assert STEP not in say(shop, "job", "show", "1", "--verbatim").output


def test_cautions_come_before_what_is_understood(shop: str) -> None:
    result = say(shop, "job", "open", "trim loose on hot box", "--notes", NOTES, "-y")
    assert result.output.startswith("CAUTION")
    assert result.exit_code != 0
    assert "is dangerous" in result.output
    assert NOTES not in result.output.split("Error:")[0]


def test_a_list_withholds_what_the_page_of_a_job_does(shop: str) -> None:
    assert STEP not in " ".join(say(shop, "job", "show", "2").output.split())
    listed = " ".join(say(shop, "job", "list").output.split())
    assert "trim loose" in listed
    assert "put test lamp" not in listed
