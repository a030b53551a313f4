"""What goes on from hidden words is hidden with them. Common practice, no source."""

import pytest

from kb.safety.igniter import Shown, judged
from kb.safety.igniter_screen import screen

AT_IT = [
    "hit the squib connector with 12V, {}",
    "soldered the squib wire, {}",
    "test lamp on the bag plug. {}",
    "ohmed the driver bag; {}",
]


@pytest.mark.parametrize("danger", AT_IT)
@pytest.mark.parametrize(
    "told",
    ["it fired", "then baked at 80", "worked first time", "lit nicely", "it read fine",
     "leuchtet schön", "back in", "popped straight away", "as good as new", "works a treat"],
)  # fmt: skip
def test_what_goes_on_from_it_is_hidden_with_it(danger: str, told: str) -> None:
    shown = screen(danger.format(told), restraint=True)
    assert shown.startswith("[not shown")
    assert told.lower() not in shown.lower()


@pytest.mark.parametrize("danger", [AT_IT[0], *AT_IT[2:]])
@pytest.mark.parametrize("told", ["code back", "lamp off", "customer happy", "new clock spring"])
def test_what_names_something_of_its_own_stays(danger: str, told: str) -> None:
    assert told in screen(danger.format(told), restraint=True)


@pytest.mark.parametrize(
    "text", ["clock spring replaced, worked first time", "new buckle fitted, it clicks"]
)
def test_beside_what_is_harmless_it_is_shown(text: str) -> None:
    assert screen(text, restraint=True) == text


@pytest.mark.parametrize("text", ["please, leave the bag alone", "Bitte, Airbag nicht anfassen"])
def test_a_clause_of_please_alone_is_read(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True), Shown)
