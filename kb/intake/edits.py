"""Edits of a job as people type them: ``cause.component=seat connector``."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import is_dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from functools import partial
from itertools import chain, pairwise
from typing import Any, TypeVar

import msgspec

from kb.case import (
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    Job,
    Reading,
    Stage,
    System,
    TroubleCode,
    Vehicle,
    same_text,
)
from kb.errors import InvalidField
from kb.intake.causes import read_cause
from kb.intake.codes import find_codes, parse_code
from kb.intake.days import heard_on
from kb.intake.distances import ODOMETER, lift_odometer_beside_car, parse_odometer
from kb.intake.forms import (
    decoded,
    holds_list,
    job_from_record,
    job_to_record,
    kind_at,
    steps,
    unknown_key,
)
from kb.intake.other_kinds import check_kind
from kb.intake.readings import parse_reading
from kb.intake.sheets import columns
from kb.intake.single_facts import parse_attempt, parse_contact, parse_test
from kb.intake.systems import parse_system
from kb.intake.vehicle import parse_vehicle
from kb.patterns import compiled

_STEP = compiled(r"(?P<name>[a-z_]+)(?P<place>\[[0-9]{1,9}\])?")
_PATH = compiled(r"[a-z_]+(?:\[[0-9]{1,9}\])?(?:\.[a-z_]+(?:\[[0-9]{1,9}\])?)*")
KEPT = ("number", "uid")
"""What a job keeps for life."""
GIVEN = {
    "confirmations": (
        "is never edited; give it again: kb --who INITIALS next-test JOB --confirm STEP"
    ),
    "entries": "is kept as it was typed; correct what was lifted from it, or add a line",
    "said": "tells where in an entry it was said; that is never edited",
}
"""Fields of what somebody vouched for or typed, and why they are never edited."""
_DERIVED = ("quantity", "relation", "value", "upper", "condition")
"""What is read from a reading's `typed` again when that is edited."""
Parsers = Mapping[Any, Callable[[str], object]]
"""What reads the text of a whole value, by the kind of value."""
_TELLS_FOUND = compiled(r"\b(?:as found|before|vorher|avant|przed)\b", re.IGNORECASE)
P = TypeVar("P", Contact, Reading)
_TRUTH = {"yes": True, "y": True, "no": False, "n": False}


def edited(
    job: Job,
    edits: Iterable[str],
    *,
    today: date,
    vehicles: Sequence[Vehicle] = (),
    causes: Sequence[Cause] = (),
) -> Job:
    """Return a job with some of its fields set.

    Each edit is ``field=value``; the field is a path such as ``odometer_km``, ``vehicle.year`` or
    ``readings[0].typed``. An empty value takes the field, or the item of a list, away; the place
    behind the last one adds an item. A whole vehicle, cause or item may be given as the command
    line takes it elsewhere (``attempts[0]=cleaned seat connector``) or as JSON; items of a list are
    parted by semicolons. A car told anew by make and model stays the one of its key tag and VIN if
    these are as before; a distance told with it is the odometer's. A contact told anew keeps day,
    odometer and job where it tells none, and a new one that names no day is of today; text of
    another kind of fact is refused; a cause told by the name of one of the shop's `causes` is that
    one.

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
    parsers: dict[Any, Callable[[str], object]] = {
        Vehicle: lambda text: _same_car(parse_vehicle(text, vehicles).vehicle, job.vehicle),
        Cause: lambda text: read_cause(text, causes),
        TroubleCode: parse_code,
        Reading: parse_reading,
        DiagnosticTest: parse_test,
        Attempt: parse_attempt,
        System: parse_system,
    }
    record: dict[str, Any] = job_to_record(job)
    for edit in chain.from_iterable(map(_with_distance, edits)):
        path, equals, text = edit.partition("=")
        path = path.strip()
        if not equals:
            raise InvalidField("edit", edit, "must be written as field=value")
        if not _leads_somewhere(path):
            raise unknown_key(path, text, columns())
        if path in KEPT:
            raise InvalidField(path, text, "cannot be changed; a job keeps it for life")
        for step in steps(path):
            if step in GIVEN:
                raise InvalidField(path, text, GIVEN[str(step)])
        anew: dict[Any, Callable[[str], object]] = {
            Contact: partial(_heard, record=record, path=path, today=today),
            Reading: partial(_measured, record=record, path=path),
        }
        _check_kinds(path, text.strip(), today)
        _set(record, path, _value(path, text.strip(), parsers | anew))
    return job_from_record(record)


def car_doubts(edits: Iterable[str], vehicles: Sequence[Vehicle]) -> Iterator[str]:
    """Yield what was doubtful in cars told anew: a word that means nothing is lost else.

    Examples
    --------
    >>> list(car_doubts(["vehicle=Corvane Lido", "conditions=wet"], [Vehicle(make="Corvane")]))
    ["“Lido” is no model on the shop's list; taken as typed"]
    """
    for edit in chain.from_iterable(map(_with_distance, edits)):
        path, _, text = edit.partition("=")
        if path.strip() == "vehicle" and text.strip() and not text.strip().startswith("{"):
            yield from map(str, parse_vehicle(text, vehicles).doubts)


def _with_distance(edit: str) -> list[str]:
    """Part a distance told with a car from it: it is the odometer's."""
    path, _, text = edit.partition("=")
    if path.strip() != "vehicle" or text.strip().startswith("{"):
        return [edit]
    driven, car = lift_odometer_beside_car(text)
    if driven is None:
        return [edit]
    car = car.strip(" ,;")
    return [*([f"vehicle={car}"] if car else []), f"odometer_km={driven.km}"]


def _check_kinds(path: str, text: str, today: date) -> None:
    """Refuse a whole item told in the words of another kind of fact."""
    if text and path.endswith("]") and not text.startswith(("[", "{")):
        check_kind(kind_at(path), text, path, today)


def _heard(text: str, record: Mapping[str, Any], path: str, today: date) -> Contact:
    """Read a contact told anew; day, odometer and job of the one before stay if not told.

    Raises
    ------
    InvalidField
        If it names a time that is no one day, so that nobody can tell whether the old day stays.
    """
    told, on = parse_contact(text, today), heard_on(text, today)
    before = _before(record, path, Contact)
    if before is None:
        return told
    if on.doubt is not None and on.day is None:
        raise InvalidField(path, on.doubt.text, "names no one day; write it as 2026-03-02")
    return replace(
        told,
        on=told.on if on.day else before.on,
        odometer_km=before.odometer_km if told.odometer_km is None else told.odometer_km,
        job=before.job if told.job is None else told.job,
        by=before.by,
    )


def _measured(text: str, record: Mapping[str, Any], path: str) -> Reading:
    """Read a reading told anew; that it was taken after a fix stays if nothing is told of it."""
    told, before = parse_reading(text), _before(record, path, Reading)
    if before is None or _TELLS_FOUND.search(text):
        return told
    return replace(told, stage=before.stage) if told.stage is Stage.AS_FOUND else told


def _before(record: Mapping[str, Any], path: str, kind: type[P]) -> P | None:
    """Return the part of a list that a path leads to; None where none stands there yet."""
    place = next((step for step in steps(path) if isinstance(step, int)), None)
    known = record.get(path.partition("[")[0], [])
    return None if place is None or place >= len(known) else msgspec.convert(known[place], kind)


def _same_car(told: Vehicle, before: Vehicle) -> Vehicle:
    """Return a car told anew, with tag and VIN of the one before if it may be that one."""
    if told.ref or told.vin:
        return told
    names = ((told.make, before.make), (told.model, before.model))
    if all(None in pair or same_text(*pair) for pair in names):
        return replace(told, ref=before.ref, vin=before.vin)
    return told


def _leads_somewhere(path: str) -> bool:
    """Whether a path is of fields a job has, with places in its lists and nowhere else."""
    if not _PATH.fullmatch(path) or kind_at(path) is None:
        return False
    inner = (match for match in _STEP.finditer(path) if match.end() < len(path) or match["place"])
    return all(holds_list(path[: match.end("name")]) == bool(match["place"]) for match in inner)


def _value(path: str, text: str, parsers: Parsers) -> Any:
    """Return the value for a path as a record holds it; None for an empty text."""
    if not text:
        return None
    kind = kind_at(path)
    if text.startswith(("[", "{")) and (is_dataclass(kind) or holds_list(path)):
        return decoded(path, text)
    if not holds_list(path):
        return _one(path, kind, text, parsers)
    if kind is TroubleCode and (found := find_codes(text).codes):
        return msgspec.to_builtins(list(found))
    parts = [part.strip() for part in text.split(";") if part.strip()]
    return [_one(path, kind, part, parsers) for part in parts]


def _one(path: str, kind: Any, text: str, parsers: Parsers) -> Any:
    if kind in parsers:
        value = msgspec.to_builtins(parsers[kind](text))
        known = isinstance(value, dict)
        return {key: each for key, each in value.items() if each is not None} if known else value
    if path.endswith(ODOMETER):
        return parse_odometer(text, path).km
    if issubclass(kind, StrEnum):
        return text.casefold()
    if kind is bool and text.casefold() in _TRUTH:
        return _TRUTH[text.casefold()]
    if kind is str:
        return text
    # the signs that part thousands are taken out: 81,000
    plain = re.sub("[, ]", "", text) if kind in (int, float) else text
    try:
        return msgspec.to_builtins(msgspec.convert(plain, kind, strict=False))
    except (msgspec.ValidationError, UnicodeEncodeError):
        wanted = _NAMES.get(kind, f"value of its own; set one of its fields: {path}.NAME=...")
        raise InvalidField(path, text, f"is no {wanted}") from None


_NAMES = {
    int: "whole number",
    float: "number",
    bool: "yes or no",
    date: "day; write it as 2026-03-02",
    datetime: "moment; write it as 2026-03-02T14:30:00Z",
}


def _set(record: dict[str, Any], path: str, value: Any) -> None:
    """Set, or with None take away, what is at a path."""
    holder: Any = record
    for step, following in pairwise(every := list(steps(path))):
        if isinstance(step, str):
            holder = holder.setdefault(step, [] if isinstance(following, int) else {})
        elif step < len(holder):
            holder = holder[step]
        else:
            raise _no_such_place(path, step, len(holder))
    last = every[-1]
    if isinstance(last, int):
        if last > len(holder) or (last == len(holder) and value is None):
            raise _no_such_place(path, last, len(holder))
        holder[last : last + 1] = [] if value is None else [value]
    elif value is None:
        holder.pop(last, None)
    else:
        for name in _DERIVED if last == "typed" else ():
            holder.pop(name, None)
        holder[last] = value


def _no_such_place(path: str, place: int, count: int) -> InvalidField:
    return InvalidField(path, place, f"is no place in a list of {count}; places count from 0")
