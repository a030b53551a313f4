"""What is known to help against a recurring fault: what was said, tried, spent and left to do."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from kb.case import Action, DiagnosticTest, Job, even
from kb.intake.wording import Wording
from kb.rates.fixes import FixRate, told_apart
from kb.rates.trials import Trial
from kb.rates.waste import Waste, fix_of, wasted
from kb.recurrence.pattern import Pattern
from kb.safety.job_words import FIT, JobWords
from kb.services.kept_rates import CauseRepairs
from kb.statistics.summaries import known_median, usual

CauseKey = tuple[str, str, str]
"""As `kb.case.Cause.key`."""
MOST_CODES = 3
LEAST_TOLD = 2
"""Jobs from which a test, or a code, is what such a fault has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """What several of the jobs have, and how many of them."""

    what: str
    jobs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling(Marked):
    """A test that settled it, with the median of the minutes written down."""

    minutes: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Countermeasures:
    """What to do about a recurring fault.

    Attributes
    ----------
    said : str or None
        What a customer said, a complaint of the most usual words.
    codes : tuple of Marked
        That came with it, the most frequent first.
    test : Settling or None
        What most often settled it.
    here : tuple of Waste
        Whatever was tried on these jobs, whichever way it failed: what cured most first, then what
        was in vain, the dearest first.
    cause : str or None
        The way of failing that `fixes` are for: the most frequent one.
    fixes : tuple of FixRate
        Of that cause on all cars of the shop: the best first, the quickest of those that may be as
        good, and of the others the one that was tried most.
    as_good : str or None
        Of these, the one that cannot be told from the best, and of which no more came back.
    better_than : str or None
        Of these, the one that came back and that the best is told to be better than.
    parts : int
        Of the part that were fitted on the jobs.
    spared : int
        Vehicles of the group that were seen in the window and never had it.
    """

    said: str | None
    codes: tuple[Marked, ...]
    test: Settling | None
    here: tuple[Waste, ...]
    cause: str | None
    fixes: tuple[FixRate, ...]
    as_good: str | None
    better_than: str | None
    parts: int
    spared: int


def keys_of(pattern: Pattern, jobs: Mapping[int, Job]) -> CauseKey | None:
    """Return the cause that most cars of a pattern had, however often one of them came."""
    causes = [cause for number in pattern.jobs if (cause := jobs[number].cause) is not None]
    mode = pattern.modes[0].failure_mode if pattern.modes else None
    keys = Counter(cause.key for cause in causes if cause.failure_mode is mode)
    return keys.most_common(1)[0][0] if keys else None


def countermeasures(
    pattern: Pattern,
    jobs: Mapping[int, Job],
    tried: Iterable[Trial],
    known: CauseRepairs | None,
    wording: Wording,
) -> Countermeasures:
    """Draw from a pattern's own jobs, and from all fixes of its cause, what helps against it.

    Parameters
    ----------
    pattern : Pattern
    jobs : mapping of int to Job
        By number; all of the pattern's.
    tried : iterable of Trial
        On the pattern's jobs.
    known : CauseRepairs or None
        Of the cause that `keys_of` tells.
    wording : Wording
        What words of the jobs may be shown is judged with.
    """
    behind = [jobs[number] for number in pattern.jobs]

    @cache
    def words(number: int | None) -> JobWords:
        return JobWords.of(jobs[number or 0], wording)

    cause = keys_of(pattern, jobs)
    label = usual(job.cause.label for job in behind if job.cause and job.cause.key == cause)
    codes = Counter(str(code) for job in behind for code in dict.fromkeys(job.codes))
    best, as_good, usual_one = _worth_telling(known.rates if known else ())
    better = best and usual_one and usual_one.came_back and told_apart(best, usual_one)
    return Countermeasures(
        said=_said(behind, words),
        codes=tuple(
            Marked(what=code, jobs=n)
            for code, n in codes.most_common(MOST_CODES)
            if n >= LEAST_TOLD
        ),
        test=_settling(behind, words),
        here=_here(tried),
        cause=label and FIT.named(label),
        fixes=tuple(fix for fix in (best, as_good, usual_one) if fix),
        as_good=as_good.label if as_good else None,
        better_than=usual_one.label if usual_one and better else None,
        parts=sum(
            attempt.action is Action.REPLACED and even(attempt.component) == even(pattern.component)
            for job in behind
            for attempt in job.attempts
        ),
        spared=pattern.spared,
    )


def _said(jobs: Sequence[Job], words: Callable[[int | None], JobWords]) -> str | None:
    """Return the complaint that shares most words with the others, the shortest of equals."""
    spoken = {job.number: set(job.complaint.casefold().split()) for job in jobs}
    counts = Counter(word for each in spoken.values() for word in each)

    def usualness(job: Job) -> tuple[float, int]:
        mine = spoken[job.number]
        return -sum(counts[word] for word in mine) / len(mine), len(job.complaint)

    told = min((job for job in jobs if spoken[job.number]), key=usualness, default=None)
    return None if told is None else words(told.number).named(told.complaint)


def _settling(jobs: Iterable[Job], words: Callable[[int | None], JobWords]) -> Settling | None:
    """Return the test that most often spoke for the cause that was proved."""
    tests: dict[str, list[DiagnosticTest]] = defaultdict(list)
    of: dict[str, tuple[int | None, str]] = {}
    for job in jobs:
        for test in job.tests:
            if job.cause and even(job.cause.component) in map(even, test.points_to):
                tests[even(test.name)].append(test)
                of.setdefault(even(test.name), (job.number, test.name))
    most = max(tests, key=lambda name: len(tests[name]), default=None)
    if most is None or len(tests[most]) < LEAST_TOLD:
        return None
    minutes = known_median(test.minutes for test in tests[most])
    number, name = of[most]
    return Settling(what=words(number).named(name), jobs=len(tests[most]), minutes=minutes)


def _worth_telling(
    rates: Sequence[FixRate],
) -> tuple[FixRate | None, FixRate | None, FixRate | None]:
    """Return the best fix that was tried, one that may be as good, and the other tried most."""
    tried = [rate for rate in rates if rate.tried]
    if not tried:
        return None, None, None
    best, *others = tried
    alike = [
        rate
        for rate in others
        if rate.first.supported and not told_apart(best, rate) and not _lost_more(rate, best)
    ]
    as_good = min(alike, key=_minutes, default=None)
    rest = [rate for rate in others if rate is not as_good]
    return best, as_good, max(rest, key=lambda rate: rate.tried, default=None)


def _lost_more(one: FixRate, other: FixRate) -> bool:
    """Whether more of what one fix cured is back, judged or not, than of another's."""
    shares = [
        (len(rate.came_back) + len(rate.unjudged)) / max(1, rate.cured_at_handover)
        for rate in (one, other)
    ]
    return shares[0] > shares[1]


def _minutes(rate: FixRate) -> float:
    known = rate.minutes_held or rate.minutes
    return float("inf") if known is None else known


def _here(tried: Iterable[Trial]) -> tuple[Waste, ...]:
    rows = [replace(row, what=FIT.named(row.what)) for row in wasted(tried, fix_of)]
    return tuple(
        sorted(
            (row for row in rows if row.cured or row.in_vain),
            key=lambda row: (-row.cured, -row.parts_cost, -row.minutes, row.what),
        )
    )
