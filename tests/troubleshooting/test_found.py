"""What the tests of a job found: named, mended first, far ahead (common practice, no source)."""

from dataclasses import replace
from datetime import date

import pytest

from kb.case import (
    Action,
    Attempt,
    Cause,
    DiagnosticTest,
    FailureMode,
    Job,
    Precondition,
    System,
    TroubleCode,
    Vehicle,
)
from kb.intake.wording import Wording
from kb.settings import TroubleshootingSettings
from kb.troubleshooting.decision import Kind
from kb.troubleshooting.found import read_with_words
from kb.troubleshooting.possible_outcomes import ANOTHER_PART
from kb.troubleshooting.steps import Advice, Step, advise
from kb.troubleshooting.suspicion import Prior

WORDING = Wording.default()
SEARCH = "fuel leak search"
ELSEWHERE = "fuel comes out, or smells, elsewhere"
VENT = Cause(component="fuel flap actuator", failure_mode=FailureMode.SEIZED)
COMPRESSOR = Cause(component="air conditioning compressor", failure_mode=FailureMode.CONTAMINATED)
COOLING = Cause(component="high voltage battery cooling fan", failure_mode=FailureMode.BLOCKED)
CABLE = Cause(component="high voltage cable", failure_mode=FailureMode.MECHANICAL_DAMAGE)
INSULATION = "insulation test by a licensed person"


def job(complaint: str, **told: object) -> Job:
    return Job(
        vehicle=Vehicle(),
        opened=date(2026, 3, 2),
        complaint=complaint,
        **told,  # type: ignore[arg-type]
    )


def ask(asked: Job, causes: dict[Cause, float]) -> Advice:
    priors = [Prior(cause=cause, chance=chance, cases=9) for cause, chance in causes.items()]
    return advise(asked, priors, (), WORDING, TroubleshootingSettings(), best=99)


def step(advice: Advice, words: str) -> Step:
    return next(each for each in advice.steps if words in each.title)


def chance(advice: Advice, component: str) -> float:
    return sum(each.chance for each in advice.suspects if each.cause.component == component)


def leak(words: str) -> DiagnosticTest:
    return DiagnosticTest(
        name=SEARCH, seen="; ".join(filter(None, (ELSEWHERE, words))), points_to=(ANOTHER_PART,)
    )


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ("under the pump flange it drips", "fuel pump flange"),
        ("all dry at the rail, wet at the return line", "fuel return line"),
        ("injector seal weeps", "fuel injector seal"),
        ("somewhere behind", "fuel leak"),
        ("nothing at the fuel rail", "fuel leak"),
        ("", "fuel leak"),
    ],
)
def test_a_leak_found_elsewhere_is_called_by_the_part_its_words_name(words: str, part: str) -> None:
    read = read_with_words(job("smells of petrol", tests=(leak(words),)), WORDING)
    assert [each.points_to for each in read.tests] == [(part,)]


def test_a_leak_that_was_found_is_mended_before_anything_else() -> None:
    found = leak("under the pump flange it drips")
    asked = job("smell of petrol in cabin, wet under tank", tests=(found,))
    advice = ask(asked, {VENT: 0.2})
    assert chance(advice, "fuel pump flange") > 0.9
    assert [each.title for each in advice.steps] == ["repaired fuel pump flange"]
    assert not advice.afresh
    (mend,) = advice.steps
    assert Precondition.FUEL_LET_DOWN in mend.locks
    assert any("Nothing is started, switched or driven" in each for each in mend.cautions)


def test_once_it_is_mended_the_search_is_made_again() -> None:
    fix = Attempt(action=Action.REPAIRED, component="fuel pump flange", cured=False)
    asked = job("smell of petrol, wet under tank", tests=(leak("pump flange"),), attempts=(fix,))
    assert ask(asked, {VENT: 0.2}).steps[0].title == SEARCH


def test_where_fuel_is_seen_the_search_hardly_finds_nothing() -> None:
    def dry(complaint: str) -> float:
        return step(ask(job(complaint), {VENT: 0.2}), SEARCH).branches[-1].chance

    assert dry("smell of petrol in cabin, wet under tank") < 0.35
    assert dry("smell of petrol in cabin") > 0.5


def isolated(*tests: DiagnosticTest) -> Job:
    return job(
        "HV isolation fault",
        system=System.HIGH_VOLTAGE,
        codes=(TroubleCode(code="P0AA6"),),
        tests=tests,
    )


def low(asked: Job, causes: dict[Cause, float]) -> DiagnosticTest:
    (branch,) = (
        each
        for each in step(ask(asked, causes), INSULATION).branches
        if each.points_to == ("air conditioning compressor",)
    )
    return DiagnosticTest(name=INSULATION, seen=branch.seen, points_to=branch.points_to)


def test_a_part_whose_insulation_is_low_is_far_ahead_and_told_from_its_cable_next() -> None:
    causes = {COOLING: 0.2, COMPRESSOR: 0.06, CABLE: 0.02}
    advice = ask(isolated(low(isolated(), causes)), causes)
    assert chance(advice, "air conditioning compressor") > 0.8
    assert advice.none_of_them < 0.15
    first = advice.steps[0]
    assert first.title.startswith("part and cable unplugged in turn by a licensed person")
    assert first.title.endswith("air conditioning compressor")
    assert Precondition.HIGH_VOLTAGE_OFF in first.locks
    assert first.branches[1].clears == ("air conditioning compressor",)
    titles = [each.title for each in advice.steps]
    assert not any("load test" in each for each in titles)


def test_nothing_is_unplugged_before_the_insulation_was_found_low() -> None:
    advice = ask(isolated(), {COOLING: 0.2, COMPRESSOR: 0.3})
    assert not any("unplugged in turn" in each.title for each in advice.steps)


def test_the_insulation_is_read_with_no_refrigerant_let_out() -> None:
    read = step(ask(isolated(), {COMPRESSOR: 0.3, COOLING: 0.2}), INSULATION)
    assert not any("efrigerant" in each for each in read.cautions)
    leaking = replace(COMPRESSOR, failure_mode=FailureMode.LEAKING)
    tight = ask(job("a/c does not cool"), {leaking: 0.5})
    assert any("efrigerant" in each for each in step(tight, "leak test").cautions)
    assert any(each.kind is Kind.TEST for each in tight.steps)
