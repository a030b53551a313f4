"""The foreman's page: the parts agree with one another and with the commands of their own."""

from datetime import date

import pytest

from kb.errors import InvalidField
from kb.services.comebacks import WorkKind, comebacks
from kb.services.friday import friday
from kb.services.scan import scan
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

TODAY = date(2026, 11, 1)


def test_it_tells_what_the_commands_tell(demo_store: str) -> None:
    found = friday(demo_store, Settings(), today=TODAY)
    assert found.scan == scan(demo_store, Settings(), today=found.on)
    assert found.by_fix == comebacks(demo_store, Settings())
    assert found.by_cause == comebacks(demo_store, Settings(), kind=WorkKind.CAUSE)


def test_the_history_is_counted(demo_store: str) -> None:
    health = friday(demo_store, Settings(), today=TODAY).health
    assert health.unheard + health.unproved <= 2 * health.cured <= 2 * health.cases
    assert health.untagged == scan(demo_store, Settings(), today=date(2026, 11, 1)).untagged
    assert 0 < health.unheard < health.cured
    whole = comebacks(demo_store, Settings()).whole
    assert whole is not None
    assert (health.unheard, health.cured) == (whole.unheard, whole.cured)
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        every = list(work.jobs.all())
    assert health.without_cause == sum(bool(j.closed) and not j.cause for j in every if not j.void)
    assert health.still_open == sum(not j.closed for j in every if not j.void)
    assert health.cases + health.without_cause + health.still_open == len(every)


def test_of_each_item_good_and_bad_readings_are_told(demo_store: str) -> None:
    found = friday(demo_store, Settings(), today=TODAY).readings
    assert len({(each.item, each.condition) for each in found}) == len(found) > 3
    assert all(each.band.speaks and each.bad for each in found)
    assert all("circuit" not in each.item for each in found if each.make is None)


def test_days_narrow_all_of_it(demo_store: str) -> None:
    found = friday(demo_store, Settings(), today=TODAY, since=date(2025, 1, 1))
    assert found.health.cases == found.scan.cases == found.by_fix.cases
    assert len(found.scan.windows) == 1
    with pytest.raises(InvalidField, match="lies before"):
        friday(demo_store, Settings(), today=TODAY, since=TODAY, until=date(2024, 1, 1))
