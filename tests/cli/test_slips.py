"""The wrong car, a stray Enter, a number that is not there: at a terminal and in scripts."""

import pytest

from kb.services.lookup import show_job
from kb.services.mending import last_entries
from tests.cli.test_job import run
from tests.cli.test_mending import go

OSTRA = ("--ref", "K031", "--vehicle", "halbrecht ostra 2011")


def record(store: str, *words: str) -> str:
    result = run(store, *words)
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture
def ostra(empty_store: str) -> str:
    record(empty_store, "job", "open", "no crank", *OSTRA)
    record(empty_store, "job", "open", "runs hot", "--vehicle", "bramwick dray 2014")
    return empty_store


def test_a_car_that_does_not_fit_its_tag_is_stored_by_nobody_unasked(ostra: str) -> None:
    words = ("job", "open", "pulls left", "--ref", "K031", "--vehicle", "sunato kiri 2018")
    refused = run(ostra, *words)
    assert refused.exit_code == 1
    for told in ("k031", "halbrecht ostra 2011", "sunato kiri 2018", "--yes"):
        assert told in " ".join(refused.output.casefold().split()), refused.output
    assert "Nothing was stored" in go(ostra, *words, keys=(("Is that the car?", ""),))
    assert len(last_entries(ostra).entries) == 2
    record(ostra, *words, "--yes")


@pytest.mark.parametrize("car", ["halbrecht ostra", "halbrect ostra 11", ""])
def test_a_car_that_fits_its_tag_is_not_asked_about(ostra: str, car: str) -> None:
    record(ostra, "job", "open", "pulls left", "--ref", "K031", "--vehicle", car)
    assert show_job(ostra, 3).job.vehicle == show_job(ostra, 1).job.vehicle


def test_a_model_unlike_any_on_the_list_is_taken_as_typed(ostra: str) -> None:
    car = "bramwick lido 2016, 84tkm"
    said = record(ostra, "job", "open", "pulls left", "--vehicle", car)
    job = show_job(ostra, 3).job
    assert (job.vehicle.make, job.vehicle.model, job.vehicle.year) == ("bramwick", "lido", 2016)
    assert job.odometer_km == 84_000
    assert "no model on the shop's list" in " ".join(said.split())


def test_the_tag_is_asked_about_and_may_be_told_with_the_car(ostra: str) -> None:
    start = [("Complaint", "12.6"), ("number and nothing else", "abs lamp on")]
    rest = [("Make, model", ""), ("Odometer", ""), ("When", ""), ("Store it?", "")]
    tag = [("Key tag", "abs lite on"), ("no key tag", "k31")]
    asked = "Is K031 meant, the halbrecht ostra 2011?"
    shown = go(ostra, "job", "open", keys=[*start, *tag, (asked, "y"), *rest])
    assert show_job(ostra, 3).job.vehicle.ref == "K031"
    assert shown.index("CAUTION") < shown.index("Key tag")
    go(ostra, "job", "open", keys=[*start, *tag, (asked, ""), *rest])
    assert show_job(ostra, 4).job.vehicle.ref == "k31"
    told = [("Key tag", ""), ("Make, model", "K99"), *rest[1:]]
    go(ostra, "job", "open", keys=[*start, *told])
    assert show_job(ostra, 5).job.vehicle.ref == "K99"
