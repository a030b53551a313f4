"""What is watched: kept in order, with who and when, and by two at once."""

from datetime import date

import pytest
from sqlalchemy import Engine

from kb.errors import InvalidField
from kb.store.unit_of_work import UnitOfWork
from kb.store.watched import FACT, WatchAct

DAY = date(2026, 3, 2)
FACTS = [
    dict.fromkeys(FACT) | {"component": "seat connector", "make": "Corvane", "model": "Lido"},
    dict.fromkeys(FACT) | {"code": "B1201"},
]


def test_acts_are_kept_in_order_with_who_and_when(engine: Engine) -> None:
    with UnitOfWork(engine, who="FM") as work:
        work.watched.add(WatchAct.FOLLOW, FACTS[0], DAY)
        work.commit()
    with UnitOfWork(engine) as work:
        work.watched.add(WatchAct.SEEN, FACTS[1], DAY)
        work.commit()
    with UnitOfWork(engine, read_only=True) as work:
        kept = work.watched.all()
    assert [(each.act, each.who, each.fact, each.day) for each in kept] == [
        (WatchAct.FOLLOW, "FM", FACTS[0], DAY),
        (WatchAct.SEEN, None, FACTS[1], DAY),
    ]
    assert kept[0].at <= kept[1].at


def test_what_is_not_committed_is_not_kept(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        work.watched.add(WatchAct.FOLLOW, FACTS[0], DAY)
    with UnitOfWork(engine, read_only=True) as work:
        assert work.watched.all() == []


def test_a_name_that_no_store_holds_is_refused(engine: Engine) -> None:
    with UnitOfWork(engine) as work, pytest.raises(InvalidField, match="component"):
        work.watched.add(WatchAct.FOLLOW, FACTS[0] | {"component": "x\0"}, DAY)
