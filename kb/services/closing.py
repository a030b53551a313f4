"""Closing a job: its cause, its last fix, and what proves that it worked."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from kb.case import Action, Attempt, Cause, EntryKind, Job, JobEntry, LinkKind, Proof
from kb.errors import Conflict, InvalidField
from kb.intake.bare import seen_as_told
from kb.intake.causes import near_causes, read_cause
from kb.intake.contradictions import contradiction
from kb.intake.items import trade_wording
from kb.intake.outcomes import untold
from kb.intake.systems import guess_system
from kb.intake.wording import Wording
from kb.progress import Progress
from kb.rates.fixes import HorizonRate
from kb.safety.job_words import FIT, JobWords
from kb.services.absent_cures import fix_told
from kb.services.doubts import spelt_otherwise
from kb.services.drafts import Draft, draft_of, refuse_void, whole_entry
from kb.services.indexing import shop_wording
from kb.services.knowledge import repairs_of, shop_causes
from kb.services.troubleshoot import working_job_in
from kb.services.weights import Weights, weights_in
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.attempts import in_vain, may_have_cured
from kb.troubleshooting.circuit import kind_of
from kb.troubleshooting.proof import ProofLine, proofs, usual_checks

_SHORT_LIVED = (Action.CLEANED, Action.RESEATED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """What is told at the end of a job, as typed.

    Attributes
    ----------
    cause : str, Cause or None
        A cause, or what was typed of it, as ``seat connector under LF seat, high resistance``.
    cause_as_typed : str or None
        What was typed of a cause that is told as such.
    without_cause : bool
        Close although the cause was not found.
    fix : str or None
        The fix left on the car, as ``cleaned seat connector``; without it the last attempt is.
    cured : bool or None
        Whether the complaint was gone at handover; belongs to that fix. None is not known.
    proofs : tuple of Proof
        What was done to make sure of it.
    reproduced : bool or None
        False if the fault was never seen to occur here.
    stand_in_out : bool or None
        Whether what was put in an igniter's place came out again. None is not told.
    """

    cause: str | Cause | None = None
    cause_as_typed: str | None = None
    without_cause: bool = False
    proved_by: str | None = None
    fix: str | None = None
    cured: bool | None = None
    verified: str | None = None
    part_maker: str | None = None
    parts_cost: float | None = None
    minutes: int | None = None
    closed: date | None = None
    proofs: tuple[Proof, ...] = ()
    reproduced: bool | None = None
    stand_in_out: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosingDraft(Draft):
    """The end of a job as it would be stored, and the weights in force with one more case."""

    weights: Weights


def close_job(
    address: str, number: int, told: Closing, settings: Settings, *, today: date
) -> ClosingDraft:
    """Draft the end of a job, of which a cause is told, or that none was found.

    Raises
    ------
    Conflict
        If it is closed already.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        base = work.jobs.get(number)
        handed_over = _handed_over(work, base)
        job = _ended(base, told, handed_over or today, shop_causes(work))
        lasting = _lasting_way(work, address, job, settings)
        slips = (*spelt_otherwise(work, job, base),)
        spelt = (*slips, *_near(work, job, base))
        as_before = () if told.closed or not handed_over else (_as_before(handed_over),)
        vain = (*replaced_in_vain(job), *cured_elsewhere(job))
        notices = (*as_before, *vain, *spelt, *_left_open(job, settings), *lasting)
        weights, wording = weights_in(work, address, settings), shop_wording(work)
    one_more = replace(weights, cases=weights.cases + job.is_case)
    draft = replace(draft_of(job, base, notices, wording=wording), misspelt=bool(slips))
    return draft.as_kind(ClosingDraft, weights=one_more)


def _handed_over(work: UnitOfWork, base: Job) -> date | None:
    """Return when a job was closed before it was opened again, if its car was heard of since."""
    days = [each.old for each in work.changes.of(base.number or 0) if each.field == "closed"]
    told = [date.fromisoformat(day) for day in days if day]
    return told[-1] if told and any(each.on >= told[-1] for each in base.contacts) else None


def _as_before(day: date) -> str:
    return (
        f"Handed over {day}, as before it was opened again, since the car was heard of after that; "
        "if it left on another day: --closed DAY"
    )


def _ended(base: Job, told: Closing, today: date, known: Iterable[Cause]) -> Job:
    refuse_void(base)
    if base.closed is not None:
        number = base.number
        raise Conflict(
            f"job: {number} was closed on {base.closed}; correct it with 'kb job edit {number}', "
            f"or open it again with 'kb job reopen {number}'"
        )
    for seen in filter(None, (told.proved_by, told.verified)):
        seen_as_told(seen)
    cause = read_cause(told.cause, known) if isinstance(told.cause, str) else told.cause
    cause = cause or base.cause
    if cause is None and not told.without_cause:
        raise InvalidField("cause", None, "is missing; write what was wrong, or --no-cause")
    typed = {
        EntryKind.ATTEMPT: told.fix,
        EntryKind.CAUSE: told.cause if isinstance(told.cause, str) else told.cause_as_typed,
        EntryKind.PROOF: told.proved_by,
        EntryKind.LINE: _STAND_IN[told.stand_in_out],
    }
    entries = (JobEntry(kind=kind, text=text) for kind, text in typed.items() if text)
    return replace(
        base,
        entries=(*base.entries, *entries),
        closed=told.closed or today,
        cause=None if told.without_cause else cause,
        proved_by=told.proved_by or base.proved_by,
        attempts=_final_attempts(base, told),
        reproduced=base.reproduced if told.reproduced is None else told.reproduced,
    )


_STAND_IN = {
    True: "known load taken out again",
    False: "known load was not taken out, it stays in",
    None: None,
}
"""What is kept of the answer whether a stand-in came out again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseChoice:
    """A cause that a job may be closed with: how many past jobs had it, and its chance here."""

    cause: Cause
    jobs: int
    chance: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseChoices:
    """What an open job may be closed with: its suspects, and every cause of the shop.

    `cured_by` is the fix that cured, where no suspect has its part by that name: the suspects then
    stand by how near their names are to it, without chances.
    """

    suspects: tuple[CauseChoice, ...]
    shop: tuple[CauseChoice, ...]
    wording: Wording
    cured_by: str | None = None

    def read(self, text: str) -> Cause:
        """Read a cause as `kb.intake.causes.read_cause` does, by the names of these.

        Raises
        ------
        InvalidField
            If it names no component, or no way of failing.
        """
        return read_cause(text, (each.cause for each in (*self.suspects, *self.shop)))

    def like(self, told: Cause) -> tuple[CauseChoice, ...]:
        """Causes of the shop that one told anew may be; see `near_causes`."""
        known = ((each.cause, each.jobs) for each in self.shop)
        near = near_causes(told, known, self.wording)
        return tuple(CauseChoice(cause=cause, jobs=jobs) for cause, jobs in near)


def choices(
    address: str,
    number: int,
    settings: Settings,
    *,
    now: datetime,
    progress: Progress | None = None,
) -> CauseChoices:
    """Rank what an open job may be closed with, by all that was seen on it, however unlikely.

    Raises
    ------
    KbError
        If there is no such job, or it is closed.
    """
    settings = replace(settings, troubleshooting=replace(settings.troubleshooting, least_chance=0))
    with UnitOfWork(open_store(address), read_only=True) as work:
        working = working_job_in(
            work, address, number, settings, who=None, now=now, progress=progress
        )
        shop = tuple(CauseChoice(cause=cause, jobs=jobs) for cause, jobs in work.repairs.causes())
        wording = shop_wording(work)
    jobs_of = {each.cause.key: each.jobs for each in shop}
    suspects = tuple(
        CauseChoice(
            cause=replace(each.cause, position=None, words=None),
            jobs=jobs_of.get(each.cause.key, 0),
            chance=each.chance,
        )
        for each in working.advice.suspects
    )
    if not working.other_names:
        return CauseChoices(suspects=suspects, shop=shop, wording=wording)
    place = {cause.key: place for place, cause in enumerate(working.other_names)}
    near = sorted(suspects, key=lambda each: place[each.cause.key])
    return CauseChoices(
        suspects=tuple(replace(each, chance=None) for each in near),
        shop=shop,
        wording=wording,
        cured_by=working.cured_by,
    )


def as_shop_names(told: Cause, known: Cause) -> Cause:
    """Return a told cause under the name the shop has for it, its own position and words kept."""
    return replace(known, position=told.position or known.position, words=told.words)


def _near(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Ask about a cause that no job has, but that is near some that jobs have."""
    if job.cause is None or job.cause == base.cause:
        return
    told = work.names.vocabulary().cause(job.cause)
    near = near_causes(told, work.repairs.causes(), shop_wording(work), limit=2)
    if near:
        meant = " or ".join(
            f"“{FIT.named(cause.label)}” ({jobs} {'job' if jobs == 1 else 'jobs'})"
            for cause, jobs in near
        )
        yield f"No job yet has the cause “{FIT.named(job.cause.label)}”; is it {meant}?"


def proofs_wanted(job: Job, cause: Cause | None, settings: Settings) -> tuple[ProofLine, ...]:
    """Say what would prove the repair of a job, if that was its cause, and what of it is there."""
    return proofs(replace(job, cause=cause), trade_wording(), settings.readings)


def _final_attempts(base: Job, told: Closing) -> tuple[Attempt, ...]:
    """Add the fix told at closing, or tell more of the last one.

    Raises
    ------
    InvalidField
        If there is no fix to tell more of, or its words deny the outcome that is told beside them.
    """
    attempts = base.attempts
    details = {
        "cured": told.cured,
        "verified": told.verified,
        "part_maker": told.part_maker,
        "parts_cost": told.parts_cost,
        "minutes": told.minutes,
        "proofs": told.proofs or None,
    }
    known: dict[str, Any] = {name: value for name, value in details.items() if value is not None}
    if told.fix:
        said = whole_entry(len(base.entries), told.fix)
        fix = replace(fix_told(base, told.fix), said=said, **known)
        if denied := contradiction(fix, told.fix):
            raise InvalidField(
                "fix", told.fix, f"tells two things: {denied}; leave one of them out"
            )
        return (*attempts, fix)
    if not known:
        return attempts
    if not attempts:
        raise InvalidField("fix", None, "is missing; say what was done with --fix")
    return (*attempts[:-1], replace(attempts[-1], **known))


def _lasting_way(work: UnitOfWork, address: str, job: Job, settings: Settings) -> list[str]:
    """Say what lasts where contacts were only cleaned or reseated: common practice, no source."""
    if job.cause is None or not job.attempts or job.attempts[-1].action not in _SHORT_LIVED:
        return []
    if kind_of(job.cause.component, trade_wording()) is not LinkKind.CONNECTOR:
        return []
    known = repairs_of(work, address, [job.cause.key], settings)
    new = next(
        (
            fix
            for fix in known[job.cause.key].rates
            if fix.action is Action.REPLACED and fix.tried and not fix.never_reproduced
        ),
        None,
    )
    figures = (
        f"; here: {new.label}, cured {new.cured_at_handover} of {new.tried}, {_held(new.first)}"
        if new
        else ""
    )
    done = job.attempts[-1].action
    return [
        f"Tell the customer: {done} contacts may come back; new ones are the lasting way{figures}."
    ]


def _held(rate: HorizonRate) -> str:
    later = f", {rate.back_later} of them came back later" if rate.back_later else ""
    return f"{rate.held} held {rate.horizon} days{later}"


def replaced_in_vain(job: Job) -> Iterator[str]:
    """Ask of a cause whose part was replaced on the job before and did not cure it."""
    if job.cause is None:
        return
    trade = trade_wording()
    part = trade.tokens(job.cause.component)
    for attempt in in_vain(job):
        tried = trade.tokens(attempt.component)
        same = tried[-1:] == part[-1:] and (set(tried) <= set(part) or set(part) <= set(tried))
        if attempt.action is Action.REPLACED and same and tried:
            yield (
                f"{FIT.named(attempt.label)} did not cure this car: is that part the cause all "
                "the same?"
            )


def cured_elsewhere(job: Job) -> Iterator[str]:
    """Ask of a fix that is told to have cured, where it is of another system than the cause.

    What is of no one system, as a connector or an earth, may cure anything.
    """
    if job.cause is None or not job.attempts or not job.attempts[-1].cured:
        return
    fix, part = job.attempts[-1], trade_wording().tokens(job.cause.component)
    of_fix, of_cause = guess_system(fix.component), guess_system(job.cause.component) or job.system
    unlike = None not in (of_fix, of_cause) and of_fix not in (of_cause, job.system)
    if unlike and set(part).isdisjoint(trade_wording().tokens(fix.component)):
        yield (
            f"{FIT.named(fix.label)} is of {of_fix}, and the cause of {of_cause}: was it done on "
            "this job, and did it cure this? Else tell the fix that did: --fix 'WHAT WAS DONE'."
        )


def _untold_fixes(job: Job) -> str | None:
    """Say of which fixes nobody told whether they cured: all that may have."""
    open_end, left = untold(job.attempts[-1]), may_have_cured(job.attempts)
    if open_end is None or len(left) == 1:
        return open_end
    shown = JobWords.of(job).shown_job(job).attempts
    named = ", ".join(FIT.named(each.label) for each in may_have_cured(shown))
    return f"Not told which of these cured: {named}. They count as not told."


def _no_cure(job: Job) -> str | None:
    """Say that nothing is told to have cured, where the last fix is told not to have."""
    last = job.attempts[-1]
    if last.cured is not False or any(each.cured for each in job.attempts):
        return None
    return (
        f"{FIT.named(last.label)} did not cure, and what cured is not told; if it was cured: "
        "--fix 'WHAT WAS DONE'."
    )


def _left_open(job: Job, settings: Settings) -> list[str]:
    """Say what would make the case worth more."""
    missing = []
    if job.cause is None:
        return ["Without a cause this job is never recalled; it may be given later."]
    if not job.attempts:
        missing.append("No fix is recorded: --fix 'cleaned seat connector'.")
    elif open_end := _untold_fixes(job) or contradiction(job.attempts[-1]) or _no_cure(job):
        missing.append(open_end)
    if not job.proved_by:
        missing.append("What proved the cause is not recorded: --proved-by.")
    wanted = proofs_wanted(job, job.cause, settings)
    unshown = [str(line.proof) for line in wanted if not line.shown]
    if unshown := [*unshown, *usual_checks(job, trade_wording())]:
        missing.append(f"Of the repair's proof is missing: {', '.join(unshown)}.")
    if job.reproduced is False:
        missing.append("Closed as never reproduced: its fixes are counted apart.")
    return missing
