"""Edits as people type them."""

from contextlib import suppress
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import (
    Action,
    Attempt,
    Cause,
    CodeStatus,
    Contact,
    FailureMode,
    Job,
    Outcome,
    Quantity,
    Reading,
    Stage,
    System,
    TroubleCode,
    Vehicle,
)
from kb.errors import InvalidField
from kb.intake.edits import edited
from kb.intake.readings import parse_reading
from tests import strategies

TODAY = date(2026, 3, 2)
CAUSE = Cause(component="mat", failure_mode=FailureMode.OPEN)
CLEANED = Attempt(action=Action.CLEANED, component="plug", cured=True)
JOB = Job(
    number=12,
    uid="u12",
    vehicle=Vehicle(ref="K001", make="Corvane", year=2015),
    opened=date(2026, 3, 1),
    complaint="airbag lamp on",
    codes=(TroubleCode(code="B1234"), TroubleCode(code="U0100")),
    readings=(Reading(item="feed", quantity=Quantity.VOLTAGE, typed="4.1 V", value=4.1),),
    cause=CAUSE,
    attempts=(CLEANED,),
    notes="keys at desk",
)


def edit(*edits: str) -> Job:
    return edited(JOB, edits, today=TODAY)


@settings(max_examples=30)
@given(strategies.jobs())
def test_no_edit_changes_nothing(job: Job) -> None:
    assert edited(job, [], today=TODAY) == job


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("complaint=lamp = on", "complaint", "lamp = on"),
        ("odometer_km=81,000", "odometer_km", 81_000),
        ("opened=2026-02-27", "opened", date(2026, 2, 27)),
        ("closed = 2026-03-05", "closed", date(2026, 3, 5)),
        ("system=srs", "system", System.RESTRAINTS),
        ("conditions=wet", "conditions", "wet"),
        ("technician=MK", "technician", "MK"),
        ("proved_by=new mat reads steady", "proved_by", "new mat reads steady"),
        ("notes=", "notes", None),
        ("codes=p0301, p0302", "codes", (TroubleCode(code="P0301"), TroubleCode(code="P0302"))),
        ("codes=", "codes", ()),
        ("codes[0]=", "codes", (TroubleCode(code="U0100"),)),
        ("cause=", "cause", None),
        (
            "cause=worn clock spring",
            "cause",
            Cause(component="clock spring", failure_mode=FailureMode.WORN),
        ),
        ("cause.location=under seat", "cause", replace(CAUSE, location="under seat")),
        ("cause.failure_mode=Worn", "cause", replace(CAUSE, failure_mode=FailureMode.WORN)),
        ("vehicle.year=2016", "vehicle", Vehicle(ref="K001", make="Corvane", year=2016)),
        ("attempts[0].cured=no", "attempts", (replace(CLEANED, cured=False),)),
        ("attempts[0].parts_cost=12.50", "attempts", (replace(CLEANED, parts_cost=12.5),)),
        ("attempts=", "attempts", ()),
    ],
)
def test_every_kind_of_field_can_be_set(text: str, field: str, value: object) -> None:
    changed = edit(text)
    assert getattr(changed, field) == value
    others = [name for name in Job.__slots__ if name != field]
    assert all(getattr(changed, name) == getattr(JOB, name) for name in others)


def test_items_are_added_behind_the_last_and_set_in_their_place() -> None:
    changed = edit(
        "codes[2]=P0301 stored",
        "readings[1]=RF pretensioner 2.3 ohm",
        "attempts[1]=new clock spring, ok",
        "attempts[1].minutes=95",
        "tests[0]=wiggle test: jumps",
        "tests[0].clears=mat; plug",
        "contacts[0]=held",
    )
    assert changed.codes[2] == TroubleCode(code="P0301", status=CodeStatus.STORED)
    assert changed.readings[1].position == "right front"
    assert (changed.attempts[1].label, changed.attempts[1].minutes) == ("replaced clock spring", 95)
    assert changed.tests[0].clears == ("mat", "plug")
    assert changed.contacts[0].on == TODAY


def test_a_reading_typed_anew_is_read_anew() -> None:
    changed = edit("readings[0].typed=12 kPa", "readings[0].stage=after the fix").readings[0]
    assert (changed.value, changed.quantity) == (12_000, Quantity.PRESSURE)
    assert changed.stage is Stage.AFTER_FIX


def test_json_is_taken_for_what_has_parts() -> None:
    changed = edit(
        'cause={"component": "mat", "failure_mode": "worn"}', 'codes=["P0301", "P0302 stored"]'
    )
    assert changed.cause == Cause(component="mat", failure_mode=FailureMode.WORN)
    assert len(changed.codes) == 2


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("odometer_km", "field=value"),
        ("odometer=1", "did you mean odometer_km"),
        ("=1", "unknown name"),
        ("codes.code=P0301", "unknown name"),
        ("notes[0]=x", "unknown name"),
        ("codes[0][1]=x", "unknown name"),
        ("attempts[-1].cured=yes", r"has \[-1\] for a place in a list"),
        ("contacts[].job=1", r"has \[\] for a place"),
        ("readings[99999999999].value=1", r"has \[9+\] for a place"),
        ("number=3", "keeps it for life"),
        ("uid=x", "keeps it for life"),
        ("odometer_km=many", "is no distance"),
        ("odometer_km=-1", "is no distance"),
        ("opened=yesterday", "is no day"),
        ("opened=", "is missing"),
        ("closed=2020-01-01", "lies before opened"),
        ("complaint=", "is missing"),
        ("system=plumbing", "must be one of"),
        ("cause.failure_mode=tired", "must be one of"),
        ("cause.component=", "is missing"),
        ("codes[5]=P0301", "no place in a list of 2"),
        ("codes[2]=", "no place in a list of 2"),
        ("readings[3].typed=1 V", "no place in a list of 1"),
        ("codes=[", "is no JSON"),
        ("attempts[0].cured=perhaps", "is no yes or no"),
        ("complaint=x\0y", "unprintable"),
        ("vehicle.vin=short", "17"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_field(text: str, message: str) -> None:
    with pytest.raises(InvalidField, match=message):
        edit(text)


@settings(max_examples=200)
@given(
    st.sampled_from(
        [
            "codes",
            "cause",
            "readings[0]",
            "vehicle",
            "tests[0].clears",
            "attempts[0].cured",
            "opened",
            "contacts",
            "x[1][2]",
            "[0]",
            "codes[0].code",
            "notes.x",
        ]
    ),
    st.text(),
)
def test_any_edit_is_done_or_refused(path: str, text: str) -> None:
    with suppress(InvalidField):
        assert edit(f"{path}={text}").number == 12


@pytest.mark.parametrize("edit", ["circuit={\udc97", "reproduced=\udcff", "odometer_km=\udcff"])
def test_half_a_character_is_refused_with_its_field(edit: str) -> None:
    """What a command line holds where somebody typed bytes that are no text."""
    with pytest.raises(InvalidField, match=edit.partition("=")[0]):
        edited(JOB, [edit], today=TODAY)


HEARD = Contact(
    on=date(2025, 7, 1), outcome=Outcome.HELD, odometer_km=91_000, job=31, words="ok", by="BT"
)


@pytest.mark.parametrize(
    ("text", "outcome"), [("held, customer happy", "held"), ("came back", "comeback")]
)
def test_a_contact_told_anew_keeps_what_is_not_told(text: str, outcome: str) -> None:
    base = replace(JOB, contacts=(HEARD,))
    (after,) = edited(base, [f"contacts[0]={text}"], today=date(2026, 11, 28)).contacts
    assert str(after.outcome) == outcome
    assert (after.on, after.odometer_km, after.job, after.by) == (HEARD.on, 91_000, 31, "BT")


def test_a_contact_told_anew_takes_what_is_told() -> None:
    base, text = replace(JOB, contacts=(HEARD,)), "came back 2025-08-01 at 95 000 km as job 40"
    (after,) = edited(base, [f"contacts[0]={text}"], today=date(2026, 11, 28)).contacts
    assert (after.on, after.odometer_km, after.job) == (date(2025, 8, 1), 95_000, 40)
    with pytest.raises(InvalidField, match="no one day"):
        edited(base, ["contacts[0]=held, rang last week"], today=date(2026, 11, 28))


@pytest.mark.parametrize(
    ("field", "text", "told"),
    [
        ("contacts", "replaced wheel speed sensor connector, cured", "a fix"),
        ("contacts", "wiggle test: value jumps", "a test"),
        ("contacts", "battery 12.6 V", "a reading"),
        ("contacts", "P0335", "a code"),
        ("attempts", "came back 2025-12-02", "what was heard"),
        ("tests", "replaced sensor, cured", "a fix"),
        ("tests", "came back, same noise", "what was heard"),
        ("readings", "replaced sensor 12 V", "a fix"),
    ],
)
def test_text_of_another_kind_is_refused_with_the_cure(field: str, text: str, told: str) -> None:
    base = replace(JOB, contacts=(HEARD,))
    with pytest.raises(InvalidField, match=rf"tells {told}.*kb job add") as refused:
        edited(base, [f"{field}[0]={text}"], today=date(2026, 11, 28))
    assert refused.value.field == f"{field}[0]"


def test_work_within_what_was_heard_is_no_other_kind() -> None:
    base = replace(JOB, contacts=(HEARD,))
    told = ["contacts[0]=lamp on again, replaced connector"]
    assert edited(base, told, today=date(2026, 11, 28)).contacts[0].outcome is Outcome.COMEBACK


@pytest.mark.parametrize(
    ("text", "stage"),
    [
        ("battery 14.3 V @ idle", Stage.AFTER_FIX),
        ("battery 14.3 V, as found", Stage.AS_FOUND),
        ("battery 14.3 V after the fix", Stage.AFTER_FIX),
    ],
)
def test_a_reading_told_anew_keeps_its_stage(text: str, stage: Stage) -> None:
    before = replace(parse_reading("battery 41.3 V"), stage=Stage.AFTER_FIX)
    measured = replace(JOB, readings=(before,))
    changed = edited(measured, [f"readings[0]={text}"], today=date(2026, 3, 2))
    assert changed.readings[0].stage is stage
