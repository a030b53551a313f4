"""In a real terminal of 80 by 24: the caution and the first suspect on one screen, JSON masked."""

import re
from pathlib import Path

import pytest

from tests.cli.terminal import ROWS, Terminal
from tests.cli.test_job import ok, run
from tests.store_copies import copied

FIRES = "Airbags and pretensioners can fire"
OPEN = "1387"
"""An open job of the demonstration shop on a pretensioner."""
SUSPECT = re.compile(r"^ *(?:[0-9<>]+%|–) +seat connector", re.MULTILINE)


def _is_in_sight(page: str) -> bool:
    lines = page[page.index("CAUTION") :].splitlines()
    return len(lines) <= ROWS and FIRES in lines[0] and bool(SUSPECT.search(page))


def test_next_test_shows_caution_and_first_suspect_on_its_first_screen(
    demo_store: str, tmp_path: Path
) -> None:
    with Terminal("next-test", OPEN, store=copied(demo_store, tmp_path)) as screen:
        page = screen.expect("q leaves")
        screen.press("q")
    assert _is_in_sight(page), page


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
