"""Past jobs as they are told beside a question: what came in, what was done, how it ended."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter

from kb.cards.proposed import ProposedCase
from kb.case import (
    Attempt,
    Complaint,
    Job,
    LaterVisit,
    Outcome,
    RepairRecord,
    is_too_soon,
    tells_of_fix,
)
from kb.intake.wording import Wording
from kb.rates.returns import again_unsaid, answers, came_back_on, denied_again, is_undated
from kb.recall.recall import Neighbour, SignalShare
from kb.recall.text_signal import TextModel
from kb.recall.why import Why, why
from kb.safety.hazards import Situation
from kb.safety.job_words import NO_FIX, JobWords
from kb.services.lookup import named_visits, overtaken, returns_of, void_of
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.attempts import may_have_cured


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One similar past job: the chance that it shares its cause, and why it was recalled.

    Attributes
    ----------
    state : str
        As `Job.state`.
    cause : str
        Empty where none was told.
    proposed : str
        The cause that is proposed of a card which nobody has reviewed; empty where there is none.
    proposed_chance : float or None
        The chance that it is right, 0 to 1.
    fix : str or None
        What it left with; all that may have cured it, where nobody told which did.
    done : tuple of str
        Everything that was done, each with whether it cured, as far as that was told.
    heard : str or None
        What was heard of the car since: the first comeback if there is one, else what was last
        heard.
    back, again, denied : LaterVisit or None
        As in `kb.services.lookup.JobSheet`.
    """

    number: int
    chance: float
    vehicle: str
    opened: date
    odometer_km: int | None
    state: str
    complaint: str
    cause: str
    proposed: str
    proposed_chance: float | None
    fix: str | None
    done: tuple[str, ...]
    notes: str | None
    heard: str | None
    proved_by: str | None
    why: Why
    parts: tuple[SignalShare, ...]
    back: LaterVisit | None
    again: LaterVisit | None
    denied: LaterVisit | None


def matches(
    work: UnitOfWork,
    complaint: Complaint,
    neighbours: Sequence[Neighbour],
    jobs: Iterable[Job],
    model: TextModel,
    wording: Wording,
    cards: Mapping[int, ProposedCase],
) -> tuple[Match, ...]:
    """Tell the jobs of some neighbours, in their words as far as these may be shown.

    Of `cards` that nobody has reviewed it is told what may have been wrong.
    """
    jobs = list(jobs)
    numbers = [neighbour.number for neighbour in neighbours]
    backs, visits = returns_of(work, numbers), named_visits(work, jobs)
    repairs = {each.number: each for each in work.repairs.of_jobs(numbers)}
    return tuple(
        _match(
            neighbour,
            job,
            JobWords.of(job, wording),
            why(complaint, _sound(job, wording), model, wording),
            backs.get(neighbour.number),
            repairs.get(neighbour.number),
            {number: _as_job(each, wording) for number, each in visits.items()},
            void_of(visits.values()),
            cards.get(neighbour.number) if job.cause is None else None,
        )
        for neighbour, job in zip(neighbours, jobs, strict=True)
    )


def situation_of(jobs: Iterable[Job]) -> Situation:
    """Return what past jobs tell of hazards: a case by its cause, another by all its words."""
    situation = Situation()
    for job in jobs:
        situation |= (
            Situation.of_causes([job.cause], [job.system])
            if job.is_case and job.cause
            else Situation.of_job(job)
        )
    return situation


def _sound(job: Job, wording: Wording) -> Job:
    """Return a job without the readings that nobody should have taken so."""
    return replace(job, readings=JobWords.of(job, wording).sound_readings(job))


def _match(
    neighbour: Neighbour,
    job: Job,
    words: JobWords,
    alike: Why,
    back: LaterVisit | None,
    repair: RepairRecord | None,
    visits: Mapping[int, str],
    void: Collection[int],
    card: ProposedCase | None,
) -> Match:
    return Match(
        number=neighbour.number,
        chance=neighbour.chance,
        vehicle=words.shown_vehicle(job.vehicle).label,
        opened=job.opened,
        odometer_km=job.odometer_km,
        state=job.state,
        complaint=words.named(job.complaint_as_typed),
        cause=words.shown_cause(job.cause).label if job.cause else "",
        proposed=words.shown_cause(card.cause).label if card else "",
        proposed_chance=card.chance if card else None,
        fix=_left_with(job.attempts, words),
        done=tuple(_done(attempt, words) for attempt in job.attempts),
        notes=job.notes and words.shown(job.notes),
        heard=_heard(job, repair, visits, void),
        proved_by=job.proved_by and words.shown_proof(job.proved_by),
        why=alike,
        parts=neighbour.parts,
        back=back,
        again=next(again_unsaid(repair), None) if repair else None,
        denied=next(denied_again(repair), None) if repair else None,
    )


def _left_with(attempts: Sequence[Attempt], words: JobWords) -> str | None:
    """Return the fix that a car left with; all that may have cured, where nobody told which did."""
    cured = [each for each in may_have_cured(attempts) if not words.is_test(each)]
    fix = ", ".join(map(words.shown_fix, cured))
    return f"{fix} ({NO_FIX})" if fix and words.hides_fault else fix or None


def _done(attempt: Attempt, words: JobWords) -> str:
    told = words.shown_fix(attempt)
    if attempt.cured is None or words.is_test(attempt):
        return told
    if words.without_success(attempt).cured is None:
        return f"{told} ({NO_FIX})"
    return f"{told} ({'cured' if attempt.cured else 'did not cure'})"


def _as_job(visit: Job, wording: Wording) -> str:
    """Name the job that a contact names, with what it proved to be."""
    if visit.void is not None:
        return f"as #{visit.number}, which is void"
    cause = visit.cause if visit.is_case else None
    proved = (
        f", which proved {JobWords.of(visit, wording).shown_cause(cause).label}" if cause else ""
    )
    return f"as #{visit.number}{proved}"


def _came_on(day: date, repair: RepairRecord) -> str:
    if is_undated(repair, day):
        return f"comeback, its day not told, after {day}"
    return f"comeback, {day}"


def _void_visit(job: Job, on: date, void: Collection[int]) -> int | None:
    """Return the void job that a comeback of a day names: it counts by the day alone."""
    named = (each.job for each in job.contacts if each.on == on and each.job in void)
    return next(named, None)


def _heard(
    job: Job, repair: RepairRecord | None, visits: Mapping[int, str], void: Collection[int]
) -> str | None:
    """Return what was heard of a job's car that counts: its first comeback, else the last word.

    Beside the comeback it is said that what was told to hold later does not count.
    """
    heard = [
        each
        for each in job.contacts
        if job.closed and tells_of_fix(each, job.closed)
        if each.job not in void or each.outcome is Outcome.COMEBACK
        if not is_too_soon(each, job.closed)
    ]
    back = came_back_on(repair) if repair else None
    if repair is None or back is None:
        return f"{heard[-1].outcome}, {heard[-1].on.isoformat()}" if heard else None
    comebacks = [each for each in answers(repair) if each.outcome is Outcome.COMEBACK]
    first = min(comebacks, key=attrgetter("on"), default=None)
    named = first.job if first and first.job else _void_visit(job, first.on, void) if first else 0
    came = (_came_on(first.on, repair), visits.get(named or 0)) if first else ()
    late = ", ".join(f"{each.outcome} {each.on}" for each in heard if overtaken(each, back))
    parts = [", ".join(filter(None, came)), late and f"{late}: does not count, as it came back"]
    return "; ".join(filter(None, parts)) or None
