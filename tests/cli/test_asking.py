"""`kb causes` and `kb similar` at the terminal: one screen, cautions first, never a traceback."""

import json

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb


def ask(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, *words])


COMPLAINTS = [
    "airbag lamp on after seat was moved, B1234-1B, LF pretensioner 5.8 ohm",
    "no crank, clicks once, battery 12.1 V",
    "misfire when cold P0301 P0300",
    "runs hot on motorway",
    "LR door lock dead after rain",
    "abs lamp C0031-29 lf wheel speed sensor",
    "ready lamp off, high voltage warning P0AA6",
    "knocking over speed bumps",
    "P0171 lean, long term trim +18 %",
    "everything is wrong with this car and the customer is cross",
]


@pytest.mark.parametrize("complaint", COMPLAINTS)
def test_the_first_screen_is_80_by_24(demo_store: str, complaint: str) -> None:
    result = ask(demo_store, "causes", complaint)
    assert result.exit_code == 0
    lines = result.output.splitlines()
    assert max(map(len, lines)) <= 80
    assert len(lines) <= 23, result.output  # one line is left for the prompt


@pytest.mark.parametrize("command", ["causes", "similar"])
def test_cautions_come_before_any_advice(demo_store: str, command: str) -> None:
    output = ask(demo_store, command, "airbag lamp on after seat was moved").output
    assert output.startswith("CAUTION")
    assert output.index("CAUTION") < output.index("seat connector")


def test_causes_tell_chance_jobs_fix_rate_and_the_rest(demo_store: str) -> None:
    output = ask(demo_store, "causes", "airbag lamp on after seat was moved").output
    for words in ("%", "like job", "fix: ", "cured", "fix rate", "not seen before", "--detail"):
        assert words in output


def test_detail_tells_every_fix_and_the_job_numbers(demo_store: str) -> None:
    brief = ask(demo_store, "causes", "airbag lamp on after seat was moved").output
    full = ask(demo_store, "causes", "airbag lamp on after seat was moved", "--detail").output
    assert full.count("fix: ") > brief.count("fix: ")
    assert "jobs: #" in full


def test_json_is_whole_and_sums_to_one(demo_store: str) -> None:
    answer = json.loads(ask(demo_store, "causes", "airbag lamp on", "--json").output)
    parts = ("not_seen_before", "not_seen_before_or_one_case", "one_case_together", "other_causes")
    told = [likely["chance"] for likely in answer["causes"]] + [answer[part] for part in parts]
    assert sum(each for each in told if each is not None) == pytest.approx(1.0)
    assert 0 < answer["other_causes"] < 1
    assert answer["cautions"]


def test_json_names_what_each_signal_said(demo_store: str) -> None:
    answer = json.loads(ask(demo_store, "similar", "no crank, clicks once", "--json").output)
    parts = answer["matches"][0]["parts"]
    assert parts
    assert all(set(part) == {"signal", "similarity", "added"} for part in parts)


def test_piped_output_has_no_colour_and_no_trailing_blanks(demo_store: str) -> None:
    output = ask(demo_store, "similar", "no crank").output
    assert "\x1b" not in output
    assert all(line == line.rstrip() for line in output.splitlines())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("causes",), "--code"),
        (("causes", "--code", "ZZZ"), "code: 'ZZZ'"),
        (("causes", "--reading", "nonsense"), "reading"),
        (("causes", "--job", "77"), "77"),
        (("similar", "--vehicle", "1G4AH59H45G11834O"), ""),
    ],
)
def test_errors_name_the_thing_and_the_cure(
    small_store: str, words: tuple[str, ...], told: str
) -> None:
    result = ask(small_store, *words)
    assert result.exit_code == 1
    assert result.output.startswith("Error: ")
    assert told in result.output
    assert len(result.output.strip().splitlines()) == 1


def test_a_missing_store_names_the_cure(tmp_path: object) -> None:
    result = ask(f"{tmp_path}/none.sqlite", "causes", "lamp")
    assert (result.exit_code, "kb init" in result.output) == (1, True)


def test_wrong_usage_exits_with_two(small_store: str) -> None:
    assert ask(small_store, "causes", "--nonsense").exit_code == 2
    assert ask(small_store, "nonsense").exit_code == 2
    both = CliRunner().invoke(kb, ["--demo", "--store", small_store, "causes", "x"])
    assert both.exit_code == 2


anything = st.text(max_size=40)


@settings(max_examples=60)
@given(
    command=st.sampled_from(["causes", "similar"]),
    text=anything,
    code=st.none() | anything,
    reading=st.none() | anything,
    vehicle=st.none() | anything,
    as_json=st.booleans(),
)
def test_nothing_typed_ends_in_a_traceback(
    small_store: str,
    command: str,
    text: str,
    code: str | None,
    reading: str | None,
    vehicle: str | None,
    as_json: bool,
) -> None:
    words = [command]
    for option, value in (("--code", code), ("--reading", reading), ("--vehicle", vehicle)):
        words += [] if value is None else [f"{option}={value}"]
    words += ["--json"] if as_json else []
    result = ask(small_store, *words, "--", text)
    assert result.exit_code in {0, 1}, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
