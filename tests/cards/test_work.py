from collections import Counter
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.cards.work import (
    CardRead,
    WorkRead,
    cure_told,
    failure_told,
    names_said,
    read_card,
    tried_before,
)
from kb.case import Action, Attempt, FailureMode, Job, Vehicle

TODAY = date(2026, 11, 27)
NAMES = ["seat connector", "Hose", "the lot", "door lock motor"]
WORKS = st.lists(
    st.builds(
        WorkRead,
        action=st.sampled_from(Action),
        component=st.sampled_from(NAMES),
        words=st.just("as written"),
    ),
    max_size=4,
)


def card(complaint: str = "lamp on", notes: str | None = None, *done: Attempt) -> CardRead:
    vehicle = Vehicle(make="Corvane", model="Lido")
    return read_card(
        Job(vehicle=vehicle, opened=TODAY, complaint=complaint, notes=notes, attempts=done)
    )


def test_work_is_read_from_the_notes_with_the_words_it_rests_on() -> None:
    found = card(notes="found green pins. cleaned seat connector. all ok")
    (work,) = found.works
    assert work.fix == (Action.CLEANED, "seat connector")
    assert "cleaned seat connector" in work.words


def test_of_parts_told_together_each_is_work_of_its_own_and_the_first_is_kept() -> None:
    found = card(notes="rotor scored. replaced brake disc, pair and pads")
    assert [work.fix for work in found.works] == [
        (Action.REPLACED, "brake disc"),
        (Action.REPLACED, "pads"),
    ]
    pads = found.works[-1]
    assert tried_before(found, pads) == ()


@given(st.lists(st.sampled_from(["brake disc", "pair", "pads", "hub face", "again"]), min_size=1))
def test_the_first_of_a_list_is_read_as_if_it_stood_alone(parts: list[str]) -> None:
    alone = card(notes=f"replaced {parts[0]}").works
    listed = card(notes=f"replaced {', '.join(parts)}").works
    assert [work.fix for work in listed][:1] == [work.fix for work in alone]


def test_one_text_alone_is_read_too_and_recorded_attempts_go_before_words() -> None:
    alone = card("airbag lamp on, replaced clock spring")
    assert [work.fix for work in alone.works] == [(Action.REPLACED, "clock spring")]
    told = Attempt(action=Action.TIGHTENED, component="earth strap")
    kept = card("lamp on", "cleaned seat connector", told)
    assert [work.fix for work in kept.works] == [(Action.TIGHTENED, "earth strap")]


def test_a_way_of_failing_is_read() -> None:
    assert card(notes="coolant hose leaking, replaced coolant hose").mode is FailureMode.LEAKING
    assert card(notes="replaced coolant hose").mode is None


def test_nothing_is_read_on_a_card_that_tells_no_work() -> None:
    found = card("lamp on", "customer waits")
    assert found.works == ()


@given(st.lists(WORKS, max_size=4))
def test_a_name_is_counted_once_a_card(cards: list[list[WorkRead]]) -> None:
    read = [CardRead(number=n, works=tuple(works), mode=None) for n, works in enumerate(cards)]
    expected: Counter[str] = Counter()
    for works in cards:
        expected.update({work.component.casefold() for work in works})
    assert names_said(read) == expected


@given(WORKS)
def test_what_was_tried_before_a_repair_stands_before_it_and_is_something_else(
    works: list[WorkRead],
) -> None:
    read = CardRead(number=1, works=tuple(works), mode=None)
    for at, repair in enumerate(works):
        before = tried_before(read, repair)
        assert set(before) <= set(works[:at])
        assert repair.fix not in {each.fix for each in before}


def test_a_cure_is_told_in_the_words_of_the_card_and_a_failure_never() -> None:
    repair = WorkRead(action=Action.CLEANED, component="seat connector", words="")

    def told(notes: str) -> str | None:
        job = Job(vehicle=Vehicle(), opened=TODAY, complaint="lamp on", notes=notes)
        return cure_told(job, repair, TODAY)

    assert told("cleaned seat connector, all good") == "cleaned seat connector, all good"
    assert told("cleaned seat connector, no change") is None
    assert told("cleaned seat connector") is None


def failure_of_last(notes: str) -> str | None:
    job = Job(vehicle=Vehicle(), opened=TODAY, complaint="fault as told", notes=notes)
    read = read_card(job)
    return failure_told(job, read, read.works[-1])


@pytest.mark.parametrize(
    ("notes", "told"),
    [
        ("cleaned seat connector, no change", "no change"),
        ("replaced clock spring. lamp still on", "lamp still on"),
        ("fitted new battery. still not starting", "still not starting"),
        ("fitted new pump, made no difference, customer informed", "made no difference"),
        ("replaced hose. same fault again after road test", "same fault again after road test"),
    ],
)
def test_that_a_repair_did_not_cure_is_read_where_it_stands_behind_it(
    notes: str, told: str
) -> None:
    """Common practice, no source: how such is written on job cards."""
    assert failure_of_last(notes) == told


@pytest.mark.parametrize(
    "notes",
    [
        "cleaned seat connector, lamp out",
        "replaced hose, was leaking",
        "lamp still on when it came in, replaced clock spring",
        "replaced clutch, flywheel kept",
        "replaced both rear tyres, same age",
        "replaced earth strap, old battery put back",
    ],
)
def test_words_of_trouble_or_of_a_part_are_no_failure_of_the_repair(notes: str) -> None:
    """Common practice, no source: how such is written on job cards."""
    assert failure_of_last(notes) is None
