"""A text that names a person or a car is taken out of every table, and out of the file's bytes."""

import string
import unicodedata
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.case import Cause, Contact, EntryKind, FailureMode, Job, JobEntry, Outcome, Vehicle
from kb.errors import InvalidField
from kb.store.condition import condition_of
from kb.store.database import open_store
from kb.store.erasing import MASK, Eraser, erase, places_of, scrub
from kb.store.history import ERASED
from kb.store.unit_of_work import UnitOfWork

DAY = date(2026, 3, 2)
VIN = "XX9ZZZ00000000001"
NAME, PHONE, PLATE, TAG = "Zoë Talle", "07700 900123", "QX12 CDE", "K-4471"


def told(number: int) -> Job:
    words = f"{NAME} rang from {PHONE}, car {PLATE}: no crank"
    return Job(
        number=number,
        vehicle=Vehicle(make="Corvane", model="Sela", vin=VIN, ref=TAG),
        opened=DAY,
        closed=DAY,
        complaint=words,
        cause=Cause(component=f"starter of {NAME}", failure_mode=FailureMode.OPEN),
        contacts=(Contact(on=DAY, outcome=Outcome.HELD, words=f"told {NAME.upper()}"),),
        entries=(JobEntry(kind=EntryKind.LINE, text=words),),
    )


def fill(address: str) -> None:
    with UnitOfWork(open_store(address), who="BT") as work:
        stored = work.jobs.add(told(1))
        work.jobs.add(replace(told(2), complaint="rattle", contacts=(), entries=(), cause=None))
        work.words.add("zt", [NAME])
        work.commit()
    with UnitOfWork(open_store(address), who="BT") as work:
        work.jobs.replace(replace(stored, complaint="no crank"))
        work.commit()


def everything(address: str) -> str:
    with UnitOfWork(open_store(address), read_only=True) as work:
        changes = [change for job in (1, 2) for change in work.changes.of(job)]
        return f"{list(work.jobs.all())} {changes} {work.words.all()}".casefold()


def test_nothing_of_a_person_or_a_car_can_be_read_afterwards(address: str) -> None:
    fill(address)
    eraser = Eraser([NAME, "07700900123", PLATE, VIN, TAG])
    found = places_of(address, eraser)
    assert {place.table for place in found} >= {
        *("jobs", "vehicles", "contacts", "entries", "changes", "words")
    }
    assert erase(address, eraser, who="MK") == found
    left = everything(address)
    for text in (NAME, PHONE, PLATE, VIN, TAG):
        assert text.casefold() not in left
    assert "rang from" in left
    assert places_of(address, eraser) == []
    with UnitOfWork(open_store(address), read_only=True) as work:
        first, second = work.jobs.get_many([1, 2])
        notes = [work.changes.of(number)[-1] for number in (1, 2)]
    assert (first.vehicle.vin, first.vehicle.ref, second.vehicle.ref) == (None, None, None)
    assert [(note.who, note.field, note.old, note.new) for note in notes] == [
        ("MK", ERASED, None, None)
    ] * 2
    assert scrub(address)
    assert everything(address) == left


def test_the_bytes_of_the_file_and_of_its_log_hold_nothing_of_it(sqlite_address: str) -> None:
    fill(sqlite_address)
    path = Path(sqlite_address)
    secrets = [PHONE.encode(), PLATE.encode(), VIN.encode(), TAG.encode(), b"Talle"]

    def held() -> set[bytes]:
        files = [each for each in path.parent.iterdir() if each.name.startswith(path.name)]
        content = b"".join(each.read_bytes() for each in files).lower()
        return {secret for secret in secrets if secret.lower() in content}

    assert held() == {*secrets}
    erase(sqlite_address, Eraser([NAME, PHONE, PLATE, VIN, TAG]))
    assert scrub(sqlite_address)
    assert held() == set()
    assert condition_of(sqlite_address).is_sound


def test_who_still_reads_keeps_the_file_from_being_written_anew(
    sqlite_address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("kb.store.erasing.PATIENCE_SECONDS", 0.1)
    fill(sqlite_address)
    with UnitOfWork(open_store(sqlite_address), read_only=True) as work:
        work.jobs.count()
        erase(sqlite_address, Eraser([NAME]))
        assert not scrub(sqlite_address)
    assert scrub(sqlite_address)


@pytest.mark.parametrize("text", ["", "BT", "7", "- -"])
def test_a_text_that_may_stand_anywhere_is_refused(text: str) -> None:
    with pytest.raises(InvalidField, match="letters and digits"):
        Eraser([text])


def test_only_whole_words_are_masked() -> None:
    eraser = Eraser(["Ann", "QX12 CDE"])
    assert eraser.masked("Annual check, ann. qx12cde") == f"Annual check, {MASK * 3}. {MASK * 7}"


WORDS = st.text(string.ascii_letters + string.digits + "éöß", min_size=3, max_size=12)


@given(WORDS, st.sampled_from([" ", "-", "", "  ", ". "]), WORDS, st.booleans(), st.booleans())
def test_a_text_is_found_however_it_is_spaced(
    first: str, gap: str, second: str, upper: bool, apart: bool
) -> None:
    written = f"{first}{gap}{second}"
    if upper and len(written.upper()) == len(written):
        written = written.upper()
    if apart:
        written = unicodedata.normalize("NFD", written)
    masked = Eraser([f"{first} {second}"]).masked({"a": ["-", f"x {written}, y"]})
    assert masked == {"a": ["-", f"x {MASK * len(written)}, y"]}
