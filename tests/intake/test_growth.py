"""Ten times the text costs at most fifteen times the work, whatever stands in it.

Work is counted in calls, which do not depend on the machine; what single patterns cost is timed by
hand in tests/benchmarks/parsing.py.
"""

import time
from collections.abc import Callable
from cProfile import Profile
from datetime import date

import pytest

from kb.errors import InvalidField
from kb.intake.findings import find_findings
from kb.intake.reading_proposals import free_words
from kb.intake.reading_search import find_readings
from kb.intake.shoptalk import understand
from kb.intake.vehicle_list import parse_years

TODAY = date(2026, 11, 2)
SHAPES = """
1_ 07_00_ 0_ +0_ 1- 1_000_ 2014_ (( )_ P0 P0171_ P_0_1_7_1_ 12.4_v_ bat_12_v,_ not_ no_ok_ -_ /_ é_
->_ 1, 1. ohm_ 2_to_ x12_ 0x " a_ LF_ replaced_ cured_ ?_ 1k2_ @_ 1: 12:30_ 5/5/ km_ 100_km_ 12_min_
... but_ again_ ok_but_ came_back_ fixed_it_ plug_ok,_ after_2_days_ if_ he_says_ .
held;_ held_until_today;_ came_back;_ not_back;_ ok_14.02.2026;_ on_Monday_ok;_
"""


def calls(work: Callable[[], object]) -> int:
    """Count the calls that a piece of work makes, of functions in C too."""
    counting = Profile()
    counting.enable()
    try:
        work()
    finally:
        counting.disable()
    return sum(each.callcount for each in counting.getstats())


@pytest.mark.parametrize("shape", str.split(SHAPES))
@pytest.mark.parametrize(
    "read", [understand, lambda text: find_findings(text, TODAY)], ids=["question", "line"]
)
def test_ten_times_the_text_is_no_more_than_fifteen_times_the_work(
    read: Callable[[str], object], shape: str
) -> None:
    piece = shape.replace("_", " ")
    short, long = ((piece * size)[:size] for size in (100, 1_000))
    read(long)  # what is kept of the first time is no work of the second
    few = calls(lambda: read(short))
    assert calls(lambda: read(long)) <= 15 * few + 2_000


READINGS = """
battery_8.9_V_@_cranking,_ battery_8.9_V_cranking_ inner_pad_3_mm_rear_left,_ left_pad_3_mm,_
pads_left_3_mm_inner_7_mm_outer_RR,_ before_9.8_V_after_12.3_V,_ coil_1_2.1_k_coil_2_2.2_k,_
rail_300_bar_set_290_bar_actual,_ from_1.8_V_to_0.1_V_earth,_ at_idle_14.2_V_battery,_
"""


@pytest.mark.parametrize("shape", str.split(READINGS))
def test_ten_times_the_readings_are_no_more_than_fifteen_times_the_work(shape: str) -> None:
    piece = shape.replace("_", " ")
    find_readings(piece * 400)
    few = calls(lambda: find_readings(piece * 40))
    assert calls(lambda: find_readings(piece * 400)) <= 15 * few + 2_000


def test_a_long_word_is_parted_in_no_more_ways_than_one() -> None:
    before = time.process_time()  # a pattern that tries every four parts takes a minute
    assert free_words("positions" * 50 + "=x") is None
    assert free_words("positions" * 50 + " told") is not None
    assert time.process_time() - before < 5


@pytest.mark.parametrize("behind", [" ", "\t", "\n", " ,", ", ", " ;", "… ", "x\t"])
def test_what_stands_behind_a_fix_is_looked_at_once(behind: str) -> None:
    """Within a pattern nothing is counted; one that went over blanks again took ten times this."""
    line = "replaced plug" + (behind * 10_000)[:10_000] + "=x"
    before = time.process_time()
    find_findings(line, TODAY)
    assert time.process_time() - before < 5


def test_years_behind_many_blanks_are_read() -> None:
    blanks = " " * 10_000
    before = time.process_time()
    assert parse_years(f"{blanks}2011{blanks}-{blanks}2016{blanks}") == (2011, 2016)
    with pytest.raises(InvalidField):
        parse_years(f"{blanks}x")
    assert time.process_time() - before < 5


@pytest.mark.parametrize("piece", ["held; ", "came back; ", "held until today; ", "14.02. ok; "])
def test_of_many_contacts_no_one_looks_through_all_before_it(piece: str) -> None:
    """Neither is time in a pattern counted; looking at all of the line for each took 15 seconds."""
    line = (piece * 2_000)[:9_000]
    before = time.process_time()
    find_findings(line, TODAY)
    assert time.process_time() - before < 5


def test_a_day_alone_is_that_of_what_stands_behind_it() -> None:
    (told,) = find_findings("14.02.2026: held", TODAY).contacts
    assert told.on == date(2026, 2, 14)
