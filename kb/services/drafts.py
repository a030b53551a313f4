"""A job as it would be stored, with what should be looked at before it is."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta
from typing import Any, TypeVar

import msgspec

from kb.case import Attempt, Contact, EntryKind, Job, JobEntry, SaidAt, Vehicle
from kb.errors import Conflict, InvalidField, NoSuchJob
from kb.intake.account import Account
from kb.intake.contradictions import (
    check_handover,
    check_left_fix,
    check_odometers,
    check_opening,
)
from kb.intake.days import days_to_come
from kb.intake.distances import Distance
from kb.intake.items import trade_wording
from kb.intake.outcomes import untold
from kb.intake.privacy import personal_data
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, cautions_of
from kb.safety.igniter_contacts import SPRAYED, sprayed_in
from kb.safety.igniter_steps import Danger, is_untold_value
from kb.safety.job_dangers import DONE_HERE, MAY_BE_IN, dangers_of, may_be_in, was_done
from kb.safety.job_words import hidden_of, is_igniter_job
from kb.safety.stand_ins import without_known_loads
from kb.services.doubts import too_early
from kb.store.history import Difference, differences
from kb.troubleshooting.general_tests import general_tests

D = TypeVar("D", bound="Draft")


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A job as it would be stored.

    Attributes
    ----------
    job : Job
        Without a number if it is a new one.
    base : Job or None
        The stored job it was made from.
    notices : tuple of str
        What was doubtful, or should be looked at before it is stored.
    cautions : tuple of str
        What comes before any word of the job.
    igniter_job : bool
        It concerns an igniter, also by the shop's own words.
    dangers : tuple of Danger
        Steps told in it that nobody should repeat: stored only as what happened.
    account : Account or None
        What became of the words of the line that was typed, if it was one.
    clash : str or None
        Why it may be another car than the one meant.
    misspelt : bool
        A name in it is most likely a slip of one that the shop has, or its odometer shows less
        than before; a notice asks about it.
    cure_in_doubt : str or None
        The notice that its last fix stays cured though there is trouble, which may be another's.
    """

    job: Job
    base: Job | None
    notices: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    igniter_job: bool = False
    dangers: tuple[Danger, ...] = ()
    account: Account | None = None
    clash: str | None = None
    misspelt: bool = False
    cure_in_doubt: str | None = None

    @property
    def changes(self) -> tuple[Difference, ...]:
        """What storing it would change; nothing for a new job."""
        return () if self.base is None else tuple(differences(self.base, self.job))

    def as_kind(self, kind: type[D], **more: Any) -> D:
        """Return this draft with what a kind of draft tells besides."""
        return kind(**{each.name: getattr(self, each.name) for each in fields(Draft)}, **more)


def refuse_void(job: Job) -> None:
    """Refuse to go on with a job that counts nowhere.

    Raises
    ------
    Conflict
        If it is void.
    """
    if job.void is not None:
        raise Conflict(
            f"job: {job.number} is void ({job.void}); bring it back first: "
            f"kb job void {job.number} --back"
        )


def _left_of_danger(job: Job, base: Job | None) -> Iterator[str]:
    """Say at the end of a job that something dangerous was done on its car."""
    ends = job.closed is not None and base is not None and base.closed is None
    if ends and base is not None and was_done(base):
        yield DONE_HERE
    if ends and any(each.cured for each in job.attempts) and may_be_in(job):
        yield MAY_BE_IN.format(job.number)


def _is_ending(job: Job, base: Job | None) -> bool:
    """Whether a fix is told anew, or the end of a job: the battery goes back on."""
    known = base.attempts if base else ()
    closes = job.closed is not None and (base is None or base.closed is None)
    return closes or any(each not in known for each in job.attempts)


def draft_of(
    job: Job,
    base: Job | None,
    notices: Iterable[str] = (),
    told: Account | None = None,
    *,
    today: date | None = None,
    was_so: bool = False,
    wording: Wording | None = None,
) -> Draft:
    """Draft a job, with a warning of everything in it that looks like personal data.

    Parameters
    ----------
    wording : Wording, optional
        The trade's and the shop's own words; by default the trade's alone.
    was_so : bool
        It is, or was, in the store like that: no fix is new in it.

    Raises
    ------
    InvalidField
        If it tells a day that is still to come, of a fix before the car was handed over, or an
        odometer that no car comes to; or adds a fix after something was heard of another.
    """
    today, wording = today or date.today(), wording or trade_wording()
    igniter_job = is_igniter_job(job, wording)
    loads: list[str] = []
    powered_up: tuple[str, ...] = ()
    if not was_so:
        job, loads = without_known_loads(job, base, igniter_job=igniter_job)
        if igniter_job and _is_ending(job, base):
            powered_up = (general_tests().restraints.touched,)
    check_handover(job, base)
    if not was_so:
        check_opening(job, base)
    if base is not None and not was_so:
        check_left_fix(job, base)
    check_odometers(job, base)
    here = timedelta()
    to_come = set() if base is None else set(days_to_come(base, today, here))
    for field, day in days_to_come(job, today, here):
        if (field, day) not in to_come:
            raise InvalidField(field, str(day), "is still to come; write the day it was")
    vinless = replace(job, vehicle=replace(job.vehicle, vin=None))  # it has a field of its own
    new = msgspec.to_builtins(vinless)
    if base:
        new = [each.new for each in differences(base, job) if each.field != "vehicle.vin"]
    known: tuple[Attempt | Contact, ...] = (*base.attempts, *base.contacts) if base else ()
    parts: tuple[Attempt | Contact, ...] = (*job.attempts, *job.contacts)
    open_ends = (untold(part) for part in parts if part not in known)
    personal = (warning for text in _texts(new) for warning in personal_data(text))
    dangers = tuple(dangers_of(job, base, wording))
    unseen = _will_be_hidden(job, base, dangers, wording)
    return Draft(
        job=job,
        base=base,
        notices=tuple(
            dict.fromkeys(
                (
                    *_of_void(job, base),
                    *loads,
                    *powered_up,
                    *_left_of_danger(job, base),
                    *(() if was_so else too_early(job, base)),
                    *notices,
                    *filter(None, open_ends),
                    *unseen,
                    *(_sprayed(job, base) if igniter_job and not dangers else ()),
                    *personal,
                )
            )
        ),
        cautions=cautions_of(Situation.of_job(job), wording),
        igniter_job=igniter_job,
        dangers=dangers,
        account=told,
    )


def _of_void(job: Job, base: Job | None) -> Iterator[str]:
    """Say that what is told of a job counts nowhere."""
    if base is not None and base.void is not None and job.void is not None:
        yield (
            f"Job {base.number} is void ({base.void}), so nothing of it counts; to bring it back: "
            f"kb job void {base.number} --back"
        )


def _will_be_hidden(
    job: Job, base: Job | None, dangers: Sequence[Danger], wording: Wording
) -> Iterator[str]:
    """Say what of a draft will not be shown, where nobody is asked about a danger in it.

    How a value was taken may be added to it; what is dangerous is not to be told otherwise.
    """
    for text in () if dangers else hidden_of(job, base, wording):
        line = f"“{shortened(' '.join(text.split()), 100)}”."
        if is_untold_value(text):
            yield (
                f"Will not be shown, as it may be a meter's on an igniter: {line} If it was a scan "
                "tool's, or a known load was in its place, say so in it."
            )
        else:
            yield f"Will not be shown, as it is not plainly allowed at an igniter: {line}"


def _sprayed(job: Job, base: Job | None) -> Iterator[str]:
    """Name contact spray in a plug of an igniter's circuit."""
    entries = job.entries[len(base.entries) :] if base else job.entries
    for told in sprayed_in(each.text for each in entries):
        yield f"“{shortened(told, 100)}”: {SPRAYED}"


def _texts(value: Any) -> Iterator[str]:
    """Yield every text inside a JSON value."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for item in value:
            yield from _texts(item)


def with_entry(job: Job, kind: EntryKind, text: str) -> Job:
    """Return a job that keeps one text more as it was typed."""
    return replace(job, entries=(*job.entries, JobEntry(kind=kind, text=text)))


def whole_entry(entry: int, text: str) -> SaidAt:
    """Return where all of an entry stands."""
    return SaidAt(entry=entry, start=0, end=len(text))


def kept_odometer(known: int | None, told: Distance | None) -> int | None:
    """Return what an odometer showed: what is known of it, else what the words tell."""
    return known if known is not None or told is None else told.km


def number_of(job: Job) -> int:
    """Return the number of a stored job.

    Raises
    ------
    NoSuchJob
        If it is not stored yet.
    """
    if job.number is None:
        raise NoSuchJob("number: None is no stored job; open it first")
    return job.number


def car_named(vehicle: Vehicle) -> str:
    """Return what a car goes by: its key tag, else its vin, else what it is."""
    return vehicle.ref or vehicle.vin or vehicle.label


def shortened(text: str, limit: int = 50) -> str:
    """Return a text as one line of at most so many characters."""
    line = " ".join(text.split())
    return line if len(line) <= limit else f"{line[: limit - 1]}…"
