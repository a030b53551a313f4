"""What one person has on the desk: the job in hand, and what was typed and not stored yet.

A small file in the user's own state folder, one a person and store. It is a help and never
needed: what cannot be read counts as empty, and what cannot be written is not kept.
"""

import contextlib
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

import msgspec

from kb.files import read_whole, write_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand:
    """The job that is meant where no number is given, since a day."""

    job: int
    since: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Unstored:
    """Answers given to a command and not stored: question to answer, in the order given."""

    answers: dict[str, str]
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class _Content:
    in_hand: InHand | None = None
    unstored: dict[str, Unstored] = field(default_factory=dict)


class Desk:
    """The desk in a file, which need not be there."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def in_hand(self) -> InHand | None:
        """The job in hand; None if there is none."""
        return self._read().in_hand

    def take(self, job: int | None, since: date) -> bool:
        """Have a job in hand from now on, or none; whether that could be kept."""
        meant = InHand(job=job, since=since) if job is not None else None
        return self._write(replace(self._read(), in_hand=meant))

    def unstored(self, command: str) -> tuple[str, Unstored] | None:
        """The last answers to a command that were not stored, and the command with its job.

        Of a command with a job, as ``add 12``, those of that job; else those of any job.
        """
        found = [
            (name, each)
            for name, each in self._read().unstored.items()
            if name == command or (name.rpartition(" ")[0] == command and name[-1].isdigit())
        ]
        return max(found, key=lambda each: each[1].at, default=None)

    def keep(self, command: str, answers: dict[str, str], at: datetime) -> bool:
        """Keep answers to a command until they are stored; whether that could be done."""
        content = self._read()
        kept = content.unstored | {command: Unstored(answers=answers, at=at)}
        return self._write(replace(content, unstored=kept))

    def forget(self, command: str) -> None:
        """Keep no answers to a command any more."""
        content = self._read()
        if command in content.unstored:
            left = {name: each for name, each in content.unstored.items() if name != command}
            self._write(replace(content, unstored=left))

    def _read(self) -> _Content:
        try:
            return msgspec.json.decode(read_whole(self._path), type=_Content)
        except (OSError, msgspec.DecodeError):
            return _Content()

    def _write(self, content: _Content) -> bool:
        with contextlib.suppress(OSError):
            self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_whole(self._path, msgspec.json.encode(content))
            return True
        return False
