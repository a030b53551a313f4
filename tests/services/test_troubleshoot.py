"""The job in progress: asking, confirming, recording, and what nobody may skip."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from kb.case import Action, Attempt, DiagnosticTest, Precondition, SaidAt, System
from kb.errors import Conflict, InvalidField, Locked, NoSuchJob, Notice
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, cautions_of
from kb.services.adding import add_line
from kb.services.closing import Closing, close_job
from kb.services.editing import edit_job
from kb.services.inquiry import Question, inquire
from kb.services.keeping import keep
from kb.services.knowledge import shop_knowledge
from kb.services.new_job import Opening, open_job
from kb.services.similar import similar
from kb.services.troubleshoot import Done, WorkingJob, confirm, done, set_circuit, working_job
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from kb.troubleshooting.decision import Kind
from tests.recall.shop import CASES
from tests.store_copies import copied

RESTRAINTS = cautions_of(Situation(systems=(System.RESTRAINTS,)), Wording.default())

SETTINGS = Settings()
TODAY = date(2026, 3, 2)
CIRCUIT = "airbag control unit, harness, seat connector*, pretensioner"


@pytest.fixture
def lamp(small_store: str) -> tuple[str, int]:
    """A store with an open job on an airbag lamp, and its number."""
    told = Opening(text="airbag lamp on since seat was moved, B1234", system="restraints")
    kept = keep(small_store, open_job(small_store, told, who="BT", today=TODAY))
    assert kept.job.number is not None
    return small_store, kept.job.number


def now() -> datetime:
    return datetime.now().astimezone()


def look(address: str, number: int, who: str | None = "BT") -> WorkingJob:
    return working_job(address, number, SETTINGS, who=who, now=now())


def record(address: str, number: int, step: str, saw: str, **told: object) -> None:
    made = Done(step=step, saw=saw, **told)  # type: ignore[arg-type]
    keep(address, done(address, number, made, SETTINGS, who="BT", now=now()), who="BT")


def unlock(address: str, number: int, step: str) -> None:
    keep(address, confirm(address, number, step, SETTINGS, by="BT", now=now()), who="BT")


def test_an_open_job_has_suspects_steps_and_cautions(lamp: tuple[str, int]) -> None:
    found = look(*lamp)
    assert found.advice.suspects[0].cause.component == "seat connector"
    assert set(found.advice.suspects[0].jobs) == {1, 2}
    assert len(found.advice.steps) == 3
    assert found.cautions == RESTRAINTS
    assert Notice.FEW_JOBS in found.notices
    assert found.cases == 6


@pytest.mark.parametrize(
    ("name", "quoted"),
    [
        ("harness alone measured, bag off and unit off, seat connector open", True),
        ("multimeter on the open squib plug", False),
    ],
)
def test_a_note_on_a_worthless_test_quotes_what_may_be_shown_alone(
    lamp: tuple[str, int], name: str, quoted: bool
) -> None:
    address, number = lamp
    made = DiagnosticTest(name=name, seen="0.3 ohm")
    with UnitOfWork(open_store(address)) as work:
        work.jobs.replace(replace(work.jobs.get(number), tests=(made,)))
        work.commit()
    notes = [each for each in look(address, number).notices if "proves nothing" in each]
    assert notes
    assert any(name in each for each in notes) is quoted


def test_fixes_of_a_fault_that_was_never_seen_to_occur_promise_nothing(
    lamp: tuple[str, int], tmp_path: Path
) -> None:
    address, number = lamp
    other = copied(address, tmp_path)
    seat = replace(CASES[0], number=None, reproduced=False)
    tried = Attempt(action=Action.REPLACED, component="seat connector", cured=False, minutes=9)
    for shop, attempts in ((address, ()), (other, (tried,))):
        with UnitOfWork(open_store(shop)) as work:
            for _ in range(8):
                work.jobs.add(replace(seat, attempts=attempts))
            work.commit()
    without, with_them = look(address, number).advice, look(other, number).advice
    assert any(each.kind is Kind.REPAIR for each in without.steps)
    assert with_them == without


def test_a_result_is_recorded_under_its_step_and_moves_the_chances(lamp: tuple[str, int]) -> None:
    address, number = lamp
    before = look(address, number).advice.suspects[0].chance
    record(address, number, "wiggle", "jumps at seat", words="3 to 6 ohm", minutes=8)
    found = look(address, number)
    assert found.job.tests == (
        DiagnosticTest(
            name="wiggle test with live reading",
            seen="the reading jumps at seat connector; 3 to 6 ohm",
            minutes=8,
            points_to=("seat connector",),
            said=SaidAt(entry=1, start=0, end=len("3 to 6 ohm")),
        ),
    )
    assert [each.text for each in found.job.entries][1:] == ["3 to 6 ohm"]
    assert found.advice.suspects[0].chance > before


def test_a_step_is_meant_by_its_place_too(lamp: tuple[str, int]) -> None:
    address, number = lamp
    steps = look(address, number).advice.steps
    place = next(n for n, step in enumerate(steps, 1) if not step.locks)
    record(address, number, str(place), "a")
    assert look(address, number).job.tests[0].name == steps[place - 1].title


def test_a_locked_step_is_not_recorded_before_it_is_confirmed(lamp: tuple[str, int]) -> None:
    address, number = lamp
    with pytest.raises(Locked, match="battery disconnected, waited as long as the manufacturer"):
        record(address, number, "drag", "a")
    unlock(address, number, "drag")
    (told,) = look(address, number).job.confirmations
    assert (told.what, told.by) == (Precondition.SUPPLY_OFF, "BT")
    record(address, number, "drag", "a")
    with pytest.raises(InvalidField, match="no step that is left"):
        record(address, number, "drag", "a")


def test_who_confirms_gives_initials_and_only_where_there_is_a_lock(
    lamp: tuple[str, int],
) -> None:
    address, number = lamp
    for nobody in (None, "", "  "):
        with pytest.raises(InvalidField, match="--who"):
            confirm(address, number, "drag", SETTINGS, by=nobody, now=now())
    with pytest.raises(InvalidField, match="is not locked"):
        confirm(address, number, "visual", SETTINGS, by="BT", now=now())


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
    unlock(address, number, "replaced seat connector")
    record(address, number, "replaced seat connector", "not cured", minutes=30)
    found = look(address, number)
    (attempt,) = found.job.attempts
    assert (attempt.label, attempt.cured, attempt.minutes) == ("replaced seat connector", False, 30)
    assert found.advice.suspects[0].chance < 0.6
    assert "replaced seat connector" not in {each.title for each in found.advice.steps}
    keep(address, add_line(address, number, "replaced seat connector, cured", today=date.today()))
    found = look(address, number)
    assert found.job.attempts[-1].cured is True
    assert found.advice.steps == ()  # what is left is the proof


def test_somebody_else_takes_the_job_up_with_everything(lamp: tuple[str, int]) -> None:
    address, number = lamp
    keep(address, set_circuit(address, number, CIRCUIT), who="MK")
    record(address, number, "visual", "nothing")
    found = look(address, number)
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
    before = {s.cause.key: s.before for s in look(address, number).advice.suspects}
    record(address, number, "wiggle", "steady")
    after = {s.cause.key: s.before for s in look(address, number).advice.suspects}
    assert after == pytest.approx(before)


def test_continuity_through_shorting_bars_is_told_to_prove_nothing(lamp: tuple[str, int]) -> None:
    address, number = lamp
    keep(address, set_circuit(address, number, CIRCUIT))
    for line in ("continuity test through open seat plug: beeps", "open seat plug 0.3 ohm"):
        draft = add_line(address, number, line, today=TODAY)
        assert any("proves nothing" in notice for notice in draft.notices)
    draft = add_line(address, number, "continuity test of plug: ok", today=TODAY)
    kept = keep(address, draft, happened=True)
    assert kept.job.tests
    found = look(address, number)
    assert any("shorting bars" in notice for notice in found.notices)


def test_a_closed_or_missing_job_has_no_next_step(lamp: tuple[str, int]) -> None:
    address, number = lamp
    with pytest.raises(NoSuchJob):
        look(address, 99)
    closing = Closing(cause="worn seat connector", closed=TODAY + timedelta(days=1))
    keep(address, close_job(address, number, closing, Settings(), today=TODAY))
    with pytest.raises(Conflict, match="was closed"):
        look(address, number)


def test_an_empty_store_says_so_and_a_told_circuit_still_helps(empty_store: str) -> None:
    keep(empty_store, open_job(empty_store, Opening(text="lock dead"), today=TODAY))
    found = look(empty_store, 1)
    assert Notice.EMPTY_STORE in found.notices
    titles = [step.title for step in found.advice.steps]
    assert titles == ["visual check", "supply and earth at its plug", "self-test"]
    keep(empty_store, set_circuit(empty_store, 1, "door module, loom, lock plug, door lock"))
    steps = look(empty_store, 1).advice.steps
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


def test_a_confirmation_ends_when_somebody_else_works_on_or_the_supply_comes_on(
    lamp: tuple[str, int],
) -> None:
    address, number = lamp
    for line, who in (("wiggle test: steady", "BT"), ("customer rang", "MK")):
        unlock(address, number, "drag")
        with pytest.raises(InvalidField, match="is not locked"):
            unlock(address, number, "drag")
        keep(address, add_line(address, number, line, today=TODAY), who=who)
        with pytest.raises(Locked):
            record(address, number, "drag", "a")


def test_a_confirmation_is_never_edited(lamp: tuple[str, int]) -> None:
    address, number = lamp
    unlock(address, number, "drag")
    for edit in ("confirmations[0].at=2026-11-26T10:00:00Z", "confirmations="):
        with pytest.raises(InvalidField, match="never edited; give it again"):
            edit_job(address, number, [edit], today=TODAY)


def test_what_a_dangerous_step_measured_is_no_reading_to_ask_by(lamp: tuple[str, int]) -> None:
    address, number = lamp
    before = [each.chance for each in look(*lamp).advice.suspects]
    step = "multimeter on belt tensioner gas generator lead: 2.4 ohms"
    keep(address, add_line(address, number, step, today=TODAY), happened=True)
    with UnitOfWork(open_store(address), read_only=True) as work:
        asked = inquire(work, shop_knowledge(work, address, SETTINGS), Question(job=number))
        assert work.jobs.get(number).readings
    assert asked.complaint.readings == ()
    assert [each.chance for each in look(*lamp).advice.suspects] == before


POWERED_UP = "Nobody in the car, nobody before a bag, when the battery goes back on"


def test_at_a_fix_and_at_the_end_of_a_restraint_job_it_is_told_who_is_where(
    lamp: tuple[str, int],
) -> None:
    address, number = lamp

    def told(notices: tuple[str, ...]) -> bool:
        return any(POWERED_UP in each for each in notices)

    found = add_line(address, number, "lamp still on after rain", today=TODAY)
    assert not told(found.notices)
    fix = add_line(address, number, "replaced seat connector, cured", today=TODAY)
    assert told(fix.notices)
    keep(address, fix, who="BT")
    end = Closing(cause="seat connector, high resistance")
    assert told(close_job(address, number, end, SETTINGS, today=TODAY).notices)


def test_the_end_of_another_job_tells_nothing_of_bags(small_store: str) -> None:
    kept = keep(
        small_store,
        open_job(small_store, Opening(text="radiator leaks"), who="BT", today=TODAY),
    )
    fix = add_line(small_store, kept.job.number or 0, "replaced radiator, cured", today=TODAY)
    assert not any(POWERED_UP in each for each in fix.notices)


def test_a_fix_that_is_not_shown_has_cured_nothing(lamp: tuple[str, int]) -> None:
    """It may have come with an import, which refuses nothing."""
    address, number = lamp
    words = "replaced airbag with one off a breakers car, cured"
    fix = Attempt(action=Action.REPLACED, component="airbag", words=words, cured=True)
    with UnitOfWork(open_store(address), who="BT") as work:
        told = work.jobs.get(number)
        work.jobs.add(replace(told, number=number + 1, uid="f" * 32, attempts=(fix,)))
        work.commit()
    found = look(address, number + 1)
    assert found.job.attempts[-1].cured
    assert found.cured_by is None
    assert found.advice.steps
    asked = Question(text="airbag lamp on since seat was moved, B1234")
    near = similar(address, asked, SETTINGS)
    shown = [line for match in near.matches for line in match.done if "not shown" in line]
    assert shown
    assert all(line.endswith("(no proof and no fix)") for line in shown)
