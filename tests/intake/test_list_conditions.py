import pytest

from kb.intake.list_conditions import kinds_told
from kb.intake.reading_search import find_readings


@pytest.mark.parametrize(
    ("line", "condition"),
    [
        ("comp cyl 1 12,4 bar, cyl 2 11.9 bar, cyl 3 12.1, cyl 4 12.3 bar, warm wot", "warm, wot"),
        ("compression cyl 1 12 bar, cyl 2 11 bar and cyl 3 9 bar warm", "warm"),
        ("injector 1 14.2 ohm, injector 2 14.4 ohm cold", "cold"),
        ("LP 4.1 bar HP 9.5 bar at idle 28 °C ambient", "idle, 28 °C ambient"),
    ],
)
def test_a_condition_told_once_behind_a_list_is_of_all(line: str, condition: str) -> None:
    found = find_readings(line)
    assert {each.condition for each in found.readings} == {condition}
    assert found.rest == ""


@pytest.mark.parametrize(
    ("line", "conditions"),
    [
        ("compression cyl 1 12 bar, cyl 2 11 bar, cyl 3 5 bar wet", [None, None, "wet"]),
        ("coil 1 0.7 ohm, coil 2 0.7 ohm, coil 3 OL hot", [None, None, "hot"]),
        ("coil 1 0.7 ohm cold, coil 2 0.7 ohm, coil 3 0.9 ohm hot", ["cold", None, "hot"]),
        ("battery 12.4 V, oil pressure 3.1 bar hot", [None, "hot"]),
    ],
)
def test_what_may_be_of_one_alone_stays_with_it(line: str, conditions: list[str | None]) -> None:
    assert [each.condition for each in find_readings(line).readings] == conditions


@pytest.mark.parametrize(
    ("line", "condition", "rest"),
    [
        ("rail pressure 260 bar cranking, hot", "cranking, hot", ""),
        ("rail druck jetzt 260 bar beim starten, heiß", "cranking, hot", ""),
        ("battery 12.1 V cold, hot", "cold", "hot"),
        ("maf 3.1 g/s idle 22C", "idle, 22C", ""),
        ("coolant idle 92C", "idle", ""),
    ],
)
def test_a_state_more_is_taken_unless_there_is_one_of_its_kind(
    line: str, condition: str, rest: str
) -> None:
    found = find_readings(line)
    assert (found.readings[0].condition, found.rest) == (condition, rest)


def test_kinds_of_what_nobody_knows_are_not_told() -> None:
    assert kinds_told("on the second try") is None


@pytest.mark.parametrize(
    ("line", "conditions"),
    [
        ("warm: cyl 1 12.4 bar, cyl 2 11.9 bar", ["warm", "warm"]),
        ("cold: comp cyl 1 9.4 bar, cyl 2 9 bar; hot: cyl 1 10 bar", ["cold", "cold", "hot"]),
        ("kalt: comp cyl 1 9.4 bar, cyl 2 9 bar", ["cold", "cold"]),
        ("warm: lamp on, feed 4 V", [None]),
        ("warm: comp cyl 1 12 bar, cyl 2 11 bar cold", ["cold", "cold"]),
    ],
)
def test_a_state_with_a_colon_before_a_list_is_of_all(
    line: str, conditions: list[str | None]
) -> None:
    assert [each.condition for each in find_readings(line).readings] == conditions
