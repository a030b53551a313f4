"""The sentence about a reading on the page of causes, and how sure few jobs may be."""

import re
from dataclasses import replace
from datetime import timedelta
from io import StringIO

from rich.console import Console

from kb.case import Quantity, Reading, Relation, System, Vehicle
from kb.diagnosis.reading_evidence import ReadingEvidence, Side
from kb.reports.causes import evidence_line, render
from kb.services.ask import causes
from kb.settings import Settings
from tests.services.test_follow_up import ASKED, CLOSED, job, put

SEAT, SPRING = "seat connector, under seat: high resistance", "clock spring: open"


def battery(typed: str, value: float | None) -> Reading:
    relation = Relation.OVER_RANGE if value is None else Relation.EXACT
    return Reading(
        item="battery", quantity=Quantity.VOLTAGE, typed=typed, relation=relation, value=value
    )


def evidence(reading: Reading, side: Side, *causes: tuple[str, int]) -> ReadingEvidence:
    jobs = tuple(range(1, 1 + sum(times for _, times in causes)))
    return ReadingEvidence(
        reading=reading, side=side, low=12.15, high=12.96, good=13, jobs=jobs, causes=causes
    )


def test_the_edge_is_printed_finely_enough_to_be_believed() -> None:
    line = evidence_line(evidence(battery("12.1 V", 12.1), Side.BELOW, (SEAT, 4), (SPRING, 2)))
    assert line == (
        "12.1 V is below the 12.2 V to 13 V of good ones here (13 readings); "
        f"so in 6 like jobs, 4 × {SEAT}."
    )


def test_a_normal_reading_and_one_without_like_jobs_name_no_cause() -> None:
    normal = evidence_line(evidence(battery("12.6 V", 12.6), Side.WITHIN, (SEAT, 4)))
    assert normal == "12.6 V is within the 12.2 V to 13 V of good ones here (13 readings)."
    alone = evidence_line(evidence(battery("9 V", 9.0), Side.BELOW))
    assert alone.endswith("(13 readings).")


def test_what_is_no_measurement_is_said_to_be_none() -> None:
    line = evidence_line(evidence(battery("OL", None), Side.NOTHING, (SEAT, 1)))
    assert line == (f"OL is no measurement: open, or nothing fitted; so in 1 like job, 1 × {SEAT}.")


def test_eleven_jobs_print_no_chance_surer_than_they_bear(empty_store: str) -> None:
    # by hand: after 11 jobs the rule of succession leaves 1 in 13, which is 8 %
    days = [CLOSED + timedelta(days=place) for place in range(11)]
    put(empty_store, *(job(f"K{n}", day) for n, day in enumerate(days[:8])))
    horn = replace(job("H", CLOSED, component="horn"), complaint="horn dead", system=System.OTHER)
    horns = [
        replace(horn, vehicle=Vehicle(ref=f"H{n}"), opened=day, closed=day)
        for n, day in enumerate(days[8:])
    ]
    put(empty_store, *horns)
    out = StringIO()
    Console(width=80, file=out).print(render(causes(empty_store, ASKED, Settings()), detail=True))
    page = out.getvalue()
    told = re.findall(r"(?:^|say |facts )[<>]?(\d+)%", page, re.MULTILINE)
    shares = [int(each) for each in told]
    assert "door plug" in page
    assert shares
    assert all(8 <= each <= 92 for each in shares), page
    assert re.search(r"^(8|9|[1-9]\d)% +not seen before", page, re.MULTILINE)
