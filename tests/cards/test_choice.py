from hypothesis import given
from hypothesis import strategies as st

from kb.cards.choice import LEAST_CARDS, ConfirmedCard, RepairChoice
from kb.cards.work import CardRead, WorkRead, names_said, repair_on
from kb.case import Action

PARTS = ["seat connector", "clock spring", "fuel filter", "radiator hose", "brake pads"]


def work(component: str, action: Action = Action.REPLACED) -> WorkRead:
    return WorkRead(action=action, component=component, words=f"{action} {component}")


def card(number: int, *works: WorkRead) -> CardRead:
    return CardRead(number=number, works=works, mode=None)


def two_on(number: int) -> CardRead:
    first, second = PARTS[number % 5], PARTS[(number + 2) % 5]
    return card(number, work(first, Action.CLEANED), work(second))


def told_last(cards: int) -> list[ConfirmedCard]:
    """Cards of a shop that tells what was tried in vain before the repair."""
    read = map(two_on, range(cards))
    return [ConfirmedCard(read=each, fix=each.works[-1].fix) for each in read]


def test_a_shop_that_tells_the_repair_last_is_read_so() -> None:
    strange = card(99, work("coolant hose", Action.CLEANED), work("thermostat"))
    rule = repair_on(strange, (), {})
    assert rule
    assert rule.component == "coolant hose"
    confirmed = told_last(2 * LEAST_CARDS)
    said = names_said([strange, *(each.read for each in confirmed)])
    learnt = RepairChoice.fit(confirmed, {}, said).repair_on(strange, (), said)
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
    chosen = choice.repair_on(card(1, *works), {"clock spring"}, {})
    assert (chosen in works) if works else chosen is None
