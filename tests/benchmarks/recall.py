"""How good recall and its chances are, on all data at hand, beside plain ways.

Run by hand: ``python tests/benchmarks/recall.py --soybean PATH`` for everything (about two hours on
one core), ``--part NAME`` for one part of it, ``--folds N`` for fewer folds or draws. Every way is
asked the same questions on the same folds. "learnt" is the matcher with the weights it learns from
the known cases of the fold alone.
"""

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import Complaint, Job
from kb.diagnosis.causes import as_they_stand
from kb.evaluation.baselines import BASELINES, Baseline, LogisticRegression
from kb.evaluation.figures import Answer
from kb.rates.doubt import stands
from kb.recall.index import Index
from kb.recall.recall import compare
from kb.settings import Settings
from tests.benchmarks import datasets, strangers
from tests.benchmarks.asking import DEFAULTS, WORDING, Fold, Shop, Table, both, progress, target
from tests.job_repairs import repairs_of_jobs

CALIBRATED = "calibrated regression"


@dataclass(frozen=True, slots=True)
class Run:
    """What was asked for: how many folds, which plain ways, and where the soybean table lies."""

    folds: int
    plain: Sequence[Baseline]
    table: Path | None

    @property
    def beans(self) -> list[Callable[[], Shop]]:
        """The soybean shop, if its table was given."""
        return [partial(soybean, self.table)] if self.table else []

    def each(self, shops: Sequence[Callable[[], Shop]], part: Callable[[Shop], None]) -> None:
        """Run a part on several shops."""
        for shop in shops:
            part(shop())


@cache
def work_orders(told_all: bool) -> Shop:
    """The excavators, with all that is known of them or with the text alone."""
    jobs = datasets.work_orders(told_all=told_all)
    name = "Excavators, text, asset and day" if told_all else "Excavators, text alone"
    return Shop.of(name, jobs, datasets.by_text(jobs))


@cache
def soybean(table: Path) -> Shop:
    """Attributes alone: the text is the same for all."""
    jobs = datasets.soybean(table)
    return Shop.of("Soybean", jobs, datasets.by_cause(jobs), Complaint.so_far)


@cache
def demonstration() -> Shop:
    """The demonstration shop."""
    jobs = datasets.demonstration_shop()
    return Shop.of("Demonstration shop", jobs, datasets.by_text(jobs))


def beside_plain_ways(shop: Shop, run: Run, *, dated: bool) -> Table:
    """Ask the matcher and the plain ways."""
    table = Table()
    for number, fold in enumerate(shop.folds[: run.folds], start=1):
        progress(f"{shop.name}, fold {number}")
        for name, settings in both(fold).items():
            table.add(name, fold.answers(settings()), fold.truths)
            progress(table.so_far(name))
        for baseline in run.plain:
            table.add(baseline.name, fold.plain(baseline, dated=dated), fold.truths)
    return table


def ranked(shop: Shop, run: Run, least: tuple[float, ...], *, dated: bool = False) -> None:
    """Print how the matcher ranks beside the plain ways, and what it must reach."""
    found = beside_plain_ways(shop, run, dated=dated).show(shop.name)
    ours = found["learnt"]
    best = max(found[each.name].first for each in run.plain)
    places = (("top-1", ours.first), ("top-3", ours.first_three), ("top-5", ours.first_five))
    for (what, value), bound in zip(places, least, strict=False):
        target(what, value, least=bound)
    target("top-1 beside the best plain way", ours.first, least=best)
    target("calibration error", ours.calibration_error or 0.0, most=0.03)
    if CALIBRATED in found:
        target(f"log loss beside the {CALIBRATED}", ours.log_loss, most=found[CALIBRATED].log_loss)


def misspelt(run: Run) -> None:
    """Ask in misspelt words, with and without reading unknown words as known ones."""
    shop, table = work_orders(False), Table()

    def slipped(job: Job) -> Complaint:
        return replace(Complaint.of(job), text=datasets.misspelt(job))

    for fold in shop.folds[: run.folds]:
        for name, made in both(fold).items():
            settings = made()
            unread = _without(settings, read_unknown_words=False)
            table.add(f"{name}, clean", fold.answers(settings), fold.truths)
            table.add(f"{name}, misspelt", fold.answers(settings, asked_as=slipped), fold.truths)
            said = fold.answers(unread, asked_as=slipped)
            table.add(f"{name}, misspelt, not mended", said, fold.truths)
        progress("misspelt, one fold more")
    found = table.show("30% of the words of over three letters misspelt")
    fall = found["learnt, clean"].first - found["learnt, misspelt"].first
    target("fall of top-1", fall, most=0.02)


def in_doubt(run: Run) -> None:
    """Ask with every case in full, and with those counting less whose cars came back."""
    shop, table = demonstration(), Table()
    fewer = 0
    for fold in shop.folds[: run.folds]:
        share = {each.number: stands(each) for each in repairs_of_jobs(fold.known)}
        less = {number: each for number, each in share.items() if each < 1}
        fewer += len(less)
        asked = [fold.diagnosis(job, DEFAULTS) for job in fold.asked]
        table.add("in full", [Answer.of(each.ranking) for each in asked], fold.truths)
        lowered = [as_they_stand(each.ranking, less) for each in asked]
        table.add("less where it came back", map(Answer.of, lowered), fold.truths)
    known = sum(len(fold.known) for fold in shop.folds[: run.folds])
    table.show(f"Demonstration shop, {fewer} of {known} known cases in doubt")


def unseen(run: Run) -> None:
    """Hold causes out, and let new ones arise."""
    draws, regression = min(run.folds, 5), CALIBRATED in (each.name for each in run.plain)
    strangers.simulated(draws, regression=regression)
    beans = [bean() for bean in run.beans]
    for shop in (*beans, work_orders(False)):
        strangers.held_out(shop, draws, dated=False, regression=regression)
    strangers.held_out(work_orders(True), draws, dated=True, regression=regression)


def held_out_models(shop: Shop, run: Run) -> None:
    """Ask the same questions with the car's model among the known cases, and without it.

    The weights for a model left out are learnt from cases of the other models: from as many as
    are known where it is asked, for the share of causes seen once depends on how many there are.
    """
    table = Table()
    models = sorted({job.vehicle.model for job in shop.jobs if job.vehicle.model})
    for model in models:
        others = [job for job in shop.folds[0].known if job.vehicle.model != model]
        learnt = Fold((others, [])).learnt
        for fold in shop.folds[: run.folds]:
            asked = [job for job in fold.asked if job.vehicle.model == model]
            if not asked:
                continue
            known = [job for job in fold.known if job.vehicle.model != model]
            without = Fold((known, asked))
            for name, weights in (("defaults", DEFAULTS), ("learnt", learnt)):
                table.add(f"{name}, model left out", without.answers(weights), without.truths)
            within = Fold((fold.known, asked))
            for name, made in both(fold).items():
                answers = within.answers(made(), index=fold.index)
                table.add(f"{name}, model known", answers, within.truths)
        progress(f"{shop.name} without {model}")
    found = table.show(f"{shop.name}, by model")
    error = found["learnt, model left out"].calibration_error or 0.0
    target("calibration error for models left out", error, most=0.05)


def parts_off(shop: Shop, run: Run) -> None:
    """Ask with learnt weights, and with one part of the matcher switched off at a time.

    Nothing is learnt again without the part; chances may be off where the rest made up for it.
    """
    table = Table()
    for fold in shop.folds[: run.folds]:
        bare = Index.fit(fold.known, WORDING, _without(DEFAULTS, linear_least=10**9))
        whole = Index.fit(fold.known, WORDING, _without(DEFAULTS, character_share=0.0))
        learnt = fold.learnt
        ways: dict[str, tuple[Settings, Index]] = {
            "everything": (learnt, fold.index),
            "no linear model": (learnt, bare),
            "no votes": (_pooling(learnt, pool_jobs=0.0), fold.index),
            "no naming": (_pooling(learnt, named=0.0), fold.index),
            "no characters": (_without(learnt, character_share=0.0), whole),
            "unknown words as they are": (_without(learnt, read_unknown_words=False), fold.index),
        }
        for signal in _carried(fold):
            weights = dict(learnt.recall.weights)
            weights[signal] = replace(weights[signal], slope=0.0)
            ways[f"no {signal}"] = (_without(learnt, weights=weights), fold.index)
        for name, (settings, index) in ways.items():
            table.add(name, fold.answers(settings, index), fold.truths)
        progress(f"parts switched off, {shop.name}, one fold more")
    table.show(f"{shop.name}, one part switched off at a time")


def _without(settings: Settings, **recall: object) -> Settings:
    return replace(settings, recall=replace(settings.recall, **recall))  # type: ignore[arg-type]


def _pooling(settings: Settings, **diagnosis: float) -> Settings:
    return replace(settings, diagnosis=replace(settings.diagnosis, **diagnosis))  # type: ignore[arg-type]


def _carried(fold: Fold) -> list[str]:
    """Return the signals that say anything on the fold's first questions."""
    said: set[str] = set()
    for job in fold.asked[:50]:
        asked = fold.diagnosis(job, DEFAULTS).query
        found = compare(asked, fold.index, WORDING, DEFAULTS.recall)
        said |= {name for name, row in found.similarities.items() if not np.isnan(row).all()}
    return [name for name in DEFAULTS.recall.weights if name in said]


PARTS: dict[str, Callable[[Run], None]] = {
    "excavators": lambda run: ranked(work_orders(False), run, (0.44, 0.645, 0.735)),
    "excavators-full": lambda run: ranked(work_orders(True), run, (0.50, 0.72, 0.80), dated=True),
    "soybean": lambda run: run.each(run.beans, lambda shop: ranked(shop, run, (0.94,))),
    "unseen": unseen,
    "doubt": in_doubt,
    "models": lambda run: run.each(
        [demonstration, partial(work_orders, True)], lambda shop: held_out_models(shop, run)
    ),
    "ablation": lambda run: run.each(
        [demonstration, *run.beans, partial(work_orders, True)], lambda shop: parts_off(shop, run)
    ),
    "misspelt": misspelt,
}


def main() -> None:
    """Run the parts that are asked for."""
    parser = argparse.ArgumentParser(
        description=(__doc__ or "").partition("\n")[0],
        epilog=datasets.SOYBEAN,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--part", action="append", choices=PARTS, help="may be given repeatedly")
    parser.add_argument("--folds", type=int, default=10, help="at most so many folds or draws")
    parser.add_argument("--soybean", type=Path, metavar="PATH", help="the soybean table, an .arff")
    parser.add_argument(
        "--no-regression",
        action="store_true",
        help="leave the regressions out, which take most of the time",
    )
    options = parser.parse_args()
    plain = tuple(
        replace(each, newest=None) if isinstance(each, LogisticRegression) else each
        for each in BASELINES
        if not (options.no_regression and isinstance(each, LogisticRegression))
    )
    run = Run(options.folds, plain, options.soybean)
    for name in options.part or PARTS:
        PARTS[name](run)
    if not options.soybean:
        print(f"\nWithout the figures on soybean: no --soybean PATH was given.\n{datasets.SOYBEAN}")


if __name__ == "__main__":
    main()
