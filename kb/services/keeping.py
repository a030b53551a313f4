"""Storing a draft, also where its job was changed meanwhile."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from textwrap import fill

from kb.case import Job
from kb.errors import Conflict, Dangerous, InvalidField
from kb.intake.account import Account
from kb.intake.additions import combined, joined
from kb.intake.contradictions import check_left_fix
from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.safety.job_dangers import danger_line, dangers_of
from kb.services.contact_doubts import refuse_mere_repeats, without_repeats
from kb.services.deeds import deeds_of, steps_of
from kb.services.drafts import Draft, draft_of, number_of
from kb.services.indexing import shop_wording
from kb.settings import CONFIRMATION_HOURS
from kb.store.database import open_store
from kb.store.history import Change, Difference
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.locks import unvouched

WIDTH = 79
"""Of the lines in which a refusal is told."""


class ChangedMeanwhile(Conflict):
    """A job was changed after a draft of it was made.

    Attributes
    ----------
    theirs : Draft
        What was changed meanwhile, on the job that the draft was made from.
    left : Draft or None
        What of the draft does not collide with that, on the job as it is now; None if nothing.
    collide : tuple of str
        The fields in which both changed it otherwise.
    """

    def __init__(self, theirs: Draft, left: Draft | None, collide: tuple[str, ...]) -> None:
        number = theirs.job.number
        fields_of = ", ".join(dict.fromkeys(each.field for each in theirs.changes))
        both = f", and so did you {', '.join(collide)}" if collide else ""
        super().__init__(
            f"job: {number} was changed by somebody else meanwhile ({fields_of}{both}); "
            f"look with 'kb job show {number}' and do it again"
        )
        self.theirs, self.left, self.collide = theirs, left, collide


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """A job as it was stored, what was changed in it, and what became of the words typed.

    `unvouched` are steps among it that wanted a confirmation and had none.
    """

    job: Job
    changes: tuple[Difference, ...]
    notices: tuple[str, ...]
    account: Account | None = None
    unvouched: tuple[str, ...] = ()


def keep(
    address: str,
    draft: Draft,
    *,
    who: str | None = None,
    happened: bool = False,
    hours: float = CONFIRMATION_HOURS,
    patience: int | None = None,
) -> Recorded:
    """Store a draft; where it only adds to a job that was changed meanwhile, it is added there.

    Parameters
    ----------
    happened : bool
        Somebody said that its dangerous steps were in fact done.
    hours : float
        How long a confirmation holds at most.
    patience : int, optional
        Seconds to wait for others who write; as long as anybody waits if left out.

    Raises
    ------
    Dangerous
        If it tells dangerous steps and nobody said so.
    StoreBusy
        If others write for longer.
    ChangedMeanwhile
        If the job was changed since the draft was made and the draft does more than add to it.
    Conflict
        If it contradicts what the store holds.
    """
    _refuse_dangers(draft, happened=happened)
    with UnitOfWork(open_store(address), who=who, patience=patience) as work:
        before = work.changes.last()
        if draft.base is None:
            stored = work.jobs.add(_signed(draft, who))
        else:
            stored = work.jobs.get(number_of(draft.base))
            draft = _on_top(draft, stored, shop_wording(work))
            _refuse_dangers(draft, happened=happened)
            stored = work.jobs.replace(_signed(draft, who))
        changes = work.changes.of(number_of(stored)) if draft.base else []
        work.commit()
    return Recorded(
        job=stored,
        changes=draft.changes,
        notices=draft.notices,
        account=draft.account,
        unvouched=_unvouched(stored, changes, before, hours),
    )


def _refuse_dangers(draft: Draft, *, happened: bool) -> None:
    if draft.dangers and not happened:
        told = [*map(danger_line, draft.dangers), "If it was done all the same: --happened."]
        raise Dangerous("\n".join(fill(line, WIDTH) for line in told))


def _on_top(draft: Draft, stored: Job, wording: Wording) -> Draft:
    """Return a draft made of the job as it is stored now."""
    base = draft.base or stored
    if stored == base:
        return draft
    job = joined(base, draft.job, stored)
    if job is None:
        mine, collide = combined(base, draft.job, stored)
        left = None
        with suppress(InvalidField):  # what would contradict theirs is not offered
            left = draft_of(mine, stored, wording=wording) if mine != stored else None
        raise ChangedMeanwhile(draft_of(stored, base, was_so=True), left, collide)
    check_left_fix(job, stored)
    job, repeated = without_repeats(job, stored)
    refuse_mere_repeats(job, stored, repeated)
    return replace(draft, job=job, base=stored, dangers=tuple(dangers_of(job, stored, wording)))


def _unvouched(job: Job, changes: Sequence[Change], before: int, hours: float) -> tuple[str, ...]:
    """Return the steps told since a change that wanted a confirmation and had none."""
    begin = min((each.at for each in changes if each.sequence > before), default=None)
    steps = [step for step in steps_of(job, changes) if step.at and begin and step.at >= begin]
    deeds = deeds_of(job, changes)
    return unvouched(job, steps, deeds, trade_wording(), hours)


def _signed(draft: Draft, who: str | None) -> Job:
    """Return the job of a draft, its new entries with who typed them, and when they are stored.

    So are new contacts, unless somebody else is named as who told of them.
    """
    old, known = (draft.base.entries, draft.base.contacts) if draft.base else ((), ())
    now = datetime.now(UTC)
    new = (replace(each, at=now, by=who) for each in draft.job.entries[len(old) :])
    contacts = (
        each if each in known or each.by else replace(each, by=who) for each in draft.job.contacts
    )
    entries = (*draft.job.entries[: len(old)], *new)
    return replace(draft.job, entries=entries, contacts=tuple(contacts))
