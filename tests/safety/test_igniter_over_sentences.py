"""What several sentences tell together and none of them alone; common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_screen import screen
from kb.safety.igniter_steps import dangerous_step

OFF = ["Battery off, waited 15 minutes.", "Isolated and waited.", "Supply off and waited."]
ON = ["Battery back on.", "Then on again.", "Power restored.", "Then the key.", "Key on.",
      "Reconnected it.", "Batterie wieder angeklemmt."]  # fmt: skip
BETWEEN = ["", " Lamp still on.", " Trim looked at.", " Scan tool reads 2.2 on the bag."]
MOVES = ["Unplugged the curtain bag.", "Then the plug of the bag out and in.",
         "Unplugged the pretensioner, code gone.", "Plug off, plug on, plug off."]  # fmt: skip
LOADS = ["Known load in place of the pretensioner: code gone.",
         "Dummy in the bag's plug, lamp out.",
         "Test load fitted in place of the bag."]  # fmt: skip
STAYS = ["It stays there.", "Returned to customer as is.", "Not removed.",
         "Bag ordered; car collected.",
         "Handed over.", "Kunde fährt so weiter.", "Rendu comme ça.", "Car went home."]  # fmt: skip
OUT = ["Load taken out.", "Load out again, new bag fitted.", "Taken out again."]


def is_shown(text: str) -> bool:
    return isinstance(judged(text, igniter_job=True), Shown)


@given(*map(st.sampled_from, (OFF, ON, BETWEEN, MOVES)))
def test_a_plug_that_is_moved_after_the_supply_is_on_again_is_not_shown(
    off: str, on: str, between: str, move: str
) -> None:
    danger = dangerous_step(f"{off} {on}{between} {move}", igniter_job=True)
    assert danger is not None
    assert danger.reason == Reason.LIVE


@given(*map(st.sampled_from, (OFF, ON, BETWEEN, MOVES[:3])))
def test_once_it_is_off_and_waited_for_again_it_is(
    off: str, on: str, between: str, move: str
) -> None:
    """The lists let it through; what is only worded like a danger is another matter."""
    text = f"{off} {on}{between} {off} {move}"
    assert isinstance(judged(text, igniter_job=True, alike=False), Shown)


@given(*map(st.sampled_from, (OFF, MOVES[:3], ["Battery back on.", "Battery on."], BETWEEN[:2])))
def test_a_supply_that_is_on_at_the_end_is_shown(
    off: str, move: str, on: str, between: str
) -> None:
    assert is_shown(f"{off} {move} {on}{between} Codes cleared.")


@given(*map(st.sampled_from, (LOADS, ["", " Lamp out.", " No codes."], STAYS)))
def test_a_load_that_stays_in_hides_a_fault(load: str, between: str, stays: str) -> None:
    verdict = judged(f"{load}{between} {stays}", igniter_job=True)
    assert isinstance(verdict, Withheld)
    assert verdict.reason is Reason.DEFEAT
    assert screen(f"{load}{between} {stays}", restraint=True).startswith("[not shown")


@given(*map(st.sampled_from, (LOADS[:2], OUT, ["Handed over.", "Car went home."])))
def test_one_that_came_out_hides_none(load: str, out: str, goes: str) -> None:
    assert is_shown(f"{load} {out} {goes}")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("From a donor car. Looks fine. Fitted it.", Reason.SOURCE),
        ("From a breaker. Looked like new. Plugged it in.", Reason.SOURCE),
        ("It had fired. New cover. Back in.", Reason.HANDLING),
        ("Coded the seat as absent. Lamp out.", Reason.DEFEAT),
        ("Bag no longer in the ECU's list of parts.", Reason.DEFEAT),
        ("Plug now has the value the ECU wants.", Reason.DEFEAT),
        ("Lamp off since the plug has a dummy in it.", Reason.DEFEAT),
    ],
)
def test_what_hides_a_fault_or_goes_in_unseen_is_named(text: str, reason: Reason) -> None:
    verdict = judged(text, igniter_job=True)
    assert isinstance(verdict, Withheld)
    assert verdict.reason is reason


@pytest.mark.parametrize(
    "text",
    [
        "Customer collected the car, all fine.",
        "Trailer plug measured, pin 4 dead. Then soldered.",
        "Window switch: 12 V in, 0 V out. Then bridged, window runs.",
        "It had fired in the crash. New bag fitted.",
        "Driver bag from the dealer. Looks fine. Fitted it.",
        "Known load in place of the bag: code gone. Customer informed, car stays in the workshop.",
        "Unit reads side bag as missing, plug reseated.",
    ],
)
def test_what_only_resembles_them_is_shown(text: str) -> None:
    assert is_shown(text), judged(text, igniter_job=True)


@pytest.mark.parametrize("text", ["Bag plug open. Then soldered.", "Yellow plug loose. Bridged."])
def test_what_goes_on_about_an_igniter_is_not_shown(text: str) -> None:
    assert not is_shown(text)


@pytest.mark.parametrize(
    "told",
    ["Andere Seite genauso.", "Likadant andra sidan.", "Poi l'altro lato uguale.",
     "Done. Same on the other side.", "Lamp out by resistor."],
)  # fmt: skip
def test_what_was_done_once_more_is_hidden_with_it(told: str) -> None:
    shown = screen(f"Ohmed the driver bag. {told}", restraint=True)
    assert told.removeprefix("Done. ") not in shown


def test_a_pyro_fuse_is_no_fuse_that_goes_back() -> None:
    assert not is_shown("dropped the pyro fuse and refitted it")
