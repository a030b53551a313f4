"""Who tells how a car fares, and of which car (made-up lines; common practice, no source)."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Outcome
from kb.intake.outcomes import judge_contact
from kb.intake.single_facts import parse_contact
from kb.intake.tellers import is_told_by_others, of_this_car

OTHERS = ["grandad", "tyre fitter", "postman", "lodger", "brother in law", "mechanic"]
OWN = ["customer", "owner", "driver", "wife", "husband"]
FINE = ["it is fine", "all good", "no more noise", "it holds"]


@given(
    whose=st.sampled_from(["his", "her", "the"]),
    who=st.sampled_from(OTHERS),
    says=st.sampled_from(["says", "reckons", "said"]),
    fine=st.sampled_from(FINE),
)
def test_whoever_else_says_it_tells_of_no_hold(whose: str, who: str, says: str, fine: str) -> None:
    words = f"{whose} {who} {says} {fine}"
    assert is_told_by_others(words)
    assert judge_contact(words) is not Outcome.HELD


@given(who=st.sampled_from(OWN), fine=st.sampled_from(FINE))
def test_who_drives_the_car_tells_that_it_holds(who: str, fine: str) -> None:
    assert not is_told_by_others(f"{who} says {fine}")
    assert judge_contact(f"{who} says {fine}") is Outcome.HELD


@pytest.mark.parametrize(
    "words",
    ["Mrs B says all good", "rang, said fine", "custmer says its fine", "fine since, says owner"],
)
def test_names_and_slips_are_no_others(words: str) -> None:
    assert not is_told_by_others(words)


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("the van's lamp is back, this car is fine", Outcome.HELD),
        ("drugi samochód znowu cieknie, ten działa dobrze", Outcome.HELD),
        ("his wife's car is back with the lamp", Outcome.NOT_TOLD),
        ("other car is fine, this one is dead again", Outcome.COMEBACK),
        ("other car has lamp on, this one holds fine", Outcome.NOT_TOLD),
    ],
)
def test_what_is_told_of_another_car_is_left_out(words: str, outcome: Outcome) -> None:
    assert judge_contact(words) is outcome


@given(st.lists(st.sampled_from(["lamp", "this one", "other", "is back", ",", ".", "fine"])))
def test_where_no_car_is_named_nothing_is_left_out(words: list[str]) -> None:
    assert of_this_car(" ".join(words)) == " ".join(words)


@pytest.mark.parametrize(
    ("words", "outcome"),
    [
        ("ça marche plus", Outcome.COMEBACK),
        ("la réparation tient plus", Outcome.COMEBACK),
        ("geht nimmer", Outcome.COMEBACK),
        ("ça marche plus ou moins", Outcome.NOT_TOLD),
        ("ça fuit plus", Outcome.NOT_TOLD),
        ("ne fuit plus", Outcome.HELD),
        ("plus aucun bruit", Outcome.HELD),
        ("ça marche bien", Outcome.HELD),
    ],
)
def test_what_works_no_more_is_no_hold(words: str, outcome: Outcome) -> None:
    assert judge_contact(words) is outcome


@pytest.mark.parametrize(
    "told",
    ["his wife says all fine", "wife says all fine", "husband says all fine",
     "her partner says all fine", "his spouse says all fine", "his daughter says all fine",
     "seine Frau sagt alles gut", "Ehemann sagt alles gut", "seine Tochter sagt alles gut",
     "sa femme dit que tout va bien", "son mari dit que ça tient", "son épouse dit que ça tient",
     "żona mówi że wszystko ok", "małżonka mówi że wszystko ok"],
)  # fmt: skip
def test_those_of_the_same_house_tell_of_a_hold(told: str) -> None:
    assert judge_contact(told) is Outcome.HELD


@pytest.mark.parametrize(
    "told",
    ["neighbour says all fine", "his dad says it runs fine", "her mother says all fine",
     "his brother says all fine", "her sister says all fine", "his mate says it's fine",
     "Nachbar sagt alles gut", "seine Mutter sagt alles gut", "sein Bruder sagt alles gut",
     "le voisin dit que tout va bien", "son frère dit que ça tient", "sa mère dit que ça tient",
     "brat mówi że wszystko ok", "jego ojciec mówi że wszystko ok"],
)  # fmt: skip
def test_others_who_may_never_have_driven_it_do_not(told: str) -> None:
    assert judge_contact(told) is Outcome.NOT_TOLD


@pytest.mark.parametrize(
    "said",
    [
        "says his brother",
        "so the neighbour tells me",
        "I heard",
        "as far as anyone knows",
        "or so they say",
        "dealer told me",
    ],
)
def test_hearsay_behind_the_word_held_takes_it_back(said: str) -> None:
    assert parse_contact(f"held, {said}", date(2026, 11, 30)).outcome is Outcome.NOT_TOLD
    assert parse_contact("held, says his wife", date(2026, 11, 30)).outcome is Outcome.HELD
