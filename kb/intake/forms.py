"""A job as a record (nested mappings, lists and plain values) and back.

Records are what JSON Lines, TOML and CSV files hold, and what ``kb schema`` describes. A record
may be shorter than the job it stands for: a code may be text (``"B1234-13 stored"``), a reading
may give what was typed alone, and a job without a vehicle is one of an unknown vehicle.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from enum import StrEnum
from typing import Any

import msgspec

from kb.bounds import check_count, field_types
from kb.case import Job, Reading, Relation, TroubleCode
from kb.errors import InvalidField
from kb.intake.codes import parse_code
from kb.intake.readings import complete_reading
from kb.intake.wording import suggest
from kb.patterns import compiled

Record = Mapping[str, object]
LEAST_LIKENESS = 0.8
"""Likeness from which a known field is proposed for an unknown one: there are few of them."""
_STEP = compiled(r"\.?([^.\[\]]+)|\[(\d{1,9})\]")
_NO_PLACE = compiled(r"\[(?!\d{1,9}\])[^\]]*\]")


def job_from_record(record: Record) -> Job:
    """Make a job of a record.

    Its keys are the field names of `kb.case.Job` and of what it holds, its values as JSON or TOML
    give them; dates may be `datetime.date` or ISO 8601 text.

    Raises
    ------
    InvalidField
        If a key is unknown, a required one is missing, or a value does not fit. Its `field` is
        the path to the value: ``readings[2].value``.

    Examples
    --------
    >>> job = job_from_record({
    ...     "opened": "2026-03-02", "complaint": "airbag lamp on", "codes": ["B1234-1B stored"]
    ... })
    >>> str(job.codes[0]), job.codes[0].status.value, job.vehicle.label
    ('B1234-1B', 'stored', 'unknown vehicle')
    """
    whole = _completed(
        {"vehicle": {}, **record} if isinstance(record, Mapping) else record, Job, ""
    )
    try:
        return msgspec.convert(whole, Job)
    except msgspec.ValidationError as error:
        raise _explained(error, whole) from error


def job_to_record(job: Job) -> dict[str, object]:
    """Write a job as a record ready for JSON; what was not recorded is left out.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> job_to_record(Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank"))
    {'vehicle': {}, 'opened': '2026-03-02', 'complaint': 'no crank'}
    """
    record: dict[str, object] = _recorded(msgspec.to_builtins(job))
    return record


def kind_at(path: str) -> Any:
    """Type of the value at a path in a job: a dataclass, an enumeration or a plain type.

    A path has field names and places: ``cause.component``, ``attempts[0].action``, ``codes``. For a
    list, and for a place in it, it is the type of what it holds; None if a job has no such field.

    Examples
    --------
    >>> kind_at("attempts[0].action"), kind_at("odometer_km"), kind_at("colour")
    (<enum 'Action'>, <class 'int'>, None)
    """
    kind: Any = Job
    for step in steps(path):
        if isinstance(step, str):
            field = field_types(kind).get(step)
            kind = None if field is None else field.kind
    return kind


def holds_list(path: str) -> bool:
    """Whether the field at a path is a list: ``codes`` is one, ``codes[0]`` is not.

    Examples
    --------
    >>> holds_list("tests[0].clears"), holds_list("codes[0]"), holds_list("complaint")
    (True, False, False)
    """
    owner, _, name = path.rpartition(".")
    field = field_types(kind_at(owner)).get(name)
    return field is not None and field.is_list


def is_path(path: str) -> bool:
    """Whether a path leads to one value: after each list that it goes into stands one place.

    Examples
    --------
    >>> [is_path(path) for path in ("attempts[0].cured", "codes", "cause.component")]
    [True, True, True]
    >>> [is_path(path) for path in ("attempts.cured", "attempts[0][1].cured", "attempts[cured")]
    [False, False, False]
    """
    kind, is_list, told = Job, False, ""
    for step in steps(path):
        if isinstance(step, int):
            if not is_list:
                return False
            is_list, told = False, f"{told}[{step}]"
        else:
            field = None if is_list else field_types(kind).get(step)
            if field is None:
                return False
            kind, is_list, told = field.kind, field.is_list, f"{told}.{step}" if told else step
    return told == path != ""


def steps(path: str) -> Iterator[str | int]:
    """Part a path into field names and places.

    Examples
    --------
    >>> list(steps("readings[2].value"))
    ['readings', 2, 'value']
    """
    for name, place in _STEP.findall(path):
        yield name or int(place)


def unknown_key(path: str, value: object, known: Sequence[str]) -> InvalidField:
    """Say that there is no such field, and which one was probably meant."""
    if strange := _NO_PLACE.search(path):
        cure = f"has {strange[0]} for a place in a list; they count from 0, as in attempts[0].cured"
        return InvalidField(path, value, cure)
    name = path.rpartition(".")[2]
    near = suggest(name, known, limit=1, least=LEAST_LIKENESS)
    cure = f"did you mean {near[0]}?" if near else f"known are {', '.join(known)}"
    return InvalidField(path, value, f"stands under an unknown name; {cure}")


def once_only(text: str) -> Any:
    """Read JSON whose objects name nothing twice.

    Raises
    ------
    InvalidField
        If one does, for only one of the two could be kept.
    msgspec.DecodeError
        If it is no JSON.
    RecursionError
        If it is too deep.
    UnicodeEncodeError
        If it holds half a character.
    """
    value = msgspec.json.decode(text)  # stricter: what the other takes besides, as NaN, is refused
    json.loads(text, object_pairs_hook=_refuse_twice)
    return value


def _refuse_twice(pairs: Sequence[tuple[str, object]]) -> None:
    names = [name for name, _ in pairs]
    if len(set(names)) < len(names):
        name = next(name for place, name in enumerate(names) if name in names[:place])
        raise InvalidField(name, dict(reversed(pairs))[name], "stands twice; leave one of them")


def decoded(path: str, text: str) -> Any:
    """Read the JSON that somebody typed for a field.

    Raises
    ------
    InvalidField
        If it is none, or names something twice.
    """
    try:
        return once_only(text)
    except (msgspec.DecodeError, RecursionError, UnicodeEncodeError) as error:
        raise InvalidField(path, text, f"is no JSON: {error}") from error


_LIST, _PLAIN = (list, tuple), (str, int)


def _completed(value: object, kind: Any, path: str) -> object:
    """Check the names in a record and write its shorthand out, all the way down."""
    if isinstance(value, _LIST):
        check_count(path, value)
        return [
            item if isinstance(item, _LIST) else _completed(item, kind, f"{path}[{place}]")
            for place, item in enumerate(value)  # a job has no list in a list
        ]
    if kind is TroubleCode and isinstance(value, str):
        return _placed(path, lambda: parse_code(value))
    if kind is int and isinstance(value, float) and value.is_integer():
        return int(value)  # JSON has one kind of number
    known = field_types(kind)
    if not known or not isinstance(value, Mapping):
        return value
    inner = {}
    for key, content in value.items():
        field = known.get(key)
        if field is None:
            raise unknown_key(_under(path, key), content, tuple(known))
        is_whole = (
            content is None
            or isinstance(content, _PLAIN)
            or (field.is_list and not isinstance(content, _LIST))
        )
        inner[key] = content if is_whole else _completed(content, field.kind, _under(path, key))
    if kind is Reading and _is_typed_alone(inner):
        return _placed(path, lambda: complete_reading(inner))
    for name, told in known.items():
        if told.required and name not in inner:
            raise InvalidField(_under(path, name), None, "is missing; give it")
    return inner


def _under(path: str, name: object) -> str:
    return f"{path}.{name}" if path else str(name)


def _is_typed_alone(record: Record) -> bool:
    return (
        isinstance(record.get("typed"), str)
        and isinstance(record.get("item"), str)
        and record.get("value") is None
        and record.get("relation") != Relation.OVER_RANGE
    )


def _placed(path: str, make: Any) -> object:
    """Name the place in the record in an error about a part of it."""
    try:
        return make()
    except InvalidField as error:
        raise _moved(error, path) from error


def _moved(error: InvalidField, path: str) -> InvalidField:
    return InvalidField(_under(path, error.field), error.value, error.cure)


def _explained(error: msgspec.ValidationError, record: object) -> InvalidField:
    """Turn the conversion's message, which ends in a path, into the field, value and cure."""
    said, _, where = str(error).partition(" - at `$")
    path = where.rstrip("`").removeprefix(".")
    if isinstance(error.__cause__, InvalidField):
        return _moved(error.__cause__, path)
    value: Any = record
    for step in steps(path):
        value = value[step]
    kind = kind_at(path)
    if isinstance(kind, type) and issubclass(kind, StrEnum) and isinstance(value, str):
        return InvalidField(path, value, f"must be one of: {', '.join(kind)}")
    cure = _WANTED.get(kind)
    if said.startswith("Expected `array"):
        cure = "must be a list"
    if cure is None or not said.startswith("Expected `"):
        cure = f"does not fit: {said.replace('`', '')}"
    return InvalidField(path or "job", value, cure)


_WANTED = {
    int: "must be a whole number",
    float: "must be a number",
    bool: "must be true or false",
    str: "must be a text",
    date: "must be a day, as 2026-03-02",
    datetime: "must be a moment, as 2026-03-02T08:30:00Z",
}
"""What a value of another type must be."""


def _recorded(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _recorded(item) for key, item in value.items() if item not in (None, [], ())}
    if isinstance(value, list | tuple):
        return [_recorded(item) for item in value]
    return value
