"""Which steps the words of a job tell, and which of them are dangerous.

The one place where it is said what of a job is judged as a step, and beside what: what is named
where it is typed, what is withheld on its pages and what counts as no cure all ask here.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Self

from kb.case import Attempt, DiagnosticTest, EntryKind, Job, JobEntry, Reading, System
from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.hazards import Situation, is_raised
from kb.safety.hidden_fault import hiding_on
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import sentences_of
from kb.safety.igniter_concern import bears_on_igniter
from kb.safety.igniter_reasons import instead_of
from kb.safety.igniter_steps import Danger, dangerous_step, dangerous_steps, live_values, tells_work
from kb.safety.igniter_words import even
from kb.safety.live_work import LiveWork

_NO_DEED = frozenset({EntryKind.COMPLAINT, EntryKind.READING})


@dataclass(frozen=True, slots=True, kw_only=True)
class StepWords:
    """How the words of a job are judged as steps.

    Attributes
    ----------
    number : int or None
        Of the job, where what is not shown can be read.
    igniter_job : bool
        Every sentence of it is judged; else only those that name an igniter.
    wording : Wording or None
        The trade's and the shop's own words, beside which all is judged as typed; None for the
        trade's alone.
    of_drive : bool
        A bare tensioner on it is a drive's.
    live : frozenset of float
        Values that the scan tool read on it.
    """

    number: int | None
    igniter_job: bool
    wording: Wording | None = None
    of_drive: bool = False
    live: frozenset[float] = frozenset()

    @classmethod
    def of_steps(cls, job: Job, wording: Wording | None = None) -> Self:
        """Judge a job as far as it takes to name the steps that its words tell (`step_in`)."""
        wording, situation = wording or trade_wording(), Situation.of_job(job)
        return cls(
            number=job.number,
            igniter_job=is_raised(System.RESTRAINTS, situation, wording),
            wording=wording,
            of_drive=situation.of_drive,
            live=live_values(job.readings, wording),
        )

    def bears_on_igniter(self, text: str) -> bool:
        """Whether words of the job have to be judged at all."""
        return bears_on_igniter(
            text, igniter_job=self.igniter_job, wording=self.wording, of_drive=self.of_drive
        )

    def step_in(self, text: str, *, alike: bool = False) -> Danger | None:
        """Name the dangerous step in words of the job, see `dangerous_step`."""
        return dangerous_step(
            text,
            igniter_job=self.igniter_job,
            wording=self.wording,
            alike=alike,
            of_drive=self.of_drive,
        )

    def every_step_in(self, text: str, *, alike: bool) -> Sequence[Danger]:
        """Name every dangerous step in words of the job, likewise.

        What is only worded like one is none where it tells a value of the scan tool's again.
        """
        return dangerous_steps(
            text,
            igniter_job=self.igniter_job,
            wording=self.wording,
            live=self.live if alike else (),
            alike=alike,
            of_drive=self.of_drive,
        )

    def steps_in(self, text: str) -> list[Danger]:
        """Name what is plainly dangerous in each part of a text, each reason once."""
        parts = [part for sentence in sentences_of(text) for part in sentence.split(";")]
        found: dict[str, Danger] = {}
        for step in map(self.step_in, parts):
            if step and step.certain:
                found.setdefault(step.reason, step)
        return list(found.values())


def steps_named(job: Job, base: Job | None, words: StepWords) -> list[Danger]:
    """Name the dangerous steps that a job tells beyond what it had before, each as it was typed.

    What is told plainly in one way is not named in another; see `steps_withheld` for all.
    """

    def first(text: str, alike: bool) -> Iterable[Danger]:
        return words.every_step_in(text, alike=alike)[:1]

    whole = _new_entries(job, base)
    for steps in _in_every_way(job, base, words, first):
        if dangers := [*_in_their_sentences(steps, whole, words)]:
            return _each_by_itself(list(dict.fromkeys(dangers)), whole, words)
    if not words.igniter_job:
        return []
    hiding, live = hiding_on(job), _live_work(job)
    known = hiding_on(base) if hiding and base is not None else []
    lived = live and base is not None and _live_work(base)
    return [*[each for each in hiding if each not in known][:1], *([] if lived else live)]


def steps_withheld(job: Job, words: StepWords) -> tuple[Danger, ...]:
    """Return every step that is named of a job that concerns an igniter, in whatever way.

    Each stands in the words of its own field and, where they differ, in those of the sentence that
    was typed, so that neither is shown.
    """
    if not words.igniter_job:
        return ()

    def every(text: str, alike: bool) -> Iterable[Danger]:
        return words.every_step_in(text, alike=alike)

    found: dict[Danger, None] = {}
    for danger in chain.from_iterable(_in_every_way(job, None, words, every)):
        for typed in _in_their_sentences([danger], job.entries, words):
            found |= {danger: None, typed: None}
    if found:
        found |= dict.fromkeys(_each_by_itself([], job.entries, words))
    return tuple(found | dict.fromkeys([*hiding_on(job), *_live_work(job)]))


def _live_work(job: Job) -> list[Danger]:
    """Name the plug moved with the supply on, as several fields of a job tell it together."""
    told, reason = LiveWork.of(job).told(job), Reason.LIVE
    if told is None:
        return []
    return [Danger(told, reason, instead_of(reason), " ".join(told.split()), certain=True)]


def _in_every_way(
    job: Job,
    base: Job | None,
    words: StepWords,
    find: Callable[[str, bool], Iterable[Danger]],
) -> Iterator[Iterable[Danger]]:
    """Yield the steps that are told, the plainest way of telling them first."""
    known = _known_of(base) if base else set()
    new = [text for text in dict.fromkeys(_sentences(job)) if text not in known]
    together = (text for text in _told_together(job) if text not in known)
    verified = (text for text in _told_as_verified(job) if text not in known)
    yield chain.from_iterable(find(text, False) for text in new)
    yield chain.from_iterable(find(text, False) for text in together)
    yield filter(is_plain, chain.from_iterable(find(text, False) for text in verified))
    # whole entries tell of what was left as words only; likeness is asked of what tells a deed
    yield chain.from_iterable(
        find(each.text, each.kind not in _NO_DEED or tells_work(each.text))
        for each in _new_entries(job, base)
    )
    at_igniter = filter(words.bears_on_igniter, new)
    yield chain.from_iterable(find(text, tells_work(text)) for text in at_igniter)


def _new_entries(job: Job, base: Job | None) -> Sequence[JobEntry]:
    return job.entries[len(base.entries) :] if base else job.entries


def _each_by_itself(
    found: Sequence[Danger], entries: Iterable[JobEntry], words: StepWords
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
    dangers: Iterable[Danger], entries: Sequence[JobEntry], words: StepWords
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


def whole_of_test(test: DiagnosticTest, typed: Sequence[str]) -> str:
    """Return all that a test tells in one sentence; a number behind a fuse or pin is its name.

    That is how it was typed, if name and outcome are no more than that parted in two: a clause may
    say in its second half how the first was meant.
    """
    said = typed_of_test(test, typed)
    if said is not None and _WORD.findall(even(said)) == _WORD.findall(
        even(f"{test.name} {test.seen}")
    ):
        return said
    numbered = _NUMBERED.search(test.name) and _ITS_NUMBER.match(test.seen)
    return f"{test.name}{' ' if numbered else ': '}{test.seen}"


def typed_of_test(test: DiagnosticTest, typed: Sequence[str]) -> str | None:
    """Return the words that a test was lifted from, as they were typed."""
    if test.said is None or test.said.entry >= len(typed):
        return None
    return typed[test.said.entry][test.said.start : test.said.end]


_WORD = compiled(r"[^\W_]+(?:[.,]\d+)?")
_NUMBERED = compiled(r"(?i)\b(?:fuse|relay|pin|terminal|sicherung|fusible|bezpiecznik)$")
_ITS_NUMBER = compiled(r"[0-9]{1,3}\b(?!\s*(?:[mk]?[vVaAwW]\b|ohm|Ω)|[.,][0-9])")


def whole_of_reading(reading: Reading) -> str:
    """Return all that a reading tells in one sentence."""
    how = (reading.place, reading.typed, reading.method, reading.condition)
    return " ".join(filter(None, how))


def step_told(text: str, *, igniter_job: bool) -> Danger | None:
    """Name the dangerous step in how a fix was verified, or in who made its part.

    Where it tells a deed, it may only be worded like dangerous ones.
    """
    step = dangerous_step(text, igniter_job=igniter_job)
    if step is not None or not bears_on_igniter(text, igniter_job=igniter_job):
        return step
    return dangerous_step(text, igniter_job=igniter_job, alike=tells_work(text))


def is_plain(danger: Danger | None) -> bool:
    """Whether a fix and how it was verified tell together what is dangerous at an igniter.

    At another hazard, or of words that are on no list, only what was typed together tells a step:
    *replaced condenser* and *5 °C at the vent* let nothing out.
    """
    return danger is not None and danger.certain and isinstance(danger.reason, Reason)


def beside(label: str, *told: str | None) -> Iterator[str]:
    """Yield what else is told of a fix, each behind what was done."""
    yield from (f"{label}, {text}" for text in told if text)
