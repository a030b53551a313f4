"""Every page weighs what was done on an open job alike."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from kb.case import Action, Attempt, DiagnosticTest, Job, System, Vehicle
from kb.services.ask import causes
from kb.services.inquiry import Question
from kb.services.troubleshoot import working_job
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.store_copies import copied

SETTINGS = Settings()
NOW = datetime(2026, 5, 2, tzinfo=UTC)
WIGGLED = DiagnosticTest(
    name="wiggle test", seen="lamp came on", points_to=("seat connector",), clears=("clock spring",)
)
NOTHING = DiagnosticTest(name="look at the loom", seen="nothing", clears=("seat connector",))
FAILED = Attempt(action=Action.REPLACED, component="seat connector", cured=False)
CURED = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
READ_OUT = Attempt(action=Action.CLEARED, component="codes", cured=None)


def opened(address: str, tests: tuple[DiagnosticTest, ...], fixes: tuple[Attempt, ...]) -> int:
    job = Job(
        vehicle=Vehicle(make="Corvane", model="Lido", ref="K9"),
        opened=date(2026, 5, 1),
        complaint="airbag lamp on after seat moved",
        system=System.RESTRAINTS,
        tests=tests,
        attempts=fixes,
    )
    with UnitOfWork(open_store(address)) as work:
        number = work.jobs.add(job).number
        work.commit()
    assert number is not None
    return number


def both(address: str, number: int) -> tuple[dict[object, float], dict[object, float]]:
    """Chances of the same causes by `kb causes --job` and by `kb next-test`; the rest as None."""
    asked = causes(address, Question(job=number), SETTINGS)
    stands = working_job(address, number, SETTINGS, who=None, now=NOW).advice
    told: dict[object, float] = {each.cause.key: each.chance for each in asked.causes}
    assert sum(told.values()) + asked.other_causes + asked.not_seen_before == pytest.approx(1)
    suspects: dict[object, float] = {each.cause.key: each.chance for each in stands.suspects}
    same = suspects.keys() & told.keys()
    assert same
    one, other = ({key: found[key] for key in same} for found in (told, suspects))
    return one | {None: 1 - sum(one.values())}, other | {None: 1 - sum(other.values())}


@pytest.mark.parametrize("tests", [(), (WIGGLED,), (WIGGLED, NOTHING)])
@pytest.mark.parametrize("fixes", [(), (FAILED,), (CURED,), (READ_OUT, FAILED, CURED)])
def test_chances_are_the_same_wherever_they_are_told(
    small_store: str, tests: tuple[DiagnosticTest, ...], fixes: tuple[Attempt, ...]
) -> None:
    told, stands = both(small_store, opened(small_store, tests, fixes))
    assert told == pytest.approx(stands)


def test_what_was_done_moves_them(small_store: str) -> None:
    plain = both(small_store, opened(small_store, (), ()))[0]
    failed = both(small_store, opened(small_store, (), (FAILED,)))[0]
    assert plain != pytest.approx(failed, abs=0.05)


def test_after_a_fix_in_vain_other_causes_come_into_question(
    demo_store: str, tmp_path: Path
) -> None:
    address = copied(demo_store, tmp_path)
    job = Job(
        vehicle=Vehicle(make="Corvane", model="Lido", year=2015),
        opened=date(2026, 11, 2),
        complaint="airbag lamp on since the seat was moved",
    )
    failed = Attempt(action=Action.REPLACED, component="seat plug", cured=False)
    with UnitOfWork(open_store(address)) as work:
        numbers = [work.jobs.add(replace(job, attempts=fixes)).number for fixes in ((), (failed,))]
        work.commit()
    first, after = (
        working_job(address, number or 0, SETTINGS, who=None, now=NOW).advice for number in numbers
    )
    plain, now = ({each.cause.key for each in told.suspects} for told in (first, after))
    assert now - plain
    assert after.suspects[0].cause.component != "seat connector"
    told, stands = both(address, numbers[1] or 0)
    assert told == pytest.approx(stands)
    asked = causes(address, Question(job=numbers[1]), SETTINGS)
    for each in asked.causes:
        if each.cause.component == "seat connector":
            assert each.chance < 0.05
