"""Shop talk understood. The lines are invented; what they mean is common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import CodeStatus, Quantity, Reading, Stage, System, TroubleCode, Vehicle
from kb.intake.account import Fine
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import conditions_in, understand
from kb.intake.wording import Wording

LINE = "LR door lock dead after rain, B1234-13, motor feed 4.1 V"
LIDO = Vehicle(make="Corvane", model="Lido", year=2016, engine="1.4 petrol", ref="K031")
PLAIN = [
    "lamp", "on", "when", "it", "after", "the", "rain", "not", "ok", "won't", "start", "LF", "w/s",
    "door", "n/a", "K031", "seat;", "and,", "then.", "twice",
]  # fmt: skip


def test_a_line_is_parted_into_words_code_reading_and_conditions() -> None:
    said = understand(LINE)
    assert said.notices == ()
    complaint = said.complaint
    assert complaint.text == "LR door lock dead after rain"
    assert complaint.codes == (TroubleCode(code="B1234", failure_type="13"),)
    (reading,) = complaint.readings
    assert (reading.item, reading.position, reading.quantity) == (
        "motor feed",
        None,
        Quantity.VOLTAGE,
    )
    assert (reading.value, reading.typed, reading.stage) == (4.1, "4.1 V", Stage.AS_FOUND)
    assert complaint.conditions == "after rain"
    assert complaint.vehicle == Vehicle()


def test_a_position_said_with_the_reading_is_the_readings() -> None:
    (reading,) = understand("airbag lamp, LF pretensioner 5.8 ohm").complaint.readings
    assert reading.place == "pretensioner, left front"


def test_what_is_told_beside_the_line_wins() -> None:
    told = parse_reading("motor feed 11.9 V")
    code = TroubleCode(code="B1234", failure_type="13", status=CodeStatus.STORED)
    complaint = understand(
        f"{LINE}, B1235",
        codes=[code],
        readings=[told],
        conditions="in frost",
        system=System.OTHER,
    ).complaint
    assert complaint.codes == (code, TroubleCode(code="B1235"))
    assert complaint.readings == (told,)
    assert (complaint.conditions, complaint.system) == ("in frost", System.OTHER)


def test_a_bare_code_in_the_line_is_the_told_one_with_its_failure_type() -> None:
    code = TroubleCode(code="B1234", failure_type="1B")
    assert understand("B1234 again", codes=[code]).complaint.codes == (code,)
    both = understand("B1234-13 again", codes=[code]).complaint.codes
    assert both == (code, TroubleCode(code="B1234", failure_type="13"))


def test_another_reading_in_the_line_is_added() -> None:
    told = parse_reading("LF pretensioner 5.8 ohm")
    found = understand("RF pretensioner 2.2 ohm", readings=[told]).complaint.readings
    assert [reading.place for reading in found] == [
        "pretensioner, left front",
        "pretensioner, right front",
    ]


@pytest.mark.parametrize(
    ("text", "conditions"),
    [
        ("cuts out when hot, restarts in the morning", ["when hot", "in the morning"]),
        ("ABS LAMP OVER BUMPS ONLY", ["OVER BUMPS"]),
        ("noise only when cold, gone when hot", ["when cold"]),
        ("misfire disappears once warm", []),
        ("worse when hot, better when cold", ["when hot"]),
        ("power gone when hot, no better when cold", ["when hot", "when cold"]),
        ("hesitates on the motorway under load", ["on the motorway", "under load"]),
        ("stability lamp above 70 km/h", ["above 70 km/h"]),
        ("shakes braking from 110 km/h", ["from 110 km/h"]),
        ("knock over speed bumps, over speed bumps again", ["over speed bumps"]),
        ("lamp on cold starts only", ["on cold starts"]),
        ("fails after standing overnight", ["after standing overnight"]),
        ("lamp after 15 min, whistle at idle", ["after 15 min", "at idle"]),
        ("judder while turning left", ["while turning left"]),
        ("starts fine when cold, never when hot", []),
        ("isn't after rain", []),
        ("could not get it to stall in 40 km", []),
        ("not bad, but stalls in 40 km", ["in 40 km"]),
        ("does not start when cold", ["when cold"]),
        ("rattles on bumpy roads", ["on bumpy roads"]),
        ("rattles on bumby roads, dies on the motorwy", ["on bumby roads", "on the motorwy"]),
        ("lamp on when reads are low", []),
        ("misfire on acceleration, no misfire at idle", ["on acceleration"]),
        ("shakes at 80 km/h, no shake at 120 km/h, smooth on the motorway", ["at 80 km/h"]),
        ("whine when cold, no noise when hot", ["when cold"]),
        ("no heat at idle, no oil pressure when hot", ["at idle", "when hot"]),
        ("airbag lamp on", []),
        ("", []),
    ],
)
def test_conditions(text: str, conditions: list[str]) -> None:
    assert list(conditions_in(text)) == conditions


def test_the_system_is_guessed_from_shorthand_and_from_the_shops_own() -> None:
    assert understand("pretens. u/s").complaint.system is System.RESTRAINTS
    assert understand("funny noise").complaint.system is None
    own = Wording.default({"bong": "airbag lamp"})
    assert understand("bong", wording=own).complaint.system is System.RESTRAINTS


@pytest.mark.parametrize(
    ("text", "system"),
    [
        ("Klima kühlt nicht, Kompressor läuft an but clutch drops out, Hochdruck 2,4 bar",
         System.CLIMATE),
        ("AC not cold, compressor clutch drops out after 5 min", System.CLIMATE),
        ("clutch slips", System.TRANSMISSION),
        ("batt 12,4 V cold, 10,1 cranking", System.CHARGING_STARTING),
        ("LTFT +18,5 % at idle", System.FUEL_MIXTURE),
        ("temp reads -40 °C, ECT 5,02 V", System.COOLING),
        ("runs rough, battery 12.4 V", None),
        ("wiper slow, battery 12.4 V", System.BODY_ELECTRICS),
    ],
)  # fmt: skip
def test_the_system_of_words_and_else_of_what_was_measured(
    text: str, system: System | None
) -> None:
    assert understand(text).complaint.system is system


def test_the_vehicle_by_flag_and_by_its_tag_in_the_line() -> None:
    assert understand("k031 no crank", vehicles=[LIDO]).complaint.vehicle == LIDO
    assert understand("no crank", vehicles=[LIDO]).complaint.vehicle == Vehicle()
    said = understand("no crank", vehicle="corvne lido 2014", vehicles=[LIDO])
    assert said.complaint.vehicle.label == "Corvane Lido 2014"
    assert "was read as Corvane Lido" in said.notices[0]


def test_doubts_and_personal_data_are_told() -> None:
    notices = understand("9.1 V, part 4H0B1234C, call 07700 900123").notices
    assert len(notices) == 3
    assert any("names no item" in notice for notice in notices)
    assert any("4H0B1234C" in notice for notice in notices)
    assert any("phone number" in notice for notice in notices)


@given(st.lists(st.sampled_from(PLAIN), max_size=20).map(" ".join))
def test_words_alone_are_kept_whole(text: str) -> None:
    complaint = understand(text).complaint
    assert complaint.text == text
    assert (complaint.codes, complaint.readings) == ((), ())


@given(st.text() | st.lists(st.sampled_from([*PLAIN, "P0301", "12.4V", "5.8 ohm,"])).map(" ".join))
def test_any_line_is_understood(text: str) -> None:
    complaint = understand(text).complaint
    assert len(complaint.text) <= len(text)
    assert all(isinstance(reading, Reading) for reading in complaint.readings)
    for phrase in (complaint.conditions or "").split(", "):
        assert phrase in complaint.text


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("springt kalt schlecht an", ["kalt"]),
        ("geht aus morgens, nach Regen", ["morgens", "nach Regen"]),
        ("rano nie odpala po deszczu", ["rano", "po deszczu"]),
        ("cale le matin, après pluie", ["le matin", "après pluie"]),
        ("Lampe an beim Bremsen", ["beim Bremsen"]),
    ],
)
def test_conditions_are_read_in_other_languages(line: str, told: list[str]) -> None:
    assert list(conditions_in(line)) == told


def test_what_is_said_to_be_well_is_told_and_not_left_over_as_ok() -> None:
    told = understand("battery ok, cranks fine no start, fuse 14 good").account
    fine = [lift.fact for lift in told.lifted if isinstance(lift.fact, Fine)]
    assert fine == [Fine("battery"), Fine("cranks", works=True), Fine("fuse 14")]
    assert not told.kept


@pytest.mark.parametrize(
    ("line", "km"),
    [
        ("P0300, 17000", None),
        ("P0300 P0301 17000", None),
        ("lamp on, P0300, 17000, 17512", None),
        ("U0100-87, 00532, 65535", None),
        ("P0300, 17000 km", 17_000),
        ("P0300, 84000", 84_000),  # more than two bytes hold, so no code (SAE J2012: two bytes)
        ("P0300, 117000, misfire cold", 117_000),
        ("P0300; 17000", 17_000),
        ("misfire, 17000", 17_000),
    ],
)
def test_a_makers_number_among_codes_is_no_odometer(line: str, km: int | None) -> None:
    said = understand(line)
    assert (said.odometer and said.odometer.km) == km
    if km is None:
        assert any("stands among codes" in notice for notice in said.notices)


@pytest.mark.parametrize(
    ("line", "codes"),
    [
        ("P0 300, PO301 , P0302", ["P0300", "P0301", "P0302"]),
        ("codes P0 300 P03O1 P 0302", ["P0300", "P0301", "P0302"]),
        ("P0300,P0301,,P0303", ["P0300", "P0301", "P0303"]),
        ("codes: P0171 P0l74, 17000", ["P0171", "P0174"]),
    ],
)
def test_blanks_and_slips_in_a_list_of_codes(line: str, codes: list[str]) -> None:
    assert [str(code) for code in understand(line).complaint.codes] == codes


@pytest.mark.parametrize(
    ("line", "conditions"),
    [
        ("feed 11 when cold, no start", None),
        ("feed 11 when cold, no start after rain", "after rain"),
        ("spec 14 V when hot, no start when cold", "when cold"),
        ("no start when cold, battery 12.6", "when cold"),
    ],
)
def test_the_condition_of_a_value_that_stays_words_is_none_of_the_job(
    line: str, conditions: str | None
) -> None:
    assert understand(line).complaint.conditions == conditions


@pytest.mark.parametrize(
    "line",
    [
        "batt 12,4 V at rest w/ lights and blower on",
        "battery 12.1 V with headlights and heater on",
        "Batterie 12,4 V mit Licht und Gebläse an",
        "batterie 12,4 V avec phares et soufflerie allumés",
    ],
)
def test_a_load_that_a_battery_was_measured_with_is_its_condition_and_no_system(line: str) -> None:
    complaint = understand(line).complaint
    (reading,) = complaint.readings
    assert complaint.system is None
    assert complaint.text == ""
    assert len((reading.condition or "").split()) > 3


@pytest.mark.parametrize("said", ["chaud seulement", "nur warm", "tylko na zimno", "à froid"])
def test_conditions_of_other_languages_are_gathered(said: str) -> None:
    assert list(conditions_in(f"cale au ralenti, {said}")) == [said]


@pytest.mark.parametrize(
    ("text", "conditions"),
    [
        ("long crank hot, sometimes dies at traffic light", ["hot"]),
        ("misfires cold, fine hot", ["cold"]),
        ("wheel bearing noise hot and cold", ["hot and cold"]),
        ("rattle cold only", ["cold only"]),
        ("overheats at 102°C", ["at 102°C"]),
        ("fan comes on at 102°C", []),
        ("thermostat opens at 95 °C", []),
        ("runs hot", []),
        ("AC blows warm", []),
        ("brakes hot", []),
    ],
)
def test_a_bare_state_behind_a_symptom_tells_when_and_is_else_the_trouble(
    text: str, conditions: list[str]
) -> None:
    assert list(conditions_in(text)) == conditions
