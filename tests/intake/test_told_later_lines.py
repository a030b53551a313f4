"""What is told later of a fix, in lines of workshops: how it fared, and at what distance.

The lines in ``tests/benchmarks/front_door/told_later`` were written without sight of the parsers;
what they mean is common practice of the trade, no source.
"""

import json
from datetime import date
from pathlib import Path

import pytest

from kb.case import Outcome
from kb.intake.single_facts import parse_contact

TODAY = date(2026, 11, 26)
_FILE = Path(__file__).parents[1] / "benchmarks" / "front_door" / "told_later" / "contacts.jsonl"
LINES = [json.loads(line) for line in _FILE.read_text("utf-8").splitlines()]


def test_no_comeback_and_nothing_doubtful_is_told_as_held() -> None:
    assert LINES
    told = {line["text"]: parse_contact(line["text"], TODAY).outcome for line in LINES}
    assert [line for line in LINES if not may_be_told(told[line["text"]], line["outcome"])] == []


def may_be_told(told: Outcome, outcome: str | None) -> bool:
    if outcome is None:
        return told not in {Outcome.HELD, Outcome.COMEBACK}
    return told in {Outcome.NOT_TOLD, Outcome(outcome)}


def test_most_lines_are_understood() -> None:
    told = [parse_contact(line["text"], TODAY).outcome for line in LINES if line["outcome"]]
    meant = [Outcome(line["outcome"]) for line in LINES if line["outcome"]]
    assert sum(one is two for one, two in zip(told, meant, strict=True)) >= len(meant) - 1


@pytest.mark.parametrize(
    ("text", "outcome", "km"),
    [
        ("at 95000 km still quiet, at 99000 km whining", "comeback", 99_000),
        ("ok at 62,000 km, still ok at 64,500 km", "held", 64_500),
        ("back at 62,000 km, ok at 64,500 km", "not told", 64_500),
        ("ok at 95000 km, whining at 99000 km?", "not told", None),
        ("no trouble in 9,000 km", "held", None),
        ("no trouble at 91,000 km", "held", 91_000),
    ],
)
def test_distances_are_told_apart(text: str, outcome: str, km: int | None) -> None:
    told = parse_contact(text, TODAY)
    assert told.outcome == outcome
    assert km is None or told.odometer_km == km


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("wieder nicht", "comeback"),
        ("nicht wieder", "held"),
        ("Lüfter klappt wieder nicht", "comeback"),
        ("Lampe nicht mehr angegangen", "held"),
        ("heater not on", "not told"),
        ("marche quand il fait chaud", "not told"),
    ],
)
def test_a_denial_is_told_by_its_place(text: str, outcome: str) -> None:
    assert parse_contact(text, TODAY).outcome == outcome
