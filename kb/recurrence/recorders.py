"""Whether one person wrote down more of something than luck explains."""

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from kb.case import Job
from kb.recurrence.comparison import Matched, chance_of_excess


class Burst(NamedTuple):
    """So many of some jobs are one person's, who recorded `share` of all jobs."""

    recorder: str
    jobs: int
    share: float


def recorder_of(job: Job) -> str:
    """Return who recorded a job; initials are the same with dots and blanks between."""
    return "".join(filter(str.isalnum, (job.technician or "").casefold()))


def burst(jobs: Sequence[Job], recorded: Counter[str], level: float) -> Burst | None:
    """Tell who recorded most of some jobs, if it is more of them than luck brings.

    Parameters
    ----------
    jobs : sequence of Job
        What is looked at.
    recorded : Counter of str
        How many jobs each person recorded, these and all others.
    level : float
        One-sided p-value below which it is no luck.
    """
    by = Counter(who for job in jobs if (who := recorder_of(job)))
    person, count = by.most_common(1)[0] if by else ("", 0)
    if 2 * count <= len(jobs):
        return None
    mine, every = recorded[person], recorded.total()
    if chance_of_excess(count, [Matched(mine, every - mine, len(jobs))]) >= level:
        return None
    return Burst(person, count, mine / every)
