"""What a complaint is about: the trade's table, and the words that speak for its subjects."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.subjects import subject_lines, subjects_of, trade_subjects
from kb.intake.wording import Wording

WORDING = Wording.default()
PHRASES = sorted({phrase for _, phrases in trade_subjects().values() for phrase in phrases})
PLAIN = [phrase for phrase in PHRASES if not phrase.endswith("?")]
NO_PART = [each for head, _, words in subject_lines() if head == "where and when" for each in words]
ASIDE = [phrase.removesuffix("?") for phrase in PHRASES if phrase.endswith("?")]


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("worn tyres", {"tyres"}),
        ("passenger door won't lock", {"door locks"}),
        ("leaking power steering fluid", {"steering hydraulics"}),
        ("water in the footwell", {"water ingress"}),
        ("glow plug lamp", {"glow plugs"}),
        ("A/C not cold", {"air conditioning"}),
        ("WIPERS slow, horn dead", {"wipers", "horn"}),
        ("clonk over speed bumps", {"suspension"}),
        ("radio cuts out over bumps", {"radio and screen"}),
        ("shakes and knocks", {"wheels", "suspension"}),
        ("amber coil lamp", {"glow plugs"}),
        ("red brake lamp came on", {"brake hydraulics"}),
        ("croaks when I press the middle of the steering wheel", {"horn"}),
        ("smears in rain", {"wipers"}),
        ("limp at 3000 rpm, gone after key off", {"engine power"}),
        ("misfires in the wet", {"misfire"}),
        ("whistles at idle", {"wind and trim noise"}),
        ("shakes in gear", {"wheels", "gear change"}),
        ("steering groans lock to lock", {"steering"}),
        ("back wheel locks in the wet", {"friction brakes"}),
        ("shakes at the traffic lights", {"idle"}),
        ("misfires in damp weather", {"misfire"}),
        ("charge lamp on over bumps, on the key", {"charging"}),
        ("rear window heater off at full throttle", {"heated screen"}),
        ("airbag lamp on", {"airbags"}),
        ("air suspension sagging rear left", {"air suspension"}),
        ("code for the passenger airbag, open", {"passenger airbag"}),
        ("curtain airbag code", {"side airbags"}),
        ("clock spring worn", {"airbags", "driver airbag"}),
    ],
)
def test_a_complaint_is_about_the_part_or_function_it_names(text: str, about: set[str]) -> None:
    # common practice, no source
    assert subjects_of(text, WORDING) == about


@pytest.mark.parametrize("text", ["", "lamp on", "dead when cold", "20 min", "makes a noise"])
def test_words_that_say_nothing_are_about_nothing(text: str) -> None:
    assert not subjects_of(text, WORDING)


def test_the_longest_phrase_is_meant() -> None:
    """A wheel bearing is no wheel, and a brake light no brake."""
    assert subjects_of("wheel bearing", WORDING) == {"wheel bearings"}
    assert subjects_of("brake light", WORDING) == {"rear lamps"}


@given(st.sampled_from(PHRASES))
def test_every_phrase_of_the_table_is_found(phrase: str) -> None:
    named = {name for name, (_, phrases) in trade_subjects().items() if phrase in phrases}
    assert named <= subjects_of(phrase.removesuffix("?"), WORDING)


@pytest.mark.parametrize("phrase", NO_PART)
def test_where_or_when_something_is_speaks_of_no_part(phrase: str) -> None:
    assert not subjects_of(phrase, WORDING)
    assert subjects_of(f"horn dead {phrase}", WORDING) == {"horn"}


@given(st.text())
def test_any_text_is_about_subjects_of_the_table(text: str) -> None:
    assert subjects_of(text, WORDING) <= trade_subjects().keys()


@given(st.sampled_from(PLAIN), st.sampled_from(PLAIN))
def test_what_is_said_apart_is_found_together(one: str, other: str) -> None:
    both = subjects_of(f"{one} zzz {other}", WORDING)
    assert both == subjects_of(one, WORDING) | subjects_of(other, WORDING)


@given(st.sampled_from(PLAIN), st.sampled_from(ASIDE))
def test_what_speaks_for_a_subject_alone_is_silent_beside_a_plain_one(one: str, aside: str) -> None:
    both = subjects_of(f"{one} zzz {aside}", WORDING)
    assert both == subjects_of(one, WORDING)


@pytest.mark.parametrize(
    "complaint",
    [
        "cranks and cranks, fires up only with brake cleaner in the intake",
        "cranks ok, fires only on brake cleaner",
        "starts only with starting fluid",
        "runs on carb cleaner, dies again",
        "springt nur mit Bremsenreiniger an",
        "odpala tylko na samostart",
    ],
)
def test_what_fires_an_engine_speaks_of_fuel_and_of_no_brakes(complaint: str) -> None:
    told = subjects_of(complaint, Wording.default())
    assert "fuel supply" in told
    assert "friction brakes" not in told


def test_cleaner_on_brakes_is_of_brakes() -> None:
    told = subjects_of("brakes squeal, cleaned with brake cleaner", Wording.default())
    assert told == {"friction brakes"}
