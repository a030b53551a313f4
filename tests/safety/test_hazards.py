"""What can hurt somebody at a job; every case is common practice, no source.

The first five cases of each kind in ``hazard_cases.toml`` were written before the table.
"""

import re
import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from kb.case import (
    Cause,
    Complaint,
    DiagnosticTest,
    FailureMode,
    Job,
    Quantity,
    Reading,
    System,
    TroubleCode,
    Vehicle,
)
from kb.intake.items import trade_items
from kb.intake.systems import guess_system, trade_words
from kb.intake.wording import Wording
from kb.safety.hazards import (
    _UMLAUTS,
    MOST,
    MOST_NAMED,
    TABLE,
    Situation,
    _file,
    _lexicon,
    _read,
    cautions,
    cautions_of_list,
    concerns,
    hazard_table,
    hazards,
    is_raised,
)
from kb.safety.igniter_clauses import words_of
from kb.safety.igniter_concern import is_of_drive
from kb.safety.igniter_words import implied, named_alike, pictured
from tests.strategies import jobs as any_jobs

WORDING = Wording.default()
CASES = tomllib.loads(Path(__file__).with_name("hazard_cases.toml").read_text(encoding="utf-8"))
LINES = tomllib.loads(Path(__file__).with_name("hazard_lines.toml").read_text(encoding="utf-8"))
NEIGHBOURS = tomllib.loads(
    Path(__file__).with_name("hazard_neighbours.toml").read_text(encoding="utf-8")
)
NOT_YET = [("asbestos", "drum brakes squeak, 2019 car")]
"""What the table still gets wrong: no year that is told clears a lining."""
DAY = date(2026, 3, 2)


def job_of(case: str | dict[str, Any]) -> Job:
    told = {"text": case} if isinstance(case, str) else case
    return Job(
        vehicle=Vehicle(engine=told.get("engine")),
        opened=DAY,
        complaint=told["text"],
        system=System(told["system"]) if "system" in told else None,
        codes=tuple(TroubleCode(code=code) for code in told.get("codes", ())),
        readings=tuple(
            Reading(item=told[field], quantity=Quantity.VOLTAGE, typed="1 V", value=1)
            for field in ("item",)
            if field in told
        ),
        tests=tuple(
            DiagnosticTest(name=told[field], seen="as told") for field in ("test",) if field in told
        ),
        cause=Cause(
            component=told.get("component", "part"),
            location=told.get("place"),
            failure_mode=FailureMode.UNKNOWN,
        ),
    )


def keys(situation: Situation) -> list[str]:
    return [hazard.key for hazard in hazards(situation, WORDING)]


def keys_of(case: str | dict[str, Any]) -> list[str]:
    return keys(Situation.of_job(job_of(case)))


def every(kind: str, *of: str) -> list[tuple[str, str | dict[str, Any]]]:
    return [
        (key, case)
        for key in of or CASES
        for case in (*CASES[key][kind], *LINES[key][kind])
        if (key, case) not in NOT_YET
    ]


@pytest.mark.parametrize("key", CASES)
def test_what_raises_a_hazard(key: str) -> None:
    missed = [case for _, case in every("raises", key) if key not in keys_of(case)]
    assert not missed, "\n".join(map(str, missed))


@pytest.mark.parametrize("key", CASES)
def test_what_is_a_near_miss(key: str) -> None:
    raised = [case for _, case in every("spares", key) if key in keys_of(case)]
    assert not raised, "\n".join(map(str, raised))


@pytest.mark.parametrize(
    ("kind", "key"), [(kind, key) for kind in NEIGHBOURS for key in NEIGHBOURS[kind]]
)
def test_a_system_guessed_raises_no_more_than_its_words(kind: str, key: str) -> None:
    lines = NEIGHBOURS[kind][key]
    asked = [Complaint(text=line, system=guess_system(line)) for line in lines]
    raised = [each.text for each in asked if key in keys(Situation.of_complaint(each))]
    wrong = set(lines) ^ set(raised) if kind == "raises" else raised
    assert not wrong, "\n".join(wrong)


def test_a_hazard_stands_by_what_else_is_known() -> None:
    """What a neighbour's words spare, a code, a part or an electrified car still raises."""
    dead = Complaint(text="air conditioning display dead", system=System.CLIMATE)
    assert "refrigerant" not in keys(Situation.of_complaint(dead))
    assert "refrigerant" in keys(
        Situation.of_complaint(dead) | Situation(named=("air conditioning condenser",))
    )
    high = Complaint(text="12 v high voltage 15.6 v", vehicle=Vehicle(engine="1.8 hybrid"))
    assert "high_voltage" in keys(Situation.of_complaint(high))


@pytest.mark.parametrize("volts", ["60 v", "96 v", "400 v", "350 volts", "0 cells"])
def test_high_voltage_is_high_from_sixty_volts(volts: str) -> None:
    """UN ECE R100, from memory: above 60 V direct current is high voltage."""
    assert "high_voltage" in keys(Situation(said=(f"high voltage {volts}",)))


def test_every_hazard_has_five_cases_of_both_kinds() -> None:
    assert set(CASES) == set(LINES) == {hazard.key for hazard in hazard_table()}
    assert all(len(each[kind]) >= 5 for each in CASES.values() for kind in ("raises", "spares"))


def test_the_table_is_whole() -> None:
    table = hazard_table()
    assert len({hazard.key for hazard in table}) == len({hazard.title for hazard in table})
    for hazard in table:
        assert hazard.gravity in {1, 2, 3}
        assert hazard.source
        assert hazard.when
        assert not re.search(r"\d", hazard.caution), "times and limits are the manufacturer's"
        assert hazard.covered_by is None or hazard.covered_by in {each.key for each in table}
        assert "," not in hazard.title


def test_what_is_still_wrong_is_wrong() -> None:
    assert all(key in keys_of(case) for key, case in NOT_YET)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("battery {}", "battery"),
        ("inverter {}", "high_voltage"),
        ("injector {}", "fuel"),
    ],
)
def test_what_belongs_to_a_thing_that_is_no_part_of_a_car_raises_nothing(
    text: str, key: str
) -> None:
    for thing in _file().elsewhere:
        assert key in keys_of(text.format("dead"))
        assert key not in keys_of(text.format(f"of the {thing} dead"))
        assert key not in keys_of(f"{thing} {text.format('dead')}")


def test_two_words_go_together_in_one_part_of_a_sentence_and_in_either_order() -> None:
    together = ["battery case swollen", "swollen old battery", "the battery is badly swollen"]
    assert all("swollen_battery" in keys_of(text) for text in together)
    apart = [
        "hose swollen, battery good",
        "battery good. hose swollen",
        "swollen hose near battery",
    ]
    assert not any("swollen_battery" in keys_of(text) for text in apart)


def test_every_group_and_every_stem_is_of_use() -> None:
    table = TABLE.read_text(encoding="utf-8")
    assert all(f"<{name}>" in table for name in _file().groups)
    names = [*trade_items().parts, *trade_items().readings, *trade_words()]
    english = {word for name in names for word in name.split()}
    stems = _file().stems
    assert not {word for word in english for stem in stems if word.startswith(stem)}
    assert all(stem == stem.translate(_UMLAUTS).casefold() for stem in stems)


def test_every_dangerous_system_raises_something() -> None:
    for system in set(System) - {System.OTHER}:
        assert keys(Situation(systems=(system,)))


def test_restraints_high_voltage_and_fuel_are_never_folded_away() -> None:
    found = hazards(
        Situation(
            systems=(System.RESTRAINTS, System.HIGH_VOLTAGE, System.FUEL_MIXTURE, System.COOLING)
        ),
        WORDING,
    )
    lines = cautions(found, most=1)
    assert [line.split()[0] for line in lines] == ["Airbags", "High", "Fuel", "Also:"]
    assert "hot coolant" in lines[-1]


def test_what_kills_at_once_comes_before_what_only_may_burn() -> None:
    jet = cautions(hazards(Situation(said=("diesel, rail pressure low, pipe leaking",)), WORDING))
    assert jet[0].startswith("High-pressure fuel goes through skin")
    lamp = Situation(systems=(System.BODY_ELECTRICS,), said=("xenon lamp out",))
    assert keys(lamp)[0] == "lamp_voltage"


def test_a_word_that_only_names_a_part_does_not_make_the_work_one_on_it() -> None:
    key = Complaint(text="key stuck in the ignition", system=System.IGNITION)
    assert keys(Situation.of_complaint(key)) == []
    coil = Complaint(text="key stuck, coil pack dead", system=System.IGNITION)
    assert "ignition_voltage" in keys(Situation.of_complaint(coil))


def test_a_caution_that_says_as_much_is_not_said_beside_it() -> None:
    under_the_seat = hazards(
        Situation(said=("lamp on, pretensioner",), places=("under seat",)), WORDING
    )
    assert {hazard.key for hazard in under_the_seat} == {"restraints", "hidden_restraints"}
    assert len(cautions(under_the_seat)) == 1


def test_what_is_recorded_weighs_more_than_a_word() -> None:
    words = keys(Situation(systems=(System.COOLING,), said=("brakes squeal",)))
    assert words.index("hot_coolant") < words.index("brake_dust")
    said, named = Situation(said=("thermostat, ac",)), Situation(named=("a/c",))
    assert keys(said)[:2] == ["hot_coolant", "refrigerant"]
    assert keys(said | named)[:2] == ["refrigerant", "hot_coolant"]


def test_suspects_bring_their_own_hazards() -> None:
    plug = Cause(component="plug", location="under seat", failure_mode=FailureMode.OPEN)
    asked = Situation.of_complaint(Complaint(text="lamp flickers"))
    assert keys(asked) == []
    assert keys(asked | Situation.of_causes([plug])) == ["hidden_restraints"]
    assert "restraints" in keys(asked | Situation.of_causes([plug], [System.RESTRAINTS, None]))


def test_a_shops_own_name_counts_as_what_it_means() -> None:
    shop = Wording.default({"bang belt": "pretensioner"})
    told = Situation(said=("bang belt code after valet",))
    assert keys(told) == []
    assert [hazard.key for hazard in hazards(told, shop)] == ["restraints"]


def test_slips_of_spelling_are_forgiven_and_other_words_are_not_slips() -> None:
    assert keys(Situation(said=("pretensoner code",))) == ["restraints"]
    assert "hot_exhaust" in keys(Situation(said=("exaust blowing",)))
    assert keys(Situation(said=("cable breaking up, changing sound",))) == []


SITUATIONS = st.one_of(
    st.sampled_from([Situation.of_job(job_of(case[1])) for case in every("raises")]),
    st.sampled_from([Situation.of_job(job_of(case[1])) for case in every("spares")]),
    st.builds(lambda text: Situation(said=(text,)), st.text()),
    any_jobs().map(Situation.of_job),
)


@given(SITUATIONS, SITUATIONS)
def test_more_evidence_never_takes_a_hazard_away(one: Situation, other: Situation) -> None:
    """But of a part of the car that was recorded, which words may say is only named."""
    one, other = replace(one, systems=()), replace(other, systems=())
    both = hazards(one | other, WORDING)
    assert {*hazards(one, WORDING), *hazards(other, WORDING)} <= set(both)
    assert both == hazards(other | one, WORDING)


NO_HAZARD = -1
TEXTS = st.sampled_from([Situation.of_job(job_of(case[1])).said[0] for case in every("raises")])


@given(TEXTS, st.one_of(TEXTS, st.text()))
@example("belt tensioner, seat", "48v lead rubbed through")
@example("LF tensioner 2.3 ohm", "Lichtmaschine laedt nicht")
def test_a_sentence_more_never_takes_a_hazard_away(text: str, more: str) -> None:
    """But one that names a drive of belts, or another owner of a name, tells whose is meant."""
    assume(not is_of_drive((), (), (more,)))
    read = _lexicon(WORDING).words.without_harmless(more, NO_HAZARD)  # in the table's language
    words = words_of(f"{more}. {read}", WORDING)
    assume(not any(name.unless.any_in(words) for name in (*named_alike(), implied(), pictured())))
    alone = keys(Situation(said=(text,)))
    assert set(alone) <= set(keys(Situation(said=(f"{text}. {more}",))))


@given(SITUATIONS, SITUATIONS, st.integers(0, 6))
def test_every_hazard_found_is_said_covered_or_named(
    one: Situation, other: Situation, most: int
) -> None:
    found = hazards(one | other, WORDING)
    lines = cautions(found, most)
    assert bool(lines) == bool(found)
    folded = lines[-1] if lines and lines[-1].startswith("Also: ") else ""
    present = {hazard.key: hazard for hazard in found}
    full = [
        hazard for hazard in found if hazard.caution in lines and hazard.covered_by not in present
    ]
    unnamed = 0
    for hazard in found:
        if hazard.covered_by in present:
            covering = present[hazard.covered_by]
            assert hazard.caution not in lines or hazard.caution == covering.caution
        elif hazard.always:
            assert hazard in full
        else:
            assert not (hazard in full and hazard.title in folded)
            unnamed += hazard not in full and hazard.title not in folded
    assert folded.endswith(f" and {unnamed} more.") if unnamed else " more." not in folded
    assert len(full) <= max(most, sum(hazard.always for hazard in found))
    assert len(lines) == len(full) + bool(folded)


def test_a_lock_asks_what_the_work_concerns_and_not_what_the_car_is() -> None:
    hybrid = Vehicle(engine="1.8 hybrid")
    wiper = Situation(named=("wiper motor",), vehicles=(hybrid,))
    assert concerns(hazards(wiper, WORDING), System.HIGH_VOLTAGE)
    assert not concerns(hazards(Situation(named=wiper.named), WORDING), System.HIGH_VOLTAGE)
    assert concerns(hazards(Situation(named=("inverter",)), WORDING), System.HIGH_VOLTAGE)


def test_a_person_reads_little() -> None:
    everything = Situation(systems=tuple(System))
    assert len(cautions(hazards(everything, WORDING))) <= MOST + 1
    listed = cautions_of_list(everything, WORDING)
    assert len(listed) == 2
    assert listed[0].startswith("Airbags and pretensioners can fire")
    assert all(title in listed[1] for title in ("high voltage", "fuel"))
    assert listed[1].count(",") == MOST_NAMED - 1
    assert re.search(r" and \d+ more\.$", listed[1])


def test_an_equal_wording_finds_the_words_kept() -> None:
    said = Situation(said=("bang belt loose",))
    shop = {"bang belt": "pretensioner"}
    first, again = Wording.default(shop), Wording.default(shop)
    before = _read.cache_info().misses
    assert hazards(said, first) == hazards(said, again)
    assert _read.cache_info().misses <= before + 1
    assert hazards(said, WORDING) != hazards(said, again)


@pytest.mark.parametrize(
    "line",
    [
        "diesel, rail press low",
        "diesel smell in cabin, rail press 1450 bar at idle",
        "rail pres 180 bar cranking",
        "hp rail low pressure",
        "leak at rail, press 900 bar",
    ],
)
def test_rail_pressure_by_its_short_names_warns_of_the_jet_first(line: str) -> None:
    assert keys_of(line)[0] == "fuel_jet"


@pytest.mark.parametrize("line", ["roof rail press fit loose", "seat rail, tyres 2.4 bar"])
def test_another_rail_holds_no_fuel(line: str) -> None:
    assert "fuel_jet" not in keys_of(line)


@pytest.mark.parametrize(
    "line", ["wipers slow 3A", "lamp, B0OI2-1A", "window LR slow 4,8A others 2,9", "drain 3 A"]
)
def test_amps_are_no_refrigerant(line: str) -> None:
    assert "refrigerant" not in keys_of(line)


@pytest.mark.parametrize(
    "line", ["AC not cold", "134a let out", "1234yf smell", "R134a low", "A/C 3A fuse blows"]
)
def test_air_conditioning_still_warns_of_its_refrigerant(line: str) -> None:
    assert "refrigerant" in keys_of(line)


TOLD = st.sampled_from(
    sorted({text for each in hazard_table() for sign in each.when for text in sign.words})
    + sorted({text for each in hazard_table() for text in each.unless})
).map(lambda text: text.replace(" + ", " "))


@given(
    st.lists(TOLD, max_size=3),
    st.lists(TOLD, max_size=2),
    st.lists(st.sampled_from(System), max_size=2),
    st.lists(st.sampled_from(["P0A0D", "B0012", "B1234", "C0040", "P0301"]), max_size=1),
    st.sampled_from(System),
)
def test_a_hazard_asked_for_alone_is_one_of_all(
    said: list[str], named: list[str], systems: list[System], codes: list[str], asked: System
) -> None:
    situation = Situation(
        systems=tuple(systems),
        codes=tuple(TroubleCode(code=code) for code in codes),
        said=tuple(said),
        named=tuple(named),
    )
    found = concerns(hazards(situation, WORDING), asked)
    assert is_raised(asked, situation, WORDING) is found
