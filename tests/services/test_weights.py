"""The shop's own weights: learnt, kept beside the store, in force only where they are better."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from kb.case import Cause, FailureMode, Job, Vehicle
from kb.errors import TooFew
from kb.services.learn import learn_weights
from kb.services.weights import FILE, shop_settings, weights
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.database import create_store, open_store
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
    told = weights(address, QUICK)
    assert (told.learnt, told.in_force, told.due) == (None, QUICK, False)
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
        assert shop_settings(work, address, QUICK) == told.in_force


def test_weights_that_are_no_better_or_of_another_store_are_not_in_force(tmp_path: Path) -> None:
    address = shop(tmp_path, 80)
    learn_weights(address, QUICK)
    file = index_folder(address) / FILE
    content = file.read_text()
    for old, new in (('"better": true', '"better": false'), ('"moment": "', '"moment": "x')):
        assert old in content
        file.write_text(content.replace(old, new))
        assert weights(address, QUICK).in_force == QUICK
    file.write_text("{")
    assert weights(address, QUICK).learnt is None
