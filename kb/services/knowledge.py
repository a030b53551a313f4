"""What a store knows, brought together to be asked: words, weights, index, vehicles, fix rates."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import partial

from kb.case import Cause, RepairRecord
from kb.diagnosis.diagnose import Knowledge
from kb.diagnosis.proposals import Unreviewed
from kb.progress import Progress
from kb.rates.doubt import found_wrong, stands
from kb.rates.fixes import FixRate, Relearn, fix_rates
from kb.rates.shrinkage import StagedHistory
from kb.safety.job_words import FIT
from kb.services.advisable import is_advised, only_advisable
from kb.services.fix_history import relearning, wider_history
from kb.services.found_wrong import came_back
from kb.services.indexing import current_cards, current_index, shop_wording
from kb.services.kept_rates import CauseRepairs, KeptRates, last_proved
from kb.services.proposed import proposed
from kb.services.weights import kept_weights
from kb.settings import RateSettings, Settings
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork

CauseKey = tuple[str, str, str]
"""As `kb.case.Cause.key`."""


def shop_knowledge(
    work: UnitOfWork, address: str, settings: Settings, progress: Progress | None = None
) -> Knowledge:
    """Bring together what a complaint is asked of, as the store is now.

    Parameters
    ----------
    settings : Settings
        Before the shop's own weights are put into them.
    progress : callable, optional
        Told of past jobs read, should the index have to be fitted.
    """
    wording, weights = shop_wording(work), kept_weights(work, address)
    return Knowledge(
        wording=wording,
        settings=weights.over(settings),
        weights_lost=weights.lost,
        index=current_index(work, address, wording, settings, progress),
        models=work.models.all(),
        stands=partial(_stands, work),
        places=work.repairs.placed,
    )


def _stands(work: UnitOfWork, numbers: Collection[int]) -> dict[int, float]:
    """Return as what share those of some cases count whose cars came back."""
    wrong = found_wrong(came_back(work))
    shares = {each.number: stands(each) for each in work.repairs.of_jobs(numbers)}
    shares |= {each.number: 0.0 for each in wrong if each.number in shares}
    return {number: share for number, share in shares.items() if share < 1}


def shop_cards(
    work: UnitOfWork, address: str, settings: Settings, progress: Progress | None = None
) -> Knowledge:
    """Bring together what every past job is looked for by, with a cause or without; likewise."""
    wording, weights = shop_wording(work), kept_weights(work, address)
    return Knowledge(
        wording=wording,
        settings=weights.over(settings),
        weights_lost=weights.lost,
        index=current_cards(work, address, wording, settings, progress),
        models=work.models.all(),
    )


LEAST_WAITING = 0.05
"""Fewer jobs than this share of the cases, waiting for an answer, are work in hand, and change
nothing worth the time (by judgement)."""


def few_wait(waiting: int, cases: int) -> bool:
    """Whether so few jobs wait for a cause that nothing is proposed of them."""
    return waiting <= LEAST_WAITING * cases


def with_unreviewed(
    known: Knowledge,
    work: UnitOfWork,
    address: str,
    settings: Settings,
    *,
    today: date,
    without: int | None = None,
    progress: Progress | None = None,
) -> Knowledge:
    """Return what is known with the cards that wait for an answer, if there are enough.

    A job that is asked about, `without`, is none of them.
    """
    waiting = work.jobs.count() - len(known.index) - (without is not None)
    if few_wait(waiting, len(known.index)):
        return known
    every = proposed(work, address, today=today, progress=progress)
    cases = {number: case for number, case in every.items() if number != without}
    if few_wait(len(cases), len(known.index)):
        return known
    cards = current_cards(work, address, known.wording, settings, progress)
    jobs = work.jobs.get_many
    return replace(known, unreviewed=Unreviewed(index=cards, cases=cases, jobs=jobs))


def fit_rate(rate: FixRate) -> FixRate:
    """Return a fix whose name may be shown."""
    return replace(
        rate, component=FIT.named(rate.component), words=rate.words and FIT.shown(rate.words)
    )


def shop_causes(work: UnitOfWork) -> list[Cause]:
    """Every cause that the shop has a name for: proved, or only mended for."""
    return [*(cause for cause, _ in work.repairs.causes()), *work.repairs.supposed()]


def repairs_of(
    work: UnitOfWork, address: str, keys: Collection[CauseKey], settings: Settings
) -> Mapping[CauseKey, CauseRepairs]:
    """Rate the fixes of some causes, the same wherever they are shown.

    Rates rest on every case of the cause, on later visits and contacts, and on the wider history
    of all fixes of the store; fixes that nobody should repeat have none. Those of common causes
    are kept until something changes.
    """
    if not keys:
        return {}
    history = wider_history(work, address, settings)
    made_of = (settings.rates, history, work.names.vocabulary())
    kept = KeptRates.of_store(work, address, made_of)
    known = {key: found for key in keys if (found := kept.read(key))}
    cases = work.repairs.of_causes([key for key in keys if key not in known])
    relearn = relearning(work, address, settings)
    for key in keys:
        if key not in known:
            known[key] = _rated(key, cases[cause_digest(key)], settings.rates, history, relearn)
            kept.keep(key, known[key])
    return known


def _rated(
    key: CauseKey,
    cases: Sequence[RepairRecord],
    settings: RateSettings,
    history: StagedHistory | None,
    relearn: Relearn | None,
) -> CauseRepairs:
    cause = cause_digest(key)
    proved = [each for each in cases if each.cause == cause]
    rates = fix_rates(only_advisable(cases, key), settings, history, cause=cause, relearn=relearn)
    return CauseRepairs(
        cases=len(proved),
        last_proved=last_proved(proved),
        rates=tuple(rate for rate in rates if is_advised(rate)),
    )
