"""The shop's own words."""

import pytest
from sqlalchemy import Engine

from kb.errors import InvalidField
from kb.store.unit_of_work import UnitOfWork


def test_words_are_kept_and_counted_as_changes(engine: Engine) -> None:
    with UnitOfWork(engine, who="MK") as work:
        work.words.add(" LH ", ["left hand", "left"])
        work.words.add("w/s", ["wheel speed"])
        work.commit()
    with UnitOfWork(engine) as work:
        assert work.words.all() == {"lh": ("left hand", "left"), "w/s": ("wheel speed",)}
        before = work.changes.last()
        work.words.add("lh", ["left"])
        work.words.remove("W/S")
        assert work.words.all() == {"lh": ("left",)}
        assert work.changes.last() == before + 2
        assert work.changes.since(0) == []


def test_saying_the_same_again_is_no_change(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        work.words.add("lh", ["left"])
        before = work.changes.last()
        work.words.add("LH", ["left"])
        assert work.changes.last() == before


@pytest.mark.parametrize(
    ("short", "expansions"),
    [("", ["x"]), (" ", ["x"]), ("x" * 101, ["x"]), ("x\0", ["x"]), ("x", []), ("x", [" "])],
)
def test_words_that_cannot_be_kept_are_refused(
    engine: Engine, short: str, expansions: list[str]
) -> None:
    with UnitOfWork(engine) as work, pytest.raises(InvalidField):
        work.words.add(short, expansions)


def test_a_word_that_is_not_there_cannot_be_removed(engine: Engine) -> None:
    with UnitOfWork(engine) as work, pytest.raises(InvalidField, match="none of the shop's"):
        work.words.remove("lh")
