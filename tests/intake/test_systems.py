from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import System, TroubleCode
from kb.errors import InvalidField
from kb.intake.systems import guess_system, parse_system, system_of_code, trade_words


@pytest.mark.parametrize("system", System)
def test_every_system_is_read_by_its_name(system: System) -> None:
    assert parse_system(system.value) is system
    assert parse_system(f"  {system.value.upper()} ") is system


@pytest.mark.parametrize(
    ("text", "system"),
    [
        ("brakes", System.BRAKES_WHEEL_SPEED),
        ("srs", System.RESTRAINTS),
        ("airbag", System.RESTRAINTS),
        ("hv", System.HIGH_VOLTAGE),
        ("body", System.BODY_ELECTRICS),
        ("restr", System.RESTRAINTS),
        ("colling", System.COOLING),
        ("gearbox", System.TRANSMISSION),
        ("susp", System.STEERING_SUSPENSION),
    ],
)
def test_what_people_type(text: str, system: System) -> None:
    assert parse_system(text) is system


@pytest.mark.parametrize(
    ("text", "system"),
    [
        ("LR door does not close, lock jams", System.BODY_ELECTRICS),
        ("airbag lamp on after slamming door", System.RESTRAINTS),
        # the clock spring carries both: common practice, no source
        ("airbag lamp on, horn dead", System.RESTRAINTS),
        ("airbag lamp on, comes when steering turned", System.RESTRAINTS),
        ("horn dead", System.BODY_ELECTRICS),
        ("steering heavy when turning", System.STEERING_SUSPENSION),
        ("brakes grab in reverse", System.BRAKES_WHEEL_SPEED),
        ("cannot get reverse", System.TRANSMISSION),
        ("noise front right over bumps", System.STEERING_SUSPENSION),
        ("compression low on 2, other cylinders good", System.ENGINE_MECHANICAL),
        ("the other day", None),
        ("window dead, 11.9 V on feed", System.BODY_ELECTRICS),
        ("wipers stop, light on", System.BODY_ELECTRICS),
        ("battery low with lights on", System.CHARGING_STARTING),
        ("battery low w/lights on", System.CHARGING_STARTING),
    ],
)
def test_some_words_speak_only_where_nothing_else_does(text: str, system: System | None) -> None:
    """Common practice, no source."""
    assert guess_system(text) is system


@pytest.mark.parametrize("text", ["", "xyz", "c", "the whole car"])
def test_a_refusal_lists_the_choices(text: str) -> None:
    with pytest.raises(InvalidField, match=r"restraints, .* other"):
        parse_system(text)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(InvalidField):
        assert parse_system(text) in System
    assert guess_system(text) in (*System, None)


@pytest.mark.parametrize(
    ("text", "codes", "system"),
    [
        ("airbag lamp on", [], System.RESTRAINTS),
        ("LF pretens reads high", [], System.RESTRAINTS),
        ("auto box slips 3-4 when hot", [], System.TRANSMISSION),
        ("ATF dark, bangs into reverse", [], System.TRANSMISSION),
        ("ABS light, w/s sensor RR", [], System.BRAKES_WHEEL_SPEED),
        ("WON'T START, BATTERY FLAT", [], System.CHARGING_STARTING),
        ("brake lights stay on", [], System.BODY_ELECTRICS),
        ("rough at idle", ["P0301"], System.IGNITION),
        ("makes a noise", [], None),
        ("airbag lamp and abs lamp on", [], None),
        ("lamp on", ["B1234", "U0100"], None),
    ],
)
def test_guesses_from_words_and_codes(text: str, codes: list[str], system: System | None) -> None:
    assert guess_system(text, [TroubleCode(code=code) for code in codes]) is system


@pytest.mark.parametrize("code", ["B1234", "P1234", "C1234", "U0100", "U1234", "P0600", "P0460"])
def test_codes_that_serve_several_parts_tell_none(code: str) -> None:
    assert system_of_code(TroubleCode(code=code)) is None


def test_the_trade_words_name_every_system_and_no_phrase_is_torn() -> None:
    table = trade_words()
    assert set(table.values()) == set(System)
    assert all(word == word.lower().strip() for word in table)
    # a phrase torn at a line's end would leave one of these on its own
    assert not {"air", "clock", "light", "flow meter", "sensor"} & set(table)


@pytest.mark.parametrize(
    ("text", "system"),
    [
        ("battery low w/ lights and blower on", System.CHARGING_STARTING),
        ("alternator 13.2 V with blower, lights and heater on", System.CHARGING_STARTING),
        ("alternator weak mit heater und blower an", System.CHARGING_STARTING),
        ("alternator weak avec blower et heater en marche", System.CHARGING_STARTING),
        ("alternator weak z blower i heater włączonymi", System.CHARGING_STARTING),
        ("noise with a/c on", None),
        ("a/c not cold with blower on", System.CLIMATE),
        ("blower dead", System.CLIMATE),
    ],
)
def test_a_load_is_not_what_a_complaint_is_about(text: str, system: System | None) -> None:
    assert guess_system(text) is system
