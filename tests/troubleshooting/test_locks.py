"""How long somebody's word keeps a locked step open, by a clock passed in."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Confirmation, DiagnosticTest, Job, Precondition, Vehicle
from kb.intake.wording import Wording
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.locks import (
    Deed,
    Presence,
    ToldStep,
    ended,
    supply_on,
    tells_on,
    told_tests,
    unconfirmed,
    unvouched,
)

STEP = "terminal drag test, seat connector"
NEEDS = (Precondition.SUPPLY_OFF, Precondition.AIRBAG_OFF)
GIVEN = datetime(2026, 3, 2, 10, tzinfo=UTC)
HOURS = 4.0
JOB = Job(
    vehicle=Vehicle(),
    opened=date(2026, 3, 2),
    complaint="airbag lamp on",
    confirmations=tuple(Confirmation(what=n, step=STEP, by="BT", at=GIVEN) for n in NEEDS),
)
LATER = Presence(who="BT", now=GIVEN + timedelta(minutes=20))


def is_open(presence: Presence, step: str = STEP, job: Job = JOB) -> bool:
    return not unconfirmed(NEEDS, step, job, presence, HOURS)


def deed(minutes: float, **told: object) -> Deed:
    return Deed(at=GIVEN + timedelta(minutes=minutes), **{"who": "BT"} | told)  # type: ignore[arg-type]


def test_it_holds_for_the_step_the_person_and_the_moment() -> None:
    assert is_open(LATER)
    assert is_open(replace(LATER, who=" bt "))
    assert not is_open(LATER, step="substitute load at the connector")
    assert not is_open(replace(LATER, who="MK"))
    assert not is_open(replace(LATER, who=None))
    assert not is_open(replace(LATER, now=GIVEN - timedelta(minutes=1)))


def test_every_precondition_is_confirmed_by_itself() -> None:
    half = replace(JOB, confirmations=JOB.confirmations[:1])
    assert unconfirmed(NEEDS, STEP, half, LATER, HOURS) == NEEDS[1:]


def test_it_ends_after_some_hours_and_with_the_workshops_day() -> None:
    assert is_open(replace(LATER, now=GIVEN + timedelta(hours=HOURS)))
    assert not is_open(replace(LATER, now=GIVEN + timedelta(hours=HOURS, seconds=1)))
    here = timezone(timedelta(hours=13, minutes=30))  # 10:00 UTC is half past eleven at night here
    assert is_open(replace(LATER, now=GIVEN.astimezone(here) + timedelta(minutes=20)))
    assert not is_open(replace(LATER, now=GIVEN.astimezone(here) + timedelta(minutes=40)))
    assert not is_open(replace(LATER, now=GIVEN + timedelta(weeks=8)))


@pytest.mark.parametrize(
    "ending",
    [
        deed(5, live=True),
        deed(5, of_car=True),
        deed(5, title=STEP),
        deed(5, who="MK"),
        deed(5, who=None),
    ],
)
def test_it_ends_with_what_is_done_after_it_and_is_given_again(ending: Deed) -> None:
    assert not is_open(replace(LATER, deeds=(ending,)))
    assert is_open(replace(LATER, deeds=(replace(ending, at=GIVEN - timedelta(minutes=5)),)))
    again = tuple(replace(each, at=GIVEN + timedelta(minutes=10)) for each in JOB.confirmations)
    twice = replace(JOB, confirmations=JOB.confirmations + again)
    assert is_open(replace(LATER, deeds=(ending,)), job=twice)


def test_looking_and_noting_leave_it() -> None:
    assert is_open(replace(LATER, deeds=(deed(1), deed(5, title="visual check"))))


@given(
    st.lists(
        st.builds(
            deed,
            st.floats(-600, 600),
            who=st.sampled_from(["BT", "MK", None]),
            title=st.sampled_from([None, STEP, "visual check"]),
            live=st.booleans(),
        ),
        max_size=6,
    ),
    st.floats(-60, 3000),
    st.sampled_from(["BT", "MK", None]),
)
def test_more_done_never_opens_a_lock(deeds: list[Deed], minutes: float, who: str | None) -> None:
    now = GIVEN + timedelta(minutes=minutes)
    whole = Presence(who=who, now=now, deeds=tuple(deeds))
    if is_open(whole):
        assert is_open(replace(whole, deeds=tuple(deeds[1:])))
        assert who == "BT"


@pytest.mark.parametrize(
    ("name", "live"),
    [
        ("Scan of live data", True),
        ("wiggle test, seat connector", True),
        ("substitute load at the connector", True),
        ("terminal drag test, seat connector", False),
        ("visual check", False),
        ("clock spring with the airbag off", False),
        ("self test with the tester", True),
        ("felt the pins one by one", False),
    ],
)
def test_what_is_done_with_the_supply_on_is_known(name: str, live: bool) -> None:
    assert supply_on(DiagnosticTest(name=name, seen="as told")) is live


def test_tests_that_want_the_supply_off_throughout_are_made_without_it() -> None:
    off = [each for each in general_tests().test if not each.live]
    assert {each.name for each in off} >= {"visual check", "terminal drag test"}
    assert all(each.hands_on or each.first for each in off)


def test_initials_are_one_however_they_are_written() -> None:
    assert is_open(replace(LATER, who="b.t."))
    assert is_open(
        LATER,
        job=replace(
            JOB, confirmations=tuple(replace(each, by="B. T.") for each in JOB.confirmations)
        ),
    )
    assert not is_open(replace(LATER, who="B.T.M."))


TOLD = ToldStep(names=(STEP,), who="BT", at=GIVEN + timedelta(minutes=20))


def loose(*steps: ToldStep, deeds: tuple[Deed, ...] = ()) -> tuple[str, ...]:
    return unvouched(JOB, steps, deeds, Wording.default(), HOURS)


@pytest.mark.parametrize(
    "step",
    [
        replace(TOLD, who="MK"),
        replace(TOLD, who=None),
        replace(TOLD, at=None),
        replace(TOLD, at=GIVEN - timedelta(minutes=1)),
        replace(TOLD, at=GIVEN + timedelta(hours=HOURS, minutes=1)),
        replace(TOLD, names=("substitute load at the connector",)),
        replace(TOLD, names=("terminal drag test, seat connector", "a look"), who="MK"),
        ToldStep(names=("replaced seat connector",), fix=True, who="BT", at=TOLD.at),
    ],
)
def test_nobody_vouches_for_another_person_step_or_moment(step: ToldStep) -> None:
    assert loose(step) == (step.names[-1],)


@pytest.mark.parametrize(
    ("name", "asked"),
    [
        ("replaced bonnet bulb", False),
        ("replaced number plate bulb", False),
        ("replaced Glühbirne", False),
        ("cleared steuergerät", False),
        ("cleared fault codes", False),
        ("replaced airbag lamp bulb", True),
        ("cleared airbag unit", True),
        ("replaced bulb holder", True),
        ("replaced door loom", True),
        ("cleared seat connector", True),
        ("cleaned steuergerät", True),
    ],
)
def test_a_bulb_and_what_a_scan_tool_clears_want_no_confirmation(name: str, asked: bool) -> None:
    """Common practice, no source."""
    assert bool(loose(ToldStep(names=(name,), fix=True, at=TOLD.at))) is asked


def test_whoever_confirmed_it_vouches_for_one_step_of_that_name() -> None:
    assert loose(TOLD) == ()
    again = replace(TOLD, at=GIVEN + timedelta(minutes=30))
    assert loose(again, deeds=(deed(20, title=STEP),)) == (STEP,)
    assert loose(again, deeds=(deed(25, live=True),)) == (STEP,)
    assert loose(ToldStep(names=("visual check",), who=None)) == ()


def test_of_a_job_that_came_whole_nobody_vouches_for_anything() -> None:
    whole = replace(JOB, tests=(DiagnosticTest(name=STEP, seen="one pin loose"),))
    assert unvouched(whole, told_tests(whole), (), Wording.default(), HOURS) == (STEP,)


def test_it_is_told_which_confirmations_hold_no_more() -> None:
    assert ended(JOB, (), LATER.now, HOURS) == ()
    assert ended(JOB, (deed(5, live=True),), LATER.now, HOURS) == (0, 1)
    assert ended(JOB, (), GIVEN + timedelta(hours=5), HOURS) == (0, 1)
    assert ended(replace(JOB, closed=date(2026, 3, 2)), (), LATER.now, HOURS) == (0, 1)


@pytest.mark.parametrize(
    "told",
    [
        "connected the battery again: lamp on", "fuse put back: lamp on", "horn pressed: works",
        "lamp off after key cycle: no", "looked at lamp: on", "cruise set: works",
        "radio on: plays", "seat moved by its motor: it flickers", "belt buckled: stays",
        "code erased: came back", "voltmeter at battery: 12", "customer showed it: comes again",
        "some words: of no list",
    ],
)  # fmt: skip
def test_whatever_is_not_plainly_done_cold_may_have_had_the_supply_on(told: str) -> None:
    name, _, seen = told.partition(": ")
    assert supply_on(DiagnosticTest(name=name, seen=seen))


@pytest.mark.parametrize(
    "told",
    [
        "felt the pins one by one: tight", "looked under the seat: plug green",
        "battery still off, pins inspected: one bent", "visual check: nothing",
        "light grip of pin 2: loose",
    ],
)  # fmt: skip
def test_looks_and_cold_work_leave_it(told: str) -> None:
    name, _, seen = told.partition(": ")
    assert not supply_on(DiagnosticTest(name=name, seen=seen))


def test_a_look_with_the_key_on_ends_it() -> None:
    assert supply_on(DiagnosticTest(name="visual check", seen="looked with key on, lamp lit"))


def test_the_same_deed_on_a_part_called_otherwise_ends_it() -> None:
    step = "replaced seat connector"
    job = replace(JOB, confirmations=tuple(replace(e, step=step) for e in JOB.confirmations))
    assert is_open(LATER, step=step, job=job)
    assert not is_open(replace(LATER, deeds=(deed(5, title="replaced seat plug"),)), step, job)


@pytest.mark.parametrize("title", ["terminal drag test, seat connector", "drag-test on the plug"])
def test_the_step_told_in_other_words_ends_it(title: str) -> None:
    job = replace(JOB, confirmations=tuple(replace(e, step="drag test") for e in JOB.confirmations))
    assert is_open(LATER, step="drag test", job=job)
    assert not is_open(replace(LATER, deeds=(deed(5, title=title),)), "drag test", job)


@pytest.mark.parametrize(
    "told",
    [
        *("Batterie wieder angeklemmt", "power restored", "battery back on", "rebranché"),
        *("batterie rebranchée", "contact mis", "podłączony akumulator", "włączony zapłon"),
        *("batteriet inkopplat", "batteria ricollegata", "batería conectada", "Masse wieder dran"),
        *("Zündung ein", "terminal back on the post", "accu weer aangesloten"),
    ],
)
def test_it_is_told_in_many_tongues_that_the_supply_came_back(told: str) -> None:
    assert tells_on(told)


@pytest.mark.parametrize(
    "told",
    [
        *("Batterie abgeklemmt", "battery off and waited", "batterie débranchée", "Minuspol ab"),
        *("akumulator odłączony", "batteria scollegata", "looked at the pins", "Zündung aus"),
        *("connector clip back on", "no contact on pin 2", "earth on the sill cleaned, dry"),
    ],
)
def test_a_supply_that_is_off_is_not_told_to_be_back(told: str) -> None:
    assert not tells_on(told)
