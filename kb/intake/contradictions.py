"""What of a job cannot be so, or says two things at once."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from kb.case import Attempt, Contact, Job, Outcome
from kb.errors import InvalidField
from kb.intake.days import CLOCKS
from kb.intake.outcome_words import WordRole, clauses
from kb.intake.outcomes import judge_attempt, judge_contact

_CURED = {True: "cured", False: "not cured"}
_OF_THE_CURE = (WordRole.CURED, WordRole.CHANGE, WordRole.RETURNED)
_FACTS = ("codes", "readings", "tests", "attempts", "contacts")


def contradiction(part: object, words: str | None = None) -> str | None:
    """Say how a part's words deny the outcome that is told beside them; None if they do not.

    Parameters
    ----------
    words : str, optional
        What was typed, where the part does not hold it.

    Examples
    --------
    >>> from kb.case import Action
    >>> contradiction(
    ...     Attempt(action=Action.REPLACED, component="relay", cured=True, words="not cured")
    ... )
    'cured is told of “replaced relay”, but its words say not cured: “not cured”'
    """
    match part:
        case Attempt(cured=bool(cured)):
            told = words or part.words or ""
            judged = judge_attempt(told) if _tells_of_the_cure(told) else None
            if judged is not None and judged is not cured:
                denied = f"its words say {_CURED[judged]}: “{told}”"
                return f"{_CURED[cured]} is told of “{part.label}”, but {denied}"
        case Contact(outcome=Outcome.HELD | Outcome.COMEBACK as outcome):
            told = " ".join(filter(None, (part.words, words)))
            judged_as = judge_contact(told)
            if {outcome, judged_as} == {Outcome.HELD, Outcome.COMEBACK}:
                return f"{outcome} is told of {part.on}, but its words say {judged_as}: “{told}”"
    return None


def _tells_of_the_cure(text: str) -> bool:
    """Whether words of a fix speak of its outcome; most tell how it was done ("filed flat")."""
    return any(clause.has(*_OF_THE_CURE) for clause in clauses(text))


def contradictions(job: Job) -> Iterator[str]:
    """Yield what the fixes and contacts of a job say twice and not alike."""
    yield from filter(None, map(contradiction, (*job.attempts, *job.contacts)))


def undecided(job: Job) -> Job:
    """Return a job whose contradictory outcomes are not told."""
    return replace(
        job,
        attempts=tuple(
            replace(each, cured=None) if contradiction(each) else each for each in job.attempts
        ),
        contacts=tuple(
            replace(each, outcome=Outcome.NOT_TOLD) if contradiction(each) else each
            for each in job.contacts
        ),
    )


def check_contacts(job: Job, today: date) -> None:
    """Refuse a job whose car was heard of before it was handed over, or on a day to come.

    Raises
    ------
    InvalidField
        With the place of the contact and its day.
    """
    for place, contact in enumerate(job.contacts):
        field = f"contacts[{place}].on"
        if job.closed is not None and contact.on < job.closed:
            cure = f"lies before the job was closed, {job.closed}; mend the day, or leave it out"
            raise InvalidField(field, str(contact.on), cure)
        if contact.on > today + CLOCKS:
            raise InvalidField(field, str(contact.on), "is still to come; mend the day")


def check_places(job: Job) -> None:
    """Refuse a job with a fact that was said where none of its entries reaches.

    Raises
    ------
    InvalidField
        With the place of the fact.
    """
    for name in _FACTS:
        for place, fact in enumerate(getattr(job, name)):
            said = fact.said
            if said is None:
                continue
            text = job.entries[said.entry].text if said.entry < len(job.entries) else ""
            if not said.start <= said.end <= len(text) or not text:
                at = f"{said.entry}, {said.start} to {said.end}"
                cure = f"lies in none of the job's {len(job.entries)} entries; leave said out"
                raise InvalidField(f"{name}[{place}].said", at, cure)
