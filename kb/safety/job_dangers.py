"""What of a job is dangerous: named where it is typed, asked about, and refused as a name."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from kb.case import Attempt, EntryKind, Job, JobEntry
from kb.errors import Dangerous
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.hidden_fault import heard_on, told_on
from kb.safety.igniter import Danger, dangerous_step, hidden_by, tells_work
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import sentences_of
from kb.safety.igniter_reasons import instead_of
from kb.safety.job_words import JobWords, beside, is_plain, whole_of_reading, whole_of_test
from kb.safety.left_in import is_out_told, left_in, stands_told
from kb.safety.live_work import LiveWork

DONE_HERE = (
    "A dangerous step was in fact done on this car and must not be repeated: make sure that "
    "nothing of it is left on the car. It is no proof and no fix."
)
MAY_BE_IN = (
    "Something was put in an igniter's place on this car, and nothing tells that it came out "
    "again: with it in the lamp is off whatever else was done. Tell it: kb job add {} "
    '"known load taken out again".'
)
_NO_DEED = frozenset({EntryKind.COMPLAINT, EntryKind.READING})


def dangers_of(job: Job, base: Job | None = None, wording: Wording | None = None) -> list[Danger]:
    """Name the dangerous steps among what a job has beyond what it had before.

    A value without a word of how it was taken is no step, and is not named.
    """
    words = JobWords.of_steps(job, wording)
    known = _known_of(base) if base else set()
    new = [text for text in dict.fromkeys(_sentences(job)) if text not in known]
    # whole entries tell of what was left as words only; likeness is asked of what tells a deed
    whole = job.entries[len(base.entries) :] if base else job.entries
    together = [text for text in _told_together(job) if text not in known]
    verified = [text for text in _told_as_verified(job) if text not in known]
    at_igniter = filter(words.bears_on_igniter, new)
    for steps in (
        map(words.step_in, new),
        map(words.step_in, together),
        filter(is_plain, map(words.step_in, verified)),
        (
            words.step_in(each.text, alike=each.kind not in _NO_DEED or tells_work(each.text))
            for each in whole
        ),
        (words.step_in(text, alike=tells_work(text)) for text in at_igniter),
    ):
        if dangers := list(_in_their_sentences(filter(None, steps), whole, words)):
            return _each_by_itself(list(dict.fromkeys(dangers)), whole, words)
    return [*_left_in(job, base), *_live_work(job, base)] if words.igniter_job else []


def _live_work(job: Job, base: Job | None) -> Iterator[Danger]:
    """Yield the plug moved with the supply on, as several fields of a job tell it together."""
    reason = Reason.LIVE
    told = LiveWork.of(job).told(job)
    if told is not None and (base is None or LiveWork.of(base).told(base) is None):
        yield Danger(told, reason, instead_of(reason), " ".join(told.split()), certain=True)


def _left_in(job: Job, base: Job | None) -> Iterator[Danger]:
    """Yield that what stood in for an igniter stayed in, as all that is told of a job tells it."""
    told = _left_told(job)
    if told is not None and (base is None or _left_told(base) is None):
        reason = Reason.DEFEAT
        yield Danger(told, reason, instead_of(reason), " ".join(told.split()), certain=True)


def _left_told(job: Job) -> str | None:
    return left_in(list(told_on(job)), list(heard_on(job)))


def may_be_in(job: Job, *more: str | None) -> bool:
    """Whether a stand-in was put in an igniter's place and nothing tells that it came out again.

    Parameters
    ----------
    job : Job
    more : str or None
        What is told beside what is on the job.
    """
    told = [*told_on(job), *filter(None, more)]
    stands = any(map(stands_told, told)) and JobWords.of_steps(job).igniter_job
    return stands and not is_out_told(told)


def was_done(job: Job, wording: Wording | None = None) -> bool:
    """Whether a job tells a step that is plainly dangerous."""
    return any(each.certain for each in dangers_of(job, wording=wording))


def _each_by_itself(
    found: Sequence[Danger], entries: Iterable[JobEntry], words: JobWords
) -> list[Danger]:
    """Return what is dangerous in each part of a line that tells several things.

    A reason is given once, and its own part is quoted.
    """
    texts = [each.text for each in entries]
    alone = [danger for text in texts for danger in words.steps_in(text)]
    if sum(map(_parts_of, texts)) < _SEVERAL or not alone:
        return list(found)
    of_reason = {each.reason: each for each in reversed(alone)}
    quoted = [of_reason.pop(each.reason, each) for each in found]
    return [*quoted, *(each for each in alone if of_reason.pop(each.reason, None))]


def _parts_of(text: str) -> int:
    return sum(len(sentence.split(";")) for sentence in sentences_of(text))


_SEVERAL = 2


def _in_their_sentences(
    dangers: Iterable[Danger], entries: Sequence[JobEntry], words: JobWords
) -> Iterator[Danger]:
    """Yield dangers as they were typed, but for those that the whole sentence typed is free of.

    A part alone has lost at what it was done: *clock spring on the bench, measured 0.3 ohm*.
    """
    for danger in dangers:
        typed = _as_typed(danger, entries)
        if typed.told == danger.told or words.step_in(typed.told):
            yield typed


def _as_typed(danger: Danger, entries: Iterable[JobEntry]) -> Danger:
    """Return a danger with the sentence typed of which its words are a part, to be quoted whole."""
    words = _words_alone(danger.told)
    typed = (" ".join(each.split()) for entry in entries for each in sentences_of(entry.text))
    told = (each for each in typed if f" {words} " in f" {_words_alone(each)} ")
    return replace(danger, told=next(told, danger.told))


def _words_alone(text: str) -> str:
    """Return the words of a text without the marks between them: a field may have other ones."""
    return " ".join(_WORDS.findall(text.casefold()))


_WORDS = compiled(r"\w+")


def refuse_dangerous(field: str, *texts: str, igniter_job: bool = False) -> None:
    """Refuse a list's entry that tells a dangerous step: a name never has to.

    It is judged as on a job that concerns an igniter where one says it.

    Raises
    ------
    Dangerous
    """
    for text in texts:
        if danger := dangerous_step(text, igniter_job=igniter_job, alike=tells_work(text)):
            raise Dangerous(f"{field}: {danger_line(danger)} It is no name; nothing was stored.")


def refuse_hiding(short: str, *meanings: str) -> None:
    """Refuse a shorthand by which a tool or an igniter would be read as something else.

    Raises
    ------
    Dangerous
    """
    if hidden := hidden_by(short, meanings):
        raise Dangerous(
            f"word: “{hidden}” names an igniter, or a way of putting a meter, lamp or voltage on "
            f"one, and must be read as that; nothing was stored. Give what you mean a word of its "
            "own."
        )


def danger_line(danger: Danger) -> str:
    """Return in two sentences what is dangerous, why, and what to do instead."""
    return f"“{_short(danger.told)}” is dangerous: {danger.reason}. {danger.instead}"


def _short(text: str) -> str:
    return text if len(text) <= _MOST_QUOTED else f"{text[: _MOST_QUOTED - 1]}…"


_MOST_QUOTED = 100
"""So many letters of a dangerous sentence are quoted."""


def _sentences(job: Job) -> Iterator[str]:
    """Everything on a job that tells what was done, each part in one sentence."""
    yield from filter(None, (job.complaint, job.conditions, job.proved_by, job.notes, job.void))
    car = job.vehicle
    yield from filter(None, (job.technician, car.make, car.model, car.engine, car.ref))
    for reading in job.readings:
        yield whole_of_reading(reading) if reading.method or reading.condition else reading.place
        yield reading.typed
    yield from (link.name for link in job.circuit)
    if job.cause is not None:
        yield job.cause.label
        yield from filter(None, (job.cause.position,))
    typed = tuple(each.text for each in job.entries)
    yield from (whole_of_test(test, typed) for test in job.tests)
    yield from (name for test in job.tests for name in (*test.points_to, *test.clears))
    for attempt in job.attempts:
        yield from _attempt(attempt)
    words = [job.cause.words if job.cause else None, *(each.words for each in job.contacts)]
    yield from filter(None, words)


def _attempt(attempt: Attempt) -> Iterable[str]:
    supposed = attempt.supposed.label if attempt.supposed else None
    told = (attempt.label, attempt.words, attempt.verified, supposed, attempt.part_maker)
    return filter(None, told)


def _known_of(base: Job) -> set[str]:
    return {*_sentences(base), *_told_together(base), *_told_as_verified(base)}


def _told_as_verified(job: Job) -> Iterator[str]:
    """Yield how each fix was verified, behind what was done."""
    for each in job.attempts:
        yield from beside(each.label, each.verified)


def _told_together(job: Job) -> Iterator[str]:
    """What is told of each fix behind what was done, as its parts may be harmless alone."""
    for each in job.attempts:
        yield from beside(each.label, each.words, each.part_maker)
