"""What was left alone, or wished and refused, is not judged; what was done all the same is."""

import pytest

from kb.intake.items import trade_wording
from kb.safety.igniter import Shown, judged
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_not_done import left_to_judge


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@pytest.mark.parametrize(
    "text",
    [
        "seat heater mat 1.8 ohm at its own plug, side bag not touched",
        "occupancy mat plug measured 0.9k, yellow plug left alone",
        "belt buckle switch 400 ohm open, 100 ohm closed, tensioner not touched",
        "Sitzheizung am eigenen Stecker gemessen 2,1 Ohm, Seitenairbag nicht angefasst",
        "was going to meter the bag but the book says no, read it with the scan tool instead, 2.1",
        "Azubi wollte Zündpille messen, vom Meister verboten",
        "client voulait une résistance à la place de l'airbag, refusé",
        "uczeń chciał zmierzyć napinacz miernikiem, zabroniłem",
        "did not measure across the squib, used the maker's dummy load",
        "customer asked for a resistor, refused, new bag fitted after battery off and wait",
    ],
)
def test_what_was_left_alone_or_refused_hides_nothing(text: str) -> None:
    assert is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "lad wanted to meter the bag, told him no, did it anyway when I was at lunch",
        "I wanted to check squib with lamp but book says no, quick go would not hurt, lamp lit",
        "customer wanted a resistor, refused first, fitted it in the end",
        "wanted to ohm the bag but not allowed, so used a test lamp on it",
        "seat heater plug left alone, side bag plug metered 2.1",
        "measured the yellow plug 2.1, bag left alone",
        "not a squib they said, meter on it showed 2.0",
        "did not measure across the squib, across the plug instead 2.1",
        "did not measure the squib with the meter, used a test lamp",
        "no meter near the bag, just a bulb and a battery on its plug",
        "Azubi wollte Zündpille messen, erst verboten, dann doch gemessen 2,1",
        "client voulait une résistance, refusé, puis posée quand même",
        "airbag ecu set to no side bags",
        "no beep at the seat bag",
    ],
)
def test_what_was_done_all_the_same_is_hidden(text: str) -> None:
    assert not is_shown(text)


@pytest.mark.parametrize("alone", ["side bag plug left alone", "tensioner not touched"])
@pytest.mark.parametrize(
    "deed", ["ohmed the squib", "test lamp on the yellow plug", "2.1 ohm at the bag plug"]
)
def test_a_deed_stays_hidden_whatever_was_left_alone_beside_it(deed: str, alone: str) -> None:
    assert not is_shown(f"{deed}, {alone}")
    assert not is_shown(f"{alone}, {deed}")


def test_only_the_clauses_that_tell_of_nothing_done_are_left_out() -> None:
    sentence = clauses_of("buckle switch metered, tensioner not touched", trade_wording())
    assert left_to_judge(sentence) == sentence[:1]
    deed = clauses_of("ohmed the squib, lamp off", trade_wording())
    assert left_to_judge(deed) == deed


@pytest.mark.parametrize("rather", ["rather than", "instead of", "sooner than"])
@pytest.mark.parametrize("part", ["squib", "side bag", "LF belt tensioner"])
@pytest.mark.parametrize("tool", ["meter", "test lamp"])
def test_a_way_that_was_not_chosen_hides_nothing(rather: str, part: str, tool: str) -> None:
    assert is_shown(f"{rather} put a {tool} on the {part} we fitted the load, code changed")
    assert not is_shown(f"{rather} fit the load we put a {tool} on the {part}")
    assert not is_shown(f"{rather} put a {tool} on the {part} we measured it with the load in")


@pytest.mark.parametrize("tool", ["meter", "test lamp", "dummy load"])
@pytest.mark.parametrize("place", ["the drawer", "its case", "the toolbox"])
def test_a_tool_that_is_put_away_is_on_nothing(tool: str, place: str) -> None:
    assert is_shown(f"{tool} stays in {place}")
    assert is_shown(f"{tool} back in {place}, lamp off")
    assert not is_shown("meter out of the drawer and on the squib")
    assert not is_shown("meter on the squib, drawer shut")


@pytest.mark.parametrize(
    "text",
    [
        "please don't be tempted to try the squib with a battery; the tool tells you",
        "it is tempting to measure the bag but the scan tool gives the same",
        "asked if we could read the bag with his meter, told him no and gave him a coffee instead",
        "customer's mate metered it before, we fitted new",
    ],
)
def test_a_temptation_withstood_hides_nothing(text: str) -> None:
    assert is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "it is tempting to measure the bag but the box reports nothing so I did it",
        "tempting to meter the bag so I did, box reports the same",
        "asked if he could ohm the bag, answer was yes",
    ],
)
def test_a_temptation_followed_is_hidden(text: str) -> None:
    assert not is_shown(text)
