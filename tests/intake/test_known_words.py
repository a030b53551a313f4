"""What is no slip of another word."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.items import trade_wording
from kb.intake.known_words import ORDINARY_FILE, is_known, is_meant
from kb.intake.wording import Wording, trade_shorthand

WORDING = trade_wording()
ORDINARY = [
    "worn",
    "drain",
    "drained",
    "drains",
    "gear",
    "gears",
    "might",
    "brakes",
    "braking",
    "squeals",
    "judders",
    "wobbles",
    "kerb",
    "tyres",
    "leaking",
    "steam",
    "burnt",
    "fed",
    "glows",
    "hesitates",
    "stalls",
    "surging",
    "seeps",
    "damp",
    "corroded",
    "rattles",
    "after",
    "cold",
    "when",
    "only",
    "both",
    "again",
    "under",
    "heater",
    "whines",
    "sooty",
    "wets",
    "lever",
]
"""Plain English as a dictionary has it; from memory."""
SLIPS = [
    "brakng",
    "batery",
    "coolent",
    "intermitent",
    "alternater",
    "steerin",
    "vibrats",
    "sqeals",
    "hesitats",
    "ovreheats",
    "flikcers",
    "corodded",
    "whel",
    "pumpp",
    "swtich",
]


def test_ordinary_words_and_their_forms_are_known() -> None:
    assert [word for word in ORDINARY if not is_known(word, WORDING)] == []


@pytest.mark.parametrize("word", SLIPS)
def test_slips_are_not(word: str) -> None:
    assert not is_known(word, WORDING)


def test_the_trade_s_shorthand_and_what_it_means_are_known() -> None:
    every = sorted(trade_shorthand())
    assert every
    assert [short for short in every if not is_known(short, WORDING)] == []
    meant = {short: WORDING.tokens(short) for short in every}
    assert [s for s, words in meant.items() if not all(is_known(w, WORDING) for w in words)] == []


def test_the_shop_s_own_words_and_names_are_known() -> None:
    shop = Wording.default({"sqib": "igniter zorblet", "belt tensyoner": "pretensioner"})
    for word in ("sqib", "zorblet", "tensyoner"):
        assert is_known(word, shop)
        assert not is_known(word, WORDING)


@given(st.integers(0, 10**6), st.sampled_from(["", ".4", "v", "k", "/16"]))
def test_a_number_is_never_a_slip_of_another(number: int, end: str) -> None:
    assert is_known(f"{number}{end}", WORDING)


def test_the_list_of_ordinary_words_is_read_only_for_a_strange_word() -> None:
    script = (
        "import sys\n"
        "from kb.intake.items import trade_wording\n"
        "from kb.intake.known_words import is_known\n"
        "print(is_known('pretensioner', trade_wording()), 'simplemma' in sys.modules)\n"
        "print(is_known('drizzled', trade_wording()), 'simplemma' in sys.modules)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], check=True, capture_output=True, text=True
    )
    assert done.stdout.split() == ["True", "False", "True", "True"]


@pytest.mark.parametrize(
    "word",
    ["fehlt", "lenkt", "läuft", "laeuft", "klemmt", "schliesst", "coule", "cale", "gele", "gaśnie"],
)
def test_an_ordinary_word_of_another_language_is_no_mistake(word: str) -> None:
    assert is_meant(word, WORDING)


def test_the_ordinary_words_of_other_languages_stand_once_and_are_long_enough_to_be_mistaken() -> (
    None
):
    lines = ORDINARY_FILE.read_text(encoding="utf-8").splitlines()
    told = [line.split() for line in lines if line and line[0] != "#"]
    assert all(len(word) > 3 and word == word.lower() for line in told for word in line)


@pytest.mark.parametrize("word", ["brakng", "leakt", "stering", "hetaer"])
def test_a_slip_of_english_is_still_a_mistake(word: str) -> None:
    assert not is_meant(word, WORDING)
