"""Failure type bytes against public lists of ISO 14229-1 / SAE J2012-DA.

The lists (a maker's diagnostic table and articles on the three-byte form) agree on the bytes
below; they differ on 1C and 1D, which therefore have no words here.
"""

import pytest

from kb.case import TroubleCode
from kb.intake.code_areas import FAILURE_CATEGORIES, FAILURE_TYPES
from kb.intake.codes import facts


@pytest.mark.parametrize(
    ("byte", "meaning"),
    [
        ("11", "short to ground"),
        ("12", "short to battery"),
        ("13", "open circuit"),
        ("14", "short to ground or open"),
        ("15", "short to battery or open"),
        ("16", "voltage too low"),
        ("17", "voltage too high"),
        ("18", "current too low"),
        ("19", "current too high"),
        ("1A", "resistance too low"),
        ("1B", "resistance too high"),
        ("1F", "intermittent"),
        ("29", "signal invalid"),
        ("31", "no signal"),
        ("64", "signal implausible"),
        ("21", "signal too weak"),
        ("22", "signal too strong"),
        ("2A", "signal stuck within its range"),
        ("46", "calibration memory fault"),
        ("56", "configuration invalid or not matching"),
        ("72", "actuator stuck open"),
        ("73", "actuator stuck closed"),
        ("7B", "fluid level too low"),
        ("81", "invalid data received"),
        ("82", "message counter wrong"),
        ("83", "message checksum wrong"),
        ("84", "value received below its range"),
        ("85", "value received above its range"),
        ("86", "value received invalid"),
        ("88", "bus off"),
        ("92", "performance or wrong operation"),
        ("93", "no operation"),
        ("94", "unexpected operation"),
        ("95", "wrongly assembled"),
        ("96", "internal fault of the component"),
        ("97", "operation obstructed or blocked"),
        ("98", "component or system too hot"),
    ],
)
def test_well_known_bytes(byte: str, meaning: str) -> None:
    assert facts(TroubleCode(code="B1234", failure_type=byte)).failure == meaning


@pytest.mark.parametrize("byte", ["1C", "1D"])
def test_bytes_that_public_lists_disagree_on_have_a_category_only(byte: str) -> None:
    told = facts(TroubleCode(code="B1234", failure_type=byte))
    assert (told.failure, told.failure_category) == (None, "electrical circuit")


# Meaning of the high digit: the same lists.
@pytest.mark.parametrize(
    ("digit", "word"),
    [
        ("0", "general"),
        ("1", "electrical"),
        ("2", "signal"),
        ("3", "pulse width"),
        ("4", "inside"),
        ("5", "programming"),
        ("6", "algorithm"),
        ("7", "mechanical"),
        ("8", "bus"),
        ("9", "component"),
    ],
)
def test_categories(digit: str, word: str) -> None:
    assert word in FAILURE_CATEGORIES[digit]
    for byte in range(16):
        told = facts(TroubleCode(code="P0171", failure_type=f"{digit}{byte:X}"))
        assert told.failure_category == FAILURE_CATEGORIES[digit]


def test_the_last_categories_are_not_of_the_standard() -> None:
    told = [
        facts(TroubleCode(code="P0171", failure_type=f"{digit}0")).failure_category
        for digit in "ABCDEF"
    ]
    assert told == ["reserved"] * 5 + ["maker-defined"]


def test_every_described_byte_has_a_category() -> None:
    assert {byte[0] for byte in FAILURE_TYPES} <= set(FAILURE_CATEGORIES)
