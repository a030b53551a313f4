"""The inside of an import: a file read and looked at, numbers settled, jobs stored or refused.

Whatever can be said of a job without the store is said before the store is locked, for meanwhile
nobody else can write. Then the jobs are gone through twice: first it is settled under which number
each will be kept, then they are stored, in batches, with the links between them set right.
"""

from collections import ChainMap
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date
from itertools import count, islice
from pathlib import Path
from typing import Any, Self, TypeVar
from uuid import UUID, uuid5

import msgspec

from kb.bounds import LARGEST_INTEGER
from kb.case import EntryKind, Job, JobEntry, Vehicle
from kb.errors import InvalidField, KbError, Notice
from kb.intake.contradictions import (
    check_closed,
    check_contacts,
    check_handover,
    check_odometers,
    check_places,
    contradictions,
    is_typed_otherwise,
    undecided,
)
from kb.intake.days import days_to_come
from kb.intake.elapsed import dated_by_words
from kb.intake.files import Line, encoding_of, read_json_lines, read_toml
from kb.intake.forms import Record, job_from_record
from kb.intake.items import trade_wording
from kb.intake.privacy import personal_data
from kb.intake.sheets import SheetMapping, columns_left_out, read_csv
from kb.services.mending import UNDONE
from kb.store.history import differences
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.locks import told_tests, unvouched

T = TypeVar("T")
Read = tuple[int, Job | KbError]
"""Line number; the job that begins there, or why it is none."""
Looked = tuple[int, Job | KbError, "Doubts | None"]
"""The same, with what a look at the job alone tells of it."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubts:
    """What somebody should look at, as far as one job of a file tells it by itself."""

    never_recalled: bool
    in_future: bool
    personal: bool
    unvouched: bool
    uneven_tag: str | None
    contradictions: tuple[str, ...]
    dated: bool
    typed_otherwise: bool

    @classmethod
    def of(cls, job: Job, today: date) -> Self:
        """Look at a job."""
        ref, told = job.vehicle.ref, job.uid is None
        return cls(
            never_recalled=job.cause is not None and job.closed is None,
            in_future=any(days_to_come(job, today)),
            personal=bool(personal_data(_free_text(job))),
            # nobody knows when these tests were made: no confirmation can have held then
            unvouched=bool(unvouched(job, told_tests(job), (), trade_wording(), hours=0)),
            uneven_tag=ref if ref and ref != _even_tag(ref) else None,
            contradictions=tuple(contradictions(job)) if told else (),
            dated=told and _dated(job) != job,
            typed_otherwise=told and any(map(is_typed_otherwise, job.readings)),
        )


@dataclass(frozen=True, slots=True)
class Source:
    """A file of jobs, to be read as often as wanted."""

    path: Path
    mapping: SheetMapping | None
    read_otherwise: dict[tuple[int, str], None] = field(default_factory=dict)
    """Lines, and what of their cells was read as something else, or is not kept."""

    def jobs(self) -> Iterator[Read]:
        """Read the jobs one after the other, or why a line holds none."""
        for line, record in self._records():
            try:
                yield line, record if isinstance(record, KbError) else _job(record)
            except KbError as error:
                yield line, error

    def count_lines(self) -> int:
        """Count the lines; refuses what is no text."""
        encoding_of(self.path)
        with self.path.open("rb") as file:
            return sum(block.count(b"\n") for block in iter(lambda: file.read(1 << 20), b"")) + 1

    def rows(self, wanted: Container[int], starts: Iterable[int]) -> dict[int, str]:
        """Return the text of jobs by the line each begins on, of which all `starts` are known."""
        begins, found, begun = {*starts}, dict[int, str](), 0
        with self.path.open(encoding=encoding_of(self.path), newline="") as file:
            for line, text in enumerate(file, start=1):
                begun = line if line in begins else begun
                if begun in wanted:
                    found[begun] = found.get(begun, "") + text
        return {line: text.rstrip("\r\n") for line, text in found.items()}

    def notices(self) -> Iterator[str]:
        """Tell what was guessed or passed over in reading."""
        if not self._is_toml and encoding_of(self.path) == "cp1252":
            yield "The file is not UTF-8 and was read as cp1252: check its accents and signs."
        left_out = columns_left_out(self.path, self.mapping) if self.mapping else ()
        if left_out:
            yield f"Columns that the mapping does not name were left out: {', '.join(left_out)}."
        if self.read_otherwise:
            told = [f"line {line}, {said}" for line, said in self.read_otherwise]
            yield f"Not read as it is written: {_some(told)}."

    @property
    def _is_toml(self) -> bool:
        return self.path.suffix.lower() == ".toml"

    def _records(self) -> Iterator[Line]:
        if self.mapping is not None or self.path.suffix.lower() == ".csv":
            return read_csv(
                self.path,
                self.mapping,
                lambda line, said: self.read_otherwise.setdefault((line, said)),
            )
        return read_toml(self.path) if self._is_toml else read_json_lines(self.path)


def _job(record: Record) -> Job:
    """Make a job of a record, its facts said within its entries.

    One that has a uid comes out of a store, and comes back as it was; another one is told by
    somebody, who may have slipped. What was heard before the handover is refused of both.
    """
    job = job_from_record(record)
    check_places(job)
    check_handover(job)
    if job.uid is None:
        check_closed(job)
        check_contacts(job, date.today())
        check_odometers(job)
        job = replace(job, vehicle=_with_even_tag(job.vehicle))
    return job


def _with_even_tag(vehicle: Vehicle) -> Vehicle:
    """Write a key tag as the command line does, so that one car is not two: " k12" is "K12"."""
    return replace(vehicle, ref=vehicle.ref and _even_tag(vehicle.ref))


def _even_tag(ref: str) -> str:
    return " ".join(ref.split()).upper()


@dataclass(slots=True)
class Rows:
    """Which rows of a file are of one job: those of one uid, or of one number and the same story.

    Rows that tell the same, but have neither number nor uid, are jobs of their own. The first
    reading finds which uids several rows have (`times`); in the second their first line is kept.
    """

    times: dict[str, int] = field(default_factory=dict)
    first_lines: dict[str, int] = field(default_factory=dict)

    def uid_of(self, job: Job, seen: Container[str] = ()) -> str:
        """Return the uid of the next row: its own, or one made of what tells it from any other.

        In the first reading, `seen` has the uids of all rows before.
        """
        uid = _uid_of(job)
        if uid in seen:
            self.times.setdefault(uid, 1)
        if uid not in self.times:
            return uid
        self.times[uid] += 1
        if _says_which(job) or self.times[uid] == 1:
            return uid
        return uuid5(_UID_SPACE, f"{uid} {self.times[uid]}").hex

    def again(self) -> Self:
        """Return these rows for the second reading."""
        return type(self)(dict.fromkeys(self.times, 0))

    def earlier(self, line: int, job: Job) -> int | None:
        """Return the line of the first row that tells the same; None where this is the first."""
        uid = _uid_of(job)
        first = self.first_lines.setdefault(uid, line) if uid in self.times else line
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


@dataclass(slots=True)
class Tally:
    """What has become of a file's jobs so far; lists of a single number are of lines.

    Attributes
    ----------
    told_again : list of tuple of int
        Lines that say all of a job that an earlier line says, and the earlier line.
    alike : list of tuple of int
        Lines that begin like an earlier one and were kept as jobs of their own; likewise.
    never_recalled : list of int
        Jobs with a cause and no closing day: no question is answered from them.
    """

    numbers: Numbers
    added: int = 0
    already_there: int = 0
    told_again: list[tuple[int, int]] = field(default_factory=list)
    alike: list[tuple[int, int]] = field(default_factory=list)
    never_recalled: list[int] = field(default_factory=list)
    in_future: list[int] = field(default_factory=list)
    same_number: list[int] = field(default_factory=list)
    renumbered: list[tuple[int, int]] = field(default_factory=list)
    rejects: list[Reject] = field(default_factory=list)
    personal: list[int] = field(default_factory=list)
    unvouched: list[int] = field(default_factory=list)
    contradictions: list[str] = field(default_factory=list)
    dated: list[int] = field(default_factory=list)
    typed_otherwise: list[int] = field(default_factory=list)
    taken_back: list[int] = field(default_factory=list)
    undone_by: int | None = None
    links_elsewhere: list[int] = field(default_factory=list)
    links: list[tuple[int, int]] = field(default_factory=list)
    numbers_shared: set[int] = field(default_factory=set)
    other_cars: list[int] = field(default_factory=list)
    uneven_tags: list[tuple[int, str]] = field(default_factory=list)
    earlier_jobs: list[int] = field(default_factory=list)
    visits: list[tuple[int, Job, int]] = field(default_factory=list)
    with_attempts: int = 0
    with_failed_attempts: int = 0

    def add(self, line: int, job: Job, doubts: Doubts, stored: Job, earlier: int | None) -> None:
        """Note that a job was stored, though perhaps an earlier line begins like its own."""
        self.added += 1
        if job.number is not None and stored.number != job.number:
            self.renumbered.append((job.number, self.numbers.by_uid[str(stored.uid)]))
            if self.numbers.by_number[job.number] != stored.number:
                self.same_number.append(line)
                self.numbers_shared.add(job.number)
        if earlier is not None:
            self.alike.append((line, earlier))
        for lines, noted in (
            (self.never_recalled, doubts.never_recalled),
            (self.in_future, doubts.in_future),
            (self.personal, doubts.personal),
            (self.unvouched, doubts.unvouched),
            (self.dated, doubts.dated),
            (self.typed_otherwise, doubts.typed_otherwise),
        ):
            if noted:
                lines.append(line)
        self.contradictions += (f"line {line}, {said}" for said in doubts.contradictions)
        if doubts.uneven_tag:
            self.uneven_tags.append((line, doubts.uneven_tag))
        named = [contact.job for contact in job.contacts if contact.job is not None]
        if not self.numbers.by_number.keys() >= set(named):
            self.links_elsewhere.append(line)
        self.links += ((line, number) for number in named)
        self.visits += ((line, job, each.job) for each in stored.contacts if each.job is not None)
        self.with_attempts += bool(job.attempts)
        self.with_failed_attempts += any(attempt.cured is False for attempt in job.attempts)

    def look_at_visits(self, work: UnitOfWork) -> None:
        """Note whose contacts name a job of another car, or an earlier one, once all are stored."""
        for some in batches(self.visits):
            there = work.jobs.uids_of({number for *_, number in some})
            named = {each.number: each for each in work.jobs.get_many(there)}
            for line, job, number in some:
                visit = named.get(number)
                if visit is None:
                    continue
                if None not in (job.vehicle.key, visit.vehicle.key) and (
                    job.vehicle.key != visit.vehicle.key
                ):
                    self.other_cars.append(line)
                elif visit.opened < job.opened:
                    self.earlier_jobs.append(line)

    def look_at_tags(self, work: UnitOfWork) -> None:
        """Leave of the key tags those that another car of the store has in even spelling."""
        known = {each.ref for each in work.jobs.vehicles()} if self.uneven_tags else set()
        self.uneven_tags = [each for each in self.uneven_tags if _even_tag(each[1]) in known]

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

    def _amiss_with_visits(self) -> Iterator[str]:
        if self.links_elsewhere:
            yield (
                "Contacts name a comeback's job that the file does not have, or that was refused, "
                f"in {_jobs(self.links_elsewhere)}: the number was kept as it is, and may be "
                "another job here; look at them."
            )
        several = dict.fromkeys(line for line, named in self.links if named in self.numbers_shared)
        if several:
            yield (
                f"Contacts name a job whose number several rows have in {_jobs([*several])}: "
                "the first of these rows was taken; look at them."
            )
        for lines, which in (
            (self.other_cars, "of another car"),
            (self.earlier_jobs, "that was opened before"),
        ):
            if lines:
                yield (
                    f"Contacts name a job {which} in {_jobs(lines)}: look at them, and correct the "
                    "number with kb job edit."
                )

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
        if self.in_future:
            yield f"Days that are still to come in {_jobs(self.in_future)}: check them."
        if self.same_number:
            yield (
                f"A number that another row has, too, in {_jobs(self.same_number)}: they tell of "
                "another car, day or complaint, and were kept as jobs of their own."
            )
        if self.contradictions:
            yield f"Told twice and not alike, so kept as not told: {_some(self.contradictions)}."
        if self.dated:
            yield (
                f"Words as “the next week” tell of another day than the comeback's own in "
                f"{_jobs(self.dated)}: kept on the day that they tell."
            )
        if self.typed_otherwise:
            yield (
                f"A reading has another value than its typed text tells in "
                f"{_jobs(self.typed_otherwise)}; the value was kept: check them."
            )
        if self.taken_back:
            all_of_it = f", all of them with kb undo {self.undone_by}" if self.undone_by else ""
            yield (
                f"Taken back earlier, and void now, are {_jobs(self.taken_back)}: bring one back "
                f"with kb job void NUMBER --back{all_of_it}."
            )
        yield from self._amiss_with_visits()
        if self.uneven_tags:
            line, ref = self.uneven_tags[0]
            yield (
                f"A key tag is written in two ways, as “{ref}” and “{_even_tag(ref)}” on line "
                f"{line}, in {_jobs([line for line, _ in self.uneven_tags])}: each counts as a car "
                "of its own. If it is one car: kb job edit NUMBER --set vehicle.ref=TAG"
            )
        if self.with_attempts >= _FEWEST_TO_JUDGE and not self.with_failed_attempts:
            yield Notice.FINAL_FIXES_ONLY


def _some(told: Sequence[str]) -> str:
    named = "; ".join(told[:_MOST_LINES_NAMED])
    return (
        f"{named}; and {len(told) - _MOST_LINES_NAMED:,} others"
        if len(told) > _MOST_LINES_NAMED
        else named
    )


def _jobs(lines: Sequence[int]) -> str:
    named = ", ".join(map(str, lines[:_MOST_LINES_NAMED]))
    more = " and others" if len(lines) > _MOST_LINES_NAMED else ""
    return f"{len(lines):,} of the jobs (line {named}{more})"


def looked_at(source: Source, today: date, told: Callable[[int], None]) -> list[Looked]:
    """Read all of a source, and look at each job by itself."""
    found: list[Looked] = []
    for line, job in source.jobs():
        found.append((line, job, Doubts.of(job, today) if isinstance(job, Job) else None))
        told(line)
    return found


def settle_numbers(work: UnitOfWork, jobs: Iterable[Looked]) -> Numbers:
    """Keep the number of each job that nobody else has; give the others the next free ones."""
    numbers = Numbers()
    used: set[int] = set()
    waiting: dict[str, int | None] = {}
    for batch in batches(jobs):
        good: dict[str, Job] = {}
        seen = ChainMap[str, Any](good, numbers.by_uid, waiting)
        for _, job, _ in batch:
            if isinstance(job, Job):
                good.setdefault(numbers.rows.uid_of(job, seen), job)
        held = work.jobs.numbers_of(good)
        taken = work.jobs.uids_of(job.number for job in good.values() if job.number is not None)
        for uid, job in good.items():
            if uid in numbers.by_uid:
                continue  # settled by an earlier row of the same job
            if uid in held:
                numbers.settle(uid, job.number, held[uid])
            elif job.number is None or job.number in taken or job.number in used:
                waiting.setdefault(uid, job.number)
            elif uid not in waiting:
                numbers.settle(uid, job.number, job.number)
                used.add(job.number)
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
    good = {line: _settled(job, tally.numbers) for line, job, _ in batch if isinstance(job, Job)}
    held = work.jobs.numbers_of(str(told.uid) for told in good.values())
    known = {job.uid: job for job in work.jobs.get_many(held.values(), as_typed=True)}
    work.jobs.look_ahead(told for told in good.values() if told.uid not in known)
    for line, job, doubts in batch:
        if isinstance(job, KbError):
            tally.refuse(line, job)
            continue
        assert doubts is not None  # noqa: S101  it is a job, and was looked at
        told, earlier = good[line], tally.numbers.rows.earlier(line, job)
        try:
            stored = known.get(told.uid)
            if stored is None:
                known[told.uid] = work.jobs.add(_with_entries(told))
                tally.add(line, job, doubts, known[told.uid], earlier)
            elif stored.void is not None and told.void is None:
                if stored.void == UNDONE:
                    tally.taken_back.append(line)
                    tally.undone_by = tally.undone_by or _undone_by(work, stored)
                raise _void(told, stored)
            elif not _says_the_same(told, stored):
                raise _contradiction(told, stored, earlier if _says_which(job) else None)
            elif earlier is not None and _says_which(job):
                tally.told_again.append((line, earlier))
            else:
                tally.already_there += 1
        except KbError as error:
            tally.refuse(line, error)


def _void(told: Job, stored: Job) -> InvalidField:
    return InvalidField(
        "uid",
        told.uid,
        f"is job {stored.number} of the store, which is void: {stored.void}; "
        f"bring it back with kb job void {stored.number} --back",
    )


def _undone_by(work: UnitOfWork, job: Job) -> int | None:
    """Return the entry by which a job's opening was taken back."""
    entries = work.changes.entries(job=job.number)
    return next((each.sequence for each in entries if each.takes_back is not None), None)


def _contradiction(told: Job, stored: Job, earlier: int | None) -> InvalidField:
    """Say in what a row differs from its job, as the store or an earlier row has it."""
    if earlier is None:
        cure = f"is job {stored.number} of the store, with other content; edit that job"
        return InvalidField("uid", told.uid, cure)
    first, *others = (
        each
        for each in differences(stored, told)
        if each.new is not None or not each.field.startswith("vehicle.")
    )
    also = dict.fromkeys(each.field for each in others if not each.field.startswith("entries"))
    more = f"; {', '.join([*also][:_MOST_LINES_NAMED])} not alike, either" if also else ""
    return InvalidField(
        first.field,
        first.new,
        f"is another than on line {earlier}, which says {first.old}{more}; both are of "
        f"job {stored.number}, kept as line {earlier} has it; make the rows agree or edit it",
    )


def _uid_of(job: Job) -> str:
    """Return the job's own uid, or the one made of what tells it from any other."""
    if job.uid is not None:
        return job.uid
    told = (job.number, job.opened, job.complaint, job.vehicle)
    return uuid5(_UID_SPACE, msgspec.json.encode(told).decode()).hex


def _says_which(job: Job) -> bool:
    """Whether a row says by a number or uid which job it is of."""
    return job.uid is not None or job.number is not None


def _settled(job: Job, numbers: Numbers) -> Job:
    """Give the job its number in the store, and its contacts those of the jobs they name."""
    known = numbers.by_number
    contacts = tuple(
        replace(contact, job=known.get(contact.job, contact.job)) if contact.job else contact
        for contact in job.contacts
    )
    uid = numbers.rows.uid_of(job)
    settled = replace(job, uid=uid, number=numbers.by_uid[uid], contacts=contacts)
    return settled if job.uid is not None else undecided(_dated(settled))


def _dated(job: Job) -> Job:
    """Put each comeback on the day that its words tell."""
    if job.closed is None:
        return job
    return replace(job, contacts=tuple(dated_by_words(each, job.closed) for each in job.contacts))


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
        *(entry.text for entry in job.entries),
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
