"""Own words for what a test showed mean the outcome that has a phrase of them; common practice, no
source."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.told_outcome import outcome_told

TESTS = {each.name: each for each in general_tests().test}


def told(name: str, text: str) -> int | None:
    """Return the place of the outcome meant."""
    outcome = outcome_told(TESTS[name], text)
    return None if outcome is None else TESTS[name].outcome.index(outcome)


@pytest.mark.parametrize(
    ("name", "text", "place"),
    [
        ("swap left and right", "stays on 3", 1),
        ("swap left and right", "misfire moved to cyl 2", 0),
        ("swap left and right", "doesn't seem to follow the coil", 1),
        ("swap the wheels", "vibration went with the wheel to the back", 0),
        ("injector leak-off test", "cyl 2 returns 4 times the others", 0),
        ("injector leak-off test", "all four bottles about even", 1),
        ("fed directly", "pump runs on a fused lead", 1),
        ("fed directly", "won't turn, not even warm", 0),
        ("supply and earth at its plug", "no volts but good ground, no feed", 1),
        ("terminal drag test", "pin 3 has no grip at all", 0),
        ("combustion-gas test", "fluid stayed blue", 1),
        ("play check with a lever", "couldn't find any play: no play", 1),
        ("wiggle test with live reading", "nothing moved the value, steady", 1),
        ("load test", "failed, 320 of 640 A", 0),
        ("pressure test", "held 1.1 bar for 20 minutes", 2),
        ("swap left and right", "it significantly moved", 0),
        ("swap left and right", "it can’t follow the coil", 1),
    ],
)
def test_a_phrase_of_one_outcome_means_it(name: str, text: str, place: int) -> None:
    assert told(name, text) == place


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("swap left and right", "moved, later it stays"),
        ("swap left and right", "only swapped so far"),
        ("turned by hand", "not rough and no free play to speak of, yet loose"),
        ("pressure test", ""),
    ],
)
def test_phrases_of_two_or_none_mean_nothing(name: str, text: str) -> None:
    assert told(name, text) is None


def test_every_phrase_means_its_own_outcome_and_no_other() -> None:
    wrong = [
        (test.name, phrase)
        for test in TESTS.values()
        for outcome in test.outcome
        for phrase in outcome.told
        if outcome_told(test, phrase.replace("*", "")) is not outcome
    ]
    assert wrong == []


@given(
    test=st.sampled_from([each for each in TESTS.values() if each.outcome[0].told]), data=st.data()
)
def test_a_denied_phrase_never_means_its_outcome(test: GeneralTest, data: st.DataObject) -> None:
    outcome = test.outcome[0]
    plain = [phrase for phrase in outcome.told if phrase.split()[0] not in {"no", "not", "nothing"}]
    if not plain:
        return
    phrase = data.draw(st.sampled_from(plain)).replace("*", "")
    denial = data.draw(st.sampled_from(["not", "never", "didn't", "no", "doesn't ever"]))
    assert outcome_told(test, f"{denial} {phrase}") is not outcome


@given(text=st.text(max_size=80), test=st.sampled_from(list(TESTS.values())))
def test_any_text_means_one_outcome_of_the_test_or_none(text: str, test: GeneralTest) -> None:
    found = outcome_told(test, text)
    assert found is None or found in test.outcome


def test_no_phrase_stands_twice_in_one_test() -> None:
    for test in TESTS.values():
        phrases = sorted(phrase for outcome in test.outcome for phrase in outcome.told)
        assert all(one != other for one, other in pairwise(phrases)), test.name
