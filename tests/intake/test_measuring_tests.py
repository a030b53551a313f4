"""Tests that measure: what they read are readings, too."""

from datetime import date

import pytest

from kb.intake.findings import find_findings

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            "leak-off test: injector 3 returns 90 ml, others 20 ml",
            [("cylinder 3", "90 ml"), ("others", "20 ml")],
        ),
        (
            "compression test: cylinder 2 4 bar, others 12 bar",
            [("cylinder 2", "4 bar"), ("others", "12 bar")],
        ),
        ("voltage drop test: earth strap 2.8 V cranking", [(None, "2.8 V")]),
        ("charging test: 14.2 V at idle", [(None, "14.2 V")]),
        ("wiggle test: motor feed drops to 4.1 V", []),
        ("load test: 9.1 V", []),
        ("battery test: passed, 640 CCA", []),
    ],
)
def test_what_a_test_measured_is_a_reading(line: str, told: list[tuple[str | None, str]]) -> None:
    found = find_findings(line, TODAY)
    assert [(each.position, each.typed) for each in found.readings] == told
    assert [f"{each.name}: {each.seen}" for each in found.tests] == [line]
    assert found.doubts == ()
    assert found.rest == ""
