"""Ranked causes: votes become chances that leave room for what was never seen."""

from dataclasses import replace
from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kb.case import Cause, FailureMode
from kb.diagnosis.causes import not_seen_before, pooled, rank, strangeness, unseen_share
from kb.intake.wording import Wording
from kb.recall import text_signal as text
from kb.recall.naming import NamedCause, build
from kb.recall.recall import LinearChance, Neighbour, Recalled
from kb.settings import DiagnosisSettings

SETTINGS = DiagnosisSettings()


def recalled(*votes: tuple[int, float], cases: int = 100, once: int = 10) -> Recalled:
    neighbours = [
        Neighbour(number=number, cause=cause, chance=chance, vote=chance, parts=())
        for number, (cause, chance) in enumerate(votes, start=1)
    ]
    return Recalled(
        neighbours=tuple(sorted(neighbours, key=lambda each: -each.chance)),
        read_as={},
        strange_codes=(),
        cases=cases,
        causes_seen_once=once,
    )


def test_the_cause_with_more_and_nearer_cases_comes_first() -> None:
    ranking = rank(recalled((7, 0.8), (7, 0.7), (9, 0.6)), SETTINGS)
    assert [each.cause for each in ranking.causes] == [7, 9]
    assert ranking.causes[0].jobs == (1, 2)


def test_of_equal_chances_that_with_the_newer_job_comes_first() -> None:
    for order in ((7, 9), (9, 7)):
        ranking = rank(recalled(*((cause, 0.5) for cause in order)), SETTINGS)
        assert [each.cause for each in ranking.causes] == list(order[::-1])
        assert [each.jobs for each in ranking.causes] == [(2,), (1,)]


def test_nothing_recalled_means_not_seen_before() -> None:
    ranking = rank(recalled(cases=0, once=0), SETTINGS)
    assert (ranking.causes, ranking.not_seen_before) == ((), 1.0)


def test_the_odds_beforehand_are_the_good_turing_mass() -> None:
    # by hand: 10 of 100 seen once, and three more on either side
    assert unseen_share(recalled((1, 0.5))) == pytest.approx(13 / 106)


def test_where_none_was_seen_once_the_rule_of_three_holds() -> None:
    # Source: Hanley & Lippman-Hand (1983): none in n may still be 3 / n at 95 %.
    share = unseen_share(recalled((1, 0.5), cases=600, once=0))
    assert share == pytest.approx(3 / 600, rel=0.01)
    assert 1 - (1 - share) ** 600 == pytest.approx(0.95, abs=0.005)


def test_a_shop_of_one_job_is_sure_of_nothing() -> None:
    known = rank(recalled((1, 0.9), cases=1, once=1), SETTINGS)
    assert 0.1 < known.not_seen_before < 0.9


@given(
    cases=st.integers(1, 3000),
    chances=st.lists(st.floats(0.01, 1 - 1e-9), min_size=1, max_size=8),
    weight=st.floats(-9, 9),
)
def test_no_chance_is_surer_than_so_few_cases_can_bear(
    cases: int, chances: list[float], weight: float
) -> None:
    # Source: the rule of succession as scipy has it, the mean of what is left of an even start
    bold = replace(SETTINGS, unseen_weights={"near": weight, "first": weight})
    found = recalled(*((1, chance) for chance in chances), cases=cases, once=0)
    ranking = rank(found, bold)
    least = stats.beta(1, cases + 1).mean()
    assert ranking.not_seen_before >= least * (1 - 1e-9)
    assert sum(each.chance for each in ranking.causes) <= 1 - least * (1 - 1e-9)


def test_eleven_jobs_make_nothing_surer_than_twelve_in_thirteen() -> None:
    # by hand: 11 cases, 1 / 13 is left; unbounded such evidence left less than one in a hundred
    bold = replace(SETTINGS, unseen_intercept=-9.0)
    ranking = rank(recalled((1, 0.99), cases=11, once=0), bold)
    assert ranking.not_seen_before == pytest.approx(1 / 13)
    assert ranking.causes[0].chance == pytest.approx(12 / 13)


def test_more_causes_seen_once_raise_not_seen_before() -> None:
    often = rank(recalled((1, 0.5), once=40), SETTINGS).not_seen_before
    assert often > rank(recalled((1, 0.5), once=4), SETTINGS).not_seen_before


def test_evidence_that_says_nothing_leaves_the_odds_as_they_were() -> None:
    found = recalled((1, 0.5))
    plain = replace(SETTINGS, unseen_intercept=0.0)
    nothing = dict.fromkeys(strangeness(found, plain), 0.0)
    assert not_seen_before(found, nothing, plain) == pytest.approx(unseen_share(found))


def test_nearness_is_held_against_what_is_usual_of_the_causes_in_view() -> None:
    # by hand: log-odds of 3/4 are log 3; cause 1 has half of the votes, any other cause the rest
    found = recalled((1, 0.75), (2, 0.75))
    usual = replace(SETTINGS, usual_near={1: 2.0}, usual_near_of_any=1.0)
    near = strangeness(found, usual)["near"]
    assert near == pytest.approx(log(3) - 1.5)


def test_far_from_where_cases_of_a_cause_usually_are_is_stranger() -> None:
    found = recalled((1, 0.6))
    close, wide = (replace(SETTINGS, usual_near={1: usual}) for usual in (3.0, 0.0))
    assert rank(found, close).not_seen_before > rank(found, wide).not_seen_before


def test_the_first_chance_is_set_right_and_stays_the_first() -> None:
    # by hand: log-odds of 3/4 are log 3; less log 3 that is 1/2, and the rest shares the other
    found = recalled((1, 0.75), (2, 0.25))
    even = replace(SETTINGS, first_shift=-log(3))
    assert [each.chance for each in pooled(found, even)] == pytest.approx([0.5, 0.5])
    low = pooled(recalled((1, 0.4), (2, 0.3), (3, 0.3)), replace(SETTINGS, first_shift=-9.0))
    assert low[0].chance >= low[1].chance == pytest.approx(low[2].chance)
    assert sum(each.chance for each in low) == pytest.approx(1.0)


def leaning(found: Recalled, **chances: float) -> Recalled:
    told = [
        LinearChance(cause=int(c[1:]), chance=p, job=900 + int(c[1:])) for c, p in chances.items()
    ]
    return replace(found, linear_chances=tuple(told))


def test_beside_a_certain_cause_a_hopeless_one_stays() -> None:
    found = pooled(recalled((1, 1.0), (2, 1e-20)), SETTINGS)
    assert [each.chance for each in found] == pytest.approx([1.0, 1e-20])
    assert found[1].chance > 0


def test_a_model_of_few_cases_a_cause_has_less_to_say() -> None:
    """The jobs say one cause, the model the other: whom to follow hangs on what it learnt from."""
    few, many = (
        pooled(
            replace(leaning(recalled((1, 0.8), (2, 0.2)), c1=0.2, c2=0.8), cases=cases), SETTINGS
        )
        for cases in (4, 400)
    )
    chances = [{each.cause: each.chance for each in pool} for pool in (few, many)]
    assert chances[0][1] > chances[0][2]
    assert chances[1][1] < chances[0][1]


def test_two_opinions_are_pooled_as_their_weighed_geometric_mean() -> None:
    # by hand, without floors: 0.75^1 x 0.2^1 against 0.25^1 x 0.8^1, so 3 to 4
    even = replace(
        SETTINGS,
        pool_jobs=1.0,
        pool_model=1.0,
        pool_pull=0.0,
        pool_floor_jobs=1e-12,
        pool_floor_model=1e-12,
    )
    pool = pooled(leaning(recalled((1, 0.75), (2, 0.25)), c1=0.2, c2=0.8), even)
    assert {each.cause: each.chance for each in pool} == pytest.approx({2: 4 / 7, 1: 3 / 7})


def test_shares_of_the_votes_are_of_all_votes() -> None:
    # by hand: 1.5 of 2 votes, and 0.5 of 2
    pool = pooled(recalled((1, 0.9), (1, 0.6), (2, 0.5)), SETTINGS)
    assert {each.cause: each.by_jobs for each in pool} == pytest.approx({1: 0.75, 2: 0.25})


def test_a_cause_the_model_has_not_learnt_yet_keeps_its_votes() -> None:
    pool = pooled(leaning(recalled((1, 0.5), (2, 0.5)), c2=1.0), SETTINGS)
    new = next(each for each in pool if each.cause == 1)
    assert (new.by_model, new.by_jobs) == (None, 0.5)
    assert new.chance > 0.2


def test_a_cause_only_the_model_thinks_of_comes_with_a_job_that_had_it() -> None:
    pool = pooled(leaning(recalled((1, 0.5)), c1=0.5, c2=0.5), SETTINGS)
    assert [(each.jobs, each.example) for each in pool if each.cause == 2] == [((), 902)]


def test_a_model_never_had_is_answered_less_surely() -> None:
    strange = replace(recalled((1, 0.9), (2, 0.3)), new_model=True)
    timid = replace(SETTINGS, new_model_first=-1.0, new_model_shift=1.0)
    sure, shy = rank(strange, SETTINGS), rank(strange, timid)
    assert shy.not_seen_before > sure.not_seen_before
    assert shy.causes[0].chance < sure.causes[0].chance


votes = st.lists(st.tuples(st.integers(1, 5), st.floats(0.02, 1.0)), max_size=40)


@given(votes, st.integers(0, 50))
def test_chances_and_the_unseen_sum_to_one(pairs: list[tuple[int, float]], once: int) -> None:
    ranking = rank(recalled(*pairs, cases=max(len(pairs), 50), once=once), SETTINGS)
    total = sum(each.chance for each in ranking.causes) + ranking.not_seen_before
    assert total == pytest.approx(1.0)
    assert all(0 <= each.chance <= 1 for each in ranking.causes)
    chances = [each.chance for each in ranking.causes]
    assert chances == sorted(chances, reverse=True)
    told = sorted(number for each in ranking.causes for number in each.jobs)
    assert told == list(range(1, len(pairs) + 1))


def naming(found: Recalled, **likenesses: float) -> Recalled:
    told = [NamedCause(cause=int(c[1:]), likeness=p, job=800) for c, p in likenesses.items()]
    return replace(found, named=tuple(told), naming_share=max(likenesses.values()))


def test_a_cause_that_is_named_gains_by_that() -> None:
    # by hand: even votes, and log 3 more for the one named outright: 3 to 1
    even = replace(SETTINGS, named=log(3))
    pool = pooled(naming(recalled((1, 0.5), (2, 0.5)), c2=1.0, c9=1.0), even)
    assert [(each.cause, each.named) for each in pool] == [(2, 1.0), (1, 0.0)]
    assert [each.chance for each in pool] == pytest.approx([3 / 4, 1 / 4])


def test_naming_what_is_not_in_view_is_stranger() -> None:
    # by hand: the causes in view are named 0.2 of the way, 0.5 of the complaint names some cause
    found = replace(naming(recalled((1, 0.5)), c1=0.2), naming_share=0.5)
    assert strangeness(found, SETTINGS)["named"] == pytest.approx(log(0.3 / 0.6))
    else_ = naming(recalled((1, 0.5)), c1=0.1, c9=0.9)
    home = naming(recalled((1, 0.5)), c1=0.9, c9=0.1)
    assert rank(else_, SETTINGS).not_seen_before > rank(home, SETTINGS).not_seen_before


def test_what_is_named_does_not_count_twice_in_strangeness() -> None:
    plain, told = recalled((1, 0.5), (2, 0.4)), naming(recalled((1, 0.5), (2, 0.4)), c2=0.6)
    before, after = strangeness(plain, SETTINGS), strangeness(told, SETTINGS)
    assert (before["near"], before["first"]) == (after["near"], after["first"])


def test_a_lone_weak_job_makes_no_sure_cause() -> None:
    # by hand: one job of chance 1/4 is all there is; two make it 1 - (3/4)^2 = 7/16
    lone, two = recalled((1, 0.25)), recalled((1, 0.25), (1, 0.25))
    assert strangeness(lone, SETTINGS)["first"] == pytest.approx(log(1 / 3))
    assert strangeness(two, SETTINGS)["first"] == pytest.approx(log(7 / 9))


def test_doubt_among_kin_is_no_sign_of_a_stranger() -> None:
    # by hand: cause 2 has a quarter of the chance; in the first shop it is the same by its words
    words = Wording.default()
    model, _ = text.fit([["pump", "left"]])
    pump, other = (Cause(component=c, failure_mode=FailureMode.WORN) for c in ("pump left", "fuse"))
    found = recalled((1, 0.75), (2, 0.25))
    kin = replace(found, names=(build({1: pump, 2: pump}, words, model),))
    strange = replace(found, names=(build({1: pump, 2: other}, words, model),))
    assert strangeness(kin, SETTINGS)["alike"] == pytest.approx(0.0, abs=1e-5)
    assert strangeness(strange, SETTINGS)["alike"] == pytest.approx(log(0.05 / 0.3), abs=1e-5)
    assert rank(strange, SETTINGS).not_seen_before > rank(kin, SETTINGS).not_seen_before


def about(found: Recalled, **shares: float) -> Recalled:
    return replace(found, about=("horn",), at_home={int(c[1:]): p for c, p in shares.items()})


def test_what_the_shop_never_had_the_like_of_is_stranger() -> None:
    # by hand: both causes have half of the votes, and one of them is about it; 0.4 is usual, and a
    # tenth is added to all
    plain = replace(SETTINGS, subject=0.0)
    found = recalled((1, 0.5), (2, 0.5))
    half, nowhere = about(found, c1=1.0), about(found)
    assert strangeness(half, plain)["subject"] == pytest.approx(log(0.6 / 0.5))
    assert strangeness(nowhere, plain)["subject"] == pytest.approx(log(0.1 / 0.5))
    assert rank(nowhere, plain).not_seen_before > rank(half, plain).not_seen_before


def test_a_system_that_the_causes_in_view_are_not_of_is_stranger() -> None:
    # by hand: as above; half of the cases behind one cause, which has half of the votes, are of it
    found = about(recalled((1, 0.5), (2, 0.5)), c1=1.0)
    some = replace(found, same_system={1: 0.5})
    plain = replace(SETTINGS, subject=0.0)
    assert strangeness(some, plain)["system"] == pytest.approx(log(0.35 / 0.5))
    assert strangeness(found, SETTINGS)["system"] == pytest.approx(log(0.1 / 0.5))
    assert rank(found, SETTINGS).not_seen_before > rank(some, SETTINGS).not_seen_before


def test_another_function_of_the_same_system_is_no_sign_of_a_known_cause() -> None:
    # by hand: all that is in view is of the system, and nothing of it about the complaint
    nothing = replace(about(recalled((1, 0.5), (2, 0.5))), same_system={1: 1.0, 2: 1.0})
    some = about(nothing, c1=0.5)
    assert strangeness(nothing, SETTINGS)["system"] == pytest.approx(log(0.1 / 0.5))
    assert strangeness(some, SETTINGS)["system"] == pytest.approx(log(1.1 / 0.5))


def test_a_complaint_of_no_subject_is_of_no_system_either() -> None:
    untold = strangeness(recalled((1, 0.5)), SETTINGS)
    assert untold["system"] == untold["subject"] == pytest.approx(log(0.35 / 0.5))


@pytest.mark.parametrize(
    ("level", "share"), [(-1.0, 1 / 2), (0.69, 1 / 2), (0.70, 1.0), (3.0, 1.0)]
)
def test_words_alone_that_do_not_look_strange_halve_the_odds(level: float, share: float) -> None:
    # by hand: evidence that says nothing, and a level that is all there is; e to 0.693 is 2
    plain = recalled((1, 0.5))
    nothing = dict.fromkeys(strangeness(plain, SETTINGS), 0.0)
    settings = replace(SETTINGS, unseen_intercept=level)
    told, alone = (
        not_seen_before(each, nothing, settings)
        for each in (plain, replace(plain, words_alone=True))
    )
    assert alone / (1 - alone) == pytest.approx(told / (1 - told) * share)


def test_words_alone_stay_strange_where_nothing_in_view_is_about_them() -> None:
    plain = replace(recalled((1, 0.5)), words_alone=True)
    strange = dict.fromkeys(strangeness(plain, SETTINGS), 0.0) | {"subject": -0.1}
    settings = replace(SETTINGS, unseen_weights={}, unseen_intercept=-1.0)
    told = not_seen_before(replace(plain, words_alone=False), strange, settings)
    assert not_seen_before(plain, strange, settings) == told


def test_a_cause_about_the_same_gains_by_that() -> None:
    # by hand: even votes, and log 3 more for the one about the same: 3 to 1
    even = replace(SETTINGS, subject=log(3))
    pool = pooled(about(recalled((1, 0.5), (2, 0.5)), c2=1.0), even)
    assert [(each.cause, each.at_home) for each in pool] == [(2, 1.0), (1, 0.0)]
    assert [each.chance for each in pool] == pytest.approx([3 / 4, 1 / 4])


def test_a_cause_said_to_be_fine_loses_what_one_never_seen_gains() -> None:
    # by hand, by Bayes' rule: two even causes, one of them a third as likely to be said to be fine;
    # 1 to 3 between them, and of both two thirds are left
    third = replace(SETTINGS, said_fine=log(3))
    plain = recalled((1, 0.5), (2, 0.5))
    found = replace(plain, said_fine={2: 1.0})
    assert [each.chance for each in pooled(found, third)] == pytest.approx([3 / 4, 1 / 4])
    nothing = {"subject": 0.0, "system": 0.0}
    before, after = (not_seen_before(each, nothing, bare(third)) for each in (plain, found))
    assert after / (1 - after) == pytest.approx(before / (1 - before) * 3 / 2)


def bare(settings: DiagnosisSettings) -> DiagnosisSettings:
    return replace(settings, unseen_weights={})
