"""The JSON Schema of a job's record, made from the vocabulary in `kb.case`.

Names, kinds and descriptions come from the dataclasses, bounds from `kb.bounds`; what belongs to
several fields at once, and shorthand, is written here. A test holds the whole against what
`kb.intake.forms` accepts.
"""

import math
import re
from datetime import date, datetime
from typing import Any

import msgspec

from kb import case
from kb.bounds import (
    CODE_PATTERN,
    FAILURE_TYPE_PATTERN,
    FIRST_YEAR,
    LAST_YEAR,
    LONGEST_TEXT,
    MOST_ITEMS,
    DayBounds,
    FieldType,
    NumberBounds,
    TextBounds,
    field_types,
)
from kb.case import CodeStatus, Job, Relation

DIALECT = "https://json-schema.org/draft/2020-12/schema"
PRINTABLE = r"^[^\u0000-\u0008\u000b-\u001f\u007f]*$"
_DAY = "-[0-9]{2}-[0-9]{2}"
_TIME = r"T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?(Z|[+-][0-9]{2}:[0-9]{2})"
_LONGEST_DAY, _LONGEST_MOMENT = 10, 40
_FIRST, *_OTHERS = range(FIRST_YEAR // 100, LAST_YEAR // 100)
"""The centuries within the bounds, but for the last year, which begins one more."""
_IN_OTHERS = "".join(f"|{century}[0-9]{{2}}" for century in _OTHERS)
_YEARS = f"({_FIRST}[0-9]{{2}}{_IN_OTHERS}|{LAST_YEAR})"
_INNER_YEARS = f"({_FIRST}(0[1-9]|[1-9][0-9]){_IN_OTHERS})"

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
            for field, held in field_types(getattr(case, name)).items():
                _bound(definition["properties"][field], held)
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


def _bound(kind: Schema, field: FieldType) -> None:
    """Put the bounds of a field on its property, inside the alternatives where it may be null."""
    for choice in kind.get("anyOf", [kind]):
        if choice.get("type") == "null":
            continue
        if field.is_list:
            choice["maxItems"] = MOST_ITEMS
        held = choice["items"] if field.is_list else choice
        bounds = _bounds(field)
        if "$ref" in bounds:
            del held["type"]
        held.update(bounds)


def _bounds(field: FieldType) -> Schema:
    bounds: Schema = {}
    match field.bounds:
        case TextBounds(pattern=None, longest=longest, filled=filled):
            bounds = {"$ref": f"#/$defs/{'Words' if filled else 'Text'}"}
            if longest != LONGEST_TEXT:
                bounds["maxLength"] = longest
        case TextBounds(pattern=re.Pattern(pattern=pattern), longest=longest):
            bounds = {"pattern": f"^{pattern}$", "maxLength": longest}
        case NumberBounds(least=least, most=most):
            limits = {"minimum": least, "maximum": most}
            bounds = {name: limit for name, limit in limits.items() if math.isfinite(limit)}
        case DayBounds() if field.kind is datetime:
            bounds = {"pattern": f"^{_INNER_YEARS}{_DAY}{_TIME}$", "maxLength": _LONGEST_MOMENT}
        case DayBounds():
            bounds = {"pattern": f"^{_YEARS}{_DAY}$", "maxLength": _LONGEST_DAY}
        case None if field.kind is date:
            bounds = {"pattern": f"^[0-9]{{4}}{_DAY}$", "maxLength": _LONGEST_DAY}
    return bounds


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
