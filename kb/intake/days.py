"""Days of work done: none lies beyond tomorrow, where the shop's clock may be a zone behind."""

from collections.abc import Iterator
from datetime import date, timedelta

from kb.case import Job

CLOCKS = timedelta(days=1)
"""How far two clocks may be apart."""


def days_to_come(job: Job, today: date) -> Iterator[tuple[str, date]]:
    """Yield field and day of what a job tells of days after tomorrow.

    Examples
    --------
    >>> from kb.case import Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2099, 1, 1), complaint="no crank")
    >>> list(days_to_come(job, date(2026, 3, 2)))
    [('opened', datetime.date(2099, 1, 1))]
    """
    told = [("opened", job.opened), ("closed", job.closed)]
    told += [(f"contacts[{place}].on", each.on) for place, each in enumerate(job.contacts)]
    for field, day in told:
        if day is not None and day > today + CLOCKS:
            yield field, day
