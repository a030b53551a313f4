"""The weights a shop has learnt from its own closed jobs, kept beside the index."""

from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Any, Self

from kb.evaluation.figures import WeightsTrial
from kb.services.indexing import WEIGHTS_FILE, moment_of
from kb.services.kept_json import NOT_KEPT, read_kept
from kb.settings import DiagnosisSettings, Settings, Weight
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

FILE = WEIGHTS_FILE


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What was learnt, from how many cases and when.

    `moment` is when the store's change number `sequence` was made: weights belong to one store.
    Of more cases only the `newest` were looked at. Where it was `stopped`, what counts was learnt
    without those that it was tried on.
    """

    on: date
    cases: int
    sequence: int
    moment: str
    measured: WeightsTrial
    intercept: float
    vote_power: float
    signals: dict[str, Weight]
    pool_jobs: float
    pool_model: float
    named: float
    subject: float
    first_shift: float
    first_slope: float
    unseen_intercept: float
    unseen_weights: dict[str, float]
    usual_near: dict[str, float]
    usual_near_of_any: float
    new_model_first: float
    new_model_shift: float
    newest: int | None = None
    stopped: bool = False

    @classmethod
    def of(cls, found: Settings, **told: Any) -> Self:
        """Take what was learnt out of the settings with it; `told` are the other fields."""
        return cls(
            **told,
            **{name: getattr(found.diagnosis, name) for name in _OPINIONS},
            intercept=found.recall.intercept,
            vote_power=found.recall.vote_power,
            signals=dict(found.recall.weights),
            usual_near={str(cause): near for cause, near in found.diagnosis.usual_near.items()},
        )

    def over(self, settings: Settings) -> Settings:
        """Return the settings with the learnt weights in the place of the defaults."""
        opinions: dict[str, Any] = {name: getattr(self, name) for name in _OPINIONS}
        near = {int(cause): near for cause, near in self.usual_near.items()}
        known, strange = settings.recall.weights, settings.diagnosis.unseen_weights
        opinions["unseen_weights"] = {
            name: self.unseen_weights.get(name, weight) for name, weight in strange.items()
        }
        return replace(
            settings,
            recall=replace(
                settings.recall,
                intercept=self.intercept,
                vote_power=self.vote_power,
                weights={name: self.signals.get(name, weight) for name, weight in known.items()},
            ),
            diagnosis=replace(settings.diagnosis, **opinions, usual_near=near),
        )


_OPINIONS = {field.name for field in fields(Learnt)} & {
    field.name for field in fields(DiagnosisSettings)
} - {"usual_near"}
"""What is kept as the settings have it, under the same name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """The weights in force, the defaults, and what was learnt; None where nothing was yet.

    `lost` tells that something was, and that its file cannot be read any more.
    """

    in_force: Settings
    defaults: Settings
    learnt: Learnt | None
    cases: int
    lost: bool = False

    @property
    def due(self) -> bool:
        """Whether the store has grown enough since to learn again."""
        recall = self.defaults.recall
        before = self.learnt.cases if self.learnt else 0
        return self.cases >= max(recall.learn_least, before * (1 + recall.refit_share))


@dataclass(frozen=True, slots=True)
class KeptWeights:
    """What is kept beside a store of its weights, None where nothing is; `lost` if damaged."""

    learnt: Learnt | None = None
    lost: bool = False

    def over(self, settings: Settings) -> Settings:
        """Return the settings with the shop's own weights, where it has learnt better ones."""
        better = self.learnt is not None and self.learnt.measured.better
        return self.learnt.over(settings) if self.learnt and better else settings


def weights(address: str, settings: Settings) -> Weights:
    """Return the weights in force."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        return weights_in(work, address, settings)


def weights_in(work: UnitOfWork, address: str, settings: Settings) -> Weights:
    """Return the weights in force in a store that is open already."""
    kept = kept_weights(work, address)
    return Weights(
        in_force=kept.over(settings),
        defaults=settings,
        learnt=kept.learnt,
        cases=work.jobs.count_cases(),
        lost=kept.lost,
    )


def kept_weights(work: UnitOfWork, address: str) -> KeptWeights:
    """Read what was learnt from this very store, if anything was, and can be read."""
    path = index_folder(address) / FILE
    try:
        learnt = read_kept(path, Learnt)
    except (FileNotFoundError, NotADirectoryError):
        return KeptWeights(lost=path.is_symlink())  # one that leads nowhere
    except NOT_KEPT:
        return KeptWeights(lost=True)
    return KeptWeights(learnt if learnt.moment == moment_of(work, learnt.sequence) else None)
