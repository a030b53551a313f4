"""What is done to a thing that nobody named, on a job that concerns an igniter, may be done to it.

What is dangerous and what is allowed is common practice of the trade, no source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, judged
from kb.safety.igniter_screen import screen
from kb.safety.igniter_steps import dangerous_step

THINGS = [
    "every plug under the seat",
    "the two pin plug",
    "the other connector",
    "the brown wire",
    "the thing in the pillar",
    "the little can",
    "the round part",
    "that one",
    "the bit behind the wheel",
    "the socket",
    "the terminals",
    "the gubbins",
    "the cylinder",
    "the bracket",
]
ACTS = [
    *("put the meter on {}", "metered {}", "continuity of {} checked with the DVM"),
    *("ohms on {}: 2.2", "probed {} for ohms", "multimeter across {}"),
    *("test lamp on {}", "put a bulb across {}", "lamp held to {}, glowed"),
    *("put 12 V on {}", "9 V to {}", "fed {} from the bench supply"),
    *("touched {} with the power probe", "bridged {} with a wire", "linked out {}"),
    *("paper clip in {}", "a bit of wire across {}", "shorted {} together"),
    *("tapped into {} for the camera feed", "soldered {}", "spliced a wire into {}"),
    *("heat gun on {}", "torch on {} till it moved", "warmed {} with the lighter"),
    *("hot air on {}", "blowlamp to {}", "baked {} in the oven", "welded next to {}"),
    *("hit {} with a hammer", "whacked {} with the mallet", "a knock on {} freed it"),
    *("drilled {} out", "chisel on {}", "levered {} off with a bar", "impact gun on {}"),
    *("sewed {} in with the machine", "stitched {} up", "glued {} back"),
]
APART = [
    "put the meter on the buckle switch, 400 ohm",
    "soldered the broken wire on the heater mat, heats again",
    "glued the plug of the seat motor back",
    "torch on the plug until I saw the green on one pin",
    "4.1 across the heater plug",
    "looked at the two pin plug",
    "cleaned the plug under the seat with the battery off, waited 10 minutes",
]


@given(st.sampled_from(ACTS), st.sampled_from(THINGS))
def test_it_is_not_shown(act: str, thing: str) -> None:
    assert not isinstance(judged(act.format(thing), igniter_job=True), Shown)


@pytest.mark.parametrize("text", APART)
def test_what_is_plainly_apart_is_shown(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True), Shown)


HIDDEN_ACTS = ["put the meter across the squib", "ohmed the squib", "lamp across the pretensioner"]


@given(act=st.sampled_from(HIDDEN_ACTS), mark=st.sampled_from([", ", "; ", " - ", ". "]))
@pytest.mark.parametrize(
    "further",
    [
        *("wiggled it live", "tapped that", "then pressed them in", "wiggled", "daran gewackelt"),
        *("key on", "powered", "engine running", "Zündung an", "contact mis", "did it again"),
    ],
)
def test_what_is_done_further_to_an_igniter_is_hidden_with_its_act(
    act: str, mark: str, further: str
) -> None:
    assert further not in screen(f"{act}{mark}{further}{mark}code back", restraint=True)


@given(act=st.sampled_from(HIDDEN_ACTS))
@pytest.mark.parametrize("further", ["lamp off for a week", "code back", "fixed", "road tested"])
def test_what_came_of_a_hidden_act_is_shown(act: str, further: str) -> None:
    assert screen(f"{act}, {further}", restraint=True).endswith(f"], {further}")


@pytest.mark.parametrize(
    "text",
    [
        "12 V to the cushion behind horn pad", "12 volts onto the pad in the steering wheel",
        "jumped 12 V to the cushion under the horn pad", "12 V an das Kissen hinter der Hupe",
        "12 V sur le coussin derrière le klaxon",
        "supplied the cushion behind the emblem with 12 V",
    ],
)  # fmt: skip
def test_a_bag_that_is_told_by_where_it_sits_is_named_on_any_job(text: str) -> None:
    assert dangerous_step(text, igniter_job=False) is not None


@pytest.mark.parametrize(
    "text",
    [
        "12 V to the horn behind the grille", "12 V at the horn contact behind the pad",
        "seat heater cushion: 12 V at its plug", "horn button switched 12 V",
        "12 V an der Hupe hinter dem Kühlergrill", "horn pad spring replaced",
    ],
)  # fmt: skip
def test_what_only_stands_near_it_is_shown(text: str) -> None:
    assert screen(text) == text
