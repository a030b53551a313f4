"""Ways round a lock that must not lead round it, by a clock passed in.

When a confirmation ends is common practice, no source.
"""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from kb.case import Precondition
from kb.errors import InvalidField, KbError, Locked
from kb.services.adding import add_line
from kb.services.closing import Closing, close_job
from kb.services.editing import edit_job
from kb.services.exchange import export_file, import_file
from kb.services.keeping import Recorded, keep
from kb.services.lookup import show_job
from kb.services.mending import (
    bring_back,
    edit_part,
    reopen_job,
    take_back,
    taking_back,
    void_job,
)
from kb.services.new_job import Opening, open_job
from kb.services.troubleshoot import Done, confirm, done, set_circuit
from kb.settings import Settings

SETTINGS = Settings()
TODAY = date(2026, 3, 2)
Shop = tuple[str, int]


@pytest.fixture
def shop(small_store: str) -> Shop:
    """A store with an open job on an airbag lamp, and its number."""
    return small_store, opened(small_store, "K901")


def opened(address: str, ref: str) -> int:
    told = Opening(
        text="airbag lamp on since seat was moved, B1234",
        system="restraints",
        vehicle="sunato kiri 2014",
        ref=ref,
    )
    number = keep(address, open_job(address, told, who="BT", today=TODAY)).job.number
    assert number is not None
    return number


def now() -> datetime:
    return datetime.now().astimezone()


def unlock(shop: Shop) -> Recorded:
    return keep(shop[0], confirm(*shop, "drag", SETTINGS, by="BT", now=now()), who="BT")


def is_open(shop: Shop, *, who: str | None = "BT", at: datetime | None = None) -> bool:
    try:
        done(*shop, Done(step="drag", saw="a"), SETTINGS, who=who, now=at or now())
    except (Locked, InvalidField):  # or no such step is left
        return False
    return True


def kept(shop: Shop, line: str, who: str = "BT") -> Recorded:
    return keep(shop[0], add_line(*shop, line, today=TODAY), who=who)


def test_it_opens_for_whoever_gave_it_and_at_once(shop: Shop) -> None:
    assert not is_open(shop)
    unlock(shop)
    assert is_open(shop)


def test_it_ends_after_its_hours_and_with_the_day(shop: Shop) -> None:
    unlock(shop)
    assert not is_open(
        shop, at=now() + timedelta(hours=SETTINGS.troubleshooting.confirmation_hours, minutes=1)
    )
    assert not is_open(shop, at=now() + timedelta(days=1))
    assert not is_open(shop, at=now() + timedelta(weeks=8))
    assert not is_open(shop, at=now() - timedelta(days=1))


@pytest.mark.parametrize("who", ["MK", None, ""])
def test_it_is_nobody_elses(shop: Shop, who: str | None) -> None:
    unlock(shop)
    assert not is_open(shop, who=who)


def test_it_is_of_no_other_car_and_no_other_job_of_one_car(shop: Shop) -> None:
    unlock(shop)
    for ref in ("K902", "K901"):
        assert not is_open((shop[0], opened(shop[0], ref)))


@pytest.mark.parametrize(
    "edit",
    [
        "vehicle.ref=Q1",
        "vehicle.make=Bramwick",
        "vehicle.model=Oru",
        "vehicle.year=2009",
        "vehicle.engine=1.4",
        "vehicle.vin=1M8GDM9AXKP042788",
        "vehicle.make=Bramwick|vehicle.ref=Q1|vehicle.year=2009",
        "vehicle.ref=",
        "vehicle.model=",
        "vehicle.year=",
    ],
)
def test_it_ends_as_the_jobs_car_is_changed_and_stays_so_when_that_is_taken_back(
    shop: Shop, edit: str
) -> None:
    unlock(shop)
    keep(shop[0], edit_job(*shop, edit.split("|"), today=TODAY), who="BT")
    assert not is_open(shop)
    take_back(shop[0], taking_back(shop[0], who="BT"), who="BT")
    assert not is_open(shop)
    unlock(shop)
    assert is_open(shop)


@pytest.mark.parametrize(
    "line", ["wiggle test: steady", "scan of live data: 2.3 both sides", "battery on, code cleared"]
)
def test_it_ends_with_what_is_done_with_the_supply_on(shop: Shop, line: str) -> None:
    unlock(shop)
    kept(shop, line)
    assert not is_open(shop)


def test_undo_of_what_ended_it_does_not_open_it_again(shop: Shop) -> None:
    unlock(shop)
    kept(shop, "wiggle test: steady")
    take_back(shop[0], taking_back(shop[0], who="BT"), who="BT")
    assert not is_open(shop)


def test_undo_of_a_confirmation_ends_it_and_undo_of_that_does_not_bring_it_back(
    shop: Shop,
) -> None:
    unlock(shop)
    take_back(shop[0], taking_back(shop[0], who="BT"), who="BT")
    assert not is_open(shop)
    try:
        again = taking_back(shop[0], who="BT")
        take_back(shop[0], again, who="BT")
    except KbError:
        pass
    assert not is_open(shop)


def voided(shop: Shop) -> None:
    keep(shop[0], void_job(*shop, "told twice"), who="BT")
    keep(shop[0], bring_back(*shop), who="BT")


def reopened(shop: Shop) -> None:
    closing = Closing(cause="worn seat connector", closed=TODAY)
    keep(shop[0], close_job(*shop, closing, SETTINGS, today=TODAY), who="BT")
    keep(shop[0], reopen_job(*shop), who="BT")


@pytest.mark.parametrize("way", [voided, reopened])
def test_a_job_that_was_away_is_locked(shop: Shop, way: Callable[[Shop], None]) -> None:
    unlock(shop)
    way(shop)
    assert not is_open(shop)


def test_no_edit_gives_moves_or_lengthens_one(shop: Shop) -> None:
    edits = [
        "confirmations=",
        "confirmations[0].at=2027-01-01T10:00:00Z",
        "confirmations[0].by=MK",
        "confirmations[0].step=visual check",
        '+confirmations={"what": "supply off", "by": "BT"}',
        "confirmations[1].by=BT",
    ]
    for confirmed in (False, True):
        if confirmed:
            unlock(shop)
        for edit in edits:
            with pytest.raises(KbError):
                edit_job(*shop, [edit], today=TODAY)
    with pytest.raises(KbError):
        edit_part(*shop, 99, "by=MK", today=TODAY)


def test_an_edit_of_the_job_opens_nothing(shop: Shop) -> None:
    for edit in ("system=body_electrics", "complaint=horn dead", "codes="):
        try:
            keep(shop[0], edit_job(*shop, [edit], today=TODAY), who="BT")
        except KbError:
            continue
        assert not is_open(shop)


def test_a_confirmation_that_comes_by_import_opens_nothing(
    shop: Shop, empty_store: str, tmp_path: Path
) -> None:
    unlock(shop)
    file = tmp_path / "jobs.jsonl"
    export_file(shop[0], file)
    import_file(empty_store, file)
    assert not is_open((empty_store, shop[1]))


def test_a_test_told_without_one_is_stored_and_said_to_be_so(shop: Shop) -> None:
    told = kept(shop, "drag test: no grip on pin 2")
    assert told.unvouched == (told.job.tests[-1].name,)
    assert show_job(*shop, now=now()).unvouched == told.unvouched


def test_a_test_told_after_a_live_one_is_not_vouched_for(shop: Shop) -> None:
    unlock(shop)
    kept(shop, "wiggle test: steady")
    assert kept(shop, "drag test: no grip on pin 2").unvouched


def test_what_is_confirmed_is_named(shop: Shop) -> None:
    (told,) = unlock(shop).job.confirmations
    assert (told.what, told.by) == (Precondition.SUPPLY_OFF, "BT")


def test_a_circuit_told_anew_opens_nothing(shop: Shop) -> None:
    keep(shop[0], set_circuit(*shop, "door module, loom, lock plug, door lock"), who="BT")
    assert not is_open(shop)
