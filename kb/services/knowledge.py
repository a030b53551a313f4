"""What a store knows, brought together to be asked: words, weights, index, vehicles, fix rates."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from kb.case import RepairRecord
from kb.diagnosis.diagnose import Knowledge
from kb.progress import Progress
from kb.rates.fixes import FixRate, fix_rates
from kb.safety.job_words import FIT
from kb.services.advisable import is_advised, only_advisable
from kb.services.fix_history import wider_history
from kb.services.indexing import current_index, shop_wording
from kb.services.weights import shop_settings
from kb.settings import Settings
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
    wording = shop_wording(work)
    return Knowledge(
        wording=wording,
        settings=shop_settings(work, address, settings),
        index=current_index(work, address, wording, settings, progress),
        models=work.models.all(),
    )


@dataclass(frozen=True, slots=True)
class CauseRepairs:
    """Every case of one cause, and how well each fix tried on them worked, the best first."""

    repairs: tuple[RepairRecord, ...]
    rates: tuple[FixRate, ...]


def fit_rate(rate: FixRate) -> FixRate:
    """Return a fix whose name may be shown."""
    return replace(
        rate, component=FIT.named(rate.component), words=rate.words and FIT.shown(rate.words)
    )


def repairs_of(
    work: UnitOfWork, address: str, keys: Collection[CauseKey], settings: Settings
) -> Mapping[CauseKey, CauseRepairs]:
    """Rate the fixes of some causes, the same wherever they are shown.

    Rates rest on every case of the cause, on later visits and contacts, and on the wider history
    of all fixes of the store; fixes that nobody should repeat have none.
    """
    if not keys:
        return {}
    found = work.repairs.of_causes(keys)
    history = wider_history(work, address, settings)
    rated = {
        key: fix_rates(only_advisable(found[cause_digest(key)], key), settings.rates, history)
        for key in keys
    }
    return {
        key: CauseRepairs(
            tuple(found[cause_digest(key)]), tuple(rate for rate in rates if is_advised(rate))
        )
        for key, rates in rated.items()
    }
