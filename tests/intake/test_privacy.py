"""Warnings of personal data.

Phone numbers are the ones set aside for drama: Ofcom's 01632 960 and 07700 900 ranges and the
North American 555-01xx ones (from memory). Addresses use the names of RFC 2606.
"""

import re
import tomllib
from itertools import chain
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake import privacy
from kb.intake.privacy import personal_data

SEED_CASES = Path(__file__).parents[2] / "seed_cases"


@pytest.mark.parametrize(
    "piece",
    [
        "07700 900123",
        "07700900123",
        "01632 960 001",
        "(01632) 960001",
        "01632/960001",
        "+44 7700 900123",
        "+44 (0)7700 900123",
        "+1 212 555 0123",
        "212-555-0123",
        "(212) 555-0123",
        "01.23.45.67.89",
        "kim@example.com",
        "kim.o'none+jobs@shop.example.org",
        "AB12 CDE",
        "ab12cde",
        "AB-123-CD",
        "AB123CD",
        "M-XY 1234",
        "AB 12 CDE",
        "AB-12-CDE",
        "XY 123 ZZ",
    ],
)
@pytest.mark.parametrize("sentence", ["{}", "customer, {}, wants it back", "call {}."])
def test_personal_data_is_found(piece: str, sentence: str) -> None:
    (warning,) = personal_data(sentence.format(piece))
    assert warning.startswith("“")
    assert piece[-8:] in warning


def test_a_plate_of_any_form_is_found_where_it_is_called_one() -> None:
    assert "“1234 XYZ”" in personal_data("reg 1234 XYZ, K031")[0]
    assert "“KL65432”" in personal_data("number plate: KL65432")[0]


@pytest.mark.parametrize(
    "text",
    [
        "K031 ABS lamp on",
        "LF w/s sensor 1.2 kΩ, RF 1.21 kΩ",
        "P0301 P0302 B1234-13 U0100-87, 0x012700",
        "LF-RF 120 ohm, 2000 RPM, AT12 VDC, AT 120 KM",
        "2026-03-02 10:22, 02.03.2026, 12/11/2026",
        "odometer 081250, 0.125 0.130 0.128 mm",
        "readings 02 14 98 01 mV",
        "205/55 R16, 12V 60Ah 540A",
        "fuse 15 A, relay R12, pin 30 87 85 86",
        "reg 14.2V, plate warped 0.15 mm, reg B1234-13",
        "part 04465 no stock",
        "1.2 petrol, MK54 speed",
        "torque 110 Nm then 90 deg + 90 deg",
    ],
)
def test_the_trades_own_numbers_raise_no_alarm(text: str) -> None:
    assert personal_data(text) == []


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        value = [each for key, each in value.items() if key != "vin"]  # has a field of its own
    inner = value if isinstance(value, list) else []
    return list(chain.from_iterable(_texts(item) for item in inner))


def test_the_demonstration_shop_raises_no_alarm() -> None:
    files = sorted(SEED_CASES.glob("*.toml"))
    assert files
    texts = chain.from_iterable(_texts(tomllib.loads(file.read_text("utf-8"))) for file in files)
    assert [(text, found) for text in texts if (found := personal_data(text))] == []


@given(st.text() | st.from_regex(r"[0-9 ()+./A-Za-z@-]{0,60}"))
def test_any_text_can_be_looked_through(text: str) -> None:
    for warning in personal_data(text):
        piece = warning[1 : warning.index("” looks like")]
        assert piece in text


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("paid with 4111 1111 1111 1111", "a card number"),  # usual test number, from memory
        ("5500-0000-0000-0004 declined", "a card number"),
        (
            "to GB82 WEST 1234 5698 7654 32",
            "an account number",
        ),  # of ISO 13616, from memory
        ("DE89370400440532013000", "an account number"),
        ("Mrs Talle wants it by Friday", "a name"),
        ("Herr Brandel wartet", "a name"),
        ("fetch it from 14 Mill Lane", "an address"),
        ("wohnt Mühlenstraße 12", "an address"),
        ("12 rue de la Gare", "an address"),
        ("ul. Lipowa 7", "an address"),
        ("PO Box 113", "an address"),
        ("drop off at GL7 5QT", "an address"),
        ("gb82 west 1234 5698 7654 32", "an account number"),
    ],
)
def test_what_names_a_person_or_an_account_is_warned_of(text: str, kind: str) -> None:
    (warning,) = personal_data(text)
    assert f"looks like {kind};" in warning


@pytest.mark.parametrize(
    "text",
    [
        "4111 1111 1111 1112",
        "GB83 WEST 1234 5698 7654 32",
        "GB82 WEST 1234 5698 7654 3İ",  # a letter that has no place in base 36
        "0 445 110 369 leak back",
        "ms 20 pulse width",
        "driver door window",
        "14 mm lane",
        "RF 121 LF 120",
        "LF 12 RPM, AT 12 VDC, EG 12 ABS",
        "R1 2LH",
        "PLUG GOES TO 140 SO FINE",
        "20 miles Road test",
    ],
)
def test_what_has_no_check_digit_or_name_is_not(text: str) -> None:
    assert personal_data(text) == []


# Made up for this, half with an invented name, plate or VIN; the patterns were mended by them.
PERSONAL = (
    "VIN SZZBX41B3HA004711, no crank",
    "szzbx41b3ha004711 no crank, battery 12.1 V",
    "chassis no SZZBX41B3HA004711, lamp on",
    "M XY 1234 springt nicht an",
    "HH AB 123, Klima ohne Funktion",
    "car is B QX 88, clunk front left",
    "m-xy 1234 springt nicht an",
    "KA-QQ 12 noise over bumps",
    "EBE QX 7 lamp on, ruft an",
    "customer Berit Talle wants it by Friday",
    "customer is Berit Talle, no crank",
    "owner: B. Talle, lamp on after rain",
    "ask for Talle when done, 12.4 V at battery",
    "Kunde Brandel wartet, Airbaglampe an",
    "Kundin Frieda Brandel, Bremse quietscht",
    "driver Jarek says it pulls left",
    "brought in by Osric Fenn, misfire cold",
    "belongs to Talle, key tag lost",
    "spoke to Berit, she says it came back",
    "Talle phoned, fault is back",
)
HARMLESS = (
    "customer says lamp comes on when cold",
    "Customer States Lamp On After Rain",
    "driver Door dead after rain",
    "driver Airbag lamp on",
    "owner Manual missing, lamp on",
    "Kunde sagt Bremse quietscht",
    "Kunde Fahrzeug abgeschleppt, Batterie leer",
    "ask for ECU part number first",
    "call Corvane dealer for the code",
    "customer wants Friday pick up",
    "AT RR 120 ohm, LF OK 118",
    "PIN AB 12 to GND open",
    "B CH 12 V at plug, C GND ok",
    "LH RH 120 km/h wobble",
    "CAN HI 2.6 V, LO 2.4 V",
    "part 04E906016AB004711X fitted",
    "software 8K0907115A0012345, updated",
    "U 12 OK, I 3 A",
    "brought in by tow truck, no crank",
    "spoke to Parts, pump Monday",
)


@pytest.mark.parametrize("line", PERSONAL)
def test_names_without_a_title_plates_and_vins_are_warned_of(line: str) -> None:
    assert len(personal_data(line)) == 1


@pytest.mark.parametrize("line", HARMLESS)
def test_words_like_names_plates_and_vins_are_not(line: str) -> None:
    assert personal_data(line) == []


BESIDE = st.sampled_from(
    [
        *("mr", "mrs", "ms", "miss", "dr", "herr", "herrn", "frau", "customer", "client", "owner"),
        *("keeper", "driver", "ask for", "asked for", "spoke to", "spoke with", "speak to", "call"),
        *("called", "ring", "phone", "brought in by", "dropped off by", "collected by"),
        *("belongs to", "kunde", "kundin", "halter", "halterin", "fahrer", "fahrerin"),
    ]
)
CASES = (str.lower, str.upper, str.title, lambda text: text.replace("i", "ı").replace("s", "ſ"))


@given(BESIDE, st.sampled_from(CASES), st.sampled_from([" ", ". ", ": ", ", "]), st.booleans())
def test_no_name_is_passed_over_unseen(
    beside: str, written: Any, between: str, follows: bool
) -> None:
    text = f"{written(beside)}{between}Tolmann{' wartet' if follows else ''}"
    for words, pattern in ((privacy._TITLES, privacy._TITLED), *privacy._UNTITLED):
        assert not pattern.search(text) or privacy._any_of(words, privacy._folded(text))


@pytest.mark.parametrize("did", ["phoned", "rang", "texted", "emailed", "will collect"])
def test_who_did_something_is_not_passed_over_unseen(did: str) -> None:
    assert privacy._any_of(privacy._CALLING, privacy._folded(f"Tolmann {did}"))


def _drawn(pattern: re.Pattern[str]) -> st.SearchStrategy[str]:
    return st.from_regex(re.compile(pattern.pattern, pattern.flags))


@given(st.data())
def test_no_address_or_plate_is_passed_over_unseen(data: st.DataObject) -> None:
    for words, pattern in privacy._ADDRESSES:
        assert privacy._any_of(words, data.draw(_drawn(pattern)))
    for sign, patterns in (
        (privacy._PLATE_SIGN, privacy._PLATES),
        (privacy._GERMAN_SIGN, privacy._GERMAN_PLATES),
    ):
        for pattern in patterns:
            assert sign.search(data.draw(_drawn(pattern)))
