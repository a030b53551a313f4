"""Closing a job: its cause, its last fix, and what proves that it worked."""

from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Any

from kb.case import Action, Attempt, Cause, EntryKind, Job, JobEntry, LinkKind, Proof, SaidAt
from kb.errors import Conflict, InvalidField
from kb.intake.findings import parse_attempt, parse_cause
from kb.intake.items import trade_wording
from kb.intake.outcomes import untold
from kb.services.knowledge import repairs_of
from kb.services.record import Draft, draft_of, spelt_otherwise
from kb.services.weights import Weights, weights_in
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.circuit import kind_of
from kb.troubleshooting.proof import ProofLine, proofs

_SHORT_LIVED = (Action.CLEANED, Action.RESEATED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """What is told at the end of a job, as typed.

    Attributes
    ----------
    cause : str, Cause or None
        A cause, or what was typed of it, as ``seat connector under LF seat, high resistance``.
    without_cause : bool
        Close although the cause was not found.
    fix : str or None
        The fix left on the car, as ``cleaned seat connector``; without it the last attempt is.
    cured : bool or None
        Whether the complaint was gone at handover; belongs to that fix.
    proofs : tuple of Proof
        What was done to make sure of it.
    reproduced : bool or None
        False if the fault was never seen to occur here.
    """

    cause: str | Cause | None = None
    without_cause: bool = False
    proved_by: str | None = None
    fix: str | None = None
    cured: bool | None = None
    verified: str | None = None
    parts_cost: float | None = None
    minutes: int | None = None
    closed: date | None = None
    proofs: tuple[Proof, ...] = ()
    reproduced: bool | None = None


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
        job = _ended(base, told, today)
        lasting = _lasting_way(work, address, job, settings)
        notices = (*spelt_otherwise(work, job, base), *_left_open(job, settings), *lasting)
        weights = weights_in(work, address, settings)
    draft = draft_of(job, base, notices)
    drafted = {field.name: getattr(draft, field.name) for field in fields(draft)}
    return ClosingDraft(**drafted, weights=replace(weights, cases=weights.cases + job.is_case))


def _ended(base: Job, told: Closing, today: date) -> Job:
    if base.closed is not None:
        number = base.number
        raise Conflict(
            f"job: {number} was closed on {base.closed}; correct it with 'kb job edit {number}'"
        )
    cause = parse_cause(told.cause) if isinstance(told.cause, str) else told.cause
    cause = cause or base.cause
    if cause is None and not told.without_cause:
        raise InvalidField("cause", None, "is missing; write what was wrong, or --no-cause")
    typed = {
        EntryKind.ATTEMPT: told.fix,
        EntryKind.CAUSE: told.cause if isinstance(told.cause, str) else None,
        EntryKind.PROOF: told.proved_by,
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


def proofs_wanted(job: Job, cause: Cause | None, settings: Settings) -> tuple[ProofLine, ...]:
    """Say what would prove the repair of a job, if that was its cause, and what of it is there."""
    return proofs(replace(job, cause=cause), trade_wording(), settings.readings)


def _final_attempts(base: Job, told: Closing) -> tuple[Attempt, ...]:
    """Add the fix told at closing, or tell more of the last one."""
    attempts = base.attempts
    details = {
        "cured": told.cured,
        "verified": told.verified,
        "parts_cost": told.parts_cost,
        "minutes": told.minutes,
        "proofs": told.proofs or None,
    }
    known: dict[str, Any] = {name: value for name, value in details.items() if value is not None}
    if told.fix:
        said = SaidAt(entry=len(base.entries), start=0, end=len(told.fix))
        return (*attempts, replace(parse_attempt(told.fix), said=said, **known))
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
        f"; here: {new.label}, cured {new.cured_at_handover} of {new.tried}, {new.held} held"
        if new
        else ""
    )
    done = job.attempts[-1].action
    return [
        f"Tell the customer: {done} contacts may come back; new ones are the lasting way{figures}."
    ]


def _left_open(job: Job, settings: Settings) -> list[str]:
    """Say what would make the case worth more."""
    missing = []
    if job.cause is None:
        return ["Without a cause this job is never recalled; it may be given later."]
    if not job.attempts:
        missing.append("No fix is recorded: --fix 'cleaned seat connector'.")
    elif open_end := untold(job.attempts[-1]):
        missing.append(open_end)
    if not job.proved_by:
        missing.append("What proved the cause is not recorded: --proved-by.")
    wanted = proofs_wanted(job, job.cause, settings)
    if unshown := [line.proof for line in wanted if not line.shown]:
        missing.append(f"Of the repair's proof is missing: {', '.join(unshown)}.")
    if job.reproduced is False:
        missing.append("Closed as never reproduced: its fixes are counted apart.")
    return missing
