"""Scanning a store."""

from datetime import date

import pytest

from kb.errors import KbError, Notice
from kb.services.scan import scan
from kb.settings import Settings


def test_the_demonstration_shop_gives_away_its_clusters_and_not_the_decoys(
    demo_store: str,
) -> None:
    found = scan(demo_store, Settings())
    facts = {(each.group, each.component) for each in found.patterns}
    assert {("Corvane Lido", "seat connector"), ("Sunato Kiri", "seat connector")} <= facts
    assert ("Corvane Tessel", "seat connector") not in facts  # one car, four visits
    assert len(facts) == len(found.patterns) <= 8


def test_the_growing_cluster_is_seen_to_grow(demo_store: str) -> None:
    trends = {
        each.group: each.trend
        for each in scan(demo_store, Settings(), system="restraints").patterns
    }
    assert trends["Corvane Lido"] == "rising"


def test_since_and_system_narrow_the_scan(demo_store: str) -> None:
    whole = scan(demo_store, Settings())
    late = scan(demo_store, Settings(), since=date(2024, 1, 1))
    assert late.since is not None
    assert late.since >= date(2024, 1, 1)
    assert late.cases < whole.cases
    charging = scan(demo_store, Settings(), system="charging and starting").patterns
    assert {each.component for each in charging} == {"battery cable", "battery"}


def test_an_empty_store_says_so(empty_store: str) -> None:
    found = scan(empty_store, Settings())
    assert found.patterns == ()
    assert found.notices == (Notice.NO_CASES,)


def test_few_cases_are_called_few(small_store: str) -> None:
    assert scan(small_store, Settings()).notices == (Notice.FEW_TO_COMPARE,)


def test_progress_counts_up_to_all(small_store: str) -> None:
    seen: list[tuple[int, int]] = []
    scan(small_store, Settings(), progress=lambda done, total: seen.append((done, total)))
    assert seen[-1] == (len(seen), len(seen))


def test_an_unknown_system_is_refused(small_store: str) -> None:
    with pytest.raises(KbError, match="must be one of"):
        scan(small_store, Settings(), system="zzz")
