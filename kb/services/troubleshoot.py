"""The job in progress: where it stands, what to do next, and what was done."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import islice

from kb.case import (
    Action,
    Attempt,
    Cause,
    Complaint,
    Confirmation,
    DiagnosticTest,
    EntryKind,
    Job,
    Precondition,
    Reading,
    SaidAt,
    even,
)
from kb.diagnosis.diagnose import diagnose
from kb.diagnosis.reading_evidence import ReadingEvidence, reading_evidence
from kb.errors import Conflict, InvalidField, Locked, Notice
from kb.intake.causes import by_nearness
from kb.intake.findings import find_findings
from kb.intake.items import trade_wording
from kb.intake.part_makers import find_maker
from kb.intake.said_fine import fine_parts
from kb.intake.wording import Wording
from kb.progress import Progress
from kb.rates.fixes import FixRate
from kb.safety.hazards import Situation, cautions_of
from kb.safety.job_dangers import DONE_HERE, was_done
from kb.safety.job_words import FIT, JobWords
from kb.services.ask import LastProof, newest_proof
from kb.services.came_as import not_judged
from kb.services.deeds import deeds_of, imported
from kb.services.drafts import Draft, draft_of, whole_entry, with_entry
from kb.services.found_wrong import CauseKey, WrongBefore, wrong_before
from kb.services.indexing import shop_wording
from kb.services.judge import verdicts_on
from kb.services.knowledge import fit_rate, shop_knowledge
from kb.services.standing import JobStanding, standing
from kb.services.starting import StartingPoint, starting_point
from kb.services.troubleshoot_outcomes import branch_meant, unread
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.attempts import cure_of, cured_by_another_name
from kb.troubleshooting.circuit import parse_circuit
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.locks import Presence, ended
from kb.troubleshooting.proof import ProofLine, checks_again, proofs, usual_checks
from kb.troubleshooting.remedies import BY_THE_MAKER, Key, to_be_done
from kb.troubleshooting.steps import BEST, Advice, Branch, Step
from kb.troubleshooting.testing import key_of

MOST_MEANT = 6
"""So many steps are named where words fit several."""
LIKELY_CURED = 0.5
"""From this chance on a cause is told to be the one that was cured: likelier than not."""
IN_FULL = {
    Precondition.SUPPLY_OFF: "ignition off, battery disconnected, waited as long as the "
    "manufacturer says",
    Precondition.HIGH_VOLTAGE_OFF: "high voltage isolated, locked off and proved dead by a "
    "licensed person",
    Precondition.AIRBAG_OFF: "airbag unplugged from the far side of the clock spring and laid "
    "aside as the manufacturer says",
    Precondition.FUEL_LET_DOWN: "engine off and cold, fuel pressure let down as the manufacturer "
    "says, air moving, no sparks, extinguisher near",
    Precondition.REFRIGERANT_OUT: "refrigerant drawn off by a certified person",
}
"""What is confirmed, in full."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FixRecord:
    """What a proposed fix did here for the likeliest of the suspects it was tried for."""

    step: str
    cause: Cause
    rate: FixRate


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingJob:
    """An open job under its cautions: what was seen, where it stands, and what to do next.

    `readings` tell how those of the complaint compare with good ones here, `proofs` what will
    prove the repair, `again` what is tested once more before these, or where it is none of them;
    `records` what
    the proposed fixes did here; `cases` are the past jobs that were asked; `wrong` the causes some
    of whose cases came back and proved another; `came_back` the fixes of earlier jobs, by number,
    that came back as this one; `in_doubt` past jobs that count less, as their cars came back.
    `start` tells where to start where the cause is likelier a new one and nothing was tested or
    tried yet. `cured_by` is the fix that cured it, if the fault has not come back since, and
    `proved` what last proved the cause that it then most likely was; `other_names` the suspects,
    the nearest first, where none has the part that cured by its name. `undone` are the places of
    the entries that were taken back, `ended` and `imported` those of the confirmations that hold
    no more or came from elsewhere.
    """

    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    job: Job
    readings: tuple[ReadingEvidence, ...]
    advice: Advice
    records: tuple[FixRecord, ...]
    proofs: tuple[ProofLine, ...]
    cases: int
    wrong: tuple[tuple[CauseKey, WrongBefore], ...]
    came_back: dict[int, str]
    in_doubt: frozenset[int]
    start: StartingPoint | None
    cured_by: str | None
    proved: LastProof | None
    other_names: tuple[Cause, ...] = ()
    again: tuple[str, ...] = ()
    undone: tuple[int, ...] = ()
    ended: tuple[int, ...] = ()
    imported: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What was done, as typed.

    Attributes
    ----------
    step : str
        Its place among the proposals, or words of its title.
    saw : str
        Letter of the outcome, or words of it, or somebody's own that name its part or hold a
        reading which does; for a fix ``cured`` or ``not cured``.
    words : str or None
        What was seen, in the technician's own words.
    """

    step: str
    saw: str
    words: str | None = None
    minutes: int | None = None


def working_job(
    address: str,
    number: int,
    settings: Settings,
    *,
    who: str | None,
    now: datetime,
    best: int = BEST,
    wanted: Callable[[str], bool] = lambda _: True,
    progress: Progress | None = None,
) -> WorkingJob:
    """Say where a job stands and what to do next.

    Parameters
    ----------
    who : str or None
        Initials of whoever stands at the car; nobody else's confirmations open a step.
    now : datetime
        With the workshop's time zone.
    best : int
        How many steps to propose.
    wanted : callable
        Whether a step of this title is wanted; by default all are.

    Raises
    ------
    NoSuchJob
        If there is none of that number.
    Conflict
        If it is closed.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        return working_job_in(
            work,
            address,
            number,
            settings,
            who=who,
            now=now,
            best=best,
            wanted=wanted,
            progress=progress,
        )


def working_job_in(
    work: UnitOfWork,
    address: str,
    number: int,
    settings: Settings,
    *,
    who: str | None,
    now: datetime,
    best: int = BEST,
    wanted: Callable[[str], bool] = lambda _: True,
    progress: Progress | None = None,
) -> WorkingJob:
    """Say it from a store that is open already; see `working_job`."""
    job = work.jobs.get_many([number])[0]
    told = JobWords.of(job).without_successes(job)
    cure = cure_of(told)
    if job.closed is not None:
        raise Conflict(f"job: {number} was closed on {job.closed}; nothing is left to be tested")
    known = shop_knowledge(work, address, settings, progress)
    complaint = Complaint.of(replace(job, readings=JobWords.of(job).sound_readings(job)))
    diagnosis = diagnose(complaint, known, on=job.opened, without=[number])
    stands = standing(
        work,
        address,
        told,
        diagnosis,
        known.wording,
        settings,
        presence=Presence(who=who, now=now),
        best=0 if cure else best,
        wanted=wanted,
    )
    advice, recalled = stands.advice, diagnosis.recalled
    wrong = wrong_before(work, stands.repairs)
    verdicts = verdicts_on(work, complaint.readings, job.vehicle, known.wording, settings, job=job)
    undone, changes = work.changes.typed_in_vain(number), work.changes.of(number)
    hours = settings.troubleshooting.confirmation_hours
    lines = proofs(job, known.wording, settings.readings)
    again = usual_checks if lines else checks_again
    return WorkingJob(
        cautions=cautions_of(
            Situation.of_job(job)
            | Situation.of_causes(
                (cause for cause, _ in stands.named),
                advice.systems,
            ),
            known.wording,
        ),
        notices=(
            *not_judged(work, job),
            *_notices(job, advice, recalled.cases, settings),
            *_new_parts(job, known.wording),
        ),
        job=job,
        readings=reading_evidence(
            complaint, verdicts, stands.near, known.wording, settings.readings
        ),
        advice=advice,
        records=tuple(_records(advice, stands.fixes)),
        proofs=lines,
        cases=recalled.cases,
        wrong=tuple(wrong.items()),
        came_back={number: FIT.named(each.label) for number, each in stands.before.items()},
        in_doubt=diagnosis.came_back,
        start=None
        if job.tests or job.attempts
        else _as_proposed(starting_point(diagnosis, known.wording), advice),
        cured_by=FIT.named(cure.label) if cure else None,
        proved=_proof_of_kind(work, stands, known.wording) if cure else None,
        other_names=_other_names(job, cure, advice, known.wording),
        again=again(told, known.wording) if cure else (),
        undone=undone,
        ended=ended(job, deeds_of(job, changes), now, hours),
        imported=imported(job, changes),
    )


def _as_proposed(start: StartingPoint | None, advice: Advice) -> StartingPoint | None:
    """Give the tests to start with the minutes that they have among the steps."""
    minutes = {key_of(step.title): round(step.minutes) for step in advice.steps}
    if start is None:
        return None
    tests = (replace(each, minutes=minutes.get(each.name, each.minutes)) for each in start.tests)
    return replace(start, tests=tuple(tests))


def _other_names(
    job: Job, cure: Attempt | None, advice: Advice, wording: Wording
) -> tuple[Cause, ...]:
    """Return the suspects by nearness to what cured, where none has that part by its name."""
    likely = [each.cause for each in sorted(advice.suspects, key=lambda each: -each.before)]
    if cure is None or not cured_by_another_name(job, likely, wording):
        return ()
    return tuple(by_nearness(cure.component, likely, wording))


def _proof_of_kind(work: UnitOfWork, stands: JobStanding, wording: Wording) -> LastProof | None:
    """Return what last proved the cause that a cured job most likely had."""
    first = max(stands.advice.suspects, key=lambda each: each.chance, default=None)
    known = stands.repairs.get(first.cause.key) if first else None
    if first is None or known is None or first.chance < LIKELY_CURED:
        return None
    return newest_proof(work.jobs.get_many(known.last_proved), wording)


def _records(advice: Advice, fixes: Mapping[Key, Sequence[FixRate]]) -> Iterator[FixRecord]:
    for step in advice.steps:
        every = (
            FixRecord(step=step.title, cause=FIT.shown_cause(suspect.cause), rate=fit_rate(rate))
            for suspect in advice.suspects
            for rate in fixes.get(suspect.cause.key, ())
            if step.kind is Kind.REPAIR and rate.tried and even(rate.label) == even(step.title)
        )
        yield from islice(every, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDraft(Draft):
    """A job with the result of a step, and where it stood before."""

    before: Advice
    understood: str | None = None
    """How somebody's own words were taken."""


def confirm(
    address: str, number: int, step: str, settings: Settings, *, by: str | None, now: datetime
) -> Draft:
    """Draft the confirmation of everything that a step is locked by.

    Parameters
    ----------
    step : str
        Its place among the proposals, or words of its title.
    by : str or None
        Initials of who confirms.
    now : datetime
        With its time zone.

    Raises
    ------
    InvalidField
        If nobody's initials are given, or there is no such step, or it is not locked.
    """
    if not by or not any(sign.isalnum() for sign in by):
        raise InvalidField("who", by, "is missing; whoever confirms gives initials with --who")
    working, found, _ = _found(address, number, step, settings, by, now)
    if not found.locks:
        raise InvalidField("step", found.title, "is not locked; nothing has to be confirmed")
    made = tuple(
        Confirmation(what=lock, step=found.title, by=by.strip(), at=now) for lock in found.locks
    )
    job = replace(working.job, confirmations=working.job.confirmations + made)
    return draft_of(job, working.job)


def done(
    address: str,
    number: int,
    told: Done,
    settings: Settings,
    *,
    who: str | None,
    now: datetime,
    keeps_words: bool = False,
) -> StepDraft:
    """Draft a job with the result of a step.

    With `keeps_words` a test's own words that mean no outcome are kept as what it showed.

    Raises
    ------
    Locked
        If something must be confirmed before that step.
    InvalidField
        If there is no such step or outcome.
    """
    working, step, wording = _found(address, number, told.step, settings, who, now)
    if step.locks:
        wanted = "; ".join(IN_FULL[lock] for lock in step.locks)
        raise Locked(
            f"step: {to_be_done(step.title)!r} is locked until somebody confirms: {wanted}. "
            f"Then: kb --who INITIALS next-test {number} --confirm {told.step!r}"
        )
    job = working.job
    try:
        branch, own = branch_meant(step, told.saw, number, job.vehicle, trade_wording())
    except InvalidField:
        if not (keeps_words and step.kind is Kind.TEST and told.saw.strip()):
            raise
        branch, own = Branch(seen="", chance=0, leaves=(), then=None), True
    understood = "\n".join([_understood(branch), *unread(told.saw)]) if own else None
    if own:
        told = replace(told, words="; ".join(filter(None, (told.saw, told.words))))
    kind = EntryKind.TEST if step.kind is Kind.TEST else EntryKind.ATTEMPT
    said = None
    if told.words:
        said = whole_entry(len(job.entries), told.words)
        job = with_entry(job, kind, told.words)
    if step.kind is Kind.TEST:
        made = DiagnosticTest(
            name=step.title,
            seen="; ".join(filter(None, (branch.seen, told.words))),
            minutes=told.minutes,
            points_to=branch.points_to,
            clears=branch.clears,
            said=said,
        )
        readings = _readings_in(step, told.words or "", job.complaint, said)
        longer = replace(job, tests=(*job.tests, made), readings=(*job.readings, *readings))
        return draft_of(longer, working.job, wording=wording).as_kind(
            StepDraft, before=working.advice, understood=understood
        )
    action, component = step.title.split(" ", 1)
    maker = find_maker(told.words or "") if action == Action.REPLACED else None
    attempt = Attempt(
        action=Action(action),
        component=component,
        part_maker=maker and maker.name,
        words=told.words,
        cured=branch is step.branches[0],
        minutes=told.minutes,
        said=said,
    )
    longer = replace(job, attempts=(*job.attempts, attempt))
    return draft_of(longer, working.job, wording=wording).as_kind(
        StepDraft, before=working.advice, understood=understood
    )


def lasted(draft: StepDraft, minutes: int | None) -> StepDraft:
    """Return the draft of a step with the minutes that it took."""
    job = draft.job
    if draft.base is not None and len(job.tests) > len(draft.base.tests):
        test = replace(job.tests[-1], minutes=minutes)
        return replace(draft, job=replace(job, tests=(*job.tests[:-1], test)))
    attempt = replace(job.attempts[-1], minutes=minutes)
    return replace(draft, job=replace(job, attempts=(*job.attempts[:-1], attempt)))


def _understood(branch: Branch) -> str:
    """Say for which outcome somebody's own words were taken."""
    if branch.seen:
        return f"Understood as: {branch.seen}"
    return "Kept in these words as what the test showed: none of the outcomes is plainly meant."


def _readings_in(step: Step, words: str, complaint: str, said: SaidAt | None) -> Iterator[Reading]:
    """Yield what was read in a test that measures something, as told in somebody's words."""
    line = f"{step.title}: {words}"
    for reading in find_findings(line, date.today(), complaint=complaint).readings:
        yield replace(reading, said=said)


def set_circuit(address: str, number: int, text: str) -> Draft:
    """Draft a job with its circuit; see `kb.troubleshooting.circuit.parse_circuit`.

    Raises
    ------
    KbError
        If there is no such job, or the circuit cannot be understood.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        wording = shop_wording(work)
        circuit = parse_circuit(text, wording)
    return draft_of(replace(base, circuit=circuit), base, wording=wording)


def _notices(job: Job, advice: Advice, cases: int, settings: Settings) -> Iterable[str]:
    if not cases:
        yield Notice.EMPTY_STORE
    elif cases < settings.diagnosis.few_jobs:
        yield Notice.FEW_JOBS
    if was_done(job):
        yield DONE_HERE
    words = JobWords.of(job)
    fit = {each.name for each in job.tests if each in words.shown_job(job).tests}
    for test, link in advice.worthless:
        told = f"“{test}”" if test in fit else "A test that is not shown"
        where = words.named(link)
        yield f"{told} proves nothing: {where} has shorting bars that bridge it when it is open."


def _new_parts(job: Job, wording: Wording) -> Iterable[str]:
    """Say of what is told to be new that it is suspected less, and yet."""
    words = JobWords.of(job)
    new = (words.named(told.what) for told, _ in fine_parts(job.complaint, wording) if told.is_new)
    for part in dict.fromkeys(new):
        yield f"“{part}”: suspected less; new, it may yet be bad, or badly fitted."


def _found(
    address: str, number: int, step: str, settings: Settings, who: str | None, now: datetime
) -> tuple[WorkingJob, Step, Wording]:
    """The step meant by a place among the best, or by words of its title; and the shop's words."""
    words = even(step)
    by_place = words.isascii() and words.isdigit()
    with UnitOfWork(open_store(address), read_only=True) as work:
        working = working_job_in(
            work,
            address,
            number,
            settings,
            who=who,
            now=now,
            best=BEST if by_place else MOST_MEANT,
            wanted=lambda title: by_place or any(words in each for each in _called(title) if words),
        )
        wording = shop_wording(work)
    meant = working.advice.steps
    if by_place:
        if 1 <= int(words[:4]) <= len(meant):
            return working, meant[int(words[:4]) - 1], wording
        raise InvalidField("step", step, f"is none of the {len(meant)} proposed; name it in words")
    exact = [each for each in meant if words in _called(each.title)]
    if len(exact or meant) == 1:
        return working, (exact or meant)[0], wording
    if meant:
        known = ", ".join(repr(to_be_done(each.title)) for each in meant)
        raise InvalidField("step", step, f"fits several steps: {known}")
    raise InvalidField("step", step, f"is no step that is left; see kb next-test {number}")


def _called(title: str) -> tuple[str, ...]:
    """Return what a step may be called: as it is kept, and as it is proposed."""
    proposed = to_be_done(title).casefold()
    return title.casefold(), proposed, proposed.removesuffix(BY_THE_MAKER)
