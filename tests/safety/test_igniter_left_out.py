"""What befell a part that the sentence leaves out, on a job about an igniter.

All sentences are made up; what is dangerous among them: common practice, no source.
"""

import pytest

from kb.safety.igniter import Shown, dangerous_step, judged
from kb.safety.igniter_acts import Reason

BEFALLEN = (
    "knocked off the bench, fitted all the same",
    "it slid off the seat and hit the concrete, put back in, lamp out",
    "landed on the floor, fitted, ok",
    "fell from the bench, refitted",
    "rolled off the roof of the car onto the yard, works",
    "heruntergefallen, wieder eingebaut",
    "tombé par terre, remonté",
    "upadła na ziemię, założona z powrotem",
    "got wet in the flood, dried it on the radiator, refitted",
    "welded a new stud on the can",
    "soldered the pigtail straight at the inflator",
    "fell from the bench, bag refitted",
    "bonnet actuator had a fall in the yard, fitted",
    "slipped off the trolley, bolted it up again, lamp out",
    "it went down the ramp steps, no rattle, all good",
    "banged it on the door frame carrying it in, fitted",
    "came off the shelf onto the tiles, works",
    "the apprentice let it drop, in anyway, codes clear",
    "tumbled out of the boot on the drive, refitted and tested ok",
    "gefallen, trotzdem eingebaut",
    "war nass, mit dem Föhn getrocknet, Lampe aus",
    "est tombé de l'établi, remis en place",
    "trempé puis séché au chauffage, remonté",
    "spadła ze stołu, zamontowana",
    "se cayó al suelo, montado otra vez",
    "caduto dal banco, rimontato",
    "gevallen op de vloer, weer gemonteerd",
    "stood in water overnight, aired it out, back in",
    "dried in the oven at 60, refitted, lamp out",
    "soldered new tails on the gas generator",
    "brazed the lug on, refitted",
    "pressure washed the lot, blew it dry, working",
    "knee actuator took a tumble from the bench, fitted",
)
HARMLESS = (
    "coil tested with a spark tester, strong blue spark",
    "headlamp bulb replaced, lamp works",
    "wiper arm fell off, refitted and torqued",
    "dropped the trim clip, found it under the seat",
    "fell from the bench, scrapped, new one fitted, lamp out",
    "it slipped onto the floor, quarantined, new one ordered",
    "soldered the horn switch wire, horn works",
    "welded the exhaust bracket, no leaks",
    "relay swapped for a known good one, fan runs",
    "battery dropped to 11 V on cranking, charged, no codes",
    "code dropped out after clearing, lamp out",
    "carpet was wet, dried, connector renewed, lamp out",
    "heruntergefallen, daher ersetzt, Lampe aus",
    "tombé par terre, remplacé par un neuf",
    "upadła, nie użyta, nowa zamówiona",
    "horn contact soldered, clock spring untouched",
    "lamp came on after driver hit a pothole, code read by scan tool",
    "door mirror knocked off by a van, refitted",
    "radiator fan knocks, bearing dry, motor replaced",
    "if the bag has been dropped it is scrap, tell the parts man",
    "tensioner out, then welded the post",
    "fell off the bench. New one fitted, lamp out",
)


@pytest.mark.parametrize("text", BEFALLEN)
def test_what_befell_the_part_left_out_is_hidden_and_asked_about(text: str) -> None:
    assert not isinstance(judged(text, igniter_job=True), Shown)
    step = dangerous_step(text, igniter_job=True)
    assert step is not None
    assert step.reason in {Reason.HANDLING, Reason.SOURCE, Reason.UNKNOWN}


@pytest.mark.parametrize("text", BEFALLEN[:6])
def test_elsewhere_the_part_left_out_is_none(text: str) -> None:
    assert judged(text, igniter_job=False) == Shown()


@pytest.mark.parametrize("text", HARMLESS)
def test_another_part_or_one_that_is_not_used_is_shown(text: str) -> None:
    assert judged(text, igniter_job=True) == Shown()
