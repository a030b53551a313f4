"""The inside of an import: a file read twice, numbers settled, jobs stored or refused.

A file may be of any length: the first reading settles under which number each job will be kept,
the second stores the jobs, in batches, and sets right the links between them.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from itertools import count, islice
from pathlib import Path
from typing import Any, TypeVar
from uuid import UUID, uuid5

import msgspec

from kb.bounds import LARGEST_INTEGER
from kb.case import Job, Vehicle
from kb.errors import InvalidField, KbError, Notice
from kb.intake.files import Line, encoding_of, read_json_lines, read_toml
from kb.intake.forms import job_from_record
from kb.intake.items import trade_wording
from kb.intake.privacy import personal_data
from kb.intake.sheets import SheetMapping, columns_left_out, read_csv
from kb.settings import CONFIRMATION_HOURS
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.locks import told_tests, unvouched

T = TypeVar("T")
Read = tuple[int, Job | KbError]
"""Line number; the job that begins there, or why it is none."""

_UID_SPACE = UUID("1a6b1c0e-5d1f-5c0b-9b57-6f3a4c1f7a52")
_BATCH = 500
_FEWEST_TO_JUDGE = 10
_MOST_LINES_NAMED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Reject:
    """One job of a file that was not stored, and why."""

    line: int
    field: str
    value: Any
    reason: str


@dataclass(frozen=True, slots=True)
class Source:
    """A file of jobs, to be read as often as wanted."""

    path: Path
    mapping: SheetMapping | None

    def jobs(self) -> Iterator[Read]:
        """Read the jobs one after the other, or why a line holds none."""
        for line, record in self._records():
            try:
                yield line, record if isinstance(record, KbError) else job_from_record(record)
            except KbError as error:
                yield line, error

    def count_lines(self) -> int:
        """Count the lines; refuses what is no text."""
        encoding_of(self.path)
        with self.path.open("rb") as file:
            return sum(block.count(b"\n") for block in iter(lambda: file.read(1 << 20), b"")) + 1

    def notices(self) -> Iterator[str]:
        """Tell what was guessed or passed over in reading."""
        if not self._is_toml and encoding_of(self.path) == "cp1252":
            yield "The file is not UTF-8 and was read as cp1252: check its accents and signs."
        left_out = columns_left_out(self.path, self.mapping) if self.mapping else ()
        if left_out:
            yield f"Columns that the mapping does not name were left out: {', '.join(left_out)}."

    @property
    def _is_toml(self) -> bool:
        return self.path.suffix.lower() == ".toml"

    def _records(self) -> Iterator[Line]:
        if self.mapping is not None or self.path.suffix.lower() == ".csv":
            return read_csv(self.path, self.mapping)
        return read_toml(self.path) if self._is_toml else read_json_lines(self.path)


@dataclass(slots=True)
class Numbers:
    """Under which number of the store each job of a file is, or will be, kept."""

    by_uid: dict[str, int] = field(default_factory=dict)
    by_number: dict[int, int] = field(default_factory=dict)
    """Number in the file -> number in the store."""

    def settle(self, uid: str, in_file: int | None, in_store: int) -> None:
        """Note the number of one job."""
        self.by_uid[uid] = in_store
        if in_file is not None:
            self.by_number.setdefault(in_file, in_store)


@dataclass(slots=True)
class Tally:
    """What has become of a file's jobs so far."""

    numbers: Numbers
    added: int = 0
    already_there: int = 0
    renumbered: list[tuple[int, int]] = field(default_factory=list)
    rejects: list[Reject] = field(default_factory=list)
    personal: list[int] = field(default_factory=list)
    unvouched: list[int] = field(default_factory=list)
    links_elsewhere: int = 0
    with_attempts: int = 0
    with_failed_attempts: int = 0

    def add(self, line: int, job: Job, stored: Job) -> None:
        """Note that a job was stored."""
        self.added += 1
        if job.number is not None and stored.number != job.number:
            self.renumbered.append((job.number, self.numbers.by_uid[str(stored.uid)]))
        if personal_data(_free_text(job)):
            self.personal.append(line)
        if unvouched(job, told_tests(job), (), trade_wording(), CONFIRMATION_HOURS):
            self.unvouched.append(line)
        self.links_elsewhere += sum(
            contact.job is not None and contact.job not in self.numbers.by_number
            for contact in job.contacts
        )
        self.with_attempts += bool(job.attempts)
        self.with_failed_attempts += any(attempt.cured is False for attempt in job.attempts)

    def refuse(self, line: int, error: KbError) -> None:
        """Note that a job was not stored, and why."""
        if isinstance(error, InvalidField):
            told = Reject(
                line=line, field=error.field, value=_json_ready(error.value), reason=error.cure
            )
        else:
            name, _, reason = str(error).partition(": ")
            told = Reject(line=line, field=name, value=None, reason=reason)
        self.rejects.append(told)

    def notices(self) -> Iterator[str]:
        """Tell what somebody should look at."""
        if self.personal:
            yield (
                f"Phone numbers, e-mail addresses or number plates in {_jobs(self.personal)}: take "
                "them out with kb job edit."
            )
        if self.unvouched:
            yield (
                f"Tests on restraints or high voltage in {_jobs(self.unvouched)} were done without "
                "a confirmation of what makes them safe; kb job show says so."
            )
        if self.links_elsewhere:
            yield (
                f"{self.links_elsewhere:,} contacts name a comeback's job that is not in the "
                "file; that number was kept as it is."
            )
        if self.with_attempts >= _FEWEST_TO_JUDGE and not self.with_failed_attempts:
            yield Notice.FINAL_FIXES_ONLY


def _jobs(lines: Sequence[int]) -> str:
    named = ", ".join(map(str, lines[:_MOST_LINES_NAMED]))
    more = " and others" if len(lines) > _MOST_LINES_NAMED else ""
    return f"{len(lines):,} of the jobs (line {named}{more})"


def settle_numbers(work: UnitOfWork, jobs: Iterable[Read], told: Callable[[int], None]) -> Numbers:
    """Keep the number of each job that nobody else has; give the others the next free ones."""
    numbers = Numbers()
    used: set[int] = set()
    waiting: dict[str, int | None] = {}
    for batch in batches(jobs):
        good = {_uid_of(job): job for _, job in batch if isinstance(job, Job)}
        held = work.jobs.numbers_of(good)
        taken = work.jobs.uids_of(job.number for job in good.values() if job.number is not None)
        for uid, job in good.items():
            if uid in held:
                numbers.settle(uid, job.number, held[uid])
            elif job.number is None or job.number in taken or job.number in used:
                if uid not in numbers.by_uid:
                    waiting.setdefault(uid, job.number)
            elif uid not in waiting:
                numbers.settle(uid, job.number, job.number)
                used.add(job.number)
        told(batch[-1][0])
    for number, (uid, in_file) in zip(_free(work, used), waiting.items(), strict=False):
        numbers.settle(uid, in_file, number)
    return numbers


def _free(work: UnitOfWork, used: set[int]) -> Iterator[int]:
    """Yield the numbers after the highest, or any that are free where these are at their end."""
    last = max(work.jobs.last_number(), max(used, default=0))
    yield from range(last + 1, LARGEST_INTEGER + 1)
    yield from (n for n in count(1) if n not in used and not work.jobs.uids_of([n]))


def store(work: UnitOfWork, batch: list[Read], tally: Tally) -> None:
    """Store those jobs of a batch that the store does not hold, and refuse what it cannot hold."""
    good = {line: _settled(job, tally.numbers) for line, job in batch if isinstance(job, Job)}
    held = work.jobs.numbers_of(str(told.uid) for told in good.values())
    known = {job.uid: job for job in work.jobs.get_many(held.values())}
    work.jobs.look_ahead(told for told in good.values() if told.uid not in known)
    for line, job in batch:
        if isinstance(job, KbError):
            tally.refuse(line, job)
            continue
        told = good[line]
        try:
            stored = known.get(told.uid)
            if stored is None:
                known[told.uid] = work.jobs.add(told)
                tally.add(line, job, known[told.uid])
            elif _says_the_same(told, stored):
                tally.already_there += 1
            else:
                cure = f"is job {stored.number} of the store, with other content; edit that job"
                raise InvalidField("uid", told.uid, cure)
        except KbError as error:
            tally.refuse(line, error)


def _uid_of(job: Job) -> str:
    """Return the job's own uid, or the one made of what tells it from any other."""
    if job.uid is not None:
        return job.uid
    told = (job.number, job.opened, job.complaint, job.vehicle)
    return uuid5(_UID_SPACE, msgspec.json.encode(told).decode()).hex


def _settled(job: Job, numbers: Numbers) -> Job:
    """Give the job its number in the store, and its contacts those of the jobs they name."""
    known = numbers.by_number
    contacts = tuple(
        replace(contact, job=known.get(contact.job, contact.job)) if contact.job else contact
        for contact in job.contacts
    )
    uid = _uid_of(job)
    return replace(job, uid=uid, number=numbers.by_uid[uid], contacts=contacts)


def _says_the_same(told: Job, stored: Job) -> bool:
    """Whether a stored job says what a file says; its vehicle may be known better by now."""
    return replace(told, vehicle=stored.vehicle) == stored and all(
        getattr(told.vehicle, part.name) in {None, getattr(stored.vehicle, part.name)}
        for part in fields(Vehicle)
    )


def _free_text(job: Job) -> str:
    texts = (
        job.complaint,
        job.conditions,
        job.notes,
        job.proved_by,
        job.cause and job.cause.words,
        *(test.seen for test in job.tests),
        *(attempt.words for attempt in job.attempts),
        *(contact.words for contact in job.contacts),
    )
    return "\n".join(text for text in texts if text)


def _json_ready(value: object) -> Any:
    try:
        return msgspec.json.decode(msgspec.json.encode(value))
    except (TypeError, ValueError, OverflowError, RecursionError):
        return repr(value)


def batches(items: Iterable[T]) -> Iterator[list[T]]:
    """Take items a few hundred at a time."""
    rest = iter(items)
    while batch := list(islice(rest, _BATCH)):
        yield batch
