"""Causes that name none, two, or what it was not (made-up lines; common practice, no source)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import FailureMode
from kb.errors import InvalidField
from kb.intake.causes import read_cause
from kb.intake.items import trade_items
from kb.intake.unproved import objection_to, without_denied


@pytest.mark.parametrize(
    "text",
    ["either the ECU or the loom, never found out", "loom or ECU open, never found out which",
     "ECU open or loom open, not sure which", "entweder Steuergerät oder Kabelbaum, open",
     "soit le calculateur soit le faisceau, open", "albo sterownik albo wiązka, open",
     "wiring loom or connector under seat, open", "Pumpe oder Relais, open",
     "pompe ou relais, open", "pompa lub przekaźnik, open"],
)  # fmt: skip
def test_one_of_two_is_no_cause(text: str) -> None:
    with pytest.raises(InvalidField, match=r"names two.*--no-cause"):
        read_cause(text)


@pytest.mark.parametrize(
    "text",
    ["no fault found", "NFF", "nothing found, open", "cause unknown", "could not find it, open",
     "kein Fehler gefunden", "Ursache unbekannt", "rien trouvé", "cause inconnue",
     "nie znaleziono usterki", "brak usterki"],
)  # fmt: skip
def test_where_none_was_found_it_is_told_how_to_say_so(text: str) -> None:
    with pytest.raises(InvalidField, match="none was found: --no-cause"):
        read_cause(text)


@pytest.mark.parametrize(
    "text",
    [
        "could be the ECU, open",
        "probably the fuel pump, worn",
        "fuel pump worn?",
        "vermutlich Pumpe, worn",
        "peut-être la pompe, worn",
        "chyba pompa, worn",
    ],
)
def test_a_guess_is_asked_about(text: str) -> None:
    with pytest.raises(InvalidField, match="tells a guess"):
        read_cause(text)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("not the alternator, it was the earth strap, corroded", "earth strap"),
        ("not the battery but the earth strap, corroded", "earth strap"),
        ("it was not the fuse box, it was the earth strap, corroded", "earth strap"),
        ("not the pump - the relay, open", "relay"),
        ("earth strap, not the alternator, corroded", "earth strap"),
        ("earth strap corroded, not alternator", "earth strap"),
        ("earth strap, corroded (not the alternator)", "earth strap"),
        ("nicht die Pumpe, sondern das Relais, open", "relais"),
        ("pas la pompe, c'était le relais, open", "relais"),
        ("nie pompa, tylko przekaźnik, open", "przekaźnik"),
    ],
)
def test_a_denied_part_is_no_part_of_the_name(text: str, part: str) -> None:
    cause = read_cause(text)
    assert (cause.component, cause.location) == (part, None)
    assert cause.words == text


def test_a_denied_part_alone_is_no_cause() -> None:
    with pytest.raises(InvalidField, match="names no component"):
        read_cause("not the alternator, corroded")


def test_never_found_out_is_no_place() -> None:
    cause = read_cause("starter, never found out why")
    assert (cause.component, cause.location, cause.failure_mode) == (
        "starter", None, FailureMode.UNKNOWN,
    )  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "relay not closing, worn",
        "connector pin not crimped, open",
        "door loom open or shorted",
        "fuse, wrong part",
        "wire not connected, open",
        "starter, unknown",
    ],
)
def test_how_a_part_failed_is_no_denial(text: str) -> None:
    assert objection_to(text) is None
    assert without_denied(text) == text


@given(st.sampled_from(sorted(trade_items().words)), st.sampled_from(FailureMode))
def test_a_part_and_how_it_failed_are_always_read(part: str, mode: FailureMode) -> None:
    text = f"{part}, {mode}"
    assert objection_to(text) is None
    assert without_denied(text) == text
