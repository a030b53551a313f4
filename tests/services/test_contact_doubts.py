"""What is said of an answer that leaves a return open, or of work that came after a comeback."""

from datetime import date, timedelta

import pytest

from kb.case import Action, Attempt, Contact, Outcome
from kb.services.adding import add_line, add_part
from kb.services.drafts import Draft
from kb.services.follow_up import heard
from kb.services.keeping import keep
from tests.services.test_follow_up import CLOSED, TODAY, job, put, shop

__all__ = ["shop"]  # a fixture

BACK = CLOSED + timedelta(days=9)


@pytest.fixture
def returned(shop: str) -> str:
    """The car of the shop's one job was back with the same words, and nobody has judged it."""
    put(shop, job("K1", BACK, component="loom"))
    return shop


def good_news(address: str, way: str, on: date) -> Draft:
    if way == "answer":
        return heard(address, 1, Outcome.HELD, on=on, today=TODAY)
    if way == "part":
        return add_part(address, 1, Contact(on=on, outcome=Outcome.HELD), today=TODAY)
    return add_line(address, 1, f"held {on}", today=TODAY)


@pytest.mark.parametrize("way", ["answer", "part", "line"])
def test_good_news_says_which_return_it_leaves_open(returned: str, way: str) -> None:
    said = [each for each in good_news(returned, way, TODAY).notices if "not judged" in each]
    assert len(said) == 1
    assert said[0].startswith(f"Job 2 of {BACK}, “door lock dead”, was for something alike")


@pytest.mark.parametrize("way", ["answer", "part", "line"])
def test_good_news_of_before_a_return_leaves_nothing_more_to_say(returned: str, way: str) -> None:
    told = good_news(returned, way, BACK - timedelta(days=1))
    assert not [each for each in told.notices if "not judged" in each]


def test_work_that_is_added_after_a_comeback_is_said_to_take_it_over(shop: str) -> None:
    loom = Attempt(action=Action.REPLACED, component="loom", cured=True)
    typed = "replaced loom, cured"

    def said() -> list[str]:
        drafts = (add_part(shop, 1, loom, today=TODAY), add_line(shop, 1, typed, today=TODAY))
        return [each for draft in drafts for each in draft.notices if "the comeback as its" in each]

    assert said() == []
    keep(shop, heard(shop, 1, Outcome.COMEBACK, on=BACK, today=TODAY))
    assert len(said()) == 2
    assert all(f"The car was back on {BACK}" in each for each in said())
