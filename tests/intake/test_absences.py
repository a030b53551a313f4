"""The absence of what nobody complained of is no cure. Common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.absences import absences, rests_on_absences


@pytest.mark.parametrize(
    ("words", "complaint", "absent"),
    [
        ("topped up coolant 1.2 l, no leak", "no crank, clicks once", ["no leak"]),
        ("replaced sump gasket, no codes stored", "oil light on", ["no codes stored"]),
        ("replaced hose no leak", "cuts out at junctions", ["no leak"]),
        ("new pump, leak gone", "no crank", ["leak gone"]),
        ("new pump. No longer leaks", "no crank", ["No longer leaks"]),
        ("new mount, keine Geräusche", "springt nicht an", ["keine Geräusche"]),
        ("joint neuf, plus de fuite", "ne démarre pas", ["plus de fuite"]),
        ("new hose, not leaking, no codes", "window slow", ["not leaking", "no codes"]),
        ("new relay, no noise, no smoke", "no crank", ["no noise", "no smoke"]),
    ],
)
def test_what_was_never_complained_of_is_found_absent(
    words: str, complaint: str, absent: list[str]
) -> None:
    assert absences(words, [complaint]) == absent
    assert rests_on_absences(words, absent)


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        ("topped up coolant, no leak", "losing coolant"),
        ("replaced sump gasket, no leaks", "oil light on, level at min"),
        ("new sensor, no codes", "ABS light on"),
        ("new sensor, no codes", "P0171 stored"),
        ("new bush, no knock", "clunk over bumps"),
        ("new disc, no vibration", "steering judders when braking"),
        ("new mount, no noise", "groans on take-off"),
        ("new relay, no problem", "no crank"),
        ("new relay, starts every time", "no crank"),
        ("leaks at the pump; new pump, no leaks", "overheats"),
        ("new motor, cured", "wiper dead"),
    ],
)
def test_what_was_complained_of_or_is_no_absence_is_left(words: str, complaint: str) -> None:
    assert absences(words, [complaint]) == []


def test_another_cure_beside_an_absence_stands() -> None:
    words = "new relay, no leak, starts every time"
    assert not rests_on_absences(words, absences(words, ["no crank"]))


@given(st.sampled_from(["no leak", "no codes", "no noise", "no smoke"]), st.text(max_size=40))
def test_what_is_absent_is_found_in_the_words(clause: str, complaint: str) -> None:
    found = absences(f"new part, {clause}", [complaint])
    assert found in ([], [clause])
