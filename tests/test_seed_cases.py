"""The demonstration shop is a general workshop: its shares, its days, its words and its life.

Shares, delays and what belongs to a restraint job: common practice, no source.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import pairwise

import pytest

from kb.case import Action, Contact, Job, Outcome, System
from kb.intake.code_areas import FAILURE_TYPES, Origin, area_of, origin_of
from kb.intake.values import parse_value
from kb.services.demo import seed_files
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

SHARES = {
    System.BRAKES_WHEEL_SPEED: (11, 16),
    System.STEERING_SUSPENSION: (11, 16),
    System.BODY_ELECTRICS: (8, 12),
    System.RESTRAINTS: (8, 10.5),
    System.FUEL_MIXTURE: (7, 11),
    System.CHARGING_STARTING: (7, 11),
    System.ENGINE_MECHANICAL: (6, 10),
    System.TRANSMISSION: (4, 7),
    System.EXHAUST: (4.5, 7.5),
    System.COOLING: (4, 7),
    System.CLIMATE: (3.5, 6),
    System.IGNITION: (3.5, 6),
    System.HIGH_VOLTAGE: (2, 4),
    System.OTHER: (0.5, 2),
}
"""Of a hundred jobs, at least and at most."""
BENCH, RAMPS = range(1001, 2001), range(2001, 3001)
"""Numbers of the two books: the diagnosis bench's, and the general ramps'."""
SATURDAY = 5
SEEN_BY_ANYBODY = {"door lock", "tyre", "bulb", "wiper blade", "wiper"}
"""Parts that a customer may name, although they were the cause."""
POINTS = {
    "seat moved": r"seat (was )?(moved|slid|still|run|fully|end to end|fwd|forward|back)",
    "supply off and waited": r"(batt\w*|12 v|supply) off.{0,30}wait",
    "things under the seat": r"(torch|lamp).{0,25}under|under the seat.{0,30}(tin|stick|shoes)",
    "connector looked at": r"(plug|pins?|housing).{0,40}(green|dull|black|brown|water|home|dry)",
    "wiring followed from the seat to the belt": r"wiring followed from the seat to the belt",
    "drag test": r"drag.?test|no drag",
    "substitute load": r"substitute load",
    "no meter on the igniter": r"no meter on the igniter",
    "dried": r"\bdried\b",
    "content read before the code was cleared": r"read before the code was cleared",
    "moved through its travel": r"whole travel|through its travel|end to end|both (ends|stops)",
    "may not last": r"may not last|may fur up|lasting way",
}
"""What belongs to a restraint job, by words that tell it; the code's type and asking afterwards
are facts of their own."""


@pytest.fixture(scope="module")
def jobs(demo_store: str) -> list[Job]:
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        return list(work.jobs.all())


def by_number(jobs: list[Job]) -> dict[int, Job]:
    return {job.number: job for job in jobs if job.number is not None}


def words_of(job: Job) -> str:
    said = [f"{test.name}: {test.seen}" for test in job.tests]
    said += [f"{a.words} {a.verified}" for a in job.attempts]
    said += [reading.condition or "" for reading in job.readings]
    return " | ".join((*said, job.notes or "", job.complaint, job.proved_by or "")).casefold()


def comebacks(jobs: list[Job]) -> Iterator[tuple[Job, Contact, int]]:
    """Jobs that came back, with the days from the handover to when that was heard."""
    for job in jobs:
        for contact in job.contacts:
            if contact.outcome is Outcome.COMEBACK and job.closed and job.attempts:
                yield job, contact, (contact.on - job.closed).days


def test_every_job_of_every_file_is_in_the_store(jobs: list[Job]) -> None:
    written = sum(file.read_text(encoding="utf-8").count("[[job]]\n") for file in seed_files())
    assert len(jobs) == written >= 900


def test_the_work_of_a_general_workshop_in_its_shares(jobs: list[Job]) -> None:
    count = Counter(job.system for job in jobs)
    shares = {system: 100 * count[system] / len(jobs) for system in System}
    amiss = {
        system.value: round(shares[system], 1)
        for system, (least, most) in SHARES.items()
        if not least <= shares[system] <= most
    }
    assert amiss == {}
    assert set(SHARES) == set(System)


def test_cars_come_on_all_working_days(jobs: list[Job]) -> None:
    days = Counter(job.opened.weekday() for job in jobs)
    assert all(0.14 <= days[day] / len(jobs) <= 0.26 for day in range(SATURDAY))
    assert 0 < days[SATURDAY] / len(jobs) < 0.05
    closed = {job.closed.weekday() for job in jobs if job.closed}
    assert max(closed | set(days)) == SATURDAY


@pytest.mark.parametrize("book", [BENCH, RAMPS])
def test_each_book_is_numbered_by_date(jobs: list[Job], book: range) -> None:
    inside = sorted((job.number, job.opened) for job in jobs if job.number in book)
    assert len(inside) > 300
    assert all(one[1] <= other[1] for one, other in pairwise(inside))
    assert all(job.number in BENCH or job.number in RAMPS for job in jobs)


def test_most_causes_are_seen_once_or_twice(jobs: list[Job]) -> None:
    causes = Counter(job.cause.key for job in jobs if job.cause)
    assert sum(count <= 2 for count in causes.values()) >= 0.45 * len(causes)


def test_a_contact_only_cleaned_comes_back_within_weeks_or_much_later(jobs: list[Job]) -> None:
    contacts = ("connector", "terminal", "contact", "plug")
    days = [
        day
        for job, _, day in comebacks(jobs)
        if job.attempts[-1].action in {Action.CLEANED, Action.RESEATED}
        and any(word in job.attempts[-1].component for word in contacts)
    ]
    assert len(days) >= 12
    assert sum(7 <= day <= 84 for day in days) >= 2 / 3 * len(days)
    assert max(days) > 180


def test_a_wrong_diagnosis_comes_back_within_days_or_few_weeks(jobs: list[Job]) -> None:
    numbered = by_number(jobs)
    days = []
    for job, contact, day in comebacks(jobs):
        later = numbered[contact.job] if contact.job else None
        if later and later.cause and (job.cause is None or job.cause.key != later.cause.key):
            other = job.cause is None or job.cause.component != later.cause.component
            days += [day] if other else []
    assert len(days) >= 12
    assert sum(day <= 21 for day in days) >= len(days) / 2


def test_later_signs_of_life_come_at_all_distances(jobs: list[Job]) -> None:
    days = [(c.on - job.closed).days for job in jobs if job.closed for c in job.contacts]
    for least, most in ((0, 30), (30, 90), (90, 180), (180, 365), (365, 730), (730, 2000)):
        assert sum(least <= day < most for day in days) >= 3, (least, most)


def test_many_cars_are_never_heard_of_and_some_have_no_tag(jobs: list[Job]) -> None:
    cases = [job for job in jobs if job.is_case]
    assert sum(not job.contacts for job in cases) >= 0.35 * len(cases)
    assert any(job.vehicle.ref is None for job in jobs)


def test_one_records_more_than_the_others_and_one_model_is_popular(jobs: list[Job]) -> None:
    (_, first), (_, second), *_ = Counter(job.technician for job in jobs).most_common()
    assert first > 1.2 * second
    (_, popular), (_, next_one), *_ = Counter(job.vehicle.model for job in jobs).most_common()
    assert popular > 1.4 * next_one


def test_a_car_stays_the_same_and_its_odometer_only_rises(jobs: list[Job]) -> None:
    cars = defaultdict(list)
    for job in jobs:
        if job.vehicle.ref:
            cars[job.vehicle.ref].append(job)
    for ref, visits in cars.items():
        assert len({job.vehicle for job in visits}) == 1, ref
        told = [(job.opened, job.odometer_km) for job in visits]
        told += [(c.on, c.odometer_km) for job in visits for c in job.contacts]
        known = sorted((day, km) for day, km in told if km is not None)
        assert [km for _, km in known] == sorted(km for _, km in known), ref


@pytest.mark.parametrize("point", POINTS)
def test_each_point_of_a_restraint_job_is_shown(jobs: list[Job], point: str) -> None:
    restraints = [job for job in jobs if job.system is System.RESTRAINTS]
    showing = [job.number for job in restraints if re.search(POINTS[point], words_of(job))]
    assert len(showing) >= 2, point


def test_restraint_codes_have_types_and_cars_are_asked_after(jobs: list[Job]) -> None:
    restraints = [job for job in jobs if job.system is System.RESTRAINTS]
    assert sum(any(code.failure_type for code in job.codes) for job in restraints) >= 2
    asked = {Outcome.HELD, Outcome.COMEBACK}
    assert sum(any(c.outcome in asked for c in job.contacts) for job in restraints) >= 2


def test_no_complaint_names_the_part_that_was_the_cause(jobs: list[Job]) -> None:
    told = [
        (job.number, job.complaint)
        for job in jobs
        if job.cause and job.cause.component not in SEEN_BY_ANYBODY
        if re.search(
            rf"\b{re.escape(job.cause.component.casefold().removesuffix('s'))}s?\b",
            job.complaint.casefold(),
        )
    ]
    assert told == []


def test_codes_and_values_are_those_of_the_tables(jobs: list[Job]) -> None:
    for job in jobs:
        for code in job.codes:
            assert code.failure_type is None or code.failure_type in FAILURE_TYPES, job.number
            standard = origin_of(code.code) is Origin.STANDARD
            assert not standard or area_of(code.code) is not None, (job.number, code.code)
        for reading in job.readings:
            value = parse_value(reading.typed, reading.quantity)
            assert (value.quantity, value.value) == (reading.quantity, reading.value), job.number


def test_a_scan_tool_shows_a_ceiling_and_never_over_range(jobs: list[Job]) -> None:
    shown = [
        job.number
        for job in jobs
        for reading in job.readings
        if reading.value is None and "scan tool" in (reading.method or "")
    ]
    assert shown == []
