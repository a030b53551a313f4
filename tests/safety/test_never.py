"""What must never be done at a hazard is named, and shown behind a mark; near misses as typed."""

import json
import re
import tomllib
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Action, Attempt, Job, Vehicle
from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.safety.hazards import hazard_table
from kb.safety.igniter import Withheld, judged, may_be_proposed
from kb.safety.igniter_clauses import sentences_of
from kb.safety.igniter_screen import screen
from kb.safety.igniter_steps import dangerous_step
from kb.safety.job_dangers import danger_line, dangers_of
from kb.safety.job_words import JobWords, is_advisable
from kb.safety.never import AT_IGNITER, TABLE, forbidden_step, never_table
from tests.safety.test_igniter import recased

CASES: dict[str, dict[str, list[str]]] = tomllib.loads(
    Path(__file__).with_name("never_cases.toml").read_text(encoding="utf-8")
)
IS = [(key, text) for key, cases in CASES.items() if key != AT_IGNITER for text in cases["is"]]
IS_NOT = [text for cases in CASES.values() for text in cases["is_not"]]
IS_AT_IGNITER = CASES[AT_IGNITER]["is"]
TOLD: list[dict[str, Any]] = [
    json.loads(line)
    for line in Path(__file__).with_name("never_told.jsonl").read_text("utf-8").splitlines()
]
"""Deeds told as the shop's own, short and sloppy, and harmless ones of the same words."""
OPENED = "opened the radiator cap hot"
LEFT_UNDONE = "wheels_steering"
"""Key of what is no hazard of a job before it is done, but of a car that goes off."""


@pytest.mark.parametrize("key", [key for key in CASES if key != AT_IGNITER])
@pytest.mark.parametrize("igniter_job", [False, True])
def test_it_is_named_with_its_hazard_why_and_what_instead(key: str, igniter_job: bool) -> None:
    texts = CASES[key]["is"]
    shown = [
        each for each in texts if not isinstance(judged(each, igniter_job=igniter_job), Withheld)
    ]
    assert not shown, "\n".join(shown)
    unnamed = [text for text in texts if not is_named(text, key)]
    assert not unnamed, "\n".join(unnamed)


def is_named(text: str, hazard: str) -> bool:
    danger = dangerous_step(text, igniter_job=False)
    return danger is not None and any(
        (danger.reason, danger.instead, danger.certain) == (never.reason, never.instead, True)
        and danger_line(danger).endswith(f"is dangerous: {never.reason}. {never.instead}")
        for never in never_table()
        if never.hazard == hazard
    )


def test_what_the_shop_tells_of_itself_is_named_with_its_hazard() -> None:
    dangerous = [each for each in TOLD if each["dangerous"]]
    assert len(dangerous) >= MOST_KINDS
    unnamed = [each["text"] for each in dangerous if not is_named(each["text"], each["hazard"])]
    assert not unnamed, "\n".join(unnamed)


def test_a_harmless_deed_of_the_same_words_is_free() -> None:
    harmless = [each["text"] for each in TOLD if not each["dangerous"]]
    assert len(harmless) >= MOST_KINDS
    named = [each for each in harmless if forbidden_step(each, trade_wording())]
    assert not named, "\n".join(named)


MOST_KINDS = 80


def test_a_near_miss_is_shown() -> None:
    named = [
        text
        for text in IS_NOT
        if screen(text) != text or dangerous_step(text, igniter_job=False) is not None
    ]
    assert not named, "\n".join(named)


@pytest.mark.parametrize("text", IS_AT_IGNITER)
def test_at_an_igniter_it_is_named_and_replaced(text: str) -> None:
    told = {each.reason: each for each in never_table() if each.hazard == AT_IGNITER}
    danger = dangerous_step(text, igniter_job=True)
    assert danger is not None
    assert danger.certain
    assert danger.instead == told[danger.reason].instead
    assert screen(text, restraint=True) == f"[not shown: it may {told[danger.reason].may}]"


@pytest.mark.parametrize("text", CASES[AT_IGNITER]["is_not"])
def test_a_near_miss_at_an_igniter_is_shown(text: str) -> None:
    assert screen(text, restraint=True) == text
    assert dangerous_step(text, igniter_job=True) is None


@pytest.mark.parametrize(
    "text", ["long cable and battery", "leant over the wheel to turn the key", "oven, knee bag"]
)
def test_where_no_igniter_is_concerned_nothing_is_asked_of_restraints(text: str) -> None:
    assert forbidden_step(text, trade_wording()) is None


@given(st.sampled_from(IS_AT_IGNITER), st.sampled_from(["", "Lamp out. "]), st.booleans())
def test_nothing_around_a_step_at_an_igniter_releases_it(text: str, more: str, first: bool) -> None:
    told = f"{more}{text}" if first else f"{text}. {more}"
    assert dangerous_step(told, igniter_job=True) is not None
    assert "[not shown: it may" in screen(told, restraint=True)


def test_every_group_of_words_is_of_use() -> None:
    table = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    used = " ".join(
        words for each in table["never"] for words in [*each["steps"], *each.get("unless", [])]
    )
    assert [name for name in table["groups"] if f"<{name}>" not in used] == []
    assert set(re.findall(r"<([a-z ]+)>", used)) <= table["groups"].keys()


def test_no_word_of_the_table_has_a_sign_that_is_evened_out() -> None:
    table = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    lists = [*table["groups"].values(), *(each.get("unless", []) for each in table["never"])]
    told = {p for phrases in lists for p in phrases if p.strip("<>") not in table["groups"]}
    odd = {p for p in told if not re.fullmatch(r"[a-z0-9#*~ ß'\",]+", p)}
    assert odd == set()


def test_every_kind_is_of_a_hazard_of_the_table_and_has_five_cases_each_way() -> None:
    keys = [each.hazard for each in never_table()]
    assert set(CASES) <= set(keys)
    assert set(keys) - {each.key for each in hazard_table()} == {LEFT_UNDONE}
    told = Counter((each.get("hazard"), each["dangerous"]) for each in TOLD)
    for key in keys:
        cases = CASES.get(key, {"is": [], "is_not": []})
        assert len(cases["is"]) + told[key, True] >= 5, key
        assert len(cases["is_not"]) + told[key, False] >= 5, key


def test_no_caution_and_nothing_told_instead_is_withheld() -> None:
    own = [each.instead for each in never_table()] + [each.caution for each in hazard_table()]
    assert [text for text in own if forbidden_in(text)] == []


def forbidden_in(text: str) -> bool:
    return any(forbidden_step(each, trade_wording()) for each in sentences_of(text))


@given(
    st.sampled_from([text for _, text in IS]),
    st.sampled_from(["as typed", "upper", "title", "swapped"]),
    st.sampled_from(["", "test drive 12 km. ", "Lamp out. "]),
    st.sampled_from(["", ". All good after", ". Customer happy"]),
)
def test_nothing_around_it_releases_it(text: str, case: str, before: str, after: str) -> None:
    told = f"{before}{recased(text, case)}{after}"
    assert dangerous_step(told, igniter_job=False) is not None
    assert is_marked(screen(told))
    assert screen(screen(told)) == screen(told)


def is_marked(shown: str) -> bool:
    """Whether words are shown behind a mark that says what they may do."""
    kinds = "|".join(re.escape(each.may) for each in never_table())
    return re.search(rf"\[must never be done: it may (?:{kinds})\] \S", shown) is not None


@pytest.mark.parametrize("denial", ["never ", "do not ", "nobody ", "customer "])
def test_what_was_not_done_or_by_others_is_no_step(denial: str) -> None:
    assert dangerous_step(f"{denial}{OPENED}", igniter_job=False) is None


@pytest.mark.parametrize(
    "text",
    [
        "radiator cap was opened hot by the last garage",
        "rad cap opened hot by the customer, now overheats",
        "Kühlerdeckel heiß geöffnet vom Kunden",
    ],
)
def test_what_somebody_behind_the_deed_did_is_no_step_of_ours(text: str) -> None:
    assert forbidden_step(text, trade_wording()) is None


@pytest.mark.parametrize(
    "text", ["opened the rad cap hot, by then it had lost a litre", "opened rad cap hot by hand"]
)
def test_by_alone_names_nobody(text: str) -> None:
    assert forbidden_step(text, trade_wording()) is not None


def test_a_shops_own_word_counts() -> None:
    own = Wording.default({"fishtank": "expansion tank"})
    assert dangerous_step("opened the fishtank hot", igniter_job=False, wording=own) is not None
    assert dangerous_step("opened the fishtank hot", igniter_job=False) is None


def test_somebody_else_elsewhere_in_the_sentence_releases_nothing() -> None:
    text = f"told the customer to wait, {OPENED}"
    assert dangerous_step(text, igniter_job=False) is not None


def test_only_its_sentence_is_marked() -> None:
    told = screen(f"Level low. {OPENED}. New cap fitted.", job=7)
    mark = "[must never be done: it may open a cooling system that is hot]"
    assert told == f"Level low. {mark} {OPENED}. New cap fitted."


@pytest.mark.parametrize(
    ("text", "hazard"),
    [
        (
            "Came in for smell of petrol. Welded on the fuel tank. New strap fitted, all good.",
            "fuel",
        ),
        ("Tank drained. Patch put on, welded. Refitted and road tested.", "fuel"),
        ("AC not cold. Leak at condenser. Let the gas out to air. Refilled 500 g.", "refrigerant"),
        (
            "Pedal soft. Rear pipe rusted. Clamped off the hose and let it go home.",
            "brake_pressure",
        ),
        ("Clutch slips. Gearbox out, car was on bricks. New clutch, no more slip.", "lifting"),
    ],
)
def test_it_is_named_within_a_pack_and_by_the_sentence_before(text: str, hazard: str) -> None:
    """Common practice, no source."""
    assert is_named(text, hazard)


@pytest.mark.parametrize(
    "text",
    [
        "Fuel smell at the back. Tank dropped and sent for repair. Exhaust bracket welded.",
        "Fan belt squeals with engine running. Engine off, belt renewed. Quiet.",
        "Charger on overnight. Clamps off in the morning after switching it off. Starts.",
        "Came in boiling. Let it cool two hours. Opened the cap, topped up.",
        "Sill rotten. Fuel tank and lines out first. Welded new piece in. Tank back in.",
        "Welded sill. Fuel tank next week. Cap off cold, gauge in the red before.",
        "Spark plugs wet. Smelt of petrol. Dried them, new coil, runs.",
        "Jack slipped last week, says customer. Sill dented. Straightened.",
    ],
)
def test_harmless_sentences_make_no_step_of_one_another(text: str) -> None:
    """Common practice, no source."""
    assert dangerous_step(text, igniter_job=False) is None


def test_the_deed_stands_in_the_sentence_that_is_named() -> None:
    before, deed = "Fuel drained.", "Patch welded."
    assert forbidden_step(deed, trade_wording()) is None
    assert forbidden_step(deed, trade_wording(), before=before) is not None
    assert forbidden_step(before, trade_wording(), before=deed) is None


def test_on_an_igniters_job_it_is_replaced() -> None:
    told = screen(f"Airbag lamp on. {OPENED}. New cap fitted.", restraint=True, job=7)
    assert "[not shown: it may open a cooling system that is hot; read" in told
    assert OPENED not in told


def told(**more: Any) -> Job:
    return Job(vehicle=Vehicle(), opened=date(2024, 6, 1), complaint="loses water", **more)


def taken_for(text: str) -> list[str]:
    """Return what a step that nobody may take passes for."""
    job = told(proved_by=text, attempts=(Attempt(action=Action.OTHER, component="it", words=text),))
    words = JobWords.of(job)
    passes = {
        "no danger": not dangers_of(job),
        "proof": not is_marked(words.shown_job(job).proved_by or ""),
        "fix": not is_marked(words.shown_fix(job.attempts[0])),
        "test": may_be_proposed(text, restraint=False),
        "advice": is_advisable(Action.REPAIRED, "part", text, igniter_job=False),
    }
    return [name for name, passed in passes.items() if passed]


def test_it_is_no_fix_no_proof_and_no_test() -> None:
    assert IS
    assert {text: taken for _, text in IS if (taken := taken_for(text))} == {}


@pytest.mark.parametrize(
    ("text", "is_step"),
    [
        ("ac hose undone, gas not recovered", True),
        ("ac hose undone, gas recovered", False),
        ("ac hose undone, gauges at 6 bar", True),
        ("ac hose undone, gauges at 0 bar", False),
        ("ac hose undone, gauges at 0.0 bar", False),
        ("ac hose undone, gauges still at 0.5 bar", True),
        ("12 v negative lead off, hv plug pulled", True),
        ("12 v checked at fuse box, lid off", False),
    ],
)
def test_a_denied_release_is_none_and_nought_is_no_pressure(text: str, is_step: bool) -> None:
    """Common practice, no source."""
    assert (forbidden_step(text, trade_wording()) is not None) is is_step


@pytest.mark.parametrize("text", ["spring flew", "undid strut top nut w/o compressor, spring flew"])
def test_a_spring_that_flew_is_told_the_same_alone_and_with_its_nut(text: str) -> None:
    """Common practice, no source."""
    found = forbidden_step(text, trade_wording())
    assert found is not None
    assert found.never.may == "let a loaded spring go"
