"""Mending what was recorded: taking entries back, void jobs, reopening, parts by number."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime

from kb.case import Job, Outcome, same_text
from kb.errors import Conflict, Dangerous, InvalidField, KbError, NoSuchJob
from kb.intake.contradictions import check_cures
from kb.intake.edits import car_doubts, edited
from kb.intake.items import trade_wording
from kb.intake.parts import field_of
from kb.intake.reversal import ChangedSince, reversed_job
from kb.local_time import local
from kb.safety.hazards import Situation, cautions_of, cautions_of_list
from kb.safety.job_dangers import danger_line
from kb.safety.job_words import FIT, JobWords
from kb.services.contact_doubts import taken_along
from kb.services.drafts import Draft, draft_of, refuse_void
from kb.services.editing import edit_doubts, with_new_complaint
from kb.services.indexing import shop_wording
from kb.services.knowledge import shop_causes
from kb.settings import MendingSettings
from kb.store.database import open_store
from kb.store.history import ADDED, ERASED, TAKEN_BACK, ChangeSet, Difference
from kb.store.unit_of_work import UnitOfWork

KEPT_FOR_GOOD = "entries"
"""Field of the words everything was told in: they stay, whatever is taken back."""
UNDONE = "taken back"
"""Why a job is void whose opening was taken back."""
RECENT_ENTRIES = 200
"""Among so many entries of a person the last one is sought that still stands."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """The last entries of a store, the newest first, with the jobs they changed, by number."""

    cautions: tuple[str, ...]
    entries: tuple[ChangeSet, ...]
    jobs: dict[int, Job]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakingBack:
    """An entry that would be taken back, and every job of it as it would then be.

    `doubt` says why it may be somebody else's.
    """

    cautions: tuple[str, ...]
    entry: ChangeSet
    drafts: tuple[Draft, ...]
    doubt: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenBack:
    """An entry that was taken back, by which entry, and the numbers of its jobs.

    `who` has the initials of whoever had stored it.
    """

    entry: int
    by: int
    jobs: tuple[int, ...]
    who: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LastChange:
    """The last change of a job, by its sequence, and who else wrote to it last, and when."""

    sequence: int
    who: str | None
    at: datetime


def last_entries(
    address: str, *, job: int | None = None, who: str | None = None, limit: int = 10
) -> Entries:
    """List the last entries that changed a job; of one job, or of one person's alone.

    Raises
    ------
    KbError
        If the store cannot be opened, or there is no such job.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        if job is not None:
            work.jobs.get(job)
        found = work.changes.entries(job=job, who=who, limit=limit)
        numbers = dict.fromkeys(number for each in found for number in each.jobs)
        jobs = work.jobs.get_many(numbers)
    return Entries(
        cautions=cautions_of_list(Situation.of_jobs(jobs), trade_wording()),
        entries=tuple(found),
        jobs=dict(zip(numbers, jobs, strict=True)),
    )


def taking_back(
    address: str, *, who: str | None, entry: int | None = None, in_hand: int | None = None
) -> TakingBack:
    """Draft that an entry is taken back: by default the last of this person that still stands.

    Where that is not on the job in hand, `doubt` says so.

    A job that the entry opened becomes void; every other field is as it was before. The words that
    were typed stay on the job for good.

    Raises
    ------
    NoSuchJob
        If there is no such entry.
    Conflict
        If it was taken back already, or what it changed was changed since.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        meant = next(_standing(work, who)) if entry is None else _entry(work, entry)
        try:
            drafts = _all_before(work, meant)
        except (Conflict, InvalidField) as error:
            raise error if entry is not None else _further(work, who, error) from error
    both = [job for draft in drafts for job in (draft.job, draft.base or draft.job)]
    return TakingBack(
        cautions=cautions_of(Situation.of_jobs(both), trade_wording()),
        entry=meant,
        drafts=drafts,
        doubt=_not_ones_own(meant, who)
        or (_elsewhere(meant, in_hand) if entry is None and in_hand else None),
    )


def _elsewhere(meant: ChangeSet, in_hand: int) -> str | None:
    """Say that an entry is on another job than the one in hand."""
    if in_hand not in meant.jobs:
        return f"This is your last entry; it is not on job {in_hand}, which is in hand."
    return None


def _not_ones_own(entry: ChangeSet, who: str | None) -> str | None:
    """Say that an entry is somebody else's, or that nobody can know whose it is."""
    if entry.who is None:
        return (
            "Nobody's initials stand beside this entry, so it may be somebody else's: look at its "
            "car. With --who or KB_WHO yours are told from others'."
        )
    if not same_text(entry.who, who):
        return f"This is an entry of {entry.who}, and not yours."
    return None


def take_back(
    address: str, taking: TakingBack, *, who: str | None, happened: bool = False
) -> TakenBack:
    """Take an entry back; that is an entry of its own, and can be taken back in turn.

    Raises
    ------
    Dangerous
        If that brings back dangerous steps, and nobody said that they were done.
    Conflict
        If one of the jobs was changed since the draft was made.
    """
    dangers = [danger for draft in taking.drafts for danger in draft.dangers]
    if dangers and not happened:
        told = "; ".join(map(danger_line, dangers))
        raise Dangerous(f"{told} If it was done all the same, bring it back with --happened.")
    bases = [draft.base for draft in taking.drafts]
    numbers = [draft.job.number or 0 for draft in taking.drafts]
    with UnitOfWork(open_store(address), who=who) as work:
        if work.jobs.get_many(numbers, as_typed=True) != bases:
            raise Conflict(
                f"entry: {taking.entry.sequence}: a job of it was changed meanwhile; do it again"
            )
        for draft, number in zip(taking.drafts, numbers, strict=True):
            work.jobs.replace(draft.job)
            work.changes.note(number, TAKEN_BACK, None, taking.entry.sequence)
        by = work.changes.entries(limit=1)[0].sequence
        work.commit()
    entry = taking.entry
    return TakenBack(entry=entry.sequence, by=by, jobs=tuple(numbers), who=entry.who)


def doubtful_target(draft: Draft, settings: MendingSettings, *, today: date) -> str | None:
    """Say which car a closed, void or old job is, before a draft is written to it.

    None where it is a new or a fresh open job, or nothing but contacts are added to a closed one:
    those are what closed jobs are written to for.
    """
    base = draft.base
    if base is None:
        return None
    closed = base.closed is not None and base.void is None
    told = [each for each in draft.changes if _root(each) != KEPT_FOR_GOOD]
    if closed and told and all(map(_is_new_contact, told)):
        return None
    return standing(base, settings, today=today)


def nothing_but_words(draft: Draft) -> bool:
    """Whether a draft adds the words that were typed to a job, and no fact lifted from them."""
    return draft.base is not None and {*map(_root, draft.changes)} == {KEPT_FOR_GOOD}


def standing(job: Job, settings: MendingSettings, *, today: date) -> str | None:
    """Say which car a closed, void or old job is, and how old it is; None for a fresh open one."""
    if job.void is not None:
        state = f"is void, opened {job.opened}{_ago(job.opened, today)}"
    elif job.closed is not None:
        state = f"was closed on {job.closed}{_ago(job.closed, today)}"
    elif (today - job.opened).days >= settings.old_days:
        state = f"is open since {job.opened}{_ago(job.opened, today)}"
    else:
        return None
    return f"Job {job.number}, {FIT.shown_vehicle(job.vehicle).tagged}, {state}."


def _is_new_contact(change: Difference) -> bool:
    return change.old is None and _root(change) == "contacts"


def _root(change: Difference) -> str:
    return change.field.partition("[")[0]


def _ago(day: date, today: date) -> str:
    """Say how long ago a day was, roughly; nothing for the last few."""
    days = (today - day).days
    for size, name in ((365, "year"), (30, "month"), (7, "week")):
        if days >= size:
            count = days // size
            return f", {count} {name}{'s' if count > 1 else ''} ago"
    return ""


def void_job(address: str, number: int, why: str) -> Draft:
    """Draft a job as void: it can be read, and counts nowhere.

    Raises
    ------
    InvalidField
        If no reason is given, or it is void already.
    """
    base = _job(address, number)
    if base.void is not None:
        raise InvalidField("job", number, f"is void already: {JobWords.of(base).shown(base.void)}")
    if not why.strip():
        raise InvalidField("why", why, "is empty; say why the job is void")
    return draft_of(replace(base, void=why.strip()), base, _answers_on(address, base))


def _answers_on(address: str, visit: Job) -> Iterator[str]:
    """Say what becomes of the answers on earlier jobs once a visit is void."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        for job in work.jobs.of_vehicle(visit.vehicle):
            for place, each in enumerate(job.contacts):
                if each.job == visit.number:
                    edit = f"kb job edit {job.number} --set"
                    stands = (
                        "It still counts, by its day; if there was none, take it out: "
                        f'{edit} "contacts[{place}]="'
                        if each.outcome is Outcome.COMEBACK
                        else "That counts no more while this job is void; if it was another: "
                        f"{edit} contacts[{place}].job=JOB"
                    )
                    yield f"Job {job.number} names it: {each.on} {each.outcome}. {stands}"


def bring_back(address: str, number: int) -> Draft:
    """Draft a void job as one that counts again.

    Raises
    ------
    InvalidField
        If it is not void.
    """
    base = _job(address, number)
    if base.void is None:
        raise InvalidField("job", number, "is not void; nothing is to be brought back")
    return draft_of(replace(base, void=None), base)


def reopen_job(address: str, number: int) -> Draft:
    """Draft a closed job as open: its day of closing goes; cause, proof and fixes stay on it.

    Raises
    ------
    InvalidField
        If it is open.
    Conflict
        If it is void.
    """
    base = _job(address, number)
    refuse_void(base)
    if base.closed is None:
        raise InvalidField("job", number, "is open; nothing is to be reopened")
    notices = []
    if base.cause is not None:
        notices.append(
            f"The cause stays on the job, {FIT.named(base.cause.label)}, but is not recalled until "
            f"the job is closed again; take it off with kb job edit {number} --set cause="
        )
    notices.append(
        "A car that came back is a new job, and not this one: kb job open, then "
        f"kb job add contact {number} comeback --job NEW"
    )
    return draft_of(replace(base, closed=None), base, notices)


def last_of_another(
    address: str, number: int, who: str | None, *, since: datetime | None
) -> LastChange | None:
    """Return the last change of a job, if somebody else wrote to it since a moment, or ever.

    The numbers on its page may have moved since this person looked. By what stored the job, as an
    import does, none has: there was no page before it.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        changes = work.changes.of(number)
    others = [
        each
        for each in changes
        if each.at > changes[0].at
        and (since is None or each.at >= since)
        and (each.who or "").casefold() != (who or "").casefold()
    ]
    if not others:
        return None
    return LastChange(sequence=changes[-1].sequence, who=others[-1].who, at=others[-1].at)


def edit_part(
    address: str, number: int, part: int, text: str, edits: Iterable[str] = (), *, today: date
) -> Draft:
    """Draft a job with one part changed, named by its number on the page.

    Parameters
    ----------
    text : str
        The part anew, as it is told elsewhere; empty to leave it.
    edits : iterable of str
        Fields of the part, as ``cured=no``.

    Raises
    ------
    KbError
        If there is no such job or part, or what is told does not fit.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        field = field_of(base, part)
        told = [f"{field}={text}"] if text.strip() else []
        told += [f"{field}.{each.strip()}" for each in edits]
        cars = work.jobs.readable_vehicles()
        job = edited(base, told, today=today, vehicles=cars, causes=shop_causes(work))
        check_cures(job, base)
        job = with_new_complaint(job, base)
        doubts = [*car_doubts(told, cars), *edit_doubts(work, job, base)]
        wording = shop_wording(work)
    return draft_of(job, base, doubts, wording=wording)


def remove_part(address: str, number: int, part: int) -> Draft:
    """Draft a job without one part, named by its number on the page.

    Raises
    ------
    KbError
        If there is no such job or part, or a job cannot be without it.
    """
    base = _job(address, number)
    field = field_of(base, part)
    name, _, place = field.partition("[")
    if name == "vehicle":
        raise InvalidField("vehicle", base.vehicle.label, f"stays; kb job edit {number} {part} CAR")
    if name == "complaint":
        raise InvalidField(
            "complaint", base.complaint, f"is what a job is opened with; kb job void {number}"
        )
    if place:
        items = list(getattr(base, name))
        del items[int(place.removesuffix("]"))]
        job = _with(base, name, tuple(items))
        return draft_of(job, base, taken_along(job, base))
    return draft_of(_with(base, name, None), base)


def _with(job: Job, name: str, value: object) -> Job:
    changed: dict[str, object] = {name: value}
    return replace(job, **changed)  # type: ignore[arg-type]


def _job(address: str, number: int) -> Job:
    with UnitOfWork(open_store(address), read_only=True) as work:
        return work.jobs.get(number)


def _standing(work: UnitOfWork, who: str | None) -> Iterator[ChangeSet]:
    """Yield the last entries of a person that still stand; at their end it is said."""
    for each in work.changes.entries(who=who, limit=RECENT_ENTRIES):
        stands = not (each.undone_by or each.takes_back or _erased(each))
        if stands and (each.who is None) == (who is None):
            yield each
    whose = f"entry of {who}" if who else "entry without initials"
    raise NoSuchJob(
        f"entry: no {whose} is left to be taken back; see kb undo --list, then kb undo ENTRY"
    )


def _erased(entry: ChangeSet) -> bool:
    return entry.changes[0].field == ERASED


def _all_before(work: UnitOfWork, entry: ChangeSet) -> tuple[Draft, ...]:
    return tuple(_before(work, entry, job) for job in work.jobs.get_many(entry.jobs, as_typed=True))


def _further(work: UnitOfWork, who: str | None, error: KbError) -> Conflict:
    """Say why the last entry stays, and which one before it can be taken back."""
    standing = _standing(work, who)
    last, earlier = next(standing), None
    with suppress(NoSuchJob):
        earlier = next(each for each in standing if _can_be_taken_back(work, each))
    way = f"kb undo {earlier.sequence}" if earlier else "kb undo --list, then kb undo ENTRY"
    return Conflict(f"{error}. That is entry {last.sequence}; to take an earlier one back: {way}")


def _can_be_taken_back(work: UnitOfWork, entry: ChangeSet) -> bool:
    with suppress(Conflict, InvalidField):
        return bool(_all_before(work, entry))
    return False


def _entry(work: UnitOfWork, sequence: int) -> ChangeSet:
    found = work.changes.entry(sequence)
    if found is None or not found.jobs:
        raise NoSuchJob(f"entry: there is none {sequence} that changed a job; see kb undo --list")
    if _erased(found):
        raise Conflict(f"entry: {sequence} erased a text, which is gone for good")
    if found.undone_by is not None:
        raise Conflict(
            f"entry: {sequence} was taken back already, by entry {found.undone_by}; "
            f"bring it back with kb undo {found.undone_by}"
        )
    return found


def _before(work: UnitOfWork, entry: ChangeSet, job: Job) -> Draft:
    """Draft a job as it was before an entry."""
    changes = entry.of(job.number or 0)
    fields = [each for each in changes if _is_taken_back(each.field)]
    later = _later(work, entry, job)
    try:
        before = reversed_job(job, fields)
    except ChangedSince as changed:
        raise _refused(later, entry, job, changed.field) from changed
    if any(each.field == ADDED for each in changes):
        grown = [each for each in later if _about_more_than_the_car(each, job)]
        if grown:
            raise _refused(grown, entry, job, grown[-1].of(job.number or 0)[0].field)
        before = replace(before, void=job.void or UNDONE)
    given = set(before.confirmations) - set(job.confirmations)
    if given:
        raise InvalidField(
            "confirmations",
            str(next(iter(given)).what),
            "is never brought back: give it again, kb --who INITIALS next-test JOB --confirm STEP",
        )
    return draft_of(before, job, was_so=True)


def _is_taken_back(field: str) -> bool:
    return field not in {ADDED, TAKEN_BACK} and field.partition("[")[0] != KEPT_FOR_GOOD


def _later(work: UnitOfWork, entry: ChangeSet, job: Job) -> list[ChangeSet]:
    """Entries of a job after one of its entries that still stand, the newest first.

    What was stored and taken back since is as if it had never been.
    """
    return [
        each
        for each in work.changes.entries(job=job.number)
        if each.sequence > entry.sequence
        and each.undone_by is None
        and (each.takes_back is None or each.takes_back < entry.sequence)
    ]


def _about_more_than_the_car(entry: ChangeSet, job: Job) -> bool:
    return any(not each.field.startswith("vehicle.") for each in entry.of(job.number or 0))


def _refused(later: Sequence[ChangeSet], entry: ChangeSet, job: Job, field: str) -> Conflict:
    root = field.partition("[")[0].partition(".")[0]
    by = next(
        (each for each in later if any(c.field.startswith(root) for c in each.of(job.number or 0))),
        later[0] if later else None,
    )
    said = f"job {job.number}: {field} was changed since entry {entry.sequence}"
    if by is None:
        return Conflict(f"{said}; mend it by hand: kb job edit {job.number}")
    whose = f" by {by.who}" if by.who else ""
    return Conflict(
        f"{said}{whose} ({local(by.at):%Y-%m-%d %H:%M}); look with kb job history "
        f"{job.number}, take that back first with kb undo {by.sequence}, or mend it by hand with "
        f"kb job edit {job.number}"
    )
