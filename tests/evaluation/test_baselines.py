"""The plain ways to rank causes: right by hand, and no trouble with a shop that holds little."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Complaint, Job, Reading, Vehicle
from kb.evaluation.baselines import (
    BASELINES,
    Baseline,
    LogisticRegression,
    MostCommon,
    Neighbours,
    _fit,
    bm25,
    facts,
    tfidf,
    words,
)
from kb.recall.hashing import key
from kb.recall.index import cause_key
from tests import strategies
from tests.recall.shop import CASES, LIDO, pretensioner

KEYS = [key(cause_key(case)) for case in CASES]
every_baseline = pytest.mark.parametrize("baseline", BASELINES, ids=lambda each: each.name)


def asked(text: str) -> Complaint:
    return Complaint(text=text)


def test_the_most_common_cause_is_named_whatever_is_asked() -> None:
    (shares,) = MostCommon().rank(CASES, [asked("no crank")])
    assert next(iter(shares)) == KEYS[0]
    assert shares[KEYS[0]] == pytest.approx(2 / 6)
    # of those seen once the one seen last comes next
    assert list(shares)[1] == KEYS[5]


@pytest.mark.parametrize("neighbours", [Neighbours("BM25", bm25), Neighbours("TF-IDF", tfidf)])
def test_neighbours_find_the_case_with_the_same_words(neighbours: Baseline) -> None:
    first, second, none = neighbours.rank(
        CASES, [asked("NO CRANK, clicks!"), asked("door lock"), asked("zzz")]
    )
    assert next(iter(first)) == KEYS[3]
    assert second == {KEYS[5]: pytest.approx(1.0)}
    assert none == {}


def test_the_classifier_goes_by_fields_where_words_say_nothing() -> None:
    cases = [replace(case, complaint="lamp on") for case in CASES]
    (chances,) = LogisticRegression().rank(cases, [Complaint.of(cases[2])])
    assert next(iter(chances)) == KEYS[2]


def test_turning_the_axes_leaves_the_fit_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    questions = [Complaint.of(case) for case in CASES]
    (*turned,) = LogisticRegression().rank(CASES, questions)
    monkeypatch.setattr("kb.evaluation.baselines._turned", lambda rows, asked: (rows, asked))
    _fit.cache_clear()
    for ours, plain in zip(turned, LogisticRegression().rank(CASES, questions), strict=True):
        assert ours == pytest.approx(plain, abs=1e-3)


def test_calibrating_keeps_the_order_and_serves_cases_held_out() -> None:
    cases = [replace(case, complaint=f"{case.complaint} {n}") for n in range(6) for case in CASES]
    questions = [Complaint.of(case) for case in CASES]
    plain = LogisticRegression(strength=0.05)
    (*timid,) = plain.rank(cases, questions)
    (*calibrated,) = replace(plain, calibrated=True).rank(cases, questions)
    assert [list(each) for each in timid] == [list(each) for each in calibrated]
    # the complaints come back nearly word for word, and a strong penalty makes chances too small
    for one, other in zip(timid, calibrated, strict=True):
        assert max(one.values()) < max(other.values())


def test_a_classifier_may_learn_from_the_newest_alone() -> None:
    (chances,) = LogisticRegression(newest=2).rank(CASES, [Complaint.of(CASES[0])])
    assert set(chances) == set(KEYS[4:])


@every_baseline
def test_chances_sum_to_one_and_fall(baseline: Baseline) -> None:
    for chances in baseline.rank(CASES * 3, [Complaint.of(case) for case in CASES]):
        assert sum(chances.values()) == pytest.approx(1.0)
        assert list(chances.values()) == sorted(chances.values(), reverse=True)
        assert set(chances) <= set(KEYS)


@every_baseline
@pytest.mark.parametrize("known", [CASES[:1], CASES[:2], CASES[2:4]], ids=len)
def test_little_in_the_shop_is_no_error(baseline: Baseline, known: list[Job]) -> None:
    ranked = baseline.rank(known, [asked(""), asked("no crank"), Complaint.of(CASES[0])])
    assert len(ranked) == 3
    for chances in ranked:
        assert set(chances) <= {key(cause_key(case)) for case in known}


@every_baseline
def test_cases_without_a_word_are_no_error(baseline: Baseline) -> None:
    silent = [replace(case, complaint="?!", codes=()) for case in CASES]
    assert len(baseline.rank(silent, [asked("no crank"), asked("")])) == 2


def test_facts_tell_what_is_recorded_and_nothing_else() -> None:
    assert facts(Complaint(text="no crank")) == {}
    told = facts(Complaint(vehicle=LIDO, codes=CASES[0].codes, readings=(pretensioner(2.2),)))
    assert set(told) == {
        "make corvane",
        "model lido",
        "year 2016",
        "code b1234",
        "family b12",
        "reading pretensioner 2^1",
    }


def test_a_day_is_told_by_its_month_and_the_month_of_its_car() -> None:
    car = Complaint(vehicle=Vehicle(ref="K001"))
    assert set(facts(car, date(2024, 3, 9))) - set(facts(car)) == {
        "in 2024",
        "in 2024-03",
        "car ('ref', 'k001') in 2024-03",
    }


def test_the_classifier_goes_by_the_month_where_nothing_else_tells() -> None:
    silent = [replace(case, complaint="lamp on", codes=(), system=None) for case in CASES]
    bare = [replace(case, vehicle=Vehicle()) for case in silent]
    question = Complaint.of(bare[3])
    (chances,) = LogisticRegression().rank(bare, [question], [date(2024, 4, 20)])
    assert next(iter(chances)) == KEYS[3]


@given(strategies.readings())
def test_every_reading_is_a_fact(taken: Reading) -> None:
    assert len(facts(Complaint(readings=(taken,)))) == 1


def test_words_are_letters_and_digits_without_case() -> None:
    assert words(Complaint(text="ABS lamp,\non-off", codes=CASES[0].codes)) == [
        "abs",
        "lamp",
        "on",
        "off",
        "b1234",
    ]


texts = st.lists(st.lists(st.sampled_from("abcdef"), max_size=6), min_size=1, max_size=8)


@given(texts.filter(any), st.lists(st.sampled_from("abcxyz"), max_size=5))
def test_only_texts_that_share_a_word_score(corpus: list[list[str]], question: list[str]) -> None:
    (scores,) = bm25(corpus, [question])
    shares = [bool(set(text) & set(question)) for text in corpus]
    assert np.array_equal(scores > 0, shares)
