"""Drops of voltage in forty ways of telling them, each with its path, its state and its verdict.

The ways and what they mean are common practice, no source; the limits are the trade's. Of the first
set, written before the reader, 12 of 48 had been understood; of the second, written after it, 12 of
22 were when it was first asked, and 4 without the reader. Both have been used to mend it since; two
verdicts of the second were held to be wrong, and stand as a feed's: a fuse box is no fuse.
"""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bands.conditions import told_of
from kb.bands.judgement import Finding, judge
from kb.bands.limits import trade_limits
from kb.bands.measured import item_words
from kb.case import Reading, Vehicle
from kb.errors import InvalidField
from kb.intake.items import trade_wording
from kb.intake.reading_search import find_readings
from kb.intake.readings import parse_reading, written
from kb.intake.volt_drops import find_drops
from tests.bands.circuits import READINGS, WORDS

FILES = ("volt_drops.csv", "volt_drops_later.csv")
ROWS = [
    row
    for name in FILES
    for row in csv.DictReader(Path(__file__).with_name(name).open(encoding="utf-8", newline=""))
]
ALONE = [row for row in ROWS if sum(each["line"] == row["line"] for each in ROWS) == 1]
BAD = {Finding.BAD_LOW, Finding.BAD_HIGH}


def verdict(reading: Reading) -> str:
    finding = judge(reading, Vehicle(), (), WORDS, READINGS, limits=trade_limits()).finding
    return "BAD" if finding in BAD else finding.name


def is_meant(row: dict[str, str], reading: Reading) -> bool:
    return (
        item_words(row["item"], WORDS) <= item_words(reading.item, WORDS)
        and reading.value == pytest.approx(float(row["volts"]))
        and (not row["state"] or row["state"] in told_of(reading))
        and verdict(reading) == row["verdict"]
    )


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['volts']} of {row['line']}")
def test_a_drop_is_lifted_with_its_path_and_its_state(row: dict[str, str]) -> None:
    found = find_readings(row["line"])
    assert any(is_meant(row, reading) for reading in found.readings)
    assert found.doubtful == ()


@pytest.mark.parametrize("row", ALONE, ids=lambda row: row["line"])
def test_a_drop_typed_alone_is_the_same(row: dict[str, str]) -> None:
    assert is_meant(row, parse_reading(row["line"]))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['volts']} of {row['line']}")
def test_what_is_written_of_a_drop_is_read_back(row: dict[str, str]) -> None:
    for reading in find_readings(row["line"]).readings:
        again = parse_reading(written(reading))
        assert item_words(again.item, WORDS) == item_words(reading.item, WORDS)
        assert (again.position, again.value) == (reading.position, reading.value)


@pytest.mark.parametrize("apart", ["", ",", ":", " -"])
def test_a_sign_between_the_drop_and_its_path_changes_nothing(apart: str) -> None:
    plain = parse_reading("voltage drop engine to battery negative 1.3 V cranking")
    told = parse_reading(f"voltage drop{apart} engine to battery negative 1.3 V cranking")
    assert (told.item, told.condition) == (plain.item, plain.condition)


@pytest.mark.parametrize(
    ("line", "items"),
    [
        ("battery drops to 9.1 V cranking", ["battery"]),
        ("o2 sensor drops to 0.1 V", ["o2 sensor"]),
        ("drop link worn, battery 12.1 V", ["battery"]),
        ("volt drop ok, supply 2.3 V", ["supply"]),
        ("motor supply 12.3 V earth 0.8 V", ["motor supply", "earth"]),
        ("fuel pump earth drop 0.05 V, pump supply 12.1 V",
         ["voltage drop fuel pump earth", "pump supply"]),
        ("battery positive to earth 12.4 V", []),
        ("lost 0.5 V overnight", []),
        ("12.3 V at fan, 0.9 V lost on earth side", ["fan", "voltage drop earth side"]),
    ],
)  # fmt: skip
def test_what_is_no_drop_stays_what_it_is(line: str, items: list[str]) -> None:
    assert [each.item for each in find_readings(line).readings] == items


def test_a_number_behind_a_drop_is_of_the_same_path() -> None:
    before, after = find_readings(
        "earth drop eng to body 0.9v cranking, 0.1 after new strap"
    ).readings
    assert before.item == after.item
    assert (before.value, after.value) == (0.9, 0.1)


def test_a_supply_is_never_taken_for_a_drop_that_is_good() -> None:
    """A dead feed beside a drop is not the small drop of a good one."""
    found = find_readings("volt drop earth side 0.1 V, supply 0.2 V").readings
    assert [each.item for each in found] == ["volt drop earth side", "supply"]


@given(st.text(alphabet="vdropacseth b+-,.:;0123456789V", max_size=60))
def test_whatever_is_typed_is_read_without_a_word_lost(text: str) -> None:
    for drop in find_drops(text, trade_wording()):
        assert 0 <= drop.place.start <= drop.match.start() < drop.match.end() <= drop.place.end
        assert drop.place.end <= len(text)
    try:
        parse_reading(text)
    except InvalidField:
        return


@pytest.mark.parametrize("typed", ["-1.3 V", "1.3 V", "+1.3 V"])
def test_a_drop_read_with_the_leads_turned_round_is_as_large(typed: str) -> None:
    """A fault must not be good because the meter was held the other way round."""
    line = f"voltage drop engine to battery negative {typed} cranking"
    for reading in (parse_reading(line), *find_readings(line).readings):
        assert (reading.value, reading.typed, verdict(reading)) == (1.3, typed, "BAD")


@pytest.mark.parametrize(
    ("line", "items"),
    [
        ("starter cable 1.1 V cranking", ["voltage drop starter cable"]),
        ("starter cable 1.1 V @ cranking", ["voltage drop starter cable"]),
        (
            "earth strap 0.1 V, starter cable 1.1 V cranking",
            ["voltage drop earth strap", "voltage drop starter cable"],
        ),
        ("cranking: engine earth strap 1.2 V", ["voltage drop engine earth strap"]),
        ("main fuse 30 mV cranking", ["voltage drop main fuse"]),
        ("relay contact 0.4 V loaded", ["voltage drop relay contact"]),
        ("0.9 V across the relay lights on", ["voltage drop relay"]),
        ("coil earth 1.3 V at 2000 rpm", ["voltage drop coil earth"]),
        ("fuse 12.4 V cranking", ["fuse"]),
        ("fuse 12.4 V", ["fuse"]),
        ("earth strap 12.4 V cranking", ["earth strap"]),
        ("starter cable 1.1 V", ["starter cable"]),
        ("starter cable 1.1 V engine off", ["starter cable"]),
        ("earth lead 0.3 V key on", ["earth lead"]),
        ("sensor lead 0.8 V idle", ["sensor lead"]),
        ("map sensor 1.1 V idle", ["map sensor"]),
    ],
)
def test_little_volts_under_load_on_a_conductor_are_its_drop(line: str, items: list[str]) -> None:
    assert [each.item for each in find_readings(line).readings] == items
    if len(items) == 1:
        assert parse_reading(line).item == items[0]


def test_a_fuse_has_volts_but_its_amperes_are_its_rating() -> None:
    assert find_readings("fuse 30 A").readings == ()
    assert find_readings("fuse 30 A").doubtful != ()
