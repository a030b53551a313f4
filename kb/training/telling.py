"""Past jobs worth reading."""

from collections.abc import Sequence

from kb.case import Job, Outcome, Stage


def telling_jobs(cases: Sequence[Job], most: int) -> list[Job]:
    """Choose the jobs that tell most, at most one for each cause, the latest of equals first.

    A job tells much if something was tried in vain before the cure, tests split the causes, the
    same item was read before and after, the cause was proved, and the car was heard of again.
    """
    ranked = sorted(cases, key=lambda job: (_worth(job), job.opened, job.number or 0))
    chosen: dict[tuple[str, str, str], Job] = {}
    for job in reversed(ranked):
        if job.cause is not None and len(chosen) < most:
            chosen.setdefault(job.cause.key, job)
    return list(chosen.values())


def _worth(job: Job) -> int:
    stages = {reading.stage for reading in job.readings}
    return sum(
        (
            3 * any(attempt.cured is False for attempt in job.attempts),
            2 * bool(job.attempts and job.attempts[-1].cured),
            2 * ({Stage.AS_FOUND, Stage.AFTER_FIX} <= stages),
            min(len(job.tests), 3),
            bool(job.proved_by),
            any(contact.outcome is Outcome.HELD for contact in job.contacts),
            any(test.points_to or test.clears for test in job.tests),
        )
    )
