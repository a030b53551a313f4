"""Recording: what is told becomes a draft, and only a kept draft is stored."""

import io
import json
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    DiagnosticTest,
    EntryKind,
    FailureMode,
    Job,
    JobEntry,
    Outcome,
    Proof,
    Quantity,
    Reading,
    SaidAt,
    System,
    TroubleCode,
    Vehicle,
)
from kb.errors import Conflict, InvalidField, NoSuchJob, StoreMissing
from kb.reports.json import to_json
from kb.services.adding import Part, add_line, add_part
from kb.services.closing import Closing, close_job
from kb.services.drafts import Draft
from kb.services.editing import edit_job
from kb.services.exchange import export_file
from kb.services.keeping import ChangedMeanwhile, keep
from kb.services.lookup import Selection, job_history, list_jobs, show_job
from kb.services.new_job import Opening, open_job
from kb.settings import Settings
from tests.strategies import words

TODAY = date(2026, 3, 2)
LATER = date(2026, 3, 4)
TALK = "LR door lock dead after rain, B1234-13, motor feed 4.1 V"


def opened(address: str, text: str = TALK, **told: object) -> Job:
    """Open and store a job."""
    opening = Opening(text=text, **told)  # type: ignore[arg-type]
    return keep(address, open_job(address, opening, who="BT", today=TODAY), who="BT").job


def closed(address: str, cause: str = "worn clock spring", **told: object) -> Job:
    """Open, close and store a job of the car K001."""
    job = opened(address, ref="K001", vehicle="Corvane Lido 2015")
    assert job.number is not None
    closing = Closing(cause=cause, **told)  # type: ignore[arg-type]
    return keep(address, close_job(address, job.number, closing, Settings(), today=LATER)).job


def told(draft: Draft) -> str:
    return "\n".join(draft.notices)


def test_a_line_of_shop_talk_becomes_a_job(empty_store: str) -> None:
    draft = open_job(empty_store, Opening(text=TALK, odometer_km=81_000), who="BT", today=TODAY)
    code, motor_feed = (
        SaidAt(entry=0, start=start, end=end) for start, end in ((30, 38), (40, 56))
    )
    assert draft.job == Job(
        vehicle=Vehicle(),
        opened=TODAY,
        complaint="LR door lock dead after rain",
        system=System.BODY_ELECTRICS,
        conditions="after rain",
        odometer_km=81_000,
        technician="BT",
        codes=(TroubleCode(code="B1234", failure_type="13", said=code),),
        readings=(
            Reading(
                item="motor feed",
                quantity=Quantity.VOLTAGE,
                typed="4.1 V",
                value=4.1,
                said=motor_feed,
            ),
        ),
        entries=(JobEntry(kind=EntryKind.COMPLAINT, text=TALK),),
    )


def test_a_draft_is_not_stored_until_it_is_kept(empty_store: str) -> None:
    draft = open_job(empty_store, Opening(text=TALK), today=TODAY)
    assert list_jobs(empty_store, Selection()).total == 0
    assert keep(empty_store, draft, who="BT").job.number == 1
    assert list_jobs(empty_store, Selection()).total == 1


def test_what_is_told_beside_the_line_goes_first(empty_store: str) -> None:
    job = opened(
        empty_store,
        "lamp on",
        codes=("p0301 pending",),
        readings=("battery 12.1 V",),
        system="ignition",
        conditions="cold start",
        technician="MK",
        notes="keys at desk",
        opened=date(2026, 2, 27),
    )
    assert (job.system, job.conditions, job.technician) == (System.IGNITION, "cold start", "MK")
    assert (job.opened, job.notes) == (date(2026, 2, 27), "keys at desk")
    assert [str(code) for code in job.codes] == ["P0301"]
    assert [reading.value for reading in job.readings] == [12.1]


def test_a_complaint_of_codes_alone_keeps_its_words(empty_store: str) -> None:
    job = opened(empty_store, "P0301")
    assert (job.complaint, [str(code) for code in job.codes]) == ("P0301", ["P0301"])


def test_a_new_key_tag_makes_a_car_and_a_known_one_finds_it(empty_store: str) -> None:
    first = opened(empty_store, ref="K001", vehicle="Corvane Lido 2015 1.4 petrol")
    assert (first.vehicle.ref, first.vehicle.make, first.vehicle.year) == ("K001", "Corvane", 2015)
    assert opened(empty_store, ref="k001").vehicle == first.vehicle
    assert opened(empty_store, vehicle="k001").vehicle == first.vehicle


def test_an_earlier_visit_of_the_car_is_pointed_to(empty_store: str) -> None:
    closed(empty_store)
    now = Opening(text="lamp on again", ref="K001")
    soon = open_job(empty_store, now, today=date(2026, 4, 1))
    assert "job 1: LR door lock dead after rain, B1234-13, motor fee… (clock spring: worn)" in told(
        soon
    )
    assert "kb job add contact 1 comeback" in told(soon)
    assert told(open_job(empty_store, now, today=date(2028, 4, 1))) == ""
    keep(empty_store, soon)
    assert "K001 is here already, job 2" in told(open_job(empty_store, now, today=TODAY))


def test_personal_data_is_pointed_to_wherever_it_was_typed(empty_store: str) -> None:
    opening = Opening(text="no crank", notes="call 07700 900123")
    assert "phone number" in told(open_job(empty_store, opening, today=TODAY))
    opened(empty_store)
    edit = edit_job(empty_store, 1, ["notes=mail bt@example.com"], today=TODAY)
    assert "e-mail" in told(edit)
    assert "phone number" in told(add_line(empty_store, 1, "call 07700 900123", today=TODAY))


def test_a_line_adds_to_every_list_and_is_kept_as_it_was_typed(empty_store: str) -> None:
    opened(empty_store, notes="keys at desk")
    line = "U0100, earth 0.02 V; wiggle test: feed jumps; cleaned plug, no change; customer waits"
    job = keep(empty_store, add_line(empty_store, 1, line, today=TODAY)).job
    assert [str(code) for code in job.codes] == ["B1234-13", "U0100"]
    assert [reading.value for reading in job.readings] == [4.1, 0.02]
    assert [test.seen for test in job.tests] == ["feed jumps"]
    assert [attempt.cured for attempt in job.attempts] == [False]
    assert job.notes == "keys at desk"
    assert [each.text for each in job.entries] == [TALK, "keys at desk", line]
    assert {each.by for each in job.entries} == {"BT", None}
    parts: tuple[Part, ...] = (*job.codes[1:], *job.readings[1:], *job.tests, *job.attempts)
    assert [part.said and line[part.said.start : part.said.end] for part in parts] == [
        "U0100",
        "earth 0.02 V",
        "wiggle test: feed jumps",
        "cleaned plug, no change",
    ]


def test_whatever_is_told_beside_the_line_or_at_the_end_is_kept_too(empty_store: str) -> None:
    opened(empty_store, "lamp on", codes=("p0301 pending",), readings=("battery 12.1 V",))
    keep(empty_store, add_part(empty_store, 1, TroubleCode(code="U0100"), "u0100 "))
    closing = Closing(cause="worn plug", fix="new plug, cured", proved_by="runs even")
    job = keep(empty_store, close_job(empty_store, 1, closing, Settings(), today=LATER)).job
    assert [(each.kind.value, each.text) for each in job.entries] == [
        ("complaint", "lamp on"),
        ("code", "p0301 pending"),
        ("reading", "battery 12.1 V"),
        ("code", "u0100 "),
        ("attempt", "new plug, cured"),
        ("cause", "worn plug"),
        ("proof", "runs even"),
    ]
    parts: tuple[Part, ...] = (*job.codes, *job.readings, *job.attempts)
    said = [part.said.entry for part in parts if part.said]
    assert said == [1, 3, 2, 4]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(typed=words(), line=words(), note=words())
def test_whatever_is_typed_comes_back_from_store_and_export(
    empty_store: str, typed: str, line: str, note: str
) -> None:
    typed = f"lamp on {typed}"  # a number or a car alone is no complaint
    opening = Opening(text=typed, notes=note)
    number = keep(empty_store, open_job(empty_store, opening, today=TODAY)).job.number
    assert number is not None
    said = [typed, note]
    with suppress(InvalidField):  # what tells nothing
        keep(empty_store, add_line(empty_store, number, line, today=TODAY), happened=True)
        said.append(line)
    sheet = show_job(empty_store, number)
    assert [each.text for each in sheet.job.entries] == said
    shown = json.loads(to_json(sheet))["job"]["entries"]
    stream = io.StringIO()
    export_file(empty_store, stream)
    exported = json.loads(stream.getvalue().splitlines()[-1])["entries"]
    assert [each["text"] for each in shown] == [each["text"] for each in exported] == said


def test_a_complaint_told_anew_is_one_more_entry(empty_store: str) -> None:
    opened(empty_store)
    job = keep(empty_store, edit_job(empty_store, 1, ["complaint=lock dead"], today=TODAY)).job
    assert [each.text for each in job.entries] == [TALK, "lock dead"]
    assert job.complaint_as_typed == "lock dead"


@pytest.mark.parametrize(
    ("part", "field"),
    [
        (TroubleCode(code="U0100"), "codes"),
        (Reading(item="earth", quantity=Quantity.VOLTAGE, typed="0 V", value=0.0), "readings"),
        (DiagnosticTest(name="wiggle", seen="jumps"), "tests"),
        (Attempt(action=Action.CLEANED, component="plug"), "attempts"),
        (Contact(on=LATER, outcome=Outcome.HELD), "contacts"),
    ],
)
def test_a_part_is_added_behind_the_others(empty_store: str, part: Part, field: str) -> None:
    before = opened(empty_store)
    recorded = keep(empty_store, add_part(empty_store, 1, part))
    assert getattr(recorded.job, field) == (*getattr(before, field), part)
    assert [change.field for change in recorded.changes] == [
        f"{field}[{len(getattr(before, field))}]"
    ]


def test_a_contact_that_cannot_count_is_pointed_to(empty_store: str) -> None:
    closed(empty_store)
    opened(empty_store)
    held = Contact(on=LATER, outcome=Outcome.HELD)
    assert "still counts as not heard of" in told(add_part(empty_store, 1, held))
    assert "open yet" in told(add_part(empty_store, 2, held))
    assert told(add_part(empty_store, 1, replace(held, on=LATER + timedelta(days=1)))) == ""


def test_a_job_is_closed_with_cause_proof_and_fix(empty_store: str) -> None:
    job = closed(
        empty_store,
        "seat connector under LF seat, high resistance",
        proved_by="reading steady with a load",
        fix="cleaned seat connector",
        cured=True,
        minutes=40,
        parts_cost=3.5,
        verified="road test",
    )
    assert job.is_case
    assert job.closed == LATER
    assert job.cause is not None
    assert (job.cause.label, job.cause.position) == (
        "seat connector, under seat: high resistance",
        "left front",
    )
    assert job.attempts == (
        Attempt(
            action=Action.CLEANED,
            component="seat connector",
            cured=True,
            minutes=40,
            parts_cost=3.5,
            verified="road test",
            said=SaidAt(entry=1, start=0, end=len("cleaned seat connector")),
        ),
    )
    assert job.proved_by == "reading steady with a load"


def test_whether_a_fix_told_at_closing_cured_is_what_was_told_and_no_more(
    empty_store: str,
) -> None:
    assert closed(empty_store, fix="cleaned plug").attempts[-1].cured is None
    assert closed(empty_store, fix="cleaned plug, cured").attempts[-1].cured is True
    assert closed(empty_store, fix="cleaned plug", cured=True).attempts[-1].cured is True
    assert closed(empty_store, fix="cleaned plug, no change").attempts[-1].cured is False
    assert closed(empty_store, fix="cleaned plug", cured=False).attempts[-1].cured is False


def test_without_a_fix_the_details_are_those_of_the_last_attempt(empty_store: str) -> None:
    opened(empty_store)
    keep(empty_store, add_line(empty_store, 1, "cleaned plug", today=TODAY))
    closing = Closing(cause="worn plug", cured=True)
    assert close_job(empty_store, 1, closing, Settings(), today=TODAY).job.attempts[0].cured is True
    opened(empty_store)
    with pytest.raises(InvalidField, match="fix"):
        close_job(empty_store, 2, closing, Settings(), today=TODAY)


def test_a_cause_may_be_told_before_the_end_and_is_kept(empty_store: str) -> None:
    opened(empty_store)
    keep(empty_store, edit_job(empty_store, 1, ["cause=worn plug"], today=TODAY))
    assert close_job(empty_store, 1, Closing(), Settings(), today=TODAY).job.is_case


def test_a_job_may_be_closed_without_a_cause_only_when_said_so(empty_store: str) -> None:
    opened(empty_store)
    with pytest.raises(InvalidField, match="--no-cause"):
        close_job(empty_store, 1, Closing(), Settings(), today=TODAY)
    draft = close_job(empty_store, 1, Closing(without_cause=True), Settings(), today=TODAY)
    assert draft.job.state == "closed without a cause"
    assert "never recalled" in told(draft)


def test_a_closed_job_is_not_closed_again_and_no_job_ends_before_it_began(
    empty_store: str,
) -> None:
    closed(empty_store)
    with pytest.raises(Conflict, match=r"closed on 2026-03-04.*kb job edit 1"):
        close_job(empty_store, 1, Closing(cause="worn plug"), Settings(), today=LATER)
    opened(empty_store)
    early = Closing(cause="worn plug", closed=date(2026, 3, 1))
    with pytest.raises(InvalidField, match="closed"):
        close_job(empty_store, 2, early, Settings(), today=LATER)


def test_what_would_make_the_case_worth_more_is_pointed_to(empty_store: str) -> None:
    opened(empty_store)
    bare = told(close_job(empty_store, 1, Closing(cause="worn plug"), Settings(), today=LATER))
    assert "--fix" in bare
    assert "--proved-by" in bare
    half = Closing(cause="worn plug", fix="replaced plug", proved_by="new one works")
    assert "Not told whether it cured: replaced plug." in told(
        close_job(empty_store, 1, half, Settings(), today=LATER)
    )
    full = replace(half, cured=True)
    assert told(close_job(empty_store, 1, full, Settings(), today=LATER)).startswith(
        "Of the repair's proof"
    )
    proved = replace(full, proofs=tuple(Proof))
    assert told(close_job(empty_store, 1, proved, Settings(), today=LATER)) == ""


def test_a_component_spelt_unlike_the_shops_is_asked_about(empty_store: str) -> None:
    closed(empty_store, "worn seat connector", fix="replaced clock spring", proved_by="x")
    opened(empty_store)
    closing = Closing(cause="worn seat conector", fix="cleaned clock sprng", proved_by="x")
    notices = told(close_job(empty_store, 2, closing, Settings(), today=LATER))
    assert "“seat conector”; did you mean “seat connector”" in notices
    assert "“clock sprng”; did you mean “clock spring”" in notices


def test_an_edit_is_kept_in_the_history_with_who_and_what(empty_store: str) -> None:
    opened(empty_store, odometer_km=81_000)
    keep(empty_store, edit_job(empty_store, 1, ["odometer_km=81500"], today=TODAY), who="MK")
    added, edited = job_history(empty_store, 1).changes
    assert (added.who, added.field) == ("BT", "added")
    assert (edited.who, edited.field, edited.old, edited.new) == (
        "MK",
        "odometer_km",
        81_000,
        81_500,
    )


def test_a_fix_that_came_back_counts_for_what_it_was_tried_for(empty_store: str) -> None:
    closed(empty_store, fix="replaced clock spring", cured=True)
    assert told(edit_job(empty_store, 1, ["cause.component=horn"], today=LATER)) == ""
    back = Contact(on=LATER + timedelta(days=9), outcome=Outcome.COMEBACK)
    keep(empty_store, add_part(empty_store, 1, back))
    draft = edit_job(empty_store, 1, ["cause.component=horn"], today=LATER)
    assert "was tried for “clock spring: worn”, so it counts there still" in told(draft)
    supposed = draft.job.attempts[-1].supposed
    assert supposed is not None
    assert supposed.component == "clock spring"
    assert told(edit_job(empty_store, 1, ["cause.words=worn through"], today=LATER)) == ""
    keep(empty_store, draft)
    mended = edit_job(empty_store, 1, ["attempts[0].supposed="], today=LATER)
    assert mended.job.attempts[-1].supposed is None


def test_a_fix_that_did_not_cure_counts_for_what_it_was_tried_for(empty_store: str) -> None:
    closed(empty_store, fix="replaced clock spring", cured=False)
    draft = edit_job(empty_store, 1, ["cause.component=horn"], today=LATER)
    assert draft.job.attempts[-1].supposed is not None


def test_an_edit_of_a_car_with_several_jobs_says_so(empty_store: str) -> None:
    opened(empty_store, ref="K001", vehicle="Corvane Lido 2015")
    assert told(edit_job(empty_store, 1, ["vehicle.year=2016"], today=TODAY)) == ""
    opened(empty_store, ref="K001")
    draft = edit_job(empty_store, 1, ["vehicle.year=2016"], today=TODAY)
    assert "on all 2 jobs of K001" in told(draft)
    keep(empty_store, draft)
    assert show_job(empty_store, 2).job.vehicle.year == 2016


def test_a_draft_made_on_a_job_that_changed_since_is_refused(empty_store: str) -> None:
    opened(empty_store)
    mine = edit_job(empty_store, 1, ["technician=MK"], today=TODAY)
    keep(empty_store, edit_job(empty_store, 1, ["technician=JO"], today=TODAY))
    with pytest.raises(ChangedMeanwhile, match=r"somebody else meanwhile \(technician") as changed:
        keep(empty_store, mine)
    assert show_job(empty_store, 1).job.technician == "JO"
    assert changed.value.collide == ("technician",)
    assert changed.value.left is None


def test_what_does_not_collide_with_a_change_made_meanwhile_can_be_stored(
    empty_store: str,
) -> None:
    opened(empty_store)
    mine = edit_job(empty_store, 1, ["technician=MK", "notes=keys at desk"], today=TODAY)
    keep(empty_store, edit_job(empty_store, 1, ["technician=JO"], today=TODAY))
    with pytest.raises(ChangedMeanwhile) as changed:
        keep(empty_store, mine)
    assert [each.field for each in changed.value.theirs.changes] == ["technician"]
    assert changed.value.left
    keep(empty_store, changed.value.left)
    job = show_job(empty_store, 1).job
    assert (job.technician, job.notes) == ("JO", "keys at desk")


def test_jobs_are_listed_by_what_is_told_of_them(empty_store: str) -> None:
    closed(empty_store)
    opened(empty_store, "no crank", vehicle="Sunato Kiri", codes=("P0301",))

    def numbers(**wanted: object) -> list[int | None]:
        chosen = list_jobs(empty_store, Selection(**wanted))  # type: ignore[arg-type]
        assert chosen.total == 2
        return [job.number for job in chosen.jobs]

    assert numbers() == [2, 1]
    assert numbers(state="open") == [2]
    assert numbers(vehicle="k001") == [1]
    assert numbers(system="body") == [1]
    assert numbers(code="b1234") == [1]
    assert numbers(code="b1234 11") == []
    assert numbers(since=LATER) == []
    assert numbers(limit=1) == [2]


def test_a_job_is_shown_under_the_cautions_of_its_system(empty_store: str) -> None:
    opened(empty_store, "airbag lamp on", system="restraints")
    assert any("igniter" in caution for caution in show_job(empty_store, 1).cautions)


def test_what_is_not_there_is_told_so(empty_store: str, tmp_path: Path) -> None:
    for missing in (
        lambda: show_job(empty_store, 1),
        lambda: job_history(empty_store, 1),
        lambda: add_line(empty_store, 1, "U0100", today=TODAY),
        lambda: add_part(empty_store, 1, TroubleCode(code="U0100")),
        lambda: close_job(empty_store, 1, Closing(cause="worn plug"), Settings(), today=TODAY),
        lambda: edit_job(empty_store, 1, ["notes=x"], today=TODAY),
    ):
        with pytest.raises(NoSuchJob):
            missing()
    with pytest.raises(StoreMissing):
        list_jobs(str(tmp_path / "none.sqlite"), Selection())


def test_a_cause_made_by_hand_is_taken_as_it_is(empty_store: str) -> None:
    opened(empty_store)
    cause = Cause(component="ECU", failure_mode=FailureMode.SOFTWARE)
    assert (
        close_job(empty_store, 1, Closing(cause=cause), Settings(), today=LATER).job.cause == cause
    )


def test_a_line_that_tells_nothing_is_refused(empty_store: str) -> None:
    opened(empty_store)
    with pytest.raises(InvalidField, match="tells nothing"):
        add_line(empty_store, 1, " ; ", today=TODAY)


@pytest.mark.parametrize(("line", "cured"), [("no better", False), ("sorted", True)])
def test_an_outcome_told_alone_goes_to_the_last_fix_if_that_has_none(
    empty_store: str, line: str, cured: bool
) -> None:
    number = opened(empty_store).number or 0
    keep(empty_store, add_line(empty_store, number, "replaced coil", today=TODAY))
    draft = add_line(empty_store, number, line, today=TODAY)
    assert "Takes as the outcome of: replaced coil" in told(draft)
    assert [attempt.cured for attempt in keep(empty_store, draft).job.attempts] == [cured]
    again = add_line(empty_store, number, "fixed", today=TODAY)
    assert [attempt.cured for attempt in again.job.attempts] == [cured]
    assert again.account is not None
    assert [lift.fact for lift in again.account.kept] != []


@pytest.mark.parametrize(
    ("line", "cured"),
    [
        ("bent the pins back, works again", None),
        ("ground edges of bracket, fine now", None),
        ("blew the plug dry with the heat gun, fine now", None),
        ("works again", True),
        ("with the engine hot, fine now", True),
        ("customer collected, all fine now", True),
    ],
)
def test_a_cure_behind_other_work_is_not_given_to_an_earlier_fix(
    empty_store: str, line: str, cured: bool | None
) -> None:
    opened(empty_store)
    keep(empty_store, add_line(empty_store, 1, "replaced fuel filter", today=TODAY))
    draft = add_line(empty_store, 1, line, today=TODAY)
    assert draft.job.attempts[0].cured is cured
    assert ("may be what cured" in told(draft)) is (cured is None)


@pytest.mark.parametrize("line", ["fault back", "lamp on again after road test", "still misfires"])
def test_a_fault_that_is_back_before_the_car_has_left_was_not_cured(
    empty_store: str, line: str
) -> None:
    number = opened(empty_store).number or 0
    keep(empty_store, add_line(empty_store, number, "replaced coil, cured", today=TODAY))
    draft = add_line(empty_store, number, line, today=TODAY)
    assert "replaced coil was told to have cured; the fault is back" in told(draft)
    assert [attempt.cured for attempt in draft.job.attempts] == [False]


def test_a_time_and_a_cost_told_alone_go_to_the_last_fix(empty_store: str) -> None:
    number = opened(empty_store).number or 0
    keep(empty_store, add_line(empty_store, number, "replaced coil", today=TODAY))
    job = keep(empty_store, add_line(empty_store, number, "45 min, £41.20", today=TODAY)).job
    assert [(each.minutes, each.parts_cost) for each in job.attempts] == [(45, 41.2)]


def test_an_odometer_among_the_words_is_the_jobs_where_it_has_none(empty_store: str) -> None:
    job = opened(empty_store, "rattles when cold, 91k")
    assert (job.odometer_km, job.complaint) == (91_000, "rattles when cold, 91k")
    draft = open_job(empty_store, Opening(text="rattles, 91k", odometer_km=90_000), today=TODAY)
    assert draft.job.odometer_km == 90_000
    assert "91,000 km" in told(draft)
    line = add_line(empty_store, job.number or 0, "new chain, 92,000 km", today=TODAY)
    assert line.job.odometer_km == 91_000
    assert "92,000 km" in told(line)


def test_what_two_add_at_once_is_kept_of_both(empty_store: str) -> None:
    opened(empty_store, "no crank")
    line = add_line(empty_store, 1, "battery 12.1 V; cleaned earth strap, no change", today=TODAY)
    typed = "P0335"
    code = add_part(empty_store, 1, TroubleCode(code=typed), typed)
    keep(empty_store, edit_job(empty_store, 1, ["odometer_km=81000"], today=TODAY))
    keep(empty_store, code, who="AA")
    changes = keep(empty_store, line, who="BB").changes
    assert {change.field for change in changes} == {"readings[0]", "attempts[0]", "entries[2]"}
    job = show_job(empty_store, 1).job
    assert (job.odometer_km, len(job.codes), len(job.readings), len(job.attempts)) == (
        81000,
        1,
        1,
        1,
    )
    assert [each.by for each in job.entries[1:]] == ["AA", "BB"]
    places = [
        *(code.said for code in job.codes),
        *(reading.said for reading in job.readings),
        *(attempt.said for attempt in job.attempts),
    ]
    for said in places:
        assert said is not None
        assert said.end <= len(job.entries[said.entry].text)
    assert job.readings[0].said == SaidAt(entry=2, start=0, end=14)


def test_nothing_is_added_to_a_job_that_was_closed_meanwhile(empty_store: str) -> None:
    opened(empty_store, "no crank")
    line = add_line(empty_store, 1, "battery 12.1 V", today=TODAY)
    closing = Closing(cause="worn starter")
    keep(empty_store, close_job(empty_store, 1, closing, Settings(), today=LATER))
    with pytest.raises(Conflict, match="meanwhile"):
        keep(empty_store, line)


def test_a_fault_told_of_a_car_that_left_cured_is_a_comeback(empty_store: str) -> None:
    closed(empty_store, fix="replaced clock spring", cured=True)
    job = keep(empty_store, add_line(empty_store, 1, "fault back", today=LATER)).job
    (heard,) = job.contacts
    assert (heard.outcome, heard.on) == (Outcome.COMEBACK, LATER)


def test_a_comeback_is_of_another_job_that_counts(empty_store: str) -> None:
    closed(empty_store)
    opened(empty_store, "no crank")
    keep(empty_store, edit_job(empty_store, 2, ["void=told twice"], today=TODAY))
    for number, error in ((1, InvalidField), (2, InvalidField), (99, NoSuchJob)):
        contact = Contact(on=LATER, outcome=Outcome.COMEBACK, job=number)
        with pytest.raises(error):
            add_part(empty_store, 1, contact)


def test_an_outcome_that_the_words_deny_is_refused(empty_store: str) -> None:
    closed(empty_store)
    held = Contact(on=LATER, outcome=Outcome.HELD, words="did not hold")
    with pytest.raises(InvalidField, match="its words say comeback"):
        add_part(empty_store, 1, held)
    fix = Attempt(action=Action.REPLACED, component="relay", cured=True)
    with pytest.raises(InvalidField, match="its words say not cured"):
        add_part(empty_store, 1, fix, "replaced relay, not cured")
