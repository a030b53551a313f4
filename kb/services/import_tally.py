"""What becomes of the jobs of a file, and what of them somebody should look at."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date, timedelta
from typing import Any, Self

import msgspec

from kb.case import Contact, Job, Vehicle, tag_key
from kb.errors import InvalidField, KbError, Notice
from kb.intake.contradictions import (
    contradictions,
    is_typed_otherwise,
)
from kb.intake.days import days_of_no_clock, days_to_come
from kb.intake.elapsed import dated_by_words
from kb.intake.items import trade_wording
from kb.intake.privacy import personal_data
from kb.safety.job_dangers import dangers_of
from kb.safety.job_words import is_withheld
from kb.services.contact_doubts import at_odds, odd_distances, same_answer
from kb.services.import_numbers import Numbers
from kb.store.cars import may_be_one
from kb.store.transaction import batches
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.locks import told_tests, unvouched

_FEWEST_TO_JUDGE = 10
MOST_NAMED = 5
"""Lines or fields named in one sentence: what a reader goes through."""
MOST_ROWS = 100
"""Lines that are named of what somebody has to look at one after the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reject:
    """One job of a file that was not stored, and why.

    `column` is that of a foreign sheet which holds the field, None where there is none.
    """

    line: int
    field: str
    value: Any
    reason: str
    column: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubts:
    """What somebody should look at, as far as one job of a file tells it by itself."""

    never_recalled: bool
    in_future: bool
    of_no_clock: bool
    personal: bool
    unvouched: bool
    dangerous: bool
    withheld: bool
    contradictions: tuple[str, ...]
    dated: bool
    typed_otherwise: bool
    told_twice: bool
    at_odds: bool
    distances: tuple[str, ...]

    @classmethod
    def of(cls, job: Job, today: date) -> Self:
        """Look at a job."""
        told, dangerous = job.uid is None, bool(dangers_of(job))
        return cls(
            never_recalled=job.cause is not None and job.closed is None,
            in_future=any(days_to_come(job, today, clocks=timedelta(0))),
            of_no_clock=any(days_of_no_clock(job)),
            personal=bool(personal_data(_free_text(job))),
            # nobody knows when these tests were made: no confirmation can have held then
            unvouched=bool(unvouched(job, told_tests(job), (), trade_wording(), hours=0)),
            dangerous=dangerous,
            withheld=not dangerous and is_withheld(job),
            contradictions=tuple(contradictions(job)) if told else (),
            dated=told and on_days_told(job) != job,
            typed_otherwise=told and any(map(is_typed_otherwise, job.readings)),
            told_twice=told and once_told(job) != job,
            at_odds=told and at_odds(job),
            distances=tuple(odd_distances(job)) if told else (),
        )


class KnownTags:
    """Key tags as the store and the lines before write them, so that one car is not two."""

    def __init__(self, vehicles: Iterable[Vehicle]) -> None:
        self._known = {car.ref: car for car in vehicles if car.ref is not None}
        self._by_key: dict[str, str] = {}
        for ref in self._known:
            self._by_key.setdefault(tag_key(ref), ref)
        self.spelt_otherwise: list[tuple[int, str, str]] = []
        """Lines, the tag as it is written there, and the one it is taken for."""
        self.two_cars: list[tuple[int, str, str]] = []
        """The same, where both are known, they come out of a store, or details contradict."""

    def put_right(self, line: int, job: Job, *, told: bool) -> Job:
        """Return a job with the tag that its car has, if that is written otherwise.

        One that is not `told` but comes out of a store keeps its tag.
        """
        ref = job.vehicle.ref
        if ref is None:
            return job
        meant = self._by_key.setdefault(tag_key(ref), ref)
        if meant != ref:
            if not told or ref in self._known or not may_be_one(job.vehicle, self._known[meant]):
                self.two_cars.append((line, ref, meant))
            else:
                self.spelt_otherwise.append((line, ref, meant))
                job = replace(job, vehicle=replace(job.vehicle, ref=meant))
        self._note(job.vehicle)
        return job

    def _note(self, car: Vehicle) -> None:
        """Fill the gaps of what is known of a car."""
        known = self._known.setdefault(str(car.ref), car)
        gaps = {
            part.name: getattr(car, part.name)
            for part in fields(Vehicle)
            if getattr(known, part.name) is None
        }
        self._known[str(car.ref)] = replace(known, **gaps)

    def notices(self) -> Iterator[str]:
        """Say which tags were taken for others, and which were not."""
        if self.spelt_otherwise:
            line, ref, meant = self.spelt_otherwise[0]
            yield (
                f"A key tag is written otherwise than before, as “{ref}” for “{meant}” on line "
                f"{line}, in {_jobs([each[0] for each in self.spelt_otherwise])}: taken as one "
                "car. If it is another: kb job edit NUMBER --set vehicle.ref=TAG"
            )
        if self.two_cars:
            line, ref, meant = self.two_cars[0]
            yield (
                f"Key tags differ in case, blanks, dashes or dots alone, as “{ref}” and "
                f"“{meant}” on line {line}, in "
                f"{_jobs([each[0] for each in self.two_cars])}: each counts as a car of its own."
                " If it is one car: kb job edit NUMBER --set vehicle.ref=TAG"
            )


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
    of_no_clock: list[int] = field(default_factory=list)
    same_number: list[int] = field(default_factory=list)
    renumbered: list[tuple[int, int]] = field(default_factory=list)
    rejects: list[Reject] = field(default_factory=list)
    personal: list[int] = field(default_factory=list)
    unvouched: list[int] = field(default_factory=list)
    dangerous: list[int] = field(default_factory=list)
    withheld: list[int] = field(default_factory=list)
    contradictions: list[str] = field(default_factory=list)
    dated: list[int] = field(default_factory=list)
    typed_otherwise: list[int] = field(default_factory=list)
    told_twice: list[int] = field(default_factory=list)
    taken_back: list[int] = field(default_factory=list)
    undone_by: int | None = None
    links_elsewhere: list[int] = field(default_factory=list)
    links: list[tuple[int, int]] = field(default_factory=list)
    numbers_shared: set[int] = field(default_factory=set)
    other_cars: list[int] = field(default_factory=list)
    at_odds: list[int] = field(default_factory=list)
    distances: list[str] = field(default_factory=list)
    tags: KnownTags | None = None
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
            (self.of_no_clock, doubts.of_no_clock),
            (self.personal, doubts.personal),
            (self.unvouched, doubts.unvouched),
            (self.dangerous, doubts.dangerous),
            (self.withheld, doubts.withheld),
            (self.dated, doubts.dated),
            (self.typed_otherwise, doubts.typed_otherwise),
            (self.told_twice, doubts.told_twice),
            (self.at_odds, doubts.at_odds),
        ):
            if noted:
                lines.append(line)
        self.contradictions += (f"line {line}, {said}" for said in doubts.contradictions)
        self.distances += (f"line {line}, {said}" for said in doubts.distances)
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

    def known_tags(self, work: UnitOfWork) -> KnownTags:
        """Return the key tags known so far, those of the store first."""
        if self.tags is None:
            self.tags = KnownTags(work.jobs.vehicles())
        return self.tags

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
        if self.at_odds:
            yield (
                "Contacts that cannot both be so (held after a comeback, one later job judged in "
                f"two ways) in {_jobs(self.at_odds)}: a comeback "
                "counts, and held after it does not; look at them."
            )
        if self.distances:
            yield (
                "An odometer that cannot be, by which no kilometres are counted: "
                f"{some_of(self.distances)}. Correct it: kb job edit NUMBER --set "
                "contacts[PLACE].odometer_km=KM"
            )
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

    def _amiss_with_days(self) -> Iterator[str]:
        if self.in_future:
            yield f"Days that are still to come in {_jobs(self.in_future)}: check them."
        if self.of_no_clock:
            yield (
                "Days before the car was built, or that programs write for none, in "
                f"{_jobs(self.of_no_clock)}: check them."
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
        if self.dangerous:
            yield (
                "A step that is asked about where it is typed, as it is dangerous or not plainly "
                f"allowed, is told in {_jobs(self.dangerous, MOST_ROWS)}: it is kept as what "
                "happened, hidden or marked on every page for people and never proposed."
            )
        if self.withheld:
            yield (
                "Words that are not plainly allowed at an igniter, though no step is named in "
                f"them, stand in {_jobs(self.withheld, MOST_ROWS)}: they are kept, and hidden on "
                "every page for people. If a value was a scan tool's, or a known load was in the "
                "igniter's place, say so in it: kb job edit."
            )
        yield from self._amiss_with_days()
        if self.same_number:
            yield (
                f"A number that another row has, too, in {_jobs(self.same_number)}: they tell of "
                "another car, day or complaint, and were kept as jobs of their own."
            )
        if self.contradictions:
            yield f"Told twice and not alike, so kept as not told: {some_of(self.contradictions)}."
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
        if self.told_twice:
            yield (
                f"The same was heard of a car twice on one day, in the same words, in "
                f"{_jobs(self.told_twice)}: kept once."
            )
        if self.taken_back:
            all_of_it = f", all of them with kb undo {self.undone_by}" if self.undone_by else ""
            yield (
                f"Taken back earlier, and void now, are {_jobs(self.taken_back)}: bring one back "
                f"with kb job void NUMBER --back{all_of_it}."
            )
        yield from self._amiss_with_visits()
        yield from self.tags.notices() if self.tags else ()
        if self.with_attempts >= _FEWEST_TO_JUDGE and not self.with_failed_attempts:
            yield Notice.FINAL_FIXES_ONLY


def some_of(told: Sequence[str]) -> str:
    """Join the first of what is told, and say how many others there are."""
    named = "; ".join(told[:MOST_NAMED])
    left = len(told) - MOST_NAMED
    return f"{named}; and {left:,} other{'' if left == 1 else 's'}" if left > 0 else named


def _jobs(lines: Sequence[int], most: int = MOST_NAMED) -> str:
    named = ", ".join(map(str, lines[:most]))
    more = " and others" if len(lines) > most else ""
    return f"{len(lines):,} of the jobs (line {named}{more})"


_NESTED = 100
"""Lists and objects in a value from which on it is told as text, into which nothing descends."""


def _json_ready(value: object) -> Any:
    try:
        told = msgspec.json.encode(value)
        nested = told.count(b"[") + told.count(b"{")
        return told.decode() if nested > _NESTED else msgspec.json.decode(told)
    except (TypeError, ValueError, OverflowError, RecursionError):
        return repr(value)


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


def even_tag(ref: str) -> str:
    """Write a key tag as the command line does."""
    return " ".join(ref.split()).upper()


def on_days_told(job: Job) -> Job:
    """Put each comeback on the day that its words tell."""
    if job.closed is None:
        return job
    contacts = tuple(dated_by_words(each, job.closed) for each in job.contacts)
    return job if contacts == job.contacts else replace(job, contacts=contacts)


def once_told(job: Job) -> Job:
    """Leave out what was heard of a job's car and is told twice of one day, in the same words."""
    kept: list[Contact] = []
    for each in job.contacts:
        if not any(same_answer(each, other) for other in kept):
            kept.append(each)
    return job if len(kept) == len(job.contacts) else replace(job, contacts=tuple(kept))
