"""Who made a part: lifted where it is said plainly, and words otherwise.

The lines are our own; no source.
"""

from contextlib import suppress
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import InvalidField
from kb.intake.findings import find_findings
from kb.intake.part_makers import find_maker
from kb.intake.single_facts import parse_attempt

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("line", "component", "maker"),
    [
        ("fitted seat connector made by Norvik", "seat connector", "Norvik"),
        ("new seat connector, made by Norvik, cured", "seat connector", "Norvik"),
        ("new seat connector made by Norvik cured it", "seat connector", "Norvik"),
        ("replaced seat connector (maker Norvik), cured", "seat connector", "Norvik"),
        ("seat connector replaced, maker: Norvik", "seat connector", "Norvik"),
        ("new seat connector maker Norvik 34.50 eur 20 min", "seat connector", "Norvik"),
        ("new seat connector, maker norvik, cured", "seat connector", "norvik"),
        ("NEW SEAT CONNECTOR, MAKER NORVIK, CURED", "seat connector", "NORVIK"),
        ("new lamp made by Zelto Parts, no change", "lamp", "Zelto Parts"),
        ("fitted new lamp made by Norvik BT", "lamp", "Norvik"),
    ],
)
def test_a_maker_said_plainly_is_lifted_and_stays_in_the_words(
    line: str, component: str, maker: str
) -> None:
    (found,) = find_findings(line, TODAY).attempts
    for attempt in (parse_attempt(line), found):
        assert (attempt.component.casefold(), attempt.part_maker) == (component, maker)
        assert attempt.words is not None
        assert maker in attempt.words


@pytest.mark.parametrize("maker", ["", ", made by Norvik", " made by Norvik"])
@pytest.mark.parametrize(("told", "cured"), [(", cured", True), (", no change", False), ("", None)])
def test_how_a_fix_fared_is_judged_as_without_a_maker(
    maker: str, told: str, cured: bool | None
) -> None:
    assert parse_attempt(f"new seat connector{maker}{told}").cured is cured


def test_each_fix_of_a_line_has_its_own_maker() -> None:
    line = "new lamp made by Norvik, no change; new relay made by Zelto, cured; fuse renewed"
    told = [(each.component, each.part_maker) for each in find_findings(line, TODAY).attempts]
    assert told == [("lamp", "Norvik"), ("relay", "Zelto"), ("fuse", None)]


@pytest.mark.parametrize(
    "line",
    [
        "fitted Norvik seat connector",
        "new seat connector by Norvik",
        "new seat connector from Norvik",
        "cleaned seat connector made by Norvik",
        "cleaned seat connector, old one made by Norvik",
        "replaced seat connector made by Norvik",
        "replaced seat connector, the old one was made by Norvik",
        "replaced seat connector, made by Norvik, was corroded",
        "new seat connector, not made by Norvik",
        "new seat connector, made by Norvik or Zelto",
        "new seat connector, made by Norvik/Zelto",
        "new seat connector made by Norvik, the other made by Zelto",
        "new seat connector, made by Norvik?",
        "new seat connector, made by Norvik I think",
        "new seat connector, maker unknown",
        "new seat connector, maker not known",
        "new bracket made by hand",
        "new bracket made by us",
        "new bracket made by BT",
        "new bracket made by the customer",
        "new bracket made by customer.",
        "new pump to car maker Corvane spec",
        "new pump, maker recalls them",
        "new lamp and new relay, both made by Norvik",
    ],
)
def test_no_maker_is_guessed(line: str) -> None:
    told = [each.part_maker for each in find_findings(line, TODAY).attempts]
    with suppress(InvalidField):
        told.append(parse_attempt(line).part_maker)
    assert set(told) <= {None}


@given(st.text("Norvik ,;()./?madebymker", max_size=60), st.text("Nork ,;()", max_size=20))
def test_a_maker_stands_in_the_text(before: str, behind: str) -> None:
    text = f"{before} made by {behind}"
    found = find_maker(text)
    if found:
        assert found.name
        assert text[slice(*found.place)].endswith(found.name)
