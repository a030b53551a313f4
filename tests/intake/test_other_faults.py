"""What was heard of another part of the car tells nothing of a fix."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Outcome
from kb.intake.other_faults import (
    is_complaint_again,
    is_of_another,
    may_be_complaint_again,
    of_this_fault,
    tells_another_function,
)
from kb.intake.outcomes import judge_contact
from kb.intake.wording import Wording

WORDING = Wording.default()
CLOCK_SPRING = ["airbag lamp on, horn dead when turning", "clock spring, steering column: open"]
BATTERY = ["flat after a night", "battery: internal fault", "replaced battery"]


@pytest.mark.parametrize(
    ("words", "told", "outcome"),
    [
        ("tyres good", CLOCK_SPRING, Outcome.NOT_TOLD),
        ("window fine", CLOCK_SPRING, Outcome.NOT_TOLD),
        ("radio works again", CLOCK_SPRING, Outcome.NOT_TOLD),
        ("all good, tyres worn", CLOCK_SPRING, Outcome.HELD),
        ("horn works now", CLOCK_SPRING, Outcome.HELD),
        ("still fine", CLOCK_SPRING, Outcome.HELD),
        ("airbag lamp out; LF window dead again", CLOCK_SPRING, Outcome.HELD),
        ("airbag fine, brakes squeal again", CLOCK_SPRING, Outcome.NOT_TOLD),
        ("here for wipers, not working", CLOCK_SPRING, Outcome.NOT_TOLD),
        ("oil lamp on", CLOCK_SPRING, Outcome.NOT_TOLD),
        ("in for tyres, lamp on again", CLOCK_SPRING, Outcome.COMEBACK),
        ("in for tyres, all fine", CLOCK_SPRING, Outcome.HELD),
        ("lamp comes on over bumps", CLOCK_SPRING, Outcome.COMEBACK),
        ("came back, same fault, brakes squeal too", CLOCK_SPRING, Outcome.COMEBACK),
        ("lamp on again", CLOCK_SPRING, Outcome.COMEBACK),
        ("horn dead again", CLOCK_SPRING, Outcome.COMEBACK),
        ("won't start again", BATTERY, Outcome.COMEBACK),
        ("no start this morning again", BATTERY, Outcome.COMEBACK),
    ],
)
def test_only_what_is_told_of_this_fault_counts(
    words: str, told: list[str], outcome: Outcome
) -> None:
    assert of_this_fault(words, told, WORDING)[0] is outcome


@given(st.text(max_size=120), st.lists(st.text(max_size=60), max_size=3))
def test_nothing_is_added_to_what_words_tell(words: str, told: list[str]) -> None:
    outcome, other = of_this_fault(words, told, WORDING)
    if other is None:
        assert outcome is judge_contact(words)
    assert not (judge_contact(words) is Outcome.HELD and outcome is Outcome.COMEBACK)


@given(st.sampled_from(["held", "still fine", "came back", "lamp on again"]), st.text(max_size=60))
def test_of_a_job_about_no_part_all_is_told(words: str, told: str) -> None:
    outcome, other = of_this_fault(words, [told], WORDING)
    assert (outcome, other) == (judge_contact(words), None)


@pytest.mark.parametrize(
    ("words", "complaint", "again"),
    [
        ("heater cold again after 10 days", "heater cold", True),
        ("Heizung wieder kalt", "Heizung kalt", True),
        ("heater warm again", "heater cold", False),
        ("heater not cold again", "heater cold", False),
        ("heater cold again?", "heater cold", False),
        ("again", "heater cold", False),
        ("heater cold", "heater cold", False),
    ],
)
def test_a_complaint_told_again(words: str, complaint: str, again: bool) -> None:
    assert is_complaint_again(words, complaint) is again


@pytest.mark.parametrize(
    ("words", "complaint", "may"),
    [
        ("zieht wieder", "Auto zieht nach rechts", True),
        ("lenkt nach links, zieht wieder", "zieht beim Bremsen", True),
        ("pulling again", "pulls right when braking", True),
        ("zieht wieder", "zieht nicht", False),
        ("starts again", "only starts warm", False),
        ("drives again", "pulls right when braking", False),
        ("working again", "heater cold", False),
        ("heats", "heater cold", False),
    ],
)
def test_what_was_complained_of_may_be_so_again(words: str, complaint: str, may: bool) -> None:
    assert may_be_complaint_again(words, complaint) is may


WINDOW = ["LF window dead", "window motor, front door: internal fault", "replaced window motor"]


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("RF window dead now, LF good", Outcome.NOT_TOLD),
        ("RF window dead now", Outcome.NOT_TOLD),
        ("LR window stopped working, front one is fine", Outcome.NOT_TOLD),
        ("LF window dead again", Outcome.COMEBACK),
        ("front window dead again", Outcome.COMEBACK),
        ("window dead again", Outcome.COMEBACK),
    ],
)
def test_the_same_part_at_another_place_is_another(words: str, outcome: Outcome) -> None:
    assert of_this_fault(words, WINDOW, WORDING)[0] is outcome


@pytest.mark.parametrize(
    ("words", "complaint", "fix", "another"),
    [
        ("horn still dead", "LF window dead, horn dead", "replaced window motor", True),
        ("window still dead", "LF window dead, horn dead", "replaced window motor", False),
        ("still dead", "LF window dead, horn dead", "replaced window motor", False),
        ("brakes still squeal", "no start", "replaced battery", True),
        ("cranks but no start", "no start, brake squeal", "replaced battery", False),
        ("no start again", "no start", "replaced battery", False),
        ("lamp back on", "misfire, engine lamp on", "replaced coil", False),
    ],
)
def test_trouble_behind_a_fix_may_be_of_another_fault(
    words: str, complaint: str, fix: str, another: bool
) -> None:
    assert is_of_another(words, [fix], complaint, WORDING) is another


FIXED = [
    ("airbag lamp on", "fuse 14 SRS blown, new one held"),
    ("heater cold", "thermostat new, cured"),
    ("no start, cranks", "pump renewed, starts, cured"),
    ("LF window dead", "motor new, works"),
]


@pytest.mark.parametrize(
    ("at", "words", "apart"),
    [
        (0, "horn does not work and cruise buttons dead, same spiral", True),
        (0, "wipers not working now", True),
        (0, "indicator stays on", True),
        (0, "horn dead", True),
        (0, "Hupe geht nicht", True),
        (1, "klaxon ne marche pas", True),
        (2, "left headlamp dead", True),
        (3, "central locking does not work", True),
        (3, "brakes squeal", True),
        (0, "airbag lamp on again", False),
        (0, "fuse 14 blown again", False),
        (0, "lamp back on", False),
        (0, "srs light on", False),
        (0, "horn dead and airbag lamp on again", False),
        (1, "heater cold again", False),
        (1, "no heat", False),
        (2, "does not start", False),
        (2, "cranks, no start, pump silent", False),
        (3, "window does not go up", False),
        (3, "same fault", False),
    ],
)
def test_trouble_of_another_function_is_none_of_the_fix(at: int, words: str, apart: bool) -> None:
    """Common practice, no source."""
    complaint, fix = FIXED[at]
    assert tells_another_function(words, [fix], complaint, WORDING) is apart
    if not apart:
        assert not is_of_another(words, [fix], complaint, WORDING)
