"""Five times the text costs at most some five times the work, whatever stands in it."""

import time

import pytest

from kb.safety.igniter_steps import dangerous_step
from kb.safety.igniter_words import even
from tests.intake.test_growth import calls


@pytest.mark.parametrize("piece", ["+0 ", "cold, ", "é ", "squib ", "no ", "1 km ", "x; "])
def test_five_times_the_text_is_no_more_than_seven_and_a_half_times_the_work(piece: str) -> None:
    short, long = ((piece * size)[:size] for size in (800, 4_000))
    dangerous_step(f"{piece * 9} told", igniter_job=True)  # what is kept of it is no work again
    few = calls(lambda: dangerous_step(short, igniter_job=True))
    assert calls(lambda: dangerous_step(long, igniter_job=True)) <= 7.5 * few + 2_000


@pytest.mark.parametrize(
    "piece",
    ["held; ", "plug; squib; ", "held ", "plug squib ", "squib 12 v ", "supply 12 v unit ",
     "unit 12 v; ", "meter on bag ", "not held ", "was off and "],
)  # fmt: skip
def test_ten_times_the_line_is_no_more_than_fifteen_times_the_work(piece: str) -> None:
    short, long = ((piece * size)[:size] for size in (900, 9_000))
    dangerous_step(f"{piece * 9} told", igniter_job=True)
    few = calls(lambda: dangerous_step(short, igniter_job=True))
    assert calls(lambda: dangerous_step(long, igniter_job=True)) <= 15 * few + 2_000


def test_a_step_within_an_endless_clause_is_named() -> None:
    plain = "seat trim clip box shelf " * 40
    assert dangerous_step(f"{plain}ohmed the squib {plain}", igniter_job=True) is not None


@pytest.mark.parametrize("sign", ["9", "$1", "ж", "é", "aж"])
def test_a_long_run_of_signs_is_looked_at_once(sign: str) -> None:
    """Within a pattern nothing is counted; one that began at every sign anew took minutes."""
    before = time.process_time()
    even(sign * 60_000)
    assert time.process_time() - before < 5


def test_a_step_behind_forty_clauses_is_named() -> None:
    text = "lamp on, " * 60 + "ohmed the squib with the multimeter, " + "lamp on, " * 60
    assert dangerous_step(text, igniter_job=False) is not None
    assert dangerous_step("lamp on, " * 120, igniter_job=True) is None
