"""What befell a part that the sentence leaves out, on a job about an igniter.

All sentences are made up; what is dangerous among them: common practice, no source.
"""

import pytest

from kb.safety.igniter import Shown, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_steps import dangerous_step

BEFALLEN = (
    "knocked off the bench, fitted all the same",
    "it slid off the seat and hit the concrete, put back in, lamp out",
    "landed on the floor, fitted, ok",
    "new one knocked off the bench, fitted all the same",
    "the new one fell off the bench, fitted",
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
    "went flying off the tailgate onto the gravel, put it on, lamp out",
    "had it off the parcel shelf onto my foot then floor, refitted",
    "slipped through my fingers, hit the slab, bolted on",
    "it had been lying in a puddle all night, wiped off, fitted",
    "vom Tisch gerutscht, wieder rein",
    "elle a glissé de l'escalier, reposée",
    "poleciała na beton, zamontowana",
    "scivolata dal tavolo, rimontata",
    "ist mir aus der Hand gefallen, Lampe aus",
    "quedó empapado, secado al sol, montado",
    "brazed an ear back on, painted, refitted",
    "went through the parts bath, dried, back in",
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
    "fell out with the customer over the bill, lamp out",
    "battery fell flat overnight, charged, no codes",
    "rain came in through the door seal, seal replaced",
    "code came back after a drive, plug renewed",
    "came in on the truck from the yard, lamp on",
    "wheel slipped off the jack, jack serviced",
    "customer went over a kerb, code stored, read by scan tool",
    "sent it back, it had been dropped",
    "dropped the car back to the customer, lamp out",
    "fell off the trolley in transit, supplier took it back, new one in",
    "went over the wiring by eye, all good",
    "customer fell on the ice, car stood two weeks, lamp on",
    "washer bottle fell off, clipped back on",
    "mirror glass knocked off, new glass fitted",
    "temperature dropped overnight, lamp on in the morning",
    "radiator hose soldered clip, no leak",
    "if the bag has been dropped it is scrap, tell the parts man",
    "tensioner out, then welded the post",
    "fell off the bench. New one fitted, lamp out",
)


@pytest.mark.parametrize("text", BEFALLEN)
def test_what_befell_the_part_left_out_is_hidden_and_asked_about(text: str) -> None:
    assert not isinstance(judged(text, igniter_job=True), Shown)
    step = dangerous_step(text, igniter_job=True)
    assert step is not None
    harmed = {Reason.HANDLING, Reason.FORCED, Reason.WIRING}
    assert step.reason in harmed | {Reason.SOURCE, Reason.UNKNOWN}


@pytest.mark.parametrize("text", BEFALLEN[:6])
def test_elsewhere_the_part_left_out_is_none(text: str) -> None:
    assert judged(text, igniter_job=False) == Shown()


@pytest.mark.parametrize("text", HARMLESS)
def test_another_part_or_one_that_is_not_used_is_shown(text: str) -> None:
    assert judged(text, igniter_job=True) == Shown()


@pytest.mark.parametrize(
    "text",
    [
        "headlamp bulb fitted to the yellow plug, lamp out",
        "headlamp bulb replaced the bag, lamp out",
        "headlamp bulb new across the squib, no code",
        "headlamp bulb fitted in place of the pad",
        "new headlamp bulb on the bag plug",
        "replaced headlamp bulb for the bag, lit up",
        "brake bulb new in the plug",
        "coil tested with spark tester at the squib",
        "spark tester on coil lead of the bag",
        "spark at the coil wire held to the igniter",
    ],
)
def test_a_bulb_or_a_spark_tester_at_an_igniter_stays_hidden(text: str) -> None:
    assert not isinstance(judged(text, igniter_job=True), Shown)


@pytest.mark.parametrize(
    ("text", "certain"),
    [
        ("test lamp on the bag plug, lit", True),
        ("hit the pretensioner with a hammer", True),
        ("zorbed the bag plug", False),
        ("fell from the bench, refitted", False),
    ],
)
def test_a_dangerous_step_is_certain_only_at_an_igniter(text: str, *, certain: bool) -> None:
    step = dangerous_step(text, igniter_job=True)
    assert (step is not None and step.certain) is certain
