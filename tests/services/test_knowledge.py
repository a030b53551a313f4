"""Whoever asks, the same facts give the same chances and the same rates."""

from dataclasses import replace
from datetime import date

import pytest

from kb.case import Complaint
from kb.evaluation.replay import replay
from kb.services.ask import Question, causes
from kb.services.fixes import fixes
from kb.services.knowledge import repairs_of, shop_knowledge
from kb.services.teach import teach
from kb.services.troubleshoot import working_job
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES, LIDO, SEAT_CONNECTOR, case
from tests.store.test_repairs import PLUG, job

SETTINGS = Settings()
TODAY = date(2025, 6, 1)


@pytest.fixture
def asked_store(small_store: str) -> str:
    """The six cases and an open job, 7, without a code or test."""
    with UnitOfWork(open_store(small_store)) as work:
        lamp = case(7, LIDO, "airbag lamp on after seat moved", CASES[0].system, SEAT_CONNECTOR)  # type: ignore[arg-type]
        work.jobs.add(replace(lamp, closed=None, cause=None))
        work.commit()
    return small_store


def test_the_open_job_the_question_and_the_replay_rank_alike(asked_store: str) -> None:
    told = causes(asked_store, Question(job=7), SETTINGS).causes
    chances = {each.cause.key: each.chance for each in told}
    suspects = working_job(asked_store, 7, SETTINGS).advice.suspects
    assert suspects  # those too unlikely to be tested are left out
    for suspect in suspects:
        assert suspect.before == pytest.approx(chances[suspect.cause.key])
    with UnitOfWork(open_store(asked_store), read_only=True) as work:
        known = shop_knowledge(work, asked_store, SETTINGS)
        open_job = work.jobs.get(7)
        (again,) = replay(CASES, [open_job], known.wording, SETTINGS, known.models)
    assert Complaint.of(open_job) == Complaint.so_far(open_job)
    replayed = [each.chance for each in again.ranking.causes[: len(told)]]
    assert replayed == pytest.approx([each.chance for each in told])


def test_every_page_rates_a_fix_alike(empty_store: str) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        for number in range(6):
            work.jobs.add(job(f"K{number}", number))
        work.jobs.add(job("K1", 60, cause=None))  # the car came again: it counts as heard of
        work.commit()
    with UnitOfWork(open_store(empty_store), read_only=True) as work:
        (known,) = repairs_of(work, empty_store, [PLUG.key], SETTINGS).values()
    assert known.rates[0].still_good == 1
    told = causes(empty_store, Question(text="airbag lamp on"), SETTINGS).causes[0].fixes
    page = fixes(empty_store, "seat connector", SETTINGS, today=TODAY).fixes
    taught = teach(empty_store, "restraints", SETTINGS).lesson.causes[0].fixes
    assert told == known.rates == taught == tuple(each.rate for each in page)
