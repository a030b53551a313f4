"""What a rate would be if an answer were given is what it is once the answer is given."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, Vehicle
from kb.rates.fixes import FixRate, fixes
from kb.rates.trials import Clock
from kb.services.fix_history import learn, relearner
from kb.settings import Settings
from tests.job_repairs import repairs_of_jobs

CLOSED = date(2025, 3, 1)
SETTINGS = Settings()
PARTS = ("relay", "pump", "plug", "loom", "switch", "lamp", "fuse", "motor", "coil", "valve", "ecu")
ENDS = (("if_same", Outcome.COMEBACK), ("if_other", Outcome.OTHER_REASON))


def cause(part: str) -> Cause:
    return Cause(component=part, failure_mode=FailureMode.OPEN)


def fixed(number: int, part: str, *contacts: Contact) -> Job:
    return Job(
        number=number,
        vehicle=Vehicle(make="Corvane", ref=f"K{number}"),
        opened=CLOSED - timedelta(days=1),
        complaint=f"{part} trouble",
        closed=CLOSED,
        cause=cause(part),
        attempts=(Attempt(action=Action.REPLACED, component=part, cured=True),),
        contacts=contacts,
    )


def returned(number: int, part: str, day: int) -> Job:
    """The car of a job, back with the same words."""
    return Job(
        number=number + 500,
        vehicle=Vehicle(make="Corvane", ref=f"K{number}"),
        opened=CLOSED + timedelta(days=day),
        complaint=f"{part} trouble again",
    )


def heard(day: int, outcome: Outcome, job: int | None = None) -> Contact:
    return Contact(on=CLOSED + timedelta(days=day), outcome=outcome, job=job)


def relays(jobs: list[Job], clock: Clock = Clock.DAYS) -> FixRate:
    repairs = repairs_of_jobs(jobs)
    meant: Any = cause("relay").key
    (found,) = fixes(
        [each for each in repairs if each.cause == meant],
        SETTINGS.rates,
        learn(repairs, SETTINGS, clock),
        cause=meant,
        clock=clock,
        relearn=relearner(lambda: repairs, SETTINGS, clock),
    )
    return found.rate


others = st.lists(st.tuples(st.sampled_from(PARTS), st.integers(1, 400), st.booleans()), max_size=9)


@settings(max_examples=25)
@given(
    others,
    st.lists(st.integers(1, 400), min_size=1, max_size=5),
    st.lists(st.tuples(st.integers(1, 400), st.booleans()), max_size=4),
)
def test_supposing_is_judging(
    shop: list[tuple[str, int, bool]], backs: list[int], known: list[tuple[int, bool]]
) -> None:
    told = [*((part, 100, True) for part in PARTS), *shop, *(("relay", *each) for each in known)]
    jobs = [
        fixed(100 + n, part, heard(day, Outcome.HELD if held else Outcome.COMEBACK))
        for n, (part, day, held) in enumerate(told)
    ]
    open_returns = dict(enumerate(backs, 1))
    jobs += [returned(number, "relay", day) for number, day in open_returns.items()]
    rate = relays([*jobs, *(fixed(number, "relay") for number in open_returns)])
    for place, horizon in enumerate(SETTINGS.rates.horizons_days):
        for end, outcome in ENDS:
            judged = [
                fixed(
                    number,
                    "relay",
                    *([heard(day, outcome, number + 500)] if day <= horizon else []),
                )
                for number, day in open_returns.items()
            ]
            supposed = getattr(rate.horizons[place], end)
            after = relays([*jobs, *judged]).horizons[place]
            assert supposed.rate == (
                None if after.rate is None else pytest.approx(after.rate, abs=1e-12)
            )
            assert supposed.interval == after.interval
