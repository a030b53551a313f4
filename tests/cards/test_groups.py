from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.cards.groups import Confirmed, WaitingCards, groups_of
from kb.cards.work import CardRead, WorkRead
from kb.case import Action, Cause, FailureMode

PLUG = Cause(
    component="seat connector", location="under seat", failure_mode=FailureMode.HIGH_RESISTANCE
)
LOOSE = Cause(component="seat connector", location="under seat", failure_mode=FailureMode.LOOSE)


def card(
    number: int,
    action: Action = Action.CLEANED,
    component: str = "seat connector",
    mode: FailureMode | None = None,
) -> CardRead:
    work = WorkRead(action=action, component=component, words=f"{action} {component}")
    return CardRead(number=number, works=(work,), mode=mode)


CARDS = st.lists(
    st.builds(
        card,
        st.integers(1, 99),
        st.sampled_from([Action.CLEANED, Action.REPLACED]),
        st.sampled_from(["seat connector", "Seat  Connector", "hose"]),
        st.sampled_from([None, FailureMode.LEAKING]),
    ),
    unique_by=lambda each: each.number,
    max_size=8,
)


def test_a_cause_confirmed_of_the_same_repair_is_proposed_with_its_share() -> None:
    known = Confirmed()
    for cause in (PLUG, PLUG, LOOSE):
        known.learn((Action.CLEANED, "Seat connector"), cause)
    (group,) = groups_of([card(7), card(8)], known)
    assert [each.number for each in group.cards] == [7, 8]
    assert group.cause == PLUG
    assert group.chance == pytest.approx(2 / 4)


def test_what_else_was_done_to_a_component_tells_less_than_the_same() -> None:
    known = Confirmed()
    known.learn((Action.RESEATED, "seat connector"), LOOSE)
    assert groups_of([card(7)], known)[0].cause == LOOSE
    known.learn((Action.CLEANED, "seat connector"), PLUG)
    assert groups_of([card(7)], known)[0].cause == PLUG


def test_without_anything_confirmed_a_part_fails_as_its_like_in_the_trade() -> None:
    silent, other = groups_of(
        [card(1), card(2), card(3, Action.REPLACED, "radiator hose", FailureMode.WORN)], Confirmed()
    )
    assert silent.cause == Cause(
        component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE
    )
    assert other.cause == Cause(component="radiator hose", failure_mode=FailureMode.LEAKING)
    assert silent.chance is None


def test_of_a_part_of_no_known_kind_the_words_of_the_card_tell_or_nothing() -> None:
    told, silent = groups_of(
        [
            card(1, Action.REPLACED, "glovebox", FailureMode.LOOSE),
            card(2, Action.REPLACED, "glovebox"),
        ],
        Confirmed(),
    )
    assert told.cause == Cause(component="glovebox", failure_mode=FailureMode.LOOSE)
    assert (told.chance, silent.cause, silent.chance) == (None, None, None)


def test_what_was_confirmed_of_the_kind_outweighs_what_is_usual() -> None:
    known = Confirmed()
    strange = replace(PLUG, component="tank connector", failure_mode=FailureMode.CONTAMINATED)
    for _ in range(2):
        known.learn((Action.CLEANED, "tank connector"), strange)
    (group,) = groups_of([card(1)], known)
    assert group.cause == Cause(component="seat connector", failure_mode=FailureMode.CONTAMINATED)
    assert group.chance == pytest.approx(2 / 3)


def test_a_strange_component_fails_as_what_is_mended_so() -> None:
    known = Confirmed()
    known.learn((Action.REPLACED, "seat connector"), PLUG)
    (group,) = groups_of([card(1, Action.REPLACED, component="glovebox")], known)
    assert group.cause == Cause(component="glovebox", failure_mode=FailureMode.HIGH_RESISTANCE)
    assert group.chance == pytest.approx(1 / 2)


def test_a_part_that_nobody_confirmed_is_asked_about_before_one_whose_cause_is_known() -> None:
    confirmed = Confirmed()
    for _ in range(9):
        confirmed.learn((Action.CLEANED, "seat connector"), PLUG)
        confirmed.learn((Action.REPLACED, "glove box hose"), PLUG)
    cards = [*map(card, range(1, 6)), *(card(n, Action.REPLACED, "hose") for n in (6, 7))]
    first, second = groups_of(cards, confirmed)
    assert (first.fix[1], first.known) == ("hose", False)
    assert (second.cause, second.known) == (PLUG, True)


@given(CARDS, st.lists(st.sampled_from([PLUG, LOOSE]), max_size=3))
def test_every_card_with_work_is_in_one_group_and_what_teaches_most_comes_first(
    cards: list[CardRead], known: list[Cause]
) -> None:
    confirmed = Confirmed()
    for cause in known:
        confirmed.learn((Action.CLEANED, cause.component), cause)
    groups = groups_of([*cards, CardRead(number=100, works=(), mode=None)], confirmed)
    numbers = [each.number for group in groups for each in group.cards]
    assert sorted(numbers) == sorted(each.number for each in cards)
    teaches = [group.teaches for group in groups]
    assert teaches == sorted(teaches, reverse=True)
    for group in groups:
        assert {each.work.fix for each in group.cards} == {group.fix}
        assert group.chance is None or 0 < group.chance < 1


@given(CARDS, CARDS)
def test_what_is_asked_later_is_grouped_as_if_it_were_not_there(
    cards: list[CardRead], told: list[CardRead]
) -> None:
    confirmed = Confirmed()
    for each in told:
        confirmed.learn(each.works[0].fix, PLUG, each)
    board = WaitingCards.of(cards, confirmed.cards)
    later = {each.number for each in cards[::2]}
    left = [group.cards for group in board.groups(confirmed, later)]
    assert {each.number for group in left for each in group} == {
        each.number for each in cards[1::2]
    }
    proposed = {card.number: card.work for card, _, _ in board.proposals(confirmed)}
    assert all(proposed.get(each.number, each.work) == each.work for each in sum(left, ()))
