"""Reading the cases of some days."""

from datetime import date

import pytest

from kb.errors import InvalidField
from kb.services.closed_cases import closed_between, opened_between, read_cases
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

FIRST, LAST = date(2024, 3, 1), date(2024, 9, 30)


@pytest.mark.parametrize("between", [opened_between, closed_between])
def test_both_days_count(demo_store: str, between: type) -> None:
    day = "opened" if between is opened_between else "closed"
    seen: list[tuple[int, int]] = []
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        every = read_cases(work, lambda done, total: seen.append((done, total)))
        some = read_cases(work, None, between(FIRST, LAST))
        one = getattr(some[0], day)
        assert some == [job for job in every if FIRST <= getattr(job, day) <= LAST]
        assert some[0] in read_cases(work, None, between(one, one))
        assert read_cases(work, None, between(None, None)) == every
    assert 0 < len(some) < len(every)
    assert seen[-1] == (len(every), len(every))


@pytest.mark.parametrize("between", [opened_between, closed_between])
def test_days_in_the_wrong_order_are_refused(between: type) -> None:
    with pytest.raises(InvalidField, match="lies before"):
        between(LAST, FIRST)
