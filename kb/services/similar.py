"""Asking the shop's past for similar jobs."""

from dataclasses import dataclass

from kb.case import Complaint
from kb.errors import Notice
from kb.intake.account import Account
from kb.progress import Progress
from kb.recall.recall import Recalled
from kb.services.inquiry import (
    Question,
    cautions_for,
    from_other_cars,
    index_kept,
    inquire,
    likely_jobs,
    not_known,
    of_the_store,
)
from kb.services.knowledge import shop_cards
from kb.services.past_jobs import Match, matches
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
    with UnitOfWork(open_store(address), read_only=True) as work:
        known = shop_cards(work, address, settings, progress)
        asked = inquire(work, known, question)
        recalled = asked.nearest()
        neighbours = recalled.neighbours[:limit]
        jobs = work.jobs.get_many(neighbour.number for neighbour in neighbours)
        told = matches(
            work, asked.complaint, neighbours, jobs, known.index.model, asked.known.wording
        )
    return SimilarAnswer(
        typed=asked.typed,
        account=asked.account,
        complaint=asked.complaint,
        cautions=cautions_for(asked, likely_jobs(neighbours, jobs), jobs),
        notices=(
            *asked.notices,
            *not_known(recalled),
            *_of_all_jobs(recalled, settings),
            *index_kept(known),
            *from_other_cars(asked, recalled, jobs),
        ),
        jobs=recalled.cases,
        matches=told,
    )


def _of_all_jobs(recalled: Recalled, settings: Settings) -> tuple[str, ...]:
    if not recalled.cases:
        return (Notice.NO_JOBS,)
    return of_the_store(recalled, settings)
