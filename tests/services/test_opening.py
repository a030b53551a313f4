"""Answers to an opening, each judged as soon as it is given."""

import pytest

from kb.case import Vehicle
from kb.errors import InvalidField
from kb.intake.wording import Wording
from kb.services.opening import OpeningAnswers

KNOWN = Vehicle(ref="K031", make="Halbrecht", model="Ostra", year=2011)
SHOP = OpeningAnswers(vehicles=[KNOWN], models=(), wording=Wording.default())


@pytest.mark.parametrize("text", ["12.6", "12,6 V", "halbrecht ostra 2011", "K031"])
def test_a_number_or_a_car_alone_is_no_complaint(text: str) -> None:
    with pytest.raises(InvalidField, match="and nothing else"):
        SHOP.complaint(text)


@pytest.mark.parametrize("text", ["abs lite on", "pulls left", "no crank clicks once"])
def test_words_are_no_tag(text: str) -> None:
    with pytest.raises(InvalidField, match="no key tag"):
        SHOP.tag(text)


@pytest.mark.parametrize("text", ["y", "Yes", "n", "no"])
def test_a_stray_yes_or_no_is_no_tag(text: str) -> None:
    with pytest.raises(InvalidField, match="no answer to this"):
        SHOP.tag(text)


@pytest.mark.parametrize("text", ["K031", "k31", "K99", "red 7", "halbrecht ostra 2011"])
def test_a_tag_or_a_car_in_its_place_is_taken(text: str) -> None:
    assert SHOP.tag(text) == text


def test_only_a_tag_that_nobody_has_is_asked_about() -> None:
    assert SHOP.cars_like("k31") == SHOP.cars_like("KO31") == [KNOWN]
    assert SHOP.cars_like("k031") == SHOP.cars_like("K32") == []


def test_the_complaint_alone_calls_for_cautions() -> None:
    assert "fire" in SHOP.cautions("airbag lamp on")[0]
