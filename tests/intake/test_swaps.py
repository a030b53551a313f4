"""What a part changed with its like showed; common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.swaps import swapped_part, told_by_swap


@pytest.mark.parametrize(
    ("name", "seen", "points_to", "clears"),
    [
        ("swapped coils 4 and 1", "misfire stays on 4", (), ("coil",)),
        ("swapped coil 3 to 1", "misfire moved to 1", ("coil",), ()),
        ("relay swapped with horn relay", "no change", (), ("relay",)),
        ("wheels swapped side to side", "pull stays left", (), ("wheel",)),
        ("swapped injectors 1 and 2", "knock followed to 2", ("injector",), ()),
        ("swapped LF and RF wheel speed sensors", "fault stays on LF", (), ("wheel speed sensor",)),
        ("coils 2 and 3 swapped", "misfire did not follow", (), ("coil",)),
        ("swapped coil 3 to 1", "misfire gone", (), ()),
        ("swapped coils", "moved, or still the same?", (), ()),
        ("compression test", "stays at 12 bar", (), ()),
        ("looked at the coils", "same as before", (), ()),
    ],
)
def test_the_part_goes_with_the_fault_or_is_cleared(
    name: str, seen: str, points_to: tuple[str, ...], clears: tuple[str, ...]
) -> None:
    assert told_by_swap(name, seen) == (points_to, clears)


@given(st.text(), st.text())
def test_never_both_is_told(name: str, seen: str) -> None:
    points_to, clears = told_by_swap(name, seen)
    assert not (points_to and clears)


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("swapped coil 3 with coil 1", "coil"),
        ("relay swapped with the horn's", "relay"),
        ("load test", None),
        ("smoke test at the intake", None),
    ],
)
def test_the_part_that_was_swapped_is_known_by_the_name_alone(name: str, part: str | None) -> None:
    assert swapped_part(name) == part
