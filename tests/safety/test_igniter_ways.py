"""Ways of doing that only a phrase tells, further names of igniters, and what is like them."""

import tomllib
from datetime import date
from pathlib import Path

import pytest

from kb.case import DiagnosticTest, EntryKind, Job, JobEntry, SaidAt, System, Vehicle
from kb.safety.igniter import Shown, Withheld, concerns_igniter, dangerous_step, judged
from kb.safety.job_words import JobWords

TOLD = tomllib.loads(Path(__file__).with_name("igniter_ways.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("text", TOLD["hidden_at_igniter"] + TOLD["hidden_unnamed"])
def test_a_way_that_is_none_is_withheld(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True), Withheld)


@pytest.mark.parametrize("text", TOLD["hidden_at_igniter"])
def test_it_is_named_as_it_is_typed(text: str) -> None:
    assert dangerous_step(text, igniter_job=True) is not None


@pytest.mark.parametrize("text", TOLD["hidden_anywhere"])
def test_an_igniter_by_another_name_is_one_on_any_job(text: str) -> None:
    assert isinstance(judged(text, igniter_job=False), Withheld)
    assert concerns_igniter([text])


@pytest.mark.parametrize("text", TOLD["shown_at_igniter"])
def test_work_beside_it_is_shown(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True), Shown)


@pytest.mark.parametrize("text", TOLD["no_igniter"])
def test_what_is_named_alike_is_no_igniter(text: str) -> None:
    assert isinstance(judged(text, igniter_job=False), Shown)
    assert not concerns_igniter([text])


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
