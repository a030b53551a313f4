"""Causes told anew, and by the names the program prints."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, FailureMode, even
from kb.intake.causes import near_causes, read_cause
from kb.intake.wording import Wording

NAMES = st.text(alphabet="ab AB:,()-é", min_size=1, max_size=8).filter(str.strip)
CAUSES = st.builds(
    Cause,
    component=NAMES,
    location=st.none() | NAMES,
    failure_mode=st.sampled_from(FailureMode),
)
REGULATOR = Cause(
    component="window regulator", location="front door", failure_mode=FailureMode.MECHANICAL_DAMAGE
)
HARNESS = Cause(component="door harness", location="A pillar", failure_mode=FailureMode.OPEN)


@given(st.lists(CAUSES, min_size=1, max_size=4))
def test_a_cause_is_read_back_from_the_name_it_is_printed_by(known: list[Cause]) -> None:
    for cause in known:
        found = read_cause(cause.label, known)
        assert found in known
        assert even(found.label) == even(cause.label)


@pytest.mark.parametrize("cause", [REGULATOR, HARNESS])
def test_words_of_position_in_a_name_of_the_shop_stay_in_it(cause: Cause) -> None:
    known = [REGULATOR, HARNESS]
    assert read_cause(cause.label.upper(), known) == cause
    beside = read_cause(f"{cause.label} (left front)", known)
    assert (beside.key, beside.position) == (cause.key, "left front")
    assert read_cause(f"{cause.label} (by hand)", known).key != cause.key  # no position


@pytest.mark.parametrize(
    ("told", "mode"),
    [
        ("fan motor, open circuit", FailureMode.OPEN),
        ("fan motor open-circuit", FailureMode.OPEN),
        ("fan motor, no continuity", FailureMode.OPEN),
        ("fan motor, worn out", FailureMode.WORN),
    ],
)
def test_the_words_for_how_it_failed_leave_no_place_behind(told: str, mode: FailureMode) -> None:
    cause = read_cause(told)
    assert (cause.component, cause.location, cause.failure_mode) == ("fan motor", None, mode)


def test_any_other_cause_is_read_by_its_words() -> None:
    told = read_cause("seat plug under LF seat, open", [REGULATOR])
    assert (told.component, told.location, told.position) == (
        "seat plug",
        "under seat",
        "left front",
    )


@pytest.mark.parametrize(
    ("known", "told"),
    [
        ("startr, engine, worn", "starter motor, engine, worn"),
        ("startr, engine, worn", "starter motor, engine bay, worn"),
        ("startr, engine, worn", "starter, engine, worn"),
        ("startr, engine, worn", "starter, worn"),
        ("starter motor, engine bay, worn", "starter, engine, worn"),
        ("starter motor, engine bay, worn", "startr, engine, worn"),
        ("starter motor, engine, worn", "startr, engine bay, worn"),
    ],
)
def test_a_near_cause_is_found_past_a_slip_and_a_wider_place(known: str, told: str) -> None:
    shop = read_cause(known)
    assert near_causes(read_cause(told), [(shop, 1)], Wording.default()) == [(shop, 1)]


def test_another_part_at_the_same_place_is_not_near() -> None:
    shop = read_cause("alternator, engine, worn")
    assert near_causes(read_cause("starter, engine, worn"), [(shop, 1)], Wording.default()) == []
