"""Expected cost and look-ahead: what must hold for every problem."""

from math import log2
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import InvalidField
from kb.troubleshooting.decision import (
    Kind,
    Problem,
    RepairAction,
    Test,
    choices,
    expected_cost,
    information,
    repair_order,
    tells,
)
from tests.outside.deciding import best_order, cost_of_order, random_problem

PROBLEMS = st.builds(
    random_problem, st.builds(Random, st.integers(0, 10**6)), st.integers(2, 5), st.integers(0, 3)
)


@given(PROBLEMS)
def test_looking_further_never_costs_more(problem: Problem) -> None:
    costs = [expected_cost(problem, deep) for deep in range(4)]
    assert costs == sorted(costs, reverse=True)
    assert costs[0] == pytest.approx(expected_cost(problem, 0))


@given(PROBLEMS)
def test_choices_are_in_order_and_each_is_there_once(problem: Problem) -> None:
    found = choices(problem)
    assert [each.expected for each in found] == sorted(each.expected for each in found)
    assert len({(each.kind, each.name) for each in found}) == len(found)
    assert len(found) == 1 + len(problem.repairs) + sum(
        tells(problem.weights, t) for t in problem.tests
    )


@given(PROBLEMS, st.floats(0.1, 10))
def test_another_unit_of_cost_changes_no_choice(problem: Problem, factor: float) -> None:
    scaled = Problem(
        problem.weights,
        tuple(RepairAction(r.name, r.cost * factor, r.cures) for r in problem.repairs),
        tuple(Test(t.name, t.cost * factor, t.outcomes) for t in problem.tests),
        problem.giving_up * factor,
    )
    costs = [each.expected for each in choices(problem)]
    assert [each.expected for each in choices(scaled)] == pytest.approx(
        [cost * factor for cost in costs]
    )


@given(PROBLEMS)
def test_swapping_two_neighbours_never_betters_the_order(problem: Problem) -> None:
    order = list(repair_order(problem))
    best = cost_of_order(problem, order)
    for place in range(len(order) - 1):
        swapped = [*order]
        swapped[place : place + 2] = swapped[place + 1], swapped[place]
        assert cost_of_order(problem, swapped) >= best - 1e-9


@given(PROBLEMS)
def test_both_forms_of_the_cost_agree(problem: Problem) -> None:
    # Vomlelová, "Two decision problems of troubleshooting", International Journal of Intelligent
    # Systems 18 (2003): the sum over causes of p times what was spent up to it
    if len(repair_order(problem)) == len(problem.repairs):
        assert expected_cost(problem, 0) == pytest.approx(best_order(problem))


@given(PROBLEMS)
def test_seeing_an_outcome_shares_the_weights_out(problem: Problem) -> None:
    for test in problem.tests:
        after = [problem.seen(test, k) for k in range(len(test.outcomes))]
        shares = zip(*(each.weights for each in after), strict=True)
        assert [sum(share) for share in shares] == pytest.approx(list(problem.weights))
        assert all(test not in each.tests for each in after)


@pytest.mark.parametrize("cost", [0.01, 0.5, 4])
def test_a_test_that_tells_all_is_made_first_where_it_costs_less_than_it_saves(
    cost: float,
) -> None:
    # by hand: the test and one repair of 10, or by repairs alone one in half of the cases, else two
    look = Test("look", cost, ((1, 0), (0, 1)))
    repairs = (RepairAction("a", 10, (1, 0)), RepairAction("b", 10, (0, 1)))
    problem = Problem((0.5, 0.5), repairs, (look,), 100)
    assert expected_cost(problem, 0) == pytest.approx(15)
    assert expected_cost(problem, 1) == pytest.approx(10 + cost)


def test_a_test_that_tells_nothing_is_no_choice() -> None:
    idle = Test("idle", 1, ((0.5, 0.5), (0.5, 0.5)))
    problem = Problem((0.5, 0.5), (RepairAction("a", 5, (1, 0)),), (idle,), 100)
    assert not tells(problem.weights, idle)
    assert all(each.kind is not Kind.TEST for each in choices(problem))


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(InvalidField, match="problem"):
        Problem((1.0,), (RepairAction("a", 5, (1, 0)),), (), 100)
    with pytest.raises(InvalidField, match="cost"):
        Problem((1.0,), (RepairAction("a", 0, (1,)),), (), 100)


@given(PROBLEMS, st.floats(0.1, 10))
def test_a_test_tells_no_more_than_there_is_to_know(problem: Problem, factor: float) -> None:
    weights = tuple(weight * factor for weight in problem.weights)
    for test in problem.tests:
        told = information(problem.weights, test)
        assert 0 <= told <= log2(min(len(problem.weights), len(test.outcomes))) + 1e-9
        assert information(weights, test) == pytest.approx(told, abs=1e-9)
        assert tells(problem.weights, test) or told == pytest.approx(0, abs=1e-9)
