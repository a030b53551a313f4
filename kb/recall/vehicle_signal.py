"""Similarity of vehicles: make, model or platform, engine and year, over what both sides know."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.case import Vehicle, VehicleModel, even, same_text
from kb.recall.hashing import MISSING, Keys, key, keys

FACT_WEIGHTS = {"make": 0.3, "model": 0.4, "engine": 0.2}
"""With the year's a whole. By guess, in the order in which they say how a car is built; what the
vehicle as a whole weighs against other signals is learnt (`kb.settings.RecallSettings.weights`)."""
SAME_PLATFORM = 0.6
"""How much another model on the same platform is worth of the same model: more than half, for most
of what fails is shared, by guess."""
YEAR_WEIGHT = 0.1
"""The least of all: two cars of a model differ by year only where it was revised between them."""
YEAR_SPAN = 6
"""Cars this many years apart count as not alike in year: about how long a model is built (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class VehicleColumns:
    """One vehicle a row; keys are 0 and years 0 where not recorded."""

    make: Keys
    model: Keys
    engine: Keys
    year: NDArray[np.int16]

    def __len__(self) -> int:
        return len(self.year)

    def similarities(
        self, asked: Vehicle, platform_cars: Sequence[Vehicle] = ()
    ) -> NDArray[np.float32]:
        """Return the similarity of every row's vehicle, nan where nothing can be compared.

        `platform_cars` are make and model of cars on the same platform.
        """
        total = np.zeros(len(self.year), dtype=np.float32)
        weights = np.zeros(len(self.year), dtype=np.float32)
        for fact, weight in FACT_WEIGHTS.items():
            wanted = key(_name(asked, fact))
            if not wanted:
                continue
            column: Keys = getattr(self, fact)
            weights += weight * (column != MISSING)
            same = (column == np.uint64(wanted)).astype(np.float32)
            if fact == "model":
                same = np.maximum(same, SAME_PLATFORM * self._is_any(platform_cars))
            total += weight * same
        if asked.year is not None:
            known = self.year > 0
            apart = np.abs(self.year.astype(np.int32) - asked.year)
            weights += YEAR_WEIGHT * known
            total += YEAR_WEIGHT * known * np.maximum(0, 1 - apart / YEAR_SPAN)
        comparable = weights > 0
        result = np.full(len(self.year), np.nan, dtype=np.float32)
        result[comparable] = total[comparable] / weights[comparable]
        return result

    def _is_any(self, models: Sequence[Vehicle]) -> NDArray[np.bool_]:
        alike = np.zeros(len(self.year), dtype=np.bool_)
        for each in models:
            makes = self.make == np.uint64(key(_name(each, "make")))
            alike |= makes & (self.model == np.uint64(key(_name(each, "model"))))
        return alike

    def holds_model(self, asked: Vehicle) -> bool:
        """Whether any row is of the model asked about."""
        return bool((self.model == np.uint64(key(_name(asked, "model")))).any())


def build(rows: Sequence[Vehicle]) -> VehicleColumns:
    """Lay the vehicles of many jobs out as columns."""
    facts = {fact: keys(_name(vehicle, fact) for vehicle in rows) for fact in FACT_WEIGHTS}
    return VehicleColumns(
        **facts, year=np.array([vehicle.year or 0 for vehicle in rows], dtype=np.int16)
    )


def _name(vehicle: Vehicle, fact: str) -> str | None:
    text: str | None = getattr(vehicle, fact)
    return even(text) if text else None


def platform_cars(asked: Vehicle, models: Sequence[VehicleModel]) -> tuple[Vehicle, ...]:
    """Return make and model of the other cars that share a platform with the one asked about.

    `models` is the shop's list of vehicles.
    """
    platforms = {
        each.platform.casefold()
        for each in models
        if each.platform
        and same_text(each.model, asked.model)
        and (asked.make is None or same_text(each.make, asked.make))
        and (asked.year is None or each.built_in(asked.year))
    }
    return tuple(
        dict.fromkeys(
            Vehicle(make=each.make, model=each.model)
            for each in models
            if each.platform
            and each.platform.casefold() in platforms
            and not same_text(each.model, asked.model)
        )
    )
