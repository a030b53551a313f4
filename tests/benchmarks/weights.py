"""Fit what each signal weighs on the demonstration shop, and show how well chances hold.

Run by hand: ``python tests/benchmarks/weights.py``. Every case is asked without itself; each pair
of a case and a recalled one is a row, and whether the two share their cause is what is fitted.
Prints the fit beside the settings in force, a calibration table of the settings' pair chances,
and the ranking of causes they give.
"""

from collections import Counter
from dataclasses import replace

import numpy as np
from sklearn.linear_model import LogisticRegression

from kb.case import Complaint, Job
from kb.evaluation.metrics import (
    expected_calibration_error,
    mean_reciprocal_rank,
    success_at,
)
from kb.evaluation.replay import replay
from kb.intake.wording import Wording
from kb.recall.hashing import key
from kb.recall.index import Index, cause_key
from kb.recall.recall import recall
from kb.services.demo import demo_address
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

SETTINGS, WORDING = Settings(), Wording.default()
EVERYTHING = replace(SETTINGS.recall, neighbours=10_000, least_chance=0.0)


def cases() -> list[Job]:
    """Cases of the demonstration shop."""
    with UnitOfWork(open_store(demo_address()), read_only=True) as work:
        return list(work.jobs.all(cases_only=True))


def pairs(jobs: list[Job]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Distances from neutral, printed chances, and whether the causes are the same."""
    index = Index.fit(jobs, WORDING)
    rows, chances, same = [], [], []
    for job in jobs:
        found = recall(Complaint.of(job), index, WORDING, EVERYTHING, without=[job.number or 0])
        for neighbour in found.neighbours:
            said = {part.signal: part.similarity for part in neighbour.parts}
            weights = SETTINGS.recall.weights.items()
            rows.append([said[n] - w.neutral if n in said else 0.0 for n, w in weights])
            chances.append(neighbour.chance)
            same.append(neighbour.cause == key(cause_key(job)))
    return np.array(rows), np.array(chances), np.array(same)


def main() -> None:
    """Print the figures."""
    jobs = cases()
    rows, chances, same = pairs(jobs)
    fit = LogisticRegression().fit(rows, same)
    print(f"{len(jobs)} cases, {len(rows):,} pairs, {same.mean():.1%} share their cause")
    print(f"intercept: fit {fit.intercept_[0]:.2f}, in force {SETTINGS.recall.intercept}")
    for (name, weight), slope in zip(SETTINGS.recall.weights.items(), fit.coef_[0], strict=True):
        print(f"{name:10} fit {slope:5.2f}, in force {weight.slope}")
    print("printed chance of a shared cause, observed share, pairs")
    for low in np.arange(0, 1, 0.1):
        inside = (chances >= low) & (chances < low + 0.1)
        if inside.any():
            observed = same[inside].mean()
            print(f"{chances[inside].mean():.3f}  {observed:.3f}  {inside.sum():,}")
    times = Counter(cause_key(job) for job in jobs)
    replayed = list(replay(jobs, jobs, WORDING, SETTINGS))
    ranks = [each.rank for each in replayed if times[cause_key(each.job)] > 1]
    print(f"{len(ranks)} cases whose cause was seen on another job:", end=" ")
    print(", ".join(f"top-{k} {success_at(ranks, k):.3f}" for k in (1, 3, 5)), end=", ")
    print(f"MRR {mean_reciprocal_rank(ranks):.3f}")
    told = [
        (c.chance, n == each.rank)
        for each in replayed
        for n, c in enumerate(each.ranking.causes[:3], start=1)
    ]
    error = expected_calibration_error([p for p, _ in told], [y for _, y in told])
    unseen = np.mean([each.ranking.not_seen_before for each in replayed])
    alone = np.mean([times[cause_key(each.job)] == 1 for each in replayed])
    print(f"calibration error of the first three chances {error:.3f}")
    print(f"'not seen before' {unseen:.3f} on average, seen once in fact {alone:.3f}")


if __name__ == "__main__":
    main()
