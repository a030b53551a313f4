"""What one person has on the desk: the job in hand, and what was typed and not stored yet.

What was typed to one command lies side by side until it is stored; nothing takes another's place.

A small file in the user's own state folder, one a person and store. It is a help and never
needed: what cannot be read counts as empty, and what cannot be written is not kept.
"""

import contextlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

import msgspec

try:
    import fcntl
except ImportError:  # where files are not locked in that way
    fcntl = None  # type: ignore[assignment]

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
class Kept:
    """What became of answers that were to be kept.

    Attributes
    ----------
    beside : int
        How many others are kept for that command and job.
    dropped : tuple of Unstored
        The oldest of them, which had to go as there is room for so many only.
    """

    beside: int
    dropped: tuple[Unstored, ...] = ()


MOST = 20
"""How often answers to one command for one job are kept side by side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Content:
    """What is in the file; earlier ones held one `Unstored` a command."""

    in_hand: InHand | None = None
    unstored: dict[str, Unstored | tuple[Unstored, ...]] = field(default_factory=dict)

    def of(self, command: str) -> tuple[Unstored, ...]:
        found = self.unstored.get(command, ())
        return found if isinstance(found, tuple) else (found,)

    def having(self, command: str, kept: tuple[Unstored, ...]) -> "_Content":
        others = {name: each for name, each in self.unstored.items() if name != command}
        return replace(self, unstored=others | ({command: kept} if kept else {}))


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
        with self._alone():
            return self._write(replace(self._read(), in_hand=meant))

    def unstored(self, command: str) -> tuple[str, Unstored] | None:
        """The oldest answers to a command that were not stored, and the command with its job.

        Of a command with a job, as ``add 12``, those of that job; else those of any job.
        """
        return next(iter(self.all_unstored(command)), None)

    def all_unstored(self, command: str) -> list[tuple[str, Unstored]]:
        """All answers to a command that were not stored, likewise, oldest first."""
        content = self._read()
        found = [
            (name, each)
            for name in content.unstored
            for each in content.of(name)
            if name == command or (name.rpartition(" ")[0] == command and name[-1].isdigit())
        ]
        return sorted(found, key=lambda each: each[1].at)

    def keep(
        self,
        command: str,
        answers: dict[str, str],
        at: datetime,
        *,
        instead: tuple[str, Unstored] | None = None,
    ) -> Kept | None:
        """Keep answers to a command until they are stored; None if that could not be done.

        Parameters
        ----------
        instead : tuple of str and Unstored, optional
            What they go on from, with its command; that is kept no more.
        """
        with self._alone():
            content = self._read()
            if instead is not None:
                content = _without(content, *instead)
            others = tuple(each for each in content.of(command) if each.answers != answers)
            room = MOST - 1
            dropped, others = others[: max(len(others) - room, 0)], others[-room:]
            kept = (*others, Unstored(answers=answers, at=at))
            done = self._write(content.having(command, kept))
        return Kept(beside=len(others), dropped=dropped) if done else None

    def forget(self, command: str, kept: Unstored) -> None:
        """Keep answers to a command no more."""
        with self._alone():
            content = self._read()
            if kept in content.of(command):
                self._write(_without(content, command, kept))

    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        """Let nobody else change the file meanwhile, where the system can."""
        with contextlib.ExitStack() as stack:
            with contextlib.suppress(OSError):
                self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                name = self._path.with_suffix(".lock")
                # for reading, too: whoever only writes to a pipe waits for a reader
                lock = os.open(name, os.O_RDWR | os.O_CREAT, 0o600)
                stack.callback(os.close, lock)
                if fcntl is not None:
                    fcntl.flock(lock, fcntl.LOCK_EX)
            yield

    def _read(self) -> _Content:
        try:
            return msgspec.json.decode(read_whole(self._path), type=_Content)
        except (OSError, msgspec.DecodeError):
            return _Content()

    def _write(self, content: _Content) -> bool:
        with contextlib.suppress(OSError):
            self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_whole(self._path, msgspec.json.encode(content), own=True)
            return True
        return False


def _without(content: _Content, command: str, kept: Unstored) -> _Content:
    left = tuple(each for each in content.of(command) if each != kept)
    return content.having(command, left)
