"""The published schema against the forms that take what it describes."""

import copy
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator, FormatChecker

from kb.bounds import FIRST_YEAR, LAST_YEAR
from kb.case import Job
from kb.errors import InvalidField
from kb.intake.forms import job_from_record, job_to_record
from kb.intake.schema import case_schema
from tests.strategies import jobs

SCHEMA = case_schema()
VALIDATOR = Draft202012Validator(SCHEMA, format_checker=FormatChecker(["date"]))
LEAST: dict[str, Any] = {"opened": "2026-03-02", "complaint": "airbag lamp on"}
SLOW = settings(max_examples=40)
BEYOND_A_SCHEMA = ("lies before opened", "lies below the range's start")
odd_values: st.SearchStrategy[Any] = st.sampled_from(
    [None, True, -1, 0, 1, 1.0, 1.5, 2.0**31, 2**31 - 1, 2**31, "", " ", "\n", "x", "x\n", "\x00",
     "\x7f", "\t", "P0301", "P0301\n", "p0301", "B1234-1B stored", "P0301 stored\n", "1B", "1b",
     "open", "worn", "range", "over range", "exact", "2026-03-02", "2026-03-02\n", "1899-12-31",
     "2100-12-31", "2101-01-01", "2026-02-30", "20260302", "W" * 17, "W" * 18, "A" * 10_001,
     [], {}, ["x"], [None], ["P0301"]]
)  # fmt: skip


def test_it_is_a_schema_of_the_draft_it_names() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "$id" not in SCHEMA
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA


def test_every_part_is_titled_and_described() -> None:
    for name, definition in {"Job": SCHEMA, **SCHEMA["$defs"]}.items():
        assert definition["description"].endswith("."), name
    assert SCHEMA["title"] == "Job"


@SLOW
@given(jobs())
def test_what_is_written_is_valid(job: Job) -> None:
    assert VALIDATOR.is_valid(json.loads(json.dumps(job_to_record(job))))


@st.composite
def spoiled(draw: st.DrawFn) -> dict[str, Any]:
    """A job's record with one value, at any depth, made another."""
    record: Any = copy.deepcopy(job_to_record(draw(jobs())))
    inner = record
    while True:
        keys: list[Any] = list(inner) if isinstance(inner, dict) else list(range(len(inner)))
        deeper = [key for key in keys if isinstance(inner[key], dict | list) and inner[key]]
        if not deeper or draw(st.sampled_from([True, False])):
            break
        inner = inner[draw(st.sampled_from(deeper))]
    if keys and draw(st.sampled_from([True, False])):
        key = draw(st.sampled_from(keys))
        if draw(st.sampled_from([True, False])):
            inner[key] = draw(odd_values)
        else:
            del inner[key]
    elif isinstance(inner, dict):
        names = ["uid", "closed", "number", "vin", "year", "status", "relation", "quantity",
                 "value", "upper", "minutes", "words", "supposed", "codes", "x"]  # fmt: skip
        inner[draw(st.sampled_from(names))] = draw(odd_values)
    return record  # type: ignore[no-any-return]


@SLOW
@given(spoiled())
def test_schema_and_forms_accept_the_same(record: dict[str, Any]) -> None:
    """Apart from what no schema can say, and from the shorthand that forms read beyond it."""
    valid = VALIDATOR.is_valid(record)
    refusal = _refusal(record)
    if refusal is None:
        has_text_codes = any(isinstance(code, str) for code in record.get("codes", []))
        assert valid or has_text_codes or _has_redundant_reading(record)
    elif valid:
        typed_alone = refusal.field.startswith("readings[")
        assert typed_alone or refusal.cure.startswith(BEYOND_A_SCHEMA), refusal


def _refusal(record: dict[str, Any]) -> InvalidField | None:
    try:
        job_from_record(record)
    except InvalidField as error:
        return error
    return None


def _has_redundant_reading(record: dict[str, Any]) -> bool:
    """Whether a reading is read from its typed text though it says more than that."""
    return any(reading.get("value") is None for reading in record.get("readings", []))


@pytest.mark.parametrize(
    ("change", "valid"),
    [
        ({}, True),
        ({"opened": f"{FIRST_YEAR}-01-01"}, True),
        ({"opened": f"{FIRST_YEAR - 1}-12-31"}, False),
        ({"opened": f"{LAST_YEAR}-12-31"}, True),
        ({"opened": f"{LAST_YEAR + 1}-01-01"}, False),
        ({"opened": "2026-02-30"}, False),
        ({"opened": "2026-03-02\n"}, False),
        ({"complaint": "\t\n"}, False),
        ({"complaint": "x" * 10_000}, True),
        ({"complaint": "x" * 10_001}, False),
        ({"complaint": "bell \x07"}, False),
        ({"colour": "red"}, False),
        ({"vehicle": {"vin": "1M8GDM9AXKP042788"}}, True),
        ({"vehicle": {"vin": "1M8GDM9AXKPO42788"}}, False),
        ({"vehicle": {"year": 1899}}, False),
        ({"codes": ["B1234-1B stored", "P0301", {"code": "C0035", "status": None}]}, True),
        ({"codes": [{"code": "P0301\n"}]}, False),
        ({"codes": [{"code": "P4301"}]}, False),
        ({"uid": "x" * 200, "vehicle": {"ref": "x" * 200}}, True),
        ({"uid": "x" * 201}, False),
        ({"vehicle": {"ref": "x" * 201}}, False),
        ({"number": 0}, False),
        ({"number": 7.0}, True),
        ({"readings": [{"item": "battery", "typed": "12.1 V"}]}, True),
        ({"readings": [{"item": "battery"}]}, False),
        ({"readings": [{"item": "a", "typed": "b", "value": 1}]}, False),
        ({"readings": [{"item": "a", "typed": "b", "quantity": "voltage", "value": 1}]}, True),
        ({"readings": [{"item": "a", "typed": "b", "quantity": "voltage", "value": 1,
                        "upper": 2}]}, False),
        ({"readings": [{"item": "a", "typed": "b", "quantity": "voltage", "value": 1,
                        "upper": 2, "relation": "range"}]}, True),
        ({"readings": [{"item": "a", "typed": "b", "quantity": "voltage", "value": 1,
                        "relation": "over range"}]}, False),
        ({"readings": [{"item": "a", "typed": "b", "quantity": "resistance",
                        "relation": "over range"}]}, True),
        ({"attempts": [{"action": "cleaned", "component": "a", "parts_cost": -1}]}, False),
        ({"contacts": [{"on": "1700-01-01", "outcome": "held"}]}, True),
    ],
)  # fmt: skip
def test_schema_and_forms_agree_on(change: dict[str, Any], valid: bool) -> None:
    record = {**LEAST, **change}
    assert VALIDATOR.is_valid(record) is valid
    assert (_refusal(record) is None) is valid


def test_shorthand_that_cannot_be_read_is_beyond_a_schema() -> None:
    record = {**LEAST, "readings": [{"item": "battery", "typed": "flat"}]}
    assert VALIDATOR.is_valid(record)
    assert _refusal(record) is not None
