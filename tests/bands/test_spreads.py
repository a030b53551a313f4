"""Good and bad readings of an item side by side."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from kb.bands.limits import trade_limits
from kb.bands.spreads import ReadingSpread, spreads
from kb.case import Cause, FailureMode, Job, Reading, Vehicle
from kb.settings import ReadingSettings
from tests.bands.circuits import KIRI, LIDO, WORDS, reading

DAY = date(2026, 3, 2)


def job(number: int, *readings: Reading, vehicle: Vehicle = LIDO) -> Job:
    return Job(
        number=number,
        vehicle=vehicle,
        opened=DAY,
        closed=DAY,
        complaint="lamp on",
        cause=Cause(component="connector", failure_mode=FailureMode.WORN),
        readings=readings,
    )


def taken(values: list[float], *, good: bool, item: str, vehicle: Vehicle = LIDO) -> list[Job]:
    return [
        job(place, reading(value, item=item, proved_good=good), vehicle=vehicle)
        for place, value in enumerate(values, start=1)
    ]


def drawn(jobs: list[Job], most: int = 9) -> tuple[ReadingSpread, ...]:
    return spreads(jobs, WORDS, ReadingSettings(), trade_limits(), most)


GOOD = [2.2, 2.1, 2.3, 2.2, 2.4, 2.2]


def test_bad_ones_are_told_with_those_that_the_band_does_not_tell() -> None:
    jobs = taken(GOOD, good=True, item="mat") + taken([6.1, 2.2], good=False, item="mat")
    (found,) = drawn(jobs)
    assert [each.value for each in found.good] == GOOD
    assert [(each.value, each.job) for each in found.bad] == [(6.1, 1), (2.2, 2)]
    assert found.bad_inside == 1
    assert found.make is None


def test_an_igniter_circuit_speaks_for_its_make_alone() -> None:
    item = "pretensioner circuit"
    jobs = taken(GOOD, good=True, item=item) + taken([6.1], good=False, item=item)
    kiri = taken([1.0] * 4, good=True, item=item, vehicle=KIRI)
    (found,) = drawn(jobs + kiri)
    assert found.make == LIDO.make
    assert [each.value for each in found.good] == GOOD


def test_without_a_band_or_a_bad_one_nothing_is_drawn() -> None:
    assert not drawn(taken(GOOD, good=True, item="mat"))
    assert not drawn(taken(GOOD[:2], good=True, item="mat") + taken([9], good=False, item="mat"))
    untold = [job(1, reading(9.0, item="mat"))]
    assert not drawn(taken(GOOD, good=True, item="mat") + untold)


@given(st.lists(st.floats(0.1, 1e4), max_size=6), st.integers(0, 3))
def test_every_bad_one_is_kept_and_most_bad_ones_come_first(bad: list[float], most: int) -> None:
    jobs = [
        *taken(GOOD, good=True, item="mat"),
        *taken(bad, good=False, item="mat"),
        *taken(GOOD, good=True, item="horn"),
        *taken([9.0, 9.0], good=False, item="horn"),
    ]
    found = drawn(jobs, most)
    assert len(found) == min(most, 1 + bool(bad))
    counts = [len(each.bad) for each in found]
    assert counts == sorted([len(bad), 2], reverse=True)[: len(found)]
    assert all(0 <= each.bad_inside <= len(each.bad) for each in found)
