"""How honest fix rates are, in simulated shops whose truth is known.

Run by hand: ``python tests/benchmarks/fix_rates.py``, some minutes; ``--part loss`` prints one part
alone, ``--draws 2000`` takes more samples of each cell of loss. Prints how often the intervals
cover, how wide they are, how far shrunken and raw rates lie from the truth, how often the better
fix is put first, what comes of counting silence as held, and, in shops where failures or holds are
likelier to be lost from sight, what each rule makes of it.
"""

import argparse
import random
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import product
from math import comb, exp
from statistics import fmean, median

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, System, Vehicle
from kb.evaluation.metrics import share_interval
from kb.rates.fixes import standing
from kb.rates.outer_ends import Fates, outer_ends
from kb.rates.shrinkage import fit
from kb.rates.survival import Lifetime, survival_at
from kb.rates.trials import Trial, trials
from kb.settings import RateSettings
from kb.statistics import beta
from tests.job_repairs import repairs_of_jobs

HORIZON = 90.0
RATES = (0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98)
ATTEMPTS = (3, 5, 8, 12, 20, 35, 50)
LOST = (0.0, 0.2, 0.4, 0.7)
RUNS = 1000
SHOPS = 40


def lifetime(dice: random.Random, rate: float, lost: float, at_once: float = 0.5) -> Lifetime:
    """Draw one attempt: what fails does so at handover or later; some cars are lost from sight.

    Half of the lost are never heard of, the others up to a day before the horizon.
    """
    failing = dice.random() > rate
    fails = (0.0 if dice.random() < at_once else HORIZON * dice.random()) if failing else 1e9
    seen = HORIZON + 30
    if dice.random() < lost:
        seen = 0.0 if dice.random() < 0.5 else HORIZON * dice.random()
    return Lifetime(min(fails, seen), failed=fails <= seen)


def coverage() -> None:
    """Print how often the 95% interval covers, cell by cell, and how wide it is."""
    dice = random.Random(2027)
    print(f"Coverage of the 95% interval, {RUNS} runs a cell (exact where nothing is lost)")
    cells: dict[tuple[int, float, float], float] = {}
    for lost in LOST:
        print(f"  lost {lost:.0%}   " + "".join(f"{rate:>8.2f}" for rate in RATES))
        for tried in ATTEMPTS:
            row = []
            for rate in RATES:
                cells[tried, rate, lost] = (
                    exactly(tried, rate) if lost == 0 else sampled(dice, tried, rate, lost)
                )
                row.append(f"{cells[tried, rate, lost]:8.3f}")
            print(f"  n = {tried:2d}       {''.join(row)}")
    values = list(cells.values())
    print(
        f"  lowest {min(values):.3f}, mean {fmean(values):.4f}, "
        f"below 0.93: {sum(value < 0.93 for value in values)} of {len(values)} cells"
    )
    fine = [exactly(tried, rate / 100) for tried, rate in product(range(3, 51), range(50, 99))]
    print(
        f"  nothing lost, every n from 3 to 50, every rate from 0.50 to 0.98 by 0.01, exact: "
        f"lowest {min(fine):.4f}, mean {fmean(fine):.4f}"
    )


def sampled(dice: random.Random, tried: int, rate: float, lost: float) -> float:
    """Share of drawn samples whose interval covers the true rate."""
    covered = 0
    for _ in range(RUNS):
        found = survival_at([lifetime(dice, rate, lost) for _ in range(tried)], HORIZON).interval
        covered += found.low <= rate <= found.high
    return covered / RUNS


_EXACT: dict[int, list[tuple[float, float]]] = {}


def intervals(tried: int) -> list[tuple[float, float]]:
    """Interval of every count, nothing lost."""
    if tried not in _EXACT:
        found = [
            survival_at([Lifetime(120, False)] * k + [Lifetime(0, True)] * (tried - k), HORIZON)
            for k in range(tried + 1)
        ]
        _EXACT[tried] = [(each.interval.low, each.interval.high) for each in found]
    return _EXACT[tried]


def exactly(tried: int, rate: float) -> float:
    """Chance that the interval covers, by the binomial chances of every count."""
    return sum(
        comb(tried, k) * rate**k * (1 - rate) ** (tried - k)
        for k, (low, high) in enumerate(intervals(tried))
        if low <= rate <= high
    )


def exact_width(successes: int, trials: int) -> float:
    low, high = share_interval(successes, trials, method="exact")
    return high - low


def widths() -> None:
    """Print the mean width against Clopper and Pearson's where nothing is lost."""
    print("Mean width where nothing is lost, against Clopper and Pearson's")
    for tried in ATTEMPTS:
        ratios = []
        for rate in RATES:
            chances = [
                comb(tried, k) * rate**k * (1 - rate) ** (tried - k) for k in range(tried + 1)
            ]
            own = sum(
                c * (high - low) for c, (low, high) in zip(chances, intervals(tried), strict=True)
            )
            exact = sum(c * exact_width(k, tried) for k, c in enumerate(chances))
            ratios.append(own / exact)
        print(f"  n = {tried:2d}: {fmean(ratios):.3f} of it on average, at most {max(ratios):.3f}")


@dataclass(frozen=True)
class Fix:
    """One simulated fix with its true rate."""

    cause: int
    key: tuple[str, str]
    rate: float
    lives: list[Lifetime]


@dataclass(frozen=True)
class Make:
    """What a simulated shop is like; spreads are of log odds between actions, parts, fixes."""

    tried: float = 6.0
    lost: float = 0.4
    spreads: tuple[float, float, float] = (0.4, 0.5, 0.7)
    duds: float = 0.0
    causes: int = 60


MAKES = {
    "few attempts each": Make(),
    "more attempts each": Make(tried=16),
    "many cars lost": Make(lost=0.7),
    "nothing lost": Make(lost=0.0),
    "fixes alike": Make(spreads=(0.0, 0.0, 0.3)),
    "no order among fixes": Make(spreads=(0.0, 0.0, 1.0)),
    "a quarter never cure": Make(duds=0.25, spreads=(0.3, 0.3, 0.5)),
    "a small shop": Make(causes=12),
}


def shop(dice: random.Random, make: Make) -> list[Fix]:
    """Draw a shop: fixes of mixed quality and counts for a number of causes."""
    actions = [dice.gauss(0, make.spreads[0]) for _ in range(5)]
    parts = defaultdict[tuple[int, int], float](lambda: dice.gauss(0, make.spreads[1]))
    found = []
    for cause in range(make.causes):
        part = dice.randrange(20)
        for action in dice.sample(range(5), dice.randint(1, 4)):
            odds = 1.6 + actions[action] + parts[action, part] + dice.gauss(0, make.spreads[2])
            rate, tried = 1 / (1 + exp(-odds)), 1 + int(dice.expovariate(1 / make.tried))
            at_once = dice.betavariate(2, 2)
            if dice.random() < make.duds:
                rate, tried, at_once = 0.1 * dice.random(), min(tried, 3), 1.0
            lives = [lifetime(dice, rate, make.lost, at_once) for _ in range(tried)]
            found.append(Fix(cause, (f"action {action}", f"part {part}"), rate, lives))
    return found


def raw(lives: Sequence[Lifetime]) -> float:
    """Kaplan and Meier's estimate, the last height of the curve where it ends too early."""
    found = survival_at(lives, HORIZON)
    if found.estimate is not None:
        return found.estimate
    end = max(life.time for life in lives)
    return survival_at(lives, end).estimate or 0.0


def naive(lives: Sequence[Lifetime]) -> float:
    """Share not known to have failed: silence counted as held."""
    return fmean(not (life.failed and life.time <= HORIZON) for life in lives)


def shrinking() -> None:
    """Print how far rates lie from the truth and how often the better fix is put first."""
    print(f"Squared error and ranking, {SHOPS} shops a row")
    print(
        "  shop                     fixes median  error of shrunken   shops   right first:  belief"
    )
    print(
        "                                 tries   against raw rate    lower   tool   raw    covers"
    )
    for name, make in MAKES.items():
        dice = random.Random(f"shops {name}")
        ratios, firsts, first_raw, covered, tries, counts = [], [], [], [], [], []
        mine: list[float] = []
        theirs: list[float] = []
        for _ in range(SHOPS):
            fixes = shop(dice, make)
            history = fit(
                {(place, each.key): each.lives for place, each in enumerate(fixes)}, HORIZON
            )
            if history is None:
                raise SystemExit(f"{name}: too few fixes")
            beliefs = [history.posterior(each.key, each.lives) for each in fixes]
            own = [belief.mean for belief in beliefs]
            plain = [raw(each.lives) for each in fixes]
            truth = [each.rate for each in fixes]
            errors = [
                fmean((a - b) ** 2 for a, b in zip(side, truth, strict=True))
                for side in (own, plain)
            ]
            mine.append(errors[0])
            theirs.append(errors[1])
            ratios.append(errors[0] / errors[1])
            firsts.append(right_first(fixes, [standing(belief) for belief in beliefs]))
            first_raw.append(right_first(fixes, plain))
            tries += [len(each.lives) for each in fixes]
            counts.append(len(fixes))
            covered += [
                beta.cdf(rate, belief.a, belief.b)
                for rate, belief in zip(truth, beliefs, strict=True)
            ]
        share = fmean(0.025 <= place <= 0.975 for place in covered)
        print(
            f"  {name:24s} {fmean(counts):5.0f} {median(tries):6.0f}"
            f"  {fmean(mine) / fmean(theirs):13.3f}"
            f"  {sum(ratio < 1 for ratio in ratios):9d}/{SHOPS}"
            f"  {fmean(firsts):6.3f} {fmean(first_raw):6.3f}  {share:7.3f}",
            flush=True,
        )


def right_first(fixes: Sequence[Fix], estimates: Sequence[float]) -> float:
    """Share of causes with several fixes whose truly best one is put first, ties shared."""
    groups: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for each, estimate in zip(fixes, estimates, strict=True):
        groups[each.cause].append((estimate, each.rate))
    hits = []
    for group in groups.values():
        if len(group) > 1:
            top = [rate for estimate, rate in group if estimate == max(group)[0]]
            hits.append(fmean(rate == max(rate for _, rate in group) for rate in top))
    return fmean(hits)


def silence() -> None:
    """Print how far off a rate is on average, when silence counts as held and when it does not."""
    dice = random.Random("silence")
    print("Mean of 200 rates from 40 attempts each, less the truth, in points")
    ways: dict[str, Callable[[Sequence[Lifetime]], float]] = {"ours": raw, "silence held": naive}
    for lost, rate in product((0.2, 0.4, 0.7), (0.5, 0.7, 0.9)):
        samples = [[lifetime(dice, rate, lost) for _ in range(40)] for _ in range(200)]
        told = [
            f"{name} {100 * (fmean(map(way, samples)) - rate):+5.1f}" for name, way in ways.items()
        ]
        print(f"  lost {lost:.0%}, true rate {rate:.0%}: {', '.join(told)}")


@dataclass(frozen=True)
class Loss:
    """How a shop loses sight of its cars; every share is of those it speaks of.

    Attributes
    ----------
    rewritten : float
        Of the cars that fail after the handover, those that come back and leave with another
        diagnosis, so that nobody takes it for a comeback.
    elsewhere : float
        Of the others that fail, those that go to another shop and are never heard of.
    silent : float
        Of the cars that hold, those that are never heard of.
    seen_only : float
        Of the cars heard of, those that were only in for something else.
    untold : float
        Of the cars that have failed, those whose owners are in for something else and say nothing.
    alike : float
        Of the cars that hold, those that come back with another fault that looks the same.
    unwritten : float
        Of all cars, those that leave without anybody writing down whether the fix cured. What did
        not cure them is a failure after the handover like any other then.
    """

    rewritten: float = 0.0
    elsewhere: float = 0.0
    silent: float = 0.2
    seen_only: float = 0.0
    untold: float = 0.0
    alike: float = 0.0
    unwritten: float = 0.0


LOSSES = {
    "all alike lost": Loss(silent=0.4, elsewhere=0.4),
    "rewritten: half of the failures": Loss(rewritten=0.5),
    "rewritten, and other faults alike": Loss(rewritten=0.5, alike=0.1),
    "rewritten: nine of ten": Loss(rewritten=0.9, alike=0.05),
    "failures go elsewhere": Loss(elsewhere=0.6, silent=0.1),
    "holds are silent": Loss(silent=0.7),
    "holds are seen for other things": Loss(seen_only=0.8, untold=0.1),
    "cures not written down": Loss(silent=0.7, unwritten=0.5),
    "all of it": Loss(
        rewritten=0.4, elsewhere=0.4, silent=0.5, seen_only=0.5, untold=0.1, alike=0.05
    ),
}
LOST_RATES = (0.5, 0.7, 0.9)
LOST_ATTEMPTS = (5, 12, 35)
LOST_DRAWS = 400
DAY = date(2024, 1, 1)
FAULT = Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE)
REWRITTEN = Cause(component="clock spring", failure_mode=FailureMode.OPEN)


def history_of_car(dice: random.Random, number: int, rate: float, loss: Loss) -> Iterator[Job]:
    """Draw one car: its job, what was heard of it, and perhaps the job of its return."""
    failing = dice.random() > rate
    unwritten = bool(loss.unwritten) and dice.random() < loss.unwritten
    at_once = failing and dice.random() < 0.5 and not unwritten
    told = None if unwritten else not at_once
    cured = Attempt(action=Action.CLEANED, component="seat connector", cured=told)
    first = _job(2 * number, 0, FAULT, cured)
    fails = 1 + int((HORIZON - 1) * dice.random())
    if at_once:
        yield first
    elif failing and dice.random() < loss.rewritten:
        yield first
        yield _job(2 * number + 1, fails, REWRITTEN)
    elif failing and dice.random() < loss.elsewhere:
        yield first
    elif failing and dice.random() < loss.untold:
        yield first
        yield _tyres(2 * number + 1)
    elif failing:
        yield _heard(first, fails, Outcome.COMEBACK)
    elif dice.random() < loss.alike:
        yield first
        yield _job(2 * number + 1, fails, REWRITTEN)
    elif dice.random() < loss.silent:
        yield first
    elif dice.random() < loss.seen_only:
        yield first
        yield _tyres(2 * number + 1)
    else:
        yield _heard(first, int(HORIZON) + 30, Outcome.HELD)


def _job(number: int, day: int, cause: Cause | None, *attempts: Attempt) -> Job:
    opened = DAY + timedelta(days=day)
    return Job(
        number=number,
        vehicle=Vehicle(ref=f"K{number // 2}"),
        opened=opened,
        closed=opened,
        complaint="airbag lamp on" if cause else "tyres",
        system=System.RESTRAINTS if cause else System.OTHER,
        cause=cause,
        attempts=attempts,
    )


def _tyres(number: int) -> Job:
    return _job(number, int(HORIZON) + 30, None)


def _heard(job: Job, day: int, outcome: Outcome) -> Job:
    contact = Contact(on=DAY + timedelta(days=day), outcome=outcome)
    return replace(job, contacts=(contact,))


RULES: dict[str, Callable[[Sequence[Trial]], list[Lifetime]]] = {
    "now": lambda known: [life for trial in known for life in trial.lives],
    "return = good": lambda known: [life for trial in known for life in trial.if_other],
    "return = failed": lambda known: [life for trial in known for life in trial.if_same],
    "visit = held": lambda known: [replace(life, weight=1) for t in known for life in t.lives[:1]],
    "visit = nothing": lambda known: [
        replace(life, weight=1) for t in known for life in t.lives[-1:]
    ],
}
"""What is made of a return for something alike: it ends what is known; it is passed over, as a
program without that rule does; it is a comeback. And a visit for something else taken for an
answer, or for none."""


@dataclass(frozen=True)
class LossCell:
    """A kind of loss, a true rate, a number of attempts: estimates, and how often ends cover."""

    loss: str
    rate: float
    tried: int
    estimates: dict[str, float]
    covered: dict[str, float]
    width: dict[str, float]


SIDES = ("interval", "if judged", "outer ends")
"""Of the fix's own attempts; of what the returns that nobody judged may lead to, which promises
nothing of other cars; of whatever became of all cars lost from sight. Pages print the last wherever
they print the second (`kb.reports.fixes.rate`)."""


def lossy(cell: tuple[str, float, int, int]) -> LossCell:
    """Draw many samples of one cell."""
    name, rate, tried, draws = cell
    dice = random.Random(f"{name} {rate} {tried}")
    estimates = defaultdict[str, list[float]](list)
    spans = defaultdict[str, list[tuple[float, float]]](list)
    for _ in range(draws):
        jobs = [
            job for number in range(1, tried + 1)
            for job in history_of_car(dice, number, rate, LOSSES[name])
        ]  # fmt: skip
        known = [
            trial
            for trial in trials(repairs_of_jobs(jobs), RateSettings())
            if trial.tried.component == "seat connector"
        ]
        for rule, lives in RULES.items():
            if told := lives(known):  # of nothing known there is no rate
                estimates[rule].append(raw(told))
        if lives_known := [trial.lives[0] for trial in known if trial.lives]:
            estimates["silence = held"].append(naive(lives_known))
        plain, bad, good = (
            survival_at(RULES[rule](known), HORIZON).interval
            for rule in ("now", "return = failed", "return = good")
        )
        told_of = [trial.lives for trial in known if trial.lives]
        outer = outer_ends(Fates.of(told_of, HORIZON, untold=len(known) - len(told_of)))
        spans["interval"].append((plain.low, plain.high))
        spans["if judged"].append((min(bad.low, plain.low), max(good.high, plain.high)))
        spans["outer ends"].append((outer.low, outer.high))
    return LossCell(
        name,
        rate,
        tried,
        {rule: fmean(told) for rule, told in estimates.items()},
        {side: fmean(low <= rate <= high for low, high in spans[side]) for side in SIDES},
        {side: fmean(high - low for low, high in spans[side]) for side in SIDES},
    )


def losing(draws: int) -> None:
    """Print what each rule makes of loss that tells, and how often the truth lies in the ends."""
    cells = list(product(LOSSES, LOST_RATES, LOST_ATTEMPTS, [draws]))
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(lossy, cells))
    rules = [*RULES, "silence = held"]
    print(f"Loss that tells: mean rate of {draws} by each rule, less the truth, in points")
    print(" " * 18 + "".join(f"{rule:>17s}" for rule in rules))
    for cell in _headed(found):
        told = (f"{100 * (cell.estimates[rule] - cell.rate):+17.1f}" for rule in rules)
        print(f"    {cell.rate:.0%}, n = {cell.tried:2d}  {''.join(told)}")
    print(
        f"How often of {draws} draws a cell the truth lies within them, and how wide they are; "
        f"{len(found)} cells, {draws * len(found):,} draws"
    )
    print(" " * 18 + "".join(f"{side:>20s}" for side in SIDES))
    for cell in _headed(found):
        told = (f"{cell.covered[side]:13.3f} ({cell.width[side]:.2f})" for side in SIDES)
        print(f"    {cell.rate:.0%}, n = {cell.tried:2d}  {''.join(told)}")
    for side in SIDES:
        values = [cell.covered[side] for cell in found]
        print(
            f"  {side}: lowest {min(values):.3f}, below 0.95 in "
            f"{sum(value < 0.95 for value in values)} of {len(values)} cells"
        )


def _headed(cells: Sequence[LossCell]) -> Iterator[LossCell]:
    """Yield cells, the name of each shop printed before its first."""
    name = None
    for cell in cells:
        if cell.loss != name:
            name = cell.loss
            print(f"  {name}: {LOSSES[name]}")
        yield cell


PARTS: dict[str, Callable[[int], None]] = {
    "coverage": lambda _: coverage(),
    "widths": lambda _: widths(),
    "shrinking": lambda _: shrinking(),
    "silence": lambda _: silence(),
    "loss": losing,
}


def main() -> None:
    """Print all of it, or one part."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--part", choices=PARTS)
    parser.add_argument("--draws", type=int, default=LOST_DRAWS, help="of each cell of loss")
    told = parser.parse_args()
    for name, run in PARTS.items():
        if told.part in (None, name):
            run(told.draws)


if __name__ == "__main__":
    main()
