"""A job's own words are shown where they are harmless, and dangerous steps are named when typed."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    EntryKind,
    FailureMode,
    Job,
    JobEntry,
    Outcome,
    Quantity,
    Reading,
    SaidAt,
    System,
    Vehicle,
)
from kb.intake.wording import Wording
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_lines import withheld_line
from kb.safety.job_dangers import danger_line, dangers_of
from kb.safety.job_words import JobWords, is_advisable, is_igniter_job, without_steps
from kb.safety.marks import OF_STEP
from tests.strategies import any_of

WORDING = Wording.default()
CURE = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
BAD_ADVICE = "measured resistance of the pretensioner with a multimeter"


def job(number: int, component: str, *tried: Attempt, **more: Any) -> Job:
    return Job(
        **{
            "number": number,
            "vehicle": Vehicle(),
            "opened": date(2024, 1, 1),
            "closed": date(2024, 1, 2),
            "complaint": "lamp on",
            "system": System.RESTRAINTS,
            "cause": Cause(component=component, failure_mode=FailureMode.OPEN),
            "attempts": tried,
            **more,
        }
    )


def test_no_word_of_a_job_has_a_meter_put_on_an_igniter() -> None:
    told = job(
        1,
        "plug",
        replace(CURE, words=BAD_ADVICE, verified=BAD_ADVICE),
        proved_by=BAD_ADVICE,
        notes=BAD_ADVICE,
        conditions=BAD_ADVICE,
        tests=(DiagnosticTest(name=BAD_ADVICE, seen=BAD_ADVICE),),
        readings=(
            Reading(
                item="pretensioner",
                quantity=Quantity.RESISTANCE,
                typed="2.2 ohm",
                value=2.2,
                method="ohmmeter at the plug",
            ),
        ),
    )
    shown = repr(JobWords.of(told).shown_job(told))
    assert BAD_ADVICE not in shown
    assert "ohmmeter at" not in shown
    assert shown.count(withheld_line(1)) == 7


def test_harmless_words_stay_as_they_are() -> None:
    harmless = job(1, "plug", replace(CURE, words="both halves, new terminals"), notes="road test")
    assert JobWords.of(harmless).shown_job(harmless) == harmless


@pytest.mark.parametrize(
    ("more", "concerns"),
    [
        ({"system": System.RESTRAINTS}, True),
        ({"complaint": "lamp on, LF pretensioner 6.1 ohm"}, True),
        ({"cause": Cause(component="curtain airbag plug", failure_mode=FailureMode.OPEN)}, True),
        ({"complaint": "aux belt tensioner squeals"}, False),
        ({"complaint": "air mass meter code"}, False),
    ],
)
def test_whether_a_job_concerns_an_igniter_is_judged_by_all_of_it(
    more: dict[str, Any], concerns: bool
) -> None:
    told = job(1, "plug", **{"system": None, "cause": None} | more)
    assert is_igniter_job(told, WORDING) is concerns
    assert JobWords.of(told).igniter_job is concerns


@given(any_of(Job))
def test_nothing_that_is_not_to_be_shown_is_left_in_a_shown_job(told: Job) -> None:
    words = JobWords.of(told)
    lines = {withheld_line(told.number, reason) for reason in Reason}
    shown = words.shown_job(told)
    texts = [shown.proved_by, shown.notes, *(each.words for each in shown.attempts)]
    texts += [f"{each.name}: {each.seen}" for each in shown.tests if each.seen not in lines]
    for text in filter(None, texts):
        assert text in lines or words.shown(text) == text
    for name in [*(link.name for link in shown.circuit), *(each.item for each in shown.readings)]:
        assert name in lines or words.named(name) == name


@pytest.mark.parametrize(
    ("item", "typed", "stands"),
    [
        ("pretensioner", "5 V", False),
        ("curtain airbag", "0.4 amps", False),
        ("pretensioner", "2.3 ohm", True),
        ("airbag control unit", "12.4 V", True),
        ("airbag fuse", "12.1 V", True),
    ],
)
def test_no_volts_or_amps_of_an_igniter_stand_on_a_page(
    item: str, typed: str, stands: bool
) -> None:
    # common practice, no source: a live value is told in ohms
    value, unit = typed.split()
    quantity = {"V": Quantity.VOLTAGE, "amps": Quantity.CURRENT, "ohm": Quantity.RESISTANCE}[unit]
    reading = Reading(item=item, quantity=quantity, typed=typed, value=float(value))
    shown = JobWords(number=7, igniter_job=True).shown_reading(reading)
    assert (shown.item == item) is stands


DIRECT = [
    "LF pretensioner 2.2 ohm directly at the pigtail",
    "driver bag 2.2 ohm on the bench",
    "driver bag 2.2 ohm, off the car",
    "squib 2.2 ohm at the plug",
    "curtain airbag 2.2 ohm direct",
    "driver airbag 2.2 ohm with my meter",
    "passenger airbag 2.2 ohm by DMM",
    "clock spring 2.2 ohm with the bag connected",
    "clock spring 2.2 ohm, bag plugged in",
]
"""Common practice, no source: these are a meter's on an igniter, whatever is named."""


@pytest.mark.parametrize("text", DIRECT)
def test_ohms_taken_at_an_igniter_itself_are_named_and_stand_nowhere(text: str) -> None:
    item = text.partition(" 2.2")[0]
    ohms: dict[str, Any] = {"quantity": Quantity.RESISTANCE, "typed": "2.2 ohm", "value": 2.2}
    told = Reading(item=item, said=SaidAt(entry=0, start=0, end=len(text)), **ohms)
    by_scan = Reading(item="rear belt pretensioner", method="scan tool", **ohms | {"typed": "2.3"})
    measured = job(
        1,
        "plug",
        entries=(JobEntry(kind=EntryKind.NOTE, text=text),),
        readings=(told, by_scan),
    )
    assert danger_line(dangers_of(measured)[0])
    words = JobWords.of(measured)
    assert words.sound_readings(measured) == (by_scan,)
    shown = words.shown_job(measured)
    assert shown.readings[0].item.startswith("[not shown")
    assert shown.readings[1] == by_scan
    assert words.taught_job(measured).readings == (by_scan,)


@pytest.mark.parametrize(
    "text",
    [
        "scan tool: driver bag 2.2 ohm",
        "driver bag 2.2 ohm",
        "clock spring alone on the bench 0.4 ohm",
        "clock spring 0.4 ohm off the column",
        "buckle switch 400 ohm direct at the plug",
        "seat heater 3.9 ohm at the plug",
        "live data: driver bag 2.2, passenger bag 2.3, LF pretensioner 2.1",
        "maker allows 1.4 to 3.2 ohm at the driver bag plug",
    ],
)
def test_ohms_by_scan_tool_or_of_another_part_are_no_step(text: str) -> None:
    assert dangers_of(job(1, "plug", notes=text)) == []


@pytest.mark.parametrize(
    ("component", "words"),
    [
        ("seat bag that fell off the trolley", None),
        ("shorting spring", "replaced shorting spring with tape"),
        ("old belts", "refitted old belts after crash"),
        ("new pigtail", "soldered new pigtail onto the bag's pins"),
    ],
)
def test_a_dangerous_fix_is_no_advice_by_its_component_or_its_words(
    component: str, words: str | None
) -> None:
    """Common practice, no source."""
    assert not is_advisable(Action.REPLACED, component, words, igniter_job=True)
    new = "new by the maker's number, battery off and waited 10 minutes"
    assert is_advisable(Action.REPLACED, "shorting spring", new, igniter_job=True)


def test_what_a_customer_said_hides_nothing_unless_it_names_an_igniter() -> None:
    plain = "called 12/11 says all good till rain then lamp again"
    told = "says he put a test lamp across the airbag squib"
    words = JobWords(number=1, igniter_job=True)
    said = [
        Contact(on=date(2026, 3, 2), outcome=Outcome.COMEBACK, words=each) for each in (plain, told)
    ]
    kept = [words._contact(each).words for each in said]
    assert kept[0] == plain
    assert kept[1] != told


WHOLE = [
    {"words": "off a breakers car, 30 quid", "part_maker": "breakers yard"},
    {"words": "had it lying about from the write-off"},
    {"words": "left batt on as radio code missing"},
    {"part_maker": "heated with lighter to fit"},
    {"verified": "ohmed the bag after, 2.1"},
]
SOUND = [
    {"words": "new from the dealer, batt off 10 min", "part_maker": "Kolbrin"},
    {"words": "took 10 min"},
    {"verified": "lamp out, no code after a drive"},
    {"part_maker": "the vehicle's maker"},
    {"verified": "live data 2.3 ohm"},
]


@pytest.mark.parametrize("told", WHOLE)
def test_what_is_dangerous_in_one_part_of_a_fix_makes_all_of_it_dangerous(
    told: dict[str, Any],
) -> None:
    """Common practice, no source: a page, a rate and a question about storing judge alike."""
    done = Attempt(action=Action.REPLACED, component="driver airbag", cured=True, **told)
    stored = job(7, "driver airbag", done)
    words = JobWords.of(stored)
    assert not words.advises(done)
    assert words.shown_fix(done).startswith("[not shown")
    assert not words.taught_job(stored).attempts
    assert dangers_of(stored)
    page = words.shown_job(stored).attempts[0]
    for text in told.values():
        assert text not in (page.words, page.part_maker, page.verified)


@pytest.mark.parametrize("told", SOUND)
def test_what_is_harmless_in_each_part_of_a_fix_is_shown(told: dict[str, Any]) -> None:
    done = Attempt(action=Action.REPLACED, component="driver airbag", cured=True, **told)
    stored = job(7, "driver airbag", done)
    words = JobWords.of(stored)
    assert words.advises(done)
    assert words.shown_job(stored).attempts == (done,)
    assert not dangers_of(stored)


@given(any_of(Attempt))
def test_a_fix_that_may_be_proposed_stands_on_its_page_as_it_is(done: Attempt) -> None:
    stored = job(7, "seat connector", replace(done, supposed=None))
    words = JobWords.of(stored)
    (told,) = stored.attempts
    assert not words.advises(told) or words.shown_fix(told) == told.label
    if words.withheld_of(told) is not None:
        assert words.shown_job(stored).attempts != stored.attempts


def test_a_test_is_judged_as_it_was_typed_not_as_it_was_parted() -> None:
    def told(name: str, seen: str) -> Job:
        line = f"{name} {seen}"
        entry = JobEntry(kind=EntryKind.LINE, text=line)
        return Job(
            vehicle=Vehicle(),
            opened=date(2024, 6, 1),
            complaint="airbag lamp on",
            system=System.RESTRAINTS,
            entries=(entry,),
            tests=(
                DiagnosticTest(name=name, seen=seen, said=SaidAt(entry=0, start=0, end=len(line))),
            ),
        )

    spring = told("clock spring unplugged", "both ends, checked alone with meter, 0.4 ohm through")
    assert dangers_of(spring) == []
    assert JobWords.of(spring).shown_job(spring).tests == spring.tests
    squib = told("squib plug unplugged", "checked alone with meter, 0.4 ohm through")
    assert dangers_of(squib)
    assert JobWords.of(squib).shown_job(squib).tests != squib.tests


@pytest.mark.parametrize(
    ("line", "item", "typed"),
    [
        ("ohmed the passenger bag squib at its plug 2.3 ohm", "plug", "2.3 ohm"),
        ("pretensioner 2.2 ohm directly at the pigtail", "pretensioner", "2.2 ohm"),
    ],
)
def test_a_value_of_a_dangerous_step_stands_marked_on_every_page(
    line: str, item: str, typed: str
) -> None:
    ohms: dict[str, Any] = {"quantity": Quantity.RESISTANCE, "typed": typed, "value": 2.3}
    place = line.index(typed)
    said = SaidAt(entry=0, start=place, end=place + len(typed))
    reading = Reading(item=item, said=said, **ohms)
    entry = JobEntry(kind=EntryKind.NOTE, text=line)
    switch = Reading(item="buckle switch", **ohms | {"typed": "100 ohm", "value": 100.0})
    measured = job(1, "plug", entries=(entry,), readings=(reading, switch))
    words = JobWords.of(measured)
    shown = (words.shown_job(measured).readings[0], words.shown_part(reading))
    for each in shown:
        assert each.item.startswith("[not shown")
        assert each.typed == f"{typed} {OF_STEP}"
    assert words.sound_readings(measured) == (switch,)
    restraint = replace(measured, system=System.RESTRAINTS)
    assert without_steps(restraint) == replace(restraint, readings=(switch,))


def test_a_value_of_a_scan_tool_speaks_for_likeness() -> None:
    line = "scan tool: passenger bag squib 2.3 ohm"
    ohms: dict[str, Any] = {"quantity": Quantity.RESISTANCE, "typed": "2.3 ohm", "value": 2.3}
    said = SaidAt(entry=0, start=line.index("2.3"), end=len(line))
    reading = Reading(item="passenger bag squib", method="scan tool", said=said, **ohms)
    entry = JobEntry(kind=EntryKind.NOTE, text=line)
    read = job(1, "plug", system=System.RESTRAINTS, entries=(entry,), readings=(reading,))
    assert without_steps(read) is read


@pytest.mark.parametrize(
    "words",
    ["replaced airbag with one off a breakers car, cured", "used one out of a breakers car"],
)
def test_no_success_stands_beside_a_fix_that_is_not_shown(words: str) -> None:
    fix = Attempt(action=Action.REPLACED, component="airbag", words=words, cured=True)
    entry = JobEntry(kind=EntryKind.ATTEMPT, text=words)
    told = Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint="airbag lamp on",
        system=System.RESTRAINTS,
        attempts=(fix,),
        entries=(entry,),
    )
    shown = JobWords.of(told).shown_job(told)
    assert shown.attempts[0].cured is None
    assert not (shown.attempts[0].words or "").endswith("cured")
    assert not shown.entries[0].text.endswith("cured")
    again = replace(told, attempts=(replace(fix, cured=False),))
    assert JobWords.of(again).shown_job(again).attempts[0].cured is False
    plain = replace(told, attempts=(replace(fix, words="new part, cured"),), entries=())
    assert JobWords.of(plain).shown_job(plain).attempts[0].cured is True


def noted(text: str) -> str:
    """Return what the page of an igniter's job shows of an entry, without where to read it."""
    job = Job(
        number=7,
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint="airbag lamp on",
        system=System.RESTRAINTS,
        entries=(JobEntry(kind=EntryKind.LINE, text=text),),
    )
    (entry,) = JobWords.of(job).shown_job(job).entries
    return entry.text.replace("; read it with 'kb job show 7 --verbatim'", "")


LAMPED = "put test lamp across squib"
MARK = "[not shown: it may put a meter, lamp or voltage on an igniter]"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        (f"Plug green, {LAMPED}, cleaned the plug", f"Plug green, {MARK}, cleaned the plug"),
        (f"Plug wet. {LAMPED}. Carpet dried.", f"Plug wet. {MARK} Carpet dried."),
        (f"Drove 10 km; {LAMPED}; battery 12.4 V", f"Drove 10 km; {MARK}; battery 12.4 V"),
    ],
)
def test_of_an_entry_only_the_dangerous_part_is_replaced(text: str, shown: str) -> None:
    assert noted(text) == shown


@pytest.mark.parametrize(
    "rest",
    [
        *("Same on the other side.", "Then it went off.", "It read 2.3 ohm.", "Again on the RH."),
        *("As above on the right.", "Both did.", "Ditto RH.", "That was it.", "Other side too."),
        *("Dann rechts.", "Pareil à droite.", "To samo po prawej."),
        *("Andere Seite genauso.", "Likadant andra sidan.", "Poi l'altro lato uguale."),
        *("Rechts genauso.", "Andra sidan också.", "Anche a destra.", "L'autre côté aussi."),
    ],
)
def test_what_leans_on_a_hidden_part_is_hidden_with_it(rest: str) -> None:
    assert noted(f"{LAMPED}. {rest}") == MARK
    assert (
        noted(f"Plug green. {LAMPED}. {rest} Carpet dried.") == f"Plug green. {MARK} Carpet dried."
    )
    assert noted(f"{LAMPED}, {rest.rstrip('.').lower()}, carpet dried") in {
        MARK,
        f"{MARK}, carpet dried",
    }


@pytest.mark.parametrize(
    ("text", "steps"),
    [
        (f"{LAMPED}; bridged the seat plug; left 2 ohm resistor in the pretensioner plug", 3),
        (f"{LAMPED}. Ohmed the squib. Bridged the seat plug.", 2),
        (f"{LAMPED}. Plug green. Bridged the seat plug.", 0),
        (f"{LAMPED}; plug green", 0),
        ("plug green", 0),
    ],
)
def test_a_line_in_the_place_of_several_dangers_says_how_many(text: str, steps: int) -> None:
    shown = noted(text)
    assert shown.endswith(f"({steps} dangerous steps)") == bool(steps)
    assert ("dangerous steps" in shown) == bool(steps)


@pytest.mark.parametrize("between", ["Done.", "OK.", "All good.", "Fertig.", "Klart.", "Fatto."])
def test_what_leans_on_a_hidden_part_does_so_behind_a_short_sentence(between: str) -> None:
    shown = noted(f"{LAMPED}. {between} Same on the other side. Carpet dried.")
    assert shown.startswith(MARK)
    assert shown.endswith("Carpet dried.")
    assert "other side" not in shown


@pytest.mark.parametrize(
    ("told", "stays"),
    [
        ("airbag lamp on. Driver bag out on the bench. Then 9 V for a second. It went.", True),
        ("Disconnected battery. Reconnected it. Then unplugged the bag to see the code.", True),
        ("Hit the sensor with a hammer, key on, to see whether it deploys.", True),
        ("Pulled the yellow plug under the seat. It read 2.1. Same on the other side.", True),
        ("airbag lamp on since the battery was replaced", False),
        ("airbag lamp on. Customer had the seat out himself and plugged it again", False),
        ("airbag lamp comes and goes, was told the bag may go off", False),
        ("Seat removed for carpet cleaning, then lamp on", False),
    ],
)
def test_work_that_a_complaint_begins_a_sentence_with_is_judged_as_done(
    told: str, stays: bool
) -> None:
    job = Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint=told,
        system=System.RESTRAINTS,
        entries=(JobEntry(kind=EntryKind.COMPLAINT, text=told),),
    )
    shown = JobWords.of(job).shown_job(job)
    assert ("[not shown" in shown.complaint) == stays
    assert ("[not shown" in shown.entries[0].text) == stays
    assert "Same on the other side" not in shown.complaint


def test_a_line_stands_in_no_other_line() -> None:
    told = "ohm-\nmeter\non\nthe\nbag"
    job = Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint="airbag lamp on",
        notes=told,
        entries=(JobEntry(kind=EntryKind.NOTE, text=told),),
    )
    fit = JobWords.of(job).shown_job(job)
    for shown in (fit.notes, fit.entries[0].text):
        assert shown is not None
        assert "[not shown" in shown
        assert "[" not in shown.replace("[not shown", "").split("]")[0]
        assert "meter\n" not in shown
