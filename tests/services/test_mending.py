"""Taking back, void jobs, reopening, parts by number: nothing is lost, nobody is overwritten."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from rich.console import Console

from kb.case import Contact, Outcome
from kb.errors import Conflict, InvalidField, NoSuchJob
from kb.reports.job import render_sheet, typed_lines
from kb.reports.troubleshoot import render
from kb.services.adding import add_line, add_part
from kb.services.ask import causes
from kb.services.closing import Closing, choices, close_job
from kb.services.drafts import Draft
from kb.services.editing import edit_job
from kb.services.inquiry import Question
from kb.services.keeping import keep
from kb.services.lookup import Selection, job_history, list_jobs, show_job
from kb.services.mending import (
    UNDONE,
    bring_back,
    doubtful_target,
    edit_part,
    last_entries,
    remove_part,
    reopen_job,
    take_back,
    taking_back,
    void_job,
)
from kb.services.new_job import Opening, open_job
from kb.services.troubleshoot import working_job
from kb.settings import MendingSettings, Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES

TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


def opened(address: str, text: str = "no crank, P0335", who: str = "BT", **told: Any) -> int:
    draft = open_job(address, Opening(text=text, **told), today=TODAY)
    return keep(address, draft, who=who).job.number or 0


def undo(address: str, entry: int | None = None, who: str | None = "BT") -> int:
    taking = taking_back(address, who=who, entry=entry)
    return take_back(address, taking, who=who).by


def test_the_last_entry_is_taken_back_whole_and_brought_back(empty_store: str) -> None:
    number = opened(empty_store)
    before = show_job(empty_store, number).job
    line = "battery 12.1 V; cleaned earth strap, no change"
    after = keep(empty_store, add_line(empty_store, number, line, today=TODAY), who="BT").job
    by = undo(empty_store)
    words_stay = replace(before, entries=after.entries)
    assert show_job(empty_store, number).job == words_stay
    undo(empty_store, by)
    assert show_job(empty_store, number).job == after


def test_called_again_it_goes_further_back(empty_store: str) -> None:
    number = opened(empty_store)
    states = [show_job(empty_store, number).job]
    for km in (81_000, 82_000):
        keep(
            empty_store, edit_job(empty_store, number, [f"odometer_km={km}"], today=TODAY), who="BT"
        )
        states.append(show_job(empty_store, number).job)
    for state in states[-2::-1]:
        undo(empty_store)
        assert show_job(empty_store, number).job == state
    undo(empty_store)  # the opening itself
    assert show_job(empty_store, number).job == replace(states[0], void=UNDONE)
    with pytest.raises(NoSuchJob, match="kb undo --list"):
        undo(empty_store)


def test_only_ones_own_entries_are_taken_back_unless_named(empty_store: str) -> None:
    number = opened(empty_store)
    draft = edit_job(empty_store, number, ["notes=keys at desk"], today=TODAY)
    keep(empty_store, draft, who="MK")
    entry = last_entries(empty_store).entries[0]
    assert (entry.who, entry.jobs) == ("MK", (number,))
    with pytest.raises(
        Conflict, match=rf"notes was changed since.*by MK.*kb undo {entry.sequence}"
    ):
        undo(empty_store)  # the opening, on which MK has built
    undo(empty_store, entry.sequence)
    undo(empty_store)
    assert show_job(empty_store, number).job.void == UNDONE


@pytest.mark.parametrize(
    ("stored_by", "who", "said"),
    [("BT", "bt", None), ("MK", "BT", "of MK, and not yours"), (None, None, "Nobody's initials")],
)
def test_whose_entry_it_is_is_said_unless_it_is_ones_own(
    empty_store: str, stored_by: str | None, who: str | None, said: str | None
) -> None:
    keep(empty_store, open_job(empty_store, Opening(text="no crank"), today=TODAY), who=stored_by)
    taking = taking_back(empty_store, who=who, entry=last_entries(empty_store).entries[0].sequence)
    assert (taking.doubt is None) if said is None else said in (taking.doubt or "")
    assert take_back(empty_store, taking, who=who).who == stored_by


def test_what_somebody_changed_since_is_refused_with_the_cure(empty_store: str) -> None:
    number = opened(empty_store)
    keep(empty_store, edit_job(empty_store, number, ["technician=MK"], today=TODAY), who="BT")
    keep(empty_store, edit_job(empty_store, number, ["technician=JO"], today=TODAY), who="JO")
    with pytest.raises(Conflict, match=r"technician was changed since entry .* by JO"):
        undo(empty_store)
    assert show_job(empty_store, number).job.technician == "JO"


def test_a_change_between_showing_and_taking_back_is_refused(empty_store: str) -> None:
    number = opened(empty_store)
    taking = taking_back(empty_store, who="BT")
    keep(empty_store, edit_job(empty_store, number, ["notes=x"], today=TODAY), who="JO")
    with pytest.raises(Conflict, match="meanwhile"):
        take_back(empty_store, taking, who="BT")


def test_what_is_taken_back_already_is_said(empty_store: str) -> None:
    opened(empty_store)
    entry = last_entries(empty_store).entries[0].sequence
    by = undo(empty_store)
    with pytest.raises(Conflict, match=rf"already, by entry {by}"):
        undo(empty_store, entry)
    with pytest.raises(NoSuchJob, match="77"):
        undo(empty_store, 77)


def test_a_corrected_car_is_put_back_on_all_of_its_jobs(empty_store: str) -> None:
    one = opened(empty_store, ref="K001", vehicle="Corvane Lido 2015")
    two = opened(empty_store, ref="K001")
    keep(empty_store, edit_job(empty_store, two, ["vehicle.year=2016"], today=TODAY), who="BT")
    undo(empty_store)
    assert [show_job(empty_store, job).job.vehicle.year for job in (one, two)] == [2015, 2015]


def test_a_tag_written_otherwise_in_an_edit_does_not_part_a_car(empty_store: str) -> None:
    one, two = (opened(empty_store, ref="K77", vehicle="Corvane Lido 2015") for _ in range(2))
    draft = edit_job(empty_store, two, ["vehicle.ref=K-77"], today=TODAY)
    assert any("K77, written otherwise" in notice for notice in draft.notices)
    keep(empty_store, draft, who="BT")
    assert [show_job(empty_store, job).job.vehicle.ref for job in (one, two)] == ["K77", "K77"]
    alone = opened(empty_store, ref="K88", vehicle="Corvane Lido 2016")
    keep(empty_store, edit_job(empty_store, alone, ["vehicle.ref=K-88"], today=TODAY), who="BT")
    assert show_job(empty_store, alone).job.vehicle.ref == "K-88"
    other = opened(empty_store, vehicle="Corvane Lido 2015")
    keep(empty_store, edit_job(empty_store, other, ["vehicle.ref=k 77"], today=TODAY), who="BT")
    assert show_job(empty_store, other).job.vehicle.ref == "K77"


def test_a_void_job_counts_nowhere_and_comes_back(small_store: str) -> None:
    question = Question(text="airbag lamp on since the seat was moved")
    asked = causes(small_store, question, Settings())
    numbers = [case.number or 0 for case in CASES]
    for number in numbers:
        keep(small_store, void_job(small_store, number, "told twice"))
    assert list_jobs(small_store, Selection()).jobs == ()
    assert len(list_jobs(small_store, Selection(state="void")).jobs) == len(CASES)
    assert causes(small_store, question, Settings()).causes == ()
    with UnitOfWork(open_store(small_store), read_only=True) as work:
        assert work.jobs.count_cases() == 0
        assert work.repairs.all() == []
        assert work.repairs.causes() == []
        assert work.jobs.components() == []
    with pytest.raises(InvalidField, match="void already"):
        void_job(small_store, numbers[0], "again")
    for number in numbers:
        keep(small_store, bring_back(small_store, number))
    assert causes(small_store, question, Settings()).causes == asked.causes


def test_a_reopened_job_keeps_its_cause_for_the_next_end(empty_store: str) -> None:
    number = opened(empty_store)
    closing = Closing(cause="worn starter", fix="replaced starter")
    keep(empty_store, close_job(empty_store, number, closing, Settings(), today=TODAY))
    with pytest.raises(Conflict, match="kb job reopen"):
        close_job(empty_store, number, closing, Settings(), today=TODAY)
    keep(empty_store, reopen_job(empty_store, number))
    job = show_job(empty_store, number).job
    assert (job.state, job.is_case, job.cause and job.cause.component) == ("open", False, "starter")
    with pytest.raises(InvalidField, match="is open"):
        reopen_job(empty_store, number)
    draft = close_job(empty_store, number, Closing(), Settings(), today=TODAY)
    assert draft.job.is_case
    assert draft.job.attempts[-1].cured is None  # nobody said that it cured


def test_parts_are_changed_and_taken_out_by_the_number_on_the_page(empty_store: str) -> None:
    number = opened(empty_store, "no crank, P0335, battery 12.1 V")
    fields = {part.field: part.number for part in show_job(empty_store, number).parts}
    reading, code = fields["readings[0]"], fields["codes[0]"]
    draft = edit_part(empty_store, number, reading, "battery 9.1 V", today=TODAY)
    assert draft.job.readings[0].value == 9.1
    draft = edit_part(empty_store, number, reading, "", ["proved_good=no"], today=TODAY)
    assert draft.job.readings[0].proved_good is False
    assert remove_part(empty_store, number, code).job.codes == ()
    with pytest.raises(InvalidField, match="is none of 1 to"):
        remove_part(empty_store, number, 99)
    with pytest.raises(InvalidField, match="kb job void"):
        remove_part(empty_store, number, fields["complaint"])


def test_closed_void_and_old_jobs_are_named_before_they_are_written_to(small_store: str) -> None:
    base = CASES[0]
    number = base.number or 0
    closed = base.closed or TODAY

    def named(draft: Draft, today: date) -> str | None:
        return doubtful_target(draft, MendingSettings(), today=today)

    edit = edit_job(small_store, number, ["notes=x"], today=TODAY)
    said = named(edit, closed + timedelta(days=1500)) or ""
    for words in (f"Job {number}", base.vehicle.label, f"was closed on {closed}", "4 years ago"):
        assert words in said
    nothing_heard = add_line(small_store, number, "horn relay clicks", today=TODAY)
    assert named(nothing_heard, TODAY) is not None
    contact = Contact(on=TODAY, outcome=Outcome.HELD)
    assert named(add_part(small_store, number, contact), TODAY) is None
    fresh = opened(small_store)
    draft = edit_job(small_store, fresh, ["notes=x"], today=TODAY)
    assert named(draft, TODAY + timedelta(days=89)) is None
    assert "3 months ago" in (named(draft, TODAY + timedelta(days=90)) or "")


def test_a_new_cause_near_one_of_the_shop_is_asked_about(small_store: str) -> None:
    number = opened(small_store, "airbag lamp on since the seat was moved")
    known = CASES[0].cause
    assert known is not None
    misspelt = replace(known, component=f"{known.component}r")
    closing = Closing(cause=misspelt, proved_by="x")
    draft = close_job(small_store, number, closing, Settings(), today=TODAY)
    assert any(f"is it “{known.label}”" in notice for notice in draft.notices)
    now = datetime.now().astimezone()
    found = choices(small_store, number, Settings(), now=now)
    assert found.like(misspelt)[0].cause.key == known.key
    assert found.like(known) == ()
    assert all(each.jobs for each in found.suspects)


def test_an_entry_that_cannot_be_taken_back_does_not_bar_the_way(empty_store: str) -> None:
    first, second = opened(empty_store), opened(empty_store, "lamp on")
    for who, km in (("BT", 81_000), ("MK", 82_000)):
        draft = edit_job(empty_store, second, [f"odometer_km={km}"], today=TODAY)
        keep(empty_store, draft, who=who)
    mine = [each.sequence for each in last_entries(empty_store, who="BT").entries]
    with pytest.raises(Conflict, match=rf"That is entry {mine[0]}; .*: kb undo {mine[2]}$"):
        undo(empty_store)
    undo(empty_store, mine[2])
    assert show_job(empty_store, first).job.void == UNDONE


def test_a_void_job_is_neither_closed_nor_reopened(empty_store: str) -> None:
    number = opened(empty_store)
    keep(empty_store, void_job(empty_store, number, "told twice"))
    back = f"kb job void {number} --back"
    with pytest.raises(Conflict, match=back):
        reopen_job(empty_store, number)
    with pytest.raises(Conflict, match=back):
        close_job(empty_store, number, Closing(cause="worn starter"), Settings(), today=TODAY)


@pytest.mark.parametrize("line", ["replaced loom, cured", "wiggle test: reading jumps"])
def test_what_was_taken_back_stands_no_more_on_the_page_and_in_the_history_still(
    empty_store: str, line: str
) -> None:
    number = opened(empty_store)

    def told() -> str:
        page = StringIO()
        console = Console(width=80, file=page)
        console.print(render_sheet(show_job(empty_store, number)))
        console.print(render(working_job(empty_store, number, Settings(), who="BT", now=NOW)))
        return page.getvalue()

    keep(empty_store, add_line(empty_store, number, "battery 12.1 V", today=TODAY), who="BT")
    before = told()
    keep(empty_store, add_line(empty_store, number, line, today=TODAY), who="BT")
    part = line.partition(",")[0]
    assert part in told()
    by = undo(empty_store)
    assert told() == before
    assert any(line in str(each.new) for each in job_history(empty_store, number).changes)
    undo(empty_store, by)
    assert part in told()


def test_an_answer_taken_back_stands_no_more_on_the_page(empty_store: str) -> None:
    number = opened(empty_store)
    close = Closing(cause="earth strap, open", fix="replaced earth strap, cured")
    keep(empty_store, close_job(empty_store, number, close, Settings(), today=TODAY), who="BT")
    line = f"came back {TODAY + timedelta(days=1)}, no crank"
    later = TODAY + timedelta(days=9)
    keep(empty_store, add_line(empty_store, number, line, today=later), who="BT")
    lines = typed_lines(show_job(empty_store, number).job)
    undo(empty_store)
    sheet = show_job(empty_store, number)
    assert lines[-1].endswith(line)
    assert typed_lines(sheet.job, sheet.undone) == lines[:-1]


@pytest.mark.parametrize("way", ["field", "part"])
def test_a_complaint_told_anew_and_taken_back_is_the_first_again(
    empty_store: str, way: str
) -> None:
    number = opened(empty_store)
    first = show_job(empty_store, number).complaint_as_typed
    for text in ("horn dead", "no crank after rain"):
        if way == "field":
            draft = edit_job(empty_store, number, [f"complaint={text}"], today=TODAY)
        else:
            draft = edit_part(empty_store, number, 2, text, today=TODAY)
        keep(empty_store, draft, who="BT")
        assert show_job(empty_store, number).complaint_as_typed == text
    undo(empty_store)
    assert show_job(empty_store, number).complaint_as_typed == "horn dead"
    undo(empty_store)
    assert show_job(empty_store, number).complaint_as_typed == first


@pytest.mark.parametrize("way", ["field", "part"])
def test_what_is_not_understood_of_a_car_told_anew_is_said(empty_store: str, way: str) -> None:
    number = opened(empty_store)
    car = "bramwick dray 2015 2,2 diesel 92500"
    if way == "field":
        draft = edit_job(empty_store, number, [f"vehicle={car}"], today=TODAY)
    else:
        draft = edit_part(empty_store, number, 1, car, today=TODAY)
    assert (draft.job.odometer_km, draft.job.vehicle.year) == (92500, 2015)
    assert any("taken as typed" in notice for notice in draft.notices)
