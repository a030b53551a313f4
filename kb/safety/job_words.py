"""What a shop wrote on a job, fit to be shown; and which of its fixes may be proposed.

The one place where it is decided whether a job concerns an igniter: pages, prompts, locks and
exports for people ask here.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import Enum
from functools import lru_cache
from itertools import chain
from typing import Any, Self, TypeVar

from kb.bounds import LONGEST_KEY
from kb.case import (
    Action,
    Attempt,
    Cause,
    Complaint,
    Contact,
    DiagnosticTest,
    EntryKind,
    Job,
    JobEntry,
    Quantity,
    Reading,
    SaidAt,
    System,
    ToldIn,
    Vehicle,
    outcome_told,
)
from kb.intake.items import trade_wording
from kb.intake.lifting import Place, blanked
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.hazards import Situation, is_raised
from kb.safety.hidden_fault import NO_PROOF, NOT_COUNTED, heard_on, hides_fault, since_on, told_on
from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import clauses_of, sentences_of
from kb.safety.igniter_concern import about_circuit, about_igniter
from kb.safety.igniter_deeds import Doing, deeds_of
from kb.safety.igniter_lines import withheld_line
from kb.safety.igniter_reasons import NOT_PLAIN
from kb.safety.igniter_screen import is_marked, line_for, proof_left, screen
from kb.safety.igniter_steps import Danger, dangerous_sentences, dangerous_step
from kb.safety.igniter_words import even
from kb.safety.job_steps import (
    StepWords,
    beside,
    is_plain,
    step_told,
    steps_withheld,
    typed_of_test,
    whole_of_reading,
    whole_of_test,
)
from kb.safety.live_work import NO_LIVE_WORK, LiveWork
from kb.safety.marks import OF_STEP
from kb.safety.never import forbidden_step
from kb.safety.other_scripts import is_unreadable
from kb.safety.stand_ins import is_known_load, is_no_part, stands_in
from kb.safety.told_fix import dangerously_told

P = TypeVar("P")


def is_igniter_job(job: Job, wording: Wording) -> bool:
    """Whether anything on record of a job says that it concerns an igniter."""
    return is_raised(System.RESTRAINTS, Situation.of_job(job), wording)


NO_FIX = "no proof and no fix"
"""Stands beside a fix that is not shown, where another says whether it cured."""
_SUCCESS_BEHIND = compiled(
    r"(\[not shown[^\]]*\])(?:[\s,;:–-]|and\b|then\b|all\b|now\b|is\b|was\b)*"
    r"(?:cured|fixed|gone|sorted|solved|lamp (?:off|out)|light (?:off|out))(?=\s*(?:[.,;!]|$))",
    re.IGNORECASE,
)
"""What nobody is told to have worked: it would be done again."""
_LIKEWISE = (
    r"same|ditto|dito|too|also|likewise|genauso|ebenso|auch|gleich\w*|dasselbe|likadant|samma|också"
    r"|uguale|lo stesso|stessa cosa|idem|anche|pareil|aussi|même chose|tak samo|to samo|też"
    r"|igual|lo mismo|también|hetzelfde|ook"
)
_SIDE = (
    r"(?:left|right|rechts|links|höger|vänster|(?:a )?(?:destra|sinistra)|[àa] (?:droite|gauche)"
    r"|(?:z )?(?:prawej|lewej)|derecha|izquierda)(?: (?:side|one|hand|sida\w*|seite))?"
)
_OTHER_SIDE = (
    r"(?:the |on the )?(?:other|opposite) (?:side|one)|(?:auf (?:der )?)?(?:die )?ander\w+ seite"
    r"|(?:på )?andra sidan|(?:(?:dal|d)?l.)?altro lato|(?:de )?l.autre c[ôo]t[ée]|drug\w+ stron\w+"
    r"|(?:z |po )drugiej stron\w+|(?:al )?otro lado|andere kant"
)
_LEANING = compiled(
    r"(\[not shown[^\]]*\])(?:[\s.,;:–-]+(?:(?:all )?(?:done|okay|ok|fine|good|worked|easy|fertig"
    r"|erledigt|passt|gut|fait|fatto|fatta|zrobione|gotowe|klart?|hecho|listo|gedaan|klaar)[.,;!]\s*)?"
    r"(?:and |but |or |und |et |i |och |e |poi |dann |puis |then )?"
    rf"(?:then|again|as (?:above|before)|both|{_LIKEWISE}|{_OTHER_SIDE}"
    rf"|{_SIDE},? (?:the )?(?:{_LIKEWISE})|th(?:at|is|ese|ose)|it|they|them|so"
    r"|repeated|otra vez|igen|dann|danach|puis|poi|potem)\b"
    r"(?:[^.,;:!?\[]|(?<=\d)[.,:](?=\d))*[.!?]?)+",
    re.IGNORECASE,
)
"""What stands behind a line and says no more than that the same was done, or what came of it."""
_LINE_AGAIN = compiled(r"(\[not shown[^\]]*\])(?:\s*\1)+")
_HIDDEN = compiled(r"\[(?:not shown|must never be done|not counted as a cure)")


def is_hidden(attempt: Attempt) -> bool:
    """Whether a fix, as it is shown, has a line in the place of what may not be."""
    told = (attempt.component, attempt.words, attempt.verified, attempt.part_maker)
    return any(map(_is_line, told))


def _is_line(text: str | None) -> bool:
    """Whether a line stands in the place of words, or behind them."""
    return text is not None and _HIDDEN.search(text) is not None


_OURS = frozenset(["cautions", "notices", "title", "how"])
"""Fields of an answer that hold words of the program, never the shop's."""


def fit_to_read(result: Any, words: "JobWords | None" = None) -> Any:
    """Return a result of any kind with each job in it, and what is told of it, fit to be shown."""
    words = words or FIT
    if isinstance(result, Job):
        return JobWords.of(result).shown_job(result)
    if isinstance(result, str):
        plain = isinstance(result, Enum) or words.named(result) == result
        return result if plain else words.line(result)
    if isinstance(result, dict):
        return {key: fit_to_read(each, words) for key, each in result.items()}
    if isinstance(result, list | tuple):
        return type(result)(fit_to_read(each, words) for each in result)
    if not is_dataclass(result) or isinstance(result, type):
        return result
    words = _words_for(result) or words
    told = {field.name: getattr(result, field.name) for field in fields(result) if field.init}
    fit = {name: each if name in _OURS else fit_to_read(each, words) for name, each in told.items()}
    changed = {name: each for name, each in fit.items() if each != told[name]}
    return replace(result, **changed) if changed else result


def _words_for(result: object) -> "JobWords | None":
    """Return how the words of an answer about one job are shown."""
    job, igniter_job = getattr(result, "job", None), getattr(result, "igniter_job", None)
    if isinstance(job, Job):
        words = JobWords.of(job)
        return replace(words, igniter_job=True) if igniter_job else words
    if igniter_job is None:
        return None
    of_drive = getattr(result, "of_drive", False)
    return JobWords(number=job, igniter_job=igniter_job, of_drive=of_drive)


@dataclass(frozen=True, slots=True)
class _Forbidden:
    """A sentence of a job's entry of which no half is advice, and where it stands.

    `is_never` says that it tells what must never be done at a hazard other than an igniter.
    """

    entry: int
    start: int
    end: int
    sentence: str
    is_never: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class JobWords(StepWords):
    """How a job's own words are shown: of what is named as dangerous on it, none.

    Attributes
    ----------
    forbidden : tuple of _Forbidden
        Sentences of it, where something was lifted from one, of which no half is advice.
    cause : str
        What its cause is called, where that may be shown: its fixes are judged beside it.
    typed : tuple of str
        Its entries as typed, which a test may be a part of.
    done : tuple of str
        What its words tell as done, by which its fault may be hidden.
    heard, since : tuple of str
        What others tell on it, and what was heard of its car since.
    live_work : LiveWork
        Which of its words tell a plug that was moved while the supply was on.
    dangers : tuple of Danger
        What is named on it, whose words stand nowhere on its pages.
    """

    cause: str = ""
    forbidden: tuple[_Forbidden, ...] = ()
    typed: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    heard: tuple[str, ...] = ()
    live_work: LiveWork = NO_LIVE_WORK
    since: tuple[str, ...] = ()
    dangers: tuple[Danger, ...] = ()

    @classmethod
    def of(cls, job: Job, wording: Wording | None = None) -> Self:
        """Judge a job; by default with the trade's words alone."""
        wording = wording or trade_wording()
        words = cls.of_steps(job, wording)
        named = sorted(steps_withheld(job, words), key=lambda each: len(each.told), reverse=True)
        words = replace(words, dangers=tuple(named))
        cause = ", ".join(filter(None, job.cause.key[:2])) if job.cause else ""
        return replace(
            words,
            cause=cause if words.named(cause) == cause else "",
            forbidden=tuple(_forbidden_in(job, wording, igniter_job=words.igniter_job)),
            typed=tuple(each.text for each in job.entries),
            done=tuple(told_on(job)),
            heard=tuple(heard_on(job)),
            since=tuple(since_on(job)),
            live_work=LiveWork.of(job) if words.igniter_job else NO_LIVE_WORK,
        )

    @classmethod
    def of_complaint(cls, asked: Complaint) -> Self:
        """Judge what is asked with; it may be of a job."""
        asked_of = Situation.of_complaint(asked)
        raised = is_raised(System.RESTRAINTS, asked_of, trade_wording())
        return cls(number=None, igniter_job=raised)

    def shown(self, text: str) -> str:
        """Return words of the job, or the line that stands in their place, without its success.

        On an igniter's job a sentence that nobody here can read is not plainly allowed.
        """
        shown = screen(
            text,
            restraint=self.igniter_job,
            job=self.number,
            wording=self.wording,
            live=self.live,
            of_drive=self.of_drive,
        )
        if self.igniter_job and is_unreadable(shown):
            shown = "".join(map(self._readable, sentences_of(shown))).rstrip()
        if self.live_work.stayed:
            shown = "".join(map(self._without_live_work, sentences_of(shown))).rstrip()
        shown = self._without_dangers(shown)
        if shown == text:
            return text
        return _SUCCESS_BEHIND.sub(r"\1", _LEANING.sub(r"\1", shown))

    def _readable(self, sentence: str) -> str:
        """Return a sentence, or the line in the place of one that cannot be read."""
        if not is_unreadable(sentence):
            return sentence
        return f"{withheld_line(self.number, Reason.STRANGE)} "

    def _without_live_work(self, sentence: str) -> str:
        """Return a sentence, or the line in the place of one that tells a plug moved."""
        if not self.live_work.is_live(sentence):
            return sentence
        return f"{withheld_line(self.number, Reason.LIVE)} "

    def named(self, text: str) -> str:
        """Return a name, a condition or a customer's words: they tell values, but no step.

        Where a sentence of them begins with work, it tells what was done, and is judged as that.
        """
        shown = text
        if self.step_in(text) is not None:
            shown = self.shown(text)
            shown = self.line(text) if shown == text else shown
        done = [each.strip() for each in sentences_of(text) if self._tells_danger_done(each)]
        for sentence in done:
            shown = shown.replace(sentence, self.line(sentence))
        without = self._without_dangers(shown)
        shown = _LEANING.sub(r"\1", without) if done or without != shown else shown
        # a name that is a line for each of its sentences is longer than a name may be
        return shown if len(shown) <= max(len(text), LONGEST_KEY) else self.line(text)

    def _tells_danger_done(self, sentence: str) -> bool:
        """Whether a sentence begins with work at an igniter that is worded like a dangerous one."""
        if not self.igniter_job or not _begins_with_work(sentence, self.wording):
            return False
        return self.step_in(sentence, alike=True) is not None

    def _without_dangers(self, text: str) -> str:
        """Return words of the job with a line in the place of each that is named as dangerous."""
        for danger in self._dangers_in(text):
            line = self._line_of(danger)
            text = _outside_lines(text, _as_it_stands(danger.told), line)
        return _LINE_AGAIN.sub(r"\1", text) if self.dangers else text

    def _dangers_in(self, text: str) -> Iterator[Danger]:
        """Yield what is named on the job and told in a text, the longest words first."""
        whole = " ".join(text.split()) if self.dangers else ""
        told = (each for each in self.dangers if each.told and each.told in whole)
        return (each for each in told if _as_it_stands(each.told).search(whole))

    def _line_of(self, danger: Danger) -> str:
        if isinstance(danger.reason, Reason):
            return withheld_line(self.number, danger.reason)
        return line_for(
            danger.told, igniter_job=True, job=self.number, wording=self.wording, live=self.live
        )

    def line(self, text: str, words: str | None = None) -> str:
        """Return the line that stands in the place of words that are not shown; see `line_for`."""
        if self.igniter_job and is_unreadable(text) and not self._is_withheld(text):
            return withheld_line(self.number, Reason.STRANGE)
        if self.live_work.is_live(text) and not self._is_withheld(text):
            return withheld_line(self.number, Reason.LIVE)
        danger = next(self._dangers_in(text), None)
        if danger and not self._is_withheld(text):
            return self._line_of(danger)
        return line_for(
            text,
            igniter_job=self.igniter_job,
            job=self.number,
            wording=self.wording,
            live=self.live,
            of_drive=self.of_drive,
            words=words,
        )

    def _is_withheld(self, text: str) -> bool:
        verdict = judged(text, igniter_job=True, wording=self.wording, live=self.live)
        return isinstance(verdict, Withheld)

    def shown_cause(self, cause: Cause) -> Cause:
        """Return a cause with its names and words fit to be shown."""
        named = replace(
            cause,
            component=self.named(cause.component),
            location=cause.location and self.named(cause.location),
            position=cause.position and self.named(cause.position),
            words=self._shown(cause.words),
        )
        return (
            named
            if self.named(cause.label) == cause.label
            else replace(named, component=self.line(cause.label), location=None)
        )

    def shown_job(self, job: Job) -> Job:
        """Return the job with all its words fit to be shown."""
        return replace(
            job,
            complaint=self.named(job.complaint),
            conditions=job.conditions and self.named(job.conditions),
            technician=job.technician and self.named(job.technician),
            vehicle=self.shown_vehicle(job.vehicle),
            readings=self._readings(job),
            tests=tuple(self._test(test) for test in job.tests),
            circuit=tuple(replace(each, name=self.named(each.name)) for each in job.circuit),
            cause=job.cause and self.shown_cause(job.cause),
            proved_by=self._proof(job.proved_by),
            attempts=tuple(map(self._attempt, job.attempts)),
            contacts=tuple(map(self._contact, job.contacts)),
            notes=self._shown(job.notes),
            confirmations=tuple(
                replace(each, step=self.named(each.step), by=self.named(each.by))
                for each in job.confirmations
            ),
            entries=tuple(
                each
                if self._only_tells_contact(each, job.contacts)
                else self._entry(each, _lifted_of(job, place))
                for place, each in enumerate(job.entries)
            ),
            void=self._shown(job.void),
        )

    def _proof(self, proof: str | None) -> str | None:
        shown = self._shown(proof)
        return f"{shown} {NO_PROOF}" if shown and self.hides_fault else shown

    def _readings(self, job: Job) -> tuple[Reading, ...]:
        """Return a job's readings fit to be shown: none that a dangerous step told of gave."""
        said = (job.complaint, job.conditions, job.proved_by, job.notes)
        return self._told_in(job.readings, [*(each.text for each in job.entries), *said])

    def _told_in(
        self, readings: Sequence[Reading], told: Iterable[str | None]
    ) -> tuple[Reading, ...]:
        of_igniter = [self._may_be_of_step(each) for each in readings]
        texts = filter(None, told if any(of_igniter) else ())
        steps = [each for text in texts for each in dangerous_sentences(text)]
        return tuple(
            self._masked(each)
            if at_igniter and any(each.typed in step for step in steps)
            else self.shown_reading(each)
            for each, at_igniter in zip(readings, of_igniter, strict=True)
        )

    def _may_be_of_step(self, reading: Reading) -> bool:
        """Whether a dangerous step that tells a reading's value took it: its item is no other part.

        *Plug 2.3 ohm* is an igniter's on its job, *buckle switch 100 ohm* is not.
        """
        if about_circuit(reading.place):
            return True
        told = f"{reading.place} {reading.typed}"
        return self.igniter_job and isinstance(judged(told, igniter_job=True), Withheld)

    def sound_readings(self, job: Job) -> tuple[Reading, ...]:
        """Return the readings of a job that may be learnt from, as they were typed."""
        shown = zip(job.readings, self._readings(job), strict=True)
        return tuple(each for each, fit in shown if each.item == fit.item)

    def shown_complaint(self, asked: Complaint) -> Complaint:
        """Return what is asked with, fit to be shown."""
        return replace(
            asked,
            text=self.named(asked.text),
            readings=self._told_in(asked.readings, [asked.text]),
            vehicle=self.shown_vehicle(asked.vehicle),
            conditions=asked.conditions and self.named(asked.conditions),
        )

    def shown_part(self, part: P) -> P:
        """Return a part of the job, or words of it, fit to be shown; a code has no words."""
        fit: dict[type, Callable[[Any], Any]] = {
            str: self.shown,
            Reading: self.shown_reading,
            DiagnosticTest: self._test,
            Attempt: self._attempt,
            Contact: self._contact,
        }
        shown: P = fit[type(part)](part) if type(part) in fit else part
        return shown

    def shown_vehicle(self, car: Vehicle) -> Vehicle:
        """Return a car without a name that is not to be shown."""
        names = filter(None, (car.make, car.model, car.engine))
        ref = car.ref if car.ref and self.named(car.ref) == car.ref else None
        if all(self.named(text) == text for text in names):
            return car if ref == car.ref else replace(car, ref=ref)
        return Vehicle(ref=ref, vin=car.vin, year=car.year, make=withheld_line(self.number))

    def _contact(self, contact: Contact) -> Contact:
        """Judge what a customer said: it tells no step unless it names an igniter, or is named."""
        by, said = contact.by and self.named(contact.by), replace(self, igniter_job=False)
        return replace(contact, words=said._shown(contact.words), by=by)

    def _only_tells_contact(self, entry: JobEntry, contacts: Iterable[Contact]) -> bool:
        """Whether an entry has a customer's words that are shown, and nothing else to hide."""
        for each in contacts:
            if each.words and each.words in entry.text and self._contact(each) == each:
                rest = entry.text.replace(each.words, "")
                by = entry.by or ""
                return self.shown(rest) == rest and self.named(by) == by
        return False

    def _shown(self, text: str | None) -> str | None:
        return text and self.shown(text)

    def _entry(self, entry: JobEntry, lifted: Iterable[Reading]) -> JobEntry:
        """Return an entry fit to be shown: a complaint may tell values, as its readings do.

        So may a line that tells no dangerous step, of what is no igniter's and stands among the
        readings.
        """
        fit = self.named if entry.kind is EntryKind.COMPLAINT else self.shown
        by = entry.by and self.named(entry.by)
        told = [each.said for each in lifted if self._is_open(each)]
        rest = blanked(entry.text, [Place(each.start, each.end) for each in told if each])
        stands = self.named(entry.text) == entry.text and fit(rest) == rest
        return replace(entry, by=by, text=entry.text if stands else self._counted(entry.text, fit))

    def _counted(self, text: str, fit: Callable[[str], str]) -> str:
        """Return words fit to be shown; where fewer marks stand than dangers, with their number."""
        shown = fit(text)
        marks = len(_HIDDEN.findall(shown))
        steps = len(self.steps_in(text)) if marks else 0
        return f"{shown} ({steps} dangerous steps)" if steps > marks else shown

    def _is_open(self, reading: Reading) -> bool:
        """Whether a reading stands on the page as it is, and is no igniter's."""
        item = isinstance(judged(reading.place, igniter_job=True), Shown)
        plain = item and not about_igniter([reading.place])
        return plain and self.shown_reading(reading) == reading

    def _test(self, test: DiagnosticTest) -> DiagnosticTest:
        """Judge name and outcome together: each alone may look harmless.

        So may a test that was lifted from a sentence that tells what must never be done.
        """
        whole = self._told_of(test)
        speaks = replace(
            test,
            points_to=tuple(map(self.named, test.points_to)),
            clears=tuple(map(self.named, test.clears)),
        )
        around = self._around(test.said)
        if around and around.is_never:
            return replace(speaks, name="a test", seen=self.line(around.sentence))
        if self.live_work.is_test(test):
            live = withheld_line(self.number, Reason.LIVE)
            return replace(speaks, name="a test", seen=live)
        if self.shown(whole) == whole:
            parted = outcome_told(test.name, test.seen)
            if not self._tells_danger(parted):
                return speaks
            whole = parted
        plain = self.shown(test.name) == test.name and self.named(whole) == whole
        name = test.name if plain else "a test"
        return replace(speaks, name=name, seen=self.line(whole))

    def _told_of(self, test: DiagnosticTest) -> str:
        """Return what is told of a test: as typed, where that may not be shown."""
        whole, typed = whole_of_test(test, self.typed), typed_of_test(test, self.typed)
        return whole if typed is None or self.shown(typed) == typed else typed

    def _around(self, said: SaidAt | None) -> _Forbidden | None:
        """Return the sentence in which something was said, if nothing said in it is advice."""
        if said is None:
            return None
        around = (
            each
            for each in self.forbidden
            if each.entry == said.entry and each.start < said.end and said.start < each.end
        )
        return next(around, None)

    def shown_fix(self, attempt: Attempt) -> str:
        """Return what was done, unless anything told of it says a dangerous way of doing it.

        A known load that is told as a fix was a test.
        """
        if self.is_test(attempt):
            return f"a test: {self.shown(attempt.words or attempt.component)}"
        told = self.withheld_of(attempt)
        return attempt.label if told is None else self.line(told, attempt.label)

    def is_test(self, attempt: Attempt) -> bool:
        """Whether what is told as a fix put a known load in an igniter's place."""
        return is_known_load(attempt, igniter_job=self.igniter_job)

    def advises(self, attempt: Attempt) -> bool:
        """Whether a fix of the job may be proposed; see `is_advisable`."""
        if self._around(attempt.said) or (attempt.cured is not False and self.hides_fault):
            return False
        if self._told_elsewhere(attempt) is not None:
            return False
        if self.dangers and self.withheld_of(attempt) is not None:
            return False
        return is_advisable(
            attempt.action,
            attempt.component,
            attempt.words,
            part_maker=attempt.part_maker,
            verified=attempt.verified,
            cause=self.cause,
            igniter_job=self.igniter_job,
            live=self.live,
        )

    def withheld_of(self, attempt: Attempt) -> str | None:
        """Return what makes a fix as a whole one that may not be shown; see `withheld_of_fix`.

        So may one that was lifted from a sentence that tells what must never be done, and one
        without words that the job tells dangerously.
        """
        return self._withheld_by_itself(attempt) or self._told_elsewhere(attempt)

    def _withheld_by_itself(self, attempt: Attempt) -> str | None:
        told = withheld_of_fix(
            attempt.label,
            attempt.words,
            part_maker=attempt.part_maker,
            verified=attempt.verified,
            cause=self.cause,
            igniter_job=self.igniter_job,
            live=self.live,
        )
        if told is not None:
            return told
        if self.live_work.is_fix(attempt):
            return attempt.words or attempt.label
        around = self._around(attempt.said)
        if around and around.is_never:
            return around.sentence
        each = (attempt.words, attempt.part_maker, attempt.verified)
        every = (attempt.label, *filter(None, each), *beside(attempt.label, *each))
        return next((text for text in every if self._tells_danger(text)), None)

    def _told_elsewhere(self, attempt: Attempt) -> str | None:
        """Return the words by which the job tells dangerously a fix without words of its own."""
        if attempt.words or not self.igniter_job:
            return None
        return dangerously_told((*self.done, *self.heard), attempt.action, attempt.component)

    def _tells_danger(self, text: str) -> bool:
        return next(self._dangers_in(text), None) is not None

    def step_of(self, job: Job, step: str) -> str:
        """Return the name of a step that a note tells of, but not where the page hides it."""
        return self.steps_of(job, [step])[0]

    def steps_of(self, job: Job, steps: Iterable[str]) -> list[str]:
        """Return the names of steps that notes tell of, likewise."""
        fixes = ((each.label, self._attempt(each).label) for each in job.attempts)
        tests = ((each.name, self._test(each).name) for each in job.tests)
        hidden = {name for name, shown in (*fixes, *tests) if name != shown}
        return [self.line(each) if each in hidden else self.shown(each) for each in steps]

    def taught_job(self, job: Job) -> Job:
        """Return the job fit to be learnt from: without what is not to be shown or compared."""
        shown = self.shown_job(job)
        items = {each.item for each in self.sound_readings(job)}
        return replace(
            shown,
            readings=tuple(each for each in shown.readings if each.item in items),
            contacts=tuple(map(self._taught_contact, shown.contacts)),
            tests=tuple(
                fit for test, fit in zip(job.tests, shown.tests, strict=True) if test == fit
            ),
            attempts=tuple(
                fit
                for each, fit in zip(job.attempts, shown.attempts, strict=True)
                if self.advises(each)
            ),
        )

    def _taught_contact(self, contact: Contact) -> Contact:
        """Return a contact without words that, told by the shop, would not be shown."""
        words = contact.words
        return contact if not words or self.shown(words) == words else replace(contact, words=None)

    def _attempt(self, attempt: Attempt) -> Attempt:
        """Judge the parts of a fix, each by itself and beside what was done.

        Where they may not be shown only together, the first of them is not.
        """
        told = {name: getattr(attempt, name) for name in _TOLD_OF_FIX if getattr(attempt, name)}
        nothing = replace(attempt, words=None, part_maker=None, verified=None)
        withheld = {
            name: line
            for name, text in told.items()
            if (line := self._withheld_by_itself(_with(nothing, name, text)))
        }
        if not withheld and (line := self.withheld_of(attempt)):
            withheld = {next(iter(told), "component"): line}
        parts: dict[str, Any] = {
            "component": self._component(attempt),
            "words": self._shown(attempt.words),
            "part_maker": attempt.part_maker and self.named(attempt.part_maker),
            "verified": self._shown(attempt.verified),
        }
        for name, line in withheld.items():
            shown = parts[name]
            together = chain([shown], beside(attempt.label, shown))
            if shown == getattr(attempt, name) or any(map(self._tells_danger, together)):
                parts[name] = self.line(line, shown)
        supposed = attempt.supposed and self.shown_cause(attempt.supposed)
        counted = self.without_success(attempt)
        if counted is not attempt and not any(map(_is_line, parts.values())):
            parts["verified"] = " ".join(filter(None, (parts["verified"], NOT_COUNTED)))
        return replace(counted, supposed=supposed, **parts)

    @property
    def hides_fault(self) -> bool:
        """Whether the job's fault was only hidden, so that no fix of it counts as a cure."""
        return hides_fault(self.done, self.heard, self.since, igniter_job=self.igniter_job)

    def without_success(self, attempt: Attempt) -> Attempt:
        """Return a fix without its success where what was done is dangerous: it is no fix.

        What is only not plainly allowed, and not named, may have been harmless. Where the job's
        fault was hidden nothing is known to have cured it.
        """
        if attempt.cured and self.hides_fault:
            return replace(attempt, cured=None)
        withheld = attempt.cured and self.withheld_of(attempt)
        if not withheld:
            return attempt
        danger = self.step_in(withheld)
        plain = danger is not None and (danger.reason not in NOT_PLAIN or danger.certain)
        told = filter(None, (withheld, attempt.words, attempt.part_maker, attempt.verified))
        named = plain or any(map(self._tells_danger, told))
        return replace(attempt, cured=None) if named else attempt

    def shown_proof(self, proof: str) -> str:
        """Return what proved a cause, fit to be shown; of a hidden fault only that it proves none.

        A lamp that is out because the fault was hidden teaches nobody what to look for.
        """
        return NO_PROOF if self.hides_fault else proof_left(self.shown(proof))

    def without_successes(self, job: Job) -> Job:
        """Return a job of which no fix cured that may not be shown."""
        return replace(job, attempts=tuple(map(self.without_success, job.attempts)))

    def _component(self, attempt: Attempt) -> str:
        """Return what was worked on, but not where its name was made of a dangerous step.

        Where the words behind it stand marked, no second mark is wanted.
        """
        if is_marked(self._shown(attempt.words)):
            return attempt.component
        if self.shown(attempt.label) != attempt.label:
            return self.line(attempt.label, attempt.component)
        parts = _PART.split(attempt.words or "")
        named = (each for each in parts if even(attempt.component) in even(each))
        step = next(filter(self.step_in, named), None)
        return attempt.component if step is None else self.line(step, attempt.component)

    def shown_reading(self, reading: Reading) -> Reading:
        """Return a reading without its item where that tells how an igniter was measured.

        So do its volts and amps, for no live value is one, and a place or an instrument that makes
        its ohms direct.
        """
        named = self._tells_danger(whole_of_reading(reading))
        if named or _tells_step(reading) or self._is_of_step(reading):
            return self._masked(reading)
        reading = replace(
            reading,
            item=self.named(reading.item),
            typed=self.named(reading.typed),
            position=reading.position and self.named(reading.position),
            condition=reading.condition and self.named(reading.condition),
        )
        if reading.method is None:
            return reading
        whole = f"{reading.item}: {reading.method}"
        stands = self.shown(whole) == whole
        return reading if stands else replace(reading, method=self.line(whole, reading.method))

    def names_item(self, reading: Reading) -> bool:
        """Whether a reading is shown under its item, however it was taken."""
        return self.named(reading.item) == reading.item and not _tells_step(reading)

    def _is_of_step(self, reading: Reading) -> bool:
        """Whether the entry that a reading was lifted from tells a dangerous step that took it."""
        said = reading.said
        if said is None or said.entry >= len(self.typed) or not self._may_be_of_step(reading):
            return False
        return any(reading.typed in step for step in dangerous_sentences(self.typed[said.entry]))

    def _masked(self, reading: Reading) -> Reading:
        line = self.line(whole_of_reading(reading))
        position = reading.position and self.named(reading.position)
        typed = f"{self.named(reading.typed)} {OF_STEP}"
        return replace(
            reading, item=line, typed=typed, position=position, method=None, condition=None
        )


def without_steps(job: Job) -> Job:
    """Return a job without the readings that a dangerous step at an igniter took.

    Parameters
    ----------
    job : Job
        Nothing else of it is changed.
    """
    restraint = job.system is System.RESTRAINTS
    ohms = Quantity.RESISTANCE
    asked = [
        each
        for each in job.readings
        if about_circuit(each.place) or (restraint and each.quantity is ohms)
    ]
    if not asked:
        return job
    told = (each.text for each in job.entries if any(r.typed in each.text for r in asked))
    steps = [step for text in told for step in dangerous_sentences(text)]
    taken = [
        each for each in asked if _tells_step(each) or any(each.typed in step for step in steps)
    ]
    return (
        replace(job, readings=tuple(each for each in job.readings if each not in taken))
        if taken
        else job
    )


def _tells_step(reading: Reading) -> bool:
    if not about_circuit(reading.place):
        return False
    # how it was taken does not depend on the value: alike ones are judged once
    alike = replace(reading, typed=_VALUE.sub("2", reading.typed))
    return bool(dangerous_sentences(whole_of_reading(alike)))


_VALUE = compiled(r"[0-9]+(?:[.,][0-9]+)?")


FIT = JobWords(number=None, igniter_job=False)
"""Words of no one job, such as the name of a cause or a part."""


@lru_cache(maxsize=1_000)
def _as_it_stands(told: str) -> re.Pattern[str]:
    """Return the pattern of words in a text, however they are spaced there."""
    words = r"\s+".join(map(re.escape, told.split()))
    return re.compile(rf"(?<!\w){words}(?!\w)")


def _outside_lines(text: str, told: re.Pattern[str], line: str) -> str:
    """Return a text with a line in the place of what is told, but for words of other lines."""
    parts = _ANY_LINE.split(text)
    return "".join(
        part if at % 2 else told.sub(lambda _: line, part) for at, part in enumerate(parts)
    )


_ANY_LINE = compiled(r"(\[(?:not shown|must never be done)[^\]]*\])")


def _with(attempt: Attempt, name: str, text: Any) -> Attempt:
    changed: dict[str, Any] = {name: text}
    return replace(attempt, **changed)


_TOLD_OF_FIX = ("words", "part_maker", "verified")
_PART = compiled(r"[,;.](?!\d)")
"""Parts an attempt's words into what was done one after the other."""
_PRONOUN = compiled(r"(?i)\b(?:one|ones)\b")
"""Says the fix's own part once more, as in "used one out of stock"."""


def is_advisable(
    action: Action,
    component: str,
    words: str | None,
    *,
    part_maker: str | None = None,
    verified: str | None = None,
    cause: str = "",
    igniter_job: bool,
    live: frozenset[float] = frozenset(),
) -> bool:
    """Whether a fix may be proposed and rated: all that is told of it may be shown.

    What else was done on its job, dangerous or not, is told on that job's page; whether a new plug
    held is true all the same, and a rate without it would lean; but where both were lifted from
    one sentence see `forbidden_around`. On an igniter nothing that stands in for it is a fix, nor
    what does not say what was done. Else see `withheld_of_fix`.

    Examples
    --------
    >>> pins = "new pins, both halves"
    >>> is_advisable(Action.REPLACED, "seat plug", pins, igniter_job=True)
    True
    >>> is_advisable(Action.REPAIRED, "seat plug", "bridged the pins", igniter_job=True)
    False
    >>> is_advisable(Action.REPLACED, "load resistor", None, igniter_job=True)
    False
    >>> used = "used one out of stock"
    >>> is_advisable(Action.REPLACED, "clock spring", used, igniter_job=True)
    True
    >>> is_advisable(Action.REPLACED, "airbag", used, igniter_job=True)
    False
    """
    if igniter_job and (
        action is Action.OTHER or is_no_part(component) or stands_in(component) or stands_in(cause)
    ):
        return False
    told = withheld_of_fix(
        f"{action} {component}",
        words,
        part_maker=part_maker,
        verified=verified,
        cause=cause,
        igniter_job=igniter_job,
        live=live,
    )
    return told is None


def withheld_of_fix(
    label: str,
    words: str | None,
    *,
    part_maker: str | None = None,
    verified: str | None = None,
    cause: str = "",
    igniter_job: bool,
    live: frozenset[float] = frozenset(),
) -> str | None:
    """Return what is told of a fix that may not be shown, None if all of it may.

    What is dangerous in one part of it makes the whole dangerous: pages, rates and lessons ask
    this one judgement. Its words are judged beside what was done, and beside the name of the
    cause; who made the part, and how the fix was verified, only by the steps they tell.

    Examples
    --------
    >>> withheld_of_fix("replaced airbag", "off a breakers car", igniter_job=True)
    'replaced airbag, off a breakers car'
    >>> withheld_of_fix("replaced airbag", None, part_maker="Kolbrin", igniter_job=True)
    """

    def fit(text: str) -> bool:
        if igniter_job and is_unreadable(text):
            return False
        return isinstance(judged(text, igniter_job=igniter_job, live=live), Shown)

    component = label.partition(" ")[2]
    meant = words and _PRONOUN.sub(lambda _: component, words)
    if words and meant and not (fit(words) or fit(meant)):
        return words
    named = [label, *([cause] if cause else []), ", ".join(filter(None, (label, words, cause)))]
    unfit = (text for text in named if not fit(text))
    steps = filter(None, (verified, part_maker, *beside(label, words, part_maker)))
    told = (text for text in steps if step_told(text, igniter_job=igniter_job))
    proved = (
        text
        for text in beside(label, verified)
        if is_plain(dangerous_step(text, igniter_job=igniter_job))
    )
    return next(chain(unfit, told, proved), None)


def _begins_with_work(sentence: str, wording: Wording | None) -> bool:
    """Whether a sentence of several words leaves out who did it, as who did it writes it down."""
    clauses = clauses_of(sentence, wording or trade_wording())
    if not clauses or len(clauses[0].words) < _LEAST_WORDS:
        return False
    first = next(deeds_of(clauses[0]), None)
    begins = first is not None and first[0] == 0 and first[2] is not Doing.MAY
    return begins or _THEN.match(sentence) is not None


_LEAST_WORDS = 4
_THEN = compiled(r"\s*(?:and |und |et )?(?:then|dann|danach|puis|poi|potem|sedan)\b", re.IGNORECASE)


def _lifted_of(job: Job, entry: int) -> list[Reading]:
    return [each for each in job.readings if each.said and each.said.entry == entry]


def hidden_of(job: Job, base: Job | None = None, wording: Wording | None = None) -> list[str]:
    """Return what a job has beyond what it had before that its page will not show.

    A text is left out that stands in another, which is the longer, and one that is only marked.
    """
    fit = JobWords.of(job, wording).shown_job(job)
    known = set(_texts(base)) if base else set()
    texts = zip(_texts(job), _texts(fit), strict=True)
    found = [
        text
        for text, shown in texts
        if text and text != shown and text not in known
        if not (is_marked(shown) or (shown or "").endswith(NOT_COUNTED))
    ]
    longest = sorted(dict.fromkeys(found), key=len, reverse=True)
    return [
        text
        for place, text in enumerate(longest)
        if not any(text in other for other in longest[:place])
    ]


def is_withheld(job: Job) -> bool:
    """Whether the page of a job withholds any of its words, see `hidden_of`."""
    words = StepWords.of_steps(job)
    told = filter(None, _texts(job))
    return any(map(words.bears_on_igniter, told)) and bool(hidden_of(job))


def hidden_parts(job: Job, wording: Wording | None = None) -> tuple[str, ...]:
    """Return which fields and parts of a job its page does not show as they are: *readings[0]*."""
    fit = JobWords.of(job, wording).shown_job(job)
    found: list[str] = []
    for field in fields(job):
        was, shown = getattr(job, field.name), getattr(fit, field.name)
        if isinstance(was, tuple):
            pairs = enumerate(zip(was, shown, strict=True))
            found += [f"{field.name}[{place}]" for place, (one, other) in pairs if one != other]
        elif was != shown:
            found.append(field.name)
    return tuple(found)


def _forbidden_in(job: Job, wording: Wording, *, igniter_job: bool) -> Iterator[_Forbidden]:
    lifted = chain((each.said for each in job.tests), (each.said for each in job.attempts))
    for place in sorted({said.entry for said in lifted if said}):
        text = job.entries[place].text if place < len(job.entries) else ""
        for begin, sentence, before in _placed(text):
            never = forbidden_step(sentence, wording, before=before) is not None
            if never or _taints(sentence, wording, igniter_job=igniter_job):
                yield _Forbidden(place, begin, begin + len(sentence), sentence, is_never=never)


def _placed(text: str) -> Iterator[tuple[int, str, str]]:
    """Yield the sentences of a text, each with the place where it begins and the one before it."""
    end, before = 0, ""
    for sentence in sentences_of(text):
        yield end, sentence, before
        end, before = end + len(sentence), sentence


def _taints(sentence: str, wording: Wording, *, igniter_job: bool) -> bool:
    """Whether a sentence tells in what dangerous way all that it tells was done.

    Work at an igniter with its supply on is a way of doing; a meter that was put on it is
    something else that was done, and what was fitted beside it may be right.
    """
    if not igniter_job:
        return False
    danger = dangerous_step(sentence, igniter_job=True, wording=wording)
    return danger is not None and danger.certain and danger.reason in _WAYS


_WAYS = frozenset([Reason.LIVE, Reason.WAIT])


def forbidden_around(told_in: ToldIn, *, igniter_job: bool) -> str | None:
    """Return the sentence around what was lifted, if nothing said in it is advice.

    Examples
    --------
    >>> text = "Gas low. Vented the R134a to air, replaced the condenser"
    >>> forbidden_around(ToldIn(text, 34, 56), igniter_job=False)
    'Vented the R134a to air, replaced the condenser'
    >>> forbidden_around(ToldIn(text, 0, 7), igniter_job=False)
    >>> text = "Fuel drained. Patch welded."
    >>> forbidden_around(ToldIn(text, 14, 27), igniter_job=False)
    'Patch welded.'
    """
    wording = trade_wording()
    around = (
        (sentence, before)
        for begin, sentence, before in _placed(told_in.text)
        if begin < told_in.end and told_in.start < begin + len(sentence)
    )
    bad = (
        each
        for each, before in around
        if forbidden_step(each, wording, before=before)
        or _taints(each, wording, igniter_job=igniter_job)
    )
    return next(bad, None)


def _texts(value: object) -> Iterator[str | None]:
    """Yield every text inside a job, and every place of one that is empty, in the same order."""
    if value is None or isinstance(value, str):
        yield value
    elif isinstance(value, bool):  # what is told of a success may be left out, as no text
        yield None
    elif isinstance(value, tuple):
        for each in value:
            yield from _texts(each)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _texts(getattr(value, field.name))
