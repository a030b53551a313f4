"""Readings in running text. The words of the trade are common practice, no source."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Reading, Stage
from kb.intake.lifting import Place
from kb.intake.reading_search import find_readings
from kb.intake.reading_words import LITTLE_WORDS
from kb.intake.readings import parse_reading, written
from kb.intake.wording import Wording


@pytest.mark.parametrize(
    ("text", "places", "rest"),
    [
        (
            "LF pretensioner 6.7 Ω, RF 2.3 Ω, others even",
            ["pretensioner, left front", "pretensioner, right front"],
            "others even",
        ),
        (
            "RF pretensioner 5.2 Ω against 2.2 Ω LF.",
            ["pretensioner, right front", "pretensioner, left front"],
            "",
        ),
        ("pad 2mm N/S 6mm O/S", ["pad, nearside", "pad, offside"], ""),
        ("bank 1 fuel trim +18 %, bank 2 +2 %", ["fuel trim, bank 1", "fuel trim, bank 2"], ""),
        ("drop 0.2 V on LR, LF is 0.1 V", ["drop, left rear", "drop, left front"], ""),
        ("volt drop 0.9V on B+ lead", ["volt drop on b+ lead"], ""),
        ("a/c low side 2 bar high side 18 bar", ["a/c, low side", "a/c, high side"], ""),
        ("CAN H 2.6V CAN L 2.4V", ["can h", "can l"], ""),
        ("LF WSS 1k1, LR OL", ["wss, left front", "wss, left rear"], ""),
        ("motor feed 4.1 V ground 0.2 V", ["motor feed", "ground"], ""),
        ("12C vent, 1.2mm tread", ["vent", "tread"], ""),
        ("2.1 bar fuel", ["fuel"], ""),
        ("runs hot above 90 km/h, coolant temp 112 °C", ["coolant temp"], "runs hot above 90 km/h"),
        ("Ready lost, 12 V battery 11.7 V.", ["12 v battery"], "Ready lost."),
        ("Whistle at idle, idle 950 rpm, lamp on", ["idle"], "Whistle at idle, lamp on"),
        ("customer says battery was 11.9V this morning", ["battery"], "customer says this morning"),
    ],
)  # fmt: skip
def test_several_readings_in_one_line(text: str, places: list[str], rest: str) -> None:
    found = find_readings(text)
    assert ([reading.place for reading in found.readings], found.rest) == (places, rest)
    assert found.doubtful == ()


@pytest.mark.parametrize(
    ("text", "places", "rest"),
    [
        ("abs lite on wen brakng lf wss 0.9k ohm", ["wss, left front"], "abs lite on wen brakng"),
        ("misfire cold 2k1 ohm coil", ["coil"], "misfire cold"),
        ("misfire cold 2k1 ohm coil 12.6 V battery", ["coil", "battery"], "misfire cold"),
        ("12.6 V battery, wont start", ["battery"], "wont start"),
        ("airbag lamp 5.8 ohm RF pretensioner", ["pretensioner, right front"], "airbag lamp"),
        ("airbag lite rf pretensoner 6.1ohm", ["pretensoner, right front"], "airbag lite"),
        ("no crank clicks battery 12,1V", ["battery"], "no crank clicks"),
        ("eml on rough idle ltft +22%", ["ltft"], "eml on rough idle"),
        ("pads 3mm N/S 2mm O/S squeal when braking", ["pads, nearside", "pads, offside"],
         "squeal when braking"),
        ("volt drop 0.9V on B+ lead slow crank", ["volt drop on b+ lead"], "slow crank"),
        ("4.1 V at motor feed when it rains", ["motor feed"], "when it rains"),
        ("no start engine earth 0.6V drop", ["voltage drop engine earth"], "no start"),
        ("abs lamp wheel speed sensor 1k1", ["wheel speed sensor"], "abs lamp"),
        ("customer left battery 12.1 V", ["battery"], "customer left"),
        ("comp 9 bar cyl 3 misfire", ["comp, cylinder 3"], "misfire"),
        ("horn dead splonk 2.1 V", ["splonk"], "horn dead"),
        ("no crank vd 0.9V on B+ lead", ["vd on b+ lead"], "no crank"),
        ("fan dead coolent temp 112 c", ["coolent temp"], "fan dead"),
        ("cuts out crank snesor 0.8k-1.1k ohm", ["crank snesor"], "cuts out"),
        ("LF WSS OL LAMP ON", ["wss, left front"], "LAMP ON"),
        ("heater cold inlet hose 80 C outlet hose 35 C", ["inlet hose", "outlet hose"],
         "heater cold"),
    ],
)  # fmt: skip
def test_no_word_of_the_complaint_becomes_an_item(text: str, places: list[str], rest: str) -> None:
    found = find_readings(text)
    assert ([reading.place for reading in found.readings], found.rest) == (places, rest)
    assert found.doubtful == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("misfire cold 2k1 ohm", "names no item"),
        ("door lock dead LR 4.1 V", "names no item"),
        ("airbag lamp 5.8 ohm", "names no item"),
        ("airbag lamp on, rf pretensoner 6.1", "has no unit"),
        ("door dead, motor feed 4.1", "has no unit"),
        ("heater cold 5 m ohm", "mΩ (milliohm) or MΩ (megohm)"),
        ("squib ok, res 6R1", "names no item"),
        ("wet below the cooler, it bubbles at 1 bar", "names no item"),
        ("new motor runs at 5 A", "names no item"),
    ],
)
def test_a_value_of_nothing_stays_in_the_text_and_is_asked_about(text: str, why: str) -> None:
    found = find_readings(text)
    assert (found.readings, found.rest) == ((), text)
    assert [why in doubt.why for doubt in found.doubtful] == [True]


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("RF 1,15k LF 1.18k RR OL LR 1k2",
         [("RF 1,15k", "wheel speed sensor right front 1,15k"),
          ("LF 1.18k", "wheel speed sensor left front 1.18k"),
          ("RR OL", "wheel speed sensor right rear OL"),
          ("LR 1k2", "wheel speed sensor left rear 1k2")]),
        ("LF sensor 0.8 kohm", [("LF sensor 0.8 kohm", "wheel speed sensor left front 0.8 kohm")]),
        ("1,200 ohm injector 3", [("1,200 ohm injector 3", "write 1200 or 1.200")]),
        ("PS 11,2 V", [("11,2 V", "battery 11,2 V")]),
        ("resistance 1,2 megohm to ground", [("1,2 megohm", "insulation 1,2 megohm")]),
        ("LF pretensioner 2k4 ohm", [("LF pretensioner 2k4 ohm", "far above what that has")]),
        ("squib 1 res 300 ohm", [("squib 1 res 300 ohm", "far above what that has")]),
        ("LF 60k, RF worn", []),
        ("1: no spark 2: spark ok", []),
    ],
)  # fmt: skip
def test_what_is_offered_to_values_of_no_item(text: str, asked: list[tuple[str, str]]) -> None:
    found = find_readings(text)
    assert (found.readings, [doubt.text for doubt in found.doubtful]) == (
        (),
        [said for said, _ in asked],
    )
    assert all(offer in doubt.why for doubt, (_, offer) in zip(found.doubtful, asked, strict=True))


def told(reading: Reading) -> str:
    """Item, position, value, condition and what was after the fix, in short."""
    after = "after" if reading.stage is Stage.AFTER_FIX else None
    parts = (reading.place, reading.typed, reading.condition, after)
    return "; ".join(filter(None, parts))


@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("battery 12.6 v cranking 8.9 v", "battery; 12.6 v | battery; 8.9 v; cranking"),
        ("oil pressure 4.5 bar cold 0.6 hot", "oil pressure; 4.5 bar; cold"
         " | oil pressure; 0.6 bar; hot"),
        ("comp cyl 2 4 bar dry 4.5 wet", "comp, cylinder 2; 4 bar; dry"
         " | comp, cylinder 2; 4.5 bar; wet"),
        ("dpf 9 mbar idle, 120 at 3000 rpm", "dpf; 9 mbar; idle | dpf; 120 mbar; 3000 rpm"),
        ("boost set 2.1 actual 1.4 bar", "boost, set; 2.1 bar | boost, actual; 1.4 bar"),
        ("ltft b1 +18% b2 -2%", "ltft, bank 1; +18% | ltft, bank 2; -2%"),
        ("fuel pressure 350 kPa hot idle", "fuel pressure; 350 kPa; hot idle"),
        ("drain was 0,6 A now 0,02 A", "drain; 0,6 A | drain; 0,02 A; after"),
        ("rail from 300 to 450 bar", "rail; 300 bar | rail; 450 bar; after"),
        ("rail 300 bar → 450 bar", "rail; 300 bar | rail; 450 bar; after"),
        ("rail 300 bar -> 450 bar", "rail; 300 bar | rail; 450 bar; after"),
        ("bat 12.6V -> 11.9V when cranking", "bat; 12.6V | bat; 11.9V; cranking"),
        ("bat 12.6 => 11.9 V cranking", "bat; 12.6 V | bat; 11.9 V; cranking"),
        ("battery drops from 12.6 to 9.1 V when cranking", "battery; 12.6 V"
         " | battery; 9.1 V; cranking"),
        ("battery 12.6 to 9.1 V cranking", "battery; 12.6 V | battery; 9.1 V; cranking"),
        ("fuel pressure drops 4.0 to 1.6 bar in 5 min off", "fuel pressure; 4.0 bar; off"
         " | fuel pressure; 1.6 bar; in 5 min off"),
        ("coolant 85 -> 102 °C in 5 min", "coolant; 85 °C | coolant; 102 °C; in 5 min"),
        ("tyre press 32 psi nsf 28 osf", "tyre press, nearside front; 32 psi"
         " | tyre press, offside front; 28 psi"),
        ("compressions 12/11/6 bar", "compressions, cylinder 1; 12 bar"
         " | compressions, cylinder 2; 11 bar | compressions, cylinder 3; 6 bar"),
        ("vacuum 17 inHg idle", "vacuum; 17 inHg; idle"),
        ("squib 1 res 6R1", "squib 1 res; 6R1"),
        ("crank sensor 2k1 cold, OL hot", "crank sensor; 2k1; cold | crank sensor; OL; hot"),
        ("hot 1.1 bar cold 3.9 bar, engine oil pressure", "engine oil pressure; 1.1 bar; hot"
         " | engine oil pressure; 3.9 bar; cold"),
        ("free play 18 mm at pedal", "free play; 18 mm; pedal"),
        ("fuel rail 1,250 bar cranking", "fuel rail; 1,250 bar; cranking"),
        ("comp 2: 60 dry 110 wet psi, rest 150", "comp, cylinder 2; 60 psi; dry"
         " | comp, cylinder 2; 110 psi; wet | comp, others; 150 psi"),
        ("coil pri 0.7 ohm sec 8k2", "coil pri; 0.7 ohm | coil sec; 8k2"),
        ("starter 260 A cranking, 150 rpm", "starter; 260 A; cranking | cranking speed; 150 rpm"),
        ("sleeping 0.28 A", "parasitic current; 0.28 A; sleeping"),
        ("whine 620 Hz at 40 mph", "whine; 620 Hz; 40 mph"),
        ("NSF 12 OSF 14 kph", "wheel speed, nearside front; 12 kph"
         " | wheel speed, offside front; 14 kph"),
        ("pretensioner 9 ohm, 2.1 after new plug", "pretensioner; 9 ohm"
         " | pretensioner; 2.1 ohm; after new plug; after"),
        ("alternator 13.6 V 62 A", "alternator; 13.6 V | alternator; 62 A"),
        (">50 M to earth", "insulation; >50 M; to earth"),
        ("comp 2-4: 11,5 / 6 / 12 bar", "comp, cylinder 2; 11,5 bar | comp, cylinder 3; 6 bar"
         " | comp, cylinder 4; 12 bar"),
        ("cyl 1 12.1 cyl 2 4.5 bar", "compression, cylinder 1; 12.1 bar"
         " | compression, cylinder 2; 4.5 bar"),
        ("compression 1=12 2=11 3=4 bar", "compression, cylinder 1; 12 bar"
         " | compression, cylinder 2; 11 bar | compression, cylinder 3; 4 bar"),
        ("glow plugs 4 0.8 ohm, 2 OL", "glow plugs, cylinder 4; 0.8 ohm"
         " | glow plugs, cylinder 2; OL"),
        ("glow plugs 0.6 ohm 0.7 ohm 0.6 ohm and OL", "glow plugs, cylinder 1; 0.6 ohm"
         " | glow plugs, cylinder 2; 0.7 ohm | glow plugs, cylinder 3; 0.6 ohm"
         " | glow plugs, cylinder 4; OL"),
        ("tread FL 4mm FR 2mm", "tread, left front; 4mm | tread, right front; 2mm"),
        ("ABS front left sensor 1.2k, rear left OL", "abs sensor, left front; 1.2k"
         " | abs sensor, left rear; OL"),
        ("line pressure 4 bar D, 10 R", "line pressure; 4 bar; D | line pressure; 10 bar; R"),
        ("stft minus 9 % cold", "stft; -9 %; cold"),
        ("drain 0.9A, 0.02 with fuse 7 out", "drain; 0.9A | drain; 0.02 A; with fuse 7 out"),
        ("draw 90mA settled to 20mA after 30 mins", "draw; 90mA | draw; 20mA; after 30 mins"),
        ("pumpe 1,1 bar kalt, 0,4 heiss", "pumpe; 1,1 bar; cold | pumpe; 0,4 bar; hot"),
        ("fuel pressure falls 4.1 to 1.2 bar", "fuel pressure; 4.1 bar | fuel pressure; 1.2 bar"),
        ("CO2 sensor 3V2, camber -1d30", "co2 sensor; 3V2 | camber; -1d30"),
        ("alternator 13.9V @idle 14.4V @2k", "alternator; 13.9V; idle | alternator; 14.4V; 2k"),
        ("can h 2.7V l 2.3V awake", "can h; 2.7V; awake | can l; 2.3V; awake"),
        ("vacuum 16 steady in/hg idle", "vacuum; 16 in/hg; idle"),
        ("1.200,50 ohm injector 2", "injector, cylinder 2; 1.200,50 ohm"),
        ("pedal track 1 0.8 V track 2 0.4 V", "pedal track 1; 0.8 V | pedal track 2; 0.4 V"),
        ("cell 1 3.9 V pedal track 2 0.4 V", "cell 1; 3.9 V | pedal track 2; 0.4 V"),
        ("0 V supply at pin 3", "supply at pin 3; 0 V"),
        ("0.6 ohm coil 3, dead", "coil, cylinder 3; 0.6 ohm"),
        ("pads 4mm fronts 5mm rears", "pads, front; 4mm | pads, rear; 5mm"),
        ("volt drop pos 0.1 V neg 0.7 V cranking", "volt drop pos; 0.1 V; cranking"
         " | voltage drop neg; 0.7 V; cranking"),
    ],
)  # fmt: skip
def test_values_in_company(text: str, readings: str) -> None:
    found = find_readings(text)
    assert " | ".join(map(told, found.readings)) == readings
    assert found.doubtful == ()


@pytest.mark.parametrize(
    ("text", "offers"),
    [
        ("battery 12.4", ["battery 12.4 V"]),
        ("9.2 cranking", ["battery 9.2 V @ cranking"]),
        ("ltft +6 at 2500 rpm", ["ltft +6 % @ 2500 rpm"]),
        ("vent 18 deg", ["vent 18 °C"]),
        ("rail set 300 act 92", ["rail set 300 bar", "rail actual 92 bar"]),
        ("12.1v standing", ["battery 12.1v @ at rest"]),
        ("comp 175, 170, 95", ["comp cylinder 1 175 psi", "comp cylinder 2 170 psi",
                               "comp cylinder 3 95 psi"]),
        ("disc 21.4", ["disc 21.4 mm"]),
        ("toe OS +0.20 NS -0.15", ["toe offside +0.20 °", "toe nearside -0.15 °"]),
        ("bank 1 +9 bank 2 -3 ltft", ["ltft bank 1 +9 %", "ltft bank 2 -3 %"]),
        ("vacuum 12in", ["vacuum 12 inHg"]),
        ("o2 b2s1 0.2", ["o2 sensor bank 2 sensor 1 0.2 V"]),
        ("open circuit at fuel pump", ["fuel pump OL"]),
        ("coolant temp stuck at 58", ["coolant temp 58 °C"]),
        ("vac swings 12 to 16", ["vac 12 to 16 inHg"]),
        ("vac 12 inHg flicking to 16", ["vac 12 - 16 inHg"]),
        ("runout hub .03", ["runout hub .03 mm"]),
        ("ns front 31 psi", ["tyre nearside front 31 psi"]),
        ("misfires cyl 2 310", ["misfires cylinder 2 310 times"]),
    ],
)  # fmt: skip
def test_a_number_alone_is_offered_with_its_usual_unit(text: str, offers: list[str]) -> None:
    found = find_readings(text)
    assert (found.readings, found.rest) == ((), text)
    assert [re.findall("“(.+)”", doubt.why) for doubt in found.doubtful] == [
        [offer] for offer in offers
    ]


@pytest.mark.parametrize(
    ("text", "measured", "limit"),
    [
        ("disc 21.4 mm, min 22", ["disc 21.4 mm"], "22 mm"),
        ("rail pressure 240 bar, target 300", ["rail pressure 240 bar"], "300 bar"),
        ("air gap spec 0.8-1.2, found 1.5 mm", ["air gap 1.5 mm"], "0.8-1.2 mm"),
        ("tyre depth min 1.6, got 1.2 mm", ["tyre depth 1.2 mm"], "1.6 mm"),
        ("oil p 12 psi hot idle spec 20", ["oil p 12 psi @ hot idle"], "20 psi"),
        ("battery should be 12.6, reads 11.9", ["battery 11.9 V"], "12.6 V"),
        ("idle should be 850, sits 620", ["idle 620 rpm"], "850 rpm"),
        ("compression min 10", [], "10 bar"),
    ],
)
def test_what_should_be_is_offered_its_unit_and_never_taken(
    text: str, measured: list[str], limit: str
) -> None:
    found = find_readings(text)
    doubts = [str(doubt) for doubt in found.doubtful]
    offered = [offer for doubt in doubts for offer in re.findall("write “(.+)”", doubt)]
    assert [*map(written, found.readings), *offered] == measured
    assert [doubt for doubt in doubts if f"should be, {limit} most likely" in doubt]


LIMITED = {
    "fuel pressure": (2, 5, "bar"),
    "battery": (9, 13, "V"),
    "coolant temp": (40, 110, "C"),
    "crank sensor": (200, 1500, "ohm"),
    "idle": (400, 1100, "rpm"),
    "brake pad": (1, 14, "mm"),
}


@given(
    st.sampled_from(sorted(LIMITED)),
    st.sampled_from(
        [
            " should be ",
            " spec ",
            ", should be ",
            " ought to be ",
            " needs ",
            " instead of ",
            " min ",
        ]
    ),
    st.data(),
)
def test_a_value_has_the_unit_that_is_told_of_what_it_should_be(
    item: str, link: str, data: st.DataObject
) -> None:
    least, most, unit = LIMITED[item]
    found, wanted = (data.draw(st.integers(least, most)) for _ in range(2))
    readings = find_readings(f"{item} {found}{link}{wanted} {unit}").readings
    if "," not in link:  # behind a comma another clause begins
        assert [each.typed for each in readings] == [f"{found} {unit}"]
    assert [each for each in readings if each.typed == f"{wanted} {unit}" and found != wanted] == []


@pytest.mark.parametrize(
    "line", ["fuel pressure 2.1 should be 58 psi", "thing 4 should be 12 V", "boost 9 needs 12 mm"]
)
def test_a_limit_in_a_unit_that_the_value_hardly_has_gives_it_none(line: str) -> None:
    assert find_readings(line).readings == ()


@pytest.mark.parametrize(
    ("text", "reading", "words"),
    [
        ("battery 12 point 4 volts, ok", "battery 12.4 volts", "battery 12 point 4 volts"),
        ("12 point 4 volts at battery", "battery 12.4 volts", "12 point 4 volts at battery"),
        ("10 point oh volts at battery", "battery 10.0 volts", "10 point oh volts at battery"),
        ("idle is at 780 rpm", "idle 780 rpm", "idle is at 780 rpm"),
    ],
)
def test_numbers_are_read_as_they_are_dictated(text: str, reading: str, words: str) -> None:
    found = find_readings(text)
    assert [*map(written, found.readings)] == [reading]
    assert [text[slice(*place)] for place in found.places] == [words]
    assert "12 po" not in found.rest


def test_the_other_side_is_told_behind_a_verb() -> None:
    found = find_readings("pad left front 1 mm, other side had 5 mm")
    assert [*map(written, found.readings)] == ["pad left front 1 mm", "pad others 5 mm"]


@pytest.mark.parametrize(
    "text",
    ["target 300", "oil 4.1 bar, changed, 35 min 18", "battery 12.1 V, customer wants 2 new tyres"],
)
def test_a_limit_of_nothing_known_stays_words(text: str) -> None:
    assert find_readings(text).doubtful == ()


@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("fuel pressure spec 3.5 bar got 2.1", ["fuel pressure; 2.1 bar"]),
        ("rail spec 300 act 180 bar", ["rail; 180 bar"]),
        ("drains cleared thru 3 bar", []),
        ("pulled fuse 8 down to 20 mA", []),
        ("water pump done holds 1.1 bar", []),
        ("Job 881: 3.4 V at blower", ["blower; 3.4 V"]),
        ("tested 17/6 11.9V", []),
        ("diagram says pin 9 is 5V", []),
        ("line pressure should rise to 5 bar", []),
        ("tread 2.1mm, 1.6 legal", ["tread; 2.1mm"]),
        ("battery 12v 60ah", []),
        ("battery 12.6 V, zamiast 14.2 V", ["battery; 12.6 V"]),
    ],
)
def test_limits_days_and_work_are_not_what_was_measured(text: str, readings: list[str]) -> None:
    assert list(map(told, find_readings(text).readings)) == readings


@pytest.mark.parametrize(
    "text",
    [
        "disc min 22",
        "spec 4.0 bar pump",
        "fuse 5 and 22 ok",
        "3 plugs",
        "tank 1/4 full",
        "charge 350 of 550 g",
    ],
)
def test_limits_and_counts_are_no_readings(text: str) -> None:
    assert (find_readings(text).readings, find_readings(text).rest) == ((), text)


@pytest.mark.parametrize(
    ("text", "read", "offer"),
    [
        ("draw 0.4A, pulled fuse 9 gives 0.02A", "draw; 0.4A", "draw 0.02A"),
        ("oil 0.7 bar gorący, 3,4 zimno", "oil; 0.7 bar; hot", "oil 3,4 bar @ zimno"),
        ("wss NSF 1k1 OSF open cct", "wss, nearside front; 1k1", "wss offside front OL"),
        ("battery 12.1 V, after load test 9.8", "battery; 12.1 V",
         "battery 9.8 V @ after load test"),
        ("12.4v at battery, 9.1 at starter", "battery; 12.4v", "starter 9.1 v"),
    ],
)  # fmt: skip
def test_the_item_of_the_reading_before_is_offered(text: str, read: str, offer: str) -> None:
    found = find_readings(text)
    assert list(map(told, found.readings)) == [read]
    offers = [re.findall("“(.+)”", doubt.why) for doubt in found.doubtful]
    assert [offer] in offers


def test_a_table_of_values_of_nothing_stays_whole() -> None:
    text = "log " + ", ".join(f"{number}.5 V" for number in range(50))
    assert (find_readings(text).readings, find_readings(text).doubtful) == ((), ())
    assert find_readings(text).rest == text


ITEMS = ["battery", "oil pressure", "rail", "coolant temp", "crank sensor", "pads", "ltft"]
UNITS = ["V", "bar", "psi", "°C", "ohm", "mm", "%", ""]
STATES = ["cold", "hot", "idle", "cranking", "at 2000 rpm", "LF", "RF", "set", "actual", "before",
          "now", "was", "min", "and", ",", "/", "to", "lamp on"]  # fmt: skip
WRITTEN = st.tuples(
    st.sampled_from(ITEMS + STATES), st.integers(-20, 3000), st.sampled_from(UNITS),
    st.sampled_from([*STATES, ""]),
).map(lambda each: " ".join(map(str, filter(None, map(str, each)))))  # fmt: skip


@given(st.lists(WRITTEN, max_size=6).map(" ".join))
def test_every_number_is_lifted_asked_about_or_left(text: str) -> None:
    found = find_readings(text)
    taken = [*found.places, *(doubt.place for doubt in found.doubtful if doubt.place)]
    left = re.findall("[0-9]+", found.rest)
    for number in re.finditer("[0-9]+", text):
        held = any(start <= number.start() and number.end() <= end for start, end in taken)
        assert held or number[0] in left
    assert len(found.places) == len(found.readings)
    for reading, (start, end) in zip(found.readings, found.places, strict=True):
        assert re.findall("[0-9]+", reading.typed)[0] in text[start:end]
    for doubt in found.doubtful:
        assert doubt.place is None or text[slice(*doubt.place)] == doubt.text


@given(st.lists(WRITTEN, max_size=6).map(" ".join))
def test_what_is_offered_can_be_read(text: str) -> None:
    for doubt in find_readings(text).doubtful:
        for offer in re.findall("write “(.+)”", doubt.why):
            assert parse_reading(offer).typed in offer


@given(
    st.sampled_from(["boost", "oil pressure", "rail", "crank sensor"]),
    st.lists(st.sampled_from(["cold", "idle", "cranking", "running"]), min_size=1, unique=True),
    st.integers(1, 350),
)  # fmt: skip
def test_values_and_states_are_read_back(item: str, states: list[str], least: int) -> None:
    values = [f"{least + place} bar {state}" for place, state in enumerate(states)]
    found = find_readings(f"{item} {', '.join(values)}")
    assert [(each.item, each.typed, each.condition) for each in found.readings] == [
        (item, f"{least + place} bar", state) for place, state in enumerate(states)
    ]


@pytest.mark.parametrize("values", ["12.1/12.4 V", "5/6 ohm"])
@pytest.mark.parametrize(
    "before",
    [
        *("compression 12 12 11 4 bar", "coil 0.7 ohm, lead 5 ohm"),
        "compression 12 12 11.5 4 bar; heater 12.1->9.6 V cranking",
    ],
)
def test_two_values_of_a_named_item_are_of_no_other(before: str, values: str) -> None:
    found = find_readings(f"{before}; heater {values}")
    assert {each.item for each in found.readings} <= {"compression", "coil", "lead", "heater"}
    assert [each.typed for each in found.readings if each.typed in ("12.4 V", "6 ohm")] == []


def test_what_codes_took_is_looked_through() -> None:
    text = "P0351 stored, coil 0.6 ohm"
    found = find_readings(text, taken=[Place(0, 12)])
    assert (found.rest, found.places) == ("", (Place(14, 26),))


def test_the_shops_own_name_of_an_item_is_one() -> None:
    shop = Wording.default({"splonk box": "pretensioner"})
    found = find_readings("lamp on 2.7 ohm splonk box", shop)
    assert (found.readings[0].item, found.rest) == ("splonk box", "lamp on")


SAYINGS = st.lists(
    st.sampled_from(["misfire", "cold", "lamp", "on", "wen", "brakng", "dead", "slow", "rain"]),
    max_size=5,
)  # fmt: skip


@given(SAYINGS, st.sampled_from(["lf wss", "battery", "coil", "pretensoner", "fuel pressure"]))
def test_words_of_the_complaint_and_of_the_item_add_up(said: list[str], item: str) -> None:
    found = find_readings(f"{' '.join(said)} {item} 2.7 V")
    (reading,) = found.readings
    assert found.rest == " ".join(said)
    assert reading.item == item.removeprefix("lf ")


@pytest.mark.parametrize(
    "text",
    [
        "shakes at 2000 rpm",
        "hunting idle 600 to 1100 rpm",
        "vibration at 110 km/h",
        "-4 °C this morning would not start",
        "12V supply missing at LF sensor",
        "blows the 10 A fuse",
        "60k miles, never serviced",
        "dies after 10 min, back after 2 h",
        "regassed with R134 in spring",
        "Lido 1.4 16V shakes",
        "carpet 100 % wet",
        "door open, warning on",
        "7 of 10 times",
        "OLD STAT OPEN IN COLD WATER",
        "0.5 l in the sunroof tray",
        "wont start (Corvane 2014 63k)",
        "ordered module 5R-7731-B",
        "outside temp under 3C, no heat",
        "2 x 12 V batteries fitted",
        "open circuit at driver airbag",
    ],
)
def test_what_is_told_and_not_measured_stays(text: str) -> None:
    assert find_readings(text) == type(find_readings(""))((), text)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("RF 4.6 Ω", "names no item"),
        ("insulation 5 mohm", "mΩ (milliohm) or MΩ (megohm)"),
        ("injector 2,100 ohm", "may be a point"),
        ("temp gauge reads 90 deg", "°C or °F"),
    ],
)
def test_what_can_be_read_in_two_ways_is_asked_about(text: str, why: str) -> None:
    found = find_readings(text)
    assert (found.readings, found.rest) == ((), text)
    assert [why in doubt.why for doubt in found.doubtful] == [True]


@pytest.mark.parametrize("item", ["leak off", "injector leak off", "leak-off", "leak down"])
def test_an_item_of_words_that_complaints_use_is_one_item(item: str) -> None:
    unit = "%" if item == "leak down" else "ml"
    (taken,) = find_readings(f"{item} 27 {unit}").readings
    assert taken.value == 27
    assert "leak" in taken.item


def test_the_volts_of_a_hybrid_name_it() -> None:
    assert find_readings("mild hybrid 48V fault").readings == ()
    assert [each.typed for each in find_readings("hybrid battery 41.5 V").readings] == ["41.5 V"]


@pytest.mark.parametrize(
    ("text", "offered"),
    [
        ("open circuit between pin 4 and pin 7", "pin 4 to pin 7 OL"),
        ("no continuity between ecu pin 12 and sensor pin 2", "ecu pin 12 to sensor pin 2 OL"),
    ],
)
def test_an_open_wire_told_by_its_ends_is_offered(text: str, offered: str) -> None:
    (doubt,) = find_readings(text).doubtful
    assert offered in doubt.why
    assert parse_reading(offered).typed == "OL"


def test_an_open_igniter_is_not_asked_to_be_measured() -> None:
    assert find_readings("open circuit between squib and airbag ecu").doubtful == ()


@given(
    st.sampled_from(
        [
            *(("hp", "lp"), ("ac hp", "ac lp"), ("suction", "discharge"), ("lp", "hp")),
            *(("klima nd", "klima hd"), ("hd", "nd"), ("clim bp", "clim hp")),
        ]
    ),
    st.integers(2, 20),
    st.integers(2, 20),
)
def test_values_of_counterparts_share_the_unit_at_the_end(
    names: tuple[str, str], one: int, other: int
) -> None:
    found = find_readings(f"{names[0]} {one} {names[1].split()[-1]} {other} bar")
    assert [(each.item, each.value) for each in found.readings] == [
        (names[0], one * 1e5),
        (names[1], other * 1e5),
    ]


@pytest.mark.parametrize("whole", ["", "rad ", "intercooler "])
@pytest.mark.parametrize("unit", ["", " C"])
def test_the_ends_of_a_cooler_are_warm_each(whole: str, unit: str) -> None:
    found = find_readings(f"{whole}inlet 88{unit} outlet 40 C")
    told = [(each.item, each.value) for each in found.readings]
    assert told == [(f"{whole}inlet", 88), (f"{whole}outlet", 40)]


@pytest.mark.parametrize(
    ("line", "items", "asked"),
    [
        ("HP 9 LP 9", [], ["HP 9", "LP 9"]),
        ("front 2.3 rear 2.1 bar", [], ["front 2.3", "2.1 bar"]),
        ("coil prim 0.6 sec 6.1 kohm", ["coil sec"], ["coil prim 0.6"]),
        ("squib 1 res 2.3 ohm", ["squib 1 res"], []),
    ],
)
def test_values_without_a_unit_of_their_own_are_not_merged(
    line: str, items: list[str], asked: list[str]
) -> None:
    found = find_readings(line)
    assert [each.item for each in found.readings] == items
    assert [each.text for each in found.doubtful] == asked


@given(
    st.sampled_from(["ok", "good", "fine"]),
    st.sampled_from([" ", ", "]),
    st.sampled_from(["12.6 V", "12,6V"]),
    st.sampled_from(["", " at rest"]),
    st.sampled_from(["", ", wont start", ", wont crank", ", no crank"]),
)
def test_an_item_that_is_fine_may_stand_before_its_value(
    state: str, joint: str, value: str, rest: str, behind: str
) -> None:
    found = find_readings(f"battery {state}{joint}{value}{rest}{behind}")
    told = [(each.item, each.value, each.condition) for each in found.readings]
    assert told == [("battery", 12.6, rest.strip() or None)]
    assert found.rest == behind.removeprefix(", ")


@pytest.mark.parametrize(
    "line", ["brakes fine, 2.1 bar in tyres", "runs fine, 14.2 V", "12.6 V, wont crank"]
)
def test_what_runs_or_fails_beside_a_value_is_not_its_item(line: str) -> None:
    assert find_readings(line).readings == ()


@pytest.mark.parametrize("item", ["coolant sensor", "fuel sender", "wss", "pedal sensor"])
@pytest.mark.parametrize("place", ["plug", "connector", "pins"])
def test_a_value_at_the_plug_of_a_sensor_is_offered_as_the_sensors(item: str, place: str) -> None:
    found = find_readings(f"{item} 0.2 V on scan, 2k4 at {place}")
    assert [each.item for each in found.readings] == [item]
    assert [f"“{item} 2k4 @ at {place}”" in each.why for each in found.doubtful] == [True]


@given(
    st.sampled_from(
        [("STFT", "LTFT", " %"), ("hp", "lp", " bar"), ("suction", "discharge", " bar")]
    ),
    st.integers(1, 15),
    st.booleans(),
)
def test_a_value_behind_two_counterparts_may_be_of_either(
    told: tuple[str, str, str], value: int, has_unit: bool
) -> None:
    one, other, unit = told
    line = f"{one} 8{unit} {other} 4{unit}, {value}{unit if has_unit else ''} at 2500"
    found = find_readings(line)
    assert [each.item for each in found.readings] == [one.lower(), other.lower()]
    assert len(found.doubtful) == 1


def test_a_value_behind_one_item_is_of_that_item() -> None:
    found = find_readings("LTFT +18 %, +2 % at 2500")
    assert [(each.item, each.condition) for each in found.readings] == [
        ("ltft", None),
        ("ltft", "2500"),
    ]


@pytest.mark.parametrize("line", ["supply 12 return 3 bar", "feed 12 return 3 bar"])
def test_what_flows_there_and_back_has_one_unit(line: str) -> None:
    pressures = [(reading.typed, reading.value) for reading in find_readings(line).readings]
    assert pressures == [("12 bar", 1_200_000.0), ("3 bar", 300_000.0)]  # 1 bar = 100 kPa, SI


def test_a_supply_beside_no_pipe_is_of_no_pressure() -> None:
    found = find_readings("supply 12 return 0.1 V")
    assert {reading.typed.split()[-1] for reading in found.readings} == {"V"}


def test_an_end_told_behind_its_value_is_not_the_end_before_it() -> None:
    found = find_readings("rad 88 C inlet 40 C outlet").readings
    assert [(reading.position, reading.typed) for reading in found] == [
        ("in", "88 C"),
        ("out", "40 C"),
    ]


# How workshops write several values of one item: common practice, no source.
@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "oil pressure 4 bar cold 0.7 hot idle",
            [("4 bar", "cold"), ("0.7 bar", "hot idle")],
        ),
        ("TPS 0.6 V closed 4.3 V WOT", [("0.6 V", "closed"), ("4.3 V", "WOT")]),
        ("vac 18 inHg idle 20 inHg at 2000 rpm", [("18 inHg", "idle"), ("20 inHg", "2000 rpm")]),
    ],
)
def test_a_state_behind_each_value_is_of_that_value(text: str, told: list[tuple[str, str]]) -> None:
    found = find_readings(text).readings
    assert [(reading.typed, reading.condition) for reading in found] == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "vacuum at pump 0.92 bar, at servo 0.55 bar",
            [("vacuum at pump", None), ("vacuum at servo", None)],
        ),
        (
            "leakdown 8% 9% 45% 7%",
            [("leakdown", f"cylinder {number}") for number in (1, 2, 3, 4)],
        ),
        ("coil 1 0.6 ohm 0.7 ohm 0.6 ohm", [("coil", "cylinder 1")]),
        ("rail pressure soll 300 bar", [("rail pressure", "set")]),
        ("coolant sensor 2.4 k", [("coolant sensor", None)]),
    ],
)
def test_where_each_of_several_values_was_measured(
    text: str, told: list[tuple[str, str | None]]
) -> None:
    found = find_readings(text).readings
    assert [(reading.item, reading.position) for reading in found] == told


def test_after_before_a_value_tells_its_stage_where_one_of_the_item_went_before() -> None:
    found = find_readings("gap before 0.9 mm after 1.1 mm").readings
    assert [reading.stage for reading in found] == [Stage.AS_FOUND, Stage.AFTER_FIX]
    assert find_readings("stalls after 5 bar").readings == ()


@pytest.mark.parametrize(
    "text",
    [
        "fitted a 2.2 ohm resistor in the bag connector",
        "2.2 ohm resistor fitted in place of it",
        "put 2R2 dummy load in seat plug, lamp out",
        "60 ohm terminating resistor in",
        "recall 23R5 not done yet",
    ],
)
def test_what_names_a_resistor_that_was_fitted_or_a_campaign_is_no_reading(text: str) -> None:
    found = find_readings(text)
    assert not found.readings
    assert not found.doubtful


def test_the_resistance_of_a_part_called_resistor_is_one() -> None:
    assert find_readings("blower resistor 2.1 ohm").readings


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "no crank, batt 12,1 V, earth side 0,9 V crank",
            [("batt", None, 12.1), ("voltage drop earth side", "cranking", 0.9)],
        ),
        (
            "batt 12.4 V, supply side 0.3 V cranking, ground side 0.6 V cranking",
            [
                ("batt", None, 12.4),
                ("voltage drop supply side", "cranking", 0.3),
                ("voltage drop ground side", "cranking", 0.6),
            ],
        ),
        ("earth side 0,9 V crank", [("voltage drop earth side", "cranking", 0.9)]),
        (
            "batt 12,4 V rest, 9,6 V cranking, 13,9 charging but drops to 12,2 w/ lights",
            [
                ("batt", "at rest", 12.4),
                ("batt", "cranking", 9.6),
                ("batt", "charging", 13.9),
                ("batt", "w/ lights", 12.2),
            ],
        ),
        (
            "batt 12,5 V resting, 13.9 V charging",
            [("batt", "at rest", 12.5), ("batt", "charging", 13.9)],
        ),
        ("TPS 0,48 zu 4,1V offen", [("tps", "closed", 0.48), ("tps", "open", 4.1)]),
        ("TPS 0,48 V zu, 4,1 V offen", [("tps", "closed", 0.48), ("tps", "open", 4.1)]),
        ("battery 12.6 V, charging 14.1 V", [("battery", None, 12.6), ("charging", None, 14.1)]),
    ],
)
def test_the_states_in_which_one_thing_was_measured(
    text: str, told: list[tuple[str, str | None, float]]
) -> None:
    found = find_readings(text)
    assert [(each.place, each.condition, each.value) for each in found.readings] == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            "MAF 3.2 g/s idle hot, 2k rpm 14 g/s, WOT 98 g/s",
            [("maf", "idle hot"), ("maf", "2k rpm"), ("maf", "WOT")],
        ),
        ("boost 0.4 bar idle, 3000 rpm 1.1 bar", [("boost", "idle"), ("boost", "3000 rpm")]),
        (
            "oil pressure 1.1 bar hot idle, 3,000 rpm 3.9 bar",
            [("oil pressure", "hot idle"), ("oil pressure", "3,000 rpm")],
        ),
    ],
)
def test_a_speed_ahead_of_a_value_says_when_and_not_of_what(
    text: str, told: list[tuple[str, str]]
) -> None:
    found = find_readings(text)
    assert [(each.item, each.condition) for each in found.readings] == told
    assert found.rest == ""


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("LR speed 0 km/h rest 30", ["speed, left rear", "speed, others"]),
        ("LF pads 3 mm, rest 8 mm", ["pads, left front", "pads, others"]),
        ("tyre nsf 1.8 bar, rest 2.3", ["tyre, nearside front", "tyre, others"]),
    ],
)
def test_the_rest_behind_a_corner_are_the_others(text: str, places: list[str]) -> None:
    readings = find_readings(text).readings
    assert [each.place for each in readings] == places
    assert readings[-1].condition is None


def test_a_voltage_at_a_corner_may_be_measured_at_rest() -> None:
    (_, at_rest) = find_readings("LF motor feed 12.1 V running, rest 0.2 V").readings
    assert at_rest.condition == "at rest"


def test_a_limit_behind_a_speed_leaves_each_value_its_condition() -> None:
    found = find_readings("backpressure 0.5psi idle 6 @ 2500 max 2.5")
    told = [(reading.typed, reading.condition) for reading in found.readings]
    assert told == [("0.5psi", "idle"), ("6 psi", "2500")]


@pytest.mark.parametrize(
    ("line", "item"),
    [
        ("przy rozruchu spada do 7,2 V", "battery"),
        ("akumulator przy rozruchu spada do 7,2 V", "akumulator"),
        ("napięcie spada do 7,2 V przy rozruchu", "napięcie"),
        ("beim Starten fällt auf 7,2 V", "battery"),
        ("Batterie fällt beim Starten auf 7,2 V", "batterie"),
        ("au démarrage tombe à 7,2 V", "battery"),
        ("batterie tombe à 7,2 V au démarrage", "batterie"),
        ("when cranking drops to 7.2 V", "battery"),
    ],
)
def test_a_condition_in_front_of_a_falling_value_is_kept(line: str, item: str) -> None:
    (reading,) = find_readings(line).readings
    assert (reading.item, reading.condition, reading.value) == (item, "cranking", 7.2)


def test_a_condition_behind_a_value_is_not_of_what_it_falls_to() -> None:
    first, second = find_readings("fuel pressure 38 psi key on engine off drops to 12 psi").readings
    assert (first.condition, second.condition) == ("key on engine off", None)


@pytest.mark.parametrize(
    "line",
    [
        "sinkt auf 7,2 V",
        "nur noch 11,8 V",
        "bei Kälte nur noch 11,8 V",
        "descend jusqu'à 7,2 V",
        "est à 7,2 V",
        "spada do 7,2 V",
        "jest 7,2 V",
        "po nocy tylko 11,8 V",
        "na ciepłym 0,7 bar",
    ],
)
def test_little_words_of_other_tongues_are_no_items(line: str) -> None:
    found = find_readings(line)
    assert not found.readings
    assert any("names no item" in doubt.why for doubt in found.doubtful)


def test_no_little_word_is_ever_an_item() -> None:
    found = {word: find_readings(f"{word} 7.2 V").readings for word in sorted(LITTLE_WORDS)}
    assert found
    assert [word for word, all_ in found.items() if word in {each.item for each in all_}] == []


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("lambda 1,02", "lambda 1,02 λ"),
        ("lambda .98", "lambda .98 λ"),
        ("lambda 0.45", "lambda 0.45 V"),
        ("CAN high 2.6", "can high 2.6 V"),
        ("CAN low 2,4", "can low 2,4 V"),
        ("CAN L 2.4", "can l 2.4 V"),
        ("can bus hi 2.6", None),
        ("injector 14", "injector 14 Ω"),
    ],
)
def test_a_unit_is_offered_only_where_the_item_can_have_it(line: str, offered: str | None) -> None:
    (doubt,) = find_readings(line).doubtful
    assert offered is None or f"“{offered}”" in doubt.why
    assert "Ω" not in doubt.why or "injector" in line


@pytest.mark.parametrize("line", ["injector 2", "injector 2 noisy", "coil 3 dead", "glow plug 4"])
def test_which_of_several_is_meant_is_no_value(line: str) -> None:
    found = find_readings(line)
    assert (found.readings, found.doubtful) == ((), ())


@pytest.mark.parametrize(
    ("line", "positions"),
    [
        ("pads 3mm inner 7 mm outer right rear", ["inner right rear", "outer right rear"]),
        ("pads 3 mm inner, 7 mm outer, RR", ["inner right rear", "outer right rear"]),
        ("RR pads 3 mm inner 7 mm outer", ["inner right rear", "outer right rear"]),
        ("discs 21 mm left 22 mm right front axle", ["left front", "right front"]),
        ("shock 2 mm left 3 mm right rear", ["left rear", "right rear"]),
        ("fuel trim -12 % left bank +3 % right bank", ["left bank", "right bank"]),
        ("fuel trim 12 % left bank 3 % right bank", ["left bank", "right bank"]),
        (
            "LF pads 3 mm inner 7 mm outer, RF 4 mm inner 6 mm outer",
            ["inner left front", "outer left front", "inner right front", "outer right front"],
        ),
        ("pads 3 mm inner 7 mm outer", ["inner", "outer"]),
    ],
)
def test_a_place_told_once_is_that_of_all_values_of_a_clause(
    line: str, positions: list[str]
) -> None:
    found = find_readings(line)
    assert [reading.position for reading in found.readings] == positions
    assert not found.rest


@pytest.mark.parametrize(
    "line",
    ["ohmed heater pins 1-2: 1.5k, 2-3: OL, 1-gnd >10M", "ohmed motor pins 1-gnd >10M",
     "broches 1-masse >10M", "pins 2-3 >10M"],
)  # fmt: skip
def test_what_was_measured_between_pins_is_no_insulation_of_all(line: str) -> None:
    assert all(each.item != "insulation" for each in find_readings(line).readings)


def test_so_much_to_earth_and_nothing_named_is_insulation() -> None:
    assert [each.item for each in find_readings(">10M to earth").readings] == ["insulation"]


@pytest.mark.parametrize(
    ("text", "item", "condition"),
    [
        ("before cranking battery 12.6 V", "battery", "before cranking"),
        ("prior to cranking battery 12.6 V, cranking 9.4 V", "battery", "prior to cranking"),
        ("vor dem Starten Batterie 12,4 V", "batterie", "vor dem Starten"),
        ("after start charging 14.2 V", "charging", "after start"),
        ("at idle battery 14.2 V", "battery", "idle"),
        ("at 2000 rpm boost 1.1 bar", "boost", "2000 rpm"),
        ("cranking battery 9.4 V", "battery", "cranking"),
        ("batterie tombe à 8,2 V en démarrage", "batterie", "cranking"),
    ],
)
def test_what_heads_a_clause_just_before_the_item_is_the_condition(
    text: str, item: str, condition: str
) -> None:
    first = find_readings(text).readings[0]
    assert (first.item, first.condition) == (item, condition)


@pytest.mark.parametrize("unit", ["U/min", "Umdr/min", "tr/min", "tours/min", "obr/min", "rev/min"])
@pytest.mark.parametrize(
    ("line", "values"),
    [
        (
            "oil pressure 0.8 bar hot idle; 2500 {} 3.1 bar",
            [("hot idle", 80_000), ("2500 rpm", 310_000)],
        ),
        ("oil pressure 3.1 bar bei 2500 {}", [("2500 rpm", 310_000)]),
        ("oil pressure 3.1 bar, min 2.5 bar at 2500 {}", [(None, 310_000)]),
        ("idle 850 {}", [(None, 850)]),
        ("maf 12 g/s 2500 {}", [("2500 rpm", 12)]),
    ],
)
def test_revolutions_of_any_language_are_no_minimum(
    line: str, unit: str, values: list[tuple[str | None, float]]
) -> None:
    told = [(each.condition, each.value) for each in find_readings(line.format(unit)).readings]
    spelt = [(said and said.replace(unit, "rpm"), value) for said, value in told]
    assert spelt == values


@pytest.mark.parametrize(
    ("line", "item"),
    [
        (
            "Einspritzdüse 2 Widerstand 14.2 Ohm kalt, die 3 hat 14.4 Ohm",
            "einspritzdüse widerstand",
        ),
        ("injecteur 2 résistance 14.2 ohm, le 3 14.4 ohm", "injecteur résistance"),
        ("wtryskiwacz 2 14,2 ohm, wtryskiwacz 3 14,4 ohm", "wtryskiwacz"),
        ("injector 2 14.2 ohm, and the 3 has 14.4 ohm", "injector"),
        ("Glühkerze 2 14.2 Ohm; Glühkerze 3 14.4 Ohm", "glühkerze"),
        ("bobine 2 14,2 ohm, bobine 3 14,4 ohm", "bobine"),
        ("Kompression Zyl 2 14.2 bar, Zyl 3 14.4 bar", "kompression"),
        ("compression cylindre 2 14,2 bar, cylindre 3 14,4 bar", "compression"),
    ],
)
def test_the_number_of_what_a_cylinder_has_one_of_is_its_own_in_any_language(
    line: str, item: str
) -> None:
    found = find_readings(line)
    assert [(each.item, each.position) for each in found.readings] == [
        (item, "cylinder 2"),
        (item, "cylinder 3"),
    ]
    assert found.rest == ""


def test_a_value_that_a_named_thing_has_is_not_of_the_next() -> None:
    assert find_readings("fuse 14 has 12.1 V").readings[0].position is None
    assert not any(
        each.position == "cylinder 3" for each in find_readings("gear 3 has 14.4 V").readings
    )


def test_high_and_low_side_are_an_air_conditioning_s_where_the_line_tells_one() -> None:
    told = find_readings("LP 1.8 bar HP 16 bar vent 8C").readings
    assert [each.item for each in told] == ["a/c lp", "a/c hp", "vent"]
    sides = find_readings("low side 2.1 bar, high side 14 bar, vent 6 °C").readings
    assert [each.place for each in sides[:2]] == ["a/c, low side", "a/c, high side"]
    assert [each.item for each in find_readings("LP 2.1 bar, HP 14 bar").readings] == ["lp", "hp"]


def test_french_before_and_after_tell_when_and_not_where() -> None:
    told = find_readings("masse avant 0,8 V, après 0,05 V").readings
    assert [(each.place, each.stage.value) for each in told] == [
        ("masse", "as found"),
        ("masse", "after the fix"),
    ]
    assert not find_readings("avant 0,8 V, après 0,05 V").readings


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("replaced the cable, wieder 370mA", "370mA"),
        ("teilweise besser 90 mA", "90 mA"),
        ("znowu 370 mA", "370 mA"),
        ("encore 370 mA", "370 mA"),
        ("partly better 90 mA", "90 mA"),
    ],
)
def test_adverbs_and_words_of_an_outcome_name_no_item(line: str, value: str) -> None:
    found = find_readings(line)
    assert found.readings == ()
    assert [each.text for each in found.doubtful] == [value]


def test_a_stage_keeps_its_number_and_what_it_is_of() -> None:
    told = find_readings("driver squib stage 1 2.1 ohm stage 2 2.3 ohm").readings
    assert [(each.item, each.position, each.typed) for each in told] == [
        ("squib stage 1", "driver", "2.1 ohm"),
        ("squib stage 2", "driver", "2.3 ohm"),
    ]


def test_a_load_put_in_place_of_a_part_is_no_condition() -> None:
    told = find_readings("substitute load 2.2 ohm in place of seat bag").readings
    assert [(each.item, each.condition) for each in told] == [("substitute load", None)]


def test_a_mat_is_empty_or_occupied() -> None:
    found = find_readings("mat 1k2 empty 400 occupied")
    assert [(each.item, each.condition) for each in found.readings] == [("mat", "empty")]
    assert [each.text for each in found.doubtful] == ["400 occupied"]


@pytest.mark.parametrize(
    "line",
    [
        "Batterie nach 2 Tagen leer",
        "batterie vide après 2 jours",
        "akumulator pusty po 2 dniach",
        "battery flat after 2 days",
        "auto box slips 3-4 when hot",
        "Getriebe schaltet 2-3 hart",
        "battery 3 times flat",
        "Batterie 2 Wochen alt",
        "coolant lost 3 weeks ago",
    ],
)
def test_what_counts_days_gears_or_times_is_offered_as_no_reading(line: str) -> None:
    found = find_readings(line)
    assert (found.readings, found.doubtful) == ((), ())
