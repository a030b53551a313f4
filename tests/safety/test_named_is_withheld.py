"""What is named as dangerous on a job is shown on none of its pages, and counts nowhere."""

import json
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

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
    RepairRecord,
    System,
    Tried,
    Vehicle,
    outcome_told,
)
from kb.safety.hidden_fault import hiding_on
from kb.safety.job_dangers import dangers_of
from kb.safety.job_steps import beside, whole_of_reading
from kb.safety.job_words import JobWords, hidden_of
from kb.services.advisable import only_advisable

FILES = [
    *("igniter_sentences.jsonl", "igniter_sentences_second.jsonl", "igniter_everyday.jsonl"),
    *("igniter_over_sentences.jsonl", "igniter_asked.jsonl"),
]
OTHERS = [
    *("put test lamp across the squib", "left a 2 ohm resistor in the plug", "key on, unplugged"),
    *("watched the live value while I pushed it on", "bridged the yellow plug", "carried by wires"),
]
STAYS = [
    *("It stays.", "with it still in", "still in, no lamp", "drives with it to this day"),
    *("Forgot to take it out.", "Not taken out again. Car handed over like that."),
    *("resistor still in and lamp still off", "jumper still holds", "collected like that"),
    *("clip still across the two, quiet", "the thing in the plug still does its job"),
]
LOADS = ["known load in place of RF pretensioner", "substitute load in: code gone", "dummy fitted"]
HARMLESS = [
    *("lamp out", "code gone, road test done", "Kolbrin", "cleaned both halves", "seat moved back"),
    *("all fine since", "came back after rain", "live data 2.3 ohm", "battery off and waited"),
]


SHORT = 90
"""Letters of a text of which two fit in any field."""


def corpus() -> list[str]:
    """Return what people wrote of restraints, dangerous and not."""
    lines = (line for name in FILES for line in Path(__file__).with_name(name).open())
    texts = [json.loads(each)["text"] for each in lines]
    return [each for each in texts if len(each) <= SHORT]


CORPUS = corpus()


def told(at: int) -> str:
    return CORPUS[at]


LEAVES = st.one_of(
    st.integers(0, len(CORPUS) - 1).map(told),
    *map(st.sampled_from, (OTHERS, STAYS, LOADS, HARMLESS)),
)
TEXTS = st.one_of(
    LEAVES, st.tuples(LEAVES, st.sampled_from([". ", "; ", ", ", "\n"]), LEAVES).map("".join)
)
MAYBE = st.none() | TEXTS
WHEN = date(2026, 3, 2)
FIXES = st.builds(
    Attempt,
    action=st.sampled_from([Action.CLEANED, Action.REPLACED, Action.REPAIRED]),
    component=st.sampled_from(["seat plug", "clock spring", "pretensioner"]),
    words=MAYBE,
    verified=MAYBE,
    part_maker=MAYBE,
    cured=st.sampled_from([True, False, None]),
)
READINGS = st.builds(
    Reading,
    item=st.sampled_from(["pretensioner", "battery", "seat plug"]),
    quantity=st.just(Quantity.RESISTANCE),
    typed=st.just("2.2 ohm"),
    value=st.just(2.2),
    method=MAYBE,
    condition=MAYBE,
)
ENTRIES = st.builds(JobEntry, kind=st.sampled_from(EntryKind), text=TEXTS)
CONTACTS = st.builds(
    Contact,
    on=st.just(date(2026, 5, 2)),
    outcome=st.sampled_from([Outcome.HELD, Outcome.NOT_TOLD]),
    words=MAYBE,
)
CAUSES = st.builds(
    Cause, component=TEXTS, failure_mode=st.just(FailureMode.OPEN), words=MAYBE, location=MAYBE
)


def some(of: st.SearchStrategy[Any]) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(of, max_size=2).map(tuple)


JOBS = st.builds(
    Job,
    number=st.just(1),
    vehicle=st.just(Vehicle()),
    opened=st.just(WHEN),
    closed=st.just(WHEN),
    system=st.just(System.RESTRAINTS),
    complaint=st.just("airbag lamp on") | TEXTS,
    conditions=MAYBE,
    proved_by=MAYBE,
    notes=MAYBE,
    cause=st.none() | CAUSES,
    entries=some(ENTRIES),
    readings=some(READINGS),
    tests=some(st.builds(DiagnosticTest, name=LEAVES, seen=TEXTS)),
    attempts=some(FIXES),
    contacts=some(CONTACTS),
)


BARE = Job(vehicle=Vehicle(), opened=WHEN, complaint="airbag lamp on", system=System.RESTRAINTS)


def texts_of(value: object) -> Iterator[str]:
    """Yield every text of a job, and all that a part of it tells in one sentence."""
    match value:
        case str():
            yield value
        case tuple():
            for each in value:
                yield from texts_of(each)
        case DiagnosticTest():
            yield outcome_told(value.name, value.seen)
        case Reading():
            yield whole_of_reading(value)
        case Attempt():
            yield value.label
            yield from beside(value.label, value.words, value.part_maker, value.verified)
    if is_dataclass(value):
        for field in fields(value):
            yield from texts_of(getattr(value, field.name))


def tells(text: str, told: str) -> bool:
    """Whether a text tells some words, however spaced, and not as a part of others."""
    return bool(re.search(rf"(?<!\w){re.escape(told)}(?!\w)", " ".join(text.split())))


def rated(job: Job, done: Attempt) -> bool:
    """Whether a fix of a job is counted as a cure by the rates."""
    tried = Tried(
        *(done.action, done.component, done.words, None, None, done.cured, done.fix),
        part_maker=done.part_maker,
        verified=done.verified,
    )
    case = RepairRecord(
        *(1, "digest", None, 1, WHEN, WHEN, None, job.system, None, None, job.complaint),
        *("seat plug", None, [tried], [], []),
    )
    (kept,) = only_advisable([case], ("seat plug", "", "open"))
    return kept.attempts[0].component == done.component and kept.attempts[0].cured is True


@given(JOBS)
def test_what_is_named_of_a_job_is_shown_nowhere_on_it(job: Job) -> None:
    shown = [*texts_of(JobWords.of(job).shown_job(job))]
    for danger in dangers_of(job):
        assert [text for text in shown if tells(text, danger.told)] == []


@given(JOBS)
def test_a_fix_that_tells_what_is_named_is_no_cure(job: Job) -> None:
    words, dangers = JobWords.of(job), dangers_of(job)
    for each in job.attempts:
        if any(tells(text, danger.told) for text in texts_of(each) for danger in dangers):
            assert not words.advises(each)
            assert words.without_success(each).cured is not True
            assert words.shown_fix(each) != each.label
        bare = replace(BARE, attempts=(each,))
        if dangers_of(bare):
            assert not rated(bare, each)


@given(JOBS)
def test_what_hides_a_fault_is_named_and_cures_nothing(job: Job) -> None:
    words = JobWords.of(job)
    assert words.hides_fault == bool(hiding_on(job))
    if words.hides_fault:
        assert dangers_of(job)
        assert not any(words.advises(each) for each in job.attempts if each.cured is not False)


@given(JOBS)
def test_whoever_is_told_of_a_danger_is_told_that_it_is_hidden(job: Job) -> None:
    if dangers_of(job):
        assert hidden_of(job)
