"""The job in progress: asking, confirming, recording, and what nobody may skip."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from kb.case import DiagnosticTest, Precondition, System
from kb.errors import Conflict, InvalidField, Locked, NoSuchJob, Notice
from kb.safety.cautions import cautions_for
from kb.services.closing import Closing, close_job
from kb.services.record import Opening, add_line, keep, open_job
from kb.services.troubleshoot import Done, confirm, done, set_circuit, working_job
from kb.settings import Settings
from kb.troubleshooting.decision import Kind

SETTINGS = Settings()
TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
CIRCUIT = "airbag control unit, harness, seat connector*, pretensioner"


@pytest.fixture
def lamp(small_store: str) -> tuple[str, int]:
    """A store with an open job on an airbag lamp, and its number."""
    told = Opening(text="airbag lamp on since seat was moved, B1234", system="restraints")
    kept = keep(small_store, open_job(small_store, told, who="BT", today=TODAY))
    assert kept.job.number is not None
    return small_store, kept.job.number


def record(address: str, number: int, step: str, saw: str, **told: object) -> None:
    made = Done(step=step, saw=saw, **told)  # type: ignore[arg-type]
    keep(address, done(address, number, made, SETTINGS))


def unlock(address: str, number: int, step: str) -> None:
    keep(address, confirm(address, number, step, SETTINGS, by="BT", now=NOW))


def test_an_open_job_has_suspects_steps_and_cautions(lamp: tuple[str, int]) -> None:
    found = working_job(*lamp, SETTINGS)
    assert found.advice.suspects[0].cause.component == "seat connector"
    assert set(found.advice.suspects[0].jobs) == {1, 2}
    assert len(found.advice.steps) == 3
    assert found.cautions == cautions_for([System.RESTRAINTS])
    assert Notice.FEW_JOBS in found.notices
    assert found.cases == 6


def test_a_result_is_recorded_under_its_step_and_moves_the_chances(lamp: tuple[str, int]) -> None:
    address, number = lamp
    before = working_job(address, number, SETTINGS).advice.suspects[0].chance
    record(address, number, "wiggle", "jumps at seat", words="3 to 6 ohm", minutes=8)
    found = working_job(address, number, SETTINGS)
    assert found.job.tests == (
        DiagnosticTest(
            name="wiggle test with live reading",
            seen="the reading jumps at seat connector; 3 to 6 ohm",
            minutes=8,
            points_to=("seat connector",),
        ),
    )
    assert found.advice.suspects[0].chance > before


def test_a_step_is_meant_by_its_place_too(lamp: tuple[str, int]) -> None:
    address, number = lamp
    steps = working_job(address, number, SETTINGS).advice.steps
    place = next(n for n, step in enumerate(steps, 1) if not step.locks)
    record(address, number, str(place), "a")
    assert working_job(address, number, SETTINGS).job.tests[0].name == steps[place - 1].title


def test_a_locked_step_is_not_recorded_before_it_is_confirmed(lamp: tuple[str, int]) -> None:
    address, number = lamp
    with pytest.raises(Locked, match="battery disconnected, waited as long as the manufacturer"):
        record(address, number, "drag", "a")
    unlock(address, number, "drag")
    (told,) = working_job(address, number, SETTINGS).job.confirmations
    assert (told.what, told.by, told.at) == (Precondition.SUPPLY_OFF, "BT", NOW)
    record(address, number, "drag", "a")
    with pytest.raises(InvalidField, match="no step that is left"):
        record(address, number, "drag", "a")


def test_who_confirms_gives_initials_and_only_where_there_is_a_lock(
    lamp: tuple[str, int],
) -> None:
    address, number = lamp
    for nobody in (None, "", "  "):
        with pytest.raises(InvalidField, match="--who"):
            confirm(address, number, "drag", SETTINGS, by=nobody, now=NOW)
    with pytest.raises(InvalidField, match="is not locked"):
        confirm(address, number, "visual", SETTINGS, by="BT", now=NOW)


@pytest.mark.parametrize(
    ("step", "saw", "message"),
    [
        ("9", "a", "is none of the 3 proposed"),
        ("0", "a", "is none of the 3 proposed"),
        ("9" * 40, "a", "is none of the 3 proposed"),
        ("hammer", "a", "no step that is left"),
        ("", "a", "no step that is left"),
        ("e", "a", "fits several steps"),
        ("visual", "z", "must be one of: a"),
        ("visual", "", "must be one of: a"),
    ],
)
def test_what_is_no_step_or_outcome_is_told(
    lamp: tuple[str, int], step: str, saw: str, message: str
) -> None:
    with pytest.raises(InvalidField, match=message):
        record(*lamp, step, saw)


def test_a_fix_that_was_tried_is_an_attempt(lamp: tuple[str, int]) -> None:
    address, number = lamp
    unlock(address, number, "repaired seat connector")
    record(address, number, "repaired seat connector", "not cured", minutes=30)
    found = working_job(address, number, SETTINGS)
    (attempt,) = found.job.attempts
    assert (attempt.label, attempt.cured, attempt.minutes) == ("repaired seat connector", False, 30)
    assert found.advice.suspects[0].chance < 0.6
    unlock(address, number, "repaired seat connector")
    record(address, number, "repaired seat connector", "cured")
    assert working_job(address, number, SETTINGS).job.attempts[-1].cured is True


def test_somebody_else_takes_the_job_up_with_everything(lamp: tuple[str, int]) -> None:
    address, number = lamp
    keep(address, set_circuit(address, number, CIRCUIT), who="MK")
    record(address, number, "visual", "nothing")
    found = working_job(address, number, SETTINGS)
    assert [link.name for link in found.advice.circuit] == [
        "airbag control unit",
        "harness",
        "seat connector",
        "pretensioner",
    ]
    assert found.job.technician == "BT"
    assert len(found.job.tests) == 1


def test_the_ranking_hears_no_test_twice(lamp: tuple[str, int]) -> None:
    # chances before any test are those of the complaint alone, whatever was recorded since
    address, number = lamp
    before = {s.cause.key: s.before for s in working_job(address, number, SETTINGS).advice.suspects}
    record(address, number, "wiggle", "steady")
    after = {s.cause.key: s.before for s in working_job(address, number, SETTINGS).advice.suspects}
    assert after == pytest.approx(before)


def test_continuity_through_shorting_bars_is_told_to_prove_nothing(lamp: tuple[str, int]) -> None:
    address, number = lamp
    keep(address, set_circuit(address, number, CIRCUIT))
    for line in ("continuity test through open seat plug: beeps", "open seat plug 0.3 ohm"):
        draft = add_line(address, number, line, today=TODAY)
        assert any("proves nothing" in notice for notice in draft.notices)
    kept = keep(address, add_line(address, number, "continuity test of plug: ok", today=TODAY))
    assert kept.job.tests
    found = working_job(address, number, SETTINGS)
    assert any("shorting bars" in notice for notice in found.notices)


def test_a_closed_or_missing_job_has_no_next_step(lamp: tuple[str, int]) -> None:
    address, number = lamp
    with pytest.raises(NoSuchJob):
        working_job(address, 99, SETTINGS)
    closing = Closing(cause="worn seat connector", closed=TODAY + timedelta(days=1))
    keep(address, close_job(address, number, closing, Settings(), today=TODAY))
    with pytest.raises(Conflict, match="was closed"):
        working_job(address, number, SETTINGS)


def test_an_empty_store_says_so_and_a_told_circuit_still_helps(empty_store: str) -> None:
    keep(empty_store, open_job(empty_store, Opening(text="lock dead"), today=TODAY))
    found = working_job(empty_store, 1, SETTINGS)
    assert Notice.EMPTY_STORE in found.notices
    assert found.advice.steps == ()
    keep(empty_store, set_circuit(empty_store, 1, "door module, loom, lock plug, door lock"))
    steps = working_job(empty_store, 1, SETTINGS).advice.steps
    assert any(step.kind is Kind.TEST for step in steps)


def test_closing_names_what_lasts_and_what_is_not_shown(lamp: tuple[str, int]) -> None:
    address, number = lamp
    closing = Closing(
        cause="seat connector under seat, high resistance",
        fix="cleaned seat connector",
        reproduced=False,
        closed=TODAY,
    )
    draft = close_job(address, number, closing, Settings(), today=TODAY)
    said = " ".join(draft.notices)
    assert "new ones are the lasting way" in said
    assert "self-test passed, code cleared and not returned, terminals checked" in said
    assert "never reproduced" in said
    assert keep(address, draft).job.reproduced is False
    lasting = replace(closing, fix="replaced seat connector")
    keep(address, open_job(address, Opening(text="lamp on, B1234"), today=TODAY))
    assert "lasting" not in " ".join(
        close_job(address, 8, lasting, Settings(), today=TODAY).notices
    )
