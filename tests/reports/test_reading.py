"""The page of a judged reading."""

from io import StringIO

import pytest
from rich.console import Console

from kb.bands.judgement import Verdict, judge
from kb.bands.limits import trade_limits
from kb.case import Reading
from kb.intake.readings import parse_reading
from kb.reports.reading import render
from kb.services.judge import ReadingAnswer
from tests.bands.circuits import LIDO, READINGS, WORDS, good, reading


def page(value: float | None, *beside: float, past: int = 8, detail: bool = False) -> str:
    asked = reading(value, "left front")
    verdict = judge(
        asked,
        LIDO,
        good()[:past],
        WORDS,
        READINGS,
        same_car=[reading(each, "right front") for each in beside],
        limits=trade_limits(),
    )
    return shown(asked, verdict, detail=detail)


def shown(asked: Reading, verdict: Verdict, *, detail: bool = False) -> str:
    answer = ReadingAnswer(
        cautions=("Mind the igniter.",),
        notices=("as typed",),
        asked=asked,
        vehicle=LIDO,
        verdict=verdict,
        twin_job=None,
        content=0.95,
        confidence=0.9,
    )
    console = Console(file=StringIO(), width=80, markup=False, highlight=False)
    console.print(render(answer, detail=detail))
    assert isinstance(console.file, StringIO)
    return " ".join(console.file.getvalue().split())


def test_the_caution_comes_first_and_the_limit_last() -> None:
    text = page(6.1)
    assert text.startswith("CAUTION Mind the igniter.")
    assert "not this shop's experience: a fault below 0.5 Ω or above 6 Ω" in text
    assert text.index("BAD, TOO HIGH") < text.index("Limit of the trade")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (2.2, "GOOD: inside the normal band (this model)"),
        (6.1, "BAD, TOO HIGH: far outside the normal band (this model)"),
        (None, "OPEN: beyond the instrument"),
        (2.75, "DOUBTFUL: just outside the normal band (this model)"),
    ],
)
def test_the_verdict_comes_with_its_reason(value: float | None, words: str) -> None:
    assert words in page(value)


def test_every_level_is_told_with_its_count_and_jobs() -> None:
    text = page(2.2)
    for level in ("this model", "this make"):
        assert level in text
    assert "of 8 good readings" in text
    assert "#100 #101 #102 and 5 more" in text
    assert "#107" in page(2.2, detail=True)


def test_too_few_are_told() -> None:
    text = page(2.2, past=2)
    assert "2 good readings, too few to speak" in text
    assert "no good reading" in page(2.2, past=0)


def test_the_twin_is_told_and_whether_it_proves_anything() -> None:
    assert "other side, right front, reads 2.2 ohm" in page(2.3, 2.2)
    assert "which is itself out of order and proves nothing" in page(2.3, 7.5)


def test_a_placeholder_is_explained() -> None:
    text = page(12.7, 12.7)
    assert "PLACEHOLDER: 12.7 Ω stands on 2 circuits of 1 car" in text
    assert "It is no measurement" in text


def test_past_readings_are_grouped() -> None:
    assert "a good item #100" in page(2.2)
    assert "No past reading of it near this value." in page(40.0)


def test_what_would_have_to_be_told_is_asked_for() -> None:
    asked = parse_reading("fuel pressure 50 psi")
    verdict = judge(asked, LIDO, (), WORDS, READINGS, limits=trade_limits())
    assert "CANNOT TELL" in shown(asked, verdict)
    assert "say if petrol, and if running or cranking" in shown(asked, verdict)


def test_a_figure_is_told_in_the_unit_that_was_typed() -> None:
    asked = parse_reading("compression 170 psi petrol")
    verdict = judge(asked, LIDO, (), WORDS, READINGS, limits=trade_limits())
    assert "good 145 psi to 232 psi" in shown(asked, verdict)
