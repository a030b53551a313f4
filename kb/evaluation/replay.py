"""Ask past cases again as if their cause were not known, and keep what would have been said."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kb.case import Complaint, Job
from kb.diagnosis.causes import Ranking, rank
from kb.evaluation.metrics import Rank
from kb.intake.wording import Wording
from kb.recall.hashing import key
from kb.recall.index import Index, cause_key
from kb.recall.recall import recall
from kb.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Replayed:
    """One case asked again.

    Attributes
    ----------
    job : Job
    ranking : Ranking
    rank : int or None
        Place of the true cause, from 1; None where it was not among those ranked.
    """

    job: Job
    ranking: Ranking
    rank: Rank


def replay(
    known: Sequence[Job], asked: Sequence[Job], wording: Wording, settings: Settings
) -> Iterator[Replayed]:
    """Ask each case of one set against an index of another.

    Parameters
    ----------
    known, asked : sequence of Job
        Cases; a case in both is not recalled for itself.
    wording : Wording
    settings : Settings
    """
    index = Index.fit(known, wording, settings.readings)
    for job in asked:
        without = [job.number] if job.number is not None else []
        found = recall(Complaint.of(job), index, wording, settings.recall, without=without)
        ranking = rank(found, settings.diagnosis)
        yield Replayed(job=job, ranking=ranking, rank=_place(job, ranking))


def _place(job: Job, ranking: Ranking) -> Rank:
    truth = key(cause_key(job))
    causes = [each.cause for each in ranking.causes]
    return causes.index(truth) + 1 if truth in causes else None
