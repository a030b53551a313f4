"""Edits of a job as people type them: ``cause.component=seat connector``."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import is_dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

import msgspec

from kb.case import (
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    Job,
    Reading,
    System,
    TroubleCode,
    Vehicle,
)
from kb.errors import InvalidField
from kb.intake.codes import find_codes, parse_code
from kb.intake.findings import parse_attempt, parse_cause, parse_contact, parse_test
from kb.intake.forms import (
    decoded,
    holds_list,
    job_from_record,
    job_to_record,
    kind_at,
    steps,
    unknown_key,
)
from kb.intake.readings import parse_reading
from kb.intake.sheets import columns
from kb.intake.systems import parse_system
from kb.intake.vehicle import parse_vehicle

_STEP = re.compile(r"(?P<name>[a-z_]+)(?P<place>\[[0-9]{1,9}\])?")
_PATH = re.compile(r"[a-z_]+(?:\[[0-9]{1,9}\])?(?:\.[a-z_]+(?:\[[0-9]{1,9}\])?)*")
KEPT = ("number", "uid")
"""What a job keeps for life."""
GIVEN = "confirmations"
"""Field of what somebody vouched for: it is given again, never edited."""
_DERIVED = ("quantity", "relation", "value", "upper", "condition")
"""What is read from a reading's `typed` again when that is edited."""
_TRUTH = {"yes": True, "y": True, "no": False, "n": False}


def edited(job: Job, edits: Iterable[str], *, today: date, vehicles: Sequence[Vehicle] = ()) -> Job:
    """Return a job with some of its fields set.

    Each edit is ``field=value``; the field is a path such as ``odometer_km``, ``vehicle.year`` or
    ``readings[0].typed``. An empty value takes the field, or the item of a list, away; the place
    behind the last one adds an item. A whole vehicle, cause or item may be given as the command
    line takes it elsewhere (``attempts[0]=cleaned seat connector``) or as JSON; items of a list are
    parted by semicolons. A contact that names no day is of today.

    Raises
    ------
    InvalidField
        If there is no such field, it is kept for life, or the value does not fit.

    Examples
    --------
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank")
    >>> after = edited(job, ["vehicle.make=Corvane", "codes=P0335 stored"], today=date.today())
    >>> after.vehicle.label, str(after.codes[0])
    ('Corvane', 'P0335')
    """
    reader = _Reader(today, vehicles)
    record: dict[str, Any] = job_to_record(job)
    for edit in edits:
        path, equals, text = edit.partition("=")
        path = path.strip()
        if not equals:
            raise InvalidField("edit", edit, "must be written as field=value")
        if not _leads_somewhere(path):
            raise unknown_key(path, text, columns())
        if path in KEPT:
            raise InvalidField(path, text, "cannot be changed; a job keeps it for life")
        if path.partition("[")[0] == GIVEN:
            raise InvalidField(
                path,
                text,
                "is never edited; give it again: kb --who INITIALS next-test JOB --confirm STEP",
            )
        _set(record, path, reader.read(path, text.strip()))
    return job_from_record(record)


def _leads_somewhere(path: str) -> bool:
    """Whether a path is of fields a job has, with places in its lists and nowhere else."""
    if not _PATH.fullmatch(path) or kind_at(path) is None:
        return False
    inner = (match for match in _STEP.finditer(path) if match.end() < len(path) or match["place"])
    return all(holds_list(path[: match.end("name")]) == bool(match["place"]) for match in inner)


class _Reader:
    """Turns typed text into what its field holds."""

    def __init__(self, today: date, vehicles: Sequence[Vehicle]) -> None:
        self._parsers: Mapping[Any, Callable[[str], object]] = {
            Vehicle: lambda text: parse_vehicle(text, vehicles).vehicle,
            Cause: parse_cause,
            TroubleCode: parse_code,
            Reading: parse_reading,
            DiagnosticTest: parse_test,
            Attempt: parse_attempt,
            Contact: lambda text: parse_contact(text, today),
            System: parse_system,
        }

    def read(self, path: str, text: str) -> Any:
        """Return the value for a path as a record holds it; None for an empty text."""
        if not text:
            return None
        kind = kind_at(path)
        if text.startswith(("[", "{")) and (is_dataclass(kind) or holds_list(path)):
            return decoded(path, text)
        if not holds_list(path):
            return self._one(path, kind, text)
        if kind is TroubleCode and (found := find_codes(text).codes):
            return msgspec.to_builtins(list(found))
        parts = [part.strip() for part in text.split(";") if part.strip()]
        return [self._one(path, kind, part) for part in parts]

    def _one(self, path: str, kind: Any, text: str) -> Any:
        if kind in self._parsers:
            return _bare(msgspec.to_builtins(self._parsers[kind](text)))
        if issubclass(kind, StrEnum):
            return text.casefold()
        if kind is bool and text.casefold() in _TRUTH:
            return _TRUTH[text.casefold()]
        if kind is str:
            return text
        try:
            return msgspec.to_builtins(msgspec.convert(_ungrouped(kind, text), kind, strict=False))
        except msgspec.ValidationError:
            raise InvalidField(path, text, f"is no {_NAMES[kind]}") from None


_NAMES = {
    int: "whole number",
    float: "number",
    bool: "yes or no",
    date: "day; write it as 2026-03-02",
    datetime: "moment; write it as 2026-03-02T14:30:00Z",
}


def _ungrouped(kind: type, text: str) -> str:
    """Take the signs out that part thousands: ``81,000``."""
    return text.replace(",", "").replace(" ", "") if kind in (int, float) else text


def _bare(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: content for key, content in value.items() if content is not None}
    return value


def _set(record: dict[str, Any], path: str, value: Any) -> None:
    """Set, or with None take away, what is at a path."""
    *parents, last = steps(path)
    holder: Any = record
    for place, step in enumerate(parents):
        following = parents[place + 1] if place + 1 < len(parents) else last
        holder = _inside(holder, path, step, [] if isinstance(following, int) else {})
    if isinstance(last, int):
        _set_item(holder, path, last, value)
    elif value is None:
        holder.pop(last, None)
    else:
        if last == "typed":
            for name in _DERIVED:
                holder.pop(name, None)
        holder[last] = value


def _inside(holder: Any, path: str, step: str | int, empty: Any) -> Any:
    if isinstance(step, int):
        if step >= len(holder):
            raise _no_such_place(path, step, len(holder))
        return holder[step]
    return holder.setdefault(step, empty)


def _set_item(items: list[Any], path: str, place: int, value: Any) -> None:
    if place > len(items) or (place == len(items) and value is None):
        raise _no_such_place(path, place, len(items))
    items[place : place + 1] = [] if value is None else [value]


def _no_such_place(path: str, place: int, count: int) -> InvalidField:
    return InvalidField(path, place, f"is no place in a list of {count}; places count from 0")
