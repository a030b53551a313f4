"""Fix rates of common causes, kept beside the index: reading thousands of cases takes a while."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from hashlib import blake2b
from pathlib import Path
from typing import Self

import msgspec

import kb
from kb.case import RepairRecord
from kb.rates.fixes import FixRate
from kb.rates.returns import came_back_on
from kb.services.indexing import moment_of
from kb.services.kept_json import NOT_KEPT, read_kept, write_kept
from kb.store.address import index_folder
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork

FOLDER = "rates"
LEAST_KEPT = 500
"""Fewer cases of a cause are read and rated in less than a tenth of a second."""
MOST_PROOFS = 5
"""So many proofs of a cause are looked at for one that may be shown."""


@dataclass(frozen=True, slots=True)
class CauseRepairs:
    """What every case of one cause tells together.

    Attributes
    ----------
    cases : int
        How many there are.
    last_proved : tuple of int
        The jobs closed last that tell what proved it, the newest first.
    rates : tuple of FixRate
        How well each fix tried on them worked, the best first.
    """

    cases: int
    last_proved: tuple[int, ...]
    rates: tuple[FixRate, ...]


@dataclass(frozen=True, slots=True)
class _Kept:
    """What was found, from which state of the store; `jobs` are all it rests on."""

    mark: str
    sequence: int
    jobs: tuple[int, ...]
    found: CauseRepairs


@dataclass(frozen=True, slots=True)
class KeptRates:
    """The file of each common cause; `made_of` tells apart what the rates were made of besides."""

    work: UnitOfWork
    folder: Path
    made_of: str

    @classmethod
    def of_store(cls, work: UnitOfWork, address: str, made_of: object) -> Self:
        """Find them beside the index of a store."""
        told = msgspec.json.encode(made_of) + _program()
        folder = index_folder(address) / FOLDER
        return cls(work, folder, blake2b(told, digest_size=16).hexdigest())

    def read(self, key: tuple[str, str, str]) -> CauseRepairs | None:
        """Return what is kept of a cause, unless a job that it rests on has changed since."""
        try:
            kept = read_kept(self._file(key), _Kept)
        except NOT_KEPT:
            return None
        if kept.mark != self._mark(kept.sequence):
            return None
        changed = set(self.work.changes.since(kept.sequence))
        if changed and not changed.isdisjoint((*kept.jobs, *self.work.repairs.of_cars_with(key))):
            return None
        return kept.found

    def keep(self, key: tuple[str, str, str], found: CauseRepairs) -> None:
        """Keep what was found of a common cause; a folder that cannot be written is no error."""
        if found.cases < LEAST_KEPT:
            return
        sequence = self.work.changes.last()
        jobs = tuple(self.work.repairs.of_cars_with(key))
        kept = _Kept(self._mark(sequence), sequence, jobs, found)
        with suppress(OSError):
            write_kept(self._file(key), kept)

    def _file(self, key: tuple[str, str, str]) -> Path:
        return self.folder / f"{cause_digest(key)}.json"

    def _mark(self, sequence: int) -> str:
        return f"{self.made_of} {moment_of(self.work, sequence)}"


def forget_rates(address: str) -> None:
    """Remove what is kept of every cause; a folder that cannot be written is no error."""
    for path in (index_folder(address) / FOLDER).glob("*.json"):
        with suppress(OSError):
            path.unlink()


def last_proved(cases: Iterable[RepairRecord]) -> tuple[int, ...]:
    """Return the numbers of the jobs, closed last, that tell what proved the cause.

    One whose fix came back is no example of a proof.
    """
    told: Sequence[RepairRecord] = [
        each for each in cases if each.proved_by and came_back_on(each) is None
    ]
    newest = sorted(told, key=lambda each: (each.closed, each.number), reverse=True)
    return tuple(each.number for each in newest[:MOST_PROOFS])


@cache
def _program() -> bytes:
    """Tell one state of the rooms that rate fixes and judge their words from another."""
    rooms = (Path(kb.__file__).with_name(room) for room in ("intake", "rates", "safety"))
    files = sorted(file for room in rooms for ending in _SOURCES for file in room.rglob(ending))
    stats = ((file.name, file.stat()) for file in files)
    return repr([(name, stat.st_size, stat.st_mtime_ns) for name, stat in stats]).encode()


_SOURCES = ("*.py", "*.toml", "*.txt")
