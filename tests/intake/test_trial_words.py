"""Tests and what was seen, in plain talk. Common practice, no source."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.findings import find_findings

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        ("drag test bad", "drag test", "bad"),
        ("checked earths: ok", "checked earths", "ok"),
        ("Checked timing marks, 1 tooth out", "Checked timing marks", "1 tooth out"),
        (
            "swapped coil 2 with 3 - misfire moved to 3",
            "swapped coil 2 with 3",
            "misfire moved to 3",
        ),
    ],
)
def test_tests_are_read_in_plain_talk(line: str, name: str, seen: str) -> None:
    (test,) = find_findings(line, TODAY).tests
    assert (test.name, test.seen) == (name, seen)


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        ("coil 3 dead on scope", "coil 3", "dead on scope"),
        ("swapped relay with horn relay no change", "swapped relay with horn relay", "no change"),
        (
            "I wiggled loom at bulkhead and it faulted",
            "I wiggled loom at bulkhead",
            "and it faulted",
        ),
        ("spark tester on 3: no spark", "spark tester on 3", "no spark"),
        ("cooled w spray restarted", "cooled w spray", "restarted"),
    ],
)
def test_a_test_may_be_told_by_what_an_instrument_showed(line: str, name: str, seen: str) -> None:
    (told,) = find_findings(line, TODAY).tests
    assert (told.name, told.seen) == (name, seen)


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        (
            "swapped coils 1 and 2: misfire moves to 2",
            "swapped coils 1 and 2",
            "misfire moves to 2",
        ),
        ("swapped coils 1 and 2: now on 2", "swapped coils 1 and 2", "now on 2"),
        ("tapped relay with screwdriver, works", "tapped relay with screwdriver", "works"),
        ("tapped starter: cranks", "tapped starter", "cranks"),
    ],
)
def test_what_was_tried_and_what_came_of_it_is_a_test(line: str, name: str, seen: str) -> None:
    found = find_findings(line, TODAY)
    assert [(each.name, each.seen) for each in found.tests] == [(name, seen)]
    assert (found.rest, found.doubts, found.attempts) == ("", (), ())


@pytest.mark.parametrize("line", ["no fault found", "NFF", "couldn't reproduce", "tidied, nff"])
def test_that_nothing_was_found_is_asked_about(line: str) -> None:
    found = find_findings(line, TODAY)
    assert (found.tests, found.rest) == ((), line)
    assert found.doubts


@given(st.sampled_from(["swapped ns/os sensor", "swopped coils 2-3", "swapped l/r caliper"]))
def test_parts_that_changed_sides_are_a_test(line: str) -> None:
    found = find_findings(f"{line}, fault moved", TODAY)
    assert (found.attempts, len(found.tests)) == ((), 1)


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        (
            "tried a known good ECU no change, put the old one back",
            "tried a known good ECU",
            "no change, put the old one back",
        ),
        ("swapped in known good coil, no change", "swapped in known good coil", "no change"),
        ("tried a good relay no change", "tried a good relay", "no change"),
        ("tried a spare relay, no change", "tried a spare relay", "no change"),
    ],
)
def test_a_good_part_lent_to_see_what_changes_is_a_test(line: str, name: str, seen: str) -> None:
    found = find_findings(line, TODAY)
    assert [(each.name, each.seen) for each in found.tests] == [(name, seen)]
    assert found.attempts == ()


def test_a_good_part_that_is_fitted_is_a_fix() -> None:
    found = find_findings("fitted known good used pump, fixed", TODAY)
    assert [each.cured for each in found.attempts] == [True]


@pytest.mark.parametrize("line", ["tried another sensor same", "tried a good coil, same fault"])
def test_a_part_tried_in_vain_shows_that_all_is_the_same(line: str) -> None:
    found = find_findings(line, date(2026, 3, 2))
    assert [test.seen.split()[0] for test in found.tests] == ["same"]
    assert (found.attempts, found.account.asked) == ((), ())


@pytest.mark.parametrize(
    ("line", "name", "seen"),
    [
        ("coil swapped 1->3 misfire moved to 3", "coil swapped 1->3", "misfire moved to 3"),
        ("swapped plugs 1<->2, stays", "swapped plugs 1<->2", "stays"),
        ("injector swapped 2 -> 4, same", "injector swapped 2 -> 4", "same"),
        (
            "Zündspule 1 mit 3 getauscht, Fehler wandert",
            "Zündspule 1 mit 3 getauscht",
            "Fehler wandert",
        ),
    ],
)
def test_two_parts_that_changed_places_are_a_test(line: str, name: str, seen: str) -> None:
    found = find_findings(line, TODAY)  # common practice, no source
    assert [(each.name, each.seen) for each in found.tests] == [(name, seen)]
    assert not found.attempts


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("ECT unplugged: -40 °C", "-40 °C"),
        ("coolant sensor unplugged -40°C", "-40°C"),
        ("checked trims: -12 %", "-12 %"),
        ("unplugged ECT - -40 C", "-40 C"),
        ("unplugged MAF: - idle drops", "idle drops"),
    ],
)
def test_what_was_seen_keeps_its_sign(text: str, seen: str) -> None:
    assert [each.seen for each in find_findings(text, TODAY).tests] == [seen]
