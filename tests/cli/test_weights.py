"""`kb weights`."""

import json
from pathlib import Path

from click.testing import CliRunner

from kb.cli.main import kb
from tests.store_copies import copied


def run(*args: str) -> tuple[int, str]:
    result = CliRunner().invoke(kb, args)
    return result.exit_code, result.output


def test_weights_are_shown_with_what_they_rest_on(demo_store: str) -> None:
    code, text = run("--store", demo_store, "weights")
    assert code == 0
    assert "The defaults are in force" in text
    assert all(signal in text for signal in ("complaint", "readings", "vehicle", "linear model"))
    assert max(map(len, text.splitlines())) <= 80
    code, text = run("--store", demo_store, "weights", "--json")
    told = json.loads(text)
    assert told["learnt"] is None
    assert told["in_force"] == told["defaults"]


def test_too_few_jobs_to_learn_from_are_told(tmp_path: Path) -> None:
    store = f"{tmp_path}/new.sqlite"
    assert run("--store", store, "init")[0] == 0
    code, text = run("--store", store, "weights", "--learn")
    assert code == 1
    assert "too few to learn from" in text


def test_closing_a_job_says_when_it_is_time_to_learn(demo_store: str, tmp_path: Path) -> None:
    demo_copy = copied(demo_store, tmp_path)
    opened = run("--store", demo_copy, "job", "open", "no crank, clicks once", "--yes")
    assert opened[0] == 0
    number = opened[1].rsplit(" ", 1)[1].strip()
    close = ("job", "close", number, "battery, worn", "--fix", "replaced battery", "--yes")
    code, text = run("--store", demo_copy, *close)
    assert code == 0
    assert "kb weights --learn learns from it" in text
