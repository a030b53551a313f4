"""The JSON Schema of a job's record, made from the vocabulary in `kb.case`.

Names, kinds and descriptions come from the dataclasses; what their checks add (bounds, patterns,
shorthand) is written here, where a test holds it against what `kb.intake.forms` accepts.
"""

from typing import Any

import msgspec

from kb.case import (
    CODE_PATTERN,
    FAILURE_TYPE_PATTERN,
    FIRST_YEAR,
    LARGEST_INTEGER,
    LAST_YEAR,
    LONGEST_KEY,
    LONGEST_TEXT,
    VIN_PATTERN,
    CodeStatus,
    Job,
    Relation,
)

DIALECT = "https://json-schema.org/draft/2020-12/schema"
PRINTABLE = r"^[^\u0000-\u0008\u000b-\u001f\u007f]*$"
DAY = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
MOMENT = (
    "^(19(0[1-9]|[1-9][0-9])|20[0-9]{2})-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}"
    r"(\.[0-9]+)?(Z|[+-][0-9]{2}:[0-9]{2})$"
)
DAY_IN_YEARS = "^(19[0-9]{2}|20[0-9]{2}|2100)-[0-9]{2}-[0-9]{2}$"

Schema = dict[str, Any]

_NAMED_TEXTS = {
    "Text": {
        "type": "string",
        "description": "No control characters but line ends and tabs.",
        "maxLength": LONGEST_TEXT,
        "pattern": PRINTABLE,
    },
    "Words": {
        "description": "A text that says something.",
        "$ref": "#/$defs/Text",
        "pattern": r"\S",
    },
}
_WORDS = {
    "Job": ("complaint", "uid"),
    "Vehicle": ("make", "model", "engine", "vin", "ref"),
    "Reading": ("item", "typed"),
    "DiagnosticTest": ("name", "seen"),
    "Cause": ("component",),
    "Attempt": ("component",),
    "Link": ("name",),
    "Confirmation": ("step", "by"),
}
_BOUNDS: dict[tuple[str, str], Schema] = {
    ("Job", "opened"): {"pattern": DAY_IN_YEARS, "maxLength": 10},
    ("Job", "closed"): {"pattern": DAY_IN_YEARS, "maxLength": 10},
    ("Contact", "on"): {"pattern": DAY, "maxLength": 10},
    ("Confirmation", "at"): {"pattern": MOMENT, "maxLength": 40},
    ("Job", "number"): {"minimum": 1, "maximum": LARGEST_INTEGER},
    ("Contact", "job"): {"minimum": 1, "maximum": LARGEST_INTEGER},
    ("Job", "odometer_km"): {"minimum": 0, "maximum": LARGEST_INTEGER},
    ("Contact", "odometer_km"): {"minimum": 0, "maximum": LARGEST_INTEGER},
    ("DiagnosticTest", "minutes"): {"minimum": 0, "maximum": LARGEST_INTEGER},
    ("Attempt", "minutes"): {"minimum": 0, "maximum": LARGEST_INTEGER},
    ("Attempt", "parts_cost"): {"minimum": 0},
    ("Vehicle", "year"): {"minimum": FIRST_YEAR, "maximum": LAST_YEAR},
    ("Job", "uid"): {"maxLength": LONGEST_KEY},
    ("Vehicle", "ref"): {"maxLength": LONGEST_KEY},
    ("Vehicle", "vin"): {"pattern": f"^{VIN_PATTERN.pattern}$", "maxLength": 17},
    ("TroubleCode", "code"): {"pattern": f"^{CODE_PATTERN.pattern}$", "maxLength": 5},
    ("TroubleCode", "failure_type"): {
        "pattern": f"^{FAILURE_TYPE_PATTERN.pattern}$",
        "maxLength": 2,
    },
}
_CODE_AS_TEXT = {
    "type": "string",
    "description": "Shorthand: code, perhaps with failure type and status, as B1234-1B stored.",
    "pattern": (
        f"^{CODE_PATTERN.pattern}(-{FAILURE_TYPE_PATTERN.pattern})?( ({'|'.join(CodeStatus)}))?$"
    ),
    "not": {"pattern": r"\n"},
}
_NOTHING = {"type": "null"}
_NUMBER = {"type": "number"}


def case_schema() -> Schema:
    """JSON Schema (draft 2020-12) of one job's record, as ``kb import`` takes it.

    Whatever `kb.intake.forms.job_to_record` writes is valid under it. What is valid under it is
    accepted by `kb.intake.forms.job_from_record`, but for what a schema cannot say: calendar days
    and times that exist, `closed` not before `opened`, the order of a range, a legible `typed`.

    Returns
    -------
    dict
        Ready for JSON.

    References
    ----------
    A. Wright, H. Andrews, B. Hutton, G. Dennis, "JSON Schema: A Media Type for Describing JSON
    Documents", draft-bhutton-json-schema-01, 2022.
    """
    made = msgspec.json.decode(msgspec.json.encode(msgspec.json.schema(Job)))
    definitions: dict[str, Schema] = made["$defs"]
    for name, definition in definitions.items():
        definition["description"] = " ".join(definition["description"].split())
        if "properties" in definition:
            definition["additionalProperties"] = False
            for field, kind in definition["properties"].items():
                _bound(kind, name, field)
    job, reading = definitions.pop("Job"), definitions["Reading"]
    job["required"].remove("vehicle")
    job["properties"]["codes"]["items"] = {
        "anyOf": [{"$ref": "#/$defs/TroubleCode"}, _CODE_AS_TEXT]
    }
    reading["required"].remove("quantity")
    reading["description"] += (
        " Shorthand: with `item` and `typed` alone, quantity and value are read from `typed`."
    )
    reading["allOf"] = [_value_fits_relation()]
    return {"$schema": DIALECT, **job, "$defs": {**definitions, **_NAMED_TEXTS}}


def _bound(kind: Schema, owner: str, field: str) -> None:
    """Put the bounds on a property, inside its alternatives where it may be null."""
    for choice in kind.get("anyOf", [kind]):
        bounds = _BOUNDS.get((owner, field), {})
        if choice.get("type") == "array" and choice["items"] == {"type": "string"}:
            choice["items"] = {"$ref": "#/$defs/Text"}
            continue
        if choice.get("type") == "string" and "pattern" not in bounds:
            del choice["type"]
            choice["$ref"] = f"#/$defs/{'Words' if field in _WORDS.get(owner, ()) else 'Text'}"
        if choice.get("type") != "null":
            choice.update(bounds)


def _value_fits_relation() -> Schema:
    """No value when over range, two for a range, one otherwise; none at all is shorthand."""
    return {
        "if": _relation_is(Relation.OVER_RANGE),
        "then": {
            "required": ["quantity"],
            "properties": {"value": _NOTHING, "upper": _NOTHING},
        },
        "else": {
            "if": _relation_is(Relation.RANGE),
            "then": {
                "required": ["quantity", "value", "upper"],
                "properties": {"value": _NUMBER, "upper": _NUMBER},
            },
            "else": {
                "properties": {"upper": _NOTHING},
                "if": {"required": ["value"], "properties": {"value": _NUMBER}},
                "then": {"required": ["quantity"]},
            },
        },
    }


def _relation_is(relation: Relation) -> Schema:
    return {"required": ["relation"], "properties": {"relation": {"const": relation.value}}}
