"""`kb recurring` against a count by a script that has nothing of the project."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.outside.test_recount import commands

SCRIPT = Path(__file__).with_name("recount_recurring.py")


@pytest.fixture(scope="module")
def exported(demo_store: str, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Any]]:
    """Return the demonstration shop's jobs, and what is told of two windows."""
    file = tmp_path_factory.mktemp("recount") / "exported.jsonl"
    store = ["--store", demo_store]
    _, whole, late = commands(
        [*store, "export", str(file)],
        [*store, "recurring", "--json"],
        [*store, "recurring", "--json", "--since", "2025"],
    )
    return file, [json.loads(whole), json.loads(late)]


def differences(file: Path, answer: Any, folder: Path) -> Any:
    told = folder / "told.json"
    told.write_text(json.dumps(answer), encoding="utf-8")
    command = [sys.executable, str(SCRIPT), str(file), str(told)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def test_every_number_is_counted_again(exported: Any, tmp_path: Path) -> None:
    file, (whole, _) = exported
    assert len(whole["facts"]) >= 3
    assert differences(file, whole, tmp_path) == []


def test_a_wrong_number_would_be_seen(exported: Any, tmp_path: Path) -> None:
    file, (whole, _) = exported
    wrong = json.loads(json.dumps(whole))
    wrong["facts"][0]["pattern"]["counts"]["others_observed"] += 1
    wrong["facts"][1]["pattern"]["chance"] *= 1.1
    wrong["facts"][2]["pattern"]["by_nature"] *= 1.1
    wrong["folded"] -= 1
    seen = {what for _, what, _, _ in differences(file, wrong, tmp_path)}
    assert seen == {"others_observed", "chance", "by nature", "folded"}


@pytest.mark.parametrize(("year", "beside"), [(2001, "older"), (2022, "newer")])
def test_what_cannot_be_compared_is_counted_again(tmp_path: Path, year: int, beside: str) -> None:
    """A model whose cars are all of another age than the rest, made up for this."""
    parts = ["thermostat", "wheel bearing", "door lock"]
    jobs = [made_up(n, "Lido", year, "sunroof drain" if n < 7 else parts[0]) for n in range(10)]
    jobs += [
        made_up(n, "Ostra", 2013 + n % 5, "sunroof drain" if n == 40 else parts[n % 3])
        for n in range(10, 60)
    ]
    file, store = tmp_path / "made.jsonl", ["--store", str(tmp_path / "made.sqlite")]
    file.write_text("\n".join(map(json.dumps, jobs)), encoding="utf-8")
    *_, told = commands(
        [*store, "init"], [*store, "import", str(file)], [*store, "recurring", "--json"]
    )
    answer = json.loads(told)
    assert [each["beside"] for each in answer["incomparable"]] == [beside]
    assert differences(file, answer, tmp_path) == []
    answer["incomparable"][0]["counts"]["others_observed"] += 1
    answer["incomparable"][0]["beside"] = "apart"
    seen = {what for _, what, _, _ in differences(file, answer, tmp_path)}
    assert seen == {"apart: others_observed", "apart: beside"}


def made_up(number: int, model: str, year: int, part: str) -> Any:
    day = f"2024-{1 + number % 12:02}-{1 + number % 28:02}"
    return {
        "number": number + 1,
        "vehicle": {"make": "Corvane", "model": model, "year": year, "ref": f"K{number}"},
        "opened": day,
        "closed": day,
        "complaint": "water inside",
        "system": "other",
        "cause": {"component": part, "failure_mode": "internal fault"},
    }


def test_a_window_of_ones_own_is_counted_within_it(exported: Any, tmp_path: Path) -> None:
    """Of jobs since a day alone: the script is given those."""
    file, (_, late) = exported
    recent = tmp_path / "recent.jsonl"
    lines = file.read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if json.loads(line)["opened"] >= "2025-01-01"]
    recent.write_text("\n".join(kept), encoding="utf-8")
    assert late["facts"]
    assert differences(recent, late, tmp_path) == []
