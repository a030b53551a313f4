"""No fix held or came back before its handover, by whatever way a contact is told.

Every way in which a contact can be stored is held against the same table of days; what is stored
counts for the fix's rate as the message says.
"""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from kb.case import Contact, Job, Outcome
from kb.errors import Conflict, InvalidField
from kb.intake.forms import job_to_record
from kb.intake.sheets import columns, csv_row
from kb.intake.single_facts import parse_contact
from kb.rates.survival import Lifetime
from kb.rates.trials import trials
from kb.services.adding import add_line, add_part
from kb.services.closing import Closing, close_job
from kb.services.drafts import Draft
from kb.services.editing import edit_job
from kb.services.exchange import import_file
from kb.services.follow_up import heard
from kb.services.keeping import keep
from kb.services.lookup import show_job
from kb.services.mending import edit_part, reopen_job, take_back, taking_back
from kb.settings import RateSettings, Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.services.test_follow_up import CLOSED, TODAY, job, put

Way = Callable[[str, Contact], Draft]
FUTURE = date(2099, 1, 1)
BEFORE, AFTER = CLOSED - timedelta(days=3), CLOSED + timedelta(days=3)
FINISHED = replace(job("K1", CLOSED), opened=CLOSED - timedelta(days=9))


def line(told: Contact) -> str:
    said = "in for tyres" if told.outcome is Outcome.OTHER_REASON else told.outcome
    return f"{said} {told.on}"


def as_json(told: Contact) -> str:
    return json.dumps([{"on": str(told.on), "outcome": told.outcome}])


def by_line(address: str, told: Contact) -> Draft:
    return add_line(address, 1, line(told), today=TODAY)


def by_part(address: str, told: Contact) -> Draft:
    return add_part(address, 1, told, line(told))


def by_follow_up(address: str, told: Contact) -> Draft:
    return heard(address, 1, told.outcome, on=told.on, today=TODAY)


def by_edit(address: str, told: Contact) -> Draft:
    return edit_job(address, 1, [f"contacts[0]={line(told)}"], today=TODAY)


def by_json(address: str, told: Contact) -> Draft:
    return edit_job(address, 1, [f"contacts={as_json(told)}"], today=TODAY)


def by_day_and_outcome(address: str, told: Contact) -> Draft:
    """Store a contact that tells nothing, and mend it."""
    keep(address, add_part(address, 1, Contact(on=AFTER, outcome=Outcome.NOT_TOLD)))
    edits = [f"contacts[0].on={told.on}", f"contacts[0].outcome={told.outcome}"]
    return edit_job(address, 1, edits, today=TODAY)


def by_number(address: str, told: Contact) -> Draft:
    """Store another contact, and tell it anew by its number on the page."""
    keep(address, add_part(address, 1, Contact(on=AFTER, outcome=Outcome.HELD)))
    job = show_job(address, 1).job
    number = 4 + bool(job.odometer_km) + len(job.attempts) + len(job.contacts)
    return edit_part(address, 1, number, line(told), today=TODAY)


def by_handover(address: str, told: Contact) -> Draft:
    """Tell it of a job that was handed over earlier, and then give it its day."""
    keep(address, edit_job(address, 1, [f"closed={FINISHED.opened}"], today=TODAY))
    keep(address, add_part(address, 1, told))
    return edit_job(address, 1, [f"closed={CLOSED}"], today=TODAY)


def by_closing(address: str, told: Contact) -> Draft:
    """Tell it of an open job, and then close that."""
    keep(address, reopen_job(address, 1))
    keep(address, add_part(address, 1, told))
    return close_job(address, 1, Closing(closed=CLOSED), Settings(), today=TODAY)


def by_undo(address: str, told: Contact) -> Draft:
    """Take back that a job was handed over earlier."""
    edit = edit_job(address, 1, [f"closed={FINISHED.opened}"], today=TODAY)
    keep(address, edit, who="BT")
    keep(address, add_part(address, 1, told), who="CW")
    taking = taking_back(address, who="BT")
    take_back(address, taking, who="BT")
    return taking.drafts[0]


WAYS = (
    by_line,
    by_part,
    by_follow_up,
    by_edit,
    by_json,
    by_day_and_outcome,
    by_number,
    by_handover,
    by_closing,
    by_undo,
)
FAULTS = ("comeback", "held", "other reason")


@pytest.fixture
def shop(empty_store: str) -> str:
    """One finished job of one car."""
    put(empty_store, FINISHED)
    return empty_store


def life(address: str) -> Lifetime | None:
    with UnitOfWork(open_store(address), read_only=True) as work:
        (trial,) = trials(work.repairs.all(), RateSettings(would_tell=1))
    return trial.life


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("outcome", FAULTS)
def test_a_day_before_the_handover_is_refused_with_the_cure(
    shop: str, way: Way, outcome: str
) -> None:
    early = Contact(on=BEFORE, outcome=Outcome(outcome))
    named = r"(contacts\[0\]\.on|day the car was heard of)"
    cure = rf"{named}: '{BEFORE}' lies before the handover of job 1 on {CLOSED}; give"
    with pytest.raises((InvalidField, Conflict), match=cure):
        keep(shop, way(shop, early))


@pytest.mark.parametrize("way", WAYS)
def test_a_day_to_come_is_refused(shop: str, way: Way) -> None:
    with pytest.raises(InvalidField, match="to come"):
        keep(shop, way(shop, Contact(on=FUTURE, outcome=Outcome.COMEBACK)))


@pytest.mark.parametrize("way", [each for each in WAYS if each is not by_undo])
@pytest.mark.parametrize(
    ("on", "outcome", "counts"),
    [
        (CLOSED, "comeback", Lifetime(1, failed=True)),
        (CLOSED, "held", Lifetime(0, failed=False)),
        (CLOSED, "other reason", Lifetime(0, failed=False)),
        (AFTER, "comeback", Lifetime(3, failed=True)),
        (AFTER, "held", Lifetime(3, failed=False)),
        (AFTER, "not told", Lifetime(0, failed=False)),
        (BEFORE, "not told", Lifetime(0, failed=False)),
    ],
)
def test_what_is_stored_counts_as_the_message_says(
    shop: str, way: Way, on: date, outcome: str, counts: Lifetime
) -> None:
    draft = way(shop, Contact(on=on, outcome=Outcome(outcome)))
    keep(shop, draft)
    assert life(shop) == counts
    if way in {by_line, by_part, by_follow_up}:
        said = "still counts as not heard of" in " ".join(draft.notices)
        assert said == (on == CLOSED and outcome in {"held", "other reason"})


def test_a_contact_that_names_no_day_is_of_today(shop: str) -> None:
    told = parse_contact("held", TODAY)
    for draft in (
        add_part(shop, 1, told),
        add_line(shop, 1, "held", today=TODAY),
        heard(shop, 1, Outcome.HELD, today=TODAY),
        edit_job(shop, 1, ["contacts[0]=held"], today=TODAY),
    ):
        assert draft.job.contacts[0].on == TODAY


def test_a_handover_moved_by_somebody_else_meanwhile_is_no_way_round(shop: str) -> None:
    draft = add_part(shop, 1, Contact(on=AFTER, outcome=Outcome.COMEBACK))
    later = edit_job(shop, 1, [f"closed={AFTER + timedelta(days=1)}"], today=TODAY)
    keep(shop, later, who="CW")
    with pytest.raises(Conflict, match="changed by somebody else"):
        keep(shop, draft, who="BT")


def test_what_an_older_store_has_so_is_no_matter_of_another_change(empty_store: str) -> None:
    put(empty_store, replace(FINISHED, contacts=(Contact(on=BEFORE, outcome=Outcome.COMEBACK),)))
    assert life(empty_store) == Lifetime(0, failed=False)
    kept = keep(empty_store, edit_job(empty_store, 1, ["odometer_km=91000"], today=TODAY))
    assert kept.job.odometer_km == 91_000
    mended = edit_job(empty_store, 1, [f"contacts[0].on={AFTER}"], today=TODAY)
    keep(empty_store, mended)
    assert life(empty_store) == Lifetime(3, failed=True)


def written(folder: Path, form: str, told: Job) -> Path:
    path = folder / f"jobs.{form}"
    record = job_to_record(told)
    if form == "jsonl":
        text = json.dumps(record)
    elif form == "csv":
        text = "\n".join(",".join(map(_quoted, row)) for row in (columns(), csv_row(told)))
    else:
        text = "[[job]]\n" + "".join(f"{key} = {_toml(value)}\n" for key, value in record.items())
    path.write_text(text + "\n", "utf-8")
    return path


def _quoted(text: object) -> str:
    return '"' + str("" if text is None else text).replace('"', '""') + '"'


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return json.dumps(value)


@pytest.mark.parametrize("form", ["jsonl", "csv", "toml"])
@pytest.mark.parametrize("uid", [None, "u1"])
@pytest.mark.parametrize("number", [None, 7])
@pytest.mark.parametrize("outcome", FAULTS)
def test_no_file_brings_in_a_day_before_the_handover(
    tmp_path: Path, empty_store: str, form: str, uid: str | None, outcome: str, number: int | None
) -> None:
    contact = Contact(on=BEFORE, outcome=Outcome(outcome))
    early = replace(FINISHED, uid=uid, number=number, contacts=(contact,))
    (reject,) = import_file(empty_store, written(tmp_path, form, early)).rejects
    assert (reject.field, reject.value) == ("contacts[0].on", str(BEFORE))
    assert reject.reason.startswith(f"lies before the handover of the job on {CLOSED}; mend one")


@pytest.mark.parametrize("form", ["jsonl", "csv", "toml"])
@pytest.mark.parametrize(
    ("on", "outcome", "counts"),
    [
        (CLOSED, Outcome.COMEBACK, Lifetime(1, failed=True)),
        (AFTER, Outcome.HELD, Lifetime(3, failed=False)),
        (BEFORE, Outcome.NOT_TOLD, Lifetime(0, failed=False)),
    ],
)
def test_what_a_file_brings_in_counts(
    tmp_path: Path, empty_store: str, form: str, on: date, outcome: Outcome, counts: Lifetime
) -> None:
    told = replace(FINISHED, contacts=(Contact(on=on, outcome=outcome),))
    assert import_file(empty_store, written(tmp_path, form, told)).added == 1
    assert life(empty_store) == counts


@pytest.mark.parametrize("form", ["jsonl", "csv", "toml"])
@pytest.mark.parametrize("uid", [None, "u1"])
def test_a_file_s_comeback_counts_from_the_day_its_words_tell(
    tmp_path: Path, empty_store: str, form: str, uid: str | None
) -> None:
    late = Contact(
        on=CLOSED + timedelta(days=50), outcome=Outcome.COMEBACK, words="came back after a week"
    )
    done = import_file(
        empty_store, written(tmp_path, form, replace(FINISHED, uid=uid, contacts=(late,)))
    )
    assert life(empty_store) == Lifetime(50 if uid else 7, failed=True)
    assert any("kept on the day that they tell" in each for each in done.notices) == (uid is None)


BEFORE_OPENING = FINISHED.opened - timedelta(days=3)
OPEN_WAYS = (by_line, by_part, by_edit, by_json, by_day_and_outcome, by_number)


@pytest.fixture
def open_shop(empty_store: str) -> str:
    """One open job of one car."""
    put(empty_store, replace(FINISHED, closed=None))
    return empty_store


@pytest.mark.parametrize("way", OPEN_WAYS)
@pytest.mark.parametrize("outcome", FAULTS)
def test_a_day_before_the_opening_is_refused_with_the_cure(
    open_shop: str, way: Way, outcome: str
) -> None:
    early = Contact(on=BEFORE_OPENING, outcome=Outcome(outcome))
    cure = rf"'{BEFORE_OPENING}' lies before job 1 was opened, on {FINISHED.opened}; give"
    with pytest.raises(InvalidField, match=cure):
        keep(open_shop, way(open_shop, early))


def test_what_tells_nothing_is_of_no_day_before_the_opening_either(shop: str) -> None:
    with pytest.raises(InvalidField, match="before job 1 was opened"):
        add_part(shop, 1, Contact(on=BEFORE_OPENING, outcome=Outcome.NOT_TOLD))


def test_a_job_may_not_be_opened_after_its_car_was_heard_of(open_shop: str) -> None:
    told = Contact(on=FINISHED.opened, outcome=Outcome.NOT_TOLD)
    keep(open_shop, add_part(open_shop, 1, told))
    later = FINISHED.opened + timedelta(days=1)
    with pytest.raises(InvalidField, match=r"give an earlier day.*contacts\[0\]="):
        edit_job(open_shop, 1, [f"opened={later}"], today=TODAY)


def test_what_is_stored_of_before_the_opening_stands_in_no_other_edits_way(
    empty_store: str,
) -> None:
    early = Contact(on=BEFORE_OPENING, outcome=Outcome.COMEBACK)
    put(empty_store, replace(FINISHED, closed=None, contacts=(early,)))
    keep(empty_store, edit_job(empty_store, 1, ["notes=towed in"], today=TODAY))
    assert show_job(empty_store, 1).job.notes == "towed in"


@pytest.mark.parametrize("uid", [None, "a1"])
def test_an_import_refuses_what_was_heard_before_the_opening(
    empty_store: str, tmp_path: Path, uid: str | None
) -> None:
    early = Contact(on=BEFORE_OPENING, outcome=Outcome.COMEBACK)
    told = replace(FINISHED, closed=None, uid=uid, contacts=(early,))
    file = tmp_path / "jobs.jsonl"
    file.write_text(json.dumps(job_to_record(told)))
    (reject,) = import_file(empty_store, file).rejects
    assert reject.reason.startswith(f"lies before the job was opened, on {told.opened}; mend one")
