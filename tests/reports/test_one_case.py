"""No chance of what is known by one case is told, nor had by subtraction."""

import json
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from rich.console import Console

from kb.reports.causes import render
from kb.reports.json import to_json
from kb.reports.one_case import told_causes, told_working
from kb.services.ask import CausesAnswer, causes
from kb.services.inquiry import Question
from kb.services.troubleshoot import working_job
from kb.settings import Settings
from tests.services.test_follow_up import CLOSED, job, put


def asked(store: str, *parts: str) -> CausesAnswer:
    put(store, *(job(f"K{n}", CLOSED, component=part) for n, part in enumerate(parts)))
    return causes(store, Question(text="door lock dead"), Settings())


def read(told: object) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(to_json(told))
    return found


def every_number(told: Any) -> list[float]:
    if isinstance(told, dict):
        return [number for each in told.values() for number in every_number(each)]
    if isinstance(told, list):
        return [number for each in told for number in every_number(each)]
    return [told] if isinstance(told, float) else []


@pytest.mark.parametrize("alone", [True, False])
def test_json_tells_no_chance_of_one_case_and_none_by_subtraction(
    empty_store: str, alone: bool
) -> None:
    answer = asked(empty_store, *["plug"] * 3, "loom", *([] if alone else ["fuse"]))
    told = read(told_causes(answer))
    once = {each["cause"]["component"] for each in told["causes"] if each["one_case"]}
    assert once == ({"loom"} if alone else {"loom", "fuse"})
    for each in told["causes"]:
        if each["one_case"]:
            assert (each["chance"], each["by_jobs"], each["by_model"]) == (None, None, None)
    hidden = [each.chance for each in answer.causes if each.all_jobs == 1]
    assert not any(
        number == pytest.approx(each) for each in hidden for number in every_number(told)
    )
    known = sum(each["chance"] or 0 for each in told["causes"]) + told["other_causes"]
    if alone:
        assert told["not_seen_before"] is told["one_case_together"] is None
        assert known + told["not_seen_before_or_one_case"] == pytest.approx(1)
        assert 1 - known != pytest.approx(hidden[0])
    else:
        assert told["not_seen_before_or_one_case"] is None
        assert told["one_case_together"] == pytest.approx(sum(hidden))


def test_why_a_cause_of_one_case_is_thought_likely_gives_no_share(empty_store: str) -> None:
    console = Console(width=200, markup=False, emoji=False, highlight=False)
    with console.capture() as page:
        console.print(render(asked(empty_store, "plug", "plug", "loom"), detail=True))
    why = [line for line in page.get().splitlines() if "why: one case" in line]
    assert len(why) == 1
    assert "%" not in why[0]


def test_json_of_an_open_job_tells_none_either(empty_store: str) -> None:
    asked(empty_store, *["plug"] * 3, "loom")
    put(empty_store, replace(job("K9", CLOSED), closed=None, cause=None, attempts=()))
    now = datetime(2026, 3, 2, tzinfo=UTC)
    working = working_job(empty_store, 5, Settings(), who=None, now=now)
    told = read(told_working(working))["advice"]
    (once,) = [each for each in told["suspects"] if each["one_case"]]
    assert (once["before"], once["chance"]) == (None, None)
    assert told["none_of_them"] is None
    (hidden,) = [each.chance for each in working.advice.suspects if each.cases == 1]
    assert not any(number == pytest.approx(hidden) for number in every_number(told))
    for step in told["steps"]:
        for branch in step["branches"]:
            shares = {cause["component"]: share for cause, share in branch["leaves"]}
            assert shares.get("loom") is None
