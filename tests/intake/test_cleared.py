"""A part that is said not to be at fault."""

from datetime import date

import pytest

from kb.intake.cleared import cleared_in
from kb.intake.findings import find_findings

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("clause", "part", "fine"),
    [
        ("it was not the coil connector", "coil connector", False),
        ("it wasn't the coil connector", "coil connector", False),
        ("not the starter", "starter", False),
        ("nothing wrong with the earth strap", "earth strap", False),
        ("ruled out the battery", "battery", False),
        ("coil connector ruled out", "coil connector", False),
        ("the coil is not it", "coil", False),
        ("battery is not to blame", "battery", False),
        ("coil connector is ok", "coil connector", True),
        ("earth strap tests good", "earth strap", True),
    ],
)
def test_a_clause_clears_a_part(clause: str, part: str, fine: bool) -> None:
    assert cleared_in(clause) == (part, fine)


@pytest.mark.parametrize(
    "clause",
    ["coil fine when cold", "was it not the coil?", "coil ok now and then", "coil dead", "not yet"],
)
def test_what_says_more_or_less_clears_nothing(clause: str) -> None:
    cleared = cleared_in(clause)
    assert cleared is None or cleared.part not in {"coil", "battery"}


def test_only_a_suspect_is_cleared_and_nothing_that_was_worked_on() -> None:
    def tests(line: str) -> list[tuple[str, ...]]:
        found = find_findings(line, TODAY, is_suspect=lambda told: told.part == "coil")
        return [each.clears for each in found.tests]

    assert tests("it was not the coil") == [("coil",)]
    assert tests("coil is fine") == [("coil",)]
    assert tests("it was not the weather") == []
    assert tests("replaced coil; coil ok") == []
    assert find_findings("it was not the coil", TODAY).tests == ()
