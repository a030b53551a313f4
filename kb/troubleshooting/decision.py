"""What to do next: expected cost to a proven repair, by look-ahead over tests and repairs.

One fault is looked for. Chances are carried as weights that need not sum to one: what is left of
them after outcomes and failed repairs is the chance of having come there, so every cost below is
already weighted by it. Nothing here knows of jobs, causes or words.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from math import log2
from operator import mul
from typing import Self

from kb.errors import InvalidField

Weights = tuple[float, ...]
LOOK_AHEAD = 1
"""Tests looked ahead before repairs in order of chance over cost are reckoned with. A second one
takes most of the little that one leaves above the optimum (``tests/benchmarks/next_test.py``), but
looks at every pair of tests."""
_NOTHING = 1e-12
"""Chances below this are rounding and not worth a step."""


@dataclass(frozen=True, slots=True)
class RepairAction:
    """Something that may cure: what it costs, and the chance that it cures each cause."""

    name: str
    cost: float
    cures: Weights


@dataclass(frozen=True, slots=True)
class Test:
    """Something that tells causes apart: ``outcomes[k][i]`` is the chance of k if i is the cause.

    For every cause the chances of all outcomes sum to one.
    """

    __test__ = False

    name: str
    cost: float
    outcomes: tuple[Weights, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault to be found.

    Attributes
    ----------
    weights : tuple of float
        Chance of each cause.
    repairs, tests
        Each is done once at most.
    giving_up : float
        What it costs when nothing here cures: the job is thought through from the start.
    """

    weights: Weights
    repairs: tuple[RepairAction, ...]
    tests: tuple[Test, ...]
    giving_up: float

    def __post_init__(self) -> None:
        count = len(self.weights)
        lists = [each.cures for each in self.repairs]
        lists += [outcome for test in self.tests for outcome in test.outcomes]
        if any(len(each) != count for each in lists):
            raise InvalidField("problem", count, "causes, but a repair or test speaks of others")
        costs = [repair.cost for repair in self.repairs] + [test.cost for test in self.tests]
        if min(costs, default=1) <= 0:
            raise InvalidField("cost", min(costs), "must be above 0")

    def without(self, name: str) -> Self:
        """Return the problem without the repair or test of that name."""
        return replace(
            self,
            repairs=tuple(each for each in self.repairs if each.name != name),
            tests=tuple(each for each in self.tests if each.name != name),
        )

    def failed(self, repair: RepairAction) -> Self:
        """Return what is left when a repair did not cure."""
        return replace(self.without(repair.name), weights=_failed(self.weights, repair))

    def seen(self, test: Test, outcome: int) -> Self:
        """Return what is left when a test had that outcome."""
        weights = _times(self.weights, test.outcomes[outcome])
        return replace(self.without(test.name), weights=weights)


class Kind(StrEnum):
    """What a choice is."""

    TEST = "test"
    REPAIR = "repair"
    GIVE_UP = "give up"


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that can be done next; `expected` is the cost to a proven repair if it is done."""

    kind: Kind
    name: str
    expected: float


def repair_order(problem: Problem) -> tuple[RepairAction, ...]:
    """Order repairs by the chance to cure over the cost, each judged after those before failed.

    The order ends where giving up is worth more than any repair left.

    References
    ----------
    Heckerman, Breese & Rommelse, "Decision-theoretic troubleshooting", Communications of the ACM
    38(3), 1995; Kadane & Simon, "Optimal strategies for a class of constrained sequential
    problems", Annals of Statistics 5(2), 1977. With one repair a cause the order is optimal;
    where repairs share causes it is Jensen et al.'s greedy one.

    Examples
    --------
    >>> plug = RepairAction("clean plug", 30, (1, 0))
    >>> unit = RepairAction("new control unit", 120, (0, 1))
    >>> [each.name for each in repair_order(Problem((0.3, 0.7), (unit, plug), (), 600))]
    ['clean plug', 'new control unit']
    """
    return tuple(repair for repair, _ in _steps(problem))


def choices(problem: Problem, look_ahead: int = LOOK_AHEAD) -> tuple[Choice, ...]:
    """Everything that can be done next, the least expected cost first.

    Parameters
    ----------
    problem : Problem
        Weights that sum to one give costs in the unit of the costs.
    look_ahead : int
        How many tests deep; 1 is formula (7) of Heckerman, Breese & Rommelse with the second
        half step of Jensen et al.: a test now is weighed against the best repair first and the
        test then.

    Returns
    -------
    tuple of Choice
        Of equal costs repairs before tests, so that nothing is tested for its own sake; giving
        up is always among them.

    References
    ----------
    Jensen, Kjærulff, Kristiansen, Langseth, Skaanning, Vomlel & Vomlelová, "The SACSO methodology
    for troubleshooting complex systems", AI EDAM 15, 2001.
    """
    total = sum(problem.weights)
    found = [Choice(Kind.GIVE_UP, "", total * problem.giving_up)]
    found += [
        Choice(
            Kind.REPAIR,
            repair.name,
            total * repair.cost + expected_cost(problem.failed(repair), look_ahead),
        )
        for repair in problem.repairs
        if any(_times(problem.weights, repair.cures))
    ]
    found += [
        Choice(Kind.TEST, test.name, _after(problem, test, look_ahead - 1))
        for test in problem.tests
        if tells(problem.weights, test)
    ]
    order = list(Kind)[::-1]
    return tuple(sorted(found, key=lambda each: (each.expected, order.index(each.kind))))


def expected_cost(problem: Problem, look_ahead: int = LOOK_AHEAD) -> float:
    """Least expected cost when at most so many tests are made before repairs in order.

    With none it is that of repairs alone: ECR, formula (5) of Heckerman, Breese & Rommelse.
    """
    least = _repair_cost(problem)
    if look_ahead < 1 or least <= _NOTHING:
        return least
    total = sum(problem.weights)
    for test in problem.tests:
        if total * test.cost < least and tells(problem.weights, test):
            least = min(least, _after(problem, test, look_ahead - 1))
    return least


def _after(problem: Problem, test: Test, look_ahead: int) -> float:
    """Cost of a test and of what follows each of its outcomes."""
    left = problem.without(test.name) if look_ahead else replace(problem, tests=())
    return sum(problem.weights) * test.cost + sum(
        expected_cost(replace(left, weights=_times(problem.weights, outcome)), look_ahead)
        for outcome in test.outcomes
    )


def _repair_cost(problem: Problem) -> float:
    cost, weights = 0.0, problem.weights
    for repair, left in _steps(problem):
        cost += sum(weights) * repair.cost
        weights = left
    return cost + sum(weights) * problem.giving_up


def _steps(problem: Problem) -> Iterator[tuple[RepairAction, Weights]]:
    """Yield repairs in order, with the weights left when each has failed."""
    weights, left = problem.weights, list(problem.repairs)
    while left and (total := sum(weights)) > _NOTHING:
        gain, best = 0.0, left[0]
        for repair in left:
            worth = sum(map(mul, weights, repair.cures)) / repair.cost
            if worth > gain:
                gain, best = worth, repair
        if gain * problem.giving_up < total:
            return
        weights = _failed(weights, best)
        left.remove(best)
        yield best, weights


def _failed(weights: Weights, repair: RepairAction) -> Weights:
    return tuple(weight * (1 - cure) for weight, cure in zip(weights, repair.cures, strict=True))


def _times(weights: Weights, factors: Weights) -> Weights:
    return tuple(map(mul, weights, factors))


def tells(weights: Weights, test: Test) -> bool:
    """Whether a test can change what is believed."""
    held = [place for place, weight in enumerate(weights) if weight > _NOTHING]
    return any(
        abs(outcome[place] - outcome[held[0]]) > _NOTHING
        for outcome in test.outcomes
        for place in held[1:]
    )


def information(weights: Weights, test: Test) -> float:
    """Return how many bits a test is expected to tell of which cause it is, at least 0.

    References
    ----------
    Lindley, D. V. (1956). On a measure of the information provided by an experiment. Annals of
    Mathematical Statistics 27, 986-1005.

    Examples
    --------
    >>> sure = Test("look", 10, ((1.0, 0.0), (0.0, 1.0)))
    >>> information((0.5, 0.5), sure), information((1.0, 0.0), sure)
    (1.0, 0.0)
    """
    total = sum(weights)
    if total <= _NOTHING:
        return 0.0
    after = [_times(weights, outcome) for outcome in test.outcomes]
    left = sum(sum(each) / total * _doubt(each) for each in after)
    return max(0.0, _doubt(weights) - left)


def _doubt(weights: Weights) -> float:
    """Return the entropy of some weights, in bits."""
    total = sum(weights)
    held = [weight / total for weight in weights if weight > _NOTHING]
    return -sum(share * log2(share) for share in held)
