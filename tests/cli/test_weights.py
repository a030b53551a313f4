"""`kb weights`."""

import json
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.cli.main import App, kb
from tests.services.test_weights import QUICK, shop
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


def test_learning_that_is_broken_off_leaves_what_is_in_force(
    demo_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken_off(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("kb.services.learn.is_better", broken_off)
    store = copied(demo_store, tmp_path)
    code, text = run("--store", store, "weights", "--learn")
    assert code == 0
    assert "Broken off: nothing was learnt" in text
    assert "The defaults are in force" in text


@pytest.fixture
def open_job(demo_store: str, tmp_path: Path) -> tuple[str, tuple[str, ...]]:
    """A store old enough to learn from, and the command that closes a job in it."""
    return with_open_job(copied(demo_store, tmp_path))


def with_open_job(store: str) -> tuple[str, tuple[str, ...]]:
    code, text = run("--store", store, "job", "open", "no crank, clicks once", "--yes")
    assert code == 0
    number = text.rsplit(" ", 1)[1].strip()
    closing = ("job", "close", number, "battery, worn", "--fix", "replaced battery", "--yes")
    return store, ("--store", store, *closing)


def test_closing_a_job_says_when_it_is_time_to_learn(
    open_job: tuple[str, tuple[str, ...]],
) -> None:
    code, text = run(*open_job[1])
    assert code == 0
    assert "kb weights --learn learns from it" in text


def test_closing_a_job_learns_if_wanted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kb.cli.main.App", partial(App, settings=QUICK))
    store, closing = with_open_job(shop(tmp_path, 70))
    code, text = run(*closing, "--learn")
    assert code == 0
    assert "Learnt on" in text
    code, text = run("--store", store, "weights", "--json")
    assert json.loads(text)["learnt"]["cases"] == json.loads(text)["cases"] == 71


@pytest.mark.parametrize("answer", ["n\n", ""])
def test_who_is_at_the_terminal_is_asked_and_need_not(
    open_job: tuple[str, tuple[str, ...]], monkeypatch: pytest.MonkeyPatch, answer: str
) -> None:
    monkeypatch.setattr("kb.cli.learning.at_terminal", lambda: True)
    asking = tuple(word for word in open_job[1] if word != "--yes")
    result = CliRunner().invoke(kb, asking, input=answer)
    assert result.exit_code == 0
    assert "Learn the weights from them now" in result.output
    assert ("Left as it was" in result.output) == (not answer)
    assert json.loads(run("--store", open_job[0], "weights", "--json")[1])["learnt"] is None


def test_who_wants_no_questions_is_asked_none(
    open_job: tuple[str, tuple[str, ...]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("kb.cli.learning.at_terminal", lambda: True)
    code, text = run(*open_job[1])
    assert code == 0
    assert "Learn the weights from them now" not in text
    assert "kb weights --learn learns from it" in text


def test_learning_can_be_broken_off(
    open_job: tuple[str, tuple[str, ...]], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken_off(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("kb.services.learn.learn_weights", broken_off)
    code, text = run(*open_job[1], "--learn")
    assert code == 0
    assert "Left as it was" in text
