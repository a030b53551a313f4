"""Whom to ask whether a fix held: the riskiest first, nobody in vain."""

from collections.abc import Sequence
from datetime import date, timedelta

import pytest

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, System, Vehicle
from kb.rates.due import Due, due
from kb.rates.shrinkage import fit, neutral
from kb.rates.survival import Lifetime
from kb.settings import FollowUpSettings, RateSettings
from tests.job_repairs import JobRepair

TODAY = date(2026, 3, 2)
HORIZON = 90
PLUG = Cause(component="door plug", failure_mode=FailureMode.OPEN)
CURED = Attempt(action=Action.CLEANED, component="door plug", cured=True)


def repair(
    number: int,
    days: int,
    *attempts: Attempt,
    contacts: Sequence[Contact] = (),
    system: System | None = None,
) -> JobRepair:
    closed = TODAY - timedelta(days=days)
    job = Job(
        number=number,
        vehicle=Vehicle(ref=f"K{number}"),
        opened=closed,
        closed=closed,
        complaint="lock dead",
        system=system,
        cause=PLUG,
        attempts=attempts or (CURED,),
        contacts=tuple(contacts),
    )
    made = JobRepair.of(job)
    assert made is not None
    return made


def heard(days_ago: int, outcome: Outcome = Outcome.HELD) -> Contact:
    return Contact(on=TODAY - timedelta(days=days_ago), outcome=outcome)


def asked(*repairs: JobRepair) -> list[int]:
    return [each.job for each in listed(*repairs)]


def listed(*repairs: JobRepair) -> tuple[Due, ...]:
    return due(repairs, neutral(HORIZON), RateSettings(), FollowUpSettings(), TODAY)


def test_nobody_is_asked_in_vain() -> None:
    failed = Attempt(action=Action.CLEANED, component="door plug", cured=False)
    assert (
        asked(
            repair(1, 13),
            repair(2, 366),
            repair(3, 200, contacts=[heard(100)]),
            repair(4, 200, contacts=[heard(150, Outcome.COMEBACK)]),
            repair(5, 200, failed),
            repair(6, 60, contacts=[heard(10)]),
        )
        == []
    )


def test_the_unheard_and_the_unwritten_are_asked_after() -> None:
    unwritten = Attempt(action=Action.CLEANED, component="door plug")
    assert set(asked(repair(1, 14), repair(2, 365), repair(3, 60, unwritten))) == {1, 2, 3}


def test_the_longer_unheard_within_the_horizon_the_riskier() -> None:
    known = repair(3, 90, contacts=[heard(60)])
    found = {each.job: each for each in listed(repair(1, 90), repair(2, 30), known)}
    # by hand, Jeffreys' kind: a third of what cured comes back, evenly over 90 days
    assert found[1].risk == pytest.approx(1 / 3)
    assert found[2].risk == pytest.approx(1 / 9)
    assert found[3].risk == pytest.approx(1 - (2 / 3) / (8 / 9))
    assert asked(repair(2, 30), repair(1, 90), known) == [1, 3, 2]


def test_grave_systems_go_before_riskier_ones() -> None:
    brakes = repair(1, 50, system=System.BRAKES_WHEEL_SPEED)
    lock = repair(2, 90, system=System.BODY_ELECTRICS)
    assert asked(lock, brakes) == [1, 2]


def test_a_fix_that_often_came_back_is_asked_after_first() -> None:
    came_back = [Lifetime(0, False)] + [Lifetime(20, True)] * 6
    held = [Lifetime(0, False)] + [Lifetime(120, False)] * 6
    told = {(n, ("replaced", f"part {n}")): held for n in range(15)}
    told |= {(n, ("cleaned", f"plug {n}")): came_back for n in range(15)}
    history = fit(told, HORIZON)
    assert history is not None
    bad = history.left(("cleaned", "door plug"), came_back)[-1]
    good = history.left(("replaced", "loom"), held)[-1]
    assert bad < 0.4 < 0.9 < good
