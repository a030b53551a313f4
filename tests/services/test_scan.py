"""Scanning a store."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from uuid import uuid4

import pytest

from kb.case import System
from kb.errors import InvalidField, KbError, Notice
from kb.recurrence.pattern import AlertLevel
from kb.reports.recurring import unsure
from kb.services.scan import Scan, scan
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.store_copies import copied

TODAY = date(2026, 11, 1)


@pytest.fixture(scope="module")
def demo_scan(demo_store: str) -> Scan:
    return scan(demo_store, Settings(), today=TODAY)


def test_the_demonstration_shop_gives_away_its_clusters(demo_scan: Scan) -> None:
    named = {
        (each.pattern.group, each.pattern.component): each.pattern.level for each in demo_scan.facts
    }
    assert named["Corvane Lido", "seat connector"] is AlertLevel.ACT
    assert named["Sunato Kiri", "seat connector"] is AlertLevel.ACT
    assert ("Corvane Tessel", "seat connector") not in named  # one car, four visits
    assert len(named) == len(demo_scan.facts)


def test_what_is_built_on_one_model_only_stands_apart(demo_scan: Scan) -> None:
    """The decoys: cables under a seat, a harness in a pillar; parts that no other model has."""
    apart = {e.pattern.component for e in demo_scan.facts if e.pattern.level is AlertLevel.APART}
    assert "battery cable" in apart
    for each in (fact.pattern for fact in demo_scan.facts):
        if each.level is AlertLevel.APART:
            assert each.only_here
            assert not each.wears
        assert not (each.only_here and each.level is AlertLevel.ACT)
        if each.level is not AlertLevel.WATCH:
            assert each.at_least >= Settings().recurrence.least_ratio


def test_a_window_of_ones_own_names_both_models_of_the_cluster(demo_store: str) -> None:
    late = scan(demo_store, Settings(), today=TODAY, since=date(2025, 1, 1))
    assert late.since is not None
    assert late.since >= date(2025, 1, 1)
    assert [each.pattern.group for each in late.facts] == ["Corvane Lido", "Sunato Kiri"]
    early = scan(demo_store, Settings(), today=TODAY, until=date(2023, 12, 31))
    assert early.until is not None
    assert early.until <= date(2023, 12, 31)
    assert len(early.windows) == len(late.windows) == 1


def test_the_last_two_years_come_first(demo_scan: Scan) -> None:
    recent, whole = demo_scan.windows
    assert (recent.until, whole.since) == (demo_scan.until, demo_scan.since)
    assert recent.since == date(2024, 10, 27)
    windows = [each.pattern.counts.window for each in demo_scan.facts]
    assert windows == sorted(windows, key=lambda window: window != recent)


def test_the_growing_cluster_is_seen_to_grow(demo_scan: Scan) -> None:
    (lido,) = (each.pattern for each in demo_scan.facts if each.pattern.group == "Corvane Lido")
    assert lido.change.trend == "growing"
    assert lido.change.about is None  # its interval would be most of the history


def test_a_remedy_is_drawn_from_the_facts_own_jobs(demo_scan: Scan) -> None:
    (kiri,) = (each for each in demo_scan.facts if each.pattern.group == "Sunato Kiri")
    assert kiri.pattern.counts.window.since == date(2024, 10, 27)
    # four cars' way of failing, though the other one's three came four times
    assert kiri.countermeasures.cause == "seat connector, under seat: high resistance"
    known = kiri.countermeasures
    assert [each.label for each in known.fixes] == [
        "replaced seat connector",
        "replaced seat connector terminals",
        "cleaned seat connector",
    ]
    assert (known.as_good, known.better_than) == (known.fixes[1].label, known.fixes[2].label)
    done = {each.what: each for each in known.here}
    assert done["replaced airbag control unit"].in_vain == 1  # job 1308
    assert done["reseated seat connector"].came_back == 1  # job 1318
    assert "cleaned seat connector" not in done  # done on Lidos, and on Kiris in the years before
    assert sum(each.in_vain for each in known.here) == 2
    assert (
        kiri.countermeasures.spared
        == kiri.pattern.counts.group_vehicles - kiri.pattern.counts.observed
    )
    assert kiri.countermeasures.said


def test_a_system_tells_its_own_faults_alone(demo_store: str) -> None:
    whole = scan(demo_store, Settings(), today=TODAY)
    charging = scan(demo_store, Settings(), today=TODAY, system="charging and starting")
    assert charging.system is System.CHARGING_STARTING
    assert charging.cases == whole.cases
    assert {each.pattern.component for each in charging.facts} <= {"battery cable", "battery"}


def test_an_empty_store_says_so(empty_store: str) -> None:
    found = scan(empty_store, Settings(), today=TODAY)
    assert not found.facts
    assert not found.windows
    assert found.notices == (Notice.NO_CASES,)


def test_few_cases_are_called_few(small_store: str) -> None:
    assert scan(small_store, Settings(), today=TODAY).notices == (Notice.FEW_TO_COMPARE,)


def test_a_day_to_come_moves_no_window(tmp_path: Path, demo_store: str) -> None:
    """One job whose year was mistyped."""
    store = copied(demo_store, tmp_path)
    with UnitOfWork(open_store(store)) as work:
        job = next(job for job in work.jobs.all() if job.is_case)
        late = replace(
            job, opened=date(2036, 3, 1), closed=date(2036, 3, 1), number=None, uid=uuid4().hex
        )
        work.jobs.add(late)
        work.commit()
    plain, odd = (scan(each, Settings(), today=TODAY) for each in (demo_store, store))
    assert (plain.to_come, odd.to_come) == (0, 1)
    assert [each.pattern for each in odd.facts] == [each.pattern for each in plain.facts]
    assert odd.windows == plain.windows
    assert any("a day to come" in line for line in unsure(odd))


def test_progress_counts_up_to_all(small_store: str) -> None:
    seen: list[tuple[int, int]] = []
    scan(
        small_store,
        Settings(),
        today=TODAY,
        progress=lambda done, total: seen.append((done, total)),
    )
    assert seen[-1] == (len(seen), len(seen))


def test_an_unknown_system_is_refused(small_store: str) -> None:
    with pytest.raises(KbError, match="must be one of"):
        scan(small_store, Settings(), today=TODAY, system="zzz")


def test_days_in_the_wrong_order_are_refused(small_store: str) -> None:
    with pytest.raises(InvalidField, match="lies before"):
        scan(small_store, Settings(), today=TODAY, since=date(2025, 1, 1), until=date(2024, 1, 1))
