"""Limits that hold by what is told beside a value: the system's voltage, the grade, the injection.

Insulation: UNECE R100, 5.1.3.1 and 5.1.3.2, at least 100 ohm a volt of a bus of direct voltage and
500 of one of alternating voltage or of both joined. Brake fluid: FMVSS 116, wet boiling points of
140, 155 and 180 °C for DOT 3, 4 and 5.1. The rest is common practice, no source.
"""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bands.judgement import Finding, judge
from kb.bands.limits import find_limit, read_limits, trade_limits
from kb.case import Vehicle
from kb.errors import InvalidField
from kb.intake.reading_search import find_readings
from kb.intake.readings import parse_reading
from kb.intake.values import parse_value
from kb.intake.wording import Wording
from tests.bands.circuits import READINGS, WORDS

CASES = [
    ("insulation resistance HV 50 kohm", Finding.BAD_LOW),
    ("insulation resistance 60 kohm 800 V", Finding.BAD_LOW),
    ("insulation resistance 60 kohm at 800 V", Finding.BAD_LOW),
    ("insulation resistance 60 kohm 800 V dc", Finding.BAD_LOW),
    ("insulation resistance 60 kohm 400 V dc", Finding.DOUBTFUL),
    ("insulation resistance 30 kohm 400 V dc", Finding.BAD_LOW),
    ("insulation resistance 150 kohm 400 V", Finding.BAD_LOW),
    ("insulation resistance 250 kohm 400 V", Finding.DOUBTFUL),
    ("insulation resistance 450 kohm 1000 V", Finding.BAD_LOW),
    ("insulation resistance 300 kohm at 500 V", Finding.DOUBTFUL),
    ("insulation resistance 550 kohm 1000 V", Finding.GOOD),
    ("insulation resistance 2 Mohm at 500 V", Finding.GOOD),
    ("brake fluid boiling point 160 C", Finding.CANNOT_TELL),
    ("brake fluid boiling point 160 C DOT 4", Finding.GOOD),
    ("brake fluid boiling point 160 C dot 5.1", Finding.BAD_LOW),
    ("brake fluid boiling point 145 C dot 3", Finding.GOOD),
    ("brake fluid boiling point 145 C dot 4", Finding.BAD_LOW),
    ("brake fluid boiling point 185 C", Finding.GOOD),
    ("tyre pressure 1.3 bar cold", Finding.BAD_LOW),
    ("tyre pressure 2.3 bar cold", Finding.CANNOT_TELL),
    ("map sensor 4.6 V idle", Finding.BAD_HIGH),
    ("map sensor 0.1 V idle", Finding.BAD_LOW),
    ("glow plug 0.8 ohm", Finding.GOOD),
]


@pytest.mark.parametrize(("text", "finding"), CASES, ids=[text for text, _ in CASES])
def test_a_value_is_judged_by_what_is_told_beside_it(text: str, finding: Finding) -> None:
    (lifted,) = find_readings(text).readings
    for reading in (parse_reading(text), lifted):
        said = judge(reading, Vehicle(), (), WORDS, READINGS, limits=trade_limits())
        assert said.finding is finding


@pytest.mark.parametrize(
    ("told", "finding"),
    [
        ("", Finding.CANNOT_TELL),
        ("port injection", Finding.GOOD),
        ("direct injection", Finding.BAD_LOW),
    ],
)
def test_a_petrol_rail_is_judged_by_its_injection(told: str, finding: Finding) -> None:
    reading = parse_reading(f"fuel rail pressure 3.8 bar idle petrol {told}")
    said = judge(reading, Vehicle(), (), WORDS, READINGS, limits=trade_limits())
    assert said.finding is finding
    assert not told or not said.needs


def test_what_would_tell_more_is_asked_for() -> None:
    fluid = parse_reading("brake fluid boiling point 160 C")
    needs = find_limit(fluid, Vehicle(), trade_limits(), WORDS).needs
    assert set(needs) == {"DOT 3", "DOT 4", "DOT 5.1"}


@given(ohms=st.integers(1_000, 2_000_000), volts=st.integers(60, 1500), direct=st.booleans())
def test_no_insulation_under_the_standard_is_good(ohms: int, volts: int, direct: bool) -> None:
    reading = parse_reading(f"insulation resistance {ohms} ohm {volts} V{' dc' * direct}")
    said = judge(reading, Vehicle(), (), WORDS, READINGS, limits=trade_limits())
    if ohms < (100 if direct else 500) * volts:
        assert said.finding is Finding.BAD_LOW
    if ohms < 400_000:  # 500 ohm a volt of the highest usual system, told or not
        assert said.finding is not Finding.GOOD


def test_a_shop_may_tell_a_limit_by_the_volt(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    line = '[[limit]]\nitems = ["insulation"]\nquantity = "resistance"\nsource = "ours"\n'
    own.write_text(f'{line}worse = "low"\nfault_per_volt = "1 kohm"\n')
    reading = parse_reading("insulation 600 kohm 800 V")
    found = find_limit(reading, Vehicle(), read_limits(own, own=True), WORDS).line
    assert found is not None
    assert found.bad_below == pytest.approx(800_000)
    own.write_text(f'{line}fault_per_volt = "many"\n')
    with pytest.raises(InvalidField, match="fault_per_volt"):
        read_limits(own, own=True)


FUEL = "fuel pressure 3.8 bar @ petrol, idle"


@pytest.mark.parametrize(
    ("reading", "least", "needs"),
    [
        (FUEL, None, ("port injection", "direct injection")),
        (f"{FUEL}, port injection", "2.5 bar", ()),
        (f"{FUEL}, direct injection", None, ("before the high pressure pump",)),
        (f"{FUEL}, direct injection, low pressure side", "4 bar", ()),
        (f"{FUEL}, direct injection, after the high pressure pump", "30 bar", ()),
    ],
)
def test_fuel_pressure_is_good_by_the_kind_of_injection_alone(
    reading: str, least: str | None, needs: tuple[str, ...]
) -> None:
    found = find_limit(parse_reading(reading), Vehicle(), trade_limits(), Wording.default())
    assert found.line is not None
    assert found.line.least == (parse_value(least).value if least else None)
    assert set(needs) <= set(found.needs)
    assert bool(needs) == bool(found.needs)
