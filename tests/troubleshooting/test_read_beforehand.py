from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, FailureMode, Job, Vehicle
from kb.intake.readings import parse_reading
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.fitting import signs_of
from kb.troubleshooting.read_beforehand import with_tests_read
from kb.troubleshooting.steps import Advice, advise
from kb.troubleshooting.suspicion import Prior

WORDING = Wording.default()
DRAIN, CHARGING = "quiescent current measured", "charging voltage measured"
FLAT, LAMP = "battery flat by morning", "charging lamp on"
BATTERY = Cause(component="battery", failure_mode=FailureMode.WORN)
AMPLIFIER = Cause(component="amplifier", failure_mode=FailureMode.INTERNAL_FAULT)


def job(complaint: str, *readings: str) -> Job:
    return Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint=complaint,
        readings=tuple(map(parse_reading, readings)),
    )


def outcomes(asked: Job) -> list[tuple[str, str]]:
    told = with_tests_read(asked, signs_of(asked, WORDING), WORDING)
    return [(each.name, each.seen) for each in told.tests]


def advice(asked: Job) -> Advice:
    priors = [Prior(cause=each, chance=0.4, cases=9) for each in (BATTERY, AMPLIFIER)]
    return advise(asked, priors, (), WORDING, TroubleshootingSettings(), best=99)


# limits: `kb/bands/limits.toml`, common practice, no source
@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (job(FLAT, "draw 340 mA"), [(DRAIN, "asleep more flows than should")]),
        (job(FLAT, "draw 20 mA asleep"), [(DRAIN, "asleep next to nothing flows: battery")]),
        (job(LAMP, "charging voltage 12.2 V"), [(CHARGING, "the voltages speak for alternator")]),
        (job(FLAT), []),
        (job(FLAT, "draw 65 mA asleep"), []),  # neither good nor a fault
        (job(FLAT, "draw 20 A running"), []),  # nothing sleeps then
        (job(FLAT, "draw 20 mA", "draw 340 mA"), []),  # two that do not agree
        (job("squeals when braking", "draw 340 mA"), []),
        (job(FLAT, "door lock motor current 340 mA"), []),
    ],
)
def test_a_value_told_is_the_test_that_measures_it(asked: Job, told: list[tuple[str, str]]) -> None:
    assert outcomes(asked) == told


def test_what_was_read_is_not_proposed_again_and_moves_the_chances_as_the_test_would() -> None:
    before, drained = advice(job(FLAT)), advice(job(FLAT, "draw 340 mA"))
    assert any(DRAIN in each.title for each in before.steps)
    assert not any(DRAIN in each.title for each in drained.steps)

    def chance(given: Advice) -> float:
        return sum(each.chance for each in given.suspects if each.cause == BATTERY)

    rested = advice(job(FLAT, "draw 20 mA asleep"))
    assert chance(drained) < chance(before) < chance(rested)


@given(st.integers(1, 5000))
def test_any_current_says_one_thing_at_most(milliamperes: int) -> None:
    told = outcomes(job(FLAT, f"draw {milliamperes} mA asleep"))
    assert len(told) == (milliamperes <= 50 or milliamperes > 80)
