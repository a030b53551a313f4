"""Past jobs worth reading, made fit to be printed."""

from collections.abc import Sequence
from dataclasses import replace

from kb.case import Job, Outcome, Reading, Stage, System
from kb.safety.igniter import WITHHELD, live_values, screen


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


def screened(job: Job) -> Job:
    """Return a job whose words may all be printed as advice; see `kb.safety.igniter.screen`."""
    live = live_values(job.readings)

    def said(text: str | None) -> str | None:
        return text and screen(text, restraint=job.system is System.RESTRAINTS, live=live)

    def kept(text: str) -> str:
        return said(text) or text

    return replace(
        job,
        complaint=kept(job.complaint),
        conditions=said(job.conditions),
        readings=tuple(screened_reading(job, reading) for reading in job.readings),
        tests=tuple(
            replace(test, name=kept(test.name), seen=kept(test.seen)) for test in job.tests
        ),
        cause=job.cause and replace(job.cause, words=said(job.cause.words)),
        proved_by=said(job.proved_by),
        attempts=tuple(
            replace(attempt, words=said(attempt.words), verified=said(attempt.verified))
            for attempt in job.attempts
        ),
        contacts=tuple(replace(contact, words=said(contact.words)) for contact in job.contacts),
        notes=said(job.notes),
    )


def screened_reading(job: Job, reading: Reading) -> Reading:
    """Return a reading of a job without a method that must not be printed for its item."""
    whole = f"{reading.item}: {reading.method}"
    fit = screen(whole, restraint=job.system is System.RESTRAINTS) == whole
    return reading if fit else replace(reading, method=WITHHELD)
