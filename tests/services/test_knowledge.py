"""Whoever asks, the same facts give the same chances and the same rates."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from kb.case import Action, Attempt, Cause, Complaint, Contact, FailureMode, Outcome, System
from kb.evaluation.replay import TOOL, in_time_order
from kb.services.ask import causes
from kb.services.fixes import fixes
from kb.services.inquiry import Question
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
NOW = datetime(2025, 6, 1, 9, tzinfo=UTC)


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
    suspects = working_job(asked_store, 7, SETTINGS, who=None, now=NOW).advice.suspects
    assert suspects  # those too unlikely to be tested are left out
    for suspect in suspects:
        assert suspect.before == pytest.approx(chances[suspect.cause.key])
    with UnitOfWork(open_store(asked_store), read_only=True) as work:
        known = shop_knowledge(work, asked_store, SETTINGS)
        open_job = work.jobs.get(7)
    done = replace(open_job, closed=open_job.opened, cause=CASES[0].cause)
    (again,) = in_time_order(
        [*CASES, done], known.wording, SETTINGS, models=known.models, least_known=len(CASES)
    )
    assert Complaint.of(open_job) == Complaint.so_far(open_job)
    assert list(again.answers[TOOL].chances.values())[: len(told)] == pytest.approx(
        [each.chance for each in told]
    )


def test_every_page_rates_a_fix_alike(empty_store: str) -> None:
    with UnitOfWork(open_store(empty_store)) as work:
        for number in range(6):
            work.jobs.add(job(f"K{number}", number))
        came_again = job("K1", 60, cause=None, complaint="worn tyres", system=None)
        work.jobs.add(came_again)  # the car counts as heard of
        work.jobs.add(job("K2", 60, cause=None))  # back with the same words: to be judged
        for number in range(12):  # fixes enough for one to tell of another
            motor = Cause(component=f"motor {number}", failure_mode=FailureMode.WORN)
            fix = Attempt(action=Action.REPLACED, component=f"motor {number}", cured=number > 2)
            heard = Contact(on=date(2025, 8, 1), outcome=Outcome.HELD)
            more = {"system": System.BODY_ELECTRICS, "attempts": (fix,), "contacts": (heard,)}
            work.jobs.add(job(f"P{number}", number, motor, complaint="window dead", **more))
        work.commit()
    with UnitOfWork(open_store(empty_store), read_only=True) as work:
        (known,) = repairs_of(work, empty_store, [PLUG.key], SETTINGS).values()
    first = known.rates[0].first
    assert (first.still_good, first.unjudged) == (1, 1)
    told = causes(empty_store, Question(text="airbag lamp on"), SETTINGS).causes[0].fixes
    shown = fixes(empty_store, "seat connector", SETTINGS, today=TODAY)
    assert shown.wider
    page = shown.fixes
    taught = teach(empty_store, "restraints", SETTINGS).lesson.causes[0].fixes
    assert told == known.rates == taught == tuple(each.rate for each in page)
