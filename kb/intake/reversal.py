"""A job as it was before some of its fields changed."""

from collections.abc import Sequence
from typing import Any, Protocol

import msgspec

from kb.case import Job
from kb.errors import Conflict
from kb.intake.forms import job_from_record, steps


class Changed(Protocol):
    """One field's change: a path, with the JSON values before and after."""

    @property
    def field(self) -> str:
        """The path, as ``readings[0].value``."""

    @property
    def old(self) -> Any:
        """What was there before; None for nothing."""

    @property
    def new(self) -> Any:
        """What was there after; None for nothing."""


class ChangedSince(Conflict):
    """A field is no longer as a change left it. `field` says which."""

    def __init__(self, field: str) -> None:
        self.field = field
        super().__init__(f"{field}: was changed since")


def reversed_job(job: Job, changes: Sequence[Changed]) -> Job:
    """Return a job with some changes of it taken back, all of them or none.

    Raises
    ------
    ChangedSince
        If a field is no longer as its change left it.
    InvalidField
        If what was there before does not fit what is there now.
    """
    record: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(job))
    for change in changes:
        if _told(_at(record, change.field)) != _told(change.new):
            raise ChangedSince(change.field)
    for change in changes:
        _put(record, change.field, change.old)
    for change in changes:
        _close_gaps(record, change.field)
    return job_from_record(record)


def _at(record: Any, path: str) -> Any:
    """Return what is at a path: None behind the end of a list, and where there is nothing.

    Raises
    ------
    ChangedSince
        If what should hold it is gone.
    """
    for step in steps(path):
        if isinstance(step, str) and isinstance(record, dict):
            record = record.get(step)
        elif isinstance(step, int) and isinstance(record, list):
            record = record[step] if step < len(record) else None
        else:
            raise ChangedSince(path)
    return record


def _told(value: Any) -> Any:
    """Return a value without its fields that tell nothing: later programs may have more of them."""
    if isinstance(value, dict):
        return {key: _told(part) for key, part in value.items() if part not in (None, [], ())}
    return [_told(part) for part in value] if isinstance(value, list | tuple) else value


def _put(record: Any, path: str, value: Any) -> None:
    """Set what is at a path; a list is lengthened up to it."""
    *way, last = steps(path)
    for step in way:
        record = record[step]
    if isinstance(last, int):
        record += [None] * (last + 1 - len(record))
    record[last] = value


def _close_gaps(record: Any, path: str) -> None:
    """Take out of the lists along a path the places that hold nothing any more."""
    for step in steps(path):
        if isinstance(record, list):
            record[:] = [item for item in record if item is not None]
            record = record[step] if isinstance(step, int) and step < len(record) else None
        else:
            record = record.get(step) if isinstance(record, dict) else None
