"""Recording: opening, adding to and editing jobs; `kb.services.closing` closes them.

What changes a job comes in two steps, so that what was understood can be shown before it is
stored: a first call returns a `Draft`, and `keep` stores it.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from datetime import UTC, date, datetime, timedelta
from textwrap import fill
from typing import Any, TypeVar

import msgspec

from kb.bounds import LONGEST_TEXT
from kb.case import (
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    EntryKind,
    Heard,
    Job,
    JobEntry,
    Outcome,
    Reading,
    SaidAt,
    TroubleCode,
    Vehicle,
    is_too_soon,
    same_text,
)
from kb.errors import Conflict, Dangerous, InvalidField, NoSuchJob
from kb.intake.account import Account, Lift, account, placed
from kb.intake.additions import combined, joined
from kb.intake.bare import what_is_missing
from kb.intake.causes import read_cause
from kb.intake.codes import parse_code
from kb.intake.contradictions import check_handover, check_odometers, contradiction
from kb.intake.days import NO_ONE_DAY, HeardOn, days_to_come, heard_on
from kb.intake.distances import Distance, lift_odometer_beside_car
from kb.intake.edits import edited
from kb.intake.elapsed import dated_by_words
from kb.intake.findings import Findings, find_findings
from kb.intake.items import trade_wording
from kb.intake.lifting import Place
from kb.intake.outcomes import untold
from kb.intake.privacy import personal_data
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import understand
from kb.intake.systems import parse_system
from kb.intake.wording import suggest
from kb.rates.returns import denied_again, unjudged
from kb.safety.hazards import Situation, cautions_of
from kb.safety.igniter import Danger, dangerous_step
from kb.safety.job_words import FIT, JobWords, danger_line, dangers_of, hidden_of, is_igniter_job
from kb.services.deeds import deeds_of, steps_of
from kb.services.doubts import (
    after_a_fix,
    another_place,
    less_far,
    less_than_before,
    mistyped_tags,
    other_car,
    tag_or_car,
    too_far,
)
from kb.services.earlier_fix import given_to_last_fix
from kb.services.indexing import shop_wording
from kb.services.knowledge import shop_causes
from kb.settings import CONFIRMATION_HOURS
from kb.store.database import open_store
from kb.store.history import Change, Difference, differences
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.circuit import shorted
from kb.troubleshooting.locks import unvouched

D = TypeVar("D", bound="Draft")
Part = TroubleCode | Reading | DiagnosticTest | Attempt | Contact
_LISTS = {
    TroubleCode: ("codes", EntryKind.CODE),
    Reading: ("readings", EntryKind.READING),
    DiagnosticTest: ("tests", EntryKind.TEST),
    Attempt: ("attempts", EntryKind.ATTEMPT),
    Contact: ("contacts", EntryKind.CONTACT),
}
WIDTH = 79
"""Of the lines in which a refusal is told."""
BLANKS = " \t\n;,."
"""What parts a line, and tells nothing."""
RECENT = timedelta(days=365)
"""A car that was here so lately may have come back for the same thing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A job as it would be stored.

    Attributes
    ----------
    job : Job
        Without a number if it is a new one.
    base : Job or None
        The stored job it was made from.
    notices : tuple of str
        What was doubtful, or should be looked at before it is stored.
    cautions : tuple of str
        What comes before any word of the job.
    dangers : tuple of Danger
        Steps told in it that nobody should repeat: stored only as what happened.
    account : Account or None
        What became of the words of the line that was typed, if it was one.
    clash : str or None
        Why it may be another car than the one meant.
    """

    job: Job
    base: Job | None
    notices: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    dangers: tuple[Danger, ...] = ()
    account: Account | None = None
    clash: str | None = None

    @property
    def changes(self) -> tuple[Difference, ...]:
        """What storing it would change; nothing for a new job."""
        return () if self.base is None else tuple(differences(self.base, self.job))

    def as_kind(self, kind: type[D], **more: Any) -> D:
        """Return this draft with what a kind of draft tells besides."""
        return kind(**{each.name: getattr(self, each.name) for each in fields(Draft)}, **more)


class ChangedMeanwhile(Conflict):
    """A job was changed after a draft of it was made.

    Attributes
    ----------
    theirs : Draft
        What was changed meanwhile, on the job that the draft was made from.
    left : Draft or None
        What of the draft does not collide with that, on the job as it is now; None if nothing.
    collide : tuple of str
        The fields in which both changed it otherwise.
    """

    def __init__(self, theirs: Draft, left: Draft | None, collide: tuple[str, ...]) -> None:
        number = theirs.job.number
        fields_of = ", ".join(dict.fromkeys(each.field for each in theirs.changes))
        both = f", and so did you {', '.join(collide)}" if collide else ""
        super().__init__(
            f"job: {number} was changed by somebody else meanwhile ({fields_of}{both}); "
            f"look with 'kb job show {number}' and do it again"
        )
        self.theirs, self.left, self.collide = theirs, left, collide


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """A job as it was stored, what was changed in it, and what became of the words typed.

    `unvouched` are steps among it that wanted a confirmation and had none.
    """

    job: Job
    changes: tuple[Difference, ...]
    notices: tuple[str, ...]
    account: Account | None = None
    unvouched: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """What is told of a new job, as typed. `ref` is the key tag of the car, `vehicle` the rest."""

    text: str
    ref: str | None = None
    codes: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    vehicle: str | None = None
    system: str | None = None
    conditions: str | None = None
    odometer_km: int | None = None
    technician: str | None = None
    notes: str | None = None
    opened: date | None = None


def open_job(address: str, told: Opening, *, who: str | None = None, today: date) -> Draft:
    """Draft a new job of what was told.

    Parameters
    ----------
    address : str
        The store.
    told : Opening
        Its text may hold codes and readings.
    who : str, optional
        The technician, where none is told.
    today : date
        Day of opening, where none is told.

    Raises
    ------
    KbError
        If the store cannot be opened, or something told cannot be understood.
    """
    codes = [
        replace(parse_code(text), said=_whole(place, text))
        for place, text in enumerate(told.codes, 1)
    ]
    readings = [
        replace(parse_reading(text), said=_whole(place, text))
        for place, text in enumerate(told.readings, 1 + len(codes))
    ]
    words = [
        (EntryKind.COMPLAINT, told.text),
        *((EntryKind.CODE, text) for text in told.codes),
        *((EntryKind.READING, text) for text in told.readings),
        *([(EntryKind.NOTE, told.notes)] if told.notes and told.notes.strip() else []),
    ]
    with UnitOfWork(open_store(address), read_only=True) as work:
        known, models, wording = work.jobs.vehicles(), work.models.all(), shop_wording(work)
        ref, car, misplaced = tag_or_car(told.ref, told.vehicle, known, models)
        told, miles = odometer_beside_car(replace(told, ref=ref, vehicle=car))
        missing = (
            None
            if told.codes or told.readings
            else what_is_missing(told.text, lambda: known, models, wording)
        )
        if missing:
            raise InvalidField("complaint", told.text, missing)
        tag = next((car.ref for car in known if same_text(car.ref, told.ref)), None)
        understood = understand(
            told.text,
            codes=codes,
            readings=readings,
            vehicle=" ".join(filter(None, (tag, told.vehicle))),
            vehicles=known,
            models=models,
            conditions=told.conditions,
            system=parse_system(told.system) if told.system else None,
            wording=wording,
        )
        complaint = understood.complaint
        job = Job(
            vehicle=replace(complaint.vehicle, ref=tag or told.ref or complaint.vehicle.ref),
            opened=told.opened or today,
            complaint=complaint.text if complaint.text.strip() else told.text,
            system=complaint.system,
            conditions=complaint.conditions,
            odometer_km=_odometer(told.odometer_km, understood.odometer),
            technician=told.technician or who,
            codes=placed(complaint.codes, understood.account, 0),
            readings=placed(complaint.readings, understood.account, 0),
            notes=told.notes,
            entries=tuple(JobEntry(kind=kind, text=text) for kind, text in words),
        )
        visits = work.jobs.of_vehicle(job.vehicle)
    earlier = (*_earlier_visits(visits, job.opened), *less_far(job, visits))
    misplaced = (*misplaced, *miles, *(() if ref or car else mistyped_tags(told.text, known)))
    far = _other_distance(job, understood.odometer)
    notices = (*misplaced, *understood.notices, *earlier, *far)
    draft = draft_of(job, None, notices, understood.account, today=today)
    ref = job.vehicle.ref if complaint.vehicle.ref else None
    retagged = None if same_text(ref, complaint.vehicle.ref) else ref
    return replace(draft, clash=other_car(complaint.vehicle, understood.clash or retagged))


def odometer_beside_car(told: Opening) -> tuple[Opening, tuple[str, ...]]:
    """Take a distance that was told with the car for the odometer, and say what was made of it."""
    driven, car = lift_odometer_beside_car(told.vehicle or "")
    if driven is None:
        return told, ()
    said = f"{driven.miles:,} miles are {driven.km:,} km." if driven.miles is not None else None
    if told.odometer_km not in (None, driven.km):
        said = f"{driven.km:,} km were told with the car, but {told.odometer_km:,} km beside it."
    km = driven.km if told.odometer_km is None else told.odometer_km
    return replace(told, vehicle=car.strip(" ,;") or None, odometer_km=km), (said,) if said else ()


def add_line(address: str, number: int, text: str, *, today: date) -> Draft:
    """Draft a job with what one line of shop talk tells of it; see `find_findings`.

    The line itself is kept as it was typed, with its words that are none of these.

    Raises
    ------
    KbError
        If there is no such job, or something told cannot be understood.
    """
    if len(text) > LONGEST_TEXT:
        cure = f"is longer than {LONGEST_TEXT:,} characters; part it and add one after the other"
        raise InvalidField("line", text, cure)
    if not text.strip(BLANKS):
        raise InvalidField("line", text, "tells nothing to add")
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        found = find_findings(text, today, left_cured=_left_cured(base))
        shown = replace(base, odometer_km=_odometer(base.odometer_km, found.odometer))
        taken = given_to_last_fix(shown, text, found)
        job, dated = _dated(_told(taken.job, text, found), base, today)
        spelt = (*denied_causes(work, job, base), *spelt_otherwise(work, job, base))
    early = [notice for contact in found.contacts for notice in _doubtful(contact, base)]
    nothing = _proves_nothing(base, (*found.readings, *found.tests))
    late = after_a_fix(base, found.readings)
    far = _other_distance(job, found.odometer)
    wordless = not (found.account.lifted or any(map(str.isalnum, text)))
    signs = ["Nothing is understood of it; it is kept as it was typed."] if wordless else []
    notices = (
        *signs,
        *taken.notices,
        *(str(each) for each in found.doubts if not (dated and each.why.startswith(NO_ONE_DAY))),
        *far,
        *early,
        *dated,
        *spelt,
        *nothing,
        *late,
    )
    return draft_of(job, base, notices, taken.account)


def _left_cured(job: Job) -> bool:
    """Whether a job was handed over with a fix that cured: what is back then is told later."""
    return job.closed is not None and bool(job.attempts) and job.attempts[-1].cured is True


def _odometer(known: int | None, told: Distance | None) -> int | None:
    return known if known is not None or told is None else told.km


def _other_distance(job: Job, told: Distance | None) -> Iterator[str]:
    """Say that the words tell another distance than the job keeps."""
    if told and job.odometer_km is not None and told.km != job.odometer_km:
        yield f"The words tell {told.km:,} km; kept are {job.odometer_km:,} km."


def _told(base: Job, text: str, found: Findings) -> Job:
    longer: dict[str, Any] = {
        name: getattr(base, name) + placed(getattr(found, name), found.account, len(base.entries))
        for name, _ in _LISTS.values()
    }
    return replace(with_entry(base, EntryKind.LINE, text), **longer)


def with_entry(job: Job, kind: EntryKind, text: str) -> Job:
    """Return a job that keeps one text more as it was typed."""
    return replace(job, entries=(*job.entries, JobEntry(kind=kind, text=text)))


def _whole(entry: int, text: str) -> SaidAt:
    return SaidAt(entry=entry, start=0, end=len(text))


def add_part(
    address: str, number: int, part: Part, typed: str | None = None, *, today: date | None = None
) -> Draft:
    """Draft a job with one part more, read from what was typed.

    Raises
    ------
    NoSuchJob
        If there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return with_part(work, work.jobs.get(number), part, typed, today=today)


def dangerous_words(address: str, number: int, text: str) -> Danger | None:
    """Name what is dangerous in words that could not be read as a part of a job.

    Raises
    ------
    NoSuchJob
        If there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        igniter_job = is_igniter_job(work.jobs.get(number), trade_wording())
    return dangerous_step(text, igniter_job=igniter_job)


def with_part(
    work: UnitOfWork,
    base: Job,
    part: Part,
    typed: str | None = None,
    *,
    today: date | None = None,
) -> Draft:
    """Draft a stored job with one part more, read from what was typed."""
    field, kind = _LISTS[type(part)]
    told, job, on = None, base, HeardOn()
    if denied := contradiction(part, typed if isinstance(part, Attempt) else None):
        said = part.words if isinstance(part, Contact) else typed
        raise InvalidField(field, said, f"tells two things: {denied}; leave one of them out")
    if isinstance(part, Contact) and part.job is not None:
        _check_visit(work, part.job, base)
        for judged in _judged_otherwise(part, base):
            raise InvalidField("contact.job", part.job, judged)
    if isinstance(part, Contact):
        on = heard_on(typed or part.words or "", part.on)
    if typed is not None:
        told = account(
            typed,
            [Lift(part, Place(0, len(typed)))],
            [on.doubt] if on.doubt else [],
            [on.place] if on.place else [],
        )
        part = replace(part, said=_whole(len(base.entries), typed))
        job = with_entry(base, kind, typed)
    longer: dict[str, Any] = {field: (*getattr(base, field), part)}
    job, dated = _dated(replace(job, **longer), base, today or date.today())
    early = _doubtful(part, base) if isinstance(part, Contact) else []
    early += [str(on.doubt)] if on.doubt and not dated else []
    early += denied_causes(work, job, base)
    spelt = spelt_otherwise(work, job, base)
    late = after_a_fix(base, [part])
    notices = (*early, *dated, *spelt, *_proves_nothing(base, [part]), *late)
    return draft_of(job, base, notices, told)


def _dated(job: Job, base: Job, today: date) -> tuple[Job, list[str]]:
    """Put new contacts on the day that their words tell, and say so."""
    known = len(base.contacts)
    if base.closed is None or len(job.contacts) == known:
        return job, []
    told = job.contacts[known:]
    good = max((each.on for each in base.contacts if each.outcome is Outcome.HELD), default=None)
    kept = tuple(dated_by_words(each, base.closed, today, good) for each in told)
    said = [
        f"“{new.words}” may be as early as {new.on}: kept as that, not as {old.on}; if it was "
        f"another day, kb job edit {job.number} --set contacts[{place}].on=DAY"
        for place, (old, new) in enumerate(zip(told, kept, strict=True), known)
        if old != new
    ]
    return replace(job, contacts=(*job.contacts[:known], *kept)), said


def _check_visit(work: UnitOfWork, number: int, base: Job) -> None:
    """Refuse a comeback's own job that is void, no later one, or of another car."""
    if number == base.number:
        raise InvalidField("contact.job", number, "is this very job; give the later one's number")
    visit = work.jobs.get(number)
    if visit.void is not None:
        cure = f"is void and counts nowhere; bring it back first: kb job void {number} --back"
        raise InvalidField("contact.job", number, cure)
    if None not in (visit.vehicle.key, base.vehicle.key) and visit.vehicle.key != base.vehicle.key:
        cure = f"is of another car, {FIT.shown_vehicle(visit.vehicle).tagged}; look again"
        raise InvalidField("contact.job", number, cure)
    if base.closed is not None and visit.opened < base.closed and visit.opened <= base.opened:
        cure = f"was opened {visit.opened}, before the handover of job {base.number}; look again"
        raise InvalidField("contact.job", number, cure)


def edit_job(address: str, number: int, edits: Iterable[str], *, today: date) -> Draft:
    """Draft a job with some of its fields set; see `kb.intake.edits.edited`.

    A complaint told anew is a further entry; the one before is kept.

    Raises
    ------
    KbError
        If there is no such job or field, or a value does not fit.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        job = edited(
            base, edits, today=today, vehicles=work.jobs.vehicles(), causes=shop_causes(work)
        )
        back = any(next(unjudged(each), None) for each in work.repairs.of_jobs([number]))
        if job.complaint != base.complaint:
            job = with_entry(job, EntryKind.COMPLAINT, job.complaint)
        notices = [*edit_doubts(work, job, base)]
    job, kept = _tried_for(job, base, back=back)
    return draft_of(job, base, (*notices, *kept))


def edit_doubts(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Say what an edit does to the car of a job, and to what its odometer showed."""
    same_car = len(work.jobs.numbers_of_vehicle(base.vehicle))
    if job.vehicle != base.vehicle and job.vehicle.ref == base.vehicle.ref and same_car > 1:
        yield f"The vehicle is corrected on all {same_car} jobs of {_tag(job.vehicle)}."
    yield from less_than_before(job, base)
    if job.odometer_km != base.odometer_km:
        visits = work.jobs.of_vehicle(job.vehicle)
        yield from less_far(job, [each for each in visits if each.number != job.number])


def _tried_for(job: Job, base: Job, *, back: bool) -> tuple[Job, tuple[str, ...]]:
    """Keep what a fix that failed was for, when another cause is set over it, and say so.

    It failed if it did not cure, came back, or is `back` with something alike nobody has judged.
    """
    failed = back or any(each.outcome is Outcome.COMEBACK for each in base.contacts)
    failed = failed or any(each.cured is False for each in base.attempts[-1:])
    same = base.cause is None or job.cause is None or job.cause.key == base.cause.key
    if same or not failed or not job.attempts or base.cause is None or base.closed is None:
        return job, ()
    last = job.attempts[-1]
    if last.supposed is None:
        last = replace(last, supposed=base.cause)
    was, number, place = (
        FIT.named((last.supposed or base.cause).label),
        base.number,
        len(job.attempts),
    )
    said = (
        f"The fix of job {number} failed, or the car is back. {FIT.named(last.label)} was tried "
        f"for “{was}”, so it counts there still, and not for the new cause. If the cause was only "
        f"spelt wrong: kb job edit {number} --set attempts[{place - 1}].supposed="
    )
    return replace(job, attempts=(*job.attempts[:-1], last)), (said,)


def keep(
    address: str,
    draft: Draft,
    *,
    who: str | None = None,
    happened: bool = False,
    hours: float = CONFIRMATION_HOURS,
    patience: int | None = None,
) -> Recorded:
    """Store a draft; where it only adds to a job that was changed meanwhile, it is added there.

    Parameters
    ----------
    happened : bool
        Somebody said that its dangerous steps were in fact done.
    hours : float
        How long a confirmation holds at most.
    patience : int, optional
        Seconds to wait for others who write; as long as anybody waits if left out.

    Raises
    ------
    Dangerous
        If it tells dangerous steps and nobody said so.
    StoreBusy
        If others write for longer.
    ChangedMeanwhile
        If the job was changed since the draft was made and the draft does more than add to it.
    Conflict
        If it contradicts what the store holds.
    """
    _refuse_dangers(draft, happened=happened)
    with UnitOfWork(open_store(address), who=who, patience=patience) as work:
        before = work.changes.last()
        if draft.base is None:
            stored = work.jobs.add(_signed(draft, who))
        else:
            draft = _on_top(draft, work.jobs.get(_number(draft.base)))
            _refuse_dangers(draft, happened=happened)
            stored = work.jobs.replace(_signed(draft, who))
        changes = work.changes.of(_number(stored)) if draft.base else []
        work.commit()
    return Recorded(
        job=stored,
        changes=draft.changes,
        notices=draft.notices,
        account=draft.account,
        unvouched=_unvouched(stored, changes, before, hours),
    )


def _refuse_dangers(draft: Draft, *, happened: bool) -> None:
    if draft.dangers and not happened:
        told = [*map(danger_line, draft.dangers), "If it was done all the same: --happened."]
        raise Dangerous("\n".join(fill(line, WIDTH) for line in told))


def _on_top(draft: Draft, stored: Job) -> Draft:
    """Return a draft made of the job as it is stored now."""
    base = draft.base or stored
    if stored == base:
        return draft
    job = joined(base, draft.job, stored)
    if job is None:
        mine, collide = combined(base, draft.job, stored)
        left = None
        with suppress(InvalidField):  # what would contradict theirs is not offered
            left = draft_of(mine, stored) if mine != stored else None
        raise ChangedMeanwhile(draft_of(stored, base), left, collide)
    return replace(draft, job=job, base=stored, dangers=tuple(dangers_of(job, stored)))


def _unvouched(job: Job, changes: Sequence[Change], before: int, hours: float) -> tuple[str, ...]:
    """Return the steps told since a change that wanted a confirmation and had none."""
    begin = min((each.at for each in changes if each.sequence > before), default=None)
    steps = [step for step in steps_of(job, changes) if step.at and begin and step.at >= begin]
    deeds = deeds_of(job, changes)
    return unvouched(job, steps, deeds, trade_wording(), hours)


def _signed(draft: Draft, who: str | None) -> Job:
    """Return the job of a draft, its new entries with who typed them, and when they are stored."""
    old = len(draft.base.entries) if draft.base else 0
    new = (replace(each, at=datetime.now(UTC), by=who) for each in draft.job.entries[old:])
    return replace(draft.job, entries=(*draft.job.entries[:old], *new))


def draft_of(
    job: Job,
    base: Job | None,
    notices: Iterable[str] = (),
    told: Account | None = None,
    *,
    today: date | None = None,
) -> Draft:
    """Draft a job, with a warning of everything in it that looks like personal data.

    Raises
    ------
    InvalidField
        If it tells a day that is still to come, of a fix before the car was handed over, or an
        odometer that no car comes to.
    """
    today = today or date.today()
    check_handover(job, base)
    check_odometers(job, base)
    to_come = set() if base is None else set(days_to_come(base, today))
    for field, day in days_to_come(job, today):
        if (field, day) not in to_come:
            raise InvalidField(field, str(day), "is still to come; write the day it was")
    vinless = replace(job, vehicle=replace(job.vehicle, vin=None))  # it has a field of its own
    new = msgspec.to_builtins(vinless)
    if base:
        new = [each.new for each in differences(base, job) if each.field != "vehicle.vin"]
    known: tuple[Part, ...] = (*base.attempts, *base.contacts) if base else ()
    parts: tuple[Attempt | Contact, ...] = (*job.attempts, *job.contacts)
    open_ends = (untold(part) for part in parts if part not in known)
    personal = (warning for text in _texts(new) for warning in personal_data(text))
    dangers = tuple(dangers_of(job, base))
    unseen = _will_be_hidden(job, base, dangers)
    return Draft(
        job=job,
        base=base,
        notices=tuple(
            dict.fromkeys(
                (*_of_void(job, base), *notices, *filter(None, open_ends), *unseen, *personal)
            )
        ),
        cautions=cautions_of(Situation.of_job(job), trade_wording()),
        dangers=dangers,
        account=told,
    )


def refuse_void(job: Job) -> None:
    """Refuse to go on with a job that counts nowhere.

    Raises
    ------
    Conflict
        If it is void.
    """
    if job.void is not None:
        raise Conflict(
            f"job: {job.number} is void ({job.void}); bring it back first: "
            f"kb job void {job.number} --back"
        )


def _of_void(job: Job, base: Job | None) -> Iterator[str]:
    """Say that what is told of a job counts nowhere."""
    if base is not None and base.void is not None and job.void is not None:
        yield (
            f"Job {base.number} is void ({base.void}), so nothing of it counts; to bring it back: "
            f"kb job void {base.number} --back"
        )


def _will_be_hidden(job: Job, base: Job | None, dangers: Sequence[Danger]) -> Iterator[str]:
    """Say what of a draft will not be shown, though nobody is asked about it as a danger."""
    named = [" ".join(danger.told.split()) for danger in dangers]
    for text in hidden_of(job, base):
        line = " ".join(text.split())
        if not any(told in line or line in told for told in named):
            yield (
                f"Will not be shown, as it may be a meter's on an igniter: “{_short(line, 100)}”. "
                "If it was a scan tool's, or a known load was in its place, say so in it."
            )


def _texts(value: Any) -> Iterator[str]:
    """Yield every text inside a JSON value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)


def _doubtful(contact: Contact, job: Job) -> list[str]:
    """Say why a contact would not count, or not be what it seems, and how to mend it."""
    if job.closed is None:
        return [
            "The job is open yet: close it, so that the contact counts; its handover was by then: "
            f"kb job close {job.number} --closed DAY"
        ]
    place = f"contacts[{len(job.contacts)}]"
    doubts = [*another_place(contact)]
    mend = f"correct it with kb job edit {job.number} --set {place}"
    if is_too_soon(contact, job.closed):
        doubts.append(
            f"{contact.on} is the day of the handover, too soon to tell that a fix held: the car "
            f"still counts as not heard of; where the day is another, {mend}.on=DAY"
        )
    if None not in (contact.odometer_km, job.odometer_km) and (
        (contact.odometer_km or 0) < (job.odometer_km or 0)
    ):
        doubts.append(
            f"{contact.odometer_km:,} km is less than the {job.odometer_km:,} km of the job: its "
            f"distance does not count; {mend}.odometer_km=KM"
        )
    judged = (f"Job {contact.job} {said}" for said in _judged_otherwise(contact, job))
    return [*doubts, *too_far(contact, job), *judged, *_out_of_turn(contact, job)]


def _judged_otherwise(contact: Contact, job: Job) -> Iterator[str]:
    """Say that the same later visit was judged before, and not alike."""
    for place, each in enumerate(job.contacts):
        if contact.job is None or each.job != contact.job:
            continue
        told = Outcome.NOT_TOLD not in {each.outcome, contact.outcome}
        if told and (each.outcome is Outcome.COMEBACK) != (contact.outcome is Outcome.COMEBACK):
            field = f"contacts[{place}]"
            yield (
                f"was judged before: {each.on} {each.outcome}; correct that: kb job edit "
                f'{job.number} --set "{field}.outcome={contact.outcome}", or take it out: '
                f'"{field}="'
            )


def _out_of_turn(contact: Contact, job: Job) -> Iterator[str]:
    """Say that a fix is told to have held once it had come back, or on the same day."""
    pair = {Outcome.HELD, Outcome.COMEBACK}
    for place, each in enumerate(job.contacts):
        if {each.outcome, contact.outcome} != pair:
            continue
        back, held = (each, contact) if each.outcome is Outcome.COMEBACK else (contact, each)
        if held.on >= back.on:
            yield (
                f"Held of {held.on} and comeback of {back.on} cannot both be so: the comeback "
                f"counts, and held does not. If contacts[{place}] is wrong: kb job edit "
                f'{job.number} --set "contacts[{place}]="'
            )


def _proves_nothing(job: Job, parts: Iterable[Part]) -> Iterator[str]:
    """Warn of what was measured through a connector whose shorting bars bridge it when open."""
    for part in parts:
        match part:
            case Reading():
                text = f"{part.place} {part.typed} {part.method or ''} {part.condition or ''}"
            case DiagnosticTest():
                text = f"{part.name} {part.seen}"
            case _:
                continue
        restraint = is_igniter_job(job, trade_wording())
        if link := shorted(text, job.circuit, trade_wording(), restraint=restraint):
            yield (
                f"Through {link} this proves nothing: its shorting bars bridge it when it is "
                "open. Read the live value, or put a known load in its place."
            )


def _number(job: Job) -> int:
    if job.number is None:
        raise NoSuchJob("number: None is no stored job; open it first")
    return job.number


def cause_told(address: str, text: str) -> Cause:
    """Read a cause that may be one of the shop's, as `kb.intake.causes.read_cause` does.

    Raises
    ------
    KbError
        If it is no cause, or the store cannot be opened.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return read_cause(text, shop_causes(work))


def denied_causes(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Ask about new answers by which a later visit was for another fault than it proved."""
    named = {each.job for each in job.contacts if each not in base.contacts} - {None}
    for repair in work.repairs.of_jobs([_number(base)]) if named else ():
        told = [Heard(each.on, each.outcome, each.odometer_km, each.job) for each in job.contacts]
        for visit in denied_again(repair._replace(contacts=told)):
            if visit.number in named:
                yield (
                    f"Job {visit.number} proved the same cause as this job. If it was the same "
                    f"fault, answer: kb job follow-up {base.number} same fault --job {visit.number}"
                )


def spelt_otherwise(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Ask about components that no job has, but that resemble ones some jobs have."""
    told = [attempt.component for attempt in job.attempts if attempt not in base.attempts]
    if job.cause is not None and job.cause != base.cause:
        told.append(job.cause.component)
    known = work.jobs.components() if told else ()
    for component in dict.fromkeys(told):
        near = [] if component in known else suggest(component, known, limit=2)
        if near:
            meant = " or ".join(f"“{FIT.named(name)}”" for name in near)
            yield f"No job yet has “{FIT.named(component)}”; did you mean {meant}?"


def _earlier_visits(jobs: Sequence[Job], opened: date) -> list[str]:
    """Point to what the same car is here for, or was here for lately."""
    told = []
    for job in (JobWords.of(each).shown_job(each) for each in jobs):
        what = f"job {job.number}: {_short(job.complaint_as_typed)}"
        if job.closed is None:
            told.append(f"{_tag(job.vehicle)} is here already, {what}")
        elif timedelta() <= opened - job.closed <= RECENT:
            was = f" ({job.cause.label})" if job.cause else ""
            told.append(
                f"{_tag(job.vehicle)} was here until {job.closed}, {what}{was}. "
                f"If that came back: kb job add contact {job.number} comeback"
            )
    return told[-2:]


def _tag(vehicle: Vehicle) -> str:
    return vehicle.ref or vehicle.vin or vehicle.label


def _short(text: str, limit: int = 50) -> str:
    line = " ".join(text.split())
    return line if len(line) <= limit else f"{line[: limit - 1]}…"
