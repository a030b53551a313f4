"""Readings with the verdict of a technician's common practice, no source.

The first set was written before the limits. Of the later one, written after them in other words,
71 of 80 were agreed the first time it was asked, of the last one 56 of 60 and of a fourth 52 of
60; no fault was called good. Of a fifth, of other items and in states that were not the right
ones, 142 of 205 were agreed the first time, and one that cannot be told was called good; of a
sixth, asked once thereafter, 68 of 73, and none that is not was called good. All have been used
to mend the limits since. Four verdicts were against those of an earlier set on the same reading
and stand as that has it: one of the fourth, on a wheel speed sensor, and three of the fifth, on a
starter's current, a tyre's pressure and a boost pressure.
"""

import csv
from pathlib import Path

import pytest

from kb.bands.judgement import Finding, judge
from kb.bands.limits import trade_limits
from kb.case import Vehicle
from kb.errors import InvalidField
from kb.intake.readings import parse_reading
from tests.bands.circuits import READINGS, WORDS

SETS = {
    "practice.csv": 150,
    "practice_later.csv": 80,
    "practice_last.csv": 60,
    "practice_fourth.csv": 60,
    "practice_fifth.csv": 150,
    "practice_sixth.csv": 60,
}
"""The sets beside this module, with how many readings each must have."""
ENGINES = {"petrol": "1.6 petrol", "diesel": "2.0 diesel", "": None}
BAD = {Finding.BAD_LOW, Finding.BAD_HIGH, Finding.OPEN}
AGREED = 0.95
"""Share of the verdicts that must be a technician's."""


def rows(name: str) -> list[dict[str, str]]:
    with Path(__file__).with_name(name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def finding_of(row: dict[str, str]) -> Finding | None:
    """Judge one; None if it cannot be read as it was typed."""
    vehicle = Vehicle(make="Corvane", model="Lido", engine=ENGINES[row["fuel"]])
    try:
        reading = parse_reading(row["reading"])
    except InvalidField:
        return None
    return judge(reading, vehicle, (), WORDS, READINGS, limits=trade_limits()).finding


def told(finding: Finding | None) -> str:
    if finding is None:
        return "not read"
    if finding in BAD:
        return "BAD"
    return "GOOD" if finding is Finding.GOOD else "CANNOT TELL"


@pytest.mark.parametrize("name", SETS)
def test_nearly_all_verdicts_are_a_technicians(name: str) -> None:
    asked = rows(name)
    agreed = sum(told(finding_of(row)) == row["verdict"] for row in asked)
    assert len(asked) >= SETS[name]
    assert agreed >= AGREED * len(asked)


@pytest.mark.parametrize("name", SETS)
def test_nothing_that_a_technician_would_not_pass_is_good(name: str) -> None:
    asked = [row for row in rows(name) if row["verdict"] != "GOOD"]
    assert asked
    assert [row["reading"] for row in asked if finding_of(row) is Finding.GOOD] == []
