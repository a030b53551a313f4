"""What is known to help against a recurring fault: what was said, tried, spent and left to do."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from kb.case import Action, Attempt, Job, even
from kb.intake.wording import Wording
from kb.rates.fixes import FixRate
from kb.recurrence.pattern import Pattern
from kb.safety.job_words import FIT, JobWords
from kb.services.kept_rates import CauseRepairs
from kb.statistics.summaries import known_median, usual

CauseKey = tuple[str, str, str]
"""As `kb.case.Cause.key`."""
MOST_CODES = 3
MOST_FIXES = 2
LEAST_TOLD = 2
"""Jobs from which a test, or a code, is what such a fault has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """What several of the jobs have, and how many of them."""

    what: str
    jobs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class InVain:
    """A fix that did not cure, on how many of the jobs; medians of what it cost for nothing."""

    fix: str
    jobs: int
    minutes: float | None
    parts_cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Countermeasures:
    """What to do about a recurring fault.

    Attributes
    ----------
    said : str or None
        What a customer said, a complaint of the most usual words.
    codes : tuple of Marked
        That came with it, the most frequent first.
    test : Marked or None
        What most often settled it.
    cause : str or None
        The way of failing that `fixes` are for: the most frequent one.
    fixes : tuple of FixRate
        The best first, and of the others the one that was tried most.
    in_vain : tuple of InVain
        Tried before without curing.
    parts : int
        Of the part that were fitted on the jobs.
    spared : int
        Vehicles of the group that were seen in the window and have not had it.
    """

    said: str | None
    codes: tuple[Marked, ...]
    test: Marked | None
    cause: str | None
    fixes: tuple[FixRate, ...]
    in_vain: tuple[InVain, ...]
    parts: int
    spared: int


def keys_of(pattern: Pattern, jobs: Mapping[int, Job]) -> CauseKey | None:
    """Return the cause that a pattern's jobs mostly had."""
    keys = Counter(
        job.cause.key for number in pattern.jobs if (job := jobs[number]).cause is not None
    )
    return keys.most_common(1)[0][0] if keys else None


def countermeasures(
    pattern: Pattern, jobs: Mapping[int, Job], known: CauseRepairs | None, wording: Wording
) -> Countermeasures:
    """Draw from a pattern's own jobs, and from all fixes of its cause, what helps against it.

    Parameters
    ----------
    pattern : Pattern
    jobs : mapping of int to Job
        By number; all of the pattern's.
    known : CauseRepairs or None
        Of the cause that `keys_of` tells.
    wording : Wording
        What words of the jobs may be shown is judged with.
    """
    behind = [jobs[number] for number in pattern.jobs]
    words = {job.number: JobWords.of(job, wording) for job in behind}
    cause = keys_of(pattern, jobs)
    label = usual(job.cause.label for job in behind if job.cause and job.cause.key == cause)
    codes = Counter(str(code) for job in behind for code in set(job.codes))
    return Countermeasures(
        said=_said(behind, words),
        codes=tuple(
            Marked(what=code, jobs=n)
            for code, n in codes.most_common(MOST_CODES)
            if n >= LEAST_TOLD
        ),
        test=_settling(behind, words),
        cause=label and FIT.named(label),
        fixes=_worth_telling(known.rates if known else ()),
        in_vain=_in_vain(behind, words),
        parts=sum(
            attempt.action is Action.REPLACED and even(attempt.component) == even(pattern.component)
            for job in behind
            for attempt in job.attempts
        ),
        spared=pattern.counts.group_vehicles - pattern.counts.observed,
    )


def _said(jobs: Sequence[Job], words: Mapping[int | None, JobWords]) -> str | None:
    """Return the complaint that shares most words with the others, the shortest of equals."""
    spoken = {job.number: set(job.complaint.casefold().split()) for job in jobs}
    counts = Counter(word for each in spoken.values() for word in each)

    def usualness(job: Job) -> tuple[float, int]:
        mine = spoken[job.number]
        return -sum(counts[word] for word in mine) / len(mine), len(job.complaint)

    told = min((job for job in jobs if spoken[job.number]), key=usualness, default=None)
    return None if told is None else words[told.number].named(told.complaint)


def _settling(jobs: Iterable[Job], words: Mapping[int | None, JobWords]) -> Marked | None:
    """Return the test that most often spoke for the cause that was proved."""
    names = [
        (even(test.name), words[job.number].named(test.name))
        for job in jobs
        for test in job.tests
        if job.cause and even(job.cause.component) in map(even, test.points_to)
    ]
    if not names:
        return None
    name, count = Counter(key for key, _ in names).most_common(1)[0]
    if count < LEAST_TOLD:
        return None
    return Marked(what=next(shown for key, shown in names if key == name), jobs=count)


def _worth_telling(rates: Sequence[FixRate]) -> tuple[FixRate, ...]:
    """Return the best fix that was tried, and of the others the one that was tried most."""
    tried = [rate for rate in rates if rate.tried]
    others = sorted(tried[1:], key=lambda rate: -rate.tried)
    return (*tried[:1], *others[: MOST_FIXES - 1])


def _in_vain(jobs: Iterable[Job], words: Mapping[int | None, JobWords]) -> tuple[InVain, ...]:
    missed: dict[tuple[str, str], list[Attempt]] = defaultdict(list)
    for job in jobs:
        tried = {each.fix: each for each in job.attempts if each.cured is False}
        for fix, attempt in tried.items():
            if words[job.number].advises(attempt):
                missed[fix].append(attempt)
    return tuple(
        InVain(
            fix=FIT.named(attempts[0].label),
            jobs=len(attempts),
            minutes=known_median(each.minutes for each in attempts),
            parts_cost=known_median(each.parts_cost for each in attempts),
        )
        for attempts in sorted(missed.values(), key=len, reverse=True)
    )
