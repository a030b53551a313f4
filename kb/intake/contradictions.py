"""What of a job cannot be so, or says two things at once."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import lru_cache
from math import isclose
from operator import attrgetter
from typing import NamedTuple

from kb.case import Attempt, Contact, Job, Outcome, Reading, tells_of_fix
from kb.errors import InvalidField
from kb.intake.distances import check_km
from kb.intake.outcome_words import DENIALS, TROUBLE, OutcomeClause, WordRole, clauses
from kb.intake.outcomes import judge_attempt, judge_contact
from kb.intake.values import parse_value
from kb.patterns import compiled

_CURED = {True: "cured", False: "not cured"}
_OF_THE_CURE = (WordRole.CURED, WordRole.CHANGE, WordRole.RETURNED)
_DENIED_BY = {
    Outcome.HELD: {Outcome.COMEBACK},
    Outcome.COMEBACK: {Outcome.HELD, Outcome.OTHER_REASON},
    Outcome.OTHER_REASON: {Outcome.COMEBACK},
}
_NOT = r"not|cannot|(?:could|can|did|was|is)n?['’]?t"
_NOBODY_SAID = compiled(
    rf"\b(?:{_NOT}|no|nobody|no ?one|nothing|never)(?: \w+){{0,2}} "
    r"(?:reach(?:ed)?|answer(?:ed|s)?|reply|replied|response|contact(?:ed)?|heard)\b"
    r"|\b(?:no (?:answer|reply|response|contact)|unreachable|voice ?mail)\b",
    re.IGNORECASE,
)
_OTHER_FAULT = compiled(
    rf"\b(?:(?:{_NOT}) (?:for )?(?:the |a )?same (?:fault|problem|complaint|trouble|issue|thing)"
    r"|(?:another|a different|different|some other|unrelated|a new) "
    r"(?:fault|problem|complaint|trouble|issue|thing))\b",
    re.IGNORECASE,
)
_NOT_THE_FAULT = compiled(r"\bmoney back\b", re.IGNORECASE)
"""What came back, and is no fault."""
_OF_THE_FAULT = (
    *(WordRole.SPAN, WordRole.SETTING, WordRole.SYMPTOM, WordRole.FAULT, WordRole.BAD),
    *(WordRole.STILL, WordRole.AGAIN, WordRole.LIT),
)
"""Beside a return they say that the fault is what came back; a few words more that tell nothing may
be of a part ("the sensor he can return")."""
_ONLY_OUTCOME = frozenset(
    {
        *(*TROUBLE, *DENIALS, WordRole.BAD, WordRole.BROKEN, WordRole.RETURNED, WordRole.BACK),
        *(WordRole.AGAIN, WordRole.STILL, WordRole.LAMP, WordRole.LIT, WordRole.SPAN),
        *(WordRole.PLAN, WordRole.NOW, WordRole.LITTLE, WordRole.NICE, WordRole.FINE),
        *(WordRole.CURED, WordRole.LASTED, WordRole.CHANGE, WordRole.BETTER),
    }
)
_ROUNDED = 0.01
KEPT = 10_000
"""So many texts are remembered as they were judged: one job's are looked at several times."""
_FACTS = ("codes", "readings", "tests", "attempts", "contacts")


_NAMES_A_PART = compiled(
    r"\breturn(?= (?:hoses?|lines?|pipes?|springs?|valves?|unions?|flow|rail|filter|side|feed"
    r"|wires?|tube|port|fitting|banjo|bolt|oil|fuel)\b)"
    r"|\bback(?= (?:lights?|lamps?|doors?|seats?|box|plates?|axle|wheels?|window|screen|brakes?"
    r"|pressure|bumper|panel|hatch|spring|shock|strut)\b)|\b(?:de|du) retour\b",
    re.IGNORECASE,
)


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
            judged = _judged_cure(told)
            if judged is not None and judged is not cured:
                denied = f"its words say {_CURED[judged]}: “{told}”"
                return f"{_CURED[cured]} is told of “{part.label}”, but {denied}"
            if cured and part.verified and _ends_in_failure(part.verified):
                denied = f"its proof says {_CURED[False]}: “{part.verified}”"
                return f"{_CURED[cured]} is told of “{part.label}”, but {denied}"
            named = _named_outcome(part.component)
            if named is not None and named is not cured:
                denied = f"the name of its part says {_CURED[named]}"
                return f"{_CURED[cured]} is told of “{part.label}”, but {denied}"
        case Contact(outcome=Outcome.HELD | Outcome.COMEBACK | Outcome.OTHER_REASON as outcome):
            told = " ".join(filter(None, (part.words, words)))
            denied_by = _denies(outcome, told)
            if denied_by is not None:
                return f"{outcome} is told of {part.on}, but its words say {denied_by}: “{told}”"
    return None


@lru_cache(maxsize=KEPT)
def _denies(outcome: Outcome, text: str) -> Outcome | None:
    """Return what words make of a contact whose outcome they deny; most tell nothing of it."""
    judged = judge_contact(text)
    if judged in _DENIED_BY[outcome]:
        return judged
    if judged is not Outcome.NOT_TOLD:
        return None
    if outcome is Outcome.HELD and (
        _NOBODY_SAID.search(text)
        or any(each.asked or each.has(WordRole.DOUBT) for each in clauses(text))
    ):
        return Outcome.NOT_TOLD
    if outcome is Outcome.COMEBACK and _OTHER_FAULT.search(text):
        return Outcome.OTHER_REASON
    return None


@lru_cache(maxsize=KEPT)
def _judged_cure(text: str) -> bool | None:
    """Judge whether a fix cured by its words; None where they do not speak of it plainly.

    Most words of a fix tell how it was done, or driven after it ("same hill"), so a failure is
    heard only where what is said last is of the outcome and of nothing else.
    """
    if _tells_of_the_cure(text) and (judged := judge_attempt(text)) is not None:
        return judged
    return False if _ends_in_failure(text) else None


@lru_cache(maxsize=KEPT)
def _named_outcome(component: str) -> bool | None:
    """Judge whether a fix cured by what stands in the place of its part: "hose still leaks".

    The name of a part tells nothing of it, so any plain failure there is one.
    """
    text = _NAMES_A_PART.sub(" ", component)
    return False if judge_attempt(text) is False else _judged_cure(text)


@lru_cache(maxsize=KEPT)
def _ends_in_failure(text: str) -> bool:
    """Whether what is said last is that the fault is there: "ohne Erfolg", "came back"."""
    told = [each for each in clauses(_NOT_THE_FAULT.sub("", text)) if each.words]
    if not told or not _ONLY_OUTCOME.issuperset(told[-1].words):
        return bool(told) and _tells_of_now(told[-1])
    last = told[-1]
    weak = last.has(WordRole.NICE, WordRole.FINE, WordRole.CURED) and last.has(*DENIALS)
    again = last.has(WordRole.BROKEN, *TROUBLE) and last.has(WordRole.AGAIN)
    back = last.has(WordRole.RETURNED, WordRole.BACK) and not last.has(*DENIALS)
    as_ever = _tells_of_now(last) or (last.has(WordRole.CHANGE) and last.has(*DENIALS))
    return last.has(WordRole.BAD) or weak or again or back or as_ever


def _tells_of_the_cure(text: str) -> bool:
    """Whether words of a fix speak of its outcome; most tell how it was done ("filed flat")."""
    told = clauses(text)
    return any(each.has(*_OF_THE_CURE) for each in told) or _tells_of_now(told[-1])


def _tells_of_now(last: OutcomeClause) -> bool:
    """Whether what is said last is how the fault is after all: "no better", "still dead"."""
    as_before = last.has(WordRole.STILL) and last.has(WordRole.BROKEN, *TROUBLE)
    return as_before or (last.has(WordRole.BETTER) and last.has(*DENIALS))


def is_typed_otherwise(reading: Reading) -> bool:
    """Whether the value of a reading is another than its typed text tells.

    False where the text tells no value; a value may be rounded to a hundredth of itself.

    Examples
    --------
    >>> from kb.case import Quantity
    >>> told = {"item": "coil", "quantity": Quantity.VOLTAGE, "typed": "4 mV"}
    >>> is_typed_otherwise(Reading(value=5.0, **told)), is_typed_otherwise(
    ...     Reading(value=0.004, **told)
    ... )
    (True, False)
    """
    try:
        told = parse_value(reading.typed, reading.quantity)
    except InvalidField:
        return False
    if told.value is None or reading.value is None:
        return told.value is not reading.value
    return not isclose(told.value, reading.value, rel_tol=_ROUNDED)


def contradictions(job: Job) -> Iterator[str]:
    """Yield what the fixes and contacts of a job, or its notes, say twice and not alike."""
    yield from filter(None, map(contradiction, (*job.attempts, *job.contacts)))
    if _is_denied_by_notes(job):
        yield f"cured is told of “{job.attempts[-1].label}”, but the notes deny it: “{job.notes}”"


def _is_denied_by_notes(job: Job) -> bool:
    """Whether notes say plainly that what is told to have cured did not, or not for long.

    Where a contact tells of a comeback they say nothing else.
    """
    last = job.attempts[-1] if job.attempts else None
    if last is None or not (job.notes and last.cured) or contradiction(last):
        return False
    if any(each.outcome is Outcome.COMEBACK for each in job.contacts):
        return False
    return _deny_a_cure(job.notes)


@lru_cache(maxsize=KEPT)
def _deny_a_cure(notes: str) -> bool:
    parts = clauses(notes)
    no_change = any(
        part.has(WordRole.CHANGE) and part.has(WordRole.NO, WordRole.NOT) for part in parts
    )
    of_the_fault = any(part.has(*_OF_THE_FAULT) for part in parts)
    back = any(
        part.has(WordRole.RETURNED) and (of_the_fault or not part.has(WordRole.LITTLE))
        for part in parts
    )
    return (no_change or back) and judge_attempt(notes) is False


def undecided(job: Job) -> Job:
    """Return a job whose contradictory outcomes are not told."""
    if next(contradictions(job), None) is None:
        return job
    fixes = [replace(each, cured=None) if contradiction(each) else each for each in job.attempts]
    if _is_denied_by_notes(job):
        fixes[-1] = replace(fixes[-1], cured=None)
    return replace(
        job,
        attempts=tuple(fixes),
        contacts=tuple(
            replace(each, outcome=Outcome.NOT_TOLD) if contradiction(each) else each
            for each in job.contacts
        ),
    )


def check_cures(job: Job, base: Job) -> None:
    """Refuse an outcome of a fix that the fix's own words deny.

    Parameters
    ----------
    base : Job
        The job before it was changed; what contradicted itself there is no matter of the change.

    Raises
    ------
    InvalidField
        With the field, the outcome, what denies it, and the cure.
    """
    for place, fix in enumerate(job.attempts):
        if fix in base.attempts or not (denied := contradiction(fix)):
            continue
        field = f"attempts[{place}]"
        cure = (
            f"tells two things: {denied}; leave the outcome open "
            f"(--set {field}.cured=), or correct the words ({field}.words, {field}.verified)"
        )
        raise InvalidField(f"{field}.cured", "yes" if fix.cured else "no", cure)


def check_handover(job: Job, base: Job | None = None) -> None:
    """Refuse that a fix held, or came back, before its car was handed over.

    What tells nothing of a fix may be of any day (`kb.case.tells_of_fix`).

    Parameters
    ----------
    base : Job, optional
        The job before it was changed; what it has that cannot be so is no matter of the change.

    Raises
    ------
    InvalidField
        With the place of the contact, its day, and the cure.
    """
    if job.closed is None:
        return
    old = base.contacts if base is not None and base.closed == job.closed else ()
    for place, contact in enumerate(job.contacts):
        told = contact.outcome is not Outcome.NOT_TOLD
        if told and not tells_of_fix(contact, job.closed) and contact not in old:
            raise _too_early(job, base, place, _HANDOVER)


def check_opening(job: Job, base: Job | None = None) -> None:
    """Refuse what was heard of a car before it came in: nothing is known of a fix by then.

    Of an imported job, whose store may hold it so, only what is told of a fix is refused.

    Parameters
    ----------
    base : Job, optional
        The job before it was changed; what it has that cannot be so is no matter of the change.

    Raises
    ------
    InvalidField
        With the place of the contact, its day, and the cure.
    """
    old = base.contacts if base is not None and base.opened == job.opened else ()
    for place, contact in enumerate(job.contacts):
        counts = base is not None or contact.outcome is not Outcome.NOT_TOLD
        if counts and contact.on < job.opened and contact not in old:
            raise _too_early(job, base, place, _COMING_IN)


def check_left_fix(job: Job, base: Job) -> None:
    """Refuse a fix that would be taken for the one of which something was heard before.

    What is heard of a car tells of the fix that it was handed over with, and never of one that is
    made or recorded after that: whose it was nobody could tell any more.

    Parameters
    ----------
    base : Job
        The job before the fix was added; one without any fix takes the first for what it had.

    Raises
    ------
    InvalidField
        With the fix, what was heard, and how either can be told.
    """
    heard = job.contacts if base.closed else base.contacts
    told = [each for each in heard if each.outcome is not Outcome.NOT_TOLD]
    grown = len(job.attempts) - len(base.attempts)
    if not (told and base.attempts and grown > 0) or job.attempts[-1] == base.attempts[-1]:
        return
    last = max(told, key=attrgetter("on"))
    same = f", then kb job follow-up {base.number} same fault --job NUMBER"
    raise InvalidField(
        "fix",
        job.attempts[-1].label,
        f"may not be the one of which {last.outcome} was told ({last.on}); that judges what was "
        f"on the car by then. What was done since is a job of its own: "
        f"kb job open{same if last.outcome is Outcome.COMEBACK else ''}. If it was on the car by "
        f"then, take the answer out (kb job remove {base.number} NUMBER), add the fix, and tell "
        "the answer again",
    )


_TOLD_NOW = "day the car was heard of"


class _Bound(NamedTuple):
    """What a contact may not lie before, of a job by its name, and how either can be mended."""

    field: str
    event: str
    earlier: str
    later: str


_HANDOVER = _Bound(
    "closed",
    "the handover of {job} on {day}",
    "give the day it was handed over",
    "give a later day, or correct the job",
)
_COMING_IN = _Bound(
    "opened",
    "{job} was opened, on {day}",
    "give an earlier day",
    "give a later day, tell it of the earlier job of the car, or correct this one",
)


def _too_early(job: Job, base: Job | None, place: int, bound: _Bound) -> InvalidField:
    """Say that a contact lies before a day of its job, and how to mend either.

    Where there is no job before the change, all of it is told now, and it is not in the store.
    """
    contact, field = job.contacts[place], f"contacts[{place}]"
    edit = f"kb job edit {job.number} --set"
    named = f"{field}.on"
    if base is None:
        cure = "mend one of the two days, or leave the contact out"
    elif contact in base.contacts:
        cure = (
            f'{bound.earlier}, or mend the contact first: {edit} "{field}.on=DAY", or '
            f'without it: {edit} "{field}="'
        )
    else:
        named, cure = _TOLD_NOW, f"{bound.later}: {edit} {bound.field}=DAY"
    number = f"job {job.number}" if base is not None else "the job"
    event = bound.event.format(job=number, day=getattr(job, bound.field))
    return InvalidField(named, str(contact.on), f"lies before {event}; {cure}")


def check_closed(job: Job) -> None:
    """Refuse what was heard of a fix whose car was never handed over: no rate could count it.

    Raises
    ------
    InvalidField
        With the field, the first such contact, and the cure.
    """
    if job.closed is not None:
        return
    for place, contact in enumerate(job.contacts):
        if contact.outcome is not Outcome.NOT_TOLD:
            cure = (
                f"is missing, but contacts[{place}] tells of {contact.on}: {contact.outcome}; give "
                "the day the car was handed over, or leave the contact out"
            )
            raise InvalidField("closed", None, cure)


def check_contacts(job: Job, today: date) -> None:
    """Refuse a job whose car was heard of on a day to come, or came back as this very job.

    Raises
    ------
    InvalidField
        With the place of the contact and its day, or its job.
    """
    for place, contact in enumerate(job.contacts):
        if contact.job is not None and contact.job == job.number:
            cure = "is this very job; give the later one's number"
            raise InvalidField(f"contacts[{place}].job", contact.job, cure)
        if contact.on > today:
            field = f"contacts[{place}].on"
            raise InvalidField(field, str(contact.on), "is still to come; give a day up to today")


def check_odometers(job: Job, base: Job | None = None) -> None:
    """Refuse an odometer that no car comes to.

    Parameters
    ----------
    base : Job, optional
        The job before it was changed; what it has is no matter of the change.

    Raises
    ------
    InvalidField
        With its field and the cure.
    """
    known = {base.odometer_km, *(each.odometer_km for each in base.contacts)} if base else set()
    told = [("odometer_km", job.odometer_km)]
    told += [
        (f"contacts[{place}].odometer_km", each.odometer_km)
        for place, each in enumerate(job.contacts)
    ]
    for field, km in told:
        if km not in known:
            check_km(km, field)


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
                there = len(job.entries)
                where = f"none of the job's {there} entries" if there > 1 else "no entry of the job"
                cure = f"lies in {where}; leave said out"
                raise InvalidField(f"{name}[{place}].said", at, cure)
