"""Trouble codes against the table of package obd and published worked examples.

Package obd 0.7.3 (GPL, used by the tests alone) carries 2,066 codes of the public standard.
"""

import re

import pytest
from obd.codes import DTC

from kb.case import System, TroubleCode
from kb.intake.code_areas import Origin, origin_of
from kb.intake.codes import facts, find_codes, parse_code
from kb.intake.systems import system_of_code


@pytest.mark.parametrize("change", [str, str.lower, lambda code: f"{code[0]} {code[1:]}"])
def test_every_code_of_the_table_is_read_back(change: type[str]) -> None:
    read = [parse_code(change(code)) for code in DTC]
    assert read == [TroubleCode(code=code) for code in DTC]
    assert len(set(read)) == 2066


def test_every_code_of_the_table_is_found_in_a_list() -> None:
    found = find_codes(", ".join(DTC))
    assert [str(code) for code in found.codes] == list(DTC)
    assert (found.rest, found.doubtful) == ("", ())


def test_the_table_holds_standard_codes_only_and_each_has_an_area() -> None:
    assert {origin_of(code) for code in DTC} == {Origin.STANDARD}
    assert [code for code in DTC if facts(parse_code(code)).area is None] == []


# Range rules of SAE J2012 (general code specifications); U30 has since been given out, as U3003
# (battery voltage) in cars' public fault lists shows.
@pytest.mark.parametrize(
    ("families", "origin"),
    [
        ("P00 P0A P20 P2F P34 P35 P36 P37 P38 P39 U00 U30 B00 C00", Origin.STANDARD),
        ("P10 P1F P30 P31 P32 P33 B10 B2F C10 C20 U10 U2A", Origin.MAKER),
        ("B30 C30 U31", Origin.RESERVED),
    ],
)
def test_who_defines_a_range(families: str, origin: Origin) -> None:
    assert {origin_of(f"{family}01") for family in families.split()} == {origin}


# Raw bytes: worked examples of a public manual of signal types and of a public article on the
# three-byte form: top two bits are the letter, the last byte the failure type.
@pytest.mark.parametrize(
    ("raw", "code"),
    [
        ("0x0143", "P0143"),
        ("0x9234", "B1234"),
        ("0x012700", "P0127-00"),
        ("0x803910", "B0039-10"),
        ("0x403123", "C0031-23"),
    ],
)
def test_raw_bytes(raw: str, code: str) -> None:
    assert str(parse_code(raw)) == code


# What the table's texts speak of must not be sorted under another part of the car. A code may
# stay unsorted; None alone means that the range serves several parts.
@pytest.mark.parametrize(
    ("text", "systems"),
    [
        ("Misfire Detected", {System.IGNITION}),
        ("Ignition Coil", {System.IGNITION}),
        ("Knock", {System.IGNITION}),
        ("^Fan|Cooling Fan", {System.COOLING, None}),
        ("Engine Coolant Temperature Circuit", {System.COOLING}),
        ("Shift Solenoid|Torque Converter", {System.TRANSMISSION, None}),
        ("^Cylinder .* Injector Circuit|Fuel Rail|System Too (Lean|Rich)",
         {System.FUEL_MIXTURE, None}),
        ("O2 Sensor", {System.FUEL_MIXTURE, None}),
        ("Throttle", {System.FUEL_MIXTURE, None}),
        ("Catalyst System", {System.EXHAUST}),
        ("Exhaust Gas Recirculation|Evaporative", {None}),
        ("System Voltage", {System.CHARGING_STARTING}),
        ("Oil Pressure", {System.ENGINE_MECHANICAL}),
        ("Refrigerant", {System.CLIMATE, None}),
        ("Lost Communication|Software Incompat|Invalid Data", {None}),
    ],
)  # fmt: skip
def test_areas_agree_with_the_texts(text: str, systems: set[System | None]) -> None:
    found = {
        system_of_code(TroubleCode(code=code))
        for code, words in DTC.items()
        if re.search(text, words)
    }
    assert found
    assert found <= systems


def test_hybrid_drive_codes_are_high_voltage() -> None:
    hybrid = {system_of_code(TroubleCode(code=code)) for code in DTC if code.startswith("P0A")}
    assert hybrid == {System.HIGH_VOLTAGE}
