"""What of a job is named as dangerous, and how."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import DiagnosticTest, EntryKind, Job, JobEntry, System
from kb.safety.job_dangers import danger_line, dangers_of, was_done
from tests.safety.test_job_words import job

DEEDS = {
    "left a 2 ohm resistor in the side airbag plug": "hides a fault",
    "fired the old airbag in the yard": "never fired in a shop",
    "carried the bag by its wires": "pull out of their crimps",
    "soldered the yellow wire": "a joint in an igniter's wires",
    "put test lamp across the squib": "sends current through an igniter",
}
"""A deed, and what is to be said of it; common practice, no source."""


def typed(text: str) -> Job:
    """Return a restraint job on which a line was typed."""
    line = JobEntry(kind=EntryKind.LINE, text=text)
    return job(1, "plug", system=System.RESTRAINTS, cause=None, proved_by=None, entries=(line,))


def test_only_what_is_new_is_named_and_a_value_alone_is_no_step() -> None:
    lamp = DiagnosticTest(name="test lamp across squib", seen="lit")
    before = job(1, "plug", tests=(lamp,))
    after = replace(before, notes="9 V battery across the bag", proved_by="2.3 at the plug")
    (danger,) = dangers_of(after, before)
    assert "battery" in danger.words
    assert "Read the live value with a scan tool" in danger_line(danger)
    assert len(dangers_of(after)) == 2


@given(st.permutations(sorted(DEEDS)), st.integers(min_value=1, max_value=len(DEEDS)))
def test_each_danger_of_a_line_is_told_with_its_own_reason(deeds: list[str], count: int) -> None:
    told = deeds[:count]
    lines = [danger_line(each) for each in dangers_of(typed("; ".join(told)))]
    for deed in told:
        assert any(f"“{deed}”" in line and DEEDS[deed] in line for line in lines), lines


@pytest.mark.parametrize("between", ["; ", ". "])
def test_what_is_harmless_beside_a_danger_is_not_named(between: str) -> None:
    parts = ["scan tool reads 2.2 ohm", "battery off and waited", "put test lamp across the squib"]
    (danger,) = dangers_of(typed(between.join(parts)))
    assert danger.told == "put test lamp across the squib"


def test_whether_something_dangerous_was_done_is_told_of_the_whole_job() -> None:
    assert was_done(typed("soldered the yellow wire"))
    assert not was_done(typed("battery off and waited, new loom fitted"))
