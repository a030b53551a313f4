"""Slow and sure ways to the best plan, written apart from the program's, and random problems."""

from collections.abc import Callable, Collection, Iterable, Mapping
from functools import cache
from itertools import permutations
from random import Random

from kb.troubleshooting.decision import Choice, Kind, Problem, RepairAction, Test, repair_order

Seen = tuple[int | None, ...]


class ExactPlan:
    """The best plan of all: dynamic programming over which repairs failed and what was seen."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._best = cache(self._find)

    def cost(self) -> float:
        """Least expected cost of any plan."""
        return self._best(frozenset(), (None,) * len(self._problem.tests))[0]

    def choice(self, failed: Collection[str], seen: Mapping[str, int]) -> Choice:
        """What the best plan does when these repairs failed and this was seen."""
        places = frozenset(
            place for place, each in enumerate(self._problem.repairs) if each.name in failed
        )
        return self._best(places, tuple(seen.get(test.name) for test in self._problem.tests))[1]

    def _weights(self, failed: frozenset[int], seen: Seen) -> list[float]:
        now = list(self._problem.weights)
        for cause in range(len(now)):
            for place in failed:
                now[cause] *= 1 - self._problem.repairs[place].cures[cause]
            for test, outcome in zip(self._problem.tests, seen, strict=True):
                if outcome is not None:
                    now[cause] *= test.outcomes[outcome][cause]
        return now

    def _find(self, failed: frozenset[int], seen: Seen) -> tuple[float, Choice]:
        here = sum(self._weights(failed, seen))
        ways = [(here * self._problem.giving_up, Choice(Kind.GIVE_UP, "", 0))]
        if here < 1e-12:
            return 0.0, ways[0][1]
        for place, repair in enumerate(self._problem.repairs):
            if place not in failed:
                cost = here * repair.cost + self._best(failed | {place}, seen)[0]
                ways.append((cost, Choice(Kind.REPAIR, repair.name, cost)))
        for place, test in enumerate(self._problem.tests):
            if seen[place] is None:
                cost = here * test.cost + sum(
                    self._best(failed, (*seen[:place], outcome, *seen[place + 1 :]))[0]
                    for outcome in range(len(test.outcomes))
                )
                ways.append((cost, Choice(Kind.TEST, test.name, cost)))
        return min(ways, key=lambda way: way[0])


def exact_cost(problem: Problem) -> float:
    """Least expected cost of any plan."""
    return ExactPlan(problem).cost()


def enumerated_cost(problem: Problem) -> float:
    """Least expected cost by trying every plan there is, as trees; for very small problems."""
    here = sum(problem.weights)
    ways = [here * problem.giving_up]
    ways += [
        here * repair.cost + enumerated_cost(problem.failed(repair)) for repair in problem.repairs
    ]
    ways += [
        here * test.cost
        + sum(enumerated_cost(problem.seen(test, k)) for k in range(len(test.outcomes)))
        for test in problem.tests
    ]
    return min(ways)


def best_order(problem: Problem) -> float:
    """Least cost of any order of all repairs, by Vomlelová's form: sum of p times cost so far."""
    best = float("inf")
    for order in permutations(problem.repairs):
        spent, cost, left = 0.0, 0.0, list(problem.weights)
        for repair in order:
            spent += repair.cost
            for cause, cure in enumerate(repair.cures):
                cost += left[cause] * cure * spent
                left[cause] *= 1 - cure
        best = min(best, cost + sum(left) * (spent + problem.giving_up))
    return best


def random_problem(
    random: Random, causes: int, tests: int, *, sure: bool = False, giving_up: float = 400.0
) -> Problem:
    """One fault among some causes, a repair for each, and tests that err."""
    raw = [random.gammavariate(0.7, 1) + 1e-3 for _ in range(causes)]
    return Problem(
        tuple(weight / sum(raw) for weight in raw),
        tuple(
            RepairAction(
                f"repair {place}",
                random.uniform(10, 120),
                tuple(
                    (1.0 if sure else random.uniform(0.7, 1)) if cause == place else 0.0
                    for cause in range(causes)
                ),
            )
            for place in range(causes)
        ),
        tuple(random_test(random, causes, place) for place in range(tests)),
        giving_up,
    )


def random_test(random: Random, causes: int, place: int) -> Test:
    """A test of two outcomes that blames some causes and clears the others, rightly or not."""
    right = random.uniform(0.75, 1)
    blamed = [random.random() < 0.5 for _ in range(causes)]
    found = tuple(right if each else 1 - right for each in blamed)
    return Test(
        f"test {place}", random.uniform(3, 40), (found, tuple(1 - chance for chance in found))
    )


def cost_of_policy(problem: Problem, advise: Callable[[Problem], Choice]) -> float:
    """Expected cost of doing what is advised, over everything that can then be seen."""
    here = sum(problem.weights)
    if here < 1e-12:
        return 0.0
    choice = advise(problem)
    for repair in problem.repairs:
        if choice.kind is Kind.REPAIR and repair.name == choice.name:
            return here * repair.cost + cost_of_policy(problem.failed(repair), advise)
    for test in problem.tests:
        if choice.kind is Kind.TEST and test.name == choice.name:
            return here * test.cost + sum(
                cost_of_policy(problem.seen(test, k), advise) for k in range(len(test.outcomes))
            )
    return here * problem.giving_up


def repairs_in_order(problem: Problem) -> Choice:
    """Advise the repair with the best chance over cost, and never a test."""
    order = repair_order(problem)
    return Choice(Kind.REPAIR, order[0].name, 0) if order else Choice(Kind.GIVE_UP, "", 0)


def cost_of_order(problem: Problem, order: Iterable[RepairAction]) -> float:
    """Expected cost of repairs done one after the other until one cures, else of giving up."""
    cost, left = 0.0, problem
    for repair in order:
        cost += sum(left.weights) * repair.cost
        left = left.failed(repair)
    return cost + sum(left.weights) * problem.giving_up
