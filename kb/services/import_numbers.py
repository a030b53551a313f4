"""Which rows of a file are of one job, and under which number of the store each is kept."""

from collections.abc import Container
from dataclasses import dataclass, field
from typing import Self
from uuid import UUID, uuid5

import msgspec

from kb.case import Job

_UID_SPACE = UUID("1a6b1c0e-5d1f-5c0b-9b57-6f3a4c1f7a52")


@dataclass(frozen=True, slots=True)
class RowName:
    """By what a row of a file is told from any other.

    `uid` is its job's own where it `is_stored`, as it comes out of a store; else it is made of what
    the row tells. `number` is the one in the file.
    """

    uid: str
    number: int | None
    is_stored: bool

    @classmethod
    def of(cls, job: Job) -> Self:
        """Tell a job from others."""
        if job.uid is not None:
            return cls(job.uid, job.number, is_stored=True)
        told = (job.number, job.opened, job.complaint, job.vehicle)
        made = uuid5(_UID_SPACE, msgspec.json.encode(told).decode()).hex
        return cls(made, job.number, is_stored=False)

    @property
    def says_which(self) -> bool:
        """Whether a row says by a number or uid which job it is of."""
        return self.is_stored or self.number is not None


@dataclass(slots=True)
class Rows:
    """Which rows of a file are of one job: those of one uid, or of one number and the same story.

    Rows that tell the same, but have neither number nor uid, are jobs of their own. The first
    reading finds which uids several rows have (`times`); in the second their first line is kept.
    """

    times: dict[str, int] = field(default_factory=dict)
    first_lines: dict[str, int] = field(default_factory=dict)

    def uid_of(self, row: RowName, seen: Container[str] = ()) -> str:
        """Return the uid of the next row: its own, or one made of what tells it from any other.

        In the first reading, `seen` has the uids of all rows before.
        """
        uid = row.uid
        if uid in seen:
            self.times.setdefault(uid, 1)
        if uid not in self.times:
            return uid
        self.times[uid] += 1
        if row.says_which or self.times[uid] == 1:
            return uid
        return uuid5(_UID_SPACE, f"{uid} {self.times[uid]}").hex

    def again(self) -> Self:
        """Return these rows for the second reading."""
        return type(self)(dict.fromkeys(self.times, 0))

    def earlier(self, line: int, row: RowName) -> int | None:
        """Return the line of the first row that tells the same; None where this is the first."""
        first = self.first_lines.setdefault(row.uid, line) if row.uid in self.times else line
        return None if first == line else first


@dataclass(slots=True)
class Numbers:
    """Under which number of the store each job of a file is, or will be, kept."""

    by_uid: dict[str, int] = field(default_factory=dict)
    by_number: dict[int, int] = field(default_factory=dict)
    """Number in the file -> number in the store."""
    rows: Rows = field(default_factory=Rows)

    def settle(self, uid: str, in_file: int | None, in_store: int) -> None:
        """Note the number of one job."""
        self.by_uid[uid] = in_store
        if in_file is not None:
            self.by_number.setdefault(in_file, in_store)
