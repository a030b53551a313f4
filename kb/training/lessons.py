"""What the shop's history of one system teaches somebody new to it."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from kb.case import Cause, Job, System
from kb.intake.wording import Wording
from kb.rates.fixes import FixRate
from kb.rates.returns import system_of
from kb.recurrence.association import Stratum, chance_of_association
from kb.safety.job_dangers import dangers_of
from kb.safety.job_words import FIT, JobWords
from kb.statistics.summaries import known_median
from kb.training.reading_lessons import ReadingLesson, reading_lessons
from kb.training.telling import telling_jobs

MOST_WORDS = 5
"""Typical words that are told of a cause: what can be kept in mind."""
MARK_LEVEL = 0.005
"""One-sided exact p-value below which a word is typical of a cause; many words are tried."""
SHORTEST_WORD = 3
"""Letters of a word that may be typical: shorter ones are seldom words of a fault."""
FILLERS = (
    "after all and any are but can car comes customer for from had has her his its just not now off"
    " only our out said says she some sometimes that the them then there they this was were when"
    " while will with you your"
)
"""Words that tell nothing of a fault when they stand alone."""
MOST_TELLING = 2
"""Jobs to read: more would not be read in a quiet hour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseLesson:
    """One thing that complaints about the system turned out to be.

    `share` is of the system's cases; `said` and `codes` are words of the complaints, and trouble
    codes, that this cause has clearly more often than the system's other causes; `fixes` what was
    tried for it, best first. Of the jobs `dangerous` a step is told that nobody may repeat, be it
    its proof or a fix.
    """

    cause: Cause
    share: float
    said: tuple[str, ...]
    codes: tuple[str, ...]
    fixes: tuple[FixRate, ...]
    jobs: tuple[int, ...]
    dangerous: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Miss:
    """What it was instead, and how often."""

    cause: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedFirst:
    """One fix that was tried first and did not cure.

    On `tried` jobs it was tried first with known outcome, on `failed` it did not cure; what it cost
    for nothing are medians over these.
    """

    fix: str
    tried: int
    failed: int
    minutes: float | None
    parts_cost: float | None
    turned_out: tuple[Miss, ...]
    jobs: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """All of it; `telling` are one or two past jobs worth reading, fit to be printed."""

    system: System
    cases: int
    since: date | None
    until: date | None
    causes: tuple[CauseLesson, ...]
    readings: tuple[ReadingLesson, ...]
    failed_first: tuple[FailedFirst, ...]
    telling: tuple[Job, ...]


def lesson(
    jobs: Iterable[Job],
    system: System,
    rates: Mapping[tuple[str, str, str], Sequence[FixRate]],
    wording: Wording,
) -> Lesson:
    """Draw the lesson of one system from a shop's jobs; those that are no cases are left out.

    A job that names no system is taken to be about the one that its words tell. `rates` are
    the fixes of each cause, by `Cause.key`, the best first.
    """
    cases = [job for job in jobs if job.is_case and system_of(job.system, job.complaint) is system]
    days = [job.opened for job in cases]
    return Lesson(
        system=system,
        cases=len(cases),
        since=min(days, default=None),
        until=max(days, default=None),
        causes=tuple(_causes(cases, rates, wording)),
        readings=reading_lessons(cases, wording),
        failed_first=tuple(_failed_first(cases, wording)),
        telling=tuple(
            JobWords.of(job, wording).taught_job(job)
            for job in telling_jobs(
                [each for each in cases if not dangers_of(each, wording=wording)], MOST_TELLING
            )
        ),
    )


def _causes(
    cases: Sequence[Job],
    rates: Mapping[tuple[str, str, str], Sequence[FixRate]],
    wording: Wording,
) -> Iterator[CauseLesson]:
    said = {id(job): _words(job, wording) for job in cases}
    codes = {id(job): {str(code) for code in job.codes} for job in cases}
    groups: dict[tuple[str, str, str], list[Job]] = defaultdict(list)
    for job in cases:
        if job.cause is not None:
            groups[job.cause.key].append(job)
    for group in sorted(groups.values(), key=len, reverse=True):
        cause = group[0].cause
        if cause is not None:
            yield CauseLesson(
                cause=FIT.shown_cause(replace(cause, position=None, words=None)),
                share=len(group) / len(cases),
                said=_typical([said[id(job)] for job in group], said.values()),
                codes=_typical([codes[id(job)] for job in group], codes.values()),
                fixes=tuple(rates.get(cause.key, ())),
                jobs=_numbers(group),
                dangerous=_numbers(each for each in group if dangers_of(each, wording=wording)),
            )


def _words(job: Job, wording: Wording) -> set[str]:
    words = wording.tokens(f"{job.complaint} {job.conditions or ''}")
    return {word for word in words if len(word) >= SHORTEST_WORD and word.isalpha()}.difference(
        FILLERS.split()
    )


def _typical(marks: Sequence[set[str]], everywhere: Iterable[set[str]]) -> tuple[str, ...]:
    """Return the marks that some jobs have clearly more often than all together, surest first."""
    every = list(everywhere)
    total = Counter(mark for each in every for mark in each)
    here = Counter(mark for each in marks for mark in each)
    chances = {
        mark: chance_of_association(count, [Stratum(len(every), len(marks), total[mark])])
        for mark, count in here.items()
        if count > 1 and count * len(every) > total[mark] * len(marks)
    }
    ranked = sorted(chances, key=lambda mark: (chances[mark], mark))
    return tuple(mark for mark in ranked if chances[mark] < MARK_LEVEL)[:MOST_WORDS]


def _failed_first(cases: Sequence[Job], wording: Wording) -> list[FailedFirst]:
    first: dict[tuple[str, str], list[Job]] = defaultdict(list)
    for job in cases:
        if (
            job.attempts
            and job.attempts[0].cured is not None
            and JobWords.of(job, wording).advises(job.attempts[0])
        ):
            first[job.attempts[0].fix].append(job)
    lessons = [_failure(jobs) for jobs in first.values() if any(map(_missed, jobs))]
    return sorted(lessons, key=lambda each: (-each.failed, -each.failed / each.tried, each.fix))


def _missed(job: Job) -> bool:
    return job.attempts[0].cured is False


def _failure(jobs: Sequence[Job]) -> FailedFirst:
    missed = [job for job in jobs if _missed(job)]
    attempts = [job.attempts[0] for job in missed]
    turned_out = Counter(job.cause.label for job in missed if job.cause)
    return FailedFirst(
        fix=FIT.named(attempts[0].label),
        tried=len(jobs),
        failed=len(missed),
        minutes=known_median(attempt.minutes for attempt in attempts),
        parts_cost=known_median(attempt.parts_cost for attempt in attempts),
        turned_out=tuple(
            Miss(cause=FIT.named(cause), count=n) for cause, n in turned_out.most_common()
        ),
        jobs=_numbers(missed),
    )


def _numbers(jobs: Iterable[Job]) -> tuple[int, ...]:
    return tuple(job.number for job in jobs if job.number is not None)
