"""Own words mean the outcome that a technician means by them, or none; common practice, no source.

The findings were written in the short English of workshops, a fifth of the first eighty unclear
on purpose; of the last forty, asked once, 14 of 34 clear ones were understood and none wrongly.
"""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from kb.case import Cause, FailureMode, Vehicle
from kb.errors import InvalidField
from kb.intake.items import trade_wording
from kb.services.troubleshoot_outcomes import branch_meant, step_told
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.general_tests import GeneralOutcome, Leaves, general_tests
from kb.troubleshooting.named_parts import parts_named
from kb.troubleshooting.steps import Branch, Step, StepReason

TESTS = {each.name: each for each in general_tests().test}
with (Path(__file__).parent / "findings.csv").open(encoding="utf-8") as file:
    FINDINGS = list(csv.DictReader(file))
UNCLEAR = "unclear"
UNDERSTOOD = 0.8
"""Of the clear findings so many are to be understood; all others are asked about."""
_BLAMING = (Leaves.HERE, Leaves.HERE_OR_ITS_FEED)
_WORDS = {
    Leaves.ELSEWHERE: "elsewhere",
    Leaves.ANOTHER_PART: "another part",
    Leaves.BEFORE_HERE: "before",
    Leaves.FED_HERE: "fed",
    Leaves.FROM_HERE: "from",
}


def branches_of(outcome: GeneralOutcome, suspects: list[str]) -> list[tuple[Branch, str]]:
    blaming = outcome.leaves in _BLAMING
    return [
        (
            Branch(
                seen=outcome.seen.replace("{here}", suspect),
                chance=0.3,
                leaves=(),
                then=None,
                points_to=(suspect,) if blaming else (),
                clears=() if blaming else tuple(suspects),
            ),
            suspect if blaming else _WORDS[outcome.leaves],
        )
        for suspect in (suspects if blaming else suspects[:1])
    ]


def step_of(name: str, suspects: list[str]) -> tuple[Step, dict[str, str]]:
    """Return a step and what each of its outcomes means."""
    test = TESTS[name]
    found = [each for outcome in test.outcome for each in branches_of(outcome, suspects)]
    step = Step(
        why=StepReason.TELLS,
        kind=Kind.TEST,
        title=name if test.together else f"{name}, {suspects[0]}",
        how=None,
        minutes=15,
        minutes_known=0,
        minutes_left=100,
        locks=(),
        cautions=(),
        branches=tuple(branch for branch, _ in found),
    )
    return step, {branch.seen: means for branch, means in found}


def understood(finding: dict[str, str]) -> str:
    suspects = [each.strip() for each in finding["suspects"].split(";")]
    step, meanings = step_of(finding["test"], suspects)
    try:
        branch, _ = branch_meant(step, finding["saw"], 12, Vehicle(), trade_wording())
    except InvalidField:
        return UNCLEAR
    means = meanings[branch.seen]
    return "here" if finding["means"] == "here" and means in suspects else means


ASKED = [(each, understood(each)) for each in FINDINGS]


def test_no_finding_means_another_outcome_than_the_technicians() -> None:
    wrong = [(each, told) for each, told in ASKED if told not in {each["means"], UNCLEAR}]
    assert wrong == []
    assert sum(each["means"] == UNCLEAR for each in FINDINGS) > len(FINDINGS) / 4


def test_most_clear_findings_are_understood() -> None:
    clear = [told for each, told in ASKED if each["means"] != UNCLEAR]
    assert len(clear) > 100
    assert sum(told != UNCLEAR for told in clear) >= UNDERSTOOD * len(clear)


@pytest.mark.parametrize(
    ("names", "text", "parts", "another"),
    [
        (("boost hose, intercooler",), "intercooler pipes split", {0}, False),
        (("ignition coil 2", "ignition coil 3"), "coil 3 cracked", {1}, False),
        (("ignition coil 2", "ignition coil 3"), "coil cracked", {0, 1}, False),
        (("wheel bearing, left front", "wheel bearing, right front"), "RF bearing", {1}, False),
        (("crank sensor connector", "crank sensor"), "crank sensor plug green", {0}, False),
        (("water pump", "fuel pump"), "coolant pump weeps", {0}, False),
        (("windscreen seal",), "comes in at the windscreen", {0}, False),
        (("battery cable",), "battery dead flat", set(), True),
        (("coolant pump",), "wet above the pump", set(), False),
        (("coolant pump",), "pump pulley wobbles", set(), True),
    ],
)
def test_a_part_is_named_in_any_order_and_by_its_other_names(
    names: tuple[str, ...], text: str, parts: set[int], another: bool
) -> None:
    found = parts_named(names, text, trade_wording())
    assert (found.parts, found.another) == (frozenset(parts), another)


def test_where_a_suspect_sits_names_its_part() -> None:
    step, _ = step_of("smoke test", ["boost hose", "radiator hose"])
    first, *others = step.branches
    cause = Cause(component="boost hose", failure_mode=FailureMode.LEAKING, location="intercooler")
    placed = Branch(
        seen=first.seen,
        chance=first.chance,
        leaves=((cause, 0.9),),
        then=None,
        points_to=first.points_to,
    )

    with pytest.raises(InvalidField):
        branch_meant(step, "split in intercooler hose", 12, Vehicle(), trade_wording())
    step = replace(step, branches=(placed, *others))
    found, own = branch_meant(step, "split in intercooler hose", 12, Vehicle(), trade_wording())
    assert (found.points_to, own) == (("boost hose",), True)


STEPS = [
    step_of("pressure test", ["radiator", "water pump"])[0],
    step_of("turned by hand", ["alternator", "water pump"])[0],
    step_of("visual check", ["radiator", "water pump"])[0],
]


@pytest.mark.parametrize(
    ("text", "steps", "saw"),
    [
        ("alternator rough", [1], "alternator rough"),
        ("lost nothing in half an hour", [0], "lost nothing in half an hour"),
        ("wet around the pump", [0, 2], "wet around the pump"),
        ("3: radiator fins rotten", [2], "radiator fins rotten"),
        ("2 pump gritty", [1], "pump gritty"),
        ("visual check: bonnet jammed", [2], "bonnet jammed"),
        ("2 men needed for that", [], "2 men needed for that"),
        ("customer rang", [], "customer rang"),
    ],
)
def test_a_finding_is_of_the_steps_of_which_it_means_an_outcome(
    text: str, steps: list[int], saw: str
) -> None:
    told = step_told(STEPS, text, 12, Vehicle(), trade_wording())
    assert [STEPS.index(each) for each in told.steps] == steps
    assert told.saw == saw
