"""Asking the shop's past for similar jobs."""

from dataclasses import dataclass
from datetime import date

from kb.case import Complaint
from kb.errors import Notice
from kb.intake.account import Account
from kb.progress import Progress
from kb.recall.recall import Recalled
from kb.services.indexing import answered_anew, refuse_astray
from kb.services.inquiry import (
    InSight,
    Question,
    cautions_for,
    from_other_cars,
    inquire,
    not_kept,
    not_known,
    of_the_store,
)
from kb.services.knowledge import shop_cards
from kb.services.past_jobs import Match, matches
from kb.services.proposed import proposed
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class SimilarAnswer:
    """Similar past jobs, nearest first, under the cautions that come before them.

    `typed` are the words asked with, `account` tells what became of them; `jobs` are those in
    question, with a cause or without.
    """

    typed: str
    account: Account
    complaint: Complaint
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    jobs: int
    matches: tuple[Match, ...]


def similar(
    address: str,
    question: Question,
    settings: Settings,
    *,
    limit: int = 10,
    progress: Progress | None = None,
) -> SimilarAnswer:
    """Find the past jobs most like a complaint, open or closed, with a cause or without.

    Raises
    ------
    KbError
        If the store cannot be opened, or something typed cannot be understood.
    """

    def asked(may_be_astray: bool) -> SimilarAnswer:
        return _similar(
            address, question, settings, limit=limit, progress=progress, hold=may_be_astray
        )

    return answered_anew(asked, address, settings, progress)


def _similar(
    address: str,
    question: Question,
    settings: Settings,
    *,
    limit: int,
    progress: Progress | None,
    hold: bool,
) -> SimilarAnswer:
    """Answer with the index as it is; with `hold`, only if what it recalls is as in the store."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        known = shop_cards(work, address, settings, progress)
        asked = inquire(work, known, question)
        recalled = asked.nearest()
        neighbours = recalled.neighbours[:limit]
        jobs = work.jobs.get_many(neighbour.number for neighbour in neighbours)
        if hold:
            refuse_astray(known.index, jobs)
        waits = any(job.cause is None for job in jobs)
        cards = proposed(work, address, today=date.today(), progress=progress) if waits else {}
        told = matches(
            work, asked.complaint, neighbours, jobs, known.index.model, asked.known.wording, cards
        )
    return SimilarAnswer(
        typed=asked.typed,
        account=asked.account,
        complaint=asked.complaint,
        cautions=cautions_for(
            asked,
            [InSight.of_job(job, near.chance) for near, job in zip(neighbours, jobs, strict=True)],
        ),
        notices=(
            *asked.notices,
            *not_known(recalled),
            *_of_all_jobs(recalled, settings),
            *not_kept(known),
            *from_other_cars(asked, recalled, jobs),
        ),
        jobs=recalled.cases,
        matches=told,
    )


def _of_all_jobs(recalled: Recalled, settings: Settings) -> tuple[str, ...]:
    if not recalled.cases:
        return (Notice.NO_JOBS,)
    return of_the_store(recalled, settings)
