from dataclasses import replace
from datetime import date, timedelta

from kb.case import Action, Attempt, Contact, Outcome, Vehicle
from kb.services.health import MOST_LISTED, ShopHealth, shop_health
from kb.services.review import review_cards
from kb.settings import Settings
from tests.services.test_follow_up import put
from tests.services.test_review import DAY, PLUG, card, shop

__all__ = ["shop"]  # a fixture


def health(address: str) -> ShopHealth:
    return shop_health(address, Settings())


def test_what_a_store_holds_is_counted(shop: str) -> None:
    found = health(shop)
    assert (found.jobs, found.open, found.waiting, found.cases) == (7, 1, 5, 1)
    assert (found.from_cards, found.unheard, found.unproved, found.untagged) == (0, 1, 1, 7)
    cards = review_cards(shop, limit=50, today=date(2026, 3, 2))
    cards.question()
    cards.confirm([2, 3])
    found = health(shop)
    assert (found.waiting, found.cases, found.from_cards) == (3, 3, 2)


def test_lists_are_counted_whole_and_told_in_part_under_their_cautions(empty_store: str) -> None:
    put(empty_store, *(card(None, cause=PLUG) for _ in range(MOST_LISTED + 2)))
    found = health(empty_store)
    lists = {each.name: each for each in found.lists}
    unproved = lists["cases without proof"]
    assert unproved.count == MOST_LISTED + 2
    assert len(unproved.first) == MOST_LISTED
    assert unproved.first[0].words == PLUG.label
    (twice,) = lists["jobs that may be one, recorded twice"].first
    assert len(twice.jobs) == MOST_LISTED + 2
    assert any("airbag" in line.casefold() for line in found.cautions)


def test_never_heard_of_is_counted_as_fix_rates_count_it(empty_store: str) -> None:
    done = (Attempt(action=Action.REPLACED, component="seat plug", cured=True),)
    failed, later = (replace(done[0], cured=False),), DAY + timedelta(days=100)
    put(
        empty_store,
        *(
            replace(card(None, cause=PLUG), attempts=done, contacts=contacts)
            for contacts in (
                (),
                (Contact(on=later, outcome=Outcome.NOT_TOLD, words="not reached"),),
                (Contact(on=later, outcome=Outcome.HELD),),
            )
        ),
        replace(card(None, cause=PLUG), attempts=failed),
    )
    assert health(empty_store).unheard == 2


def test_an_empty_store_has_nothing_to_look_at(empty_store: str) -> None:
    found = health(empty_store)
    assert found.jobs == 0
    assert found.cautions == ()
    assert not any(each.count for each in found.lists)


def test_one_key_tag_on_cars_that_differ_is_named(empty_store: str) -> None:
    lido, kiri = Vehicle(ref="K-1", model="lido"), Vehicle(ref="k1", model="kiri")
    like = Vehicle(ref="K.1", year=2016)
    put(empty_store, *(replace(card(None, cause=PLUG), vehicle=car) for car in (lido, kiri, like)))
    lists = {each.name: each for each in health(empty_store).lists}
    (look,) = lists["key tags alike but for their spelling, on cars that differ"].first
    assert look.jobs == (1, 2)
