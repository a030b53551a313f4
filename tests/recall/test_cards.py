"""Cards: every job is found by all that is written on it, as a case is by its complaint."""

from dataclasses import replace
from datetime import date
from pathlib import Path

from hypothesis import given

from kb.case import Action, Attempt, Complaint, Job, TroubleCode, Vehicle
from kb.intake.wording import Wording
from kb.recall.cards import Cards, passages, written_on
from kb.recall.features import Query
from kb.recall.index import Index
from kb.recall.recall import nearest
from kb.settings import Settings
from tests.recall.shop import CASES
from tests.strategies import jobs

WORDING, SETTINGS = Wording.default(), Settings()


def card(number: int, complaint: str, notes: str | None = None) -> Job:
    return Job(
        number=number,
        vehicle=Vehicle(model="Lido"),
        opened=date(2024, 1, number),
        complaint=complaint,
        notes=notes,
    )


CARDS = [
    card(1, "whistles at idle", "intake gasket torn, new gasket"),
    card(2, "battery flat", "glove box lamp stays on, latch bent back"),
    card(3, "comes in for P0301", "coil swapped, misfire follows it"),
]


def found(index: Index, text: str, *codes: str) -> list[int]:
    asked = Complaint(text=text, codes=tuple(TroubleCode(code=code) for code in codes))
    near = nearest(Query(complaint=asked), index, WORDING, SETTINGS.recall).neighbours
    return [each.number for each in near]


def test_a_job_is_found_by_complaint_by_notes_and_by_a_code_in_its_words() -> None:
    cards = Cards.fit(CARDS, WORDING, SETTINGS)
    assert found(cards, "whistles") == [1]
    assert found(cards, "torn gasket") == [1]
    assert found(cards, "glove box") == [2]
    assert found(cards, "", "P0301") == [3]
    assert found(cards, "wipers") == []


def test_what_was_done_is_found_too() -> None:
    attempt = Attempt(action=Action.REPLACED, component="idle valve", words="stuck open")
    cards = Cards.fit([*CARDS, replace(card(4, "stalls"), attempts=(attempt,))], WORDING, SETTINGS)
    assert found(cards, "idle valve")[0] == 4


def test_cases_and_cards_of_the_same_words_are_found_alike() -> None:
    bare = [replace(job, cause=None, vehicle=Vehicle(), system=None, codes=()) for job in CASES]
    cases = [replace(job, cause=CASES[0].cause) for job in bare]
    with_cause, without = (
        Index.fit(cases, WORDING, SETTINGS),
        Cards.fit(bare, WORDING, SETTINGS),
    )
    for job in CASES:
        assert found(with_cause, job.complaint) == found(without, job.complaint) != []


def test_a_card_written_since_is_found_and_an_edited_one_as_it_is_now() -> None:
    cards = Cards.fit(CARDS, WORDING, SETTINGS)
    edited = replace(CARDS[0], notes="throttle body cleaned")
    now = cards.with_changes([1, 4], [edited, card(4, "smells of fuel")], WORDING)
    assert len(now) == 4
    assert found(now, "throttle body") == [1]
    assert found(now, "gasket") == []
    assert found(now, "smells of fuel") == [4]


def test_cards_are_read_back_from_disk(tmp_path: Path) -> None:
    cards = Cards.fit(CARDS, WORDING, SETTINGS, sequence=7, mark="shop")
    cards.save(tmp_path)
    kept = Cards.load(tmp_path)
    assert kept is not None
    assert (kept.sequence, kept.mark, len(kept)) == (7, "shop", 3)
    assert found(kept, "torn gasket") == [1]
    assert Index.load(tmp_path) is None


def test_no_jobs_and_void_jobs_are_no_trouble() -> None:
    assert found(Cards.fit([], WORDING, SETTINGS), "anything") == []
    assert not Cards.takes(replace(CARDS[0], void="by mistake"))


@given(jobs())
def test_all_that_is_written_is_of_a_field_of_the_job(job: Job) -> None:
    told = list(passages(job))
    assert all(hasattr(job, field) and words for field, words in told)
    assert job.complaint_as_typed in written_on(job)
    for text in filter(None, (job.notes, job.conditions, job.proved_by, job.technician)):
        assert text in written_on(job)
