"""Learning the shop's own weights from its closed jobs."""

from datetime import date

from kb.errors import TooFew
from kb.evaluation.learning import (
    LEARNT_MOST,
    is_better,
    learn,
    steps_to_learn,
    steps_to_try,
)
from kb.intake.grammar import agreeing
from kb.progress import Progress, in_parts
from kb.services.indexing import moment_of, shop_wording
from kb.services.kept_json import write_kept
from kb.services.weights import FILE, Learnt, Weights, weights_in
from kb.settings import Settings
from kb.store.address import index_folder, must_be_changeable
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


def learn_weights(address: str, settings: Settings, progress: Progress | None = None) -> Weights:
    """Learn weights from the closed jobs, and put them in force if they are better.

    They are learnt first without the newest cases and held against the defaults on these; only
    then from all. Of more than `LEARNT_MOST` cases the newest are taken. Whoever stops it once they
    were tried keeps what was learnt by then.

    Raises
    ------
    OnlyDemonstration
        If the store is the demonstration shop; a copy of it may learn.
    TooFew
        If the store has too few cases.
    KeyboardInterrupt
        If it is stopped before they were tried; nothing is kept then.
    """
    must_be_changeable(address)
    with UnitOfWork(open_store(address), read_only=True) as work:
        least = settings.recall.learn_least
        if (count := work.jobs.count_cases()) < least:
            raise TooFew(
                f"jobs: {agreeing(count, 'closed with a cause is', 'closed with a cause are')} too "
                f"few to learn from; "
                f"it takes {least}, until then the defaults hold"
            )
        cases = work.jobs.select(state="closed", limit=LEARNT_MOST)
        wording, models = shop_wording(work), work.models.all()
        sequence = work.changes.last()
        once = steps_to_learn(len(cases), settings)
        trying, learning = in_parts(progress, once + steps_to_try(len(cases)), once)
        tried = is_better(cases, wording, settings, models, trying)
        found, stopped = tried.learnt, tried.stopped
        if not stopped:
            try:
                found = learn(cases, wording, settings, models=models, progress=learning)
            except KeyboardInterrupt:
                stopped = True
        learnt = Learnt.of(
            found,
            on=date.today(),
            cases=count,
            sequence=sequence,
            moment=moment_of(work, sequence),
            measured=tried.measured,
            newest=len(cases) if len(cases) < count else None,
            stopped=stopped,
        )
        write_kept(index_folder(address) / FILE, learnt)
        return weights_in(work, address, settings)
