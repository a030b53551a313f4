"""The shop's own weights: learnt, kept beside the store, in force only where they are better."""

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from kb.case import Cause, FailureMode, Job, Vehicle
from kb.errors import Notice, TooFew
from kb.reports.weights import told
from kb.services.ask import causes
from kb.services.checking import check
from kb.services.inquiry import Question
from kb.services.kept_json import read_kept, write_kept
from kb.services.learn import learn_weights
from kb.services.weights import FILE, KeptWeights, Learnt, kept_weights, weights
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.database import create_store, open_store
from kb.store.repository import Jobs
from kb.store.unit_of_work import UnitOfWork

SETTINGS = Settings()
MODELS = ("Lido", "Kiri", "Tessel", "Dray", "Ostra")
QUICK = replace(SETTINGS, recall=replace(SETTINGS.recall, learn_least=60))


def shop(folder: Path, count: int) -> str:
    """Make a store in which the model of the car tells the cause."""
    address = str(folder / "shop.sqlite")
    create_store(address)
    with UnitOfWork(open_store(address), who="ab") as work:
        for number in range(count):
            place = number * 7 % 5
            day = date(2024, 1, 1) + timedelta(days=number)
            work.jobs.add(
                Job(
                    vehicle=Vehicle(model=MODELS[place]),
                    opened=day,
                    closed=day,
                    complaint=f"lamp on {('again', 'cold', 'warm')[number % 3]}",
                    cause=Cause(component=f"part {place}", failure_mode=FailureMode.WORN),
                )
            )
        work.commit()
    return address


def test_until_something_is_learnt_the_defaults_hold(tmp_path: Path) -> None:
    address = shop(tmp_path, 5)
    found = weights(address, QUICK)
    assert (found.learnt, found.in_force, found.due) == (None, QUICK, False)
    with pytest.raises(TooFew, match=r"5 closed with a cause are too few.*60"):
        learn_weights(address, QUICK)


def test_better_weights_come_into_force_and_stay_with_the_store(tmp_path: Path) -> None:
    address = shop(tmp_path, 80)
    assert weights(address, QUICK).due
    steps: list[tuple[int, int]] = []
    told = learn_weights(address, QUICK, lambda done, total: steps.append((done, total)))
    assert steps
    assert all(done <= total for done, total in steps)
    assert told.learnt is not None
    assert (told.learnt.cases, told.learnt.measured.questions, told.due) == (80, 20, False)
    assert told.learnt.measured.better
    force = told.in_force.recall.weights["vehicle"].slope
    assert force > QUICK.recall.weights["vehicle"].slope
    with UnitOfWork(open_store(address), read_only=True) as work:
        assert kept_weights(work, address).over(QUICK) == told.in_force


def test_weights_that_are_no_better_or_of_another_store_are_not_in_force(tmp_path: Path) -> None:
    address = shop(tmp_path, 80)
    learn_weights(address, QUICK)
    file = index_folder(address) / FILE
    kept = read_kept(file, Learnt)
    worse = replace(kept, measured=replace(kept.measured, better=False))
    for other in (worse, replace(kept, moment=f"x{kept.moment}")):
        write_kept(file, other)
        assert weights(address, QUICK).in_force == QUICK
        assert not weights(address, QUICK).lost


def test_weights_whose_file_is_damaged_are_not_in_force_and_it_is_said(tmp_path: Path) -> None:
    address = shop(tmp_path, 80)
    assert not weights(address, QUICK).lost
    learn_weights(address, QUICK)
    file = index_folder(address) / FILE
    content = file.read_bytes()
    assert not weights(address, QUICK).lost
    bent = re.sub(rb'"pool_jobs":[0-9.]+', b'"pool_jobs":-5.0', content)
    assert bent != content
    for damaged in (bent, content[:-40], b"", b"null", b"[" * 100_000):
        file.write_bytes(damaged)
        told = weights(address, QUICK)
        assert (told.learnt, told.in_force, told.lost) == (None, QUICK, True)
        assert Notice.WEIGHTS_LOST in causes(address, Question(text="lamp on cold"), QUICK).notices
    assert check(address, QUICK).weights_lost
    file.unlink()
    assert not check(address, QUICK).weights_lost


def test_of_many_cases_the_newest_are_learnt_from_and_it_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("kb.services.learn.LEARNT_MOST", 70)
    read: list[int] = []
    plain = Jobs.get_many
    monkeypatch.setattr(Jobs, "get_many", lambda jobs, numbers: plain(jobs, read_in(read, numbers)))
    address = shop(tmp_path, 90)
    learnt = learn_weights(address, QUICK).learnt
    assert learnt is not None
    assert (learnt.cases, learnt.newest, learnt.stopped) == (90, 70, False)
    assert sorted(read) == list(range(21, 91))
    assert "from the newest 70 of 90 cases" in told(weights(address, QUICK))


def read_in(read: list[int], numbers: Iterable[int]) -> list[int]:
    read += (wanted := list(numbers))
    return wanted


@pytest.mark.parametrize("at", [10, 360, 400])
def test_who_stops_keeps_what_is_known_once_it_was_tried(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    monkeypatch.setattr("kb.evaluation.learning.LEAST_TRIED", 5)
    address = shop(tmp_path, 70)  # 5 x 70 steps, 17 that try, 5 x 70 again
    steps: list[int] = []

    def stop(done: int, total: int) -> None:
        assert total == 5 * 70 + 17 + 5 * 70
        steps.append(done)
        if done >= at:
            raise KeyboardInterrupt

    if at < 5 * 70:
        with pytest.raises(KeyboardInterrupt):
            learn_weights(address, QUICK, stop)
        assert weights(address, QUICK).learnt is None
        return
    learnt = learn_weights(address, QUICK, stop).learnt
    assert steps == sorted(steps)
    assert learnt is not None
    assert learnt.stopped
    assert learnt.measured.questions >= 5
    assert "It was stopped" in told(weights(address, QUICK))
    assert kept_weights_of(address).over(QUICK) == weights(address, QUICK).in_force


def kept_weights_of(address: str) -> KeptWeights:
    with UnitOfWork(open_store(address), read_only=True) as work:
        return kept_weights(work, address)
