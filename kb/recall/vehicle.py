"""Similarity of vehicles: make, model, engine and year, over what both sides know."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kb.case import Vehicle
from kb.recall.hashing import MISSING, Keys, key, keys

FACT_WEIGHTS = {"make": 0.3, "model": 0.4, "engine": 0.2}
YEAR_WEIGHT = 0.1
YEAR_SPAN = 6
"""Cars this many years apart count as not alike in year."""


@dataclass(frozen=True, slots=True)
class VehicleColumns:
    """One vehicle a row; keys are 0 and years 0 where not recorded."""

    make: Keys
    model: Keys
    engine: Keys
    year: NDArray[np.int16]

    def similarities(self, asked: Vehicle) -> NDArray[np.float32]:
        """Return the similarity of every row's vehicle, nan where nothing can be compared.

        Returns
        -------
        ndarray of float32, shape (n_rows,)
        """
        total = np.zeros(len(self.year), dtype=np.float32)
        weights = np.zeros(len(self.year), dtype=np.float32)
        for fact, weight in FACT_WEIGHTS.items():
            wanted = key(_name(asked, fact))
            if not wanted:
                continue
            column: Keys = getattr(self, fact)
            weights += weight * (column != MISSING)
            total += weight * (column == np.uint64(wanted))
        if asked.year is not None:
            known = self.year > 0
            apart = np.abs(self.year.astype(np.int32) - asked.year)
            weights += YEAR_WEIGHT * known
            total += YEAR_WEIGHT * known * np.maximum(0, 1 - apart / YEAR_SPAN)
        comparable = weights > 0
        result = np.full(len(self.year), np.nan, dtype=np.float32)
        result[comparable] = total[comparable] / weights[comparable]
        return result


def build(rows: Sequence[Vehicle]) -> VehicleColumns:
    """Lay the vehicles of many jobs out as columns."""
    return VehicleColumns(
        make=keys(_name(vehicle, "make") for vehicle in rows),
        model=keys(_name(vehicle, "model") for vehicle in rows),
        engine=keys(_name(vehicle, "engine") for vehicle in rows),
        year=np.array([vehicle.year or 0 for vehicle in rows], dtype=np.int16),
    )


def _name(vehicle: Vehicle, fact: str) -> str | None:
    text: str | None = getattr(vehicle, fact)
    return " ".join(text.casefold().split()) if text else None
