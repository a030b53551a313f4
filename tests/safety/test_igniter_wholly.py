"""What is told wholly in the words of a harmless kind is shown, and nothing that somebody adds.

What is dangerous and what is allowed is common practice of the trade, no source.
"""

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.items import trade_wording
from kb.safety.igniter import Shown, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import sentences_of
from kb.safety.igniter_reasons import instead_of
from kb.safety.igniter_screen import screen
from kb.safety.igniter_steps import dangerous_step
from kb.safety.igniter_wholly import TABLE, wholly_harmless
from kb.safety.never import forbidden_step

TOLD = tomllib.loads(Path(__file__).with_name("igniter_wholly.toml").read_text(encoding="utf-8"))
UNNAMED, CARRIED = TOLD.pop("no_word_names_it"), TOLD.pop("carried_off")
HARMLESS = [text for kind in TOLD.values() for text in kind["harmless"]]
DANGEROUS = [text for kind in TOLD.values() for text in kind["dangerous"]]
OF_A_KIND = [text for text in HARMLESS if all(wholly_harmless(sentences_of(text), trade_wording()))]
DONE_TO_IGNITER = [
    *("squib 2.1 ohm", "bag metered, 2.2", "put the meter on the bag", "2.1 across the bag"),
    *("bridged the yellow plug", "test lamp on the bag plug", "12 V on the squib"),
    *("resistor left in", "unplugged the bag with the key on", "bag from a breaker fitted"),
    *("did the same on the pretensioner", "probed its two yellow wires", "soldered the bag wires"),
]


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


def test_what_is_harmless_is_shown_and_not_asked_about() -> None:
    assert [text for text in HARMLESS if not is_shown(text)] == []
    assert [text for text in HARMLESS if dangerous_step(text, igniter_job=True)] == []


def test_the_like_of_it_that_is_dangerous_is_hidden() -> None:
    assert [text for text in DANGEROUS if is_shown(text)] == []
    assert len(DANGEROUS) > len(HARMLESS) / 2


def test_most_of_it_is_shown_for_being_of_a_kind() -> None:
    assert len(OF_A_KIND) > len(HARMLESS) / 2


@given(
    st.sampled_from(OF_A_KIND),
    st.sampled_from(DONE_TO_IGNITER),
    st.sampled_from([", {}", "; {}", " and {}", ". {}", ", then {}", " - {}"]),
    st.booleans(),
)
def test_nothing_that_is_done_to_an_igniter_makes_it_of_the_kind(
    text: str, deed: str, joint: str, first: bool
) -> None:
    told = deed + joint.format(text) if first else text.rstrip(".") + joint.format(deed)
    assert not all(wholly_harmless(sentences_of(told), trade_wording()))


@pytest.mark.parametrize(
    "text",
    [
        "injector ok, measured at its plug. Then the squib.",
        "door speaker 4 ohm by meter. Same at the yellow plug, 2.1.",
        "load not left in the car. Resistor is.",
    ],
)
def test_a_next_sentence_that_goes_on_releases_nothing(text: str) -> None:
    assert not is_shown(text)


@given(st.sampled_from(OF_A_KIND), st.sampled_from(DONE_TO_IGNITER), st.data())
def test_nor_in_its_midst(text: str, deed: str, data: st.DataObject) -> None:
    words = text.split()
    at = data.draw(st.integers(min_value=1, max_value=max(1, len(words) - 1)))
    told = " ".join([*words[:at], ",", deed, ",", *words[at:]])
    assert not all(wholly_harmless(sentences_of(told), trade_wording()))


def test_what_no_word_names_is_named_by_where_it_is_done() -> None:
    assert [t for t in UNNAMED["dangerous"] if not dangerous_step(t, igniter_job=False)] == []
    assert [t for t in UNNAMED["harmless"] if dangerous_step(t, igniter_job=False)] == []


def test_a_live_bag_that_is_carried_off_is_told_as_that() -> None:
    expected = instead_of(Reason.STORED)
    for text in CARRIED["dangerous"]:
        danger = dangerous_step(text, igniter_job=True)
        assert danger is not None
        assert danger.instead == expected or "licensed carrier" in danger.instead
    assert [t for t in CARRIED["harmless"] if dangerous_step(t, igniter_job=True)] == []


@pytest.mark.parametrize("number", ["2", "2.2", "12"])
def test_a_number_alone_is_said_to_be_unread_and_is_no_step(number: str) -> None:
    assert "could not be read" in screen(number, restraint=True)
    assert dangerous_step(number, igniter_job=True) is None


@pytest.mark.parametrize(
    ("before", "text"),
    [
        ("Car on the jack.", "Slid below for a minute."),
        ("On the jack.", "Went below for a second."),
        ("Not proved dead, no time.", "Cable off."),
        ("orange cable off.", "Did not prove it dead."),
    ],
)
def test_a_danger_is_known_over_two_sentences(before: str, text: str) -> None:
    assert forbidden_step(text, trade_wording(), before=before) is not None


def test_every_group_of_words_is_known_and_of_use() -> None:
    table = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    forms = [form for kind in table["kind"] for told in kind["clauses"].values() for form in told]
    used = " ".join([*forms, *(form for group in table["groups"].values() for form in group)])
    assert set(re.findall(r"<([a-z ]+)>", used)) == table["groups"].keys()
    assert all(set(kind["needs"]) <= kind["clauses"].keys() for kind in table["kind"])
