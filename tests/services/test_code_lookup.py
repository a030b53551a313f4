"""Codes explained from a store."""

import pytest

from kb.case import System
from kb.errors import InvalidField
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, cautions_of
from kb.services.code_lookup import explain_codes
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

RESTRAINTS = cautions_of(Situation(systems=(System.RESTRAINTS,)), Wording.default())


def test_a_code_and_its_jobs(small_store: str) -> None:
    answer = explain_codes(small_store, "b1234")
    (sheet,) = answer.codes
    assert sheet.facts.words == "body, maker-defined"
    assert sheet.history.jobs == (1, 2)
    assert sheet.history.causes[0].cause.component == "seat connector"
    assert answer.together is None
    assert answer.cautions == RESTRAINTS


def test_counts_are_those_of_the_store(demo_store: str) -> None:
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        jobs = list(work.jobs.all())
    for text in ("P0171", "B1201-1F", "P0302", "U0121"):
        (sheet,) = explain_codes(demo_store, text).codes
        had = tuple(
            job.number for job in jobs if any(str(code).startswith(text) for code in job.codes)
        )
        assert sheet.history.jobs == had
        assert had


def test_several_codes_ranges_and_those_together(demo_store: str) -> None:
    answer = explain_codes(demo_store, "po301 to po304")
    assert [str(sheet.code) for sheet in answer.codes] == ["P0301", "P0302", "P0303", "P0304"]
    pair = explain_codes(demo_store, "P0301/P0304")
    assert pair.together is not None
    assert pair.together.jobs == (1162,)


def test_a_failure_type_never_read_names_the_others(demo_store: str) -> None:
    (sheet,) = explain_codes(demo_store, "B1201-13").codes
    assert sheet.history.jobs == ()
    assert dict(sheet.other_types).keys() == {"1B", "1F"}


def test_a_code_never_had_names_its_family(demo_store: str) -> None:
    (sheet,) = explain_codes(demo_store, "P0174").codes
    assert sheet.history.jobs == ()
    assert "P0171" in dict(sheet.relatives)
    assert all(code.startswith("P01") for code, _ in sheet.relatives)


def test_words_beside_codes_are_told(small_store: str) -> None:
    notices = explain_codes(small_store, "P0301 rough, P4171 B3001").notices
    assert any("“rough, P4171” is no code" in notice for notice in notices)
    assert any("P4171" in notice and "no code has" in notice for notice in notices)
    assert any("B3001: the standard has no such codes" in notice for notice in notices)


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("P171", "write P0171"),
        ("0171", "lacks its letter"),
        ("4H0B1234C", "only holds something like a code"),
        ("part number B1234", "number of another kind"),
        ("hello", "no trouble code|does not start with"),
        ("P03001", "a digit or letter too many"),
    ],
)
def test_what_only_looks_like_a_code_is_questioned(small_store: str, text: str, cure: str) -> None:
    with pytest.raises(InvalidField, match=cure):
        explain_codes(small_store, text)
