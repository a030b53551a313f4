"""Causes told anew, and by the names the program prints."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, FailureMode, even
from kb.intake.causes import read_cause

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


def test_any_other_cause_is_read_by_its_words() -> None:
    told = read_cause("seat plug under LF seat, open", [REGULATOR])
    assert (told.component, told.location, told.position) == (
        "seat plug",
        "under seat",
        "left front",
    )
