"""The page of an open job: cautions first, fit for 80 columns, and never a meter on an igniter."""

import re
import shutil
from collections import defaultdict
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from kb.case import (
    Action,
    Attempt,
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    System,
    TroubleCode,
    Vehicle,
)
from kb.reports.json import to_json
from kb.reports.labels import percent
from kb.reports.troubleshoot import first_suspect, proved, render
from kb.safety.igniter_lines import withheld_line
from kb.services.troubleshoot import WorkingJob, working_job
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.steps import StepReason
from tests.troubleshooting.test_guard import IGNITERS, METER, SPELT

DAY = date(2026, 3, 2)


def page(working: WorkingJob, *, detail: bool = False) -> str:
    console = Console(width=80, markup=False, emoji=False, highlight=False)
    with console.capture() as capture:
        console.print(render(working, detail=detail))
    return capture.get()


def flat(text: str) -> str:
    return " ".join(text.split())


NOW = datetime(2026, 3, 2, 10, tzinfo=UTC)


@pytest.fixture(scope="module")
def open_lamp(demo_store: str) -> WorkingJob:
    """An open job of the demonstration shop on a seat-belt pretensioner."""
    return working_job(demo_store, 1387, Settings(), who=None, now=NOW)


def test_cautions_come_before_anything_else(open_lamp: WorkingJob) -> None:
    for detail in (False, True):
        text = page(open_lamp, detail=detail)
        assert text.startswith("CAUTION")
        assert text.index("Airbags and pretensioners can fire") < text.index("Job 1387")
        assert max(map(len, text.splitlines())) <= 80
    assert to_json(open_lamp).index("cautions") < to_json(open_lamp).index("advice")


def test_everything_seen_so_far_is_on_the_page(open_lamp: WorkingJob) -> None:
    text = flat(page(open_lamp))
    for told in (
        "pretensioner circuit, left front 6.4 Ω",
        "compare with the twin: 6.4 / 2.2 Ω",
        "Load test to do when the car is back on Thursday",
        "is above the",
    ):
        assert told in text


def test_three_steps_with_minutes_outcomes_and_what_then(open_lamp: WorkingJob) -> None:
    lines = page(open_lamp).splitlines()
    assert [line[0] for line in lines if line[:1].isdigit() and line[1:3] == "  "][-3:] == [
        "1",
        "2",
        "3",
    ]
    text = flat(page(open_lamp))
    assert "visual check 10 min (here," in text
    assert "more expected" in text
    assert "nothing to be seen: leaves seat connector" in text
    assert "LOCKED until confirmed: ignition off, battery disconnected" in text


def test_why_a_test_is_next_tells_how_often_it_leaves_one_part_likely(demo_store: str) -> None:
    told = 0
    for number in (1387, 1388, 1389):
        working = working_job(demo_store, number, Settings(), who=None, now=NOW)
        text = flat(page(working))
        for step in working.advice.steps:
            if step.why is not StepReason.TELLS:
                continue
            sure = 0.0
            for branch in step.branches:
                parts: dict[str, float] = defaultdict(float)
                for cause, chance in branch.leaves:
                    parts[cause.component] += chance
                if not branch.by_one_case and max(parts.values(), default=0) >= 0.8:
                    sure += branch.chance
            line = f"its time: {percent(sure)} to leave one part at 80% or more"
            assert (line in text) == (sure >= 0.1)
            told += sure >= 0.1
    assert told


def test_detail_tells_counts_and_jobs(open_lamp: WorkingJob) -> None:
    text = flat(page(open_lamp, detail=True))
    assert "spoke for the true cause" in text
    assert "#1022" in text


def test_what_a_result_showed_is_one_sentence(open_lamp: WorkingJob) -> None:
    advice = open_lamp.advice
    assert proved(advice, advice) == "That changed next to nothing."
    first, *rest = advice.suspects
    after = replace(advice, suspects=(replace(first, chance=0.2), *rest))
    assert proved(advice, after).startswith(f"That shows: {first.cause.label} ")
    assert "→ 20%" in proved(advice, after)


@settings(max_examples=20)
@given(
    st.lists(SPELT, min_size=4, max_size=4),
    IGNITERS,
    st.sampled_from([None, System.RESTRAINTS, System.OTHER]),
    st.booleans(),
)
def test_no_stored_words_put_a_meter_on_an_igniter_page(
    tmp_path: Path,
    sqlite_template: Path,
    words: list[str],
    igniter: str,
    system: System | None,
    vocabulary: bool,
) -> None:
    """Imported jobs and shop vocabulary that tempt; only the job's own complaint is as told."""
    place = tmp_path / f"{len(list(tmp_path.iterdir()))}.sqlite"
    address = str(shutil.copy(sqlite_template, place))
    past = Job(
        vehicle=Vehicle(ref="K001"),
        opened=DAY,
        closed=DAY,
        complaint=f"lamp on, {igniter} fault",
        system=system,
        codes=(TroubleCode(code="B1234"),),
        tests=(
            DiagnosticTest(name=words[0], seen=words[1], points_to=(igniter,)),
            DiagnosticTest(name=words[1], seen=words[2], clears=("mat",)),
        ),
        cause=Cause(component=igniter, failure_mode=FailureMode.OPEN, words=words[3]),
        proved_by=words[2],
        attempts=(Attempt(action=Action.OTHER, component=words[3], words=words[0], cured=True),),
    )
    other = replace(
        past, cause=Cause(component="mat", failure_mode=FailureMode.WORN), vehicle=Vehicle()
    )
    with UnitOfWork(open_store(address)) as work:
        for _ in range(3):
            work.jobs.add(past)
        work.jobs.add(other)
        asked = Job(
            vehicle=Vehicle(),
            opened=DAY,
            complaint=f"lamp on, {igniter}",
            codes=(TroubleCode(code="B1234"),),
            tests=(DiagnosticTest(name=words[3], seen=words[0]),),
        )
        number = work.jobs.add(asked).number
        if vocabulary:
            work.words.add("wiggle", [words[0]])
        work.commit()
    assert number is not None
    found = working_job(address, number, Settings(), who=None, now=NOW, best=99)
    for detail in (False, True):
        text = page(found, detail=detail)
        assert text.startswith("CAUTION")
        advice = flat(text).partition("Next, the best first")[2]
        for masked in (withheld_line(number), withheld_line()):
            advice = advice.replace(masked, "")
        assert advice
        assert not METER.search(advice)


def test_beside_the_first_suspect_stands_how_likely_none_is(open_lamp: WorkingJob) -> None:
    console = Console(width=80, markup=False, emoji=False, highlight=False)
    with console.capture() as capture:
        console.print(first_suspect(open_lamp))
    assert "none of these" in capture.get()


def test_every_letter_of_every_step_is_on_the_page_in_its_order(open_lamp: WorkingJob) -> None:
    """Whoever stands at the car answers with any of them: none may be missing between others."""
    first, *others = open_lamp.advice.steps
    many = [
        replace(first.branches[0], seen=f"seen at place {n}", chance=chance)
        for n, chance in enumerate((0.1, 0.3, 0.02, 0.2, 0.01, 0.07, 0.3))
    ]
    steps = (replace(first, branches=tuple(many)), *others)
    working = replace(open_lamp, advice=replace(open_lamp.advice, steps=steps))
    shown = [re.findall(r"^ +([a-z]) ", part, re.MULTILINE) for part in steps_of(working)]
    assert shown == [[chr(97 + n) for n, _ in enumerate(each.branches)] for each in steps]
    assert "e 1% seen at place 4" in page(working)


def steps_of(working: WorkingJob) -> list[str]:
    """Each step's part of the page."""
    told = page(working).partition("Next, the best first")[2].partition("Until now")[0]
    return re.split(r"^[1-9]  ", told, flags=re.MULTILINE)[1:]


def test_a_cure_that_nothing_proves_is_not_said_to_miss_nothing(open_lamp: WorkingJob) -> None:
    job = replace(
        open_lamp.job,
        complaint="wet carpet after rain",
        attempts=(Attempt(action=Action.REPLACED, component="door membrane", cured=True),),
    )
    cured = replace(
        open_lamp,
        job=job,
        cured_by="replaced door membrane",
        proofs=(),
        again=("water test again: all stays dry inside",),
        advice=replace(open_lamp.advice, systems=()),
    )
    assert "prove that it is cured: water test again: all stays dry inside" in flat(page(cured))
    proved = replace(cured, again=())
    assert "prove that it is cured: nothing is missing" in flat(page(proved))


def opened(address: str, text: str) -> WorkingJob:
    with UnitOfWork(open_store(address)) as work:
        kept = work.jobs.add(Job(vehicle=Vehicle(), opened=DAY, complaint=text))
        work.commit()
    assert kept.number is not None
    return working_job(address, kept.number, Settings(), who=None, now=NOW)


def test_where_nothing_is_suspected_the_first_checks_are_told_with_what_to_do(
    empty_store: str,
) -> None:
    told = flat(page(opened(empty_store, "radiator fan does not run")))
    assert "2 supply and earth at its plug 15 min" in told
    assert "Its fuse and relay first." in told
    assert "think afresh. Nothing more to go by" not in told
    assert "50%" not in told  # nobody knows how likely either outcome is
    airbag = opened(empty_store, "airbag lamp on")
    assert [step.title for step in airbag.advice.steps] == ["visual check"]


def test_what_is_told_new_is_said_to_be_suspected_less_and_not_cleared(empty_store: str) -> None:
    told = flat(page(opened(empty_store, "flat overnight, new battery fitted last week")))
    assert "“new battery fitted last week”: suspected less; new, it may yet be bad" in told
    assert "suspected less" not in flat(page(opened(empty_store, "flat battery overnight")))


def test_a_step_that_takes_longer_than_one_behind_it_says_why(open_lamp: WorkingJob) -> None:
    first, second, *_ = open_lamp.advice.steps
    long = replace(first, longer=True, why=StepReason.TELLS)
    told = replace(open_lamp, advice=replace(open_lamp.advice, steps=(long, second)))
    assert "it takes longer than a step behind it, and settles and tells more" in flat(page(told))
    short = replace(told, advice=replace(told.advice, steps=(replace(long, longer=False), second)))
    assert "it takes longer" not in flat(page(short))
