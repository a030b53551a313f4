"""The shop's list of vehicles, as stored."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from kb.case import Handedness, VehicleModel
from kb.errors import InvalidField
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

FIRST = VehicleModel(
    make="Corvane", model="Lido", generation="first", first_year=2011, last_year=2016,
    platform="C1", engines=("1.2 petrol", "1.4 petrol"), handedness=Handedness.RIGHT,
)  # fmt: skip
SECOND = VehicleModel(make="Corvane", model="Lido", generation="second", first_year=2017)
PLAIN = VehicleModel(make="Bramwick", model="Dray")


def test_lines_come_back_in_order(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        for line in (SECOND, FIRST, PLAIN):
            work.models.add(line)
        work.commit()
    with UnitOfWork(engine, read_only=True) as work:
        assert work.models.all() == [PLAIN, FIRST, SECOND]
        assert work.changes.since(0) == []


def test_the_same_names_replace_a_line_and_count_as_a_change(engine: Engine) -> None:
    other = VehicleModel(make="corvane", model="LIDO", generation=" First", last_year=2015)
    with UnitOfWork(engine) as work:
        work.models.add(FIRST)
        before = work.changes.last()
        work.models.add(FIRST)
        assert work.changes.last() == before
        work.models.add(other)
        assert work.models.all() == [other]
        assert work.changes.last() == before + 1


def test_a_line_is_taken_off(engine: Engine) -> None:
    with UnitOfWork(engine) as work:
        work.models.add(FIRST)
        with pytest.raises(InvalidField, match="not on the shop's list"):
            work.models.remove(SECOND)
        work.models.remove(VehicleModel(make="corvane", model="lido", generation="FIRST"))
        assert work.models.all() == []


NAMES = st.text(st.characters(categories=["L", "N", "Zs"]), min_size=1, max_size=20).filter(
    lambda text: bool(text.strip())
)
YEARS = st.lists(st.none() | st.integers(1900, 2100), min_size=2, max_size=2).map(
    lambda pair: sorted(pair) if None not in pair else pair  # type: ignore[type-var]
)


@settings(max_examples=30)
@given(
    NAMES, NAMES, st.none() | NAMES, YEARS, st.lists(NAMES, max_size=3),
    st.none() | st.sampled_from(Handedness),
)  # fmt: skip
def test_any_line_comes_back_as_it_was(
    sqlite_address: str,
    make: str,
    model: str,
    generation: str | None,
    years: list[int | None],
    engines: list[str],
    handedness: Handedness | None,
) -> None:
    line = VehicleModel(
        make=make,
        model=model,
        generation=generation,
        first_year=years[0],
        last_year=years[1],
        engines=tuple(engines),
        handedness=handedness,
    )
    with UnitOfWork(open_store(sqlite_address)) as work:
        work.models.add(line)
        assert line in work.models.all()
        work.models.remove(line)
        assert work.models.all() == []
