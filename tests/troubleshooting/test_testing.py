"""What tests say: counts from closed jobs, drawn towards the trade's table."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, DiagnosticTest, FailureMode, Job, Vehicle
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.circuit import chain_of
from kb.troubleshooting.general_tests import Leaves, general_tests
from kb.troubleshooting.possible_outcomes import left_by
from kb.troubleshooting.testing import (
    Candidate,
    TrackRecord,
    candidates,
    key_of,
    pasts,
    said_of,
    updated,
)
from tests.strategies import any_of

WORDING = Wording.default()
SETTINGS = TroubleshootingSettings()
PLUG = Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE)
UNIT = Cause(component="airbag control unit", failure_mode=FailureMode.INTERNAL_FAULT)
BELT = Cause(component="pretensioner", failure_mode=FailureMode.OPEN)
CAUSES = (PLUG, UNIT, BELT)
CHAIN = chain_of(CAUSES, (), WORDING)


def job(cause: Cause, *tests: DiagnosticTest) -> Job:
    day = date(2026, 3, 2)
    return Job(
        vehicle=Vehicle(), opened=day, closed=day, complaint="lamp on", cause=cause, tests=tests
    )


def wiggle(*points_to: str, clears: tuple[str, ...] = ()) -> DiagnosticTest:
    return DiagnosticTest(
        name="Wiggle test", seen="x", points_to=points_to, clears=clears, minutes=7
    )


def found(name: str, *jobs: Job) -> Candidate:
    every = candidates(CAUSES, CHAIN, pasts(jobs), WORDING, SETTINGS)
    return next(each for each in every if each.name == name)


def test_a_test_is_one_by_its_names_in_the_table() -> None:
    assert key_of("dummy load") == key_of("Substitute load at the connector, seat plug")
    assert key_of("Pressure-test") == "pressure test"
    assert key_of("front wheels swapped side to side") == "swap the wheels"
    assert key_of("swapped coil 3 with coil 1") == "swap left and right"
    assert key_of("wiring followed from the seat to the belt") == "visual check"


@given(
    one=st.integers(1, 500), other=st.integers(1, 500), unit=st.sampled_from(["km", "min", "km/h"])
)
def test_a_test_is_one_whatever_its_amount(one: int, other: int, unit: str) -> None:
    assert key_of(f"cleaned and driven {one} {unit}") == key_of(f"cleaned and driven {other}{unit}")


@given(
    name=st.sampled_from(
        [each for test in general_tests().test for each in (test.name, *test.also)]
    ),
    where=st.sampled_from(["at the plug", "on the left one", "with belt off", "after 10 min"]),
)
def test_where_and_how_it_was_made_makes_no_other_test(name: str, where: str) -> None:
    assert key_of(f"{name} {where}") == key_of(name)


@pytest.mark.parametrize("name", ["look underneath after 20 min", "swap on", "at the plug", ""])
def test_words_that_are_no_test_of_the_table_stay_what_they_are(name: str) -> None:
    assert key_of(name) in {name, "swap left and right"}


def test_what_was_said_of_the_true_cause_is_counted() -> None:
    jobs = [
        job(PLUG, wiggle("connector")),
        job(PLUG, wiggle("harness")),
        job(PLUG, wiggle("harness", clears=("connector",))),
        job(PLUG),
    ]
    past = pasts(jobs)[key_of("wiggle test")]
    assert said_of(past, WORDING) == TrackRecord(spoke_for=1, against=1)
    assert len(past) == 3


def test_jobs_that_are_no_cases_teach_nothing() -> None:
    open_job = Job(
        vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="x", tests=(wiggle("connector"),)
    )
    assert pasts([open_job]) == {}


def test_counts_move_the_tables_figure_and_its_minutes() -> None:
    table = next(each for each in general_tests().test if each.name.startswith("wiggle"))
    before = found(table.name)
    assert (before.right, before.minutes, before.own_minutes) == (table.right, table.minutes, 0)
    after = found(table.name, *[job(PLUG, wiggle("connector"))] * 4)
    assert after.right == pytest.approx((4 + 4 * table.right) / 8)
    assert (after.minutes, after.own_minutes) == (7, 4)
    worse = found(table.name, *[job(PLUG, wiggle("harness", clears=("connector",)))] * 4)
    assert worse.right == pytest.approx(4 * table.right / 8)


def test_a_load_splits_the_circuit_and_a_wiggle_finds_a_place() -> None:
    load = found("substitute load at the connector")
    assert load.place == "seat connector"
    follows, does_not = load.outcomes
    assert follows.left == {0, 2, 3}  # plug, belt, or something else
    assert does_not.left == {1, 3}
    assert follows.clears == ("airbag control unit",)
    jumps, steady = found("wiggle test with live reading").outcomes
    assert jumps.left == {0}
    assert steady.left == {1, 2, 3}
    assert jumps.points_to == ("seat connector",)


def test_what_a_test_is_blind_for_it_does_not_find() -> None:
    look = found("visual check")
    assert all(1 not in each.left for each in look.outcomes[:-1])  # an internal fault


def test_a_part_found_bad_often_is_not_bad_where_another_is_the_cause() -> None:
    # jobs tested otherwise tell nothing of their causes; what blames another part stays as rare
    # for these as the test is wrong, however often it was recorded for having found that part bad
    wiggled = [job(PLUG, wiggle("seat connector")) for _ in range(20)]
    looked = [
        job(UNIT, DiagnosticTest(name="hand on the unit", seen="hot", points_to=("unit",)))
        for _ in range(20)
    ]
    test = found("wiggle test with live reading", *wiggled, *looked)
    blames_plug = [
        chances
        for outcome, chances in zip(test.outcomes, test.likelihoods, strict=True)
        if outcome.left == {0}
    ]
    assert blames_plug[0][0] > 0.5
    assert blames_plug[0][1] <= 1 - test.right
    assert blames_plug[0][2] <= 1 - test.right


def test_a_test_of_the_shops_own_is_known_by_what_it_did() -> None:
    block = DiagnosticTest(name="tap test", seen="jumps", points_to=("pretensioner",))
    own = found("tap test", job(BELT, block))
    assert [each.left for each in own.outcomes] == [{2}, {0, 1, 3}]
    assert own.outcomes[0].past[0].cause == BELT
    assert own.general is None


@given(
    st.lists(any_of(Cause), min_size=1, max_size=5),
    st.lists(st.tuples(any_of(Cause), any_of(DiagnosticTest)), max_size=4),
)
def test_chances_of_outcomes_sum_to_one_for_every_cause(
    causes: list[Cause], past: list[tuple[Cause, DiagnosticTest]]
) -> None:
    jobs = [job(cause, test) for cause, test in past]
    jobs += [job(cause, test) for cause in causes for _, test in past]
    every = candidates(causes, chain_of(causes, (), WORDING), pasts(jobs), WORDING, SETTINGS)
    for candidate in every:
        assert 0 < candidate.right < 1
        assert all(0 < chance < 1 for row in candidate.likelihoods for chance in row)
        for column in zip(*candidate.likelihoods, strict=True):
            assert sum(column) == pytest.approx(1)


@given(
    st.lists(any_of(DiagnosticTest), max_size=4),
    st.lists(st.floats(0.01, 1), min_size=4, max_size=4),
)
def test_chances_stay_chances_whatever_was_seen(
    done: list[DiagnosticTest], weights: list[float]
) -> None:
    known = candidates(CAUSES, CHAIN, {}, WORDING, SETTINGS)
    after = updated(weights, done, known, CAUSES, WORDING, SETTINGS)
    if any(left_by(t.points_to, t.clears, CAUSES, WORDING) != {0, 1, 2, 3} for t in done):
        assert sum(after) == pytest.approx(1)
    assert all(weight > 0 for weight in after)


def test_bayes_by_hand() -> None:
    # P(plug | it jumps there) = .5 × right / (.5 × right + the share of the miss of the others)
    known = candidates(CAUSES, CHAIN, {}, WORDING, SETTINGS)
    wiggled = next(each for each in known if each.name.startswith("wiggle"))
    weights = (0.5, 0.3, 0.1, 0.1)
    after = updated(weights, [wiggle("connector")], known, CAUSES, WORDING, SETTINGS)
    joint = [w * chance for w, chance in zip(weights, wiggled.likelihoods[0], strict=True)]
    assert after == pytest.approx([each / sum(joint) for each in joint])
    assert wiggled.likelihoods[0] == pytest.approx((0.85, 0.15, 0.15, 0.15))
    assert after[0] > 0.8


def test_a_look_that_found_nothing_counts_as_one_whoever_is_suspected_besides() -> None:
    # what cannot be seen of a part is left though its name is cleared
    loose = replace(PLUG, failure_mode=FailureMode.INTERMITTENT)
    causes = (PLUG, UNIT, loose)
    known = candidates(causes, chain_of(causes, (), WORDING), {}, WORDING, SETTINGS)
    look = next(each for each in known if each.name == "visual check")
    *_, nothing = look.outcomes
    assert 2 in nothing.left
    made = DiagnosticTest(name="visual check", seen="nothing to be seen", clears=nothing.clears)
    after = updated((0.25,) * 4, [made], known, causes, WORDING, SETTINGS)
    joint = [0.25 * chance for chance in look.likelihoods[-1]]
    assert after == pytest.approx([each / sum(joint) for each in joint])


def test_the_same_test_with_the_same_result_counts_once() -> None:
    known = candidates(CAUSES, CHAIN, {}, WORDING, SETTINGS)
    once = updated((0.25,) * 4, [wiggle("connector")], known, CAUSES, WORDING, SETTINGS)
    twice = updated((0.25,) * 4, [wiggle("connector")] * 2, known, CAUSES, WORDING, SETTINGS)
    assert once == twice


def test_every_test_of_the_table_is_whole() -> None:
    names = [each.name for each in general_tests().test]
    assert len(set(names)) == len(names)
    for each in general_tests().test:
        assert 0.5 < each.right < 1
        assert each.minutes > 0
        first, *others, last = (outcome.leaves for outcome in each.outcome)
        assert first in (Leaves.HERE, Leaves.HERE_OR_ITS_FEED) or not each.together
        assert last is Leaves.ELSEWHERE or not each.together
        assert not others or each.together
        assert Leaves.ANOTHER_PART not in {first, last}
        assert key_of(each.name) == each.name
        assert all(key_of(other) == each.name for other in each.also)
