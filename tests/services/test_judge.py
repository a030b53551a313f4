"""Judging a reading from a store."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from kb.bands.bands import BandLevel
from kb.bands.judgement import Finding
from kb.bands.twins import Twinship
from kb.case import Handedness, Job, Quantity, Reading, System, Vehicle, VehicleModel
from kb.errors import Dangerous, KbError
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, cautions_of
from kb.services.judge import ReadingAnswer, judge_reading
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.bands.circuits import reading

RESTRAINTS = cautions_of(Situation(systems=(System.RESTRAINTS,)), Wording.default())


def ask(
    address: str,
    text: str,
    vehicle: str | None = None,
    job: int | None = None,
    limits: Path | None = None,
) -> ReadingAnswer:
    return judge_reading(address, text, Settings(), vehicle=vehicle, job=job, limits=limits)


def store(address: str, *readings: Reading, ref: str = "K900") -> int:
    with UnitOfWork(open_store(address)) as work:
        job = work.jobs.add(
            Job(
                vehicle=Vehicle(make="Corvane", model="Lido", ref=ref),
                opened=date(2025, 1, 1),
                complaint="airbag lamp on",
                system=System.RESTRAINTS,
                readings=readings,
            )
        )
        work.commit()
    assert job.number is not None
    return job.number


def test_the_demonstration_shop_knows_its_pretensioners(demo_store: str) -> None:
    answer = ask(demo_store, "RF pretensioner 6.1 ohm", "corvne lido 14")
    verdict = answer.verdict
    assert (verdict.finding, verdict.by) == (Finding.BAD_HIGH, BandLevel.MODEL)
    assert verdict.past[0].cause is not None
    assert "seat connector, under seat: high resistance" in {each.cause for each in verdict.past}
    assert answer.cautions == RESTRAINTS
    assert any("corvne lido" in notice for notice in answer.notices)
    assert verdict.limit is not None
    assert ask(demo_store, "RF pretensioner 2.2 ohm", "lido").verdict.finding is Finding.GOOD


def test_the_demonstration_shop_knows_what_is_not_fitted(demo_store: str) -> None:
    answer = ask(demo_store, "curtain airbag N/S 12.7 ohm", "sunato kiri")
    assert answer.verdict.finding is Finding.PLACEHOLDER
    assert answer.verdict.placeholder is not None
    assert answer.verdict.placeholder.told > 1


def test_a_jobs_own_reading_is_not_its_own_witness(demo_store: str) -> None:
    answer = ask(demo_store, "RF pretensioner 6.1 ohm", job=1022)
    assert answer.verdict.twinship is Twinship.SIDE
    assert answer.vehicle.model == "Lido"
    assert answer.twin_job is None
    assert 1022 not in {each.job for each in answer.verdict.past}
    assert all(1022 not in said.band.jobs for said in answer.verdict.said)


def test_the_twin_of_the_cars_last_visit(small_store: str) -> None:
    number = store(small_store, reading(2.1, "left front"))
    answer = ask(small_store, "RF pretensioner 2.3 ohm", "K900")
    assert (answer.twin_job, answer.verdict.twinship) == (number, Twinship.SIDE)
    assert ask(small_store, "RF pretensioner 2.3 ohm", "corvane lido").verdict.twin is None


def test_driver_and_left_are_twins_only_where_the_drivers_side_is_known(small_store: str) -> None:
    store(small_store, reading(2.1, "passenger front"))
    apart = ask(small_store, "RF pretensioner 2.3 ohm", "K900")
    assert apart.verdict.twin is None
    with UnitOfWork(open_store(small_store)) as work:
        work.models.add(VehicleModel(make="Corvane", model="Lido", handedness=Handedness.RIGHT))
        work.commit()
    assert ask(small_store, "RF pretensioner 2.3 ohm", "K900").verdict.twinship is Twinship.SIDE


def test_driver_may_be_part_of_an_items_name(demo_store: str) -> None:
    verdict = ask(demo_store, "driver airbag 2.3 ohm", "lido").verdict
    assert verdict.reading.item == "driver airbag circuit"
    assert verdict.reading.position is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("speed sensor 1k1", "was read as 'wheel speed sensor resistance'"),
        ("oil sensor 1k1", "recorded are 'crank sensor resistance'"),
        ("widget 3 V", "No past job measured the voltage of 'widget'."),
        ("key fob 2.6 V", "'key fob battery voltage'"),
    ],
)
def test_what_was_looked_up_is_said(demo_store: str, text: str, said: str) -> None:
    assert any(said in notice for notice in ask(demo_store, text).notices)


@pytest.mark.parametrize(
    "text", ["pretensoner 2.3 ohm", "passenger bag 2R4", "belt tensioner 5R9", "srs squib 3 ohm"]
)
def test_what_may_fire_is_cautioned_however_spelt(empty_store: str, text: str) -> None:
    assert ask(empty_store, text).cautions[: len(RESTRAINTS)] == RESTRAINTS


def test_a_slip_of_spelling_is_mended(demo_store: str) -> None:
    verdict = ask(demo_store, "RF pretensoner 2.2 ohm", "lido").verdict
    assert (verdict.reading.item, verdict.finding) == ("pretensioner circuit", Finding.GOOD)


def test_a_meter_on_an_igniter_is_answered_with_a_warning(demo_store: str) -> None:
    with pytest.raises(Dangerous, match=r"multimeter.* is dangerous: .*Read the live value"):
        ask(demo_store, "LF pretensioner 2.2 ohm with multimeter")
    by_tool = ask(demo_store, "LF pretensioner 2.2 ohm by scan tool", "lido")
    assert by_tool.verdict.finding is Finding.GOOD


def test_an_own_figure_is_shown_as_own(small_store: str, tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text(
        '[[limit]]\nitems = ["widget"]\nquantity = "voltage"\nmost = "2 V"\nsource = "folder"\n',
        encoding="utf-8",
    )
    verdict = ask(small_store, "widget 3 V", limits=file).verdict
    assert verdict.finding is Finding.BAD_HIGH
    assert verdict.limit is not None
    assert (verdict.limit.own, verdict.limit.source) == (True, "folder")


def test_an_empty_store_judges_by_the_trade(empty_store: str) -> None:
    verdict = ask(empty_store, "charging voltage 12.9 V").verdict
    assert (verdict.finding, verdict.by) == (Finding.BAD_LOW, None)


@pytest.mark.parametrize("text", ["", "12.6", "battery", "LF pretensioner", "2 ohm 3 ohm"])
def test_what_cannot_be_read_is_told(small_store: str, text: str) -> None:
    with pytest.raises(KbError):
        ask(small_store, text)


def test_an_unknown_job_is_told(small_store: str) -> None:
    with pytest.raises(KbError, match="no job 99"):
        ask(small_store, "battery 12.6 V", job=99)


def test_a_value_taken_at_an_igniter_itself_is_no_witness(empty_store: str) -> None:
    circuit: dict[str, Any] = {
        "item": "pretensioner",
        "quantity": Quantity.RESISTANCE,
        "proved_good": True,
    }
    by_scan = Reading(typed="9 ohm", value=9.0, method="scan tool", **circuit)
    direct = Reading(typed="9 ohm", value=9.0, condition="on the bench", **circuit)
    number = store(empty_store, by_scan)
    store(empty_store, direct, ref="K901")
    past = ask(empty_store, "pretensioner 9 ohm").verdict.past
    assert {each.job for each in past} == {number}


def test_a_typed_limit_is_said_not_to_be_judged_by(demo_store: str) -> None:
    answer = judge_reading(demo_store, "pads LF 2 mm min 3", Settings())
    assert answer.asked.condition is None
    assert any("“min 3”" in notice for notice in answer.notices)


@pytest.mark.parametrize(
    "when",
    ["before cranking", "prior to cranking", "before crank", "before start", "pre-crank",
     "vor dem Anlassen", "avant démarrage", "przed rozruchem"],
)  # fmt: skip
def test_a_battery_before_a_start_is_judged_as_one_at_rest(empty_store: str, when: str) -> None:
    flat, full = (ask(empty_store, f"battery {volts} V {when}") for volts in ("10.1", "12.7"))
    assert flat.verdict.finding is Finding.BAD_LOW
    assert full.verdict.finding is Finding.GOOD


@pytest.mark.parametrize(
    "when", ["after cranking", "after start", "nach dem Anlassen", "après démarrage", "po rozruchu"]
)
@pytest.mark.parametrize("volts", ["10.1", "12.9", "14.1"])
def test_a_battery_after_a_start_is_not_judged(empty_store: str, when: str, volts: str) -> None:
    answer = ask(empty_store, f"battery {volts} V {when}")
    assert answer.verdict.finding is Finding.CANNOT_TELL
    assert any(f"“{when}”" in notice for notice in answer.notices)


@pytest.mark.parametrize("when", ["on the bench", "im Stand der Technik", "wiggling the loom"])
def test_words_of_a_condition_that_tell_no_state_are_named(empty_store: str, when: str) -> None:
    named = f"“{when.removeprefix('im ')}”"
    assert any(named in each for each in ask(empty_store, f"feed 11 V {when}").notices)


@pytest.mark.parametrize("when", ["cranking", "at rest", "key on", "hot idle"])
def test_words_that_tell_a_state_are_not_named(empty_store: str, when: str) -> None:
    notices = ask(empty_store, f"battery 12.4 V @ {when}").notices
    assert not any("no state" in notice for notice in notices)
