"""Adding to a job: a line of shop talk, or one part read from what was typed."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from typing import Any

from kb.bounds import LONGEST_TEXT
from kb.case import (
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    EntryKind,
    Job,
    Outcome,
    Reading,
    TroubleCode,
)
from kb.errors import InvalidField
from kb.intake.account import Lift, account, placed
from kb.intake.causes import read_cause
from kb.intake.cleared import Cleared
from kb.intake.contradictions import contradiction
from kb.intake.days import NO_ONE_DAY, HeardOn, heard_on, month_told
from kb.intake.elapsed import dated_by_words, tells_today
from kb.intake.findings import Findings, find_findings
from kb.intake.items import part_key
from kb.intake.lifting import Place
from kb.intake.outcomes import is_another_fault
from kb.safety.igniter_steps import Danger
from kb.safety.job_words import FIT, JobWords
from kb.services.absent_cures import without_absent_cures
from kb.services.contact_doubts import (
    as_told_of_job,
    both_told,
    contact_doubts,
    denied_causes,
    first_after_comeback,
    judged_otherwise,
    left_to_judge,
    less_far_than_job,
    not_before,
    refuse_mere_repeats,
    with_distance_told,
    with_likely_distance,
    without_repeats,
)
from kb.services.doubts import after_a_fix, other_distance, proves_nothing, spelt_otherwise
from kb.services.drafts import Draft, draft_of, kept_odometer, whole_entry, with_entry
from kb.services.earlier_fix import given_to_last_fix
from kb.services.indexing import shop_wording
from kb.services.knowledge import shop_causes
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

Part = TroubleCode | Reading | DiagnosticTest | Attempt | Contact
_LISTS = {
    TroubleCode: ("codes", EntryKind.CODE),
    Reading: ("readings", EntryKind.READING),
    DiagnosticTest: ("tests", EntryKind.TEST),
    Attempt: ("attempts", EntryKind.ATTEMPT),
    Contact: ("contacts", EntryKind.CONTACT),
}
_A_MONTH = timedelta(days=31)
BLANKS = " \t\n;,."
"""What parts a line, and tells nothing."""


def _is_suspect(work: UnitOfWork, job: Job, cleared: Cleared) -> bool:
    """Whether a part that is told not to be at fault may be, and is not told to be mended.

    It may be if some job here had its cause there. What was worked on is fine for that.
    """
    wording = shop_wording(work)
    key = part_key(cleared.part, wording)
    if job.closed or (
        cleared.fine and any(part_key(each.component, wording) == key for each in job.attempts)
    ):
        return False
    return any(part_key(cause.component, wording) == key for cause, _ in work.repairs.causes())


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
        found = find_findings(
            text,
            today,
            left_cured=_left_cured(base),
            complaint=base.complaint,
            is_suspect=partial(_is_suspect, work, base),
        )
        shown = replace(base, odometer_km=kept_odometer(base.odometer_km, found.odometer))
        taken = given_to_last_fix(shown, text, found)
        job, beside = _likely(_told(taken.job, text, found), base)
        job, known = _without_known_codes(job, base)
        job, dated = _dated(work, job, base, today, text, tells_work=bool(found.attempts))
        fresh = job.contacts[len(base.contacts) :]
        job, absent = without_absent_cures(job, base, text)
        job, repeated = without_repeats(job, base)
        refuse_mere_repeats(job, base, repeated)
        slips, wording = (*spelt_otherwise(work, job, base),), shop_wording(work)
        spelt = (
            *denied_causes(work, job, base),
            *left_to_judge(work, job.contacts[len(base.contacts) :], job),
            *slips,
        )
    heard = zip(found.contacts, fresh, strict=True)
    early = [
        notice for told, kept in heard for notice in contact_doubts(_as_kept(told, kept), base)
    ]
    nothing = proves_nothing(base, (*found.readings, *found.tests))
    late = after_a_fix(base, found.readings)
    far = other_distance(job, found.odometer)
    wordless = not (found.account.lifted or any(map(str.isalnum, text)))
    signs = ["Nothing is understood of it; it is kept as it was typed."] if wordless else []
    notices = (
        *signs,
        *taken.notices,
        *filter(None, [taken.in_doubt]),
        *(str(each) for each in found.doubts if not (dated and each.why.startswith(NO_ONE_DAY))),
        *absent,
        *far,
        *known,
        *beside,
        *early,
        *(both_told(text, job.contacts[len(base.contacts) :], base) if not found.attempts else ()),
        *first_after_comeback(found.attempts, base),
        *dated,
        *repeated,
        *spelt,
        *nothing,
        *late,
    )
    draft = draft_of(job, base, notices, taken.account, wording=wording)
    return replace(draft, misspelt=bool(slips), cure_in_doubt=taken.in_doubt)


def _left_cured(job: Job) -> bool:
    """Whether a job was handed over with a fix that cured: what is back then is told later."""
    return job.closed is not None and bool(job.attempts) and job.attempts[-1].cured is True


def _without_known_codes(job: Job, base: Job) -> tuple[Job, list[str]]:
    """Leave out codes of a line that the job has already, with all that is told of them; say so."""
    held = {replace(code, said=None) for code in base.codes}
    kept, said = list(base.codes), []
    for code in job.codes[len(base.codes) :]:
        if replace(code, said=None) in held:
            said.append(f"{code} is on the job already, and is not stored a second time.")
        else:
            kept.append(code)
    return replace(job, codes=tuple(kept)), said


def _told(base: Job, text: str, found: Findings) -> Job:
    longer: dict[str, Any] = {
        name: getattr(base, name) + placed(getattr(found, name), found.account, len(base.entries))
        for name, _ in _LISTS.values()
    }
    return replace(with_entry(base, EntryKind.LINE, text), **longer)


def add_part(
    address: str,
    number: int,
    part: Part,
    typed: str | None = None,
    *,
    cure_told: bool = False,
    day_told: bool = False,
    today: date | None = None,
) -> Draft:
    """Draft a job with one part more, read from what was typed.

    Parameters
    ----------
    cure_told, day_told : bool
        Whether a fix cured, or a contact was on its day, was told by itself and not read from what
        was typed.

    Raises
    ------
    NoSuchJob
        If there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        return with_part(
            work, base, part, typed, cure_told=cure_told, day_told=day_told, today=today
        )


def with_part(
    work: UnitOfWork,
    base: Job,
    part: Part,
    typed: str | None = None,
    *,
    cure_told: bool = False,
    day_told: bool = False,
    today: date | None = None,
) -> Draft:
    """Draft a stored job with one part more, read from what was typed."""
    field, kind = _LISTS[type(part)]
    told, job, on = None, base, HeardOn()
    if denied := contradiction(part, typed if isinstance(part, Attempt) else None):
        said = part.words if isinstance(part, Contact) else typed
        raise InvalidField(field, said, f"tells two things: {denied}; leave one of them out")
    if isinstance(part, Contact):
        part = _of_another_fault(part)
    if isinstance(part, Contact) and part.job is not None:
        _check_visit(work, part.job, base)
        for judged in judged_otherwise(part, base):
            raise InvalidField("contact.job", part.job, judged)
    if isinstance(part, Contact):
        _check_day(part, today or date.today())
        if typed is not None:
            _check_distance(part, base)
        on = _heard(typed or part.words or "", part.on, today or date.today())
    if typed is not None:
        told = account(
            typed,
            [Lift(part, Place(0, len(typed)))],
            [on.doubt] if on.doubt else [],
            [on.place] if on.place else [],
        )
        part = replace(part, said=whole_entry(len(base.entries), typed))
        job = with_entry(base, kind, typed)
    longer: dict[str, Any] = {field: (*getattr(base, field), part)}
    words = "" if cure_told else typed or ""
    job, absent = without_absent_cures(replace(job, **longer), base, words)
    job, beside = _likely(job, base)
    job, dated = _dated(
        work, job, base, today or date.today(), typed, day_told=day_told or typed is None
    )
    if isinstance(part, Contact):
        part = _as_kept(part, job.contacts[-1])
    job, repeated = without_repeats(job, base)
    refuse_mere_repeats(job, base, repeated)
    early = [*beside, *(contact_doubts(part, base) if isinstance(part, Contact) else ())]
    if isinstance(part, Contact):
        early += both_told(typed or part.words or "", job.contacts[len(base.contacts) :], base)
    early += left_to_judge(work, job.contacts[len(base.contacts) :], job)
    early += first_after_comeback([part] if isinstance(part, Attempt) else [], base)
    early += [str(on.doubt)] if on.doubt and not dated else []
    early += denied_causes(work, job, base)
    spelt = (*spelt_otherwise(work, job, base),)
    late = after_a_fix(base, [part])
    notices = (*absent, *early, *dated, *spelt, *proves_nothing(base, [part]), *late)
    draft = draft_of(job, base, notices, told, wording=shop_wording(work))
    return replace(draft, misspelt=bool(spelt))


def _as_kept(told: Contact, kept: Contact) -> Contact:
    """Return what was told with the day and outcome that are kept, and a distance that was lost."""
    km = told.odometer_km if kept.odometer_km is None else kept.odometer_km
    return replace(kept, odometer_km=km)


def _of_another_fault(contact: Contact) -> Contact:
    """Return what was told of a later job, that it was another fault, as an answer to that."""
    untold = contact.job is not None and contact.outcome is Outcome.NOT_TOLD
    is_other = untold and is_another_fault(contact.words or "")
    return replace(contact, outcome=Outcome.OTHER_REASON) if is_other else contact


def _dated(
    work: UnitOfWork,
    job: Job,
    base: Job,
    today: date,
    typed: str | None,
    *,
    tells_work: bool = False,
    day_told: bool = False,
) -> tuple[Job, list[str]]:
    """Put new contacts on the day that their words tell, or else what was typed of the only one.

    A comeback of which nothing typed tells the day is put on the first on which it can have been.
    """
    known = len(base.contacts)
    if base.closed is None or len(job.contacts) == known:
        return job, []
    told = job.contacts[known:]
    for each in told:
        _check_month(each, base, today)
    back = any(each.outcome is Outcome.COMEBACK for each in told)
    visits = work.jobs.of_vehicle(base.vehicle) if back else []
    kept = tuple(
        _on_day_told(
            each,
            [each.words, typed if len(told) == 1 and not tells_work else None],
            base.closed,
            today,
            not_before(each, base, visits, today),
        )
        for each in told
    )
    undated = not day_told and heard_on(typed or "", today).day is None
    placed = tuple(
        _undated(each, job, base.closed, visits, today)
        if undated and _may_be_earlier(each, base.closed, today)
        else each
        for each in kept
    )
    said = [
        *_moved(
            told, kept, job.number, known, "“{0.words}” may be as early as {0.on}: kept as that"
        ),
        *_moved(
            kept,
            placed,
            job.number,
            known,
            "No day is told on which it came back: kept is {0.on}, the first that can have been it",
        ),
    ]
    return replace(job, contacts=(*job.contacts[:known], *placed)), said


def _moved(
    told: Sequence[Contact], kept: Sequence[Contact], number: int | None, known: int, why: str
) -> Iterator[str]:
    """Say of each contact that is kept on another day than it was told for why, and the cure."""
    for place, (old, new) in enumerate(zip(told, kept, strict=True), known):
        if old != new:
            yield (
                f"{why.format(new)}, not as {old.on}; if it was another day, kb job edit {number} "
                f"--set contacts[{place}].on=DAY"
            )


def _on_day_told(
    contact: Contact,
    said: Sequence[str | None],
    handed_over: date,
    today: date,
    first: date | None,
) -> Contact:
    """Return a contact on the day that the first of several wordings tells which tells one."""
    for words in filter(None, said):
        dated = dated_by_words(replace(contact, words=words), handed_over, today, first)
        if dated.on != contact.on or tells_today(words):
            return replace(contact, on=dated.on)
    return contact


def _undated(
    back: Contact, job: Job, handed_over: date, visits: Sequence[Job], today: date
) -> Contact:
    """Put a comeback of no told day on the first day on which it can have been."""
    return replace(back, on=max(handed_over, not_before(back, job, visits, today) or handed_over))


def _may_be_earlier(back: Contact, handed_over: date, today: date) -> bool:
    """Whether a comeback stands on the day it is told for no better reason than that."""
    return (
        back.outcome is Outcome.COMEBACK
        and back.job is None
        and back.on == today > handed_over + timedelta(days=1)
        and not tells_today(back.words or "")
    )


def _likely(job: Job, base: Job) -> tuple[Job, list[str]]:
    """Read new contacts by what is known of their job, and say what is asked about them.

    Distances that can hardly be are left out, which their words keep; what had been driven since is
    reckoned from the job's odometer; and "held" beside what may be the fault is not told.
    """
    known, said = len(base.contacts), []
    told = []
    for each in job.contacts[known:]:
        kept, asked = as_told_of_job(
            with_distance_told(with_likely_distance(each, base), base), base
        )
        told.append(kept)
        said += asked
    return replace(job, contacts=(*job.contacts[:known], *told)), said


def _check_distance(contact: Contact, base: Job) -> None:
    """Refuse a car that has gone less far than it had on its job."""
    if far := less_far_than_job(contact, base):
        cure = f"cannot be, for {far}; leave it out, or mend the job's: kb job edit {base.number}"
        raise InvalidField(
            "contact.odometer_km", contact.odometer_km, f"{cure} --set odometer_km=KM"
        )


def _heard(words: str, on: date, today: date) -> HeardOn:
    """Find what words say of the day of a contact: told from today, or from a day given beside."""
    told = heard_on(words, today)
    return told if told.day == on else heard_on(words, on)


def _check_day(contact: Contact, today: date) -> None:
    """Refuse what is told to have been heard on a day to come."""
    if contact.on > today:
        raise InvalidField(
            "contact.on", str(contact.on), "is still to come; give a day up to today"
        )


def _check_month(contact: Contact, base: Job, today: date) -> None:
    """Refuse a comeback that is told of a month which was over at the handover."""
    if contact.outcome is not Outcome.COMEBACK or contact.job is not None or base.closed is None:
        return
    begun = month_told(contact.words or "", today)
    if begun is not None and (begun + _A_MONTH).replace(day=1) <= base.closed:
        raise InvalidField(
            "contact.on",
            contact.words,
            f"tells of {begun:%Y-%m}, before the handover of job {base.number} on {base.closed}; "
            f"give the day as 2026-03-02, or correct the handover: kb job edit {base.number} "
            "--set closed=DAY",
        )


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


def dangerous_words(address: str, number: int, text: str) -> Danger | None:
    """Name what is dangerous in words that could not be read as a part of a job.

    Raises
    ------
    NoSuchJob
        If there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        words = JobWords.of(work.jobs.get(number))
    return words.step_in(text, alike=True)


def cause_told(address: str, text: str) -> Cause:
    """Read a cause that may be one of the shop's, as `kb.intake.causes.read_cause` does.

    Raises
    ------
    KbError
        If it is no cause, or the store cannot be opened.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return read_cause(text, shop_causes(work))
