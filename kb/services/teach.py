"""Teaching from the shop's past."""

from dataclasses import dataclass

from kb.errors import Notice
from kb.intake.systems import parse_system
from kb.safety.cautions import cautions_for
from kb.services.indexing import shop_wording
from kb.services.knowledge import repairs_of
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from kb.training.lessons import Lesson, lesson


@dataclass(frozen=True, slots=True, kw_only=True)
class Teaching:
    """A lesson, under the cautions that come before it."""

    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    lesson: Lesson
    horizon_days: int


def teach(address: str, system: str, settings: Settings) -> Teaching:
    """Draw the lesson of one system from a store.

    Parameters
    ----------
    address : str
        Of the store.
    system : str
        Name of the system, as `kb.intake.systems.parse_system` reads it.

    Raises
    ------
    KbError
        If the store cannot be opened, or the system cannot be understood.
    """
    wanted = parse_system(system)
    with UnitOfWork(open_store(address), read_only=True) as work:
        jobs = work.jobs.select(system=wanted, state="closed")
        keys = dict.fromkeys(job.cause.key for job in jobs if job.cause)
        known = repairs_of(work, address, keys, settings)
        rates = {key: each.rates for key, each in known.items()}
        drawn = lesson(reversed(jobs), wanted, rates, shop_wording(work))
    return Teaching(
        cautions=cautions_for([wanted]),
        notices=() if drawn.cases else (Notice.NO_CASES,),
        lesson=drawn,
        horizon_days=settings.rates.horizon_days,
    )
