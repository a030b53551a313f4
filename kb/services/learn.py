"""Learning the shop's own weights from its closed jobs."""

from datetime import date

from kb.errors import TooFew
from kb.evaluation.learning import is_better, learn
from kb.intake.grammar import agreeing
from kb.progress import Progress
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
    then from all.

    Raises
    ------
    OnlyDemonstration
        If the store is the demonstration shop; a copy of it may learn.
    TooFew
        If the store has too few cases.
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
        cases = list(work.jobs.all(cases_only=True))
        wording, models = shop_wording(work), work.models.all()
        sequence = work.changes.last()
        measured = is_better(cases, wording, settings, models, progress)
        found = learn(cases, wording, settings, models=models, progress=progress)
        learnt = Learnt.of(
            found,
            on=date.today(),
            cases=count,
            sequence=sequence,
            moment=moment_of(work, sequence),
            measured=measured,
        )
        write_kept(index_folder(address) / FILE, learnt)
        return weights_in(work, address, settings)
