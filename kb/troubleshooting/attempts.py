"""What was tried on an open job: what cured it, if it is still cured, and what was in vain."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from kb.case import Attempt, Cause, Contact, DiagnosticTest, Job, Outcome, SaidAt
from kb.intake.wording import Wording
from kb.troubleshooting.circuit import is_done_to


def cure_of(job: Job) -> Attempt | None:
    """Return the last fix of a job if it cured and the fault has not come back since.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Action, Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no crank",
    ...     attempts=(Attempt(action=Action.CLEANED, component="earth strap", cured=True),))
    >>> cure_of(job).label
    'cleaned earth strap'
    """
    last = job.attempts[-1] if job.attempts else None
    return last if last and last.cured and not _came_back(last, job) else None


def cured_by_another_name(job: Job, suspects: Iterable[Cause], wording: Wording) -> bool:
    """Whether what cured a job was done to a part that no suspect has by that name.

    It may be a suspect all the same, under another name: somebody has to say.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Action, FailureMode, Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="blower dead on low",
    ...     attempts=(Attempt(action=Action.REPLACED, component="speed pack", cured=True),))
    >>> resistor = Cause(component="blower resistor", failure_mode=FailureMode.OPEN)
    >>> cured_by_another_name(job, [resistor], Wording.default())
    True
    """
    cure, causes = cure_of(job), list(suspects)
    if cure is None or not causes:
        return False
    return not any(is_done_to(cure.component, cause, wording) for cause in causes)


def may_have_cured(attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Return the fix that a car left with; all that may have cured, where nobody told which did.

    What came before a fix that did not cure had not cured, either.

    Examples
    --------
    >>> from kb.case import Action
    >>> fixes = [Attempt(action=Action.REPLACED, component=part, cured=cured)
    ...     for part, cured in (("coil", None), ("plug", False), ("lead", None), ("relay", None))]
    >>> [each.component for each in may_have_cured(fixes)]
    ['lead', 'relay']
    """
    if not attempts or attempts[-1].cured is not None:
        return tuple(attempts[-1:])
    vain = [place for place, each in enumerate(attempts, 1) if each.cured is False]
    return tuple(attempts[max(vain, default=0) :])


def in_vain(job: Job) -> tuple[Attempt, ...]:
    """Return the fixes of a job that did not cure, or after which the fault came back.

    Of those of which nobody wrote down whether they cured the last one is charged with it.
    """
    return tuple(
        replace(each, cured=False)
        for each in job.attempts
        if each.cured is False
        or ((each.cured or each is job.attempts[-1]) and _came_back(each, job))
    )


def _came_back(attempt: Attempt, job: Job) -> bool:
    """Whether the fault was back after a fix, on the job itself."""
    return any(
        contact.outcome is Outcome.COMEBACK and not _is_before(contact, attempt)
        for contact in job.contacts
    )


def _is_before(contact: Contact, attempt: Attempt) -> bool:
    """Whether a contact was told before a fix; where nobody can tell, it was told after it."""
    told, tried = contact.said, attempt.said
    return told is not None and tried is not None and _place(told) < _place(tried)


def was_tried_after(attempt: Attempt, test: DiagnosticTest) -> bool:
    """Whether a fix was told after a test; where nobody can tell, it was."""
    tried, made = attempt.said, test.said
    return tried is None or made is None or _place(made) < _place(tried)


def _place(said: SaidAt) -> tuple[int, int]:
    return said.entry, said.start
