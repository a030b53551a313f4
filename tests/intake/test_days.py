"""Days that are still to come."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from kb.case import Contact, Job, Outcome, Vehicle
from kb.intake.days import days_to_come

TODAY = date(2026, 3, 2)


@given(st.integers(-400, 400), st.integers(0, 400), st.integers(-400, 400))
def test_a_day_is_to_come_from_the_day_after_tomorrow(
    opened: int, open_for: int, heard: int
) -> None:
    offsets = {"opened": opened, "closed": opened + open_for, "contacts[0].on": heard}
    days = {field: TODAY + timedelta(days=offset) for field, offset in offsets.items()}
    job = Job(
        vehicle=Vehicle(),
        opened=days["opened"],
        closed=days["closed"],
        complaint="no crank",
        contacts=(Contact(on=days["contacts[0].on"], outcome=Outcome.HELD),),
    )
    assert dict(days_to_come(job, TODAY)) == {
        field: day for field, day in days.items() if offsets[field] > 1
    }
