"""The weights a shop has learnt from its own closed jobs, kept beside the index."""

from dataclasses import dataclass, replace
from datetime import date

import msgspec

from kb.settings import Settings, Weight
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

FILE = "weights.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What the shop's newest cases, asked in time order, said of the defaults and of its weights.

    Log losses, lower is better; of 'better' see `kb.evaluation.learning.is_better`.
    """

    questions: int
    with_defaults: float
    with_learnt: float
    better: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What was learnt, from how many cases and when.

    `moment` is when the store's change number `sequence` was made: weights belong to one store.
    """

    on: date
    cases: int
    sequence: int
    moment: str
    measured: Measured
    intercept: float
    vote_power: float
    signals: dict[str, Weight]
    pool_jobs: float
    pool_model: float
    named: float
    first_shift: float
    first_slope: float
    unseen_intercept: float
    unseen_weights: dict[str, float]
    usual_near: dict[str, float]
    usual_near_of_any: float
    new_model_first: float
    new_model_shift: float

    def over(self, settings: Settings) -> Settings:
        """Return the settings with the learnt weights in the place of the defaults."""
        return replace(
            settings,
            recall=replace(
                settings.recall,
                intercept=self.intercept,
                vote_power=self.vote_power,
                weights={
                    name: self.signals.get(name, weight)
                    for name, weight in settings.recall.weights.items()
                },
            ),
            diagnosis=replace(
                settings.diagnosis,
                pool_jobs=self.pool_jobs,
                pool_model=self.pool_model,
                named=self.named,
                first_shift=self.first_shift,
                first_slope=self.first_slope,
                unseen_intercept=self.unseen_intercept,
                unseen_weights=self.unseen_weights,
                usual_near={int(key): v for key, v in self.usual_near.items()},
                usual_near_of_any=self.usual_near_of_any,
                new_model_first=self.new_model_first,
                new_model_shift=self.new_model_shift,
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """The weights in force, the defaults, and what was learnt; None where nothing was yet."""

    in_force: Settings
    defaults: Settings
    learnt: Learnt | None
    cases: int

    @property
    def due(self) -> bool:
        """Whether the store has grown enough since to learn again."""
        recall = self.defaults.recall
        before = self.learnt.cases if self.learnt else 0
        return self.cases >= max(recall.learn_least, before * (1 + recall.refit_share))


def shop_settings(work: UnitOfWork, address: str, settings: Settings) -> Settings:
    """Return the settings with the shop's own weights, where it has learnt better ones."""
    learnt = _read(work, address)
    return learnt.over(settings) if learnt and learnt.measured.better else settings


def weights(address: str, settings: Settings) -> Weights:
    """Return the weights in force."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        return weights_in(work, address, settings)


def weights_in(work: UnitOfWork, address: str, settings: Settings) -> Weights:
    """Return the weights in force in a store that is open already."""
    return Weights(
        in_force=shop_settings(work, address, settings),
        defaults=settings,
        learnt=_read(work, address),
        cases=work.jobs.count_cases(),
    )


def _read(work: UnitOfWork, address: str) -> Learnt | None:
    """Read what was learnt from this very store; None where nothing was, or it cannot be read."""
    try:
        content = (index_folder(address) / FILE).read_bytes()
        learnt = msgspec.json.decode(content, type=Learnt)
    except (OSError, msgspec.DecodeError):
        return None
    return learnt if learnt.moment == moment_of(work, learnt.sequence) else None


def moment_of(work: UnitOfWork, sequence: int) -> str:
    """Return what tells this store from another: when one of its changes was made."""
    moment = work.changes.moment(sequence)
    return moment.isoformat() if moment else "empty"
