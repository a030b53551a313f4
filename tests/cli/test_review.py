"""`kb review` at the terminal and in scripts."""

import json

import pytest

from kb.services.lookup import show_job
from tests.cli.test_job import ok, run, type_at
from tests.services.test_follow_up import put
from tests.services.test_review import PLUG, card, shop

__all__ = ["shop"]  # a fixture


def causes(address: str) -> list[str | None]:
    found = (show_job(address, number).job.cause for number in range(2, 6))
    return [cause.label if cause else None for cause in found]


def test_one_key_settles_a_group_and_q_stops(shop: str) -> None:
    output = ok(type_at(shop, "review", keys="ynq"))
    assert causes(shop) == [PLUG.label] * 3 + [None]
    assert output.index("CAUTION") < output.index("3 cards say: cleaned seat connector")
    assert f"Cause, proposed: {PLUG.label}? (50% by what was" in output
    assert "Stored on 3 jobs." in output
    assert "3 confirmed." in output
    assert "1 job still open" in output


@pytest.mark.parametrize("keys", ["\n\n", "nn", "q", "", "\x03", "o\n\nq"])
def test_without_an_answer_nothing_is_stored(shop: str, keys: str) -> None:
    output = ok(type_at(shop, "review", keys=keys))
    assert causes(shop) == [None] * 4
    assert "0 confirmed." in output


def test_some_of_them_are_named(shop: str) -> None:
    output = ok(type_at(shop, "review", keys="xs9\n#2 4\nnq"))
    assert "x is none of these" in output
    assert "names a card that is not shown" in output
    assert causes(shop) == [PLUG.label, None, PLUG.label, None]


def test_another_cause_is_typed(shop: str) -> None:
    keys = "orepaired seat harness\nseat harness, open\n3\nq"
    ok(type_at(shop, "review", keys=keys))
    assert causes(shop) == [None, "seat harness: open", None, None]
    assert show_job(shop, 3).job.attempts[-1].label == "repaired seat harness"


def test_a_group_without_a_proposal_cannot_be_waved_through(empty_store: str) -> None:
    put(empty_store, *(card("replaced glovebox") for _ in range(2)))
    output = ok(type_at(empty_store, "review", keys="yo\nglovebox, loose\n\nq"))
    assert "none proposed" in output
    assert "y is none of these" in output
    assert show_job(empty_store, 1).job.cause == show_job(empty_store, 2).job.cause
    assert show_job(empty_store, 1).job.cause


def test_a_script_is_shown_what_would_be_asked(shop: str) -> None:
    told = json.loads(ok(run(shop, "review", "--json")))
    assert [each["number"] for each in told["cards"]] == [2, 3, 4]
    assert told["cautions"]
    assert "3 cards say" in ok(run(shop, "review"))
    assert causes(shop) == [None] * 4


def test_a_store_without_cards_says_so(small_store: str) -> None:
    assert "No card is left to ask about." in ok(run(small_store, "review"))


def test_a_no_is_kept_and_the_cause_not_asked_again(shop: str) -> None:
    ok(type_at(shop, "review", keys="nq"))
    assert causes(shop) == [None] * 4
    assert PLUG.label not in ok(run(shop, "review"))


def test_cards_that_are_not_named_among_some_are_denied_the_cause(shop: str) -> None:
    ok(type_at(shop, "review", keys="s2 4\nnq"))
    notes = [each.text for each in show_job(shop, 3).job.entries]
    assert any(text.startswith(PLUG.label) for text in notes)


def test_the_shape_of_the_case_base_is_told_on_one_page(shop: str) -> None:
    output = ok(run(shop, "review", "--health"))
    assert output.index("CAUTION") < output.index("the store")
    assert "cards waiting for a cause, proposed at most (kb review)" in output
    assert "cases without proof: 1" in output
    assert json.loads(ok(run(shop, "review", "--health", "--json")))["waiting"] == 5
    assert causes(shop) == [None] * 4


def test_what_a_card_tells_of_its_cure_is_stored_by_a_key_of_its_own(shop: str) -> None:
    output = ok(type_at(shop, "review", keys="yyq"))
    assert "cured, as told: “cleaned seat connector, ok" in output
    cured = [show_job(shop, number).job.attempts[-1].cured for number in (2, 3, 4)]
    assert cured[0] is True
    assert cured[1] is None  # "driven" tells no cure


def test_breaking_off_at_the_second_key_stores_nothing(shop: str) -> None:
    output = ok(type_at(shop, "review", keys="yq"))
    assert causes(shop) == [None] * 4
    assert "Nothing was stored of these cards." in output
