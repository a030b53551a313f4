"""What must never be done at a hazard is named when it is typed, and nothing proposes it again."""

import re

import pytest

from kb.services.lookup import show_job
from tests.cli.test_job import ok, run, type_at

LINE = "loosened the injector line at idle and bled it, cured"
PROOF = "felt along the pipe with the bare hand while running, jet at number 2"
DIESEL = "diesel hard start, rail pressure low"
CAR = ("--vehicle", "bramwick dray 2014", "--yes")
CLOSE = ("job", "close", "1", "injector: leaking", "--fix", LINE, "--cured", "--proved-by", PROOF)


def flat(text: str) -> str:
    return " ".join(text.split())


def unmarked(page: str) -> str:
    """Return what stands on a page without a mark close before it."""
    return re.sub(r"\[must never be done[^\]]*\](?:(?!\[must).){0,130}", "", page)


@pytest.fixture
def diesel(empty_store: str) -> str:
    ok(run(empty_store, "job", "open", DIESEL, *CAR))
    return empty_store


@pytest.mark.parametrize(
    "words", [("job", "add", "1", LINE), ("job", "add", "test", "1", f"{PROOF}: wet"), CLOSE]
)
def test_without_an_explicit_yes_it_is_named_and_not_stored(
    diesel: str, words: tuple[str, ...]
) -> None:
    before = show_job(diesel, 1).job
    refused = run(diesel, *words, "--yes")
    assert refused.exit_code == 1
    told = flat(refused.output)
    assert "goes through skin" in told
    assert "pressure let down as the maker says" in told
    assert show_job(diesel, 1).job == before


@pytest.mark.parametrize(("key", "stored"), [("y", 1), ("n", 0)])
def test_at_a_terminal_it_is_asked_whether_it_was_done(diesel: str, key: str, stored: int) -> None:
    shown = type_at(diesel, "job", "add", "1", LINE, keys=f"{key}\n").output
    assert "DANGER" in shown
    assert "Was that in fact done?" in shown
    assert len(show_job(diesel, 1).job.attempts) == stored


@pytest.mark.parametrize(
    "words",
    [("causes", DIESEL), ("similar", DIESEL), ("fixes", "injector"), ("job", "show", "1")],
)
def test_what_happened_is_stored_and_proposed_by_nothing(
    diesel: str, words: tuple[str, ...]
) -> None:
    ok(run(diesel, *CLOSE, "--yes", "--happened"))
    page = flat(ok(run(diesel, *words)))
    rest = unmarked(page.split("go first.", 1)[-1])
    assert "at idle" not in rest
    assert "bare hand" not in rest
    assert "cured 1 of 1" not in page
    kept = flat(ok(run(diesel, "job", "show", "1", "--verbatim")))
    assert "must not be repeated" in kept
    assert "bare hand" in kept


def test_a_known_load_is_kept_as_a_test(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "airbag lamp on, passenger pretensioner code", *CAR))
    line = "fitted the 2 ohm dummy load from the kit in place of the pretensioner, code gone"
    shown = flat(ok(run(empty_store, "job", "add", "1", line, "--yes")))
    assert "cures nothing" in shown
    job = show_job(empty_store, 1).job
    assert job.attempts == ()
    assert [(test.name, test.seen) for test in job.tests] == [("known load", line)]
    assert "[not shown" not in ok(run(empty_store, "job", "show", "1"))


def test_a_dangerous_reading_is_named_before_anything_else_is_asked(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "SRS lamp on, side airbag left resistance high", *CAR))
    ok(run(empty_store, "job", "add", "1", "dried the carpet out, no change", "--yes"))
    ok(run(empty_store, "job", "add", "1", "replaced seat connector, no change", "--yes"))
    line = "Seitenairbag mit 9V Block angetippt"
    shown = type_at(empty_store, "job", "add", "1", line, keys="n\n").output
    assert "DANGER" in shown
    assert "before or after" not in shown
    assert "Nothing was stored" in shown


def test_the_fix_that_a_question_is_asked_of_is_shown(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "airbag lamp on after seat moved", *CAR))
    ok(run(empty_store, "job", "add", "1", "replaced seat connector, no change", "--yes"))
    shown = type_at(empty_store, "job", "add", "1", "battery 12.5 V", keys="b\ny\n").output
    assert "before or after: replaced seat connector" in flat(shown)


@pytest.mark.parametrize(
    ("line", "left"),
    [
        (
            "pulled the orange connector off the inverter with the car in READY and probed the "
            "pins with a normal multimeter",
            "multimeter",
        ),
        (
            "pulled the HV plug without isolating and checked the cable with a multimeter, 0.2 ohm",
            "multimeter",
        ),
    ],
)
def test_no_half_of_a_forbidden_step_is_left_as_a_test(
    empty_store: str, line: str, left: str
) -> None:
    ok(run(empty_store, "job", "open", "runs hot, isolation warning", *CAR))
    ok(run(empty_store, "job", "add", "1", line, "--yes", "--happened"))
    assert show_job(empty_store, 1).job.tests
    for page in (("show", "1"), ("history", "1")):
        assert left not in unmarked(flat(ok(run(empty_store, "job", *page))))


def test_a_test_told_in_another_sentence_stands(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "runs hot", *CAR))
    line = "opened the expansion tank hot. pressure test: holds 1.2 bar"
    ok(run(empty_store, "job", "add", "1", line, "--yes", "--happened"))
    assert "pressure test: holds 1.2 bar" in flat(ok(run(empty_store, "job", "show", "1")))


@pytest.mark.parametrize("how", ["bridged w wire", "jumped", "linked out"])
def test_a_refusal_of_how_a_fix_is_told_names_the_danger_in_it(empty_store: str, how: str) -> None:
    ok(run(empty_store, "job", "open", "no drive, HV interlock open", *CAR))
    fix = f"HV interlock {how} to get it going, drives now"
    refused = run(empty_store, "job", "close", "1", "HV interlock open", "--fix", fix, "--yes")
    assert refused.exit_code == 1
    assert "kills at a touch" in flat(refused.output)
    assert "prove it dead" in flat(refused.output)
    assert show_job(empty_store, 1).job.closed is None
