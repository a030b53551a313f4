"""The demonstration shop holds what its description says is to be found in it."""

from collections import Counter
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from kb.case import Action, Job, Outcome, Stage, System
from kb.errors import Conflict, OnlyDemonstration
from kb.files import making_once
from kb.safety.igniter_screen import screen
from kb.safety.igniter_steps import live_values
from kb.services import demo
from kb.services.demo import copy_demo, demo_address, reset_demo
from kb.services.learn import learn_weights
from kb.services.words import add_word
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


@pytest.fixture(scope="module")
def jobs(demo_store: str) -> list[Job]:
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        return list(work.jobs.all())


def under_seat(jobs: Iterable[Job], *models: str) -> list[Job]:
    return [
        job
        for job in jobs
        if job.cause
        and job.cause.component == "seat connector"
        and job.cause.location == "under seat"
        and job.vehicle.model in models
    ]


def test_it_is_made_once(demo_store: str) -> None:
    assert demo_address() == demo_store


def test_it_is_never_changed_but_a_copy_may_be(
    demo_store: str, jobs: list[Job], tmp_path: Path
) -> None:
    before = Path(demo_store).read_bytes()
    with pytest.raises(OnlyDemonstration, match="kb demo copy FILE"):
        add_word(demo_store, "mulch", ("air filter",))
    with pytest.raises(OnlyDemonstration):
        learn_weights(demo_store, Settings())
    assert Path(demo_store).read_bytes() == before
    copy = str(copy_demo(tmp_path / "mine.sqlite"))
    add_word(copy, "mulch", ("air filter",))
    with UnitOfWork(open_store(copy), read_only=True) as work:
        assert len(list(work.jobs.all())) == len(jobs)
    with pytest.raises(Conflict):
        copy_demo(tmp_path / "mine.sqlite")


def test_it_can_be_made_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(demo, "seed_files", list)
    address = demo_address()
    damaged = Path(address)
    damaged.write_bytes(b"spilt coffee")
    assert reset_demo() == address
    with UnitOfWork(open_store(address), read_only=True) as work:
        assert len(work.models.all()) > 5


@pytest.mark.parametrize("content", [b"", b"spilt coffee"])
def test_what_is_no_store_in_its_place_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, content: bytes
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(demo, "seed_files", list)
    place = Path(demo_address())
    place.write_bytes(content)
    place.with_name(f"{place.name}-wal").write_bytes(b"of the old one" * 10)
    assert demo_address() == str(place)
    with UnitOfWork(open_store(str(place)), read_only=True) as work:
        assert len(work.models.all()) > 5
    assert copy_demo(tmp_path / "copy.sqlite").stat().st_size


def test_whoever_asks_while_it_is_made_anew_is_answered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(demo, "seed_files", list)
    address, answers = demo_address(), 0

    def models() -> int:
        with UnitOfWork(open_store(demo_address()), read_only=True) as work:
            return len(work.models.all())

    many = models()
    with ThreadPoolExecutor() as pool:
        for _ in range(2):
            reset = pool.submit(reset_demo)
            while not reset.done():
                assert models() == many
                answers += 1
            assert reset.result() == address
    assert answers
    assert models() == many
    assert not list(tmp_path.rglob("*.part*"))


def test_whoever_makes_it_first_keeps_it(tmp_path: Path) -> None:
    place = tmp_path / "demo.sqlite"
    with making_once(place) as late:
        with making_once(place) as early:
            early.write_bytes(b"first")
        late.write_bytes(b"second")
    assert place.read_bytes() == b"first"
    assert list(tmp_path.iterdir()) == [place]


def test_it_is_large_and_varied_enough(jobs: list[Job]) -> None:
    assert len(jobs) >= 900
    days = [job.opened for job in jobs]
    assert (max(days) - min(days)).days >= 4 * 365
    systems = Counter(job.system for job in jobs)
    main = {
        System.RESTRAINTS,
        System.CHARGING_STARTING,
        System.FUEL_MIXTURE,
        System.IGNITION,
        System.COOLING,
        System.BRAKES_WHEEL_SPEED,
        System.BODY_ELECTRICS,
        System.STEERING_SUSPENSION,
        System.HIGH_VOLTAGE,
    }
    assert all(systems[system] >= 20 for system in main)
    assert len({job.technician for job in jobs}) >= 4


def test_life_is_in_it(jobs: list[Job]) -> None:
    shares = {
        "no code": sum(not job.codes for job in jobs),
        "wrong first attempt": sum(any(a.cured is False for a in job.attempts) for job in jobs),
        "comeback": sum(any(c.outcome is Outcome.COMEBACK for c in job.contacts) for job in jobs),
        "never heard of again": sum(job.is_case and not job.contacts for job in jobs),
        "closed without a cause": sum(job.state == "closed without a cause" for job in jobs),
        "still open": sum(job.state == "open" for job in jobs),
    }
    assert shares["no code"] >= len(jobs) / 4
    assert shares["wrong first attempt"] >= 25
    assert shares["comeback"] >= 15
    assert shares["never heard of again"] >= len(jobs) / 4
    assert shares["closed without a cause"] >= 3
    assert shares["still open"] >= 3


def test_the_under_seat_cluster_grows_on_two_models(jobs: list[Job]) -> None:
    cluster = under_seat(jobs, "Lido", "Kiri")
    cars = Counter(job.vehicle.ref for job in cluster)
    assert len(cars) >= 25
    years = Counter(job.opened.year for job in cluster)
    assert years[2022] < years[2024] < years[2026]


def test_the_decoys_are_there(jobs: list[Job]) -> None:
    tessel = under_seat(jobs, "Tessel")
    assert len(tessel) >= 4
    assert len({job.vehicle.ref for job in tessel}) == 1
    mats = [job for job in jobs if job.cause and job.cause.component == "occupancy mat"]
    assert {job.vehicle.model for job in mats} == {"Ostra"}
    cables = [
        job
        for job in jobs
        if job.cause
        and job.cause.component == "battery cable"
        and job.cause.location == "under seat"
    ]
    assert {job.vehicle.model for job in cables} == {"Dray"}


def test_the_traps_of_the_restraint_trade_are_told(jobs: list[Job]) -> None:
    restraints = [job for job in jobs if job.system is System.RESTRAINTS]
    told = " ".join(
        f"{test.name} {test.seen} {job.notes}" for job in restraints for test in job.tests
    ).casefold()
    for trap in ("shorting bar", "substitute load", "drag test", "twin"):
        assert trap in told
    assert any(
        reading.condition == "not fitted on this car"
        for job in restraints
        for reading in job.readings
    )
    cleaned = [
        job
        for job in under_seat(jobs, "Lido", "Kiri")
        if job.attempts and job.attempts[-1].action is Action.CLEANED
    ]
    outcomes = {contact.outcome for job in cleaned for contact in job.contacts}
    assert {Outcome.HELD, Outcome.COMEBACK} <= outcomes


def test_hardly_any_shop_words_have_to_be_withheld(jobs: list[Job]) -> None:
    texts = [
        (job, text)
        for job in jobs
        for text in (
            job.proved_by or "",
            *(f"{test.name}: {test.seen}" for test in job.tests),
            *(attempt.words or "" for attempt in job.attempts),
        )
    ]
    hidden = [
        text
        for job, text in texts
        if text
        != screen(
            text,
            restraint=job.system is System.RESTRAINTS,
            live=live_values(job.readings),
        )
    ]
    assert len(hidden) <= 0.02 * len(texts), hidden


def test_comebacks_name_a_later_job_of_the_same_car(jobs: list[Job]) -> None:
    by_number = {job.number: job for job in jobs}
    linked = [(job, c) for job in jobs for c in job.contacts if c.job is not None]
    assert linked
    for job, contact in linked:
        assert contact.job is not None
        other = by_number[contact.job]
        assert other.vehicle == job.vehicle
        assert job.closed is not None
        assert other.opened >= job.closed


def test_restraint_circuits_are_never_metered(jobs: list[Job]) -> None:
    igniters = ("pretensioner", "airbag", "curtain")
    methods = {
        (reading.method or "").casefold()
        for job in jobs
        if job.system is System.RESTRAINTS
        for reading in job.readings
        if any(word in reading.item for word in igniters) and reading.stage is Stage.AS_FOUND
    }
    assert all("meter" not in method for method in methods), methods
