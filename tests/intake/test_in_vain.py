"""Parts that were replaced without effect; common practice, no source."""

import pytest

from kb.intake.said_fine import said_fine
from kb.intake.wording import Wording

WORDING = Wording.default()


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("misfire cyl 3, coil swapped no change", "coil"),
        ("no start, replaced the starter, still the same", "starter"),
        ("new battery fitted last week, still flat", "battery"),
        ("misfire; other garage fitted new coil. No better", "coil"),
        ("alternator was renewed by the dealer but no difference", "alternator"),
        ("Spule getauscht, bleibt", "coil"),
        ("Anlasser erneuert ohne Erfolg", "starter"),
        ("fitted new alternator, lamp still on", "alternator"),
        ("new alternator, charge light came back on", "alternator"),
        ("replaced the egr, code is back again", "recirculation"),
        ("new thermostat fitted but the noise remains", "thermostat"),
        ("fitted new alternator and lamp still on", "alternator"),
        ("lambda swapped, eml stays on", "lambda"),
        ("Lichtmaschine erneuert, Lampe brennt immer noch", "alternator"),
        ("alternateur remplacé, voyant toujours allumé", "alternator"),
        ("nowy alternator, kontrolka nadal", "alternator"),
    ],
)
def test_a_part_that_was_replaced_in_vain_is_told_apart(text: str, part: str) -> None:
    assert part in said_fine(text, WORDING).in_vain.split()


@pytest.mark.parametrize(
    "text",
    [
        "coil swapped 1->3, misfire moved to 3",
        "coil swapped, same misfire went with it",
        "coil not replaced, no change",
        "new battery fitted, now no start",
        "coil swapped, no change?",
        "battery still flat",
        "no change since the service",
        "clutch done last year",
        "new tyres fitted, still fine",
        "new alternator fitted, lamp still off",
        "new alternator fitted, lamp is off",
        "new radio fitted, now lamp on",
        "wheels swapped, noise moved to the front",
        "",
    ],
)
def test_what_moved_or_is_not_told_to_be_in_vain_stays(text: str) -> None:
    assert not said_fine(text, WORDING).in_vain


@pytest.mark.parametrize(
    ("text", "rest"),
    [
        ("abs lamp on after wheel bearing replaced", "abs lamp on"),
        ("abs lamp on since new wheel bearing fitted last week", "abs lamp on"),
        ("airbag lamp on after clock spring was replaced by the dealer", "airbag lamp on"),
        ("window dead following door panel removed", "window dead"),
        ("Since new clutch fitted, judder on pull away", "judder on pull away"),
        ("ABS Lampe an seit Radlager erneuert", "ABS Lampe an"),
        ("no start after rain", "no start after rain"),
        ("after battery replaced radio dead", "after battery replaced radio dead"),
        ("after clutch done", "after clutch done"),
        ("clonk since the service", "clonk since the service"),
    ],
)
def test_work_that_the_trouble_came_after_names_no_part(text: str, rest: str) -> None:
    assert said_fine(text, WORDING).rest == rest


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("engine misfires cold, P0302, new plugs", "plugs"),
        ("misfire, plugs replaced last week", "plugs"),
        ("slow crank, new battery at xmas", "battery"),
        ("P0302 Aussetzer, Kerzen erneuert", "kerzen"),
        ("ratés, bougies neuves", "plugs"),
        ("goes flat if it stands, 12 V battery new last week", "battery"),
        ("rumbles at the back. Another workshop has already fitted a hub", "hub"),
        ("misfire cyl 4, coil 4 already changed by owner", "coil"),
    ],
)
def test_a_part_that_is_new_is_told_behind_what_is_wrong(text: str, part: str) -> None:
    told = said_fine(text, WORDING)
    assert (part in told.new.split(), told.in_vain) == (True, "")
    assert part not in told.rest.casefold()


@pytest.mark.parametrize(
    "text",
    [
        "new battery fitted",
        "new battery fitted, now no start",
        "new tyres last month, pulls left",
        "airbag lamp on, since new seat fitted",
        "grinding noise, wants new discs",
        "no start, quoted for new pump",
        "no start, new pump?",
        "misfire, coil swapped and misfire moved",
        "judder, new owner",
        "",
    ],
)
def test_what_may_have_brought_the_trouble_or_is_not_fitted_is_not_new(text: str) -> None:
    assert not said_fine(text, WORDING).new
