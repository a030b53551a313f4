"""Records of jobs: there and back, shorthand, and what is said of a wrong one."""

from contextlib import suppress
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import CodeStatus, Job, Quantity, Relation, Stage, TroubleCode, Vehicle
from kb.errors import InvalidField
from kb.intake.forms import holds_list, job_from_record, job_to_record, kind_at, steps
from tests.strategies import jobs

SLOW = settings(max_examples=40)
LEAST: dict[str, object] = {"opened": "2026-03-02", "complaint": "airbag lamp on"}
json_values: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


def _refused(**record: object) -> InvalidField:
    with pytest.raises(InvalidField) as caught:
        job_from_record({**LEAST, **record})
    return caught.value


@SLOW
@given(jobs())
def test_a_job_comes_back_the_same(job: Job) -> None:
    assert job_from_record(job_to_record(job)) == job


@SLOW
@given(jobs())
def test_nothing_unrecorded_is_written(job: Job) -> None:
    def check(value: object) -> None:
        assert value is not None
        assert value != []
        for inner in value.values() if isinstance(value, dict) else ():
            check(inner)
        for inner in value if isinstance(value, list) else ():
            if inner != "":
                check(inner)

    record = job_to_record(job)
    assert isinstance(record.pop("vehicle"), dict)
    check(record)


def test_the_least_record_is_a_job_of_an_unknown_vehicle() -> None:
    job = job_from_record(LEAST)
    assert job == Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="airbag lamp on")


def test_shorthand_of_codes_readings_and_days() -> None:
    job = job_from_record(
        {
            **LEAST,
            "opened": date(2026, 3, 2),
            "closed": "2026-03-04",
            "codes": ["b1234-1b stored", {"code": "P0301", "status": "current"}],
            "readings": [
                {"item": "pretensioner", "typed": "2k1", "stage": "as found"},
                {"item": "pretensioner", "typed": "OL", "relation": "over range",
                 "quantity": "resistance"},
            ],
            "attempts": [{"action": "cleaned", "component": "seat connector", "parts_cost": 0}],
        }
    )  # fmt: skip
    assert job.codes == (
        TroubleCode(code="B1234", failure_type="1B", status=CodeStatus.STORED),
        TroubleCode(code="P0301", status=CodeStatus.CURRENT),
    )
    first, second = job.readings
    assert (first.quantity, first.value, first.typed) == (Quantity.RESISTANCE, 2100.0, "2k1")
    assert (second.relation, second.value, second.stage) == (
        Relation.OVER_RANGE,
        None,
        Stage.AS_FOUND,
    )
    assert (job.closed, job.attempts[0].parts_cost) == (date(2026, 3, 4), 0.0)


def test_whole_numbers_may_be_written_with_a_point() -> None:
    job = job_from_record({**LEAST, "odometer_km": 81000.0})
    assert (job.odometer_km, type(job.odometer_km)) == (81000, int)


@pytest.mark.parametrize(
    ("record", "field", "says"),
    [
        ({"odometer": 1}, "odometer", "did you mean odometer_km?"),
        ({"vehicle": {"colour": "red"}}, "vehicle.colour", "known are make, model, year"),
        ({"readings": [{"item": "a", "tiped": "1 V"}]}, "readings[0].tiped", "mean typed?"),
        ({"attempts": [{"action": "cleaned"}]}, "attempts[0].component", "missing"),
        ({"cause": {"component": "relay"}}, "cause.failure_mode", "missing"),
        ({"cause": {"component": "relay", "failure_mode": "broke"}}, "cause.failure_mode", "worn"),
        ({"system": "brake"}, "system", "brakes and wheel speed"),
        ({"system": 3}, "system", "Expected str"),
        ({"notes": 3}, "notes", "must be a text"),
        ({"opened": True}, "opened", "must be a day, as 2026-03-02"),
        ({"codes": ["P0301", "Q0301"]}, "codes[1].code", "P, C, B or U"),
        ({"codes": [{"code": "p0301"}]}, "codes[0].code", "must be P, C, B or U"),
        ({"codes": "P0301"}, "codes", "must be a list"),
        ({"odometer_km": -1}, "odometer_km", "whole number"),
        ({"odometer_km": "81000"}, "odometer_km", "must be a whole number"),
        ({"odometer_km": True}, "odometer_km", "must be a whole number"),
        ({"odometer_km": 10**30}, "odometer_km", "whole number"),
        ({"vehicle": {"year": 1066}}, "vehicle.year", "1900 to 2100"),
        ({"vehicle": None}, "vehicle", "Expected object"),
        ({"closed": "2026-03-01"}, "closed", "lies before opened"),
        ({"closed": "01.03.2026"}, "closed", "date"),
        ({"complaint": " "}, "complaint", "is empty"),
        ({"complaint": None}, "complaint", "must be a text"),
        ({"readings": [{"item": "a", "typed": "what"}]}, "readings[0].", ""),
        (
            {"readings": [{"item": "a", "typed": "9 V", "quantity": "voltage", "value": "9"}]},
            "readings[0].value",
            "must be a number",
        ),
        (
            {"attempts": [{"action": "other", "component": "a", "supposed": {"component": ""}}]},
            "attempts[0].supposed.failure_mode",
            "missing",
        ),
    ],
)  # fmt: skip
def test_a_wrong_record_names_the_place_the_value_and_the_cure(
    record: dict[str, object], field: str, says: str
) -> None:
    error = _refused(**record)
    assert error.field == field or (field.endswith(".") and error.field.startswith(field))
    assert says in error.cure
    assert str(error).startswith(error.field)


def test_the_value_told_is_the_one_that_was_written() -> None:
    assert _refused(vehicle={"year": 1066}).value == 1066
    assert _refused(codes=["P0301", "Q0301"]).value == "Q0301"
    assert _refused(closed="01.03.2026").value == "01.03.2026"


def test_a_missing_field_is_named() -> None:
    with pytest.raises(InvalidField, match="opened: is missing"):
        job_from_record({"complaint": "no crank"})


@given(
    st.dictionaries(
        st.sampled_from(
            [
                *job_to_record(job_from_record(LEAST)),
                "codes",
                "readings",
                "tests",
                "cause",
                "attempts",
                "contacts",
                "odometer_km",
                "x",
            ]
        ),
        json_values,
    )
)
def test_any_record_is_a_job_or_is_refused(record: dict[str, object]) -> None:
    with suppress(InvalidField):
        job = job_from_record({**LEAST, **record})
        assert job_from_record(job_to_record(job)) == job


@given(json_values)
def test_anything_else_is_refused(value: Any) -> None:
    with pytest.raises(InvalidField):
        job_from_record(value)


def test_paths() -> None:
    assert list(steps("tests[1].clears[0]")) == ["tests", 1, "clears", 0]
    assert kind_at("tests[1].clears[0]") is str
    assert kind_at("vehicle") is Vehicle
    assert kind_at("complaint.words") is None
    assert holds_list("tests[1].clears")
    assert not holds_list("tests[1]")
    assert not holds_list("nothing.at.all")
