"""What is doubtful in what was heard of a fix after the handover."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from kb.case import Attempt, Contact, Heard, Job, Outcome, even, is_too_soon
from kb.errors import InvalidField
from kb.intake.days_apart import sounds_back, sounds_held
from kb.intake.distances import driven_since
from kb.intake.items import trade_wording
from kb.intake.other_faults import (
    is_complaint_again,
    may_be_complaint_again,
    names_in,
    of_this_fault,
)
from kb.intake.outcome_words import DENIALS, WordRole
from kb.intake.outcome_words import clauses as outcome_clauses
from kb.intake.outcomes import judge_contact
from kb.intake.subjects import subjects_of
from kb.patterns import compiled
from kb.rates.returns import denied_again, unjudged
from kb.rates.trials import MOST_KM_PER_DAY
from kb.safety.job_words import FIT
from kb.services.doubts import another_place, too_far
from kb.services.drafts import number_of
from kb.store.unit_of_work import UnitOfWork

_PIECES = compiled(r"(?:(?!\b(?:and|but|then|und|aber|dann|mais|puis|ale|potem)\b)[^,;.\n])+")
_WET = compiled(
    r"\b(?:puddles?|wet|damp|moist|drips?|dripping|drops?|stains?|spots?|weep\w*|seep\w*|sweat\w*|low"
    r"|pfütze\w*|nass|feucht|tropf\w*|fleck\w*|flaques?|mouillée?s?|humides?|gouttes?|kałuż\w*|mokr\w*"
    r"|wilgo\w*|plam\w*|krop\w+)(?!\w)",
    re.IGNORECASE,
)
_LEAKS = compiled(
    r"leak|los(?:es|ing|s)\b|drip|weep|seep|puddle|verlier|verlust|undicht|leck|tropf|fuit|perd|wyciek"
    r"|ciek|kapie|ubyw",
    re.IGNORECASE,
)


def contact_doubts(contact: Contact, job: Job, place: int | None = None) -> list[str]:
    """Say why a contact would not count, or not be what it seems, and how to mend it.

    The `place` is its own among the job's contacts; without one it is not among them yet.
    """
    at = len(job.contacts) if place is None else place
    mend = f"correct it with kb job edit {job.number} --set contacts[{at}]"
    less = less_far_than_job(contact, job)
    far = [f"{less}: not taken; if it is right, {mend}.odometer_km=KM"] if less else []
    if job.closed is None:
        return [
            *far,
            "The job is open yet: close it, so that the contact counts; its handover was by then: "
            f"kb job close {job.number} --closed DAY",
        ]
    doubts = [*another_place(contact)]
    if is_too_soon(contact, job.closed):
        doubts.append(
            f"{contact.on} is the day of the handover, too soon to tell that a fix held: the car "
            f"still counts as not heard of; where the day is another, {mend}.on=DAY"
        )
    judged = (f"Job {contact.job} {said}" for said in judged_otherwise(contact, job))
    gone = (*too_far(contact, job), *_run_back(contact, job), *distance_untold(contact, job))
    return [*doubts, *far, *gone, *judged, *_out_of_turn(contact, job)]


def _run_back(contact: Contact, job: Job) -> Iterator[str]:
    """Ask about an odometer that ran back between two contacts."""
    for place, each in enumerate(job.contacts):
        if contact.odometer_km is None or each.odometer_km is None or each is contact:
            continue
        (early, km), (late, later) = sorted(
            [(each.on, each.odometer_km), (contact.on, contact.odometer_km)]
        )
        if early < late and later < km:
            yield (
                f"{km:,} km on {early}, and {later:,} km on {late}: an odometer does not run back. "
                f"Look at day and distance again; that of contacts[{place}] with kb job edit "
                f"{job.number} --set contacts[{place}].odometer_km=KM"
            )


def odd_distances(job: Job) -> Iterator[str]:
    """Say of each odometer heard of a car that it cannot be, with its field and value.

    It is less than the job's own, or runs back from one contact to the next; kilometres are then
    not counted by it.
    """
    seen = job.odometer_km
    told = sorted(
        (each.on, place, each.odometer_km)
        for place, each in enumerate(job.contacts)
        if each.odometer_km is not None
    )
    for _, place, km in told:
        field = f"contacts[{place}].odometer_km {km:,}"
        if less := less_far_than_job(job.contacts[place], job):
            yield f"{field}: {less}"
        elif seen is not None and km < seen:
            yield f"{field}: an odometer does not run back, and {seen:,} km were told before"
        seen = max(km, seen or km)


def at_odds(job: Job) -> bool:
    """Whether of the contacts of a job two cannot both be so."""
    return any(
        True
        for each in job.contacts
        for _ in (*judged_otherwise(each, job), *_out_of_turn(each, job))
    )


def with_distance_told(contact: Contact, job: Job) -> Contact:
    """Return a contact with what the odometer showed, where words tell how far it had gone since.

    "Came back after 9,000 km" is that much more than the odometer of the job.
    """
    tells = contact.outcome in (Outcome.HELD, Outcome.COMEBACK)
    if contact.odometer_km is not None or job.odometer_km is None or not tells:
        return contact
    gone = driven_since(contact.words or "")
    return replace(contact, odometer_km=job.odometer_km + gone.km) if gone else contact


def distance_untold(contact: Contact, job: Job) -> Iterator[str]:
    """Say why a distance that words tell is kept as words only."""
    gone = driven_since(contact.words or "")
    if gone is None or contact.odometer_km is not None:
        return
    if contact.outcome is Outcome.NOT_TOLD:
        yield (
            f"Held for {gone.km:,} km so far, or only for so long? If it still holds: kb job "
            f"follow-up {job.number} held --km KM; if it came back then: kb job follow-up "
            f"{job.number} came back after {gone.km} km"
        )
    elif job.odometer_km is None:
        yield (
            f"{gone.km:,} km after the repair are kept as words only, as job {job.number} has no "
            f"odometer: kb job edit {job.number} --set odometer_km=KM, and tell it again"
        )


def not_before(contact: Contact, job: Job, visits: Iterable[Job], today: date) -> date | None:
    """Return the first day on which a comeback of no told day can have been.

    It was back after it was known to hold, after the car was seen with fewer kilometres, and not
    before it can have driven so far.
    """
    held = [each.on for each in job.contacts if each.outcome is Outcome.HELD and each != contact]
    days = [day + timedelta(days=1) for day in held]
    km, begun = contact.odometer_km, job.odometer_km
    if km is not None:
        seen = [(each.on, each.odometer_km) for each in job.contacts if each != contact]
        seen += [(each.opened, each.odometer_km) for each in visits]
        days += [day for day, shown in seen if shown is not None and shown < km]
        if begun is not None:
            days.append(
                job.opened + timedelta(days=max(0, -(-(km - begun) // MOST_KM_PER_DAY) - 1))
            )
    return min(max(days), today) if days else None


def as_told_of_job(contact: Contact, job: Job) -> tuple[Contact, list[str]]:
    """Return a contact as far as its words tell of the fault of the job, and what is asked.

    What speaks of another part alone tells nothing of this fix; nor is "held, but a bit of coolant
    on the floor" a good word of a leak of coolant.
    """
    if contact.job or not contact.words:
        return contact, []
    if contact.outcome is Outcome.NOT_TOLD and is_complaint_again(contact.words, job.complaint):
        return replace(contact, outcome=Outcome.COMEBACK), []
    if contact.outcome not in (Outcome.HELD, Outcome.COMEBACK):
        return contact, []
    outcome, other = of_this_fault(contact.words, _told_of_fault(job), trade_wording())
    judged = judge_contact(contact.words) is contact.outcome
    if other is not None and judged and outcome is not contact.outcome:
        return replace(contact, outcome=outcome), [_asks_of_other(other, outcome, job)]
    pieces = [each[0].strip() for each in _PIECES.finditer(contact.words)]
    if contact.outcome is Outcome.COMEBACK:
        asks = [_asks_of_other(lamp, Outcome.NOT_TOLD, job) for lamp in _new_lamps(pieces, job)[:1]]
    else:
        asks = [_asks_of_fault(told, job) for told in _perhaps_again(contact.words, pieces, job)]
    return (replace(contact, outcome=Outcome.NOT_TOLD) if asks else contact), asks


def _perhaps_again(words: str, pieces: Sequence[str], job: Job) -> list[str]:
    """Return at most one thing told that may be the fault again."""
    again = [words] if may_be_complaint_again(words, job.complaint) else []
    return [*(each for each in pieces if _may_be_fault(each, job)), *again][:1]


def _asks_of_fault(told: str, job: Job) -> str:
    return (
        f"“{FIT.named(told)}” may be the fault of job {job.number} again: kept as not told. If it "
        f"is not: kb job follow-up {job.number} held; if it is: kb job follow-up {job.number} "
        "comeback --on DAY"
    )


def _new_lamps(pieces: Sequence[str], job: Job) -> list[str]:
    """Return what tells of lamps, where none was complained of and that is all the trouble."""
    if _tells_of_lamp(job.complaint) or job.codes:
        return []
    bad = [each for each in pieces if judge_contact(each) is Outcome.COMEBACK]
    again = any(each.has(*_SO_AGAIN) for piece in pieces for each in outcome_clauses(piece))
    return bad if all(map(_tells_of_lamp, bad)) and not again else []


_SO_AGAIN = (WordRole.AGAIN, WordRole.STILL, WordRole.BACK, WordRole.RETURNED)


def _tells_of_lamp(words: str) -> bool:
    return any(each.has(WordRole.LAMP) for each in outcome_clauses(words))


def _told_of_fault(job: Job) -> list[str]:
    """Return what a job was about: what was complained of and found, and what was done."""
    fixes = [each.label for each in job.attempts]
    return [job.complaint, *([job.cause.label] if job.cause else []), *fixes]


def _asks_of_other(other: str, outcome: Outcome, job: Job) -> str:
    return (
        f"“{FIT.named(other)}” is of another part than job {job.number}: kept as {outcome}. If the "
        f"job's own fault is back: kb job follow-up {job.number} comeback --on DAY; if not: kb job "
        f"follow-up {job.number} held"
    )


def _may_be_fault(said: str, job: Job) -> bool:
    """Whether words that tell nothing good name what was wrong with a car."""
    clauses = outcome_clauses(said)
    if judge_contact(said) is not Outcome.NOT_TOLD or any(each.has(*DENIALS) for each in clauses):
        return False
    fault = f"{job.complaint} {job.cause.label if job.cause else ''}"
    wording = trade_wording()
    about = subjects_of(said, wording) & subjects_of(fault, wording)
    leaks = _WET.search(said) is not None and _LEAKS.search(fault) is not None
    return bool(about) or leaks or not names_in(said).isdisjoint(names_in(fault))


def both_told(said: str, heard: Sequence[Contact], job: Job) -> list[str]:
    """Say that words tell both that a fix held and that it came back, and what is kept of them.

    The `heard` is what was read of them; told of two days, and of each by itself, both are kept.
    """
    if job.closed is None or any(each.outcome is Outcome.HELD for each in heard):
        return []
    pieces = [each[0] for each in _PIECES.finditer(said)]
    if not (any(map(sounds_held, pieces)) and any(map(sounds_back, pieces))):
        return []
    back = [each for each in heard if each.outcome is Outcome.COMEBACK]
    kept = f"the comeback of {back[0].on} is kept" if back else "neither is kept"
    return [
        f"This tells that it held and that it came back: {kept}, and no held; tell what was heard "
        f"on each day in a line of its own: kb job follow-up {job.number} held --on DAY"
    ]


def doubts_of_edit(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Say of contacts that an edit changed what is said of those that are told anew."""
    changed = [each for each in job.contacts if each not in base.contacts]
    for place, contact in enumerate(job.contacts):
        if contact in changed:
            yield from contact_doubts(contact, job, place)
            yield from _day_kept(contact, job, base, place)
    yield from left_to_judge(work, changed, job)
    yield from denied_causes(work, job, base)


def _day_kept(contact: Contact, job: Job, base: Job, place: int) -> Iterator[str]:
    """Say on which day a contact counts that an edit makes a comeback, or one no more."""
    before = base.contacts[place] if place < len(base.contacts) else None
    if before and before.on == contact.on and before.outcome is not contact.outcome:
        yield (
            f"{contact.outcome} counts for {contact.on}, the day of the {before.outcome} that "
            f"stood there; where it was another day, kb job edit {job.number} --set "
            f"contacts[{place}].on=DAY"
        )


def taken_along(job: Job, base: Job) -> Iterator[str]:
    """Say what was heard of a fix that is made another one or taken out, and for what it counts."""
    told = [each for each in job.contacts if each.outcome is not Outcome.NOT_TOLD]
    if not (base.attempts and told) or len(job.attempts) > len(base.attempts):
        return
    was, now = base.attempts[-1], job.attempts[-1] if job.attempts else None
    if now and (was.action, was.component) == (now.action, now.component):
        return
    heard = ", ".join(f"{each.outcome} {each.on}" for each in told)
    gone = len(job.attempts) < len(base.attempts)
    becomes = "is taken out" if gone or now is None else f"becomes {FIT.named(now.label)}"
    counts = f"for {FIT.named(now.label)}" if now else "for no fix"
    yield f"{FIT.named(was.label)} {becomes}: what was heard of it now counts {counts}: {heard}"


def less_far_than_job(contact: Contact, job: Job) -> str | None:
    """Say that a car is told to have gone less far than it had when it was in the workshop."""
    now, before = contact.odometer_km, job.odometer_km
    if now is None or before is None or now >= before:
        return None
    return f"{now:,} km is less than the {before:,} km of the job"


def with_likely_distance(contact: Contact, job: Job) -> Contact:
    """Return a contact without a distance that can hardly be, which its words keep."""
    return replace(contact, odometer_km=None) if less_far_than_job(contact, job) else contact


def without_repeats(job: Job, base: Job) -> tuple[Job, list[str]]:
    """Leave out what was heard and told before, of the same day and in the same words; say so."""
    kept, said = list(base.contacts), []
    if job.contacts[: len(kept)] != base.contacts:
        return job, []
    for new in job.contacts[len(kept) :]:
        known = next((place for place, each in enumerate(kept) if same_answer(each, new)), None)
        if known is None:
            kept.append(new)
            continue
        said.append(
            f"“{new.outcome}” of {new.on} is told already (contacts[{known}] of job {job.number}) "
            "and not stored twice; where it was heard anew, say on which day, or in which words"
        )
    return replace(job, contacts=tuple(kept)), said


def refuse_mere_repeats(job: Job, base: Job, said: Sequence[str]) -> None:
    """Refuse what tells nothing but what was told before.

    Raises
    ------
    InvalidField
        With what is known already.
    """
    if said and replace(job, entries=base.entries) == base:
        raise InvalidField("job", job.number, f"is told nothing new: {said[0]}")


def same_answer(one: Contact, other: Contact) -> bool:
    """Whether two tell the same of one day; who told it, and with what odometer, is no matter."""
    told, again = (
        (each.on, each.outcome, each.job, even(each.words or "")) for each in (one, other)
    )
    return told == again


def judged_otherwise(contact: Contact, job: Job) -> Iterator[str]:
    """Say that the same later visit was judged before, and not alike."""
    for place, each in enumerate(job.contacts):
        if contact.job is None or each.job != contact.job or each is contact:
            continue
        told = Outcome.NOT_TOLD not in {each.outcome, contact.outcome}
        if told and (each.outcome is Outcome.COMEBACK) != (contact.outcome is Outcome.COMEBACK):
            field = f"contacts[{place}]"
            yield (
                f"was judged before: {each.on} {each.outcome}; correct that: kb job edit "
                f'{job.number} --set "{field}.outcome={contact.outcome}", or take it out: '
                f'"{field}="'
            )


def _out_of_turn(contact: Contact, job: Job) -> Iterator[str]:
    """Say that a fix is told to have held once it had come back.

    Of one day both may be so, told in that order: a comeback whose day nobody told is kept as that
    of the last hold.
    """
    pair = {Outcome.HELD, Outcome.COMEBACK}
    for place, each in enumerate(job.contacts):
        if {each.outcome, contact.outcome} != pair:
            continue
        back, held = (each, contact) if each.outcome is Outcome.COMEBACK else (contact, each)
        told_after = held is contact and contact not in job.contacts
        if held.on > back.on or (held.on == back.on and told_after):
            yield (
                f"Held of {held.on} and comeback of {back.on} cannot both be so: the comeback "
                f"counts, and held does not. If contacts[{place}] is wrong: kb job edit "
                f'{job.number} --set "contacts[{place}]="'
            )


def left_to_judge(work: UnitOfWork, contacts: Iterable[Contact], job: Job) -> Iterator[str]:
    """Say which returns for something alike stay open though the fix is now told to have held.

    The `contacts` are those of the job that are told anew.
    """
    good = [each for each in contacts if each.outcome is Outcome.HELD]
    told = [Heard(each.on, each.outcome, each.odometer_km, each.job) for each in job.contacts]
    for repair in work.repairs.of_jobs([number_of(job)]) if good else ():
        after = repair._replace(contacts=told)
        for visit in unjudged(after):
            if any(visit.opened <= each.on for each in good):
                which = "The comeback told of job" if visit.told_of == visit.number else "Job"
                yield (
                    f"{which} {visit.number} of {visit.opened}, “{FIT.named(visit.complaint)}”, "
                    "was for something alike and is not judged by this: kb job follow-up "
                    f"{job.number} another fault --job {visit.number}, or same fault"
                )


def first_after_comeback(attempts: Iterable[Attempt], base: Job) -> Iterator[str]:
    """Say that the first fix of a job is taken for what was on the car when it came back."""
    back = [each.on for each in base.contacts if each.outcome is Outcome.COMEBACK]
    new = next(iter(attempts), None)
    if back and new is not None and not base.attempts:
        yield (
            f"The car was back on {min(back)}, and no fix was recorded: “{FIT.named(new.label)}” "
            "counts as done before that. What was done afterwards is a job of its own: kb job "
            f"open, then kb job follow-up {base.number} same fault --job NUMBER"
        )


def denied_causes(work: UnitOfWork, job: Job, base: Job) -> Iterator[str]:
    """Ask about new answers by which a later visit was for another fault than it proved."""
    named = {each.job for each in job.contacts if each not in base.contacts} - {None}
    for repair in work.repairs.of_jobs([number_of(base)]) if named else ():
        told = [Heard(each.on, each.outcome, each.odometer_km, each.job) for each in job.contacts]
        for visit in denied_again(repair._replace(contacts=told)):
            if visit.number in named:
                yield (
                    f"Job {visit.number} proved the same cause as this job. If it was the same "
                    f"fault, answer: kb job follow-up {base.number} same fault --job {visit.number}"
                )
