"""States in which a reading was taken."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bands.conditions import conditions, exclude, of_kinds, told_in, told_of
from kb.case import Vehicle
from kb.intake.readings import parse_reading

NAMES = sorted(conditions())
told = st.sets(st.sampled_from(NAMES), max_size=3)


@pytest.mark.parametrize(
    ("typed", "engine", "names"),
    [
        ("battery 10.2 V while cranking", None, {"cranking"}),
        ("battery 12.6 V @ rest", None, {"at rest"}),
        ("battery 12.6 V engine not running", None, {"at rest"}),
        ("oil pressure 3 bar at 3000 rpm", None, {"at 2000 rpm or more", "running"}),
        ("oil pressure 3 bar at 800 rpm", None, {"idle", "running"}),
        ("coolant sensor 2k4 at 20 °C", None, {"cold"}),
        ("coolant sensor 300 ohm at 90 deg C", None, {"hot"}),
        ("seat mat 3 kohm empty", None, {"empty"}),
        ("seat mat 16 ohm sat on", None, {"occupied"}),
        ("crank sensor 880 ohm", None, set()),
        ("compression 24 bar", "2.0 diesel", {"diesel"}),
        ("compression 12 bar hot", "1.4 petrol", {"petrol", "hot"}),
    ],
)
def test_states_are_told_by_words_and_numbers(
    typed: str, engine: str | None, names: set[str]
) -> None:
    assert told_of(parse_reading(typed), Vehicle(engine=engine)) == names


@pytest.mark.parametrize("name", NAMES)
def test_every_state_is_told_by_its_own_name(name: str) -> None:
    assert name in told_in(name)


def test_what_a_state_implies_is_a_state() -> None:
    table = conditions()
    assert all(name in table for each in table.values() for name in each.implies)


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        ("CO 0.1 % fast idle", {"at 2000 rpm or more", "running"}),
        ("fuel pump 6 A pump running", {"switched on"}),
        ("sensor supply 0 V ignition off", {"ignition off", "at rest"}),
        ("coolant temperature 55 C after 20 min drive", {"hot"}),
        ("coolant temperature 55 C after 5 min drive", set()),
        ("throttle position sensor 4.2 V wide open", {"wide open"}),
    ],
)
def test_the_longest_words_tell_the_state(typed: str, names: set[str]) -> None:
    assert told_of(parse_reading(typed)) == names


@given(told, told)
def test_exclusion_holds_both_ways(one: set[str], other: set[str]) -> None:
    assert exclude(one, other) == exclude(other, one)


@given(told)
def test_no_state_excludes_itself_or_nothing(one: set[str]) -> None:
    assert not exclude(one, one)
    assert not exclude(one, ())


@given(told, told)
def test_states_of_different_kinds_never_exclude_one_another(
    one: set[str], other: set[str]
) -> None:
    kinds = frozenset(conditions()[name].kind for name in one)
    assert not exclude(one, other - of_kinds(other, kinds))


@given(st.text(max_size=60))
def test_any_text_tells_known_states(text: str) -> None:
    assert told_in(text) <= set(NAMES)


@pytest.mark.parametrize("deed", ["cranking", "crank", "start", "starting", "the first start"])
@pytest.mark.parametrize("before", ["before", "prior to", "b4", "just before"])
def test_before_a_start_the_engine_is_at_rest(before: str, deed: str) -> None:
    assert told_in(f"{before} {deed}") == {"at rest"}


@pytest.mark.parametrize(
    "words",
    ["vor dem Anlassen", "vor dem Starten", "avant démarrage", "avant le démarrage",
     "avant de démarrer", "przed rozruchem", "przed uruchomieniem", "pre-crank"],
)  # fmt: skip
def test_before_a_start_in_other_tongues(words: str) -> None:
    assert told_in(words) == {"at rest"}


@pytest.mark.parametrize(
    "words",
    ["after cranking", "after the cranking", "post crank", "following cranking", "after running",
     "after idling", "after start", "nach dem Anlassen", "après démarrage", "po rozruchu",
     "before running", "prior to idling", "before the a/c is on", "before ignition on"],
)  # fmt: skip
def test_what_is_over_or_to_come_is_no_state(words: str) -> None:
    assert told_in(words).isdisjoint({"cranking", "running", "idle", "ignition on"})


@pytest.mark.parametrize(
    ("words", "name"),
    [("after locking", "asleep"), ("after standing overnight", "at rest"),
     ("after a drive", "hot"), ("after ignition on", "ignition on"), ("beim Anlassen", "cranking"),
     ("au démarrage", "cranking"), ("przy rozruchu", "cranking"), ("a/c on", "running")],
)  # fmt: skip
def test_what_has_begun_and_lasts_is_a_state(words: str, name: str) -> None:
    assert name in told_in(words)


@pytest.mark.parametrize(
    ("told", "states"),
    [
        ("engine at 80", {"hot"}),
        ("hot 90 deg", {"hot"}),
        ("coolant 20", {"cold"}),
        ("engine at 800", set()),
        ("engine at 80 rpm", set()),
        ("engine at 12.5 V", set()),
        ("engine 80 km", set()),
    ],
)
def test_warmth_may_be_told_without_its_unit(told: str, states: set[str]) -> None:
    assert told_in(told) == states
