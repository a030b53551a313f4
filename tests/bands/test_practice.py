"""Readings with the verdict of a technician's common practice (no source; written beforehand)."""

import csv
from pathlib import Path

import pytest

from kb.bands.judgement import Finding, judge
from kb.bands.limits import trade_limits
from kb.case import Vehicle
from kb.intake.readings import parse_reading
from tests.bands.circuits import READINGS, WORDS

PRACTICE = Path(__file__).with_name("practice.csv")
ENGINES = {"petrol": "1.6 petrol", "diesel": "2.0 diesel", "": None}
BAD = {Finding.BAD_LOW, Finding.BAD_HIGH, Finding.OPEN}
AGREED = 0.95
"""Share of the verdicts that must be a technician's."""


def rows() -> list[dict[str, str]]:
    with PRACTICE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def finding_of(row: dict[str, str]) -> Finding:
    vehicle = Vehicle(make="Corvane", model="Lido", engine=ENGINES[row["fuel"]])
    reading = parse_reading(row["reading"])
    return judge(reading, vehicle, (), WORDS, READINGS, limits=trade_limits()).finding


def told(finding: Finding) -> str:
    if finding in BAD:
        return "BAD"
    return "GOOD" if finding is Finding.GOOD else "CANNOT TELL"


def test_nearly_all_verdicts_are_a_technicians() -> None:
    asked = rows()
    agreed = sum(told(finding_of(row)) == row["verdict"] for row in asked)
    assert len(asked) >= 150
    assert agreed >= AGREED * len(asked)


@pytest.mark.parametrize(
    "row", [row for row in rows() if row["verdict"] != "GOOD"], ids=lambda row: row["reading"]
)
def test_nothing_that_a_technician_would_not_pass_is_good(row: dict[str, str]) -> None:
    assert finding_of(row) is not Finding.GOOD
