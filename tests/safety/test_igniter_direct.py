"""What is measured at an igniter itself, and what only fell; common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason


def reason_of(text: str) -> Reason | None:
    """Say why a sentence is not shown on a job that concerns an igniter; None if it is."""
    verdict = judged(text, igniter_job=True)
    return verdict.reason if isinstance(verdict, Withheld) else None


@given(
    item=st.sampled_from(["pretensioner", "driver bag", "LF squib"]),
    value=st.sampled_from(["6.1 ohm", "2.2 ohm"]),
    fall=st.sampled_from(["knocked off the bench", "dropped from the workbench"]),
    end=st.sampled_from([", fitted all the same", ", fitted anyway"]),
)
def test_what_fell_is_named_for_its_fall_and_not_for_a_meter(
    item: str, value: str, fall: str, end: str
) -> None:
    assert reason_of(f"{item} {value}, new one {fall}{end}") is Reason.HANDLING
    assert reason_of(f"{item} {value}, {fall}") in {Reason.HANDLING, Reason.VALUE}
    assert reason_of(f"{item} {value}") is Reason.VALUE  # told without how it was taken
    assert reason_of(f"{item} {value}, taken on the bench") is Reason.METER


@given(
    spring=st.sampled_from(["clock spring", "spiral cable"]),
    way=st.sampled_from(["measured alone", "measured on the bench"]),
    bag=st.sampled_from(["airbag left on", "bag still connected", "Airbag bleibt dran"]),
)
def test_a_clock_spring_is_not_alone_while_the_bag_hangs_on_it(
    spring: str, way: str, bag: str
) -> None:
    assert reason_of(f"{spring} {way}, {bag}") is Reason.METER
    assert reason_of(f"{bag}, {spring} {way}") is Reason.METER
    assert reason_of(f"{spring} {way}") is None
    for off in ("bag left off", "airbags still on the bench", "airbag connector left unplugged"):
        assert reason_of(f"{off}, {spring} {way}") is None


@pytest.mark.parametrize(
    "stays",
    [
        *(
            "wackelkontakt bleibt",
            "Fehler immer noch da",
            "Fehler noch da",
            "faux contact persiste",
        ),
        *("défaut toujours là", "styk wciąż przerywa", "usterka nadal jest", "storing blijft"),
        *("el fallo sigue", "il guasto rimane", "fault stays", "still there"),
    ],
)
def test_that_a_fault_stays_is_no_deed_in_any_tongue(stays: str) -> None:
    text = f"replaced LF seat connector no change, {stays}"
    assert isinstance(judged(text, igniter_job=True), Shown)


@pytest.mark.parametrize(
    "text",
    [
        "meter bleibt am squib",
        "rezystor nadal w miejscu napinacza",
        "shunt reste en place du prétensionneur",
        "Lampe bleibt überbrückt",
        "alter Airbag bleibt drin nach Unfall",
        "Batterie bleibt dran, Airbag ausgebaut",
        "measured spark igniter and squib 2.1",
        "pin tension 12 V on squib",
    ],
)
def test_a_word_of_staying_or_of_another_part_releases_nothing(text: str) -> None:
    assert reason_of(text) is not None


@pytest.mark.parametrize(
    "text",
    [
        "Igniter on the parking heater (glow pin) 0.6, renewed.",
        "Timing belt pretension set with frequency app, 88, in range.",
        "air bag of rear suspension leaks 1 bar an hour",
        "Bremssattel gangbar gemacht, Entlüfterschraube warm gemacht",
        "pin tension checked with the blade, weak",
        "Charger taken off and minus lead off before the wheel bag",
        "Spiralkabel ausgebaut, allein auf der Werkbank gemessen, Bahn 3 unterbrochen, ersetzt.",
    ],
)
def test_parts_that_share_a_name_and_plain_words_are_shown(text: str) -> None:
    assert reason_of(text) is None


@given(st.text(st.characters(categories=["Nd", "No", "Lu"]), min_size=1) | st.just("9" * 5000))
def test_no_number_is_too_long_or_strange_to_be_judged(number: str) -> None:
    # Python reads no more than 4,300 digits unless told to (its documentation of int)
    for text in (f"squib connector, {number}", f"waited {number} minutes, unplugged the airbag"):
        judged(text, igniter_job=True)


LIVE = ["live value by scan tool 2.3", "scan tool shows 2.2 ohm", "Scan 2.2 Ohm", "valise 2.2 ohm"]
LIKE = ["same as", "agrees with what", "as", "matches what", "just like", "wie", "pareil que"]
TAKEN = ["I got", "the meter gave", "measured", "we had", "found", "read"]
AT_IT = ["at the pins", "at the plug", "across the bag", "on the two terminals", "at the connector"]
BEFORE = ["", " a minute before", " earlier", ", lamp out"]
ANOTHER = [
    "the twin's live value",
    "in the handbook",
    "with the known load",
    "the passenger side",
    "last year",
    "the maker's value",
]


@given(
    live=st.sampled_from(LIVE),
    like=st.sampled_from(LIKE),
    taken=st.sampled_from(TAKEN),
    at_it=st.sampled_from(AT_IT),
    before=st.sampled_from(BEFORE),
    first=st.booleans(),
)
def test_what_is_like_a_live_value_and_was_at_the_pins_took_a_meter(
    live: str, like: str, taken: str, at_it: str, before: str, *, first: bool
) -> None:
    told = f"{like} {taken} {at_it}"
    text = f"{live}, {told}{before}" if first else f"{told}: {live}{before}"
    assert isinstance(judged(text, igniter_job=True, alike=False), Withheld)


@pytest.mark.parametrize("live", LIVE)
@pytest.mark.parametrize("another", ANOTHER)
def test_a_live_value_may_be_like_any_other(live: str, another: str) -> None:
    assert isinstance(judged(f"{live}, same as {another}", igniter_job=True, alike=False), Shown)


@pytest.mark.parametrize("says", ["gave the same", "said likewise", "read the same"])
def test_pins_that_say_the_same_were_metered(says: str) -> None:
    text = f"scan tool 2.3 and the pins {says}"
    assert isinstance(judged(text, igniter_job=True, alike=False), Withheld)
