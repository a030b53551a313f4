"""Teaching from the shop's past."""

from dataclasses import dataclass

from kb.errors import Notice
from kb.intake.systems import parse_system
from kb.rates.returns import system_of
from kb.safety.hazards import Situation, cautions_of
from kb.services.indexing import shop_wording
from kb.services.knowledge import fit_rate, repairs_of
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


def teach(address: str, system: str, settings: Settings) -> Teaching:
    """Draw the lesson of one system from a store."""
    wanted = parse_system(system)
    with UnitOfWork(open_store(address), read_only=True) as work:
        jobs = [
            job
            for job in work.jobs.select(system=wanted, or_unnamed=True, state="closed")
            if system_of(job.system, job.complaint) is wanted
        ]
        keys = dict.fromkeys(job.cause.key for job in jobs if job.cause)
        known = repairs_of(work, address, keys, settings)
        rates = {key: tuple(map(fit_rate, each.rates)) for key, each in known.items()}
        wording = shop_wording(work)
        drawn = lesson(reversed(jobs), wanted, rates, wording)
    return Teaching(
        cautions=cautions_of(
            Situation.of_causes((job.cause for job in jobs if job.cause), (wanted,)), wording
        ),
        notices=() if drawn.cases else (Notice.NO_CASES,),
        lesson=drawn,
    )
