"""The linear model of the causes: what it learns, what it says, and that it can be told apart."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from scipy.sparse import random_array
from sklearn.linear_model import LogisticRegression

from kb.case import Cause, Complaint, Job, System
from kb.intake.wording import Wording
from kb.recall import linear
from kb.recall.features import Query, blocks
from kb.recall.hashing import key
from kb.recall.index import Index, cause_key
from kb.recall.recall import recall
from kb.recall.why import drivers
from kb.settings import Settings
from tests.recall.shop import BATTERY, CLOCK_SPRING, DRAY, LIDO, SEAT_CONNECTOR, case

WORDING = Wording.default()
SETTINGS = Settings()
EAGER = replace(SETTINGS, recall=replace(SETTINGS.recall, linear_least=5))


def shop() -> list[Job]:
    said = [
        (SEAT_CONNECTOR, LIDO, System.RESTRAINTS, "airbag lamp on seat moved"),
        (CLOCK_SPRING, LIDO, System.RESTRAINTS, "airbag lamp on horn dead"),
        (BATTERY, DRAY, System.CHARGING_STARTING, "no crank clicks once"),
    ]
    jobs = [
        case(1 + number % 12, vehicle, f"{words} {number}", system, cause)
        for number, (cause, vehicle, system, words) in enumerate(said * 6)
    ]
    return [replace(job, number=number) for number, job in enumerate(jobs, start=1)]


INDEX = Index.fit(shop(), WORDING, EAGER)


def linear_chances(text: str, index: Index = INDEX, **kwargs: object) -> dict[int, float]:
    asked = Query(complaint=Complaint(text=text), on=date(2024, 6, 1))
    found = recall(asked, index, WORDING, SETTINGS.recall, **kwargs)  # type: ignore[arg-type]
    return {each.cause: each.chance for each in found.linear_chances}


def of(cause: Cause) -> int:
    return key("\n".join(cause.key))


def test_words_of_a_cause_speak_for_it() -> None:
    found = linear_chances("horn dead")
    assert sum(found.values()) == pytest.approx(1.0)
    assert max(found, key=lambda cause: found[cause]) == of(CLOCK_SPRING)


def test_too_few_cases_or_one_cause_fit_nothing() -> None:
    assert not linear_chances("horn dead", Index.fit(shop(), WORDING, Settings()))
    alike = [replace(job, cause=BATTERY) for job in shop()]
    assert not linear_chances("horn dead", Index.fit(alike, WORDING, EAGER))


def test_two_causes_are_told_apart_as_well_as_three() -> None:
    two = [job for job in shop() if job.cause != CLOCK_SPRING]
    found = linear_chances("no crank", Index.fit(two, WORDING, EAGER))
    assert found[of(BATTERY)] > 0.5 > found[of(SEAT_CONNECTOR)]


def test_a_hidden_cause_is_left_out_and_a_left_out_job_silences_the_model() -> None:
    assert of(CLOCK_SPRING) not in linear_chances("horn dead", hidden=[of(CLOCK_SPRING)])
    assert sum(linear_chances("horn dead", hidden=[of(CLOCK_SPRING)]).values()) == pytest.approx(
        1.0
    )
    assert not linear_chances("horn dead", without=[1])
    assert not linear_chances("horn dead", since=date(2024, 5, 1))


def test_it_comes_back_from_disk_as_it_was(tmp_path: Path) -> None:
    INDEX.save(tmp_path)
    loaded = Index.load(tmp_path)
    assert loaded is not None
    assert linear_chances("horn dead", loaded) == pytest.approx(linear_chances("horn dead"))


def test_what_each_term_adds_sums_to_the_score() -> None:
    asked = Query(complaint=Complaint(text="airbag horn", vehicle=LIDO), on=date(2024, 6, 1))
    query = INDEX.model.weigh(WORDING.tokens(asked.complaint.text))
    linear, texts = INDEX.linear, INDEX.base.complaint
    facts = linear.weigh(blocks(asked, WORDING, INDEX.widths))
    scores = linear.place(texts.cosines(*query), facts) @ linear.weights
    for column, cause in enumerate(linear.causes.tolist()):
        of_words, of_facts = linear.pulls(query, facts, texts, cause)
        added = of_words.sum() + of_facts.sum()
        assert added == pytest.approx(scores[column] - scores.mean(), abs=1e-4)


def test_the_words_that_drove_a_cause_are_named() -> None:
    asked = Query(complaint=Complaint(text="horn dead since Monday"), on=date(2024, 6, 1))
    assert {"horn", "dead"} & set(drivers(asked, INDEX, WORDING, of(CLOCK_SPRING)))
    assert drivers(asked, INDEX, WORDING, 1) == ()


def test_chances_are_those_of_scikit_learn_on_the_same_features() -> None:
    # source: sklearn.linear_model.LogisticRegression on the dimensions the model keeps
    jobs = shop()
    linear, asked = INDEX.linear, []
    for job in jobs:
        query = INDEX.model.weigh(WORDING.tokens(job.complaint))
        facts = linear.weigh(blocks(Query.past(job), WORDING, INDEX.widths))
        asked.append((INDEX.base.complaint.cosines(*query), facts))
    rows = np.array([linear.place(*each) for each in asked])
    causes = np.array([key(cause_key(job)) for job in jobs], dtype=np.uint64)
    peer = LogisticRegression(C=SETTINGS.recall.linear_strength, max_iter=100, tol=1e-3)
    expected = peer.fit(rows, causes).predict_proba(rows)
    found = np.array([linear.chances(*each) for each in asked])
    assert found == pytest.approx(expected, abs=5e-3)


def test_of_many_rows_the_strongest_components_are_found_in_parts(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # source: numpy.linalg.svd
    monkeypatch.setattr(linear, "EXACTLY", 10)
    monkeypatch.setattr(linear, "COLUMNS_AT_ONCE", 7)
    drawn = random_array((60, 90), density=0.2, rng=np.random.default_rng(0), dtype=np.float32)
    matrix = (drawn * np.float32(0.8) ** np.arange(90, dtype=np.float32)).tocsr()
    vectors, strengths = linear._strongest(matrix, 12)
    left, known, _ = np.linalg.svd(matrix.toarray(), full_matrices=False)
    np.testing.assert_allclose(strengths[::-1], known[:12], rtol=1e-3)
    along = np.abs((vectors[:, ::-1] * left[:, :12]).sum(axis=0))
    np.testing.assert_allclose(along[:6], 1, atol=1e-3)


def test_more_dimensions_than_there_are_are_not_made_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(linear, "EXACTLY", 2)
    few = random_array((5, 4), density=0.9, rng=np.random.default_rng(1), dtype=np.float32).tocsr()
    vectors, strengths = linear._strongest(few, 400)
    assert vectors.shape == (5, 4)
    known = np.linalg.svd(few.toarray(), compute_uv=False)
    np.testing.assert_allclose(strengths[::-1], known, rtol=1e-3, atol=1e-4)
