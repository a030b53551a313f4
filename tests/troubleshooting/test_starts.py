"""What a technician is told to begin with where the shop has seen nothing like it.

All of it is common practice, no source.
"""

import pytest

from kb.case import Complaint, FailureMode, System, TroubleCode, Vehicle
from kb.intake.said_fine import said_fine, system_at_fault
from kb.intake.subjects import trade_subjects
from kb.intake.wording import Wording
from kb.troubleshooting.general_tests import general_tests
from kb.troubleshooting.starts import first_tests, starts_table
from tests.troubleshooting.test_fitting import ELECTRICAL, job, offered

WORDING = Wording.default()
DIESEL = Vehicle(engine="2.0 diesel")


def begun(text: str, vehicle: Vehicle | None = None, *codes: str) -> list[str]:
    told = tuple(TroubleCode(code=code) for code in codes)
    said = Complaint(text=text, vehicle=vehicle or Vehicle(), codes=told)
    system = system_at_fault(text, WORDING, told)
    return [test.name for test in first_tests(said, [system] if system else (), WORDING)]


def test_the_table_speaks_of_known_tests_subjects_and_signs() -> None:
    tests, signs = {each.name for each in general_tests().test}, set(general_tests().signs)
    for each in starts_table().start:
        assert set(each.tests) <= tests
        assert set(each.about) <= trade_subjects().keys()
        assert set(each.signs) <= signs
        assert each.about or each.signs


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("indicators flash fast on the left", ["bulbs and their earth looked at"]),
        ("blinkers tick, they flash too quick", ["bulbs and their earth looked at"]),
        ("one brake light out", ["bulbs and their earth looked at"]),
        ("radiator fan does not run", ["supply and earth at its plug", "self-test"]),
        ("wipers dead", ["supply and earth at its plug", "self-test"]),
        ("passenger window does not go down", ["supply and earth at its plug", "self-test"]),
        ("blower only works on speed 4", ["blower speeds read at its plug"]),
        ("heater fan only on full", ["blower speeds read at its plug"]),
        ("no heat in the cabin", ["hose temperatures compared"]),
        ("flat battery after two days", ["load test", "quiescent current measured"]),
        ("battery dead every monday", ["load test", "quiescent current measured"]),
        ("battery light on", ["charging voltage measured", "load test"]),
        (
            "cranks slowly in the morning",
            ["load test", "starter's feeds read while the key is turned"],
        ),
        ("brake pedal judders from motorway speed", ["brake discs measured"]),
        ("rear wheel gets hot, brake binds", ["wheels turned by hand"]),
        ("handbrake does not hold on a hill", ["brake forces measured"]),
        (
            "humming from the front, louder with speed",
            ["road test for noise", "wheels turned by hand"],
        ),
        ("exhaust blowing", ["exhaust held shut and listened to"]),
        ("wet carpet in the passenger footwell", ["water test"]),
        ("water in the passenger footwell after rain", ["water test"]),
        ("car pulls to the left", ["tyre pressures read", "play check with a lever"]),
        ("vibration at 110 km/h", ["wheel balance and runout measured"]),
        ("clunk over bumps", ["play check with a lever"]),
        ("engine light on", ["fault codes read"]),
        ("no power, limp mode", ["fault codes read"]),
        ("clutch slips uphill", ["clutch loaded in a high gear"]),
        ("crunches into second gear", ["clutch checked to part"]),
        ("oil leak under the engine", ["cleaned and run for a leak"]),
        ("losing coolant", ["pressure test"]),
        ("belt squeals on start up", ["turned by hand", "listen"]),
        ("bonnet will not open", ["moved by hand with its drive off"]),
        ("does not unlock with the remote, key fob", ["second key tried"]),
        ("long crank when hot", ["pressure and speed while it cranks"]),
        ("hard to start hot, cranks fine", ["pressure and speed while it cranks"]),
        ("turns over but will not start", ["spark and fuel"]),
        ("aircon not cold", ["clutch watched with the a/c on", "refrigerant gauges"]),
    ],
)
def test_everyday_trouble_is_begun_with_the_everyday_checks(text: str, expected: list[str]) -> None:
    found = begun(text)
    assert found[0] == "visual check" or found[:2] == ["fault codes read", "visual check"]
    assert [name for name in found[:3] if name != "visual check"][: len(expected)] == expected


def test_a_diesel_that_starts_badly_is_begun_at_its_glow_plugs() -> None:
    assert "glow plugs measured" in begun("hard to start cold", DIESEL)[:3]
    assert "glow plugs measured" in begun("diesel hard to start cold")[:3]
    assert "glow plugs measured" not in begun("hard to start cold", Vehicle(engine="1.4 petrol"))
    assert "spark and fuel" not in begun("cranks but will not start", DIESEL)


@pytest.mark.parametrize(
    ("text", "unfit"),
    [
        ("long crank when hot", "starter's feeds read while the key is turned"),
        ("aircon smells musty", "refrigerant gauges"),
        ("horn dead", "moved by hand with its drive off"),
        ("seat heating not working", "fed directly"),
        ("window slow", "supply and earth at its plug"),
        ("brake light stays on", "bulbs and their earth looked at"),
        ("car shakes at idle at the lights", "wheel balance and runout measured"),
        ("tyre flat overnight", "quiescent current measured"),
        ("airbag light on", "fault codes read"),
        ("wet carpet passenger side", "fault codes read"),
    ],
)
def test_what_does_not_fit_the_trouble_is_not_among_them(text: str, unfit: str) -> None:
    assert unfit not in begun(text)


def test_codes_that_are_told_are_not_read_again() -> None:
    assert "fault codes read" in begun("engine light on")
    assert "fault codes read" not in begun("engine light on", None, "P0171")


def test_on_a_restraint_there_is_only_the_look() -> None:
    assert begun("airbag lamp on since the seat was moved") == ["visual check"]


@pytest.mark.parametrize(
    ("slip", "right"),
    [
        ("brake pedl soft", "brake pedal soft"),
        ("brake pedal spnogy", "brake pedal spongy"),
        ("indcators flash fast", "indicators flash fast"),
        ("exaust blowing", "exhaust blowing"),
        ("wet carpt on the left", "wet carpet on the left"),
        ("baterry flat overnigth", "battery flat overnight"),
        ("radiatr fan does not run", "radiator fan does not run"),
        ("cranks slwoly", "cranks slowly"),
        ("clutch slipps uphill", "clutch slips uphill"),
    ],
)
def test_a_slip_of_spelling_is_begun_as_the_word_that_is_meant(slip: str, right: str) -> None:
    assert begun(slip) == begun(right)


@pytest.mark.parametrize("text", ["petal soft", "brake petal soft", "brake medal soft"])
def test_a_word_that_somebody_knows_is_no_slip(text: str) -> None:
    assert "pedal held, then ports plugged" not in begun(text)


@pytest.mark.parametrize(
    "text",
    [
        *("long crank when hot", "extended cranking in the morning", "cranks for ages then starts"),
        *("takes ages to start warm", "prolonged cranking", "needs a lot of cranking cold"),
        *("starts late, cranks at normal speed", "cranks a long time before it fires"),
    ],
)
def test_who_cranks_long_cranks_well(text: str) -> None:
    found = said_fine(text, WORDING)
    assert found.working >= {"starting", "battery", "main cables"}
    assert "fuel supply" in found.subjects(WORDING)
    assert system_at_fault(text, WORDING) is System.FUEL_MIXTURE


@pytest.mark.parametrize(
    "text",
    ["cranks slowly for ages", "slow cranking when hot", "long crank, starter clicks", "no crank"],
)
def test_who_cranks_slowly_does_not(text: str) -> None:
    assert not said_fine(text, WORDING).working
    assert system_at_fault(text, WORDING) is System.CHARGING_STARTING


@pytest.mark.parametrize(
    "text",
    [
        *("no start, cranks at normal speed", "no start, cranks fast", "no start, cranks normally"),
        *("no start, cranking speed fine", "cranks as it should, no start"),
        *("no start, starter spins it over fast", "no start, turns over at the usual speed"),
    ],
)
def test_the_speed_it_is_cranked_at_clears_battery_starter_and_their_cables(text: str) -> None:
    assert said_fine(text, WORDING).working == {"starting", "battery", "main cables"}


@pytest.mark.parametrize("text", ["no start, cranks at low speed", "no start, cranking speed low"])
def test_a_low_speed_clears_nothing(text: str) -> None:
    assert not said_fine(text, WORDING).working


@pytest.mark.parametrize(
    "text",
    [
        *("flat overnight, new battery fitted last week", "battery is new but flat overnight"),
        *("new battery fitted last week, flat overnight", "battery flat, battery 2 weeks old"),
        *("battery replaced last month, goes flat overnight", "drains, battery one month old"),
    ],
)
def test_a_battery_told_to_be_new_is_new_wherever_it_is_told(text: str) -> None:
    assert said_fine(text, WORDING).new.split()[-1:] == ["battery"]


@pytest.mark.parametrize(
    "text",
    [
        *("flat overnight, battery 12 months old", "flat overnight, battery 3 years old"),
        *("no crank since new battery fitted", "needs new battery, flat overnight"),
        *("new clutch fitted last week, judders", "flat overnight, is the battery new?"),
    ],
)
def test_what_is_old_or_how_the_trouble_came_is_not(text: str) -> None:
    assert not said_fine(text, WORDING).new


@pytest.mark.parametrize(
    "text",
    [
        *("water in passenger footwell after rain", "footwell soaked on the left", "sloshing"),
        *("rain comes through the headlining", "carpet damp behind the driver", "wet mat"),
    ],
)
def test_water_in_the_car_is_sought_with_water_and_nothing_on_plugs(text: str) -> None:
    suspects = {
        "scuttle drain": FailureMode.BLOCKED,
        "body control unit connector": FailureMode.CONTAMINATED,
        "door harness": FailureMode.OPEN,
    }
    found = offered(job(text), suspects)
    assert "water test" in found
    assert any("scuttle drain" in branch.seen for branch in found["water test"].branches)
    assert not ELECTRICAL & found.keys()
    assert "fault codes read" not in found


@pytest.mark.parametrize(
    "text",
    [
        *("fluid leaking under the gearbox", "coolant drips on the drive", "oil seeps at the sump"),
        *("exhaust loud", "thud from the back over bumps", "chuffing under the bonnet"),
        *("creaks each time I come off the pedal at the lights", "moans in bends"),
    ],
)
def test_a_leak_or_a_noise_is_not_sought_on_plugs(text: str) -> None:
    suspects = {
        "exhaust temperature sensor connector": FailureMode.HIGH_RESISTANCE,
        "engine harness": FailureMode.OPEN,
    }
    assert not ELECTRICAL & offered(job(text), suspects).keys()


def test_a_condition_is_brought_on_only_where_some_is_told() -> None:
    suspects = {"coil connector": FailureMode.INTERMITTENT}
    name = "repeat after heat"  # as far as its first comma
    assert name in offered(job("misfires when wet"), suspects)
    assert name in offered(job("misfires", conditions="after rain"), suspects)
    assert name not in offered(job("engine lamp, misfires"), suspects)
