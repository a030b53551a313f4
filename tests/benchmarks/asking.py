"""Asking the matcher and the plain ways one split of cases, and printing how they fared."""

import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from kb.case import Complaint, Job
from kb.diagnosis.diagnose import Diagnosis, Knowledge, diagnose
from kb.evaluation.baselines import Baseline, LogisticRegression
from kb.evaluation.figures import Answer, Figures, Truth, figures
from kb.evaluation.learning import learn
from kb.evaluation.stages import AskedAs
from kb.intake.wording import Wording
from kb.recall.hashing import key
from kb.recall.index import Index, cause_key
from kb.settings import Settings
from tests.benchmarks.datasets import Split

WORDING, DEFAULTS = Wording.default(), Settings()
HEAD = (
    f"{'':<34}{'top-1':>7}{'top-3':>7}{'top-5':>7}{'said':>7}{'ECE':>7}{'luck':>7}{'log loss':>10}"
)


class Fold:
    """Some cases known, others asked; what is costly is made once, when first needed."""

    def __init__(self, split: Split, asked_as: AskedAs = Complaint.of) -> None:
        self.known = sorted(split[0], key=lambda job: (job.opened, job.number or 0))
        self.asked = split[1]
        self.asked_as = asked_as

    @cached_property
    def index(self) -> Index:
        """What the matcher makes of the known cases."""
        return Index.fit(self.known, WORDING, DEFAULTS)

    @cached_property
    def learnt(self) -> Settings:
        """Weights learnt from the known cases alone."""
        start = time.monotonic()
        settings = learn(self.known, WORDING, DEFAULTS, asked_as=self.asked_as)
        progress(f"learnt from {len(self.known)} cases in {time.monotonic() - start:.0f} s")
        return settings

    @cached_property
    def times_seen(self) -> Counter[int]:
        """How often each cause is among the known cases."""
        return Counter(map(cause_of, self.known))

    @property
    def truths(self) -> list[Truth]:
        """What each asked case proved to have."""
        causes = map(cause_of, self.asked)
        return [Truth(cause=cause, new=cause not in self.times_seen) for cause in causes]

    def answers(
        self, settings: Settings, index: Index | None = None, asked_as: AskedAs | None = None
    ) -> list[Answer]:
        """Ask the matcher; where nothing else is said of the fold's index, in the fold's way."""
        found = (self.diagnosis(job, settings, index, asked_as) for job in self.asked)
        return [Answer.of(each.ranking) for each in found]

    def diagnosis(
        self,
        job: Job,
        settings: Settings,
        index: Index | None = None,
        asked_as: AskedAs | None = None,
    ) -> Diagnosis:
        """Ask about one case as `answers` does."""
        known = Knowledge(wording=WORDING, index=index or self.index, settings=settings)
        return diagnose((asked_as or self.asked_as)(job), known, on=job.opened)

    def plain(self, baseline: Baseline, *, dated: bool) -> list[Answer]:
        """Ask a plain way, which leaves Good-Turing's share for what it cannot name."""
        start = time.monotonic()
        left = (sum(times == 1 for times in self.times_seen.values()) + 0.5) / (len(self.known) + 1)
        known = [_as_asked(job, self.asked_as) for job in self.known]
        asked = [self.asked_as(job) for job in self.asked]
        if dated and isinstance(baseline, LogisticRegression):
            said = baseline.rank(known, asked, [job.opened for job in self.asked])
        else:
            said = baseline.rank(known, asked)
        progress(f"{baseline.name} in {time.monotonic() - start:.0f} s")
        return [Answer.leaving(chances, left) for chances in said]


@dataclass(frozen=True, slots=True)
class Shop:
    """Cases with their folds."""

    name: str
    jobs: Sequence[Job]
    folds: Sequence[Fold]

    @classmethod
    def of(
        cls,
        name: str,
        jobs: Sequence[Job],
        splits: Iterable[Split],
        asked_as: AskedAs = Complaint.of,
    ) -> "Shop":
        """Make the folds of some splits."""
        return cls(name, jobs, [Fold(split, asked_as) for split in splits])


class Table:
    """Answers of several ways to the same questions, and what they come to."""

    def __init__(self) -> None:
        self._answers: dict[str, list[Answer]] = defaultdict(list)
        self._truths: dict[str, list[Truth]] = defaultdict(list)

    def add(self, name: str, answers: Iterable[Answer], truths: Iterable[Truth]) -> None:
        """Add answers of one way."""
        self._answers[name].extend(answers)
        self._truths[name].extend(truths)

    def so_far(self, name: str) -> str:
        """Return one way's figures in a line."""
        found = figures(self._answers[name], self._truths[name])
        return (
            f"{name}: top-1 {found.first:.3f}, top-3 {found.first_three:.3f}, "
            f"ECE {found.calibration_error or 0.0:.3f}, log loss {found.log_loss:.3f}"
        )

    @property
    def figures(self) -> Mapping[str, Figures]:
        """How good each way is."""
        return {name: figures(said, self._truths[name]) for name, said in self._answers.items()}

    def show(self, title: str) -> Mapping[str, Figures]:
        """Print one line a way, and return the figures.

        Beside the calibration error: the mean chance said of the first cause (above top-1 it is too
        sure, below not sure enough), and the error that honest chances stay below by luck.
        """
        found = self.figures
        count = next(iter(found.values())).questions
        print(f"\n{title}, {count} questions\n{HEAD}", flush=True)
        for name, each in found.items():
            said = sum(some.chance * some.count for some in each.calibration) / count
            error, luck = each.calibration_error or 0.0, each.calibration_luck or 0.0
            print(
                f"{name:<34}{each.first:>7.3f}{each.first_three:>7.3f}{each.first_five:>7.3f}"
                f"{said:>7.3f}{error:>7.3f}{luck:>7.3f}{each.log_loss:>10.3f}",
                flush=True,
            )
        if "learnt" in found:
            held = (f"{each.chance:.2f} {each.share:.2f}" for each in found["learnt"].calibration)
            print(f"  said and right, learnt: {', '.join(held)}", flush=True)
        return found


def target(what: str, value: float, least: float | None = None, most: float | None = None) -> None:
    """Print a figure beside what it must reach."""
    met = value >= least if least is not None else value <= (most or 0.0)
    bound = f"at least {least:.3f}" if least is not None else f"at most {most:.3f}"
    print(f"  {'met   ' if met else 'MISSED'} {what}: {value:.3f}, {bound}", flush=True)


def progress(text: str) -> None:
    """Say on the error stream what is done."""
    print(f"    {time.strftime('%H:%M:%S')} {text}", file=sys.stderr, flush=True)


def cause_of(job: Job) -> int:
    """Return the key of a case's cause."""
    return key(cause_key(job))


def both(fold: Fold) -> dict[str, Callable[[], Settings]]:
    """Return the weights a fold is asked with: the defaults, and the ones it has learnt."""
    return {"defaults": lambda: DEFAULTS, "learnt": lambda: fold.learnt}


def _as_asked(job: Job, asked_as: AskedAs) -> Job:
    """Return a case as a plain way is to know it: with what would be asked of it, no more."""
    complaint = asked_as(job)
    return replace(job, complaint=complaint.text or "-", tests=complaint.tests)
