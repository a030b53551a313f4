"""A diesel is offered nothing that lights petrol."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Complaint, FailureMode, Placed, TroubleCode, Vehicle
from kb.diagnosis.causes import CauseChance, Ranking
from kb.diagnosis.fuel import is_diesel, of_this_engine

PARTS = ("ignition coil", "glow plug", "spark plug", "injector", "plug lead", "glow plug lead")
CASES = [Placed(n, None, part, FailureMode.OPEN) for n, part in enumerate(PARTS)]


def ranking(chances: list[float]) -> Ranking:
    total = sum(chances) + 1
    causes = tuple(
        CauseChance(cause=n, chance=each / total, jobs=(n,), example=n, by_jobs=each / total)
        for n, each in enumerate(chances)
    )
    return Ranking(causes=causes, not_seen_before=1 / total)


@pytest.mark.parametrize(
    ("text", "diesel"),
    [
        ("2.0 diesel misfires cold", True),
        ("hard start, glow plugs 2 and 4 open", True),
        ("Glühkerze 3 ohne Durchgang, springt schlecht an", True),
        ("bougie de préchauffage HS", True),
        ("świeca żarowa uszkodzona", True),
        ("put diesel in a petrol car", False),
        ("filled up with diesel, won't start", False),
        ("misfire, spark plugs new", False),
        ("no crank", False),
    ],
)
def test_words_tell_of_a_diesel(text: str, diesel: bool) -> None:
    assert is_diesel(Complaint(text=text)) is diesel


def test_engine_and_codes_tell_of_a_diesel() -> None:
    assert is_diesel(Complaint(text="misfire", vehicle=Vehicle(engine="2.0 diesel")))
    assert is_diesel(Complaint(text="lamp on", codes=(TroubleCode(code="P0671"),)))
    assert not is_diesel(Complaint(text="lamp on", codes=(TroubleCode(code="P0301"),)))


@given(st.lists(st.floats(0.01, 5), min_size=len(PARTS), max_size=len(PARTS)))
def test_chances_sum_to_one_without_what_sparks(chances: list[float]) -> None:
    asked = ranking(chances)
    found = of_this_engine(asked, Complaint(text="diesel, rough when cold"), CASES)
    assert [PARTS[each.cause] for each in found.causes] == [
        "glow plug",
        "injector",
        "glow plug lead",
    ]
    assert sum(each.chance for each in found.causes) + found.not_seen_before == pytest.approx(1)
    assert of_this_engine(asked, Complaint(text="rough when cold"), CASES) == asked
