"""What in a case base wants looking at: the review of what it holds, of case-based reasoning.

References
----------
Aamodt, A. and Plaza, E. (1994). Case-based reasoning: foundational issues, methodological
variations, and system approaches. AI Communications, 7(1), 39-59.
Smyth, B. and McKenna, E. (2001). Competence models and the maintenance problem. Computational
Intelligence, 17(2), 235-249.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from kb.case import Job, even
from kb.intake.failure_words import failure_mode
from kb.intake.findings import find_work

NEIGHBOURS, LEAST_AGREEING = 4, 3
"""A case is held against so many others; that it contradicts is said where so many have one cause
and it has another (by judgement)."""
LEAST_LIKE = 0.5
"""From this cosine of the words of two complaints on, 0 to 1, they are alike (by judgement)."""
_BATCH = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """A case that has another cause than those like it, which agree on one."""

    case: Job
    like: tuple[Job, ...]


def contradictions(cases: Sequence[Job]) -> Iterator[Contradiction]:
    """Yield cases whose likest, in words and codes, have one cause that is not theirs."""
    from sklearn.feature_extraction.text import TfidfVectorizer  # noqa: PLC0415  slow to import

    if len(cases) <= LEAST_AGREEING:
        return
    texts = [" ".join([job.complaint, *map(str, job.codes)]) for job in cases]
    try:
        table = TfidfVectorizer(sublinear_tf=True).fit_transform(texts)
    except ValueError:  # not one word in any of them
        return
    for first in range(0, len(cases), _BATCH):
        likeness = (table[first : first + _BATCH] @ table.T).toarray()
        for row, case in zip(likeness, cases[first : first + _BATCH], strict=True):
            likest = np.argsort(-row, kind="stable")[: NEIGHBOURS + 1]
            near = [cases[at] for at in likest if cases[at] is not case and row[at] >= LEAST_LIKE]
            if found := _against(case, near[:NEIGHBOURS]):
                yield found


def _against(case: Job, near: Sequence[Job]) -> Contradiction | None:
    causes = Counter(job.cause.key for job in near if job.cause)
    if not causes or case.cause is None:
        return None
    cause, count = causes.most_common(1)[0]
    if count < LEAST_AGREEING or case.cause.key == cause:
        return None
    like = tuple(job for job in near if job.cause and job.cause.key == cause)
    return Contradiction(case=case, like=like)


def is_proved(case: Job) -> bool:
    """Whether anything says what proved the cause, or that the repair was checked."""
    return bool(case.proved_by) or any(each.verified for each in case.attempts)


def tells_own_diagnosis(case: Job) -> bool:
    """Whether a complaint tells what only the bench found: its cause, or what was done about it.

    That it names the part that failed alone is none: "battery flat" is what customers say.
    """
    if case.cause is None:
        return False
    part = even(case.cause.component)
    if any(part == even(component) for _, component, _ in find_work(case.complaint)):
        return True
    told = failure_mode(case.complaint)
    named = re.search(rf"\b{re.escape(part)}", even(case.complaint)) is not None
    return named and told is not None and told[0] is case.cause.failure_mode


def duplicates(jobs: Iterable[Job]) -> list[tuple[Job, ...]]:
    """Return jobs of one day and one car, as far as is told, that have the same complaint."""
    same: dict[object, list[Job]] = defaultdict(list)
    for job in jobs:
        car = job.vehicle.key or job.vehicle.label.casefold()
        same[job.opened, car, job.odometer_km, even(job.complaint)].append(job)
    return [tuple(each) for each in same.values() if len(each) > 1]


def names_used_once(jobs: Iterable[Job]) -> list[tuple[str, Job]]:
    """Return the components that one job alone says, each with it, in order of the alphabet."""
    said: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        parts = {even(each.component) for each in job.attempts}
        for name in parts | ({even(job.cause.component)} if job.cause else set()):
            said[name].append(job)
    return [(name, jobs[0]) for name, jobs in sorted(said.items()) if len(jobs) == 1]
