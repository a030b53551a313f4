"""Ways of doing that only a phrase tells, further names of igniters, and what is like them."""

import tomllib
from datetime import date
from pathlib import Path

import pytest

from kb.case import DiagnosticTest, EntryKind, Job, JobEntry, SaidAt, System, Vehicle
from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_concern import concerns_igniter
from kb.safety.igniter_steps import dangerous_step
from kb.safety.job_words import JobWords

TOLD = tomllib.loads(Path(__file__).with_name("igniter_ways.toml").read_text(encoding="utf-8"))


def not_as(verdict: type, texts: list[str], *, igniter_job: bool) -> list[str]:
    """Return of some texts those that are judged otherwise."""
    assert texts
    return [t for t in texts if not isinstance(judged(t, igniter_job=igniter_job), verdict)]


@pytest.mark.parametrize("part", ["hidden_at_igniter", "hidden_unnamed"])
def test_a_way_that_is_none_is_withheld(part: str) -> None:
    assert not_as(Withheld, TOLD[part], igniter_job=True) == []


def test_it_is_named_as_it_is_typed() -> None:
    told = TOLD["hidden_at_igniter"]
    assert [text for text in told if dangerous_step(text, igniter_job=True) is None] == []


def test_an_igniter_by_another_name_is_one_on_any_job() -> None:
    told = TOLD["hidden_anywhere"]
    assert not_as(Withheld, told, igniter_job=False) == []
    assert [text for text in told if not concerns_igniter([text])] == []


def test_work_beside_it_is_shown() -> None:
    assert not_as(Shown, TOLD["shown_at_igniter"], igniter_job=True) == []


def test_what_is_named_alike_is_no_igniter() -> None:
    told = TOLD["no_igniter"]
    assert not_as(Shown, told, igniter_job=False) == []
    assert [text for text in told if concerns_igniter([text])] == []


@pytest.mark.parametrize("text", TOLD["complaints"])
def test_a_complaint_that_lists_hazards_is_shown(text: str) -> None:
    words = JobWords(number=1, igniter_job=True)
    assert words.named(text) == text


def lifted(name: str, seen: str, typed: str) -> Job:
    """Return a restraint job with a test that was lifted from the whole of an entry."""
    said = SaidAt(entry=0, start=0, end=len(typed))
    return Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint="airbag lamp on",
        system=System.RESTRAINTS,
        tests=(DiagnosticTest(name=name, seen=seen, said=said),),
        entries=(JobEntry(kind=EntryKind.LINE, text=typed),),
    )


@pytest.mark.parametrize(
    ("name", "seen", "typed"),
    [
        ("scan tool value", "2.1 at the pins", "scan tool value, meter on it: 2.1 at the pins"),
        ("drag test", "2.1", "drag test, DMM across the squib, 2.1"),
        ("visual check", "good", "visual check, ohmmeter on the bag plug: good"),
    ],
)
def test_a_test_lifted_from_what_is_withheld_is_withheld(name: str, seen: str, typed: str) -> None:
    job = lifted(name, seen, typed)
    shown = JobWords.of(job).shown_job(job).tests[0]
    assert (shown.name, shown.seen) != (name, seen)
    assert "[not shown" in shown.seen


def test_a_test_parted_by_a_comma_is_judged_as_it_was_typed() -> None:
    typed = "looked at the plug, green on both pins"
    job = lifted("looked at the plug", "green on both pins", typed)
    assert JobWords.of(job).shown_job(job).tests == job.tests
