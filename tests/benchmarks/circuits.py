"""How often a verdict on a circuit is wrong, by simulation; run by hand.

    python tests/benchmarks/circuits.py [seed]

Igniter-like circuits of known truth on invented cars: every model has its own usual resistance,
every car and every circuit strays from it, a tenth of the readings recorded as good are in truth
bad, and some circuits are not fitted and read the control unit's ceiling. Three judges see the
same reading: the fixed rule (2 to 3 ohm is good), the twin alone (within the ratio that serves it
best), and the shop's history (`kb.bands.judgement`), whose "doubtful" counts as a fault found.
"""

import sys
from collections import Counter, defaultdict
from dataclasses import dataclass, replace

import numpy as np

from kb.bands.judgement import Finding, judge
from kb.bands.limits import trade_limits
from kb.bands.measured import Taken
from kb.case import Quantity, Reading, Relation, Vehicle
from kb.intake.wording import Wording
from kb.settings import Settings

ITEM = "pretensioner circuit"
CEILING = 12.7
MODELS = [
    ("Corvane", "Lido"),
    ("Corvane", "Tessel"),
    ("Sunato", "Kiri"),
    ("Sunato", "Haru"),
    ("Halbrecht", "Ostra"),
    ("Halbrecht", "Fjell"),
    ("Bramwick", "Dray"),
    ("Ilmaro", "Tuuli"),
]
SIDES = ("left front", "right front")
TRUTHS = {"good": 0.55, "high": 0.25, "open": 0.07, "short": 0.06, "placeholder": 0.07}
MISLABELLED = 0.1
TWIN_RATIOS = (1.05, 1.1, 1.15, 1.2, 1.3, 1.5)
FAULTS = {"high", "open", "short"}
WORDS = Wording.default()
ASKED = 800


@dataclass
class Shop:
    """Draws cars and their circuits."""

    rng: np.random.Generator

    def __post_init__(self) -> None:
        self.usual = {model: self.rng.uniform(1.9, 2.8) for model in MODELS}

    def car(self, number: int) -> tuple[Vehicle, float]:
        make, model = MODELS[self.rng.integers(len(MODELS))]
        usual = self.usual[make, model] * np.exp(self.rng.normal(0, 0.03))
        return Vehicle(make=make, model=model, ref=f"K{number}"), usual

    def reading(self, usual: float, truth: str, position: str, good: bool | None) -> Reading:
        value = usual * np.exp(self.rng.normal(0, 0.04))
        if truth == "high":
            value += np.exp(self.rng.uniform(np.log(0.3), np.log(8)))
        elif truth == "short":
            value = self.rng.uniform(0.0, 0.9)
        elif truth == "placeholder":
            value = CEILING
        number = None if truth == "open" else round(float(value), 1)
        return Reading(
            item=ITEM,
            quantity=Quantity.RESISTANCE,
            typed="OL" if number is None else f"{number}",
            relation=Relation.OVER_RANGE if number is None else Relation.EXACT,
            value=number,
            position=position,
            proved_good=good,
        )

    def history(self, jobs: int) -> list[Taken]:
        """Past jobs: the circuits that proved good, some mislabelled, and some not fitted."""
        taken = []
        for number in range(1, jobs + 1):
            vehicle, usual = self.car(number)
            missing = self.rng.random() < 0.15
            for side in SIDES:
                truth = "high" if self.rng.random() < MISLABELLED else "good"
                reading = self.reading(usual, "placeholder" if missing else truth, side, True)
                if missing:
                    reading = replace(reading, proved_good=None, condition="not fitted")
                taken.append(Taken(reading=reading, vehicle=vehicle, job=number))
        return taken


def main(seed: int) -> None:
    """Print the error rates of the three judges for shops of several sizes."""
    rng = np.random.default_rng(seed)
    print(f"seed {seed}; {ASKED} circuits a line; errors in % of the circuits of each truth")
    print(f"{'jobs':>5}  {'judge':<24}" + "".join(f"{t:>12}" for t in TRUTHS) + f"{'all':>8}")
    for jobs in (5, 10, 30, 100, 400):
        wrong: dict[str, Counter[str]] = defaultdict(Counter)
        asked: Counter[str] = Counter()
        silent = named = 0
        shop = Shop(rng)
        history = shop.history(jobs)
        for number in range(ASKED):
            if number % 100 == 0 and number:
                shop = Shop(rng)
                history = shop.history(jobs)
            truth = str(rng.choice(list(TRUTHS), p=list(TRUTHS.values())))
            vehicle, usual = shop.car(10_000 + number)
            reading = shop.reading(usual, truth, SIDES[0], None)
            twin_truth = (
                "placeholder"
                if truth == "placeholder"
                else ("high" if rng.random() < 0.08 else "good")
            )
            twin = shop.reading(usual, twin_truth, SIDES[1], None)
            asked[truth] += 1
            is_fault = truth in FAULTS
            found = {"fixed 2 to 3 ohm": not (reading.value and 2 <= reading.value <= 3)}
            for ratio in TWIN_RATIOS:
                same = reading.value and 1 / ratio <= reading.value / (twin.value or 9e9) <= ratio
                found[f"twin within {ratio:.2f}"] = not same
            verdict = judge(
                reading,
                vehicle,
                history,
                WORDS,
                Settings().readings,
                same_car=[twin],
                limits=trade_limits(),
            )
            good = (Finding.GOOD, Finding.PLACEHOLDER)
            found["the shop's history"] = verdict.finding not in good
            silent += verdict.finding is Finding.CANNOT_TELL
            named += (
                verdict.finding
                in {
                    "good": (Finding.GOOD,),
                    "high": (Finding.BAD_HIGH, Finding.DOUBTFUL),
                    "open": (Finding.OPEN,),
                    "short": (Finding.BAD_LOW,),
                    "placeholder": (Finding.PLACEHOLDER,),
                }[truth]
            )
            for judge_name, says_fault in found.items():
                wrong[judge_name][truth] += says_fault != is_fault
        twins = [name for name in wrong if name.startswith("twin")]
        best = min(twins, key=lambda name: wrong[name].total())
        for name in ("fixed 2 to 3 ohm", best, "the shop's history"):
            rates = "".join(f"{100 * wrong[name][t] / asked[t]:>12.1f}" for t in TRUTHS)
            print(f"{jobs:>5}  {name:<24}{rates}{100 * wrong[name].total() / ASKED:>8.1f}")
        print(f"       history named the right kind {100 * named / ASKED:.1f} %, silent {silent}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
