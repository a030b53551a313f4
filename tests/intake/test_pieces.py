"""A line parted into clauses, and what each begins to tell: common practice, no source."""

from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from kb.case import Action
from kb.intake.pieces import clauses, find_test, is_access, is_follow_up, work_in
from tests.strategies import texts


@given(texts())
@example("+\t0")
def test_clauses_are_of_the_line_in_order_and_leave_only_what_parts_them(text: str) -> None:
    places = [clause.place for clause in clauses(text)]
    assert all(one.end <= other.start for one, other in pairwise(places))
    assert all(text[start:end] == text[start:end].strip() != "" for start, end in places)
    covered = {place for start, end in places for place in range(start, end)}
    left = [char for place, char in enumerate(text) if place not in covered]
    assert not any(char.isalpha() for char in left)


@pytest.mark.parametrize(
    ("clause", "action", "what"),
    [
        ("plugs done", Action.REPLACED, "plugs"),
        ("coolant hose now replaced", Action.REPLACED, "coolant hose"),
        ("campaign done", Action.OTHER, "campaign"),
        ("new coil", Action.REPLACED, "coil"),
        ("ball joint in", Action.REPLACED, "ball joint"),
        ("Stecker unterm Sitz neu gesteckt", Action.RESEATED, "Stecker unterm Sitz"),
        ("Stecker wieder aufgesteckt", Action.RESEATED, "Stecker"),
        ("Stecker neu", Action.REPLACED, "Stecker"),
        ("set timing", Action.ADJUSTED, "timing"),
    ],
)
def test_work_is_told_before_or_behind_its_part(clause: str, action: Action, what: str) -> None:
    work = work_in(clause)
    assert work is not None
    assert (work.action, work.what) == (action, what)


@pytest.mark.parametrize(
    "clause",
    [
        "needs new coil",
        "water in",
        "misfire gone",
        "coil ordered",
        "no fault done",
        "",
        "set off old bag",
        "left it in",
        "left the resistor in",
        "left the old one in",
        "kept it in",
        "put it back in",
        "none new",
        "none replaced",
        "keine neu",
    ],
)
def test_what_is_no_work(clause: str) -> None:
    assert work_in(clause) is None


def test_what_belongs_to_another_fix_or_is_only_in_the_way() -> None:
    cleared, trim = work_in("codes cleared") or work_in("cleared codes"), work_in("removed trim")
    assert cleared is not None
    assert trim is not None
    assert is_follow_up(cleared)
    assert is_access(trim, "removed trim")


@pytest.mark.parametrize(
    ("clause", "in_the_way"),
    [
        ("reseated seat connector", False),
        ("reconnected plug under carpet", False),
        ("seat plug reconnected", False),
        ("refitted seat", True),
        ("refitted wheel speed sensor", True),
    ],
)
def test_a_connection_that_is_seated_anew_is_a_fix(clause: str, *, in_the_way: bool) -> None:
    work = work_in(clause)
    assert work is not None
    assert is_access(work, clause) is in_the_way


@pytest.mark.parametrize("clause", ["charge lamp off", "charge light still on", "charge pipe off"])
def test_charge_before_a_name_is_part_of_the_name(clause: str) -> None:
    assert work_in(clause) is None


@pytest.mark.parametrize("clause", ["charge battery", "battery charged", "charged the battery"])
def test_a_battery_is_charged(clause: str) -> None:
    work = work_in(clause)
    assert work is not None
    assert work.action is Action.CHARGED


@pytest.mark.parametrize(
    ("clause", "action", "what"),
    [
        ("then new coil", Action.REPLACED, "coil"),
        ("first tried new coil", Action.REPLACED, "coil"),
        ("cured by cleaning earth", Action.CLEANED, "earth"),
        ("repl. lambda sensor", Action.REPLACED, "lambda sensor"),
    ],
)
def test_words_of_order_and_of_cause_stand_before_work(
    clause: str, action: Action, what: str
) -> None:
    work = work_in(clause)
    assert work is not None
    assert (work.action, work.what, clause[: work.end]) == (action, what, clause)


def test_what_is_to_be_done_then_is_no_work() -> None:
    assert work_in("then swap alternator") is None


@given(st.sampled_from(["check the fuse", "next: check it", "then swap alternator"]))
def test_what_is_still_to_do_is_no_test(clause: str) -> None:
    assert find_test(clause) is None


@pytest.mark.parametrize(
    ("clause", "action", "what"),
    [
        ("after replacing the sensor it still stalls", Action.REPLACED, "the sensor"),
        ("since fitting new pump no start", Action.REPLACED, "new pump"),
        ("even after cleaning the earth, lamp on", Action.CLEANED, "the earth"),
    ],
)
def test_work_is_told_as_what_something_came_after(clause: str, action: Action, what: str) -> None:
    work = work_in(clause)
    assert work
    assert (work.action, work.what) == (action, what)


@pytest.mark.parametrize(
    "clause",
    [
        "after changing gear it jumps",
        "since moving house it stalls",
        "after charging the battery overnight it starts",
        "after the other garage replacing the pump",
        "after driving home",
    ],
)
def test_when_something_happens_is_no_work(clause: str) -> None:
    assert work_in(clause) is None
