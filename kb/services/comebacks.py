"""What came back and what was tried in vain, over the whole shop or by one person."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from functools import cached_property

from kb.case import Job, RepairRecord, even
from kb.errors import Notice
from kb.progress import Progress
from kb.rates.trials import Trial, trials
from kb.rates.waste import (
    MAKER_NOT_TOLD,
    Waste,
    apart_by_maker,
    fix_of,
    maker_of,
    wasted,
)
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.job_words import FIT
from kb.services.advisable import only_advisable, withheld_jobs
from kb.services.closed_cases import closed_between, read_cases
from kb.services.fixes import closed_ahead, one_hand, unseen_returns, withheld
from kb.services.indexing import shop_wording
from kb.settings import RateSettings, Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


class WorkKind(StrEnum):
    """What work is told apart by."""

    FIX = "fix"
    ACTION = "action"
    CAUSE = "cause"
    MODEL = "model"
    MAKER = "maker"


@dataclass(frozen=True, slots=True, kw_only=True)
class Comebacks:
    """What of a shop's work was for nothing, the most first, of `cases` closed in these days.

    `whole` is all of it together; of `without_loss` kinds nothing is known to have been for
    nothing and no return is to be judged, and they have no row. With `by` it is one person's own
    work. By maker all is of parts that were fitted: of `parts` jobs' parts the maker of
    `maker_not_told` is not; both are None otherwise.
    """

    kind: WorkKind
    by: str | None
    since: date | None
    until: date | None
    cases: int
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    whole: Waste | None
    rows: tuple[Waste, ...]
    without_loss: int
    parts: int | None = None
    maker_not_told: int | None = None


def comebacks(
    address: str,
    settings: Settings,
    *,
    kind: WorkKind = WorkKind.FIX,
    by: str | None = None,
    since: date | None = None,
    until: date | None = None,
    progress: Progress | None = None,
) -> Comebacks:
    """Count what came back and what was in vain, as fix rates count it.

    Raises
    ------
    InvalidField
        If `until` lies before `since`.
    """
    within, mine = closed_between(since, until), even(by) if by else None
    with UnitOfWork(open_store(address), read_only=True) as work:
        cases = read_cases(
            work,
            progress,
            lambda job: within(job) and mine in {None, even(job.technician or "")},
            lists={"attempts"},
        )
        return comebacks_of(work, trials_of(work, cases, settings), kind=kind, by=by)


@dataclass(frozen=True)
class TrialsOfCases:
    """All that was tried on some cases, by number, for whatever it is counted.

    `advisable` are the repairs without what nobody should repeat, whose trials these are by the
    settings `rates`; `untagged` are cases whose car nothing tells from others. The cases of `ahead`
    are left out: their day of closing is yet to come.
    """

    cases: Mapping[int, Job]
    repairs: Sequence[RepairRecord]
    advisable: Sequence[RepairRecord]
    rates: RateSettings
    trials: Sequence[Trial]
    untagged: Collection[int]
    ahead: tuple[int, ...] = ()

    @cached_property
    def whole(self) -> Waste | None:
        """What of all of it together was for nothing; None if nothing was tried."""
        return _together(self.trials)

    @cached_property
    def unseen(self) -> tuple[str, ...]:
        """What is said of cars whose return nobody would see."""
        return tuple(unseen_returns(self.repairs, self.untagged))

    @cached_property
    def heard_by_one(self) -> tuple[str, ...]:
        """What is said where most was heard by one person."""
        return tuple(one_hand(self.repairs))

    @cached_property
    def withheld(self) -> frozenset[int]:
        """Cases whose last fix counts nowhere, whatever it is told to have cured."""
        return frozenset(withheld_jobs(self.advisable))

    def counted_by(self, kind: WorkKind) -> Sequence[Trial]:
        """Return what counts by a kind of work: by maker parts alone, each maker's by itself."""
        if kind is not WorkKind.MAKER:
            return self.trials
        known = self.trials
        if any(tried.part_maker for repair in self.repairs for tried in repair.attempts):
            known = list(trials(apart_by_maker(self.advisable), self.rates))
        return [each for each in known if maker_of(each)]


def trials_of(work: UnitOfWork, jobs: Iterable[Job], settings: Settings) -> TrialsOfCases:
    """Tell what was tried on cases read before, and how it ended."""
    cases = {job.number: job for job in jobs if job.number is not None}
    repairs = [each for each in work.repairs.all() if each.number in cases]
    advisable = only_advisable(repairs)
    known = list(trials(advisable, settings.rates))
    untagged = work.repairs.untagged()
    ahead = tuple(sorted(cases.keys() - {each.number for each in repairs}))
    cases = {number: job for number, job in cases.items() if number not in ahead}
    return TrialsOfCases(cases, repairs, advisable, settings.rates, known, untagged, ahead)


def comebacks_of(
    work: UnitOfWork, tried: TrialsOfCases, *, kind: WorkKind, by: str | None = None
) -> Comebacks:
    """Count what came back of what was tried."""
    cases, known = tried.cases, tried.counted_by(kind)
    kinds = wasted(known, lambda trial: _kind(trial, cases, kind))
    rows = tuple(replace(row, what=FIT.named(row.what)) for row in kinds if row.may_be_lost)
    numbers = {number for row in rows for number in (*row.jobs, *row.to_judge)}
    lost = [cases[number] for number in sorted(numbers)]
    days = [job.closed for job in cases.values() if job.closed]
    return Comebacks(
        kind=kind,
        by=by,
        since=min(days, default=None),
        until=max(days, default=None),
        cases=len(cases),
        cautions=cautions_of_list(
            Situation.of_causes(
                [job.cause for job in lost if job.cause], (job.system for job in lost)
            ),
            shop_wording(work),
        ),
        notices=(
            *withheld(sorted(tried.withheld)),
            *closed_ahead(tried.ahead),
            *tried.unseen,
            *(() if by else tried.heard_by_one),
        )
        if cases
        else (Notice.NO_CASES, *closed_ahead(tried.ahead)),
        whole=_together(known) if kind is WorkKind.MAKER else tried.whole,
        rows=rows,
        without_loss=len(kinds) - len(rows),
        **_makers_told(known) if kind is WorkKind.MAKER else {},
    )


def _together(known: Iterable[Trial]) -> Waste | None:
    return next(iter(wasted(known, lambda _: "all of it")), None)


def _makers_told(parts: Sequence[Trial]) -> dict[str, int]:
    untold = sum(maker_of(each) == MAKER_NOT_TOLD for each in parts)
    return {"parts": len(parts), "maker_not_told": untold}


def _kind(trial: Trial, cases: Mapping[int, Job], kind: WorkKind) -> str | None:
    """Return what a trial counts as."""
    job = cases[trial.job]
    if kind is WorkKind.FIX:
        return fix_of(trial)
    if kind is WorkKind.ACTION:
        return str(trial.tried.action)
    if kind is WorkKind.MAKER:
        return maker_of(trial)
    if kind is WorkKind.CAUSE:
        cause = (trial.left and job.attempts[-1].supposed) or job.cause
        return None if cause is None else cause.label
    return " ".join(filter(None, (job.vehicle.make, job.vehicle.model))) or None
