"""VIN check digits and model years against published examples."""

import random

import pytest

from kb.intake.vin import check_digit, check_vin

PUBLISHED = [
    # 49 CFR 565's own worked example: products sum to 411, remainder 4
    ("1G4AH59H45G118341", "4"),
    # NHTSA, outline for new manufacturers: sum 314, remainder 6
    ("1J9RP1A36A1644345", "6"),
    # remainder 10 is written X: from memory, a sample VIN in common use (sum 351)
    ("1M8GDM9AXKP042788", "X"),
    # each 1 is worth 1, so the sum is that of the weights, 89: remainder 1
    ("1" * 17, "1"),
]


@pytest.mark.parametrize(("vin", "digit"), PUBLISHED)
def test_published_check_digits(vin: str, digit: str) -> None:
    assert check_digit(vin) == digit == vin[8]
    assert check_vin(vin).check_digit_right is True


def test_every_single_slip_in_a_digit_is_noticed() -> None:
    """Weights 2 to 10 are prime to 11, so no change of one digit keeps the remainder."""
    vin = PUBLISHED[0][0]
    for place, char in enumerate(vin):
        if char.isdigit() and place != 8:
            for other in set("0123456789") - {char}:
                slipped = vin[:place] + other + vin[place + 1 :]
                assert check_digit(slipped) != vin[8]


def test_one_vin_in_eleven_passes_by_chance() -> None:
    """A check modulo 11 lets about 1 in 11 random VINs pass: 10,000 draws, four sigma."""
    draw = random.Random(565)
    signs = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
    digits = "0123456789X"
    passed = 0
    for _ in range(10_000):
        vin = "".join(draw.choices(signs, k=8)) + draw.choice(digits)
        vin += "".join(draw.choices(signs, k=8))
        passed += check_digit(vin) == vin[8]
    assert abs(passed - 10_000 / 11) < 4 * (10_000 * 10 / 121) ** 0.5


# Model-year letters: 49 CFR 565.15, table VII; the cycle of 30 years by position 7.
@pytest.mark.parametrize(
    ("letter", "seventh", "year"),
    [
        ("A", "1", 1980),
        ("A", "A", 2010),
        ("H", "1", 1987),
        ("H", "A", 2017),
        ("J", "A", 2018),
        ("N", "A", 2022),
        ("P", "A", 2023),
        ("R", "A", 2024),
        ("Y", "1", 2000),
        ("1", "1", 2001),
        ("9", "1", 2009),
    ],
)
def test_model_years(letter: str, seventh: str, year: int) -> None:
    vin = f"111111{seventh}11{letter}1111111"
    assert check_vin(vin).years[0] == year


# Regions by the first character: ISO 3780, as listed publicly.
@pytest.mark.parametrize(
    ("first", "region"),
    [
        ("1", "North America"),
        ("5", "North America"),
        ("6", "Oceania"),
        ("9", "South America"),
        ("A", "Africa"),
        ("J", "Asia"),
        ("S", "Europe"),
        ("Z", "Europe"),
    ],
)
def test_regions(first: str, region: str) -> None:
    assert check_vin(first + "A" * 16).region == region
