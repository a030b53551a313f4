"""Suspects along a circuit: what lies before and behind a link, and what proves nothing."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, FailureMode, Link, LinkKind
from kb.errors import InvalidField
from kb.intake.wording import Wording
from kb.troubleshooting.circuit import chain_of, kind_of, names, parse_circuit, shorted
from kb.troubleshooting.general_tests import general_tests
from tests.strategies import any_of

WORDING = Wording.default()
CIRCUIT = parse_circuit("airbag ECU, harness, seat connector*, pretensioner", WORDING)


def cause(component: str, location: str | None = None) -> Cause:
    return Cause(component=component, failure_mode=FailureMode.OPEN, location=location)


CAUSES = [
    cause("seat connector", "under seat"),
    cause("pretensioner", "seat buckle"),
    cause("airbag control unit", "centre tunnel"),
    cause("occupancy mat", "under seat"),
]


def test_suspects_lie_where_the_circuit_says() -> None:
    chain = chain_of(CAUSES, CIRCUIT, WORDING)
    assert list(map(set, chain.suspects)) == [{2}, set(), {0}, {1}]
    assert chain.before(2) == {2}
    assert chain.beyond(2) == {1}
    assert chain.on_it == {0, 1, 2}
    assert chain.at([LinkKind.CONNECTOR, LinkKind.HARNESS]) == [2]


def test_without_a_told_circuit_the_kinds_tell_the_order() -> None:
    chain = chain_of([*CAUSES, cause("door pillar connector")], (), WORDING)
    seat, pillar = (
        next(n for n, link in enumerate(chain.links) if link.name == name)
        for name in ("seat connector", "door pillar connector")
    )
    assert not chain.ordered
    assert chain.before(seat) == {2}
    assert 4 not in chain.before(seat) | chain.beyond(seat)  # which plug comes first is not known
    assert chain.beyond(pillar) == {1, 3}


@given(st.lists(any_of(Link), min_size=1, max_size=6), st.data())
def test_a_link_what_lies_before_and_what_behind_never_overlap(
    circuit: list[Link], data: st.DataObject
) -> None:
    causes = [cause(link.name) for link in circuit]
    told = data.draw(st.sampled_from([tuple(circuit), ()]))
    chain = chain_of(causes, told, WORDING)
    for place in range(len(chain.links)):
        parts = [chain.before(place), chain.suspects[place], chain.beyond(place)]
        assert sum(map(len, parts)) == len(frozenset().union(*parts))
        if chain.ordered:
            assert frozenset().union(*parts) == chain.on_it


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("airbag ECU", LinkKind.CONTROL_UNIT),
        ("door module", LinkKind.CONTROL_UNIT),
        ("under-seat plug", LinkKind.CONNECTOR),
        ("EPS connector", LinkKind.CONNECTOR),
        ("spark plug", LinkKind.COMPONENT),
        ("door loom", LinkKind.HARNESS),
        ("clock spring", LinkKind.CLOCK_SPRING),
        ("pretensioner", LinkKind.COMPONENT),
    ],
)
def test_the_last_words_tell_what_a_thing_is(name: str, kind: LinkKind) -> None:
    # common practice, no source
    assert kind_of(name, WORDING) is kind


@pytest.mark.parametrize(
    ("suspect", "speaks"),
    [
        ("connector", True),
        ("seat connector", True),
        ("left seat connector", True),
        ("connector under seat", False),
        ("door pillar connector", False),
        ("seat", False),
        ("harness", False),
        ("", False),
    ],
)
def test_a_shops_word_speaks_of_a_cause_or_not(suspect: str, speaks: bool) -> None:
    assert names(suspect, CAUSES[0], WORDING) is speaks


def test_a_circuit_is_read_from_one_line() -> None:
    for text in (
        "airbag ECU > harness > seat connector (with shorting bars) > pretensioner",
        "airbag ECU, harness; seat connector*  -> pretensioner",
        "airbag ECU → harness → seat connector * → pretensioner:component",
    ):
        assert parse_circuit(text, WORDING) == CIRCUIT
    assert parse_circuit("ECU, coupling: connector", WORDING)[1].kind is LinkKind.CONNECTOR


@pytest.mark.parametrize("text", ["", "harness", "plug, Plug", "ecu, plug: thing", ":connector, x"])
def test_what_is_no_circuit_is_refused(text: str) -> None:
    with pytest.raises(InvalidField, match="circuit"):
        parse_circuit(text, WORDING)


@given(st.text())
def test_any_text_is_a_circuit_or_refused(text: str) -> None:
    try:
        found = parse_circuit(text, WORDING)
    except InvalidField:
        return
    assert len(found) >= 2
    assert len({link.name.casefold() for link in found}) == len(found)


@given(st.lists(any_of(Link), min_size=2, max_size=5, unique_by=lambda link: link.kind))
def test_a_circuit_that_is_written_out_is_read_back(circuit: list[Link]) -> None:
    plain = [replace(link, name=f"part {place}") for place, link in enumerate(circuit)]
    text = ", ".join(
        f"{link.name}: {link.kind}{'*' if link.shorting_bars else ''}" for link in plain
    )
    assert parse_circuit(text, WORDING) == tuple(plain)


@pytest.mark.parametrize(
    "text",
    [
        "continuity through open seat connector: beeps",
        "seat plug unplugged, 0.3 ohm across it",
        "buzzed through the plug: ok",
        "resistance of seat connector 0.2",
    ],
)
def test_a_reading_through_shorting_bars_proves_nothing(text: str) -> None:
    # Shorting clip for handling and transport: Keithley, model 2790 manual, page 14
    assert shorted(text, CIRCUIT, WORDING, restraint=False) == "seat connector"
    assert shorted(text, (), WORDING, restraint=True) == "the open connector"


@pytest.mark.parametrize(
    "text",
    [
        "live value through the scan tool with the plug open: 12.7 ohm",
        "substitute load at the seat connector: 2.2 ohm",
        "pretensioner 6.1 ohm",
        "visual check of the seat connector: green",
    ],
)
def test_live_values_loads_and_looks_are_worth_something(text: str) -> None:
    assert shorted(text, CIRCUIT, WORDING, restraint=True) is None


def test_without_bars_a_reading_stands() -> None:
    bare = tuple(replace(link, shorting_bars=False) for link in CIRCUIT)
    assert shorted("continuity through open plug", bare, WORDING, restraint=False) is None


@pytest.mark.parametrize(
    ("told", "component", "same"),
    [
        ("seat plug", "seat connector", True),
        ("airbag module", "airbag control unit", True),
        ("seat loom", "seat harness", True),
        ("spiral cable", "clock spring", True),
        ("door plug", "seat connector", False),
        ("ABS module", "airbag control unit", False),
        ("battery cable", "earth strap", False),
        ("spark plug", "coil connector", False),
    ],
)
def test_all_names_of_a_kind_are_one(told: str, component: str, same: bool) -> None:
    cause = Cause(component=component, failure_mode=FailureMode.LOOSE)
    assert names(told, cause, Wording.default()) is same


@given(
    owner=st.sampled_from(["seat", "door pillar", "ABS", "rear lamp"]),
    kind=st.sampled_from([LinkKind.CONNECTOR, LinkKind.CONTROL_UNIT]),
    data=st.data(),
)
def test_a_told_circuit_holds_its_cause_by_whatever_name(
    owner: str, kind: LinkKind, data: st.DataObject
) -> None:
    word = st.sampled_from(general_tests().kinds[kind])
    cause = Cause(component=f"{owner} {data.draw(word)}", failure_mode=FailureMode.HIGH_RESISTANCE)
    circuit = (
        Link(name="other part", kind=LinkKind.COMPONENT),
        Link(name=f"{owner} {data.draw(word)}", kind=kind),
    )
    assert chain_of([cause], circuit, Wording.default()).suspects[1] == {0}
