"""Whose high and low pressures are measured: common practice, no source."""

from datetime import date

import pytest

from kb.intake.findings import find_findings
from kb.intake.shoptalk import understand

TODAY = date(2026, 11, 28)
LINE = "LP 2.1 bar HP 14 bar"


def items(line: str, complaint: str = "") -> list[str]:
    return [each.item for each in find_findings(line, TODAY, complaint=complaint).readings]


@pytest.mark.parametrize(
    ("complaint", "circuit"),
    [
        ("a/c not cold", "a/c"),
        ("blows warm air", "a/c"),
        ("Klima kühlt nicht", "a/c"),
        ("no start hot", "fuel"),
        ("limp mode uphill, P0087", "fuel"),
    ],
)
def test_by_the_complaint_of_the_job(complaint: str, circuit: str) -> None:
    assert items(LINE, complaint) == [f"{circuit} lp", f"{circuit} hp"]


@pytest.mark.parametrize("complaint", ["", "knocks over bumps", "no start and a/c not cold"])
def test_where_neither_or_both_are_told_of_they_stay_as_typed(complaint: str) -> None:
    assert items(LINE, complaint) == ["lp", "hp"]


def test_the_line_goes_before_the_complaint() -> None:
    assert items("a/c LP 2.1 bar HP 14 bar", "no start hot") == ["a/c lp", "a/c hp"]


def test_what_no_refrigerant_reaches_is_not_the_coolers() -> None:
    assert items("HP 320 bar", "a/c not cold") == ["hp"]


def test_in_the_words_of_a_complaint() -> None:
    readings = understand("no start. LP 4.2 bar HP 320 bar cranking").complaint.readings
    assert [each.item for each in readings] == ["fuel lp", "fuel hp"]
