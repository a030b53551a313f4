from collections.abc import Collection, Mapping

from hypothesis import given
from hypothesis import strategies as st

from kb.cards.choice import LEAST_CARDS, ConfirmedCard, RepairChoice, WorkTable
from kb.cards.work import CardRead, WorkRead, names_said
from kb.case import Action

PARTS = ["seat connector", "clock spring", "fuel filter", "radiator hose", "brake pads"]


def work(component: str, action: Action = Action.REPLACED) -> WorkRead:
    return WorkRead(action=action, component=component, words=f"{action} {component}")


def card(number: int, *works: WorkRead) -> CardRead:
    return CardRead(number=number, works=works, mode=None)


def chosen_on(
    card: CardRead,
    known: Collection[str] = (),
    said: Mapping[str, int] | None = None,
    choice: RepairChoice | None = None,
) -> WorkRead | None:
    table = WorkTable.of([card] if card.works else [], said or {})
    rows = (choice or RepairChoice()).repairs(table, known)
    return table.works[rows[0]] if len(rows) else None


def two_on(number: int) -> CardRead:
    first, second = PARTS[number % 5], PARTS[(number + 2) % 5]
    return card(number, work(first, Action.CLEANED), work(second))


def told_last(cards: int) -> list[ConfirmedCard]:
    """Cards of a shop that tells what was tried in vain before the repair."""
    read = map(two_on, range(cards))
    return [ConfirmedCard(read=each, fix=each.works[-1].fix) for each in read]


def test_a_shop_that_tells_the_repair_last_is_read_so() -> None:
    strange = card(99, work("coolant hose", Action.CLEANED), work("thermostat"))
    rule = chosen_on(strange)
    assert rule
    assert rule.component == "coolant hose"
    confirmed = told_last(2 * LEAST_CARDS)
    said = names_said([strange, *(each.read for each in confirmed)])
    learnt = chosen_on(strange, (), said, RepairChoice.fit(confirmed, {}, said))
    assert learnt
    assert learnt.component == "thermostat"


def test_with_few_cards_the_choice_is_by_rule() -> None:
    assert RepairChoice.fit(told_last(LEAST_CARDS - 1), {}, {}).weights is None


def test_cards_with_nothing_to_choose_teach_nothing() -> None:
    one = work("thermostat")
    confirmed = [ConfirmedCard(read=card(n, one), fix=one.fix) for n in range(3 * LEAST_CARDS)]
    assert RepairChoice.fit(confirmed, {}, {}).weights is None


WORKS = st.lists(st.builds(work, st.sampled_from(PARTS), st.sampled_from(list(Action))), max_size=4)


@given(WORKS)
def test_whatever_is_chosen_stands_on_the_card(works: list[WorkRead]) -> None:
    choice = RepairChoice.fit(told_last(LEAST_CARDS), {}, {})
    chosen = chosen_on(card(1, *works), {"clock spring"}, choice=choice)
    assert (chosen in works) if works else chosen is None


def test_of_known_components_the_last_is_the_repair() -> None:
    works = [work("pretensioner"), work("seat connector", Action.CLEANED), work("nut")]
    chosen = chosen_on(card(1, *works), {"pretensioner", "seat connector"})
    assert chosen == works[1]


@given(WORKS, st.sets(st.sampled_from(PARTS)))
def test_by_rule_the_repair_is_one_of_what_was_read_and_known_if_any_is(
    works: list[WorkRead], known: set[str]
) -> None:
    found = card(1, *works)
    chosen = chosen_on(found, known, names_said([found]))
    if not works:
        assert chosen is None
    else:
        assert chosen in works
        among = [each for each in works if each.fix[1] in known]
        assert not among or chosen == among[-1]


@given(st.lists(WORKS.filter(bool), min_size=1, max_size=4))
def test_what_is_chosen_on_a_card_is_chosen_beside_others(several: list[list[WorkRead]]) -> None:
    cards = [card(number, *works) for number, works in enumerate(several)]
    table = WorkTable.of(cards, {})
    rows = RepairChoice().repairs(table, {"clock spring"})
    assert [table.works[row] for row in rows] == [chosen_on(c, {"clock spring"}) for c in cards]
