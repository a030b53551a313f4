"""How long work took, told among other words. Wordings: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.durations import find_labour
from tests.strategies import texts


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("45 min", 45),
        ("30mins diag", 30),
        ("1.5 hrs", 90),
        ("1h20", 80),
        ("labour 2h 10", 130),
        ("3,5 h", 210),
        ("spent an hour and a half chasing it", 90),
        ("worked two hours on it", 120),
        ("new relay, ten minutes", 10),
        ("new boot, 0.8 hr", 48),
        ("half an hour looking at it", 30),
        ("labour 40", 40),
        ("labour 45+30", 75),
        ("45+30 min", 75),
        ("1+1,5 h", 150),
    ],
)
def test_labour_is_read_as_people_write_it(text: str, minutes: int) -> None:
    ((labour, place),) = find_labour(text)
    assert labour.minutes == minutes
    assert text[slice(*place)].strip() != ""


@pytest.mark.parametrize(
    "text",
    [
        "ran 20 min then died",
        "labour 62+38 eur",
        "labour 62 eur",
        "pressure test 20mins tight",
        "battery disconnected 30 min",
        "clears after 2 mins",
        "waited 2 days",
        "had it 20 minutes",
        "water test 15m dry",
        "replaced lead, 40-50 min",
        "40 to 50 mins",
        "labour 1-2 h",
    ],
)
def test_other_times_are_no_labour(text: str) -> None:
    assert find_labour(text) == []


@given(
    st.integers(0, 99),
    st.integers(0, 59),
    st.sampled_from(["{}h{:02}", "{} h {:02}", "{}hrs {:02}"]),
)
def test_hours_and_minutes_add_up(hours: int, minutes: int, form: str) -> None:
    ((labour, _),) = find_labour(form.format(hours, minutes))
    assert labour.minutes == 60 * hours + minutes


@given(texts())
def test_places_are_of_the_text_and_in_order(text: str) -> None:
    places = [place for _, place in find_labour(text)]
    assert places == sorted(places)
    assert all(0 <= start < end <= len(text) for start, end in places)


def test_a_time_with_who_did_it_behind_is_of_the_work() -> None:
    (found,) = find_labour("drove home after, trims +2 fault gone 50min MK")
    assert found[0].minutes == 50
    assert not find_labour("trims +2 held 50min MK")
