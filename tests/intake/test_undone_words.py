"""Work that was not done, or not here, or not yet. Common practice, no source."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.findings import find_findings

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    "line",
    [
        "needs a rack",
        "customer declined new rack",
        "new rack quoted 640",
        "had new plugs 2 months ago at other garage",
        "pump ordered",
        "will replace the lock tomorrow",
        "should have replaced the relay",
        "if the new pump does not do it then ecu",
        "mate fitted a battery last week, no better",
        "no fault found",
        "the previous owner fitted a bulb",
        "noise since somebody replaced the pump",
        "sold the car in August, new owner unknown",
        "new driver now",
        "new noise from the left",
        "new appointment made",
        "neuer Besitzer unbekannt",
        "nouveau propriétaire inconnu",
        "gas shock left in",
        "bulb left out",
    ],
)
def test_plans_and_what_others_did_are_no_attempts(line: str) -> None:
    found = find_findings(line, TODAY)
    assert (found.attempts, found.later) == ((), None)


@pytest.mark.parametrize("line", ["needs software update", "oil change due", "no reset"])
def test_work_only_spoken_of_is_no_fix(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


@given(
    st.sampled_from(["Kabel {} getauscht", "câble {} remplacé", "kabel {} wymieniony"]),
    st.sampled_from(["noch nicht", "pas encore", "jeszcze nie", "not yet", "still not"]),
)
def test_what_is_not_yet_done_is_no_fix(form: str, denied: str) -> None:
    assert find_findings(form.format(denied), TODAY).attempts == ()


@pytest.mark.parametrize(
    "line",
    [
        *("cable still to be replaced", "pump yet to be replaced", "new cable not fitted yet"),
        *("new cable still to be fitted", "Kabel neu bestellt", "Kabel muss getauscht werden"),
    ],
)
def test_work_still_to_be_done_is_no_fix(line: str) -> None:
    assert find_findings(line, TODAY).attempts == ()


@pytest.mark.parametrize(
    "line",
    ["Kabel getauscht, nicht besser", "câble remplacé mais pas mieux", "new cable not fixed"],
)
def test_a_denial_behind_a_fix_is_its_outcome(line: str) -> None:
    assert [each.cured for each in find_findings(line, TODAY).attempts] == [False]


@pytest.mark.parametrize(
    "line",
    [
        *("new battery, not fitted yet", "new coil here, will fit tomorrow", "new mount arrived"),
        *("new battery bought, not on the car yet", "new stat, still to be fitted"),
        *("neue Batterie da", "new ecu, yet to be installed", "new hose, still in the box"),
    ],
)
def test_a_part_that_is_there_and_not_on_the_car_is_no_fix(line: str) -> None:
    found = find_findings(line, date(2026, 3, 2))
    kept = ", ".join(str(each.fact) for each in found.account.kept)
    assert (found.attempts, kept) == ((), line)


@pytest.mark.parametrize(
    "line",
    ["new coil here, fitted, runs well", "new stat delivered. fitted it, cured", "new coil, cured"],
)
def test_a_new_part_that_came_and_was_fitted_is_a_fix(line: str) -> None:
    assert [each.cured for each in find_findings(line, date(2026, 3, 2)).attempts] == [True]


def test_a_new_part_told_only_as_when_a_value_was_measured_is_asked_about() -> None:
    found = find_findings("co 3.5 % before, 0.4 after new lambda", date(2026, 3, 2))
    assert [doubt.text for doubt in found.doubts] == ["new lambda"]
    line = "new hose, boost 1.1 bar with new hose"
    assert not find_findings(line, date(2026, 3, 2)).doubts


@pytest.mark.parametrize(
    "plan", ["next try arm bush", "then check the coil", "next need a new rack", "next change coil"]
)
def test_what_is_to_be_tried_next_is_no_fix(plan: str) -> None:
    found = find_findings(f"replaced NSF droplink, still knocks. {plan}", date(2026, 3, 2))
    assert [attempt.component for attempt in found.attempts] == ["droplink"]


@pytest.mark.parametrize("part", ["orig", "original", "the old one"])
def test_the_old_part_put_back_is_no_fix(part: str) -> None:
    found = find_findings(f"swapped ecu, same. refitted {part}.", date(2026, 3, 2))
    assert [attempt.component for attempt in found.attempts] == ["ecu"]
