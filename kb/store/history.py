"""What an edit changed, field by field."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import msgspec

from kb.case import Job

ADDED = "added"
"""Field of the change that marks a job's first storing."""
ERASED = "erased"
"""Field of the change that says that a text was erased, and not which."""
TAKEN_BACK = "undo"
"""Field of the change that names the entry which was taken back by it and those beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One field's change. `sequence` grows with every change of the store.

    `field` is a path such as ``readings[0].value``; `old` and `new` are JSON values, None where
    there was, or is, nothing. `job` is None for a change of the shop's words.
    """

    sequence: int
    job: int | None
    at: datetime
    who: str | None
    field: str
    old: Any
    new: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeSet:
    """One entry of the history: what one command stored, or nothing of it. Never empty.

    `undone_by` is the entry that took it back, and was not itself taken back.
    """

    changes: tuple[Change, ...]
    undone_by: int | None = None

    @property
    def sequence(self) -> int:
        """Number of the entry: that of its first change."""
        return self.changes[0].sequence

    @property
    def at(self) -> datetime:
        """When it was stored."""
        return self.changes[0].at

    @property
    def who(self) -> str | None:
        """Initials of who stored it."""
        return self.changes[0].who

    @property
    def jobs(self) -> tuple[int, ...]:
        """Numbers of the jobs it changed, in the order it did."""
        return tuple(dict.fromkeys(each.job for each in self.changes if each.job is not None))

    @property
    def takes_back(self) -> int | None:
        """Number of the entry that it took back; None if it is no such entry."""
        return next((each.new for each in self.changes if each.field == TAKEN_BACK), None)

    def of(self, job: int) -> tuple[Change, ...]:
        """Its changes of one job."""
        return tuple(each for each in self.changes if each.job == job)


@dataclass(frozen=True, slots=True)
class Difference:
    """A field's path with its JSON value before and after."""

    field: str
    old: Any
    new: Any


def differences(old: Job, new: Job) -> list[Difference]:
    """List the fields in which two jobs differ, as deep as both have them.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="door lock dead")
    >>> differences(job, replace(job, vehicle=Vehicle(make="Corvane"), odometer_km=81000))
    [Difference(field='vehicle.make', old=None, new='Corvane'),
     Difference(field='odometer_km', old=None, new=81000)]
    """
    return list(_compare("", msgspec.to_builtins(old), msgspec.to_builtins(new)))


def _compare(path: str, old: Any, new: Any) -> Iterator[Difference]:
    if old == new:
        return
    if isinstance(old, dict) and isinstance(new, dict):
        for name in old:
            yield from _compare(f"{path}.{name}" if path else name, old[name], new[name])
    elif isinstance(old, tuple) and isinstance(new, tuple):
        for place in range(max(len(old), len(new))):
            before = old[place] if place < len(old) else None
            after = new[place] if place < len(new) else None
            yield from _compare(f"{path}[{place}]", before, after)
    else:
        yield Difference(path, old, new)
