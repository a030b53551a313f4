"""Whether a shop is answered from unstructured job cards as well as from cases.

Run by hand: ``python tests/benchmarks/cards.py`` (a few minutes on one core), ``--folds N`` for
fewer folds. The same jobs are known once as cases and once as cards without a cause, and the same
questions asked of both; told is the share of questions whose cause is that of the nearest job, or
of one of the nearest three and five.
"""

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import Complaint, Job
from kb.diagnosis.diagnose import query_of
from kb.recall.cards import Cards
from kb.recall.index import Index
from kb.recall.recall import nearest
from tests.benchmarks import datasets
from tests.benchmarks.asking import DEFAULTS, WORDING, Fold, Shop, cause_of, progress, target

PLACES = (1, 3, 5)
MOST_LOST = 0.01
Card = Callable[[Job], Job]


def without_cause(job: Job) -> Job:
    """Return a job as its card was kept before anybody told a cause."""
    return replace(job, cause=None)


def work_only(job: Job) -> Job:
    """Return a card on which the words stand under what was done, and nothing under what came."""
    return replace(job, cause=None, complaint="see below", notes=job.complaint)


def written_out(job: Job) -> Job:
    """Return a card with everything but the complaint run together in one paragraph."""
    codes = ", ".join(map(str, job.codes))
    measured = (f"{each.place} {each.typed}" for each in job.readings)
    tests = (f"{test.name}: {test.seen}" for test in job.tests)
    fixes = (f"{each.label}, {each.words}" if each.words else each.label for each in job.attempts)
    told = [codes, *measured, job.notes, *tests, *fixes, job.proved_by]
    return replace(
        without_cause(job),
        proved_by=None,
        notes=". ".join(filter(None, told)) or None,
        codes=(),
        readings=(),
        tests=(),
        attempts=(),
        entries=(),
    )


def asked(fold: Fold, index: Index) -> list[int]:
    """Return at which place the nearest job of the right cause came; 0 where none did."""
    cause = {job.number: cause_of(job) for job in fold.known}
    places = []
    for job in fold.asked:
        query = query_of(Complaint.of(job), (), job.opened)
        near = nearest(query, index, WORDING, DEFAULTS.recall).neighbours
        told = [cause[each.number] for each in near]
        places.append(told.index(cause_of(job)) + 1 if cause_of(job) in told else 0)
    return places


def shares(places: Sequence[int]) -> list[float]:
    """Return the share of questions told at the first place, the first three, the first five."""
    return [sum(0 < place <= most for place in places) / len(places) for most in PLACES]


def compared(shop: Shop, folds: int, cards: dict[str, Card]) -> None:
    """Print how cases and cards of one shop are told, and what cards may lose at most."""
    found: dict[str, list[int]] = {"cases": [], **{name: [] for name in cards}}
    for number, fold in enumerate(shop.folds[:folds], start=1):
        progress(f"{shop.name}, fold {number}")
        found["cases"] += asked(fold, fold.index)
        for name, card in cards.items():
            index = Cards.fit([card(job) for job in fold.known], WORDING, DEFAULTS)
            found[name] += asked(fold, index)
    print(f"\n{shop.name}: {len(found['cases'])} questions")
    print(f"{'':<40}{'nearest':>9}{'of 3':>9}{'of 5':>9}")
    for name, places in found.items():
        print(f"{name:<40}" + "".join(f"{share:>9.3f}" for share in shares(places)))
    cases = shares(found["cases"])
    for name in cards:
        lost = max(case - card for case, card in zip(cases, shares(found[name]), strict=True))
        target(f"lost at most, {name}", lost, most=MOST_LOST)


def main() -> None:
    """Ask the work orders and the demonstration shop."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--folds", type=int, default=5, help="at most so many folds")
    folds = parser.parse_args().folds
    orders = datasets.work_orders(told_all=False)
    compared(
        Shop.of("Excavators", orders, datasets.by_text(orders)),
        folds,
        {"cards, as the complaint": without_cause, "cards, as the work done": work_only},
    )
    jobs = datasets.demonstration_shop()
    compared(
        Shop.of("Demonstration shop", jobs, datasets.by_text(jobs)),
        folds,
        {"cards, without the cause": without_cause, "cards, one paragraph": written_out},
    )


if __name__ == "__main__":
    main()
