"""In a real terminal of 80 by 24: the caution and the first suspect on one screen, JSON masked."""

import re
from pathlib import Path

import pytest

from tests.cli.terminal import COLUMNS, ROWS, Terminal
from tests.cli.test_job import ok, run
from tests.store_copies import copied

FIRES = "Airbags and pretensioners can fire"
OPEN = "1387"
"""An open job of the demonstration shop on a pretensioner."""
SUSPECT = re.compile(r"^ *(?:[0-9<>]+%|–) +seat connector", re.MULTILINE)


ASKED = "q: leave: "
"""The end of the question at which `kb job work` waits."""


def _rows(page: str) -> int:
    """Rows of the terminal that a page fills; a line that is longer than they are fills more."""
    return sum(max(1, -(-len(line.rstrip()) // COLUMNS)) for line in page.splitlines())


def _last_page(shown: str) -> str:
    return shown[shown.rindex("CAUTION") :]


def _is_in_sight(page: str) -> bool:
    page = page[page.index("CAUTION") :]
    return _rows(page) <= ROWS and FIRES in page.splitlines()[0] and bool(SUSPECT.search(page))


def test_next_test_shows_caution_and_first_suspect_on_its_first_screen(
    demo_store: str, tmp_path: Path
) -> None:
    with Terminal("next-test", OPEN, store=copied(demo_store, tmp_path)) as screen:
        page = screen.expect("q leaves")
        screen.press("q")
    assert _is_in_sight(page), page


@pytest.mark.parametrize(
    ("complaint", "danger", "suspect"),
    [
        (
            "airbag lamp on since the seat was moved, RF pretensioner 6.1 ohm",
            FIRES,
            "seat connector",
        ),
        (
            "hybrid system warning, no ready, isolation fault",
            "High voltage can kill",
            "high voltage battery",
        ),
        ("petrol smell, fuel leak under car", "Fuel burns", "fuel pump"),
    ],
    ids=["restraint", "hybrid", "fuel"],
)
def test_causes_shows_caution_and_first_suspect_on_one_screen(
    demo_store: str, tmp_path: Path, complaint: str, danger: str, suspect: str
) -> None:
    """The whole page, to its last word, is no longer than the screen."""
    with Terminal("causes", complaint, store=copied(demo_store, tmp_path)) as screen:
        page = screen.expect("Likely causes", "--detail")
    assert screen.code == 0
    assert _rows(page) < ROWS, page  # the shell's prompt takes the last row
    assert page.splitlines()[0].startswith(f"CAUTION  {danger}"), page
    first = page[page.index("Likely causes") :].splitlines()[1]
    assert re.match(rf" *[0-9<>]+% +{suspect}", first), page


def test_the_conversation_keeps_caution_first_suspect_and_first_step_on_one_screen(
    demo_store: str, tmp_path: Path
) -> None:
    """So it stands at the first question, at that of a lock, and at the first one once more."""
    with Terminal("job", "work", OPEN, store=copied(demo_store, tmp_path)) as screen:
        first = screen.expect(ASKED)
        locked = next(
            line[0] for line in first.splitlines() if line[:1].isdigit() and "LOCKED" in line
        )
        screen.answer(locked)
        lock = screen.expect("[y/N]")
        screen.answer("n")
        again = screen.expect(ASKED)
        screen.answer("q")
    assert screen.code == 0
    for page in (first, _last_page(again)):
        assert _is_in_sight(page), page
        assert re.search(r"^1 +\S", page, re.MULTILINE), page
    assert FIRES in _last_page(lock).splitlines()[0]
    assert _rows(_last_page(lock)) <= ROWS


@pytest.mark.parametrize("number", ["1386", "1393", "1394", "2648"])
def test_the_first_question_stands_on_the_first_screen(
    demo_store: str, tmp_path: Path, number: str
) -> None:
    """Whatever the job: under the cautions, the first suspect and the first step."""
    with Terminal("job", "work", number, store=copied(demo_store, tmp_path)) as screen:
        page = screen.expect(ASKED)
        screen.answer("q")
    page = page[page.index("CAUTION") :]
    assert "q leaves" not in page
    assert _rows(page) <= ROWS, page
    assert re.search(r"^ *(?:[0-9<>]+%|–) +\w", page, re.MULTILINE), page
    assert re.search(r"^1 +\S", page, re.MULTILINE), page


def test_json_on_a_screen_is_masked_as_the_page_is(demo_store: str, tmp_path: Path) -> None:
    step, store = "put test lamp across airbag squib", copied(demo_store, tmp_path)
    ok(run(store, "job", "add", "test", OPEN, f"{step}: lit", "--yes", "--happened"))
    with Terminal("job", "show", OPEN, "--json", store=store) as screen:
        screen.expect('"confirmations"')
    assert step not in screen.shown
    assert "not shown" in screen.shown
    assert step in ok(run(store, "job", "show", OPEN, "--json"))


@pytest.mark.parametrize("complaint", ["horn switch dead", "steering wheel heater cold"])
def test_an_airbag_in_the_wheel_is_cautioned_first(demo_store: str, complaint: str) -> None:
    assert FIRES in ok(run(demo_store, "causes", complaint)).splitlines()[0]
