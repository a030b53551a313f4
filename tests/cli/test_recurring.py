"""`kb recurring` at the terminal."""

import csv
import json
from io import StringIO
from types import SimpleNamespace
from typing import Any

from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb
from kb.recurrence.pattern import AlertLevel
from kb.reports.recurring import CAVEAT, COLUMNS, MOST_FACTS, NOTHING, foremost


def recurring(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "recurring", *words])


def test_the_page_tells_facts_with_their_jobs_and_the_caveat(demo_store: str) -> None:
    result = recurring(demo_store)
    assert result.exit_code == 0
    assert max(map(len, result.output.splitlines())) <= 80
    for words in (CAVEAT, "ACT", "Corvane Lido: seat connector", "other cars", "growing", "Monday"):
        assert words in result.output
    assert result.output.index("CAUTION") < result.output.index("Lido")


def test_what_is_to_be_acted_on_is_never_folded_behind_what_is_not(demo_store: str) -> None:
    page = recurring(demo_store).output
    told = [each["pattern"] for each in json.loads(recurring(demo_store, "--json").output)["facts"]]
    acts = [each for each in told if each["level"] == "act"]
    assert 0 < len(acts) <= MOST_FACTS < len(told)
    assert page.count("\nACT ") == len(acts)


@given(st.lists(st.sampled_from(AlertLevel), max_size=12), st.integers(0, 5))
def test_the_foremost_facts_stay_in_their_order(levels: list[AlertLevel], most: int) -> None:
    facts: Any = [SimpleNamespace(pattern=SimpleNamespace(level=each)) for each in levels]
    places = {id(each): place for place, each in enumerate(facts)}
    shown = [places[id(each)] for each in foremost(facts, most)]
    assert shown == sorted(shown)
    assert len(shown) == min(most, len(levels))
    acts = levels.count(AlertLevel.ACT)
    assert [levels[place] for place in shown].count(AlertLevel.ACT) == min(most, acts)


def test_detail_tells_every_job(demo_store: str) -> None:
    assert " more" in recurring(demo_store, "--since", "2025").output
    detail = " ".join(recurring(demo_store, "--since", "2025", "--detail").output.split())
    assert " and 5 more" not in detail
    assert " more: --detail" not in detail


def test_nothing_is_said_to_be_nothing(demo_store: str) -> None:
    page = " ".join(recurring(demo_store, "--system", "cooling").output.split())
    assert NOTHING in page


def test_json_and_csv_hold_the_same_facts(demo_store: str) -> None:
    answer = json.loads(recurring(demo_store, "--json").output)
    facts = [fact["pattern"] for fact in answer["facts"]]
    rows = list(csv.reader(StringIO(recurring(demo_store, "--csv").stdout_bytes.decode())))
    assert tuple(rows[0]) == COLUMNS
    for fact, row in zip(facts, rows[1:], strict=True):
        cells = dict(zip(COLUMNS, row, strict=True))
        assert cells["component"] == fact["component"]
        assert cells["observed"] == str(fact["counts"]["observed"])
        assert cells["trend"] == fact["change"]["trend"]
        assert cells["jobs"].split() == [str(number) for number in fact["jobs"]]


def test_an_empty_store_is_no_error(empty_store: str) -> None:
    result = recurring(empty_store)
    assert result.exit_code == 0
    assert "no closed job" in result.output
    assert json.loads(recurring(empty_store, "--json").output)["facts"] == []


def test_days_may_be_given(demo_store: str) -> None:
    late = recurring(demo_store, "--since", "2025", "--until", "2026-06-30")
    assert late.exit_code == 0
    assert "2026-07" not in late.output
    wrong = recurring(demo_store, "--since", "2025", "--until", "2024-01-01")
    assert wrong.exit_code != 0
    assert "lies before" in wrong.output


@settings(max_examples=25)
@given(st.text(max_size=20), st.text(max_size=12))
def test_whatever_is_typed_no_traceback(small_store: str, system: str, since: str) -> None:
    result = recurring(small_store, f"--system={system}", f"--since={since}")
    assert result.exception is None or isinstance(result.exception, SystemExit)
