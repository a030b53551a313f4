"""One name for one thing: counted under the shop's name, kept as it was typed."""

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import Engine

from kb.case import (
    Action,
    Attempt,
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    Link,
    LinkKind,
    Vehicle,
)
from kb.errors import InvalidField
from kb.store.names import LONGEST_NAME, Thing, Vocabulary
from kb.store.unit_of_work import UnitOfWork

PLUG = Cause(component="Seat plug", location="below seat", failure_mode=FailureMode.LOOSE)
CONNECTOR = Cause(component="seat connector", location="under seat", failure_mode=FailureMode.LOOSE)


def job(cause: Cause) -> Job:
    fix = Attempt(action=Action.RESEATED, component=cause.component, cured=True)
    return Job(
        vehicle=Vehicle(model="Lido"),
        opened=date(2026, 3, 2),
        closed=date(2026, 3, 3),
        complaint="airbag lamp on",
        cause=cause,
        attempts=(fix,),
    )


@pytest.fixture
def two_names(engine: Engine) -> Engine:
    with UnitOfWork(engine) as work:
        for cause in (PLUG, CONNECTOR, CONNECTOR):
            work.jobs.add(job(cause))
        work.commit()
    return engine


def join(engine: Engine, *pairs: tuple[Thing, str, str]) -> None:
    with UnitOfWork(engine, who="MK") as work:
        for pair in pairs:
            work.names.join(*pair)
        work.commit()


BOTH = (
    (Thing.COMPONENT, "seat  PLUG", "seat connector"),
    (Thing.LOCATION, "below seat", "under seat"),
)


def test_causes_and_fixes_are_counted_under_one_name(two_names: Engine) -> None:
    join(two_names, *BOTH)
    with UnitOfWork(two_names, read_only=True) as work:
        assert work.repairs.causes() == [(CONNECTOR, 3)]
        (cases,) = work.repairs.of_causes([CONNECTOR.key]).values()
        assert [case.number for case in cases] == [1, 2, 3]
        assert {tried.fix for case in cases for tried in case.attempts} == {
            ("reseated", "seat connector")
        }
        assert {each.cause for each in work.jobs.all(cases_only=True)} == {CONNECTOR}
        assert work.jobs.components() == ["seat connector"]


def test_what_was_typed_stays(two_names: Engine) -> None:
    join(two_names, *BOTH)
    with UnitOfWork(two_names) as work:
        typed = work.jobs.get(1)
        assert typed.cause == PLUG
        assert work.jobs.get_many([1], as_typed=True) == [typed]
        work.jobs.replace(replace(typed, notes="seen again"))
        work.commit()
    with UnitOfWork(two_names) as work:
        assert work.jobs.get(1).cause == PLUG
        assert work.repairs.causes() == [(CONNECTOR, 3)]
        assert [each.field for each in work.changes.of(1)][1:] == ["notes"]


def test_a_job_recorded_later_counts_under_the_name_too(two_names: Engine) -> None:
    join(two_names, *BOTH)
    with UnitOfWork(two_names) as work:
        work.jobs.add(job(PLUG))
        assert work.repairs.causes() == [(CONNECTOR, 4)]


def test_parted_again_all_is_as_before_and_history_tells_both(two_names: Engine) -> None:
    with UnitOfWork(two_names) as work:
        before = work.repairs.causes(), work.repairs.all(), list(work.jobs.all())
    join(two_names, *BOTH)
    with UnitOfWork(two_names, who="BT") as work:
        assert work.names.part(Thing.COMPONENT, "seat plug") == "seat connector"
        assert work.names.part(Thing.LOCATION, "below seat") == "under seat"
        work.commit()
    with UnitOfWork(two_names) as work:
        assert (work.repairs.causes(), work.repairs.all(), list(work.jobs.all())) == before
        assert not work.names.vocabulary()


def test_names_joined_one_after_the_other_mean_the_last(engine: Engine) -> None:
    plug, conn, connector = "seat plug", "seat conn", "seat connector"
    join(engine, (Thing.COMPONENT, plug, conn), (Thing.COMPONENT, conn, connector))
    with UnitOfWork(engine) as work:
        assert work.names.vocabulary().components == {plug: connector, conn: connector}
        work.names.join(Thing.COMPONENT, "under seat plug", plug)
        assert work.names.vocabulary().component("Under  Seat Plug") == connector


def test_two_names_may_be_turned_round(engine: Engine) -> None:
    join(engine, (Thing.COMPONENT, "plug", "connector"))
    with UnitOfWork(engine) as work:
        with pytest.raises(InvalidField, match="already"):
            work.names.join(Thing.COMPONENT, "connector", "plug")
        assert work.names.vocabulary().components == {"plug": "connector"}


@pytest.mark.parametrize("name", ["", " ", "x" * (LONGEST_NAME + 1), "a\0", "Seat  Connector"])
def test_what_is_no_other_name_is_refused(engine: Engine, name: str) -> None:
    with UnitOfWork(engine) as work, pytest.raises(InvalidField):
        work.names.join(Thing.COMPONENT, name, "seat connector")


def test_a_name_that_was_never_joined_cannot_be_parted(engine: Engine) -> None:
    with UnitOfWork(engine) as work, pytest.raises(InvalidField, match="no other name"):
        work.names.part(Thing.COMPONENT, "seat plug")


def test_suspects_links_and_what_was_supposed_stand_under_the_name() -> None:
    known = Vocabulary({"seat plug": "seat connector"}, {})
    told = replace(
        job(CONNECTOR),
        attempts=(Attempt(action=Action.CLEANED, component="mat", supposed=PLUG),),
        tests=(DiagnosticTest(name="wiggle", seen="lamp", points_to=("seat plug",)),),
        circuit=(Link(name="Seat Plug", kind=LinkKind.CONNECTOR),),
    )
    counted = known.job(told)
    assert counted.attempts[0].supposed == replace(PLUG, component="seat connector")
    assert counted.tests[0].points_to == ("seat connector",)
    assert counted.circuit[0].name == "seat connector"
    assert Vocabulary({}, {}).job(told) is told
