"""How far first chances move when an index is fitted anew; run by hand.

    python tests/benchmarks/unfitted.py --left 1 --left 10 --draws 3

Cases of the demonstration shop are left out of the fit, first the newest, then some drawn at
random, and read along as cases recorded since are. Every case is asked again in its own words, of
that index and of one fitted on all; told are the largest move of the first chance, or of the chance
of what comes first in the other answer, and how many moved by more than `MOST`. Without ``--left``
as many are left as the rule allows for a shop of that size; with ``--jobs`` the shop is one of so
many made-up jobs, of which ``--asked`` are asked.
"""

import argparse
import sys
import time
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

import msgspec

from kb.case import Complaint, Job
from kb.diagnosis.causes import Ranking
from kb.diagnosis.diagnose import Knowledge, diagnose
from kb.intake.wording import Wording
from kb.recall.index import Index
from kb.settings import Settings
from tests.benchmarks.datasets import demonstration_shop
from tests.benchmarks.large_shop import LargeShop

MOST = 0.05
"""By so much a first chance may move."""
WORDING, SETTINGS = Wording.default(), Settings()


def rankings(index: Index, asked: Sequence[Job]) -> list[Ranking]:
    """Ask cases again in their own words."""
    known = Knowledge(wording=WORDING, index=index, settings=SETTINGS)
    return [diagnose(Complaint.of(job), known, on=job.opened).ranking for job in asked]


def moved(one: Ranking, other: Ranking) -> float:
    """Return by how much the first chance of either differs from what the other gives."""
    first = one.causes[:1] + other.causes[:1]
    chances = [{each.cause: each.chance for each in ranking.causes} for ranking in (one, other)]
    tops = [each.causes[0].chance if each.causes else 0.0 for each in (one, other)]
    by_cause = [abs(chances[0].get(c.cause, 0) - chances[1].get(c.cause, 0)) for c in first]
    return max(abs(tops[0] - tops[1]), *by_cause, 0.0)


def behind(cases: Sequence[Job], left: Collection[int]) -> Index:
    """Return an index of all cases that was fitted without those at some places."""
    fitted = [job for place, job in enumerate(cases) if place not in left]
    since = [cases[place] for place in sorted(left)]
    index = Index.fit(fitted, WORDING, SETTINGS)
    return index.with_changes([job.number for job in since if job.number], since, WORDING)


def choices(cases: int, left: int, draws: int) -> Iterator[frozenset[int]]:
    """Choose the newest, and then some at random."""
    yield frozenset(range(cases - left, cases))
    random = Random(1)
    for _ in range(draws - 1 if left else 0):
        yield frozenset(random.sample(range(cases), left))


def made_up(jobs: int) -> list[Job]:
    """Return the cases among so many made-up jobs."""
    drawn = LargeShop(demonstration_shop()).jobs(jobs)
    return [job for job in (msgspec.convert(each, Job) for each in drawn) if job.is_case]


def main() -> None:
    """Print a row for each choice of cases that are not fitted."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--left", type=int, action="append")
    options.add_argument("--draws", type=int, default=3)
    options.add_argument("--jobs", type=int)
    options.add_argument("--asked", type=int, default=300)
    given = options.parse_args()
    cases = made_up(given.jobs) if given.jobs else demonstration_shop()
    began = time.process_time()
    whole = Index.fit(cases, WORDING, SETTINGS)
    print(f"{len(cases)} cases, fitted in {time.process_time() - began:.1f} s of a processor")
    few = sorted(Random(2).sample(range(len(cases)), min(given.asked, len(cases))))
    others = [cases[place] for place in few] if given.jobs else cases
    allowed = Index.most_unfitted(len(cases), SETTINGS.recall)
    print("left", "asked", "largest", f"over {MOST}", "of them unfitted", sep="\t", flush=True)
    expected = {
        job.number: ranking for job, ranking in zip(others, rankings(whole, others), strict=True)
    }
    for left in given.left or [allowed]:
        for chosen in choices(len(cases), left, given.draws):
            own = [cases[place] for place in chosen]
            new = [job for job in own if job.number not in expected]
            expected |= zip((job.number for job in new), rankings(whole, new), strict=True)
            asked = list({job.number: job for job in [*others, *own]}.values())
            found = rankings(behind(cases, chosen), asked)
            moves = [
                moved(each, expected[job.number]) for each, job in zip(found, asked, strict=True)
            ]
            far = [job for job, move in zip(asked, moves, strict=True) if move > MOST]
            unfitted = sum(job in own for job in far)
            print(left, len(asked), f"{max(moves):.3f}", len(far), unfitted, sep="\t", flush=True)


if __name__ == "__main__":
    main()
