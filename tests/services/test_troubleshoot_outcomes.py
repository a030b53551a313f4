"""What was seen, in a technician's own words, is taken for an outcome where it can be but one."""

from dataclasses import replace

import pytest

from kb.case import Vehicle
from kb.errors import InvalidField
from kb.intake.wording import Wording
from kb.services.troubleshoot_outcomes import branch_meant
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.steps import Branch, Step, StepReason


def branch(seen: str, *points_to: str) -> Branch:
    return Branch(seen=seen, chance=0.3, leaves=(), then=None, points_to=points_to)


PARTS = ("earth strap", "starter cable", "battery cable")
DROP = Step(
    why=StepReason.TELLS,
    kind=Kind.TEST,
    title="voltage drop under load",
    how=None,
    minutes=15,
    minutes_known=0,
    minutes_left=100,
    locks=(),
    cautions=(),
    branches=(
        *(branch(f"voltage is lost at {part}", part) for part in PARTS),
        branch("next to nothing is lost on the way"),
    ),
)


def meant(saw: str) -> tuple[str, bool]:
    found, own = branch_meant(DROP, saw, 12, Vehicle(), Wording.default())
    return found.seen.removeprefix("voltage is lost at "), own


@pytest.mark.parametrize(
    ("saw", "part"),
    [
        ("engine block to battery negative 1.3 V cranking", "earth strap"),
        ("starter cable 1.1 V", "starter cable"),
        ("all of it along the ground strap", "earth strap"),
        ("it is the crimp of the battery cable", "battery cable"),
    ],
)
def test_own_words_that_name_a_part_or_a_reading_that_condemns_it_are_its_outcome(
    saw: str, part: str
) -> None:
    assert meant(saw) == (part, True)


@pytest.mark.parametrize(
    ("saw", "taken"),
    [
        ("nothing to see, cables clean and tight", True),
        ("all good", True),
        ("found nothing, 0.05 V everywhere", True),
        ("found nothing, measured 2.4 V", False),
        ("nothing wrong at the starter cable", False),
        ("nothing to see but the earth strap is green", False),
        ("nothing to see, maybe", False),
    ],
)
def test_that_nothing_was_found_is_the_outcome_that_finds_nothing(saw: str, taken: bool) -> None:
    if taken:
        assert meant(saw) == ("next to nothing is lost on the way", True)
    else:
        with pytest.raises(InvalidField):
            meant(saw)


def test_letters_and_words_of_an_outcome_are_no_own_words() -> None:
    assert meant("b") == ("starter cable", False)
    assert meant("next to nothing") == ("next to nothing is lost on the way", False)


@pytest.mark.parametrize(
    "saw",
    [
        "starter cable 0.05 V",
        "nothing at the starter cable",
        "starter cable ok",
        "starter cable or earth strap?",
        "starter cable and earth strap",
        "1.3 V",
        "smells of coffee",
        "",
    ],
)
def test_what_may_be_another_outcome_is_refused_and_told_how_to_be_kept(saw: str) -> None:
    with pytest.raises(InvalidField, match=r'must be one of: a .*kb job add 12 "voltage drop'):
        meant(saw)


@pytest.mark.parametrize(
    ("saw", "part"),
    [
        ("next to nothing lost on battery cable but 2.8 V on the earth strap", "earth strap"),
        ("battery cable 0.05 V, starter cable 1.1 V", "starter cable"),
    ],
)
def test_of_several_clauses_the_one_with_a_fault_tells(saw: str, part: str) -> None:
    assert meant(saw) == (part, True)


REPAIR = replace(
    DROP,
    kind=Kind.REPAIR,
    title="replaced earth strap",
    branches=(branch("it is cured"), branch("it is not")),
)


@pytest.mark.parametrize(
    ("saw", "seen"),
    [
        ("starts every time now", "it is cured"),
        ("still won't start", "it is not"),
        ("cured, cranks briskly", "it is cured"),
        ("not cured, cranks as before", "it is not"),
    ],
)
def test_what_a_fix_did_may_be_told_in_plain_words(saw: str, seen: str) -> None:
    assert branch_meant(REPAIR, saw, 12, Vehicle(), Wording.default())[0].seen == seen


@pytest.mark.parametrize("saw", ["pedal good", "horn works", "heater works now"])
def test_what_works_that_the_fix_is_not_about_is_no_cure(saw: str) -> None:
    coil = replace(REPAIR, title="replaced ignition coil")
    with pytest.raises(InvalidField, match="must be one of"):
        branch_meant(coil, saw, 12, Vehicle(), Wording.default())
    for title, told in (
        ("replaced ignition coil", "misfire gone"),
        ("replaced brake caliper", "pedal good"),
        ("replaced horn", "horn works"),
    ):
        done = replace(REPAIR, title=title)
        meant_by, _ = branch_meant(done, told, 12, Vehicle(), Wording.default())
        assert meant_by.seen == "it is cured"


@pytest.mark.parametrize("saw", ["should be fine", "cured, maybe", "cured? drive it first"])
def test_a_hope_is_no_cure(saw: str) -> None:
    with pytest.raises(InvalidField, match="must be one of"):
        branch_meant(REPAIR, saw, 12, Vehicle(), Wording.default())
