"""One way to ask: day, platform, and what is left out reach the past whoever asks."""

from dataclasses import replace
from datetime import date

import pytest

from kb.case import Complaint, Vehicle, VehicleModel
from kb.diagnosis.diagnose import Diagnosis, Knowledge, diagnose
from kb.intake.wording import Wording
from kb.recall.index import Index
from kb.settings import Settings
from tests.recall.shop import CASES, KIRI, LIDO

WORDING = Wording.default()
KNOWN = Knowledge(wording=WORDING, index=Index.fit(CASES, WORDING, Settings()), settings=Settings())
LAMP = Complaint(text="airbag lamp on", vehicle=LIDO)
SHARED = (
    VehicleModel(make="Corvane", model="Lido", platform="C2"),
    VehicleModel(make="Sunato", model="Kiri", platform="C2"),
)


def numbers(found: Diagnosis) -> set[int]:
    return {each.number for each in found.recalled.neighbours}


def test_the_ranking_is_of_what_was_recalled() -> None:
    found = diagnose(LAMP, KNOWN)
    assert numbers(found) >= {1, 3}
    total = sum(each.chance for each in found.ranking.causes) + found.ranking.not_seen_before
    assert total == pytest.approx(1.0)


def test_cars_of_the_same_platform_are_nearer() -> None:
    def nearness_of_the_kiri(known: Knowledge) -> float:
        found = diagnose(LAMP, known).recalled.neighbours
        parts = next(each.parts for each in found if each.number == 2)
        return next(part.similarity for part in parts if part.signal == "vehicle")

    assert CASES[1].vehicle == KIRI
    assert nearness_of_the_kiri(replace(KNOWN, models=SHARED)) > nearness_of_the_kiri(KNOWN)


def test_days_and_numbers_leave_cases_out() -> None:
    assert 1 not in numbers(diagnose(LAMP, KNOWN, without=[1]))
    assert numbers(diagnose(LAMP, KNOWN, since=date(2024, 2, 1))).isdisjoint({1})


def test_a_model_never_had_is_known_as_new() -> None:
    new = replace(LAMP, vehicle=Vehicle(make="Corvane", model="Tessel"))
    assert diagnose(new, KNOWN).recalled.new_model
    assert not diagnose(LAMP, KNOWN).recalled.new_model
