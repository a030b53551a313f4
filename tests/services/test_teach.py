"""Teaching from a store."""

from dataclasses import replace

import pytest

from kb.case import System
from kb.errors import KbError, Notice
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, cautions_of
from kb.services.teach import teach
from kb.settings import Settings
from tests.services.test_follow_up import CLOSED, job, put

RESTRAINTS = cautions_of(Situation(systems=(System.RESTRAINTS,)), Wording.default())


def test_the_demonstration_shop_teaches_its_seat_connectors(demo_store: str) -> None:
    taught = teach(demo_store, "airbag", Settings())
    assert taught.cautions[: len(RESTRAINTS)] == RESTRAINTS
    assert taught.lesson.causes[0].cause.component == "seat connector"
    assert "replaced pretensioner" in {miss.fix for miss in taught.lesson.failed_first}
    spans = {each.item: each for each in taught.lesson.readings if each.condition is None}
    good, bad = spans["pretensioner circuit"].good, spans["pretensioner circuit"].bad
    assert good is not None
    assert bad is not None
    assert good.middle is not None
    assert bad.middle is not None
    assert good.middle < bad.middle


@pytest.mark.parametrize("system", list(System))
def test_every_system_can_be_taught(demo_store: str, system: System) -> None:
    taught = teach(demo_store, system.value, Settings())
    assert taught.lesson.system is system
    assert bool(taught.lesson.cases) is not bool(taught.notices)


def test_what_names_no_system_is_taught_by_what_its_words_tell(empty_store: str) -> None:
    first = job("K1", CLOSED)
    complaints = ("blower dead on speeds 1 to 3", "makes a funny noise", "misfire when cold")
    others = [replace(first, complaint=each, system=None) for each in complaints]
    put(empty_store, replace(first, system=System.CLIMATE), *others)
    taught = teach(empty_store, "climate", Settings())
    assert taught.lesson.cases == 2


def test_a_lesson_has_the_cautions_of_its_causes(empty_store: str) -> None:
    """A pipe under high pressure, on a job that says nothing of a diesel."""
    pipe = job("K1", CLOSED, component="injector pipe")
    put(empty_store, replace(pipe, complaint="smells", system=System.FUEL_MIXTURE))
    taught = teach(empty_store, "fuel", Settings())
    assert any("goes through skin" in each for each in taught.cautions)


def test_an_empty_store_teaches_cautions_only(empty_store: str) -> None:
    taught = teach(empty_store, "cooling", Settings())
    assert taught.notices == (Notice.NO_CASES,)
    assert taught.cautions
    assert taught.lesson.causes == ()


def test_an_unknown_system_is_refused(empty_store: str) -> None:
    with pytest.raises(KbError, match="must be one of"):
        teach(empty_store, "zzz", Settings())
