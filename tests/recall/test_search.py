"""Searching cards: most words first, codes wherever they stand, nothing that was not asked."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Job, TroubleCode
from kb.intake.wording import Wording
from kb.recall.cards import Cards
from kb.recall.search import search_cards
from kb.settings import Settings
from tests.recall.test_cards import CARDS, card

WORDING, SETTINGS = Wording.default(), Settings()
SHOP = Cards.fit(CARDS, WORDING, SETTINGS)


def found(text: str, *codes: TroubleCode, cards: Cards = SHOP) -> tuple[int, ...]:
    return search_cards(text, codes, cards, WORDING).numbers


def test_jobs_with_more_of_the_words_come_first() -> None:
    jobs = [
        card(1, "gasket gasket gasket"),
        card(2, "intake noise", "new gasket"),
        card(3, "intake flap"),
    ]
    cards = Cards.fit(jobs, WORDING, SETTINGS)
    answer = search_cards("intake gasket", (), cards, WORDING)
    assert answer.numbers[0] == 2
    assert sorted(answer.numbers) == [1, 2, 3]
    assert answer.held == (2, 1, 1)


@pytest.mark.parametrize("text", ["gasket", "gaskets", "GASKET", "P0301 misfire", "misfire"])
def test_a_word_is_found_in_any_case_and_number(text: str) -> None:
    assert found(text) in {(1,), (3,)}


def test_letters_in_common_are_no_hit() -> None:
    assert found("gas") == ()


def test_a_code_is_found_in_the_words_of_a_card_and_in_its_field() -> None:
    code = TroubleCode(code="P0301")
    recorded = replace(card(4, "misfire"), codes=(TroubleCode(code="P0301", failure_type="13"),))
    cards = Cards.fit([*CARDS, recorded], WORDING, SETTINGS)
    assert set(found("", code, cards=cards)) == {3, 4}
    typed = TroubleCode(code="P0301", failure_type="13")
    other = TroubleCode(code="P0301", failure_type="11")
    assert set(found("", typed, cards=cards)) == {3, 4}
    assert set(found("", other, cards=cards)) == {3}


def test_without_words_the_last_opened_come_first_and_only_those_among() -> None:
    assert found("") == (3, 2, 1)
    assert search_cards("", (), SHOP, WORDING, among=[1, 3]).numbers == (3, 1)
    assert search_cards("gasket", (), SHOP, WORDING, among=[2]).numbers == ()


def test_an_edited_card_is_found_as_it_is_now() -> None:
    now = SHOP.with_changes([1], [replace(CARDS[0], notes="throttle body")], WORDING)
    assert found("gasket", cards=now) == ()
    assert found("throttle", cards=now) == (1,)


@given(st.sampled_from(CARDS), st.data())
def test_a_job_is_found_by_every_word_of_its_own(job: Job, data: st.DataObject) -> None:
    word = data.draw(st.sampled_from(f"{job.complaint} {job.notes}".replace(",", "").split()))
    assert job.number in found(word)
