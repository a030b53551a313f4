"""What nobody confirmed is used by its chance, marked, and counted apart."""

import shutil
from dataclasses import replace
from datetime import date, timedelta

import pytest

from kb.cards.proposed import UNTOLD, ProposedCase
from kb.cards.work import CardRead, read_card
from kb.case import Action, Attempt, FailureMode, Job
from kb.reports import fixes as fixes_page
from kb.services import proposed as service
from kb.services.ask import causes
from kb.services.fixes import fixes
from kb.services.inquiry import Question
from kb.services.keeping import keep
from kb.services.mending import reopen_job
from kb.services.names import join_names
from kb.services.proposed import READ_FILE, proposed
from kb.services.review import review_cards
from kb.services.similar import similar
from kb.services.words import add_word
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.services.test_follow_up import put
from tests.services.test_review import DAY, PLUG, card

LATER = DAY + timedelta(days=400)
LAMP = Question(text="airbag lamp on")


def found(address: str, today: date = LATER) -> dict[int, ProposedCase]:
    with UnitOfWork(open_store(address), read_only=True) as work:
        return proposed(work, address, today=today)


@pytest.fixture
def cards_only(empty_store: str) -> str:
    put(
        empty_store,
        *(card(f"cleaned seat connector, {more}") for more in ("ok", "driven", "code gone")),
        card("replaced radiator hose, was leaking", "loses coolant, temperature high"),
        card("customer waits"),
    )
    return empty_store


@pytest.fixture
def mixed(cards_only: str) -> str:
    done = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
    put(cards_only, card(None, cause=PLUG, attempts=(done,)))
    return cards_only


def test_a_store_of_cards_alone_is_answered_and_every_cause_is_marked(cards_only: str) -> None:
    answer = causes(cards_only, LAMP, Settings())
    assert (answer.cases, answer.proposed) == (0, 4)
    first = answer.causes[0]
    assert first.cause.component == "seat connector"
    assert set(first.proposed) == {1, 2, 3}
    assert (first.all_jobs, first.all_proposed, first.fixes) == (0, 3, ())
    assert [(fix.label, fix.cards) for fix in first.proposed_fixes] == [
        ("cleaned seat connector", 3)
    ]
    told = sum(each.chance for each in answer.causes)
    assert told + answer.other_causes + answer.doubt + answer.not_seen_before == pytest.approx(1)
    assert answer.doubt == pytest.approx((1 - answer.not_seen_before) * (1 - UNTOLD), abs=1e-6)
    assert any("airbag" in line.casefold() for line in answer.cautions)


def test_what_is_proposed_is_counted_apart_from_what_is_confirmed(mixed: str) -> None:
    (first, *_) = causes(mixed, LAMP, Settings()).causes
    assert first.cause.key == PLUG.key
    assert (first.all_jobs, first.all_proposed) == (1, 3)
    assert set(first.jobs) >= {6} | set(first.proposed)
    answer = fixes(mixed, "seat connector", Settings(), today=LATER)
    assert (answer.cases, answer.proposed) == (1, 3)
    assert [each.rate.tried for each in answer.fixes] == [1]
    assert "1 confirmed, 3 proposed" in fixes_page.heading(answer)


def test_a_cause_that_is_only_proposed_has_no_rate_but_what_was_done(cards_only: str) -> None:
    answer = fixes(cards_only, "radiator hose", Settings(), today=LATER)
    assert (answer.cases, answer.fixes, answer.proposed) == (0, (), 1)
    assert answer.cause.failure_mode is FailureMode.LEAKING
    assert [each.label for each in answer.proposed_fixes] == ["replaced radiator hose"]


def test_similar_jobs_tell_what_is_proposed_with_its_chance(mixed: str) -> None:
    told = {each.number: each for each in similar(mixed, LAMP, Settings()).matches}
    assert told[1].proposed == PLUG.label
    assert told[1].proposed_chance == pytest.approx(1 / 2)
    assert (told[6].cause, told[6].proposed, told[6].proposed_chance) == (PLUG.label, "", None)


def test_an_answer_changes_what_is_proposed_of_the_others(mixed: str) -> None:
    before = found(mixed)
    review = review_cards(mixed, today=DAY)
    assert review.question()
    review.confirm([1, 2])
    after = found(mixed)
    assert after.keys() == before.keys() - {1, 2}
    assert after[3].chance == pytest.approx(3 / 4)


def test_a_denied_cause_is_not_proposed_again(mixed: str) -> None:
    review = review_cards(mixed, today=DAY)
    assert review.question()
    review.deny([3])
    assert found(mixed)[3].cause.key != PLUG.key


def test_cards_are_read_once_and_again_only_where_they_changed(
    mixed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    found(mixed)
    read: list[int] = []

    def reading(job: Job) -> CardRead:
        read.append(job.number or 0)
        return read_card(job)

    monkeypatch.setattr(service, "read_card", reading)
    put(mixed, card("replaced clock spring"))
    assert 7 in found(mixed)
    assert read == [7]
    (index_folder(mixed) / READ_FILE).write_bytes(b"{}")
    put(mixed, card("replaced thermostat"))
    assert len(found(mixed)) == 6
    assert set(read) == {1, 2, 3, 4, 5, 7, 8}


def test_many_cards_are_read_by_several_processes_as_by_one(
    mixed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = found(mixed)
    shutil.rmtree(index_folder(mixed))
    monkeypatch.setattr(service, "_WORTH_HELP", 1)
    assert found(mixed) == one
    assert (index_folder(mixed) / READ_FILE).exists()


def test_proposals_stand_under_the_shops_names(mixed: str) -> None:
    put(
        mixed,
        card("all ok", attempts=(Attempt(action=Action.CLEANED, component="seat plug"),)),
    )
    join_names(mixed, "seat plug", "seat connector")
    assert found(mixed)[7].cause.key == PLUG.key


def test_a_job_that_is_open_is_proposed_only_after_long(cards_only: str) -> None:
    put(cards_only, card("cleaned seat connector", closed=None))
    assert 6 not in found(cards_only, DAY + timedelta(days=30))
    assert 6 in found(cards_only, DAY + timedelta(days=31))


def test_a_reopened_job_is_an_open_job_and_no_card(mixed: str) -> None:
    with UnitOfWork(open_store(mixed), read_only=True) as work:
        (number,) = (each.number for each in work.jobs.all() if each.cause is not None)
    assert number is not None
    keep(mixed, reopen_job(mixed, number), who=None)
    assert number not in found(mixed)


@pytest.mark.parametrize(
    "notes",
    [
        "replaced seat connector, 2R2 lives in the plug now, lamp off",
        "replaced seat connector, key on all the time, ok now",
    ],
)
def test_what_a_card_tells_dangerously_is_not_proposed(empty_store: str, notes: str) -> None:
    put(empty_store, *(card(notes) for _ in range(4)))
    (first, *_) = causes(empty_store, LAMP, Settings()).causes
    assert first.cause.component == "seat connector"
    assert first.proposed_fixes == ()
    answer = fixes(empty_store, "seat connector", Settings(), today=LATER)
    assert (answer.proposed, answer.proposed_fixes) == (4, ())
    assert all(each.withheld for each in found(empty_store).values())


def test_the_shops_own_words_are_read_on_cards(empty_store: str) -> None:
    told = card("swapped hot box, key on all the time", "trim loose")
    put(empty_store, replace(told, system=None, codes=()))
    assert withheld(empty_store) == [False]
    add_word(empty_store, "hot box", ("airbag",))
    assert withheld(empty_store) == [True]


def withheld(address: str) -> list[bool]:
    cards = review_cards(address, today=DAY).waiting.cards
    return [work.withheld for each in cards for work in each.works]
