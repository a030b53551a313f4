"""What came back and was in vain, over a store."""

from datetime import date

import pytest

from kb.errors import InvalidField, Notice
from kb.services.comebacks import Comebacks, WorkKind, comebacks
from kb.settings import Settings


@pytest.mark.parametrize("kind", WorkKind)
def test_whatever_it_is_told_apart_by_all_of_it_is_the_same(
    demo_store: str, kind: WorkKind
) -> None:
    found = comebacks(demo_store, Settings(), kind=kind)
    assert found.whole is not None
    assert sum(each.came_back for each in found.rows) == found.whole.came_back
    assert sum(each.in_vain for each in found.rows) == found.whole.in_vain
    assert sum(each.minutes for each in found.rows) == found.whole.minutes
    assert sum(each.not_judged for each in found.rows) == found.whole.not_judged > 0
    assert {n for each in found.rows for n in each.to_judge} == set(found.whole.to_judge)


def test_cleaning_comes_back_and_renewing_holds(demo_store: str) -> None:
    found = comebacks(demo_store, Settings(), kind=WorkKind.ACTION)
    rows = {each.what: each for each in found.rows}
    cleaned, replaced = rows["cleaned"], rows["replaced"]
    assert cleaned.came_back / cleaned.cured > 5 * replaced.came_back / replaced.cured


def test_ones_own_work_is_a_part_of_all(demo_store: str) -> None:
    whole = comebacks(demo_store, Settings())
    people = ["bt", "MK", "JO", "SR"]
    parts = [comebacks(demo_store, Settings(), by=who) for who in people]
    assert all(part.by == who for part, who in zip(parts, people, strict=True))
    assert sum(part.cases for part in parts) == whole.cases


def test_days_narrow_what_is_counted(demo_store: str) -> None:
    found = comebacks(demo_store, Settings(), since=date(2025, 1, 1), until=date(2025, 6, 30))
    assert found.since is not None
    assert found.until is not None
    assert date(2025, 1, 1) <= found.since <= found.until <= date(2025, 6, 30)
    with pytest.raises(InvalidField, match=r"until: .2024-01-01. lies before"):
        comebacks(demo_store, Settings(), since=date(2025, 1, 1), until=date(2024, 1, 1))


def test_an_empty_store_says_so(empty_store: str) -> None:
    found = comebacks(empty_store, Settings())
    assert found == Comebacks(
        kind=WorkKind.FIX,
        by=None,
        since=None,
        until=None,
        cases=0,
        cautions=(),
        notices=(Notice.NO_CASES,),
        whole=None,
        rows=(),
        without_loss=0,
    )
