from datetime import date

import pytest

from kb.case import (
    Action,
    Attempt,
    Cause,
    EntryKind,
    FailureMode,
    Job,
    System,
    TroubleCode,
    Vehicle,
)
from kb.errors import InvalidField
from kb.services.fixes import fixes
from kb.services.lookup import show_job
from kb.services.mending import take_back, taking_back
from kb.services.proposed import MARK
from kb.services.review import CardReview, review_cards
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.services.test_follow_up import put

DAY = date(2026, 3, 2)
PLUG = Cause(
    component="seat connector", location="under seat", failure_mode=FailureMode.HIGH_RESISTANCE
)


def card(
    notes: str | None,
    complaint: str = "airbag lamp on",
    *,
    closed: date | None = DAY,
    cause: Cause | None = None,
    attempts: tuple[Attempt, ...] = (),
) -> Job:
    return Job(
        vehicle=Vehicle(make="Corvane", model="Lido"),
        opened=DAY,
        closed=closed,
        complaint=complaint,
        notes=notes,
        system=System.RESTRAINTS,
        codes=(TroubleCode(code="B1234"),),
        cause=cause,
        attempts=attempts,
    )


def reviewed(address: str, limit: int = 50) -> CardReview:
    return review_cards(address, limit=limit, today=DAY)


@pytest.fixture
def shop(empty_store: str) -> str:
    """One case, three cards of one kind, one of another, one that tells nothing, one open."""
    done = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
    put(
        empty_store,
        card(None, cause=PLUG, attempts=(done,)),
        *(card(f"cleaned seat connector, {more}") for more in ("ok", "driven", "code gone")),
        card("replaced clock spring"),
        card("customer waits"),
        card("cleaned seat connector", closed=None),
    )
    return empty_store


def cases(address: str) -> int:
    with UnitOfWork(open_store(address), read_only=True) as work:
        return work.jobs.count_cases()


def test_cards_of_one_kind_are_asked_about_together_under_their_cautions(shop: str) -> None:
    cards = reviewed(shop)
    question = cards.question()
    assert question
    assert question.fix == "cleaned seat connector"
    assert question.cause == PLUG.label
    assert question.chance == pytest.approx(1 / 2)
    assert question.numbers == (2, 3, 4)
    assert (question.more, question.left) == (0, 4)
    assert any("airbag" in line.casefold() for line in question.cautions)
    assert (cards.unread, cards.open) == (1, 0)  # the open one came today


def test_what_is_confirmed_becomes_a_case_marked_with_who_and_when(shop: str) -> None:
    assert cases(shop) == 1
    cards = reviewed(shop)
    cards.question()
    assert cases(shop) == 1  # asking alone makes none
    stored = cards.confirm([2, 4], who="BT")
    assert (stored.numbers, stored.refused) == ((2, 4), ())
    assert cases(shop) == 3
    job = show_job(shop, 2).job
    assert job.cause == PLUG
    assert [each.label for each in job.attempts] == ["cleaned seat connector"]
    assert job.attempts[0].cured is None
    assert job.proved_by is None
    kept = job.entries[-2:]
    assert [each.kind for each in kept] == [EntryKind.ATTEMPT, EntryKind.CAUSE]
    assert all(MARK in each.text and each.by == "BT" and each.at for each in kept)
    assert show_job(shop, 3).job.cause is None


def test_codes_and_readings_in_a_cards_words_are_shown_and_kept_with_what_is_confirmed(
    empty_store: str,
) -> None:
    notes = "P0087. fuel pressure 1.1 bar. replaced fuel pump. fuel pressure 3.5 bar. hose 8 mm"
    put(
        empty_store,
        Job(vehicle=Vehicle(), opened=DAY, closed=DAY, complaint="will not start", notes=notes),
    )
    cards = reviewed(empty_store)
    question = cards.question()
    assert question
    assert question.cards[0].told == ("P0087", "fuel pressure 1.1 bar")
    cards.confirm([1], cause=Cause(component="fuel pump", failure_mode=FailureMode.INTERNAL_FAULT))
    job = show_job(empty_store, 1).job
    assert [str(each) for each in job.codes] == ["P0087"]
    assert [(each.item, each.typed, each.proved_good) for each in job.readings] == [
        ("fuel pressure", "1.1 bar", None)
    ]
    kept = [each.kind for each in job.entries if MARK in each.text]
    assert kept == [EntryKind.CODE, EntryKind.READING, EntryKind.ATTEMPT, EntryKind.CAUSE]
    take_back(empty_store, taking_back(empty_store, who=None), who=None)
    undone = show_job(empty_store, 1).job
    assert (undone.codes, undone.readings, undone.cause) == ((), (), None)


def test_no_reading_is_lifted_out_of_words_that_may_not_be_shown(empty_store: str) -> None:
    notes = "multimeter on the squib, pretensioner 2.3 ohm. replaced seat connector"
    put(empty_store, card(notes))
    question = reviewed(empty_store).question()
    assert question
    assert question.cards[0].told == ()


def test_an_answer_counts_for_the_next_question_and_going_on_asks_for_the_rest(shop: str) -> None:
    cards = reviewed(shop)
    cards.question()
    cards.confirm([2, 3])
    question = cards.question()
    assert question
    assert question.numbers == (5,)  # of the like of 4 three were confirmed
    cards.later(question.numbers)
    question = cards.question()
    assert question
    assert question.numbers == (4,)
    assert question.chance == pytest.approx(3 / 4)
    again = reviewed(shop).question()
    assert again
    assert again.numbers == (5,)


def test_cards_put_off_come_another_time(shop: str) -> None:
    cards = reviewed(shop)
    first = cards.question()
    assert first
    cards.later(first.numbers)
    second = cards.question()
    assert second
    assert second.fix == "replaced clock spring"
    cards.later(second.numbers)
    assert cards.question() is None
    again = reviewed(shop).question()
    assert again
    assert again.numbers == first.numbers


def test_what_is_told_instead_is_stored(shop: str) -> None:
    cards = reviewed(shop)
    cards.question()
    other = Cause(component="seat harness", failure_mode=FailureMode.OPEN)
    cards.confirm([3], Attempt(action=Action.REPAIRED, component="seat harness"), other)
    job = show_job(shop, 3).job
    assert job.cause == other
    assert [each.label for each in job.attempts] == ["repaired seat harness"]


def test_undo_takes_an_answer_back_whole(shop: str) -> None:
    cards = reviewed(shop)
    cards.question()
    cards.confirm([4], who="BT")
    cards.question()
    cards.confirm([2, 3], who="BT")
    take_back(shop, taking_back(shop, who="BT"), who="BT")
    assert [show_job(shop, number).job.cause for number in (2, 3, 4)] == [None, None, PLUG]
    assert show_job(shop, 2).job.attempts == ()
    assert cases(shop) == 2


def test_what_somebody_else_settled_meanwhile_is_not_overwritten(shop: str) -> None:
    cards, others = reviewed(shop), reviewed(shop)
    cards.question()
    others.question()
    theirs = Cause(component="pretensioner", failure_mode=FailureMode.INTERNAL_FAULT)
    others.confirm([2], cause=theirs)
    stored = cards.confirm([2, 3])
    assert stored.numbers == (3,)
    assert len(stored.refused) == 1
    assert "somebody else" in stored.refused[0]
    assert show_job(shop, 2).job.cause == theirs


def test_a_dangerous_answer_is_not_stored(shop: str) -> None:
    cards = reviewed(shop)
    cards.question()
    told = Cause(
        component="pretensioner igniter measured with an ohmmeter", failure_mode=FailureMode.OPEN
    )
    stored = cards.confirm([2], cause=told)
    assert stored.numbers == ()
    assert "ohmmeter" in stored.refused[0]
    assert show_job(shop, 2).job.cause is None


def test_no_cause_is_stored_where_none_was_proposed_or_told(empty_store: str) -> None:
    put(empty_store, card("replaced glovebox"))
    cards = reviewed(empty_store)
    question = cards.question()
    assert question
    assert question.cause == ""
    with pytest.raises(InvalidField):
        cards.confirm([1])


def test_a_meter_on_an_igniter_is_not_shown(empty_store: str) -> None:
    put(empty_store, card("replaced pretensioner, measured its resistance with the multimeter"))
    question = reviewed(empty_store).question()
    assert question
    assert "multimeter" not in f"{question.fix}{question.cause}{question.cards}"
    assert question.cautions


def test_only_the_last_cards_are_read(shop: str) -> None:
    cards = reviewed(shop, limit=2)
    assert ([each.number for each in cards.waiting.cards], cards.unread) == ([5], 1)


def test_open_jobs_are_asked_about_when_somebody_says_so_and_closed_as_they_came(
    shop: str,
) -> None:
    cards = review_cards(shop, limit=50, today=date(2026, 3, 3), open_too=True)
    question = cards.question()
    assert question
    assert question.numbers == (2, 3, 4, 7)
    assert cards.open == 0
    cards.confirm([7])
    job = show_job(shop, 7).job
    assert job.closed == job.opened
    assert job.is_case


def test_a_job_that_came_today_is_no_old_card(shop: str) -> None:
    cards = review_cards(shop, limit=50, today=DAY, open_too=True)
    assert 7 not in {each.number for each in cards.waiting.cards}


def test_without_that_an_open_job_is_not_settled(shop: str) -> None:
    cards = reviewed(shop)
    cards.question()
    assert cards.confirm([7]).numbers == ()
    assert show_job(shop, 7).job.closed is None


def test_what_two_deny_at_once_is_kept_once(shop: str) -> None:
    both = reviewed(shop), reviewed(shop)
    for each in both:
        each.question()
    assert [each.deny([2, 3], who="BT").numbers for each in both] == [(2, 3), (2, 3)]
    entries = [each.text for each in show_job(shop, 2).job.entries]
    assert len(entries) == len(set(entries))
    assert reviewed(shop).confirmed.denied[2] == both[1].confirmed.denied[2]


def test_a_cause_that_was_denied_is_not_asked_of_the_card_again(shop: str) -> None:
    cards = reviewed(shop)
    cards.question()
    assert cards.deny([2, 3], who="BT").numbers == (2, 3)
    for asked in (cards, reviewed(shop)):
        groups = {each.number: group for group in asked.questions() for each in group.cards}
        assert groups[4].cause == PLUG
        assert groups[2].cause != PLUG
        assert groups[3].cause == groups[2].cause
    job = show_job(shop, 2).job
    assert job.cause is None
    assert job.entries[-1].by == "BT"
    told = Cause(component="seat connector", failure_mode=FailureMode.LOOSE)
    cards.question()
    assert cards.confirm([2], cause=told).numbers == (2,)


def test_how_a_shop_tells_its_repairs_is_learnt_from_confirmed_cards(shop: str) -> None:
    cards = reviewed(shop)
    cards.question()
    cards.confirm([2, 3])
    again = reviewed(shop).confirmed
    assert [each.read.number for each in again.cards] == [2, 3]
    assert {each.fix for each in again.cards} == {(Action.CLEANED, "seat connector")}


def test_earlier_attempts_are_stored_as_in_vain_only_when_somebody_says_so(
    empty_store: str,
) -> None:
    notes = "replaced clock spring, no change. cleaned seat connector, all good"
    done = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
    put(empty_store, card(None, cause=PLUG, attempts=(done,)), *(card(notes) for _ in range(2)))
    cards = reviewed(empty_store)
    question = cards.question()
    assert question
    assert [each.in_vain for each in question.cards] == [("replaced clock spring",)] * 2
    assert all(each.cured for each in question.cards)
    cards.confirm([2])
    cards.question()
    cards.confirm([3], as_told=True, who="BT")
    plain, told = (show_job(empty_store, number).job for number in (2, 3))
    assert [(each.label, each.cured) for each in plain.attempts] == [
        ("cleaned seat connector", None)
    ]
    assert [(each.label, each.cured) for each in told.attempts] == [
        ("replaced clock spring", False),
        ("cleaned seat connector", True),
    ]
    assert "replaced clock spring, in vain" in told.entries[-3].text


def test_that_a_repair_did_not_cure_is_proposed_and_stored_when_it_is_confirmed(
    empty_store: str,
) -> None:
    put(empty_store, card("cleaned seat connector, no change"))
    cards = reviewed(empty_store)
    question = cards.question()
    assert question
    assert (question.cards[0].cured, question.cards[0].not_cured) == ("", "no change")
    assert question.cards[0].tells_more
    cards.confirm([1], as_told=True)
    assert [each.cured for each in show_job(empty_store, 1).job.attempts] == [False]


LIVE = "swapped pretensioner, key on all the time, ok now"


def test_what_was_done_dangerously_by_the_card_is_not_confirmed_by_a_key(empty_store: str) -> None:
    put(empty_store, *(card(LIVE) for _ in range(4)))
    cards = reviewed(empty_store)
    question = cards.question()
    assert question
    assert question.fix == "replaced pretensioner"
    stored = cards.confirm(question.numbers, cause=PLUG, as_told=True)
    assert stored.numbers == ()
    assert all("is dangerous" in each for each in stored.refused)
    assert cases(empty_store) == 0


@pytest.mark.parametrize(
    "notes", [LIVE, "replaced pretensioner, 2R2 lives in the plug now, lamp off"]
)
def test_a_fix_told_by_its_card_alone_is_rated_as_the_card_tells_it(
    empty_store: str, notes: str
) -> None:
    done = Attempt(action=Action.REPLACED, component="pretensioner", cured=True)
    cause = Cause(component="pretensioner", failure_mode=FailureMode.OPEN)
    put(empty_store, *(card(notes, cause=cause, attempts=(done,)) for _ in range(4)))
    answer = fixes(empty_store, "pretensioner open", Settings(), today=date(2027, 3, 2))
    assert answer.fixes == ()
    fine = card("swapped pretensioner, battery off and waited", cause=cause, attempts=(done,))
    put(empty_store, fine)
    answer = fixes(empty_store, "pretensioner open", Settings(), today=date(2027, 3, 2))
    assert [each.rate.tried for each in answer.fixes] == [1]


def test_innocent_work_beside_dangerous_work_is_confirmed(empty_store: str) -> None:
    put(empty_store, card("put a test lamp on the squib. Replaced glovebox."))
    cards = reviewed(empty_store)
    question = cards.question()
    assert question
    assert question.fix == "replaced glovebox"
    told = Cause(component="glovebox", failure_mode=FailureMode.INTERNAL_FAULT)
    assert cards.confirm([1], cause=told).numbers == (1,)
