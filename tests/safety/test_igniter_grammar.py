"""Whole classes of what is done to igniters, put together by a grammar: caught, or shown, always.

Objects, instruments and handling as the trade names them, in four tongues. All of it is common
practice, no source. By hand ``python -m tests.safety.test_igniter_grammar`` tries 20,000 of each.
"""

from hypothesis import given, settings
from hypothesis import strategies as st

from kb.safety.igniter import Shown, judged
from kb.safety.igniter_steps import dangerous_step

INSTRUMENTS = [
    "DMM", "DVOM", "multimeter", "ohmmeter", "megger", "21 W bulb", "LED tester", "power probe",
    "oscilloscope", "scope", "bench supply", "insulation tester", "logic probe", "test lamp",
    "9 V battery", "drill battery", "milliohm meter", "continuity buzzer", "component tester",
    "clamp meter", "Prüflampe", "Multimeter", "Ohmmeter", "Durchgangsprüfer", "multimètre",
    "ohmmètre", "lampe test", "miernik", "omomierz", "multimetr",
]  # fmt: skip
SUPPLIES = ["jump pack", "booster pack", "battery charger", "spare battery", "jump starter"]
OBJECTS = [
    "squib", "initiator", "inflator module", "curtain airbag", "belt tensioner",
    "belt pretensioner",
    "lap belt anchor tensioner", "buckle pretensioner", "knee bag", "driver airbag", "side bag",
    "head airbag", "far side airbag", "centre airbag", "steering wheel airbag",
    "pedal tensioner", "pedal release igniter",
    "bonnet lifter igniter", "bonnet actuator", "battery disconnect igniter", "pyro fuse",
    "rollover bar igniter", "gas generator", "seat belt retractor igniter", "Gurtstraffer",
    "Zündpille", "Beifahrerairbag", "Kopfairbag", "prétensionneur", "coussin gonflable",
    "napinacz pasa", "poduszka powietrzna", "zapłonnik",
]  # fmt: skip
PLUGS = ["yellow airbag plug", "steering column plug of the airbag", "squib connector"]
MEASURES = [
    "{tool} on the {it}", "{tool} across the {it}", "put the {tool} on the {it}",
    "checked the {it} with the {tool}", "{it} tested with {tool}, fine",
    "touched the {it} with the {tool} leads", "{tool} to the {it} pins", "{it}: {tool} says good",
    "hooked the {tool} to the {it}", "quick {tool} check of the {it}",
    "used the {tool} to prove the {it}", "clipped {tool} onto the {it} and watched",
]  # fmt: skip
FEEDS = [
    "{tool} on the {it}", "{tool} across the {it}", "put the {tool} on the {it}",
    "touched the {it} with the {tool} leads", "{tool} to the {it} pins",
    "hooked the {tool} to the {it}", "clipped {tool} onto the {it} and watched",
]  # fmt: skip
VALUES = [
    "{it} 2.2 ohm directly at the pigtail", "{it} 2.2 ohm on the bench", "{it} 2.2 ohm off the car",
    "{it}, 2.2 ohm direct", "{it} 2.2 ohm at the plug",
]  # fmt: skip
HANDLINGS = [
    "heated the {it} with a hot air gun", "welded next to the {it}", "drilled beside the {it}",
    "dropped the {it} and refitted it", "refitted the {it} after it fired",
    "laid the {it} face down on the bench", "fitted a second hand {it}",
    "fitted a {it} from the breaker", "hit the {it} with a hammer", "{it} opened up to look inside",
    "unplugged the {it} with ignition on", "plugged the {it} in with the key on",
    "dried the {it} with a heat gun", "put the {it} in the oven to dry", "stood on the {it}",
    "kicked the {it} into place", "threw the old {it} in the bin", "set the old {it} off",
    "mit dem Hammer auf den {it} geschlagen", "{it} chauffé au chalumeau",
    "{it} podgrzany opalarką", "gebrauchten {it} eingebaut", "założony używany {it}",
    "cut the {it} open",
]  # fmt: skip
BEFORE = [
    "",
    "",
    "scan tool agreed, ",
    "battery off, waited 15 min. ",
    "no codes; ",
    "looked first, ",
]
AFTER = ["", "", ", no codes", ", lamp off", ". Code cleared", ", customer happy"]


def _told(sentences: list[str], tools: list[str], objects: list[str]) -> st.SearchStrategy[str]:
    return st.builds(
        lambda before, sentence, tool, it, after: (
            before + sentence.format(tool=tool, it=it) + after
        ),
        *map(st.sampled_from, (BEFORE, sentences, tools, objects, AFTER)),
    )


DANGEROUS = st.one_of(
    _told(MEASURES, INSTRUMENTS, OBJECTS + PLUGS),
    _told(FEEDS, SUPPLIES, OBJECTS + PLUGS),
    _told(VALUES + HANDLINGS, [""], OBJECTS),
)

NAMES = [
    "squib", "curtain airbag", "belt pretensioner", "knee bag", "driver airbag", "side bag",
    "steering wheel airbag", "bonnet actuator", "rollover bar igniter", "buckle pretensioner",
    "Gurtstraffer", "Beifahrerairbag", "prétensionneur",
]  # fmt: skip
ALLOWED = [
    "scan tool reads 2.2 ohm on the {it}", "live data: {it} 2.2 ohm", "live value of the {it} 2.2",
    "known load in place of the {it}, live value 2.0", "battery off, waited, unplugged the {it}",
    "replaced the {it} with a new one", "looked at the plug of the {it}, one pin green",
    "drag test at the unplugged plug of the {it}, good", "never put a meter on the {it}",
    "new {it} ordered from the dealer", "code for the {it} cleared", "did not measure the {it}",
]  # fmt: skip
BESIDE = [
    "clock spring alone on the bench 0.4 ohm", "clock spring measured off the column 0.4 ohm",
    "buckle switch 400 ohm", "seat heater measured, 3.9 ohm", "scope on the CAN at the airbag unit",
    "control unit supply 12.4 V", "control unit earth 0.02 V", "battery 12.6 V with the multimeter",
    "CAN high 2.6 V at the airbag control unit", "jump pack on the battery, it cranks",
    "battery charger on while coding the airbag unit", "wheel speed sensor 1.1 kohm with the DMM",
    "live data: driver bag 2.1, passenger bag 2.2, knee bag 2.3", "horn relay bridged, horn works",
]  # fmt: skip
HARMLESS = st.one_of(
    st.builds(lambda text, it: text.format(it=it), *map(st.sampled_from, (ALLOWED, NAMES))),
    st.sampled_from(BESIDE),
)


@given(DANGEROUS, st.booleans())
def test_nothing_of_these_classes_is_shown(text: str, igniter_job: bool) -> None:
    assert not isinstance(judged(text, igniter_job=igniter_job), Shown)


@given(HARMLESS, st.sampled_from(["", ", lamp off", ". Code cleared"]), st.booleans())
def test_what_may_be_done_is_always_shown(text: str, after: str, igniter_job: bool) -> None:
    assert isinstance(judged(text + after, igniter_job=igniter_job), Shown)
    assert dangerous_step(text + after, igniter_job=igniter_job) is None


if __name__ == "__main__":
    many = settings(max_examples=20_000, deadline=None)
    many(test_nothing_of_these_classes_is_shown)()
    many(test_what_may_be_done_is_always_shown)()
