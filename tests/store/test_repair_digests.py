"""A change of what fix rates rest on is noticed on every database, also without history."""

import os
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import NullPool, create_engine, text

from kb.store.address import url_of
from kb.store.database import open_store
from kb.store.repair_digests import BLOCK, differ
from kb.store.unit_of_work import UnitOfWork

CHANGES = (
    "UPDATE attempts SET cured = NOT cured WHERE cured IS NOT NULL",
    "UPDATE attempts SET action = 'repaired' WHERE action = 'replaced'",
    "UPDATE attempts SET component = component || ' x'",
    "UPDATE jobs SET void = 'never came' WHERE number = (SELECT min(number) FROM jobs)",
    "UPDATE jobs SET odometer_km = 12345 WHERE number = (SELECT min(number) FROM jobs)",
    "UPDATE jobs SET opened = '2019-01-02' WHERE number = (SELECT min(number) FROM jobs)",
    "UPDATE vehicles SET ref = 'K7777' WHERE id = (SELECT min(id) FROM vehicles)",
)


def digests(address: str) -> dict[str, str]:
    with UnitOfWork(open_store(address), read_only=True) as work:
        found = work.repairs.digests()
    assert found
    return found


def stamp(address: str) -> str | None:
    time.sleep(0.1)
    with UnitOfWork(open_store(address), read_only=True) as work:
        return work.repairs.stamp(work.changes.at)


@pytest.mark.parametrize("change", CHANGES)
def test_a_plain_change_is_noticed_and_nothing_else(filled_address: str, change: str) -> None:
    before, stamped = digests(filled_address), stamp(filled_address)
    assert digests(filled_address) == before
    assert stamped is not None
    # A server counts work of its own now and then: of some pairs one must be alike.
    assert any(stamp(filled_address) == stamp(filled_address) for _ in range(20))
    with create_engine(url_of(filled_address), poolclass=NullPool).begin() as connection:
        assert connection.execute(text(change)).rowcount
    assert differ(before, digests(filled_address), [])
    assert stamp(filled_address) != stamped


def test_what_was_just_written_has_no_stamp_yet(small_store: str) -> None:
    os.utime(small_store, times=(soon := time.time() + 1, soon))
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        assert work.repairs.stamp(work.changes.at) is None


@given(st.dictionaries(st.integers(0, 9), st.text(max_size=2)), st.sets(st.integers(0, 9)))
def test_only_blocks_without_a_told_change_tell_of_another(
    blocks: dict[int, str], changed: set[int]
) -> None:
    before = {f"jobs {block}": told for block, told in blocks.items()}
    now = {key: f"{told}x" if int(key[5:]) in changed else told for key, told in before.items()}
    other = {block for block in changed if block in blocks}
    numbers = [block * BLOCK + 7 for block in other]
    assert not differ(before, now, numbers)
    assert differ(before, now, numbers[1:]) == bool(numbers)
