"""A job on which the fault of a restraint was hidden: what ended on it is no cure.

With a load left in, a bag coded out or a bridge in its place the lamp is off whatever else was
done, so that no fix of the job is known to have cured. All words of a job are judged each by
itself and, of what stood in for an igniter, in order as one text (`left_in`). All of it is common
practice, no source.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from kb.case import OF_OTHERS, EntryKind, Job, outcome_told
from kb.intake.items import trade_wording
from kb.safety.igniter import Withheld, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import sentences_of
from kb.safety.igniter_reasons import instead_of
from kb.safety.igniter_steps import Danger, dangerous_step
from kb.safety.left_in import left_in, parts_left_in

NOT_COUNTED = "[not counted as a cure: the fault was hidden on this job]"
"""Stands behind a fix that may have cured nothing."""
NO_PROOF = "[no proof: the fault was hidden on this job]"
"""Stands behind what is told to have proved a cause, or in its place."""
_HIDING = frozenset([Reason.DEFEAT, Reason.BRIDGE])


def told_on(job: Job) -> Iterator[str]:
    """Yield what a job's words tell as done on it, but for fixes that did not cure.

    What is tried in vain hides nothing; a customer's words and those of the complaint tell what
    others did.
    """
    yield from (each.text for each in job.entries if each.kind not in OF_OTHERS)
    yield from filter(None, (each.method for each in job.readings))
    yield from (outcome_told(each.name, each.seen) for each in job.tests)
    for each in job.attempts:
        if each.cured is not False:
            yield from fix_told(each.label, each.words, each.verified)
    yield from filter(None, (job.proved_by, job.notes))


def heard_on(job: Job) -> Iterator[str]:
    """Yield what a customer tells on a job as it comes in: of others' deeds, most of the time."""
    yield job.complaint
    yield from (each.text for each in job.entries if each.kind is EntryKind.COMPLAINT)


def since_on(job: Job) -> Iterator[str]:
    """Yield what was heard of a job's car since: it tells how the job left it."""
    yield from (each.text for each in job.entries if each.kind is EntryKind.CONTACT)
    yield from filter(None, (each.words for each in job.contacts))


def fix_told(label: str, words: str | None, verified: str | None) -> Iterator[str]:
    """Yield what a fix tells in one sentence, and how it was verified."""
    yield ", ".join(filter(None, (label, words)))
    yield from filter(None, [verified])


def hides_fault(
    told: Sequence[str],
    heard: Sequence[str] = (),
    since: Sequence[str] = (),
    *,
    igniter_job: bool,
) -> bool:
    """Whether what is told on a job hides a fault of its restraints.

    Parameters
    ----------
    told : sequence of str
        What was done, in any of the job's own words, see `told_on`.
    heard : sequence of str
        What others tell as the job comes in, see `heard_on`.
    since : sequence of str
        What was heard of its car since, see `since_on`.
    igniter_job : bool
        The job concerns an igniter; else none of its faults is one of the restraints.

    Examples
    --------
    >>> hides_fault(["cleared the codes", "left 2 ohm resistor in the plug"], igniter_job=True)
    True
    >>> hides_fault(["substitute load in, lamp out, taken out again"], igniter_job=True)
    False
    """
    if not igniter_job:
        return False
    each = (*told, *since)
    return any(map(hides_in, each)) or left_in(each, heard) is not None


def hides_in(text: str) -> bool:
    """Whether a text of a job that concerns an igniter hides a fault by itself."""
    return bool(_hiding_in(text))


def hiding_on(job: Job) -> list[Danger]:
    """Name what hides a fault of a job that concerns an igniter, each in its own words.

    It is empty where, and only where, nothing hides one, see `hides_fault`.
    """
    told, since = [*told_on(job)], [*since_on(job)]
    found = [step for text in (*told, *since) for step in _hiding_in(text)]
    reason = Reason.DEFEAT
    found += (
        Danger(part, reason, instead_of(reason), " ".join(part.split()), certain=True)
        for part in parts_left_in([*told, *since], [*heard_on(job)])
    )
    return list(dict.fromkeys(found))


@lru_cache(maxsize=20_000)
def _hiding_in(text: str) -> Sequence[Danger]:
    """Name it in any part of a text: what is graver in another part hides nothing of it."""
    parts = (part for sentence in sentences_of(text) for part in (sentence, *sentence.split(";")))
    steps = filter(None, map(_step_in, dict.fromkeys((text, *parts))))
    return tuple(dict.fromkeys(step for step in steps if step.reason in _HIDING))


def _step_in(text: str) -> Danger | None:
    """Name the step in a part, or what it is withheld for where that hides a fault."""
    step = dangerous_step(text, igniter_job=True, wording=trade_wording(), alike=True)
    if step is not None:
        return step
    verdict = judged(text, igniter_job=True)
    if not isinstance(verdict, Withheld) or verdict.told_as not in _HIDING:
        return None
    reason = verdict.told_as
    return Danger(text, reason, instead_of(reason), " ".join(text.split()), certain=False)
