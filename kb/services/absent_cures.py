"""Fixes told to have cured by the absence, or the well-being, of what nobody had complained of."""

from dataclasses import replace

from kb.case import Attempt, EntryKind, Job
from kb.intake.absences import absences, pieces_of, rests_on_absences
from kb.intake.items import trade_wording
from kb.intake.other_faults import fine_of_another
from kb.intake.outcomes import judge_attempt
from kb.intake.single_facts import parse_attempt

_TELLS_TROUBLE = (EntryKind.COMPLAINT, EntryKind.CODE, EntryKind.TEST, EntryKind.LINE)


def without_absent_cures(job: Job, base: Job, line: str) -> tuple[Job, list[str]]:
    """Take the cure from new attempts of a job that only tell what is absent; say so.

    What is told to be absent on a job that nobody brought for it cured nothing: "no leak" where
    the engine did not crank; nor does what is well of another part: "windows work" of a clunk.
    `base` is the job before the `line` was added.
    """
    known = len(base.attempts)
    on_job = _absent_on(base, line) if any(each.cured for each in job.attempts[known:]) else []
    kept, said = list(job.attempts[:known]), []
    for each in job.attempts[known:]:
        absent = [*on_job, *_of_another(each, base)]
        untold = _untold(each, absent)
        said += [_said(each, absent)] if untold is not each else []
        kept.append(untold)
    return (replace(job, attempts=tuple(kept)) if said else job), said


def fix_told(job: Job, text: str) -> Attempt:
    """Read the fix that a job is closed with; see `without_absent_cures`.

    Raises
    ------
    InvalidField
        If it does not say what was done to which part.
    """
    attempt = parse_attempt(text)
    return _untold(attempt, [*_absent_on(job, text), *_of_another(attempt, job)])


def tells_only_absence(job: Job, line: str) -> bool:
    """Whether a line tells a cure only by the absence of what nobody complained of on a job."""
    absent = _absent_on(job, line)
    return bool(absent) and rests_on_absences(line, absent)


def _absent_on(job: Job, line: str) -> list[str]:
    if not job.complaint_as_typed.strip():
        return []
    told = [each.text for each in job.entries if each.kind in _TELLS_TROUBLE]
    codes = ", ".join(map(str, job.codes))
    return absences(line, [job.complaint_as_typed, codes, *told])


def _of_another(attempt: Attempt, job: Job) -> list[str]:
    """Return the clauses of a fix that tell a cure of another part than it, or the complaint."""
    if not (attempt.cured and attempt.words and job.complaint_as_typed.strip()):
        return []
    told = [each for each in pieces_of(attempt.words) if judge_attempt(each)]
    complaints = [each.text for each in job.entries if each.kind in _TELLS_TROUBLE]
    complaint = "; ".join([job.complaint_as_typed, *complaints])
    return [*fine_of_another(told, attempt.label, complaint, trade_wording())]


def _untold(attempt: Attempt, absent: list[str]) -> Attempt:
    words = attempt.words or ""
    told = [each for each in absent if each in words]
    if not (attempt.cured and told and rests_on_absences(words, told)):
        return attempt
    return replace(attempt, cured=None, verified=None)


def _said(attempt: Attempt, absent: list[str]) -> str:
    words = " and ".join(f"“{each}”" for each in absent if each in (attempt.words or ""))
    return (
        f"{words} is told of what nobody complained of: whether {attempt.label} cured counts as "
        "not told"
    )
