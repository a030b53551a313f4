"""What a shop wrote on a job, fit to be shown; and what of it should never be done again.

The one place where it is decided whether a job concerns an igniter: pages, prompts, locks and
exports for people ask here.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Self

from kb.case import Attempt, DiagnosticTest, Job, Reading, System
from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, concerns, hazards
from kb.safety.igniter import Danger, dangerous_step, live_values, screen
from kb.safety.igniter_acts import Reason


def is_igniter_job(job: Job, wording: Wording) -> bool:
    """Whether anything on record of a job says that it concerns an igniter."""
    return concerns(hazards(Situation.of_job(job), wording), System.RESTRAINTS)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobWords:
    """How a job's own words are shown.

    Attributes
    ----------
    number : int or None
        Of the job, where what is not shown can be read.
    igniter_job : bool
        Every sentence of it is judged; else only those that name an igniter.
    live : frozenset of float
        Values that the scan tool read on it.
    """

    number: int | None
    igniter_job: bool
    live: frozenset[float] = frozenset()

    @classmethod
    def of(cls, job: Job, wording: Wording | None = None) -> Self:
        """Judge a job; by default with the trade's words alone."""
        wording = wording or trade_wording()
        return cls(
            number=job.number,
            igniter_job=is_igniter_job(job, wording),
            live=live_values(job.readings, wording),
        )

    def shown(self, text: str) -> str:
        """Return words of the job, or the line that stands in their place."""
        return screen(text, restraint=self.igniter_job, job=self.number, live=self.live)

    def shown_job(self, job: Job) -> Job:
        """Return the job with all its words fit to be shown."""
        return replace(
            job,
            complaint=self.shown(job.complaint),
            conditions=self._shown(job.conditions),
            readings=tuple(map(self.shown_reading, job.readings)),
            tests=tuple(self._test(test) for test in job.tests),
            cause=job.cause and replace(job.cause, words=self._shown(job.cause.words)),
            proved_by=self._shown(job.proved_by),
            attempts=tuple(
                replace(each, words=self._shown(each.words), verified=self._shown(each.verified))
                for each in job.attempts
            ),
            contacts=tuple(replace(each, words=self._shown(each.words)) for each in job.contacts),
            notes=self._shown(job.notes),
        )

    def _shown(self, text: str | None) -> str | None:
        return text and self.shown(text)

    def _test(self, test: DiagnosticTest) -> DiagnosticTest:
        """Judge name and outcome together: each alone may look harmless."""
        whole = f"{test.name}: {test.seen}"
        if (said := self.shown(whole)) == whole:
            return test
        name = self.shown(test.name)
        return replace(test, name=name if name == test.name else "a test", seen=said)

    def shown_reading(self, reading: Reading) -> Reading:
        """Return a reading without a method that is not to be repeated."""
        if reading.method is None:
            return reading
        whole = f"{reading.item}: {reading.method}"
        said = self.shown(whole)
        return reading if said == whole else replace(reading, method=said)


def dangers_of(job: Job, base: Job | None = None, wording: Wording | None = None) -> list[Danger]:
    """Name the dangerous steps among what a job has beyond what it had before.

    A value without a word of how it was taken is no step, and is not named.
    """
    wording = wording or trade_wording()
    igniter_job = is_igniter_job(job, wording)
    known = set(_sentences(base)) if base else set()
    new = (text for text in _sentences(job) if text not in known)
    found = (dangerous_step(text, igniter_job=igniter_job, wording=wording) for text in new)
    return [danger for danger in found if danger and danger.reason is not Reason.VALUE]


def danger_line(danger: Danger) -> str:
    """Return in two sentences what is dangerous, why, and what to do instead."""
    return f"“{danger.words}” is dangerous: {danger.reason}. {danger.instead}"


def _sentences(job: Job) -> Iterator[str]:
    """Everything on a job that tells what was done, each part in one sentence."""
    yield from filter(None, (job.complaint, job.conditions, job.proved_by, job.notes))
    for reading in job.readings:
        if reading.method:
            yield f"{reading.place} {reading.typed} {reading.method}"
    yield from (f"{test.name}: {test.seen}" for test in job.tests)
    for attempt in job.attempts:
        yield from _attempt(attempt)
    words = [job.cause.words if job.cause else None, *(each.words for each in job.contacts)]
    yield from filter(None, words)


def _attempt(attempt: Attempt) -> Iterable[str]:
    return filter(None, (attempt.label, attempt.words, attempt.verified))
