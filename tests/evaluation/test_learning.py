"""Weights learnt from a shop's own jobs."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import cache, partial

import numpy as np
import pytest

from kb.case import Cause, Complaint, DiagnosticTest, FailureMode, Job, Vehicle
from kb.diagnosis.causes import rank
from kb.evaluation.figures import Answer, Truth
from kb.evaluation.learning import is_better, learn
from kb.evaluation.replay import TOOL, AskedAgain
from kb.intake.wording import Wording
from kb.recall.features import Query
from kb.recall.index import Index
from kb.recall.recall import recall
from kb.settings import Settings

WORDING = Wording.default()
SETTINGS = Settings()
MODELS = ("Lido", "Kiri", "Tessel", "Dray", "Ostra", "Belo")
PARTS = ("pump", "relay", "switch", "strap", "hinge", "valve", "clip", "fan", "lamp", "horn")


def shop(count: int, seed: int, *, told_by: str) -> list[Job]:
    """Jobs whose cause is told by the model of the car, by a word of the complaint, or not."""
    random = np.random.default_rng(seed)
    jobs = []
    for number in range(1, count + 1):
        place = int(random.integers(len(MODELS)))
        model = MODELS[place if told_by == "model" else int(random.integers(len(MODELS)))]
        word = PARTS[place] if told_by == "word" else random.choice(PARTS)
        filler = " ".join(random.choice(["noise", "warm", "cold", "again", "left", "rear"], 2))
        jobs.append(
            Job(
                number=number,
                vehicle=Vehicle(model=model),
                opened=date(2024, 1, 1) + timedelta(days=number),
                closed=date(2024, 1, 1) + timedelta(days=number),
                complaint=f"customer says {word} {filler}",
                cause=Cause(component=PARTS[place], failure_mode=FailureMode.WORN),
            )
        )
    return jobs


@cache
def learnt_where(told_by: str) -> Settings:
    """What a shop of 150 jobs teaches in which the cause is told by this."""
    return learn(shop(150, 1, told_by=told_by), WORDING, SETTINGS)


def test_a_signal_that_tells_the_cause_gains_weight() -> None:
    by_model = learnt_where("model").recall.weights
    by_word = learnt_where("word").recall.weights
    assert by_model["vehicle"].slope > SETTINGS.recall.weights["vehicle"].slope
    assert by_model["vehicle"].slope > 2 * by_word["vehicle"].slope
    assert by_word["complaint"].slope > by_model["complaint"].slope


def test_hardly_any_cases_leave_the_weights_where_they_were() -> None:
    assert learn([], WORDING, SETTINGS) == SETTINGS
    learnt = learn(shop(6, 2, told_by="word"), WORDING, SETTINGS)
    for name, weight in SETTINGS.recall.weights.items():
        assert learnt.recall.weights[name].slope == pytest.approx(weight.slope, rel=0.25)
    assert learnt.diagnosis.pool_jobs == pytest.approx(SETTINGS.diagnosis.pool_jobs, abs=0.3)


def test_a_stranger_is_told_from_a_known_cause() -> None:
    jobs = shop(200, 3, told_by="word")
    held = {PARTS[0]}
    known = [job for job in jobs[:150] if job.cause and job.cause.component not in held]
    learnt = learn(known, WORDING, SETTINGS)
    index = Index.fit(known, WORDING, learnt)
    said: dict[bool, list[float]] = {True: [], False: []}
    for job in jobs[150:]:
        asked = Query(complaint=Complaint.of(job), on=job.opened)
        ranking = rank(recall(asked, index, WORDING, learnt.recall), learnt.diagnosis)
        said[job.cause is not None and job.cause.component in held].append(ranking.not_seen_before)
    assert np.mean(said[True]) > 2 * np.mean(said[False])


def test_learnt_weights_are_tried_on_the_newest_cases() -> None:
    trial = is_better(shop(160, 4, told_by="model"), WORDING, SETTINGS).measured
    assert trial.questions == 40
    assert trial.better
    assert trial.with_learnt < trial.with_defaults


def test_weights_that_are_worse_on_the_newest_cases_are_not_better() -> None:
    # the shop changed: what told the cause first is chance now
    old, new = shop(120, 5, told_by="model"), shop(160, 6, told_by="word")[120:]
    trial = is_better([*old, *new], WORDING, SETTINGS).measured
    assert not trial.better


def test_better_chances_with_fewer_first_causes_right_are_not_better(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def said(right: float, other: float) -> Answer:
        chances = sorted(((1, right), (2, other)), key=lambda each: -each[1])
        return Answer(chances=dict(chances), not_seen_before=1 - right - other)

    def asked(learnt: Answer, *_: object, **__: object) -> Iterator[AskedAgain]:
        job, truth = shop(1, 1, told_by="word")[0], Truth(cause=1, new=False)
        for each in (learnt, said(0.9, 0.05)):
            answers = {TOOL: said(0.35, 0.3), "learnt": each}
            yield AskedAgain(
                job=job, truth=truth, known=9, model_known=True, answers=answers, stages={}
            )

    for learnt, better in ((said(0.45, 0.5), False), (said(0.5, 0.45), True)):
        monkeypatch.setattr("kb.evaluation.learning.in_time_order", partial(asked, learnt))
        trial = is_better(shop(160, 4, told_by="model"), WORDING, SETTINGS).measured
        assert trial.with_learnt < trial.with_defaults
        assert trial.better is better


def test_what_tests_showed_is_learnt_from_where_it_is_asked_with() -> None:
    jobs = [
        replace(
            job,
            complaint="customer complains",
            tests=(
                DiagnosticTest(name="look", seen=job.cause.component if job.cause else ""),
                DiagnosticTest(name="ask", seen=f"{(job.number or 0) % 7}"),
            ),
        )
        for job in shop(120, 7, told_by="word")
    ]
    learnt = learn(jobs, WORDING, SETTINGS, asked_as=Complaint.so_far)
    assert learnt.recall.weights["tests"].slope > 0
    index = Index.fit(jobs[:90], WORDING, learnt)
    right = 0
    for job in jobs[90:]:
        asked = Query(complaint=Complaint.so_far(job), on=job.opened)
        found = rank(recall(asked, index, WORDING, learnt.recall), learnt.diagnosis).causes
        example = next(each for each in jobs if each.number == found[0].example)
        right += example.cause == job.cause
    assert right >= 27


def test_naming_counts_as_much_as_the_shop_shows_it_tells() -> None:
    by_name = learnt_where("word").diagnosis.named
    by_chance = learnt_where("nothing").diagnosis.named
    assert by_chance < SETTINGS.diagnosis.named / 2
    assert by_name > 2 * by_chance


def test_what_a_new_model_costs_is_learnt_by_leaving_models_out() -> None:
    own, shared = learnt_where("model").diagnosis, learnt_where("word").diagnosis
    assert own.new_model_shift > SETTINGS.diagnosis.new_model_shift + 1
    assert shared.new_model_shift <= SETTINGS.diagnosis.new_model_shift
    assert shared.new_model_first > own.new_model_first
