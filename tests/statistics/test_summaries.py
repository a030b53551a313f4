"""One value for many."""

from statistics import median

from hypothesis import given
from hypothesis import strategies as st

from kb.statistics.summaries import known_median, usual


def test_the_usual_text_is_the_most_frequent_and_of_equals_the_first() -> None:
    assert usual(["a", "b", None, "b", ""]) == "b"
    assert usual(["b", "a", "a", "b"]) == "b"
    assert usual([None, ""]) is None


@given(st.lists(st.none() | st.floats(-1e6, 1e6)))
def test_the_median_leaves_out_what_is_not_known(values: list[float | None]) -> None:
    known = [value for value in values if value is not None]
    assert known_median(values) == (median(known) if known else None)
