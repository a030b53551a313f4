"""Whether 'not seen before' tells causes a shop has never had, beside plain scores."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import log
from random import Random

import numpy as np
from numpy.typing import NDArray

from kb.case import DiagnosticTest
from kb.diagnosis.causes import log_odds, not_seen_before, pooled, strangeness, unseen_share
from kb.evaluation.baselines import LogisticRegression
from kb.evaluation.metrics import area_under_curve
from kb.recall.recall import Recalled, compare
from kb.settings import DiagnosisSettings
from tests.benchmarks import datasets
from tests.benchmarks.asking import WORDING, Fold, Shop, cause_of, progress, target

Floats = NDArray[np.float64]
THRESHOLDS = (0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.9)
OURS = "not seen before"
_LESS, _OWN = "without ", ", pool"
"""How the scores with a measure left out, and those of our own chances alone, are named."""


@dataclass(frozen=True, slots=True)
class Draw:
    """Questions of one draw: which were new, what each score said, and what was expected.

    Scores are higher the newer a cause is held to be; `expected` is Good-Turing's share. Each
    question counts by its weight.
    """

    new: NDArray[np.bool_]
    scores: Mapping[str, Floats]
    expected: Floats
    weights: Floats


def held_out(shop: Shop, draws: int, *, dated: bool, regression: bool = True) -> None:
    """Hold a tenth of the causes out, another tenth at every draw.

    Asked are a fold's cases of the causes kept, and all cases of those held out, each of which
    counts by one over the number of folds: so one in ten or so is new. The tool sets its odds
    beforehand by the share of causes seen once, and cannot know that a tenth was taken away. Its
    chances are therefore held against what came true twice: as printed, with the new ones weighted
    down to the share it expects, and as it prints them when it is told what share is new.
    """
    causes = sorted({cause_of(job) for job in shop.jobs})
    made = []
    for number, fold in enumerate(shop.folds[:draws]):
        left_out = set(Random(number).sample(causes, max(1, round(len(causes) / 10))))
        known = [job for job in fold.known if cause_of(job) not in left_out]
        asked = [job for job in fold.asked if cause_of(job) not in left_out]
        asked += [job for job in shop.jobs if cause_of(job) in left_out]
        draw = _ask(Fold((known, asked), fold.asked_as), dated=dated, regression=regression)
        made.append(replace(draw, weights=np.where(draw.new, 1 / len(shop.folds), 1.0)))
        progress(f"{shop.name}, draw {number + 1}")
    _show(f"{shop.name}, a tenth of the causes held out", made, weighted=True)


def simulated(draws: int, *, regression: bool = True) -> None:
    """Shops of distinct causes, of which new ones arise in time; the last third is asked."""
    made = []
    for seed in range(draws):
        jobs = datasets.simulated_shop(seed)
        start = len(jobs) * 2 // 3
        split = Fold((jobs[:start], jobs[start:]))
        made.append(_ask(split, dated=False, regression=regression))
        progress(f"simulated shop {seed + 1}")
    _show("Simulated shops", made, weighted=False)


def _ask(fold: Fold, *, dated: bool, regression: bool) -> Draw:
    """Ask one split; every measure of strangeness is left out once, too."""
    settings = fold.learnt
    scores: dict[str, list[float]] = defaultdict(list)
    expected = []
    shown = [job.tests for job in fold.known if job.tests]
    for job in fold.asked:
        found = fold.diagnosis(job, settings)
        similarities = compare(found.query, fold.index, WORDING, settings.recall).similarities
        direct = similarities["tests" if found.query.complaint.tests else "complaint"]
        scores["nearest similarity"].append(-float(np.nan_to_num(direct).max()))
        if shown:
            scores["nearest by overlap"].append(-max(overlap(job.tests, each) for each in shown))
        for name, score in _own(found.recalled, settings.diagnosis).items():
            scores[name].append(score)
        expected.append(unseen_share(found.recalled))
    for answer in fold.plain(LogisticRegression(), dated=dated) if regression else ():
        values = list(answer.chances.values())
        scores["largest chance, regression"].append(-values[0])
        scores["entropy, regression"].append(_entropy(values))
    return Draw(
        new=np.array([truth.new for truth in fold.truths]),
        scores={name: np.array(row) for name, row in scores.items()},
        expected=np.array(expected),
        weights=np.ones(len(fold.asked)),
    )


def overlap(some: Sequence[DiagnosticTest], others: Sequence[DiagnosticTest]) -> float:
    """Return the share of the tests made on both sides that showed the same."""
    mine, theirs = ({test.name: test.seen for test in tests} for tests in (some, others))
    both = mine.keys() & theirs.keys()
    return sum(mine[name] == theirs[name] for name in both) / len(both) if both else 0.0


def _own(found: Recalled, settings: DiagnosisSettings) -> dict[str, float]:
    """Return what the tool says, what its chances alone would say, and what it says with less."""
    if not found.neighbours:
        nothing = dict.fromkeys((f"without {name}" for name in settings.unseen_weights), 1.0)
        return {OURS: 1.0, "largest chance, pool": 0.0, "entropy, pool": log(1000), **nothing}
    known = pooled(found, settings)
    evidence = strangeness(found, settings)
    said = {
        OURS: not_seen_before(found, evidence, settings),
        "largest chance, pool": -known[0].chance,
        "entropy, pool": _entropy([each.chance for each in known]),
    }
    for name in settings.unseen_weights:
        less = replace(settings, unseen_weights={**settings.unseen_weights, name: 0.0})
        said[f"without {name}"] = not_seen_before(found, evidence, less)
    return said


def _show(title: str, draws: Sequence[Draw], *, weighted: bool) -> None:
    asked, new = sum(len(draw.new) for draw in draws), sum(int(draw.new.sum()) for draw in draws)
    print(f"\n{title}: {len(draws)} draws, {asked} questions, {new} of them new")
    areas = {name: _areas(name, draws) for name in draws[0].scores}
    for name, each in areas.items():
        print(f"  area under the curve {name:<28}{np.mean(each):>7.3f}  (± {np.std(each):.3f})")
    ours = float(np.mean(areas[OURS]))
    if not weighted:
        target("area under the curve", ours, least=0.95)
    for what, least in _best(areas) if weighted else ():
        target(f"area under the curve beside {what}", ours, least=least + 0.03)
    said = np.concatenate([draw.scores[OURS] for draw in draws])
    is_new = np.concatenate([draw.new for draw in draws])
    as_asked = np.concatenate([draw.weights for draw in draws])
    if not weighted:
        _calibration("as it came", said, is_new, as_asked)
        _trade_off("as printed", said, is_new)
        return
    weights = np.concatenate([_to_expected(draw) for draw in draws])
    _calibration("weighted to the share expected", said, is_new, weights)
    _trade_off("as printed", said, is_new)
    told = np.concatenate([_told(draw) for draw in draws])
    _calibration("told what share is new", told, is_new, as_asked)
    _trade_off("told what share is new", told, is_new)


def _trade_off(how: str, said: Floats, new: NDArray[np.bool_]) -> None:
    """Print how often a new and a known cause are held for new, from each threshold on."""
    print(f"  mean chance {how}: {said[new].mean():.3f} new, {said[~new].mean():.3f} known")
    print("  said at least " + "".join(f"{each:>7.2f}" for each in THRESHOLDS))
    for name, which in (("of new ones", new), ("of known ones", ~new)):
        shares = [float((said[which] >= each).mean()) for each in THRESHOLDS]
        print(f"  {name:<14}" + "".join(f"{share:>7.3f}" for share in shares), flush=True)


def _best(areas: Mapping[str, Sequence[float]]) -> list[tuple[str, float]]:
    """Return the best of the plain scores, and the best of what our own chances alone would say."""
    scores = {name: float(np.mean(each)) for name, each in areas.items()}
    own = [name for name in scores if name.endswith(_OWN)]
    plain = [name for name in scores if name not in (OURS, *own) and not name.startswith(_LESS)]
    return [
        (best := max(each, key=lambda name: scores[name]), scores[best]) for each in (plain, own)
    ]


def _areas(name: str, draws: Sequence[Draw]) -> list[float]:
    areas = (area_under_curve(draw.scores[name], draw.new) for draw in draws)
    return [area for area in areas if area is not None]


def _to_expected(draw: Draw) -> Floats:
    """Weigh questions so that the share of new ones is the mean share expected of all."""
    share, new = float(draw.expected.mean()), int(draw.new.sum())
    return np.where(draw.new, share / new, (1 - share) / (len(draw.new) - new))


def _told(draw: Draw) -> Floats:
    """Return the chances that the tool would say if it expected as many new ones as there are.

    References
    ----------
    Saerens, Latinne & Decaestecker (2002). Adjusting the outputs of a classifier to new a priori
    probabilities. Neural Computation 14(1), 21-41.
    """
    share = float(draw.weights[draw.new].sum() / draw.weights.sum())
    by = log_odds(share) - log_odds(float(draw.expected.mean()))
    odds = np.array([log_odds(chance) for chance in draw.scores[OURS].tolist()])
    return np.asarray(1 / (1 + np.exp(-odds - by)))


def _calibration(
    how: str, said: Floats, new: NDArray[np.bool_], weights: Floats, bins: int = 15
) -> None:
    """Print printed chance beside observed share, both weighted, and the expected error."""
    weights = weights / weights.sum()
    place = np.minimum((said * bins).astype(int), bins - 1)
    chance = np.bincount(place, weights=weights * said, minlength=bins)
    share = np.bincount(place, weights=weights * new, minlength=bins)
    mass = np.bincount(place, weights=weights, minlength=bins)
    target(f"calibration error, {how}", float(np.abs(chance - share).sum()), most=0.03)
    lines = [
        f"{chance[i] / mass[i]:.2f} came true {share[i] / mass[i]:.2f} ({mass[i]:.0%})"
        for i in range(bins)
        if mass[i] > 0.002
    ]
    print("  printed: " + ", ".join(lines))


def _entropy(chances: Sequence[float]) -> float:
    return -sum(chance * log(chance) for chance in chances if chance > 0)
