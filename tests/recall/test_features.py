"""A complaint as facts for the linear model."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from kb.case import Complaint, DiagnosticTest, Quantity, Reading, Relation, System, TroubleCode
from kb.intake.wording import Wording
from kb.recall.features import Query, blocks
from kb.recall.index import Index
from kb.settings import Settings
from tests.recall.shop import CASES, LIDO, pretensioner

WORDING = Wording.default()
GOOD = tuple(
    replace(pretensioner(value), proved_good=True) for value in (2.1, 2.2, 2.3, 2.2, 2.1, 2.4)
)
WIDTHS = Index.fit([replace(CASES[0], readings=GOOD), *CASES[1:]], WORDING, Settings()).widths


def facts(complaint: Complaint, on: date | None = None) -> dict[str, dict[str, float]]:
    return blocks(Query(complaint=complaint, on=on), WORDING, WIDTHS)


def test_what_was_not_recorded_has_no_facts() -> None:
    assert not any(facts(Complaint(text="lamp on")).values())


def test_codes_count_with_their_family_and_type() -> None:
    found = facts(Complaint(codes=(TroubleCode(code="B1234", failure_type="13"),)))
    assert set(found["codes"]) == {"code B1234", "code B12", "code B1234-13"}


def test_a_reading_counts_by_its_side_of_the_band() -> None:
    low, normal, high = (
        set(facts(Complaint(readings=(pretensioner(value),)))["readings"])
        for value in (0.4, 2.2, 6.0)
    )
    assert [name.rsplit(" ", 1)[1] for each in (low, normal, high) for name in each] == [
        "low",
        "normal",
        "high",
    ]
    opened = Reading(
        item="pretensioner",
        quantity=Quantity.RESISTANCE,
        typed="OL",
        relation=Relation.OVER_RANGE,
    )
    assert next(iter(facts(Complaint(readings=(opened,)))["readings"])).endswith("open")


def test_a_season_is_no_step_of_time_and_three_years_are_more_than_one() -> None:
    def at(day: date) -> dict[str, float]:
        return facts(Complaint(), day)["time"]

    for days in range(0, 1200, 50):
        day = date(2021, 1, 1) + timedelta(days=days)
        now, half_a_year = at(day), at(day + timedelta(days=183))
        assert sum(min(now.get(step, 0), near) for step, near in half_a_year.items()) > 0.6
        assert not set(now) & set(at(day + timedelta(days=3 * 365)))


def test_time_is_shared_by_the_two_nearest_steps() -> None:
    found = facts(Complaint(vehicle=LIDO), date(2024, 5, 1))["time"]
    assert len(found) == 2
    assert sum(found.values()) == pytest.approx(1.0)
    assert set(facts(Complaint(vehicle=LIDO), date(2024, 5, 1))["time of model"]) == {
        f"model lido {step}" for step in found
    }


def test_a_past_case_is_learnt_from_with_its_tests_and_system() -> None:
    test = DiagnosticTest(name="wiggle test", seen="value jumps")
    past = Query.past(replace(CASES[0], tests=(test,)))
    found = blocks(past, WORDING, WIDTHS)
    assert set(found["tests"]) == {"test wiggle test jumps value"}
    assert set(found["system"]) == {f"system {System.RESTRAINTS}"}
    assert past.on == CASES[0].opened
