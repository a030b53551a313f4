"""Readings of everyday trouble on the demonstration shop's cars, each with its verdict.

They and their verdicts were written down before the program was asked, and are common practice, no
source; it then judged 11 of 30 so.
"""

import csv
from pathlib import Path

import pytest

from kb.services.judge import judge_reading
from kb.settings import Settings

ROWS = list(
    csv.DictReader(
        Path(__file__).with_name("reading_verdicts.csv").open(encoding="utf-8", newline="")
    )
)
BARS = "rail pressure 300 bar idle"


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['reading']} of {row['vehicle']}")
def test_a_reading_is_judged_as_by_common_practice(demo_store: str, row: dict[str, str]) -> None:
    answer = judge_reading(demo_store, row["reading"], Settings(), vehicle=row["vehicle"])
    found = answer.verdict.finding.partition(",")[0]
    assert found != "bad" if row["verdict"] == "not bad" else found == row["verdict"]


@pytest.mark.parametrize("car", ["corvane lido 2016", "sunato kiri 2018", "halbrecht fjell 2020"])
def test_a_cranking_battery_is_held_against_cranking_ones(demo_store: str, car: str) -> None:
    verdict = judge_reading(
        demo_store, "battery voltage 10.2 V cranking at 5 C", Settings(), vehicle=car
    ).verdict
    speaking = [each.band for each in verdict.said if each.band.speaks]
    assert verdict.finding == "good"
    assert all(band.high is not None and band.high < 12.5 for band in speaking)
    assert not [each for each in verdict.past if "resting" in each.place]


@pytest.mark.parametrize(
    ("car", "told"),
    [
        ("corvane tessel 2015", ["diesel"]),
        ("corvane tessel 2015 2.0 diesel", []),
        ("halbrecht ostra 2012", []),
        ("bramwick dray 2018", ["diesel"]),
    ],
)
def test_the_fuel_of_all_such_cars_is_used_and_said(
    demo_store: str, car: str, told: list[str]
) -> None:
    answer = judge_reading(demo_store, BARS, Settings(), vehicle=car)
    said = [each.split(":")[0] for each in answer.notices if each.startswith("Judged as")]
    assert said == [f"Judged as {fuel}" for fuel in told]
    tells = bool(told) or "diesel" in car
    assert (answer.verdict.finding == "good") is tells
    assert ("diesel" in answer.verdict.needs) is not tells
