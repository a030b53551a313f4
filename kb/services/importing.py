"""The inside of an import: a file read and looked at, numbers settled, jobs stored or refused.

Whatever can be said of a job without the store is said before the store is locked, for meanwhile
nobody else can write. Then the jobs are gone through twice: first it is settled under which number
each will be kept, then they are stored, in batches, with the links between them set right.
"""

from collections import ChainMap
from collections.abc import Callable, Container, Iterable, Iterator
from dataclasses import dataclass, field, fields, replace
from datetime import date
from functools import partial
from itertools import count
from pathlib import Path
from typing import Any, Self

import msgspec

from kb.bounds import LARGEST_INTEGER
from kb.case import EntryKind, Job, JobEntry, Vehicle
from kb.errors import InvalidField, KbError
from kb.intake.contradictions import (
    check_closed,
    check_contacts,
    check_handover,
    check_odometers,
    check_opening,
    check_places,
    undecided,
)
from kb.intake.files import (
    Line,
    bounded_lines,
    encoding_of,
    json_lines,
    json_record,
    read_toml,
)
from kb.intake.forms import Record, job_from_record
from kb.intake.sheets import SheetMapping, column_of, columns_left_out, read_csv
from kb.safety.igniter_concern import concerns_igniter
from kb.safety.igniter_screen import screen
from kb.services.import_numbers import Numbers, RowName
from kb.services.import_tally import (
    Doubts,
    Reject,
    Tally,
    even_tag,
    on_days_told,
    once_told,
    some_of,
)
from kb.services.mending import UNDONE
from kb.services.workers import worked
from kb.store.history import differences
from kb.store.transaction import batches
from kb.store.unit_of_work import UnitOfWork

WORTH_HELP = 8_000
"""From so many jobs on they are looked at by several processes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a look at a job of a file tells; the job itself is packed, for a file has many."""

    name: RowName
    doubts: Doubts
    packed: bytes

    @classmethod
    def at(cls, job: Job, today: date) -> Self:
        """Look at a job."""
        return cls(
            name=RowName.of(job), doubts=Doubts.of(job, today), packed=msgspec.json.encode(job)
        )

    @property
    def job(self) -> Job:
        """The job, unpacked."""
        return msgspec.json.decode(self.packed, type=Job)


Looked = tuple[int, Look | KbError]
"""Line number; what a look at the job that begins there tells, or why it is none."""


Unread = Line | tuple[int, str | KbError]
"""A record with its line number, or the line of JSON that holds it."""


@dataclass(frozen=True, slots=True)
class Source:
    """A file of jobs, to be read as often as wanted."""

    path: Path
    mapping: SheetMapping | None
    read_otherwise: dict[tuple[int, str], None] = field(default_factory=dict)
    """Lines, and what of their cells was read as something else, or is not kept."""

    def count_lines(self) -> int:
        """Count the lines; refuses what is no text."""
        encoding_of(self.path)
        with self.path.open("rb") as file:
            return sum(block.count(b"\n") for block in iter(lambda: file.read(1 << 20), b"")) + 1

    def in_columns(self, rejects: Iterable[Reject]) -> list[Reject]:
        """Name the columns of what was refused as the sheet names them."""
        if self.mapping is None:
            return [*rejects]
        return [replace(each, column=column_of(each.field, self.mapping)) for each in rejects]

    def rows(self, wanted: Container[int], starts: Iterable[int]) -> dict[int, str]:
        """Return the text of jobs by the line each begins on, of which all `starts` are known."""
        begins, found, begun = {*starts}, dict[int, str](), 0
        with self.path.open(encoding=encoding_of(self.path), newline="") as file:
            for line, text, whole in bounded_lines(file):
                begun = line if line in begins else begun
                if begun in wanted:
                    found[begun] = found.get(begun, "") + text + ("" if whole else " …")
        return {line: text.rstrip("\r\n") for line, text in found.items()}

    def notices(self) -> Iterator[str]:
        """Tell what was guessed or passed over in reading."""
        if not self._is_toml and encoding_of(self.path) == "cp1252":
            yield "The file is not UTF-8 and was read as cp1252: check its accents and signs."
        left_out = columns_left_out(self.path, self.mapping) if self.mapping else ()
        if left_out:
            yield f"Columns that the mapping does not name were left out: {', '.join(left_out)}."
        if self.read_otherwise:
            told = [
                f"line {line}, {screen(said, restraint=concerns_igniter([said]))}"
                for line, said in self.read_otherwise
            ]
            yield f"Not read as it is written: {some_of(told)}."

    @property
    def _is_toml(self) -> bool:
        return self.path.suffix.lower() == ".toml"

    def records(self) -> Iterator[Line]:
        """Read the records one after the other, or why a line holds none."""
        return ((line, _record(told)) for line, told in self.unread())

    def unread(self) -> Iterator[Unread]:
        """Yield what `records` are read from: of JSON the lines, which whoever looks may read."""
        if self.mapping is not None or self.path.suffix.lower() == ".csv":
            return read_csv(
                self.path,
                self.mapping,
                lambda line, said: self.read_otherwise.setdefault((line, said)),
            )
        return read_toml(self.path) if self._is_toml else json_lines(self.path)


def _record(told: str | Record | KbError) -> Record | KbError:
    return json_record(told) if isinstance(told, str) else told


def _job(record: Record) -> Job:
    """Make a job of a record, its facts said within its entries.

    One that has a uid comes out of a store, and comes back as it was; another one is told by
    somebody, who may have slipped. What was heard before the handover, or before the
    job was opened, is refused of both.
    """
    job = job_from_record(record)
    check_places(job)
    check_handover(job)
    check_opening(job)
    if job.uid is None:
        check_closed(job)
        check_contacts(job, date.today())
        check_odometers(job)
        job = _with_even_tag(job)
    return job


def _with_even_tag(job: Job) -> Job:
    """Write a key tag as the command line does, so that one car is not two: " k12" is "K12"."""
    ref = job.vehicle.ref
    if not ref or ref == even_tag(ref):
        return job
    return replace(job, vehicle=replace(job.vehicle, ref=even_tag(ref)))


def looked_at(source: Source, today: date, told: Callable[[int], None]) -> list[Looked]:
    """Read all of a source, and look at each job by itself, on every core where there are many."""
    found: list[Looked] = []
    for line, look in worked(partial(_look, today), source.unread(), worth=WORTH_HELP):
        found.append((line, look))
        told(line)
    return found


def _look(today: date, read: Unread) -> Looked:
    line, record = read[0], _record(read[1])
    try:
        return line, record if isinstance(record, KbError) else Look.at(_job(record), today)
    except KbError as error:
        return line, error


def settle_numbers(work: UnitOfWork, jobs: Iterable[Looked]) -> Numbers:
    """Keep the number of each job that nobody else has; give the others the next free ones."""
    numbers = Numbers()
    used: set[int] = set()
    waiting: dict[str, int | None] = {}
    for batch in batches(jobs):
        good: dict[str, RowName] = {}
        seen = ChainMap[str, Any](good, numbers.by_uid, waiting)
        for _, look in batch:
            if isinstance(look, Look):
                good.setdefault(numbers.rows.uid_of(look.name, seen), look.name)
        held = work.jobs.numbers_of(good)
        taken = work.jobs.uids_of(row.number for row in good.values() if row.number is not None)
        for uid, row in good.items():
            if uid in numbers.by_uid:
                continue  # settled by an earlier row of the same job
            if uid in held:
                numbers.settle(uid, row.number, held[uid])
            elif row.number is None or row.number in taken or row.number in used:
                waiting.setdefault(uid, row.number)
            elif uid not in waiting:
                numbers.settle(uid, row.number, row.number)
                used.add(row.number)
    numbers.rows = numbers.rows.again()
    for number, (uid, in_file) in zip(_free(work, used), waiting.items(), strict=False):
        numbers.settle(uid, in_file, number)
    return numbers


def _free(work: UnitOfWork, used: set[int]) -> Iterator[int]:
    """Yield the numbers after the highest, or any that are free where these are at their end."""
    last = max(work.jobs.last_number(), max(used, default=0))
    yield from range(last + 1, LARGEST_INTEGER + 1)
    yield from (n for n in count(1) if n not in used and not work.jobs.uids_of([n]))


def store(work: UnitOfWork, batch: list[Looked], tally: Tally) -> None:
    """Store those jobs of a batch that the store does not hold, and refuse what it cannot hold."""
    tags = tally.known_tags(work)
    jobs = {line: look.job for line, look in batch if isinstance(look, Look)}
    good = {
        line: tags.put_right(
            line, _settled(jobs[line], look, tally.numbers), told=not look.name.is_stored
        )
        for line, look in batch
        if isinstance(look, Look)
    }
    held = work.jobs.numbers_of(str(told.uid) for told in good.values())
    known = {job.uid: job for job in work.jobs.get_many(held.values(), as_typed=True)}
    work.jobs.look_ahead(told for told in good.values() if told.uid not in known)
    for line, look in batch:
        if isinstance(look, KbError):
            tally.refuse(line, look)
            continue
        job, told = jobs[line], good[line]
        earlier = tally.numbers.rows.earlier(line, look.name)
        try:
            stored = known.get(told.uid)
            if stored is None:
                known[told.uid] = work.jobs.add(_with_entries(told))
                tally.add(line, job, look.doubts, known[told.uid], earlier)
            elif stored.void is not None and told.void is None:
                if stored.void == UNDONE:
                    tally.taken_back.append(line)
                    tally.undone_by = tally.undone_by or _undone_by(work, stored)
                raise _void(job, stored)
            elif not _says_the_same(told, stored):
                if earlier is None or not look.name.says_which:
                    raise _other_content(job, stored)
                raise _contradiction(told, stored, earlier)
            elif earlier is not None and look.name.says_which:
                tally.told_again.append((line, earlier))
            else:
                tally.already_there += 1
        except KbError as error:
            tally.refuse(line, error)


def _known_by(told: Job) -> tuple[str, str | None]:
    """Return by what a row is known as a job of the store: its uid, if it told one."""
    return ("uid", told.uid) if told.uid is not None else ("row", None)


def _void(told: Job, stored: Job) -> InvalidField:
    return InvalidField(
        *_known_by(told),
        f"is job {stored.number} of the store, which is void: {stored.void}; "
        f"bring it back with kb job void {stored.number} --back",
    )


def _undone_by(work: UnitOfWork, job: Job) -> int | None:
    """Return the entry by which a job's opening was taken back."""
    entries = work.changes.entries(job=job.number)
    return next((each.sequence for each in entries if each.takes_back is not None), None)


def _other_content(told: Job, stored: Job) -> InvalidField:
    """Say that a row differs from its job in the store."""
    cure = f"is job {stored.number} of the store, with other content; edit that job"
    return InvalidField(*_known_by(told), cure)


def _contradiction(told: Job, stored: Job, earlier: int) -> InvalidField:
    """Say in what a row differs from its job, as an earlier row has it."""
    first, *others = (
        each
        for each in differences(stored, told)
        if each.new is not None or not each.field.startswith("vehicle.")
    )
    also = dict.fromkeys(each.field for each in others if not each.field.startswith("entries"))
    more = f"; {some_of([*also])} not alike, either" if also else ""
    return InvalidField(
        first.field,
        first.new,
        f"is another than on line {earlier}, which says {first.old}{more}; both are of "
        f"job {stored.number}, kept as line {earlier} has it; make the rows agree or edit it",
    )


def _settled(job: Job, look: Look, numbers: Numbers) -> Job:
    """Give the job its number in the store, and its contacts those of the jobs they name."""
    known = numbers.by_number
    contacts = tuple(
        replace(contact, job=known.get(contact.job, contact.job)) if contact.job else contact
        for contact in job.contacts
    )
    uid = numbers.rows.uid_of(look.name)
    settled = replace(job, uid=uid, number=numbers.by_uid[uid], contacts=contacts)
    if look.name.is_stored:
        return settled
    told = once_told(on_days_told(settled))
    return undecided(told) if look.doubts.contradictions else told


def _with_entries(job: Job) -> Job:
    """Return a job whose complaint and notes are its first entries, where it tells of none."""
    texts = ((EntryKind.COMPLAINT, job.complaint), (EntryKind.NOTE, job.notes or ""))
    made = tuple(JobEntry(kind=kind, text=text) for kind, text in texts if text.strip())
    return replace(job, entries=job.entries or made)


def _says_the_same(told: Job, stored: Job) -> bool:
    """Whether a stored job says what a file says; its vehicle may be known better by now.

    A file written before entries were kept says nothing of them.
    """
    entries = told.entries or stored.entries
    return replace(told, vehicle=stored.vehicle, entries=entries) == stored and all(
        getattr(told.vehicle, part.name) in {None, getattr(stored.vehicle, part.name)}
        for part in fields(Vehicle)
    )
