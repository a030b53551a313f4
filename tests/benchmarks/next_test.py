"""How good the advice on the next step is; run by hand: ``python tests/benchmarks/next_test.py``.

Three parts: excess over the exact optimum on random problems, a simulated workshop beside other
ways of choosing, and a replay of the demonstration shop. Takes a few minutes; ``--every 6``
replays every sixth job only.
"""

import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from math import log2, sqrt
from pathlib import Path
from random import Random
from statistics import mean, stdev
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import Complaint, Job
from kb.services.demo import demo_address
from kb.services.indexing import shop_wording
from kb.services.troubleshoot import working_job
from kb.settings import Settings
from kb.store.database import create_store, open_store
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.decision import Choice, Kind, Problem, Test, choices, tells
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.possible_outcomes import left_by
from kb.troubleshooting.steps import Step
from kb.troubleshooting.testing import key_of
from tests.outside.deciding import (
    ExactPlan,
    cost_of_policy,
    exact_cost,
    random_problem,
    repairs_in_order,
)

SURE = 0.9
"""From this chance on the rivals stop testing and mend."""


def excess_over_the_optimum(problems: int = 200) -> None:
    """Random problems of 2 to 6 causes and 1 to 6 tests; cheap tests make testing matter."""
    print(f"Mean excess over exact dynamic programming, {problems} random problems each")
    policies: dict[str, Callable[[Problem], Choice]] = {
        "one step": lambda problem: choices(problem, 1)[0],
        "two steps": lambda problem: choices(problem, 2)[0],
        "chance over cost alone": repairs_in_order,
    }
    for name, cheaper, dearer in (
        ("tests 3-40, repairs 10-120", 1, 1),
        ("tests 1-7, repairs 10-120", 6, 1),
        ("tests 1-7, repairs 30-360", 6, 3),
    ):
        random = Random(1)
        excess: dict[str, list[float]] = {policy: [] for policy in policies}
        for _ in range(problems):
            problem = random_problem(
                random,
                random.randint(2, 6),
                random.randint(1, 6),
                giving_up=random.choice((400, 2000)),
            )
            tests = tuple(replace(each, cost=each.cost / cheaper) for each in problem.tests)
            repairs = tuple(replace(each, cost=each.cost * dearer) for each in problem.repairs)
            problem = replace(problem, tests=tests, repairs=repairs)
            best = exact_cost(problem)
            for policy, advice in policies.items():
                excess[policy].append(cost_of_policy(problem, advice) / best - 1)
        print(f"  {name}")
        for policy, found in excess.items():
            print(f"    {policy:24s} mean {mean(found):7.2%}  worst {max(found):7.2%}")


class Car:
    """One car with a known cause, the same luck for every way of choosing."""

    def __init__(self, problem: Problem, random: Random) -> None:
        self.problem = problem
        cause = random.choices(range(len(problem.weights)), problem.weights)[0]
        self.outcomes = {
            test.name: random.choices(
                range(len(test.outcomes)), [outcome[cause] for outcome in test.outcomes]
            )[0]
            for test in problem.tests
        }
        self.cured = {each.name: random.random() < each.cures[cause] for each in problem.repairs}


def minutes_on(car: Car, advice: Callable[[Problem, list[str], dict[str, int]], Choice]) -> float:
    """Minutes until the car is mended, or thought through from the start."""
    problem, spent = car.problem, 0.0
    failed: list[str] = []
    seen: dict[str, int] = {}
    while True:
        choice = advice(problem, failed, seen)
        if choice.kind is Kind.GIVE_UP:
            return spent + problem.giving_up
        for test in problem.tests:
            if choice.kind is Kind.TEST and test.name == choice.name:
                spent += test.cost
                seen[test.name] = car.outcomes[test.name]
                problem = problem.seen(test, seen[test.name])
                break
        for repair in problem.repairs:
            if choice.kind is Kind.REPAIR and repair.name == choice.name:
                spent += repair.cost
                if car.cured[repair.name]:
                    return spent
                failed.append(repair.name)
                problem = problem.failed(repair)
                break


def entropy(weights: Sequence[float]) -> float:
    total = sum(weights)
    return -sum(w / total * log2(w / total) for w in weights if w > 0) if total else 0.0


def gain(problem: Problem, test: Test) -> float:
    total = sum(problem.weights)
    after = [problem.seen(test, k) for k in range(len(test.outcomes))]
    left = sum(sum(each.weights) / total * entropy(each.weights) for each in after)
    return entropy(problem.weights) - left


def likeliest(problem: Problem) -> Choice:
    """Mend what most likely cures, whatever it costs."""
    chance, name = max(
        (
            (sum(w * c for w, c in zip(problem.weights, each.cures, strict=True)), each.name)
            for each in problem.repairs
        ),
        default=(0.0, ""),
    )
    if chance <= 0.02 * sum(problem.weights):
        return Choice(Kind.GIVE_UP, "", 0)
    return Choice(Kind.REPAIR, name, 0)


def before_repairs(pick: Callable[[Problem, list[Test]], Test]) -> Callable[[Problem], Choice]:
    """Test until one cause is sure enough or nothing is left to test, then mend the likeliest."""

    def advice(problem: Problem) -> Choice:
        left = [test for test in problem.tests if tells(problem.weights, test)]
        if max(problem.weights) < SURE * sum(problem.weights) and left:
            return Choice(Kind.TEST, pick(problem, left).name, 0)
        return likeliest(problem)

    return advice


def simulated_workshop(problems: int = 150, cars: int = 40) -> None:
    """Cars with known causes; five or six causes, four or five tests that err, minutes as costs."""
    random, luck = Random(2), Random(3)
    by_gain = before_repairs(lambda problem, left: max(left, key=lambda test: gain(problem, test)))
    by_luck = before_repairs(lambda _problem, left: luck.choice(left))
    spent: dict[str, list[float]] = {}
    for _ in range(problems):
        problem = random_problem(random, random.randint(5, 6), random.randint(4, 5), giving_up=240)
        tests = tuple(replace(each, cost=each.cost * 0.75) for each in problem.tests)
        problem = replace(problem, tests=tests)
        plan = ExactPlan(problem)
        ways: dict[str, Callable[[Problem, list[str], dict[str, int]], Choice]] = {
            "our advice (one step)": lambda p, _f, _s: choices(p, 1)[0],
            "(a) in order of chance": lambda p, _f, _s: likeliest(p),
            "(b) information gain": lambda p, _f, _s: by_gain(p),
            "(c) random tests": lambda p, _f, _s: by_luck(p),
            "(d) exact optimum": lambda _p, f, s: plan.choice(f, s),  # noqa: B023
        }
        for _ in range(cars):
            car = Car(problem, random)
            for name, way in ways.items():
                spent.setdefault(name, []).append(minutes_on(car, way))
    print(f"Simulated workshop, {problems} kinds of complaint, {cars} cars each: mean minutes")
    best = mean(spent["(d) exact optimum"])
    for name, minutes in spent.items():
        error = 1.96 * stdev(minutes) / sqrt(len(minutes))
        print(f"    {name:24s} {mean(minutes):6.1f} ± {error:.1f}  {mean(minutes) / best - 1:+.1%}")


@dataclass
class Replayed:
    """What was advised on one past job, as it was open, and what was in fact done."""

    steps: tuple[Step, ...]
    split: set[str]
    job: Job
    suspected: bool
    """Whether the cause that proved true was among the suspects at all."""

    @property
    def offered(self) -> list[str]:
        """The tests advised, by the names they are one test under, best first."""
        return [key_of(step.title) for step in self.steps if step.kind is Kind.TEST]

    @property
    def first_or_behind_a_look(self) -> list[str]:
        """The first test advised, and where that is a look, the one behind it."""
        looks = {each.name for each in general_tests().test if each.first}
        return self.offered[: 1 + (not looks.isdisjoint(self.offered[:1]))]


def replay(least_known: int = 60, every: int = 1) -> None:
    """Every past job that recorded a test that split the causes, asked with earlier jobs only.

    A test counts as splitting where it is on the card of this very job and left some, but not all,
    of the suspects and of what else it may be. Nearly every card has one test, the one that found
    it: whether another would have found it as well is told by other jobs with the same cause alone.
    So it is printed as well how often the first test found this cause on this job or on another.
    A look is seldom written down where a test found the fault after it, and on a circuit with an
    igniter it comes first whatever is likelier: so it is printed, too, how often the first test or
    the one behind a look is on the card, beside always looking and then making the next usual one.

    Many a split cannot be foreseen: the cause is one that nobody suspects yet, and the test was
    thought of for it. What the best order of the tests offered would reach is printed, too, and how
    often the test on the card was made on any other job with the cause, earlier or later: where it
    was not, what other jobs with the cause did tells nobody of it.
    """
    found = list(_replayed(least_known, every))
    usual = Counter(key for each in found for key in each.split).most_common(1)[0][0]
    hits = sum(not each.split.isdisjoint(each.offered[:1]) for each in found)
    three = sum(not each.split.isdisjoint(each.offered[:3]) for each in found)
    at_all = sum(not each.split.isdisjoint(each.offered) for each in found)
    suspected = sum(each.suspected for each in found)
    always = sum(usual in each.split for each in found)
    chance = mean(
        len(each.split.intersection(each.offered)) / max(1, len(set(each.offered)))
        for each in found
    )
    fix_first = sum(bool(each.steps) and each.steps[0].kind is Kind.REPAIR for each in found)
    print(f"Replay of the demonstration shop, {len(found)} jobs with a test that split the causes")
    print(f"    first test advised is among those   {hits / len(found):.0%}")
    print(f"    one of the first three is           {three / len(found):.0%}")
    print(f"    one of all offered is               {at_all / len(found):.0%}")
    print(f"    the true cause is suspected         {suspected / len(found):.0%}")
    print(f"    the shop's usual, the cause told    {_cause_told(found):.0%}")
    print(f"    any test of another job with it     {_on_other_jobs(found):.0%}")
    print(f"    always '{usual}'         {always / len(found):.0%}")
    print(f"    a test by chance among those known  {chance:.0%}")
    print(f"    advised to mend before any test     {fix_first / len(found):.0%}")
    did = [each.split | _found_by(each, found) for each in found]
    first = mean(
        not tests.isdisjoint(each.offered[:1]) for each, tests in zip(found, did, strict=True)
    )
    second = Counter(key for each in found for key in each.split - {usual}).most_common(1)[0][0]
    behind = mean(not each.split.isdisjoint(each.first_or_behind_a_look) for each in found)
    print("  The first test advised, or the one behind it where that is a look")
    print(f"    either is among those               {behind:.0%}")
    print(
        f"    always '{usual}' and '{second}'  "
        f"{mean(not each.split.isdisjoint({usual, second}) for each in found):.0%}"
    )
    print("  Tests that found the cause on this job or on another of those replayed")
    print(f"    first test advised is among those   {first:.0%}")
    print(f"    always '{usual}'         {mean(usual in tests for tests in did):.0%}")


def _found_by(asked: Replayed, found: Sequence[Replayed]) -> set[str]:
    """Return the tests that split the causes on the other jobs with the true cause."""
    return {
        key
        for each in found
        if each is not asked and _cause_of(each.job) == _cause_of(asked.job)
        for key in each.split
    }


def _cause_of(job: Job) -> object:
    return job.cause.key if job.cause else None


def _on_other_jobs(found: Sequence[Replayed]) -> float:
    """Share of jobs whose test was made on any other job with the cause, earlier or later."""
    return mean(not each.split.isdisjoint(_found_by(each, found)) for each in found)


def _cause_told(found: Sequence[Replayed]) -> float:
    """Share of hits if the true cause were told: the test most made on the other jobs with it.

    Where no other job had it, of those with its part, else of its way of failing in its system.
    More than about this no advice that does not know the cause can reach.
    """

    def kinds(job: Job) -> list[object]:
        cause = job.cause
        if cause is None:
            return []
        return [cause.key, cause.component, (cause.failure_mode, job.system), cause.failure_mode]

    made: dict[object, Counter[str]] = defaultdict(Counter)
    for each in found:
        for kind in kinds(each.job):
            made[kind].update(each.split)
    hits = 0
    for each in found:
        others = (made[kind] - Counter(each.split) for kind in kinds(each.job))
        usual = next((known.most_common(1)[0][0] for known in others if known), None)
        hits += usual in each.split
    return hits / len(found)


def _replayed(least_known: int, every: int) -> Iterator[Replayed]:
    """Let a shop live through the demonstration's jobs, and ask it on the day each came in.

    It is asked by the service that `kb next-test` asks: index, fix rates and platforms are those
    of what was closed by then.
    """
    settings = Settings()
    with UnitOfWork(open_store(demo_address()), read_only=True) as work:
        cases, models, wording = list(work.jobs.all()), work.models.all(), shop_wording(work)
    closing = sorted((job for job in cases if job.closed), key=lambda job: job.closed or date.max)
    with TemporaryDirectory() as folder:
        address = str(Path(folder) / "shop.sqlite")
        with UnitOfWork(create_store(address)) as work:
            for model in models:
                work.models.add(model)
            work.commit()
        known = 0
        asked_of = sorted((job for job in cases if job.tests and job.cause), key=_day)
        for job in asked_of[every - 1 :: every]:
            closed = [done for done in closing[known:] if (done.closed or date.max) < job.opened]
            known += len(closed)
            with UnitOfWork(open_store(address)) as work:
                for done in closed:
                    work.jobs.add(replace(done, number=None))
                open_job = work.jobs.add(_as_it_came_in(job)) if known >= least_known else None
                work.commit()
            if open_job is None or open_job.number is None:
                continue
            now = datetime.combine(job.opened, time(12)).astimezone()
            asked = working_job(address, open_job.number, settings, who=None, now=now, best=99)
            with UnitOfWork(open_store(address)) as work:
                work.jobs.replace(replace(open_job, void="asked again"))
                work.commit()
            causes = [each.cause for each in asked.advice.suspects]
            everything = frozenset(range(len(causes) + 1))
            split = {
                key_of(test.name)
                for test in job.tests
                if left_by(test.points_to, test.clears, causes, wording) != everything
            }
            if split and causes:
                suspected = job.cause is not None and job.cause.key in {c.key for c in causes}
                yield Replayed(steps=asked.advice.steps, split=split, job=job, suspected=suspected)


def _day(job: Job) -> date:
    return job.opened


def _as_it_came_in(job: Job) -> Job:
    """Return a job as it was opened: nothing tested, tried or found out yet."""
    asked = Complaint.of(job)
    return Job(
        vehicle=job.vehicle,
        opened=job.opened,
        complaint=job.complaint,
        codes=asked.codes,
        readings=asked.readings,
        conditions=job.conditions,
        system=job.system,
        circuit=job.circuit,
    )


if __name__ == "__main__":
    told = sys.argv[1:]
    step = int(told.pop(told.index("--every") + 1)) if "--every" in told else 1
    wanted = [each for each in told if each != "--every"] or ["excess", "workshop", "replay"]
    if "excess" in wanted:
        excess_over_the_optimum()
    if "workshop" in wanted:
        simulated_workshop()
    if "replay" in wanted:
        replay(every=step)
