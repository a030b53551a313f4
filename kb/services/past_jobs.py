"""Past jobs as they are told beside a question: what came in, what was done, how it ended."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kb.cards.proposed import ProposedCase
from kb.case import Attempt, Complaint, Job, LaterVisit, is_too_soon, tells_of_fix
from kb.intake.wording import Wording
from kb.recall.recall import Neighbour, SignalShare
from kb.recall.text_signal import TextModel
from kb.recall.why import Why, why
from kb.safety.hazards import Situation
from kb.safety.job_words import JobWords
from kb.services.lookup import returns_of, void_visits
from kb.store.unit_of_work import UnitOfWork


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
        What was done last.
    done : tuple of str
        Everything that was done, each with whether it cured, as far as that was told.
    heard : str or None
        What was last heard of the car since.
    back : LaterVisit or None
        The first return of its car for something alike that nobody has judged.
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
    backs = returns_of(work, [neighbour.number for neighbour in neighbours])
    void = void_visits(work, jobs)
    return tuple(
        _match(
            neighbour,
            job,
            JobWords.of(job, wording),
            why(complaint, job, model, wording),
            backs.get(neighbour.number),
            void,
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


def _match(
    neighbour: Neighbour,
    job: Job,
    words: JobWords,
    alike: Why,
    back: LaterVisit | None,
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
        fix=words.shown_fix(job.attempts[-1]) if job.attempts else None,
        done=tuple(_done(attempt, words) for attempt in job.attempts),
        notes=job.notes and words.shown(job.notes),
        heard=_heard(job, void),
        proved_by=job.proved_by and words.shown(job.proved_by),
        why=alike,
        parts=neighbour.parts,
        back=back,
    )


def _done(attempt: Attempt, words: JobWords) -> str:
    told = words.shown_fix(attempt)
    if attempt.cured is None:
        return told
    return f"{told} ({'cured' if attempt.cured else 'did not cure'})"


def _heard(job: Job, void: Collection[int]) -> str | None:
    """Return what was last heard of a job's car that counts."""
    heard = [
        each
        for each in job.contacts
        if job.closed and tells_of_fix(each, job.closed) and each.job not in void
        if not is_too_soon(each, job.closed)
    ]
    return f"{heard[-1].outcome}, {heard[-1].on.isoformat()}" if heard else None
