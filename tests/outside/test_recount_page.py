"""The foreman's page against a count by a script that has nothing of the project."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.outside.test_recount import commands

SCRIPT = Path(__file__).with_name("recount_page.py")
SINCE = "2026-08-01"


@pytest.fixture(scope="module")
def told(demo_store: str, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any, Any]:
    """Return the demonstration shop's jobs, its page, and past jobs asked again."""
    file = tmp_path_factory.mktemp("recount") / "exported.jsonl"
    store = ["--store", demo_store]
    _, report, evaluation = commands(
        [*store, "export", str(file)],
        [*store, "report", "--json"],
        [*store, "evaluate", "--no-baselines", "--since", SINCE, "--json"],
    )
    return file, json.loads(report), json.loads(evaluation)


def differences(folder: Path, file: Path, *told: Any) -> list[tuple[str, Any, Any]]:
    paths = [folder / "report.json", folder / "evaluation.json"]
    for path, each in zip(paths, told, strict=True):
        path.write_text(json.dumps(each), encoding="utf-8")
    command = [sys.executable, str(SCRIPT), str(file), *map(str, paths), SINCE]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    found: list[tuple[str, Any, Any]] = json.loads(done.stdout)
    return found


def test_health_bands_and_chances_are_counted_again(told: Any, tmp_path: Path) -> None:
    file, report, evaluation = told
    assert report["health"]["cases"] > 900
    assert len(report["readings"]) > 3
    assert len(evaluation["asked"]) > 30
    assert differences(tmp_path, file, report, evaluation) == []


def test_wrong_numbers_would_be_seen(told: Any, tmp_path: Path) -> None:
    file, *right = told
    report, evaluation = json.loads(json.dumps(right))
    report["health"]["unheard"] += 1
    report["readings"][0]["band"]["low"] *= 1.001
    report["readings"][1]["bad"].pop()
    evaluation["whole"]["ways"][0]["figures"]["calibration"][0]["came_true"] += 1
    evaluation["whole"]["new"] += 1
    seen = {what.split(": ")[-1] for what, *_ in differences(tmp_path, file, report, evaluation)}
    assert seen >= {"unheard", "low", "bad", "came true", "new"}
