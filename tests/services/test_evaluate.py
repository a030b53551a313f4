"""Evaluating a store on its own past."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import partial
from itertools import islice

import pytest

from kb.errors import Notice
from kb.evaluation.baselines import BASELINES
from kb.evaluation.replay import TOOL, AskedAgain, in_time_order
from kb.services.evaluate import Evaluation, evaluate
from kb.settings import EvaluationSettings, Settings

LATE = date(2026, 9, 15)


@pytest.fixture(scope="module")
def late(demo_store: str) -> Evaluation:
    return evaluate(demo_store, Settings(), since=LATE)


def test_every_way_is_asked_the_same_questions(late: Evaluation) -> None:
    assert late.whole is not None
    assert late.first_asked is not None
    assert late.first_asked >= LATE
    names = (TOOL, *(baseline.name for baseline in BASELINES))
    for part in (late.whole, *late.strata):
        assert tuple(way.name for way in part.ways) == names
        assert {way.figures.questions for way in part.ways} == {part.questions}
        assert [way.program_first is None for way in part.ways] == [True] + [False] * 5


def test_the_parts_of_a_group_make_up_the_whole(late: Evaluation) -> None:
    assert late.whole is not None
    for group in ("codes", "readings", "model", "system"):
        parts = [part for part in late.strata if part.group == group]
        assert sum(part.questions for part in parts) == late.whole.questions
        assert sum(part.new for part in parts) == late.whole.new
    (seen,) = [part for part in late.strata if part.group == "cause"]
    assert (seen.questions, seen.new) == (late.whole.questions - late.whole.new, 0)


def test_the_rival_is_the_plain_way_with_most_right(late: Evaluation) -> None:
    assert late.whole is not None
    assert late.rival is not None
    best = late.whole.way(late.rival).figures.first
    assert best == max(way.figures.first for way in late.whole.ways[1:])


def test_without_plain_ways_there_is_no_rival(small_store: str) -> None:
    found = evaluate(small_store, Settings(), least_known=3, baselines=False)
    assert found.whole is not None
    assert [way.name for way in found.whole.ways] == [TOOL]
    assert found.rival is None
    few, unsure = found.notices
    assert few == Notice.FEW_QUESTIONS
    luck = found.whole.way(TOOL).figures.calibration_luck
    assert unsure.startswith("Whether the chances hold cannot be told from 3 questions: ")
    assert unsure.endswith(f"may be off by {luck:.2f}.")


def test_every_plain_way_copes_with_a_store_of_few(small_store: str) -> None:
    found = evaluate(small_store, Settings(), least_known=1)
    assert found.whole is not None
    assert found.whole.questions == 5
    verdicts = {str(way.program_first.verdict) for way in found.whole.ways if way.program_first}
    assert verdicts == {"cannot tell"}


def test_too_few_known_or_none_at_all_is_said(small_store: str, empty_store: str) -> None:
    assert evaluate(small_store, Settings()).notices == (Notice.NO_QUESTIONS,)
    empty = evaluate(empty_store, Settings())
    assert (empty.whole, empty.strata, empty.notices) == (None, (), (Notice.NO_CASES,))


def test_a_drawn_sample_is_said(small_store: str) -> None:
    settings = replace(Settings(), evaluation=EvaluationSettings(most_questions=3))
    found = evaluate(small_store, settings, least_known=1, baselines=False)
    assert found.whole is not None
    assert (found.whole.questions, found.questions) == (3, 5)
    assert found.notices[1] == (
        "Of 5 questions 3 are asked, always the same ones, in stretches of up to 200 in a row, "
        "spread evenly over the years."
    )


def test_of_many_cases_the_newest_are_looked_at_and_their_newer_half_asked(
    small_store: str,
) -> None:
    def looked_at(most: int, least: int = 1) -> Evaluation:
        settings = replace(Settings(), evaluation=EvaluationSettings(most_cases=most))
        return evaluate(small_store, settings, least_known=least, baselines=False)

    whole, cut = looked_at(6), looked_at(4)
    assert (whole.cases, whole.newest, cut.cases, cut.newest) == (6, None, 6, 4)
    assert [each.job for each in cut.asked] == [each.job for each in whole.asked][-2:]
    assert cut.least_known == 2
    assert cut.notices[1] == (
        "Of 6 cases the newest 4 are looked at, and the newer half of them is asked: "
        "older ones are not known to any way of ranking here."
    )
    assert looked_at(2, least=3).newest is None  # who wants more known has as many again asked


def test_what_is_known_when_it_is_stopped_is_told(
    small_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def until(count: int, *words: object, **options: object) -> Iterator[AskedAgain]:
        yield from islice(in_time_order(*words, **options), count)  # type: ignore[arg-type]
        raise KeyboardInterrupt

    def stopped(count: int) -> Evaluation:
        monkeypatch.setattr("kb.services.evaluate.in_time_order", partial(until, count))
        return evaluate(small_store, Settings(), least_known=1, baselines=False)

    found = stopped(2)
    assert found.whole is not None
    assert found.whole.questions == 2
    assert "Stopped after 2 of 5 questions" in found.notices[1]
    with pytest.raises(KeyboardInterrupt):
        stopped(0)
