"""The rule on igniters.

What is dangerous and what is allowed is common practice of the trade, no source. The sentences in
``igniter_sentences.jsonl`` and, by another author, ``igniter_sentences_second.jsonl`` were written
as people in workshops write, without sight of the rule; those in ``igniter_sentences_third.jsonl``
and ``igniter_sentences_fourth.jsonl`` in many hands and tongues to find what it lacked, the fourth
in how an igniter is handled, and the rule was mended by them; so were those in
``igniter_sentences_fifth.jsonl``, that the rule judges also what is done to another part.
Those in ``igniter_sentences_sixth.jsonl`` were written while it was mended by the eleventh file of
``tests/benchmarks/igniter``, most of them before they were judged. Those in
``igniter_sentences_seventh.jsonl`` were written by one who had read the rule, before they were
judged: 7 of 60 dangerous ones were shown at first, and 9 of 60 harmless ones hidden.
Those in ``igniter_sentences_eighth.jsonl`` are of templates in the manner of job cards, written
before they were judged: of 398 dangerous ones 16 were shown at first, and of 550 harmless ones 162
hidden. Kept are those by which the rule was mended, and dangerous ones beside them; behind them
stand 93 told freely, written when it had been mended by the others: 2 of 41 and 13 of 52 at first.
Those in ``igniter_sentences_tenth.jsonl`` compare live values to others, or put known loads in.
Those in ``igniter_over_sentences.jsonl`` tell in several sentences what none of them tells alone.
Those in ``igniter_sentences_ninth.jsonl`` were written before they were judged: other ways to say
what was judged wrongly in the nineteenth file of ``tests/benchmarks/igniter``, and behind them job
cards of every kind in two lots: 3 of 65 dangerous ones were shown at first and 22 of 159 harmless
ones hidden, and of the second lot 4 of 41 and 17 of 117.
Those in ``igniter_everyday.jsonl`` are everyday lines of restraint jobs and dangerous ones at a
word's distance, of cars that are awake, webbing that is knotted, bolts turned with the supply on,
written before they were judged: of 178 dangerous ones 26 were shown at first, and of 200 harmless
ones 36 hidden. The 25 that still are were not kept. Among them are 30 and 40 written when the rule
had been mended by the others: 1 and 6 of these were amiss then.
"""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import simplemma
from hypothesis import assume, given
from hypothesis import strategies as st

from kb.case import FailureMode, Proof, Quantity, Reading, System, TroubleCode
from kb.intake.wording import Wording
from kb.safety.igniter import Shown, Withheld, judged, may_be_proposed
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_concern import concerns_igniter
from kb.safety.igniter_lines import WITHHELD, withheld_line
from kb.safety.igniter_screen import proof_left, screen
from kb.safety.igniter_steps import dangerous_step, live_values
from kb.safety.igniter_words import Lexicon

CORPORA = {
    name: [
        json.loads(line)
        for line in Path(__file__).with_name(name).read_text(encoding="utf-8").splitlines()
    ]
    for name in (
        "igniter_sentences.jsonl",
        "igniter_sentences_second.jsonl",
        "igniter_sentences_third.jsonl",
        "igniter_sentences_fourth.jsonl",
        "igniter_sentences_fifth.jsonl",
        "igniter_sentences_sixth.jsonl",
        "igniter_sentences_seventh.jsonl",
        "igniter_sentences_eighth.jsonl",
        "igniter_sentences_ninth.jsonl",
        "igniter_sentences_tenth.jsonl",
        "igniter_over_sentences.jsonl",
        "igniter_everyday.jsonl",
    )
}
MOST_HIDDEN = 0.02
NOT_SHOWN = WITHHELD.partition(":")[0]
"""How the line begins that stands for what is not shown, whatever the reason."""
BY_ITS_JOB = {"put a lamp across it and it lit"}
"""Names no igniter at all: only what else is known of its job can tell that it concerns one."""


def is_shown(text: str, *, igniter_job: bool = False, **options: Any) -> bool:
    return isinstance(judged(text, igniter_job=igniter_job, **options), Shown)


def in_its_job(sentence: dict[str, Any]) -> bool:
    text = sentence["text"]
    return is_shown(text, igniter_job=sentence["system"] == "restraints" or text in BY_ITS_JOB)


@pytest.mark.parametrize(
    ("name", "count"),
    [
        ("igniter_sentences.jsonl", 245),
        ("igniter_sentences_second.jsonl", 240),
        ("igniter_sentences_third.jsonl", 877),
        ("igniter_sentences_fourth.jsonl", 469),
        ("igniter_sentences_fifth.jsonl", 180),
        ("igniter_sentences_sixth.jsonl", 36),
        ("igniter_sentences_seventh.jsonl", 60),
        ("igniter_sentences_eighth.jsonl", 151),
        ("igniter_sentences_ninth.jsonl", 197),
        ("igniter_sentences_tenth.jsonl", 20),
        ("igniter_over_sentences.jsonl", 96),
        ("igniter_everyday.jsonl", 178),
    ],
)
def test_no_dangerous_sentence_is_shown(name: str, count: int) -> None:
    dangerous = [each for each in CORPORA[name] if each["dangerous"]]
    assert len(dangerous) == count
    assert [each["text"] for each in dangerous if in_its_job(each)] == []


@pytest.mark.parametrize(
    ("name", "count"),
    [
        ("igniter_sentences.jsonl", 246),
        ("igniter_sentences_second.jsonl", 180),
        ("igniter_sentences_third.jsonl", 1280),
        ("igniter_sentences_fourth.jsonl", 485),
        ("igniter_sentences_fifth.jsonl", 230),
        ("igniter_sentences_sixth.jsonl", 43),
        ("igniter_sentences_seventh.jsonl", 60),
        ("igniter_sentences_eighth.jsonl", 119),
        ("igniter_sentences_ninth.jsonl", 386),
        ("igniter_sentences_tenth.jsonl", 29),
        ("igniter_over_sentences.jsonl", 59),
        ("igniter_everyday.jsonl", 175),
    ],
)
def test_hardly_any_harmless_sentence_is_hidden(name: str, count: int) -> None:
    harmless = [each for each in CORPORA[name] if not each["dangerous"]]
    assert len(harmless) == count
    hidden = [each["text"] for each in harmless if not in_its_job(each)]
    assert len(hidden) <= MOST_HIDDEN * len(harmless), hidden


NOUNS = [
    "airbag", "squib", "pretensioner", "initiator", "inflator module", "seat belt tensioner",
    "belt shooter", "knee bag", "side airbag", "curtain airbag", "driver airbag", "air bag",
    "Gurtstraffer", "Zündpille", "prétensionneur", "passenger airbag", "pyro charge",
]  # fmt: skip
INSTRUMENTS = [
    "multimeter", "meter", "ohmmeter", "DVOM", "test lamp", "test light", "LED tester", "buzzer",
    "bleeper", "oscilloscope", "megger", "power probe", "logic probe", "continuity tester",
    "9V battery", "21 W bulb", "Prüflampe", "miernik", "ohmmètre", "bench supply",
]  # fmt: skip
MEASURED = ["measured", "ohmed", "metered", "probed", "belled out", "buzzed", "bleeped", "scoped"]
BRIDGED = ["bridged", "shorted", "looped", "jumpered", "shunted", "bypassed", "linked out"]
POWERED = ["powered", "energised", "zapped", "fired", "detonated", "set off", "popped"]
VALUES = ["2.3", "2,1", "2R3", "0.9", "OL", "infinite", "2.2 ohm", "1.9Ω", "12 V", "40 mA"]
CORES = st.one_of(
    st.builds(
        "{} the {} with the {}".format, *map(st.sampled_from, (MEASURED, NOUNS, INSTRUMENTS))
    ),
    st.builds("{} on the {}".format, *map(st.sampled_from, (INSTRUMENTS, NOUNS))),
    st.builds("put a {} across the {}".format, *map(st.sampled_from, (INSTRUMENTS, NOUNS))),
    st.builds("{}: {} by {}".format, *map(st.sampled_from, (NOUNS, VALUES, INSTRUMENTS))),
    st.builds("{} the {}".format, *map(st.sampled_from, (MEASURED + BRIDGED + POWERED, NOUNS))),
    st.builds("{} {} at its plug".format, *map(st.sampled_from, (NOUNS, VALUES))),
    st.builds("got {} across the {}".format, *map(st.sampled_from, (VALUES, NOUNS))),
    st.builds("read {} at the {}".format, *map(st.sampled_from, (VALUES, NOUNS))),
)
ASIDES = [
    "scan tool agreed", "live data said the same", "lamp off", "battery off and waited 15 min",
    "never had one go off", "not the clock spring", "no codes", "substitute load ordered",
    "buckle switch replaced", "supply off", "seat heater 3.9 ohm", "customer waiting", "ok",
    "do not tell the boss", "never used the scan tool", "drag test good", "plug cleaned",
    "clock spring alone is good", "control unit supply 12.4 V", "looked first", "isolated",
    "code cleared", "no harm done", "it is safe", "with the load in place", "warning lamp out",
]  # fmt: skip
BETWEEN = [", ", ". ", "; ", " - ", " and ", " but ", " then ", " so ", " -> ", " because ", " ("]
FILLERS = [
    "",
    "quickly ",
    "just ",
    "we ",
    "I ",
    "as always ",
    "boss had me and I ",
    "again ",
    "hot: ",
]
CASES = ["as typed", "upper", "title", "swapped"]


def recased(text: str, case: str) -> str:
    others = {"upper": text.upper(), "title": text.title(), "swapped": text.swapcase()}
    return others.get(case, text)


@st.composite
def misspelt(draw: st.DrawFn, text: str) -> str:
    """One letter of one long word left out, doubled, exchanged or put in the wrong place.

    A slip that is another word of English ("shorter" for "shooter") cannot be known for one.
    """
    words = text.split()
    long = [at for at, word in enumerate(words) if len(word) >= 6 and word.isalpha()]
    if not long or draw(st.booleans()):
        return text
    at = draw(st.sampled_from(long))
    word = words[at]
    place = draw(st.integers(1, len(word) - 2))
    other = draw(st.sampled_from("aeinorst"))
    words[at] = draw(
        st.sampled_from(
            [
                word[:place] + word[place + 1 :],
                word[:place] + word[place] + word[place:],
                word[:place] + other + word[place + 1 :],
                word[:place] + word[place + 1] + word[place] + word[place + 2 :],
            ]
        )
    )
    assume(not simplemma.is_known(words[at].casefold(), lang="en"))
    return " ".join(words)


@st.composite
def dangerous(draw: st.DrawFn) -> str:
    core = draw(st.sampled_from(FILLERS)) + draw(misspelt(draw(CORES)))
    before = "".join(
        draw(st.sampled_from(ASIDES)) + draw(st.sampled_from(BETWEEN))
        for _ in range(draw(st.integers(0, 2)))
    )
    after = "".join(
        draw(st.sampled_from(BETWEEN)) + draw(st.sampled_from(ASIDES))
        for _ in range(draw(st.integers(0, 2)))
    )
    return recased(before + core + after, draw(st.sampled_from(CASES)))


@given(dangerous(), st.booleans())
def test_nothing_around_it_releases_a_dangerous_act(text: str, igniter_job: bool) -> None:
    assert not is_shown(text, igniter_job=igniter_job)
    assert "[not shown: " in screen(text, restraint=igniter_job)  # for whichever reason
    assert not may_be_proposed(text, restraint=igniter_job)


HARMLESS = st.one_of(
    st.builds(
        "{} {} {}".format,
        st.sampled_from(["scan tool reads", "live value of the", "live data", "by scan tool the"]),
        st.sampled_from(NOUNS),
        st.sampled_from(["2.3", "2,1 ohm", "OL", "25.5 Ω", "steady at 2.2"]),
    ),
    st.builds(
        "{} in place of the {}, live value {}".format,
        st.sampled_from(["known load", "substitute resistor", "dummy load", "simulator"]),
        st.sampled_from(NOUNS),
        st.sampled_from(["2.0", "2.2 ohm"]),
    ),
    st.builds(
        "{} {}".format,
        st.sampled_from(
            ["replaced the", "looked at the", "cleaned the plug of the", "refitted the",
             "disconnected the", "drag test at the unplugged", "new plug for the", "secured the"]
        ),
        st.sampled_from(NOUNS),
    ),
    st.builds(
        "{} {}".format,
        st.sampled_from(["never put a meter on the", "do not measure the", "no test lamp on the"]),
        st.sampled_from(NOUNS),
    ),
    st.sampled_from(
        [
            "buckle switch 400 ohm", "seat heater measured, 3.9", "occupancy mat OL",
            "control unit supply 12.4 V", "unit earth 0.02 V with the meter", "road test 20 km",
            "clock spring alone on the bench 0.4 ohm", "battery off and waited 15 minutes",
            "wiggle test of the loom", "code B0012 cleared", "lamp off", "warning lamp on again",
            "harness with both ends unplugged 0.2 ohm", "battery 12.6 V", "self test passed",
        ]
    ),
)  # fmt: skip


@given(st.lists(HARMLESS, min_size=1, max_size=3), st.sampled_from([". ", "; "]), st.booleans())
def test_what_is_allowed_is_shown(parts: list[str], between: str, igniter_job: bool) -> None:
    text = between.join(parts)
    assert is_shown(text, igniter_job=igniter_job), judged(text, igniter_job=igniter_job)
    assert screen(text, restraint=igniter_job) == text
    assert dangerous_step(text, igniter_job=igniter_job) is None


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("multimeter on the squib read OL, scan tool agreed", Reason.METER),
        ("test light on the airbag plug", Reason.METER),
        ("measured 2.3 at the squib", Reason.METER),
        ("belled out the pretensioner lead", Reason.METER),
        ("airbag plug bridged with a wire", Reason.BRIDGE),
        ("9 V battery across the squib", Reason.POWER),
        ("yellow plug jumped with a paper clip", Reason.BRIDGE),
        ("battery across the old airbag", Reason.POWER),
        ("zorbed the squib", Reason.UNKNOWN),
        ("gewgaw in the airbag plug", Reason.UNKNOWN),
        ("metered the buckle switch, then the squib", Reason.METER),
        ("squib and buckle switch both ohmed", Reason.METER),
        ("with battery off it is safe to ohm the bag", Reason.METER),
        ("Don't use a test lamp on the squib. Use a DMM on it instead.", Reason.METER),
    ],
)
def test_it_says_why_and_by_which_words(text: str, reason: Reason) -> None:
    verdict = judged(text, igniter_job=False)
    assert isinstance(verdict, Withheld)
    assert verdict.told_as is reason
    assert verdict.words
    danger = dangerous_step(text, igniter_job=False)
    assert danger is not None
    assert (danger.words, danger.reason) == (verdict.words, reason)
    assert "scan tool" in danger.instead


@pytest.mark.parametrize(
    "text",
    [
        "gave the squib a zorb", "took the gewgaw to it", "put the gewgaw on the plug",
        "touched it with two wires", "hit it with a mallet", "checked it, good", "jumped it",
        "key on and pulled the yellow plug", "airbag tried, dead", "tested that side, fine",
        "woke the tensioner",
    ],
)  # fmt: skip
def test_an_empty_or_unknown_verb_counts_and_so_does_it(text: str) -> None:
    assert not is_shown(text, igniter_job=True)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("fitted a resistor in place of the bag for good", Reason.DEFEAT),
        ("dummy load still in, customer would not pay, left it in", Reason.DEFEAT),
        ("bag coded out", Reason.DEFEAT),
        ("took the bulb out of the airbag lamp", Reason.DEFEAT),
        ("wired the airbag lamp to the oil lamp", Reason.DEFEAT),
        ("shaved the shorting bar off the plug", Reason.WIRING),
        ("unplugged the bag with the ignition on", Reason.LIVE),
        ("swapped the unit live", Reason.LIVE),
        ("soldered the yellow wires with the bag plugged in", Reason.LIVE),
    ],
)
def test_what_hides_a_fault_or_is_done_under_power_is_named(text: str, reason: Reason) -> None:
    danger = dangerous_step(text, igniter_job=True)
    assert danger is not None
    assert danger.reason is reason
    assert danger.told == text


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("dropped the new bag, fitted it", Reason.HANDLING),
        ("belt locked in the crash, freed it with oil", Reason.HANDLING),
        ("bag had deployed, folded it back in", Reason.HANDLING),
        ("choc block on the squib wires", Reason.WIRING),
        ("took the bag out the config with the laptop", Reason.DEFEAT),
        ("simulator in the bag plug and handed the car back", Reason.DEFEAT),
        ("welded the post with the tensioner still in", Reason.FORCED),
        ("left the battery connected, bag unplugged", Reason.LIVE),
        ("never take the battery off for a bag", Reason.LIVE),
        ("neg off then pulled the bag straight away", Reason.WAIT),
    ],
)
def test_dangerous_handling_is_named_without_a_meter(text: str, reason: Reason) -> None:
    danger = dangerous_step(text, igniter_job=True)
    assert danger is not None
    assert danger.reason is reason


@pytest.mark.parametrize(
    "text",
    [
        "dropped the new bag, sent it back, another fitted", "dropped a screw, bag refitted",
        "tensioner out, then welded the post", "choc block is not a repair",
        "left the battery connected for the clock, then battery off, waited, bag out",
        "neg off, waited 15 minutes, then pulled the bag at once",
        "simulator in, code gone, simulator out, new bag in, car collected",
        "bridged the horn relay", "no power to the control unit",
        "customer says his mate unplugged the bag with key on, fault cleared",
        "loom ohmed, unit and bag both unplugged, 0.2", "lamp flashes 5 times then 1",
        "supply at the srs module 12.4, earth drop 20 mV", "didnt measure the squib",
    ],
)  # fmt: skip
def test_the_object_the_doer_and_the_order_tell_what_is_harmless(text: str) -> None:
    assert is_shown(text, igniter_job=True), judged(text, igniter_job=True)


@pytest.mark.parametrize(
    ("text", "reason"),
    [("side airbag 2.3", Reason.VALUE), ("krockkudden zorbad", Reason.STRANGE)],
)
def test_what_is_no_step_is_not_shown_and_not_named(text: str, reason: Reason) -> None:
    verdict = judged(text, igniter_job=True)
    assert isinstance(verdict, Withheld)
    assert verdict.reason is reason
    assert dangerous_step(text, igniter_job=True) is None


@pytest.mark.parametrize(
    "text",
    [
        "found a resistor in the plug from before, removed, new bag fitted",
        "customer asked to take the bulb out, refused", "bulb blown, new bulb fitted",
        "never leave a resistor in place of the bag", "unplugged the bag, lamp on",
        "somebody had taped over the lamp, tape off", "known load in, live value 2.0, load out",
    ],
)  # fmt: skip
def test_what_was_found_and_put_right_hides_nothing(text: str) -> None:
    assert is_shown(text, igniter_job=True), judged(text, igniter_job=True)


@pytest.mark.parametrize(
    "text",
    ["5quib 2.3", "\u0430irbag 2.3 ohm", "squ\u200bib 2.3", "m3tered the airbag", "sq\u03c5ib 2.3"],
)
def test_disguised_letters_are_seen_through(text: str) -> None:
    assert not is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "put it back", "gave it a clean", "took the plug off to look", "squib not measured",
        "customer asked could we bridge the airbag, told no", "pin drag test: 2 loose",
        "tensioner fired in the accident", "checked the bag for tears", "left bag on the shelf",
        "scan tool 6.8. Plug reseated, dropped to 2.1", "live data: side bag went 2.2, 2.2, 9, 2.2",
        "earth strap of the bag module 0.01 V",
    ],
)  # fmt: skip
def test_what_is_plainly_harmless_is_shown(text: str) -> None:
    assert is_shown(text, igniter_job=True), judged(text, igniter_job=True)


@pytest.mark.parametrize(
    "text",
    [
        "air mass meter 3 g/s at idle", "battery with multimeter 12.6", "seat heater ohmed 3.9",
        "aux belt tensioner tested with a bar", "air bags on the rear axle down, 12 V at the valve",
        "gas igniter bridged, sparks", "yellow wire of the trailer plug: test lamp dark",
        "tyre inflator 12 V dead", "curtain speaker popped with a 1.5 V cell",
    ],
)  # fmt: skip
def test_other_parts_are_none_of_its_business(text: str) -> None:
    assert not concerns_igniter([text])
    assert is_shown(text)


@pytest.mark.parametrize("mode", FailureMode)
def test_a_cause_and_a_proof_can_always_be_told(mode: FailureMode) -> None:
    assert is_shown(f"pretensioner, under seat: {mode}", igniter_job=True)
    for proof in Proof:
        assert is_shown(f"cleaned seat connector, cured, proved: {proof}", igniter_job=True)


def test_a_job_concerns_an_igniter_by_system_code_or_words() -> None:
    # SAE J2012 keeps B00xx for restraints; maker-defined B1xxx may be anything
    assert concerns_igniter([], systems=[None, System.RESTRAINTS])
    assert concerns_igniter([], codes=[TroubleCode(code="B0012")])
    assert not concerns_igniter(["lamp on"], systems=[None], codes=[TroubleCode(code="B1202")])
    assert concerns_igniter(["lamp on", "LF pretensioner 6.1 ohm"])
    assert concerns_igniter(["srs light"])


def test_the_shops_own_words_count() -> None:
    own = Wording.default({"lap grabber": "pretensioner", "zap": "multimeter", "gub": "airbag"})
    assert concerns_igniter(["lap grabber slow"], wording=own)
    assert not concerns_igniter(["lap grabber slow"])
    assert not is_shown("gub 2.2", wording=own)
    assert not is_shown("lap grabber with the zap", wording=own)


@pytest.mark.parametrize(
    ("own", "text"),
    [
        ({"ohmmeter": "scan tool"}, "ohmmeter on the squib 2.2"),
        ({"fluke": "torch"}, "fluke on the pretensioner plug, fine"),
        ({"squib": "switch"}, "measured the squib 2.2 ohm"),
        ({"test lamp": "scan tool"}, "test lamp on the airbag plug"),
        ({"zap": "multimeter"}, "zap on the squib, fine"),
    ],
)
def test_no_word_of_the_shops_talks_the_rule_round(own: dict[str, str], text: str) -> None:
    wording = Wording.default(own)
    assert not is_shown(text, wording=wording)
    assert dangerous_step(text, igniter_job=True, wording=wording) is not None


def test_a_value_is_known_for_the_scan_tools_own() -> None:
    reading = Reading(
        item="pretensioner", quantity=Quantity.RESISTANCE, typed="2.3", value=2.3,
        method="scan tool live value",
    )  # fmt: skip
    live = live_values([reading, replace(reading, value=12.7, method="multimeter at the plug")])
    assert live == {2.3}
    assert is_shown("2.3 with the new plug", igniter_job=True, live=live)
    assert not is_shown("2.3 with the new plug", igniter_job=True)
    assert not is_shown("12.7 with the new plug", igniter_job=True, live=live)
    assert not is_shown("2.3 with the meter on the new plug", igniter_job=True, live=live)
    assert not is_shown("bag unplugged, bag alone 2.3", igniter_job=True, live=live)


def test_the_line_tells_where_the_words_can_be_read() -> None:
    assert "kb job show 12 --verbatim" in withheld_line(12)
    assert screen("ohmed the squib", job=12) == withheld_line(12)
    assert "kb job" not in WITHHELD


def test_only_the_sentence_that_is_not_to_be_repeated_is_replaced() -> None:
    notes = "Plug green under the seat.\nOhmed the squib 2.3, and 2.4. Read 2.2\nNew plug fitted."
    shown = f"Plug green under the seat.\n{withheld_line(3)} New plug fitted."
    assert screen(notes, restraint=True, job=3) == shown


def test_a_part_of_a_sentence_is_replaced_where_the_rest_may_stay() -> None:
    notes = "Plug green, ohmed the squib 2.3, plug cleaned - code cleared"
    assert screen(notes, restraint=True) == f"Plug green, {WITHHELD}, plug cleaned - code cleared"
    # what is dangerous only together is replaced together
    assert screen("key on, measured the squib, unplugged it", restraint=True) == WITHHELD
    fallen = withheld_line(reason=Reason.HANDLING)
    assert screen("dropped the bag, fitted it", restraint=True) == fallen
    # and the rest of an order with what it begins with
    order = "no need to take the battery off, just pull the fuse and unplug the seat"
    assert screen(order, restraint=True) == withheld_line(reason=Reason.LIVE)


@given(
    st.lists(st.sampled_from([*ASIDES, "ohmed the squib 2.3", "lamp on the bag plug"]), min_size=1)
)
def test_what_is_left_of_a_sentence_is_shown_by_itself(parts: list[str]) -> None:
    screened = screen(", ".join(parts), restraint=True)
    rest = re.sub(r"(?:, )+", ", ", screened.replace(WITHHELD, "")).strip(", ")
    assert "squib 2.3" not in rest
    assert "lamp on the bag" not in rest
    assert is_shown(rest, igniter_job=True)


def test_the_work_grows_with_the_length_only(monkeypatch: pytest.MonkeyPatch) -> None:
    # counted in words looked up, never in seconds
    looked_up = 0
    longest = Lexicon.longest

    def counted(self: Any, words: Any, at: int) -> Any:
        nonlocal looked_up
        looked_up += 1
        return longest(self, words, at)

    monkeypatch.setattr(Lexicon, "longest", counted)
    counts = []
    for size in (200, 400):
        looked_up = 0
        judged(
            "scan tool fired it could jump to the lamp on 2 zorbed pins " * size, igniter_job=True
        )
        counts.append(looked_up)
    assert counts[1] <= 2.1 * counts[0]


@given(st.text(), st.booleans())
def test_any_text_is_judged(text: str, igniter_job: bool) -> None:
    shown = screen(text, restraint=igniter_job)
    assert shown == text if is_shown(text, igniter_job=igniter_job) else NOT_SHOWN in shown


@given(st.text())
def test_elsewhere_nothing_is_hidden(text: str) -> None:
    assume(not concerns_igniter([text]))
    assert is_shown(text)


@pytest.mark.parametrize(
    "text",
    [
        "never, ever wait, pull the plug",
        "fuse pulled and waited no time, off with the plug",
        "pulled the yellow plug without waiting",
        "buckle switch fine, did the same on the pretensioner",
        "meter on buckle, done the same to the curtain bag",
        "bag loop back at 9.10",
        "charge 14.3 on the squib",
        "feed to bag plug 12.3",
        "feed to SRS 12.3, on the bag plug 2.2",
        "feed to SRS 12 V, put it on the squib",
        "bag loop 2.2 ohm, read on the meter",
        "whatever they say, meter the squib, don't do it by halves",
    ],
)
def test_what_is_told_in_passing_is_not_let_through(text: str) -> None:
    assert not is_shown(text, igniter_job=True)


@pytest.mark.parametrize(
    "text",
    [
        "booked in 9.10",
        "lamp came on at 9.10, car back at 14.30",
        "driver loop 2.2 ohm, read on the scanner",
        "battery load test 11.2, charge 14.3",
        "feed to SRS 9.8",
        "feed to SRS 9.8 V, cleaned, 12.3",
        "do not rush, wait, then pull the plug",
        "battery off, waited, seat plug off",
        "scan read driver bag 2.2, did the same on the passenger, 2.1",
        "whatever anybody tells you about a quick meter across the squib, don't do it",
        "The negative terminal was removed and ten minutes were observed before work.",
    ],
)
def test_times_supplies_and_warnings_stay_in_sight(text: str) -> None:
    assert is_shown(text, igniter_job=True)


def test_a_tensioner_of_a_drive_is_told_by_its_own_parts() -> None:
    assert not concerns_igniter(["tensioner arm 3 mm play"])
    assert not concerns_igniter(["oil pump tensioner measured 3 mm, strainer cleaned"])
    assert concerns_igniter(["seat belt tensioner arm measured 2.2 ohm"])
    assert concerns_igniter(["pretensioner bearing measured 2.2 ohm"])


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("tried known good bag live with key on", False),
        ("carried bag face against chest to bench", False),
        ("bag held against my chest on the way to the bench", False),
        ("tracker tapped into the airbag feed", False),
        ("dont wait, just pull the bag plug", False),
        ("dont wait for the ten minutes, pull it", False),
        ("never pull the plug without power on", False),
        ("do not, whatever he says, put the meter on the squib, just do it", False),
        ("carried bag face away from body to bench", True),
        ("never carry the bag facing you", True),
        ("aftermarket stereo tapped into SRS feed, put right", True),
        ("never pull the plug without waiting", True),
        ("never unplug a bag without waiting ten minutes", True),
        ("don't wait for the bus, customer said, lift home", True),
        (
            "do not, whatever they did with a meter on the squib, repeat that, just don't do it",
            True,
        ),
    ],
)
def test_how_a_bag_is_carried_and_what_is_forbidden(text: str, shown: bool) -> None:
    assert is_shown(text, igniter_job=True) is shown


@pytest.mark.parametrize(
    "text",
    [
        "accident car, belts looked ok so left in",
        "belt had weight on it in the crash but retracts, kept",
        "after the collision the pretensioner was reused",
        "unfall, gurt blieb drin",
    ],
)
def test_what_was_in_a_crash_is_not_kept_in_use(text: str) -> None:
    """Common practice, no source."""
    assert not is_shown(text, igniter_job=True)


@pytest.mark.parametrize(
    "text",
    [
        "after the crash all belts were renewed, none kept",
        "crash repaired, belt kept in a box for the assessor",
        "after the accident pretensioner not replaced yet, part on order",
        "hit a deer, curtain bag fired, seat kept and new bag fitted",
        "compression tester 11 bar on all cylinders",
        "ignition coil primary 0.8 ohm with dmm",
        "seat heater element 3.2 ohm with dmm",
    ],
)
def test_what_is_kept_apart_or_tested_elsewhere_is_shown(text: str) -> None:
    """Common practice, no source."""
    assert is_shown(text, igniter_job=True)


def test_what_came_of_a_deed_that_is_not_shown_proves_nothing() -> None:
    screened = screen("ohmed the squib, lamp off for a week", restraint=True)
    assert proof_left(screened).startswith(NOT_SHOWN)
    assert "lamp off" not in proof_left(screened)
    assert proof_left("lamp off for a week") == "lamp off for a week"


@pytest.mark.parametrize("reason", Reason)
@pytest.mark.parametrize("job", [None, 7])
def test_the_line_that_stands_for_hidden_words_stays_as_it_is(
    reason: Reason, job: int | None
) -> None:
    line = withheld_line(job, reason)
    assert screen(line, restraint=True, job=8) == line
    talked_round = "[not shown: ohmed the squib, 2.2]"
    assert "ohmed" not in screen(talked_round, restraint=True)
