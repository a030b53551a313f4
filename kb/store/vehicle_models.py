"""The shop's own list of vehicles, as stored."""

from dataclasses import asdict, fields
from typing import Any

from sqlalchemy import delete, select

from kb.case import VehicleModel
from kb.errors import InvalidField
from kb.store.changes import Recording
from kb.store.tables import VEHICLE_MODELS

_FIELDS = tuple(field.name for field in fields(VehicleModel))
_QUERY = select(*VEHICLE_MODELS.c[_FIELDS])


class VehicleModels(Recording):
    """Models and generations as the shop defines them; one line for each `VehicleModel.key`."""

    def all(self) -> list[VehicleModel]:
        """Every line, by make and model in order of the alphabet, then by first year."""
        models = [_model(row) for row in self._connection.execute(_QUERY)]
        return sorted(models, key=lambda m: (m.key[:2], m.first_year or 0, m.key[2]))

    def add(self, model: VehicleModel) -> None:
        """Put a line on the list; the line with the same key is replaced."""
        before = self._find(model)
        if before == model:
            return
        self._delete(model)
        self._transaction.put(VEHICLE_MODELS, [{"key": _key(model), **_row(model)}])
        self._changes.note(None, f"vehicles.{_key(model)}", before and _row(before), _row(model))

    def remove(self, model: VehicleModel) -> None:
        """Take the line with the same key off the list.

        Raises
        ------
        InvalidField
            If there is none.
        """
        before = self._find(model)
        if before is None:
            raise InvalidField(
                "vehicle", _key(model), "is not on the shop's list; see it with 'kb vehicle list'"
            )
        self._delete(model)
        self._changes.note(None, f"vehicles.{_key(model)}", _row(before), None)

    def _find(self, model: VehicleModel) -> VehicleModel | None:
        same = VEHICLE_MODELS.c.key == _key(model)
        row = self._connection.execute(_QUERY.where(same)).first()
        return None if row is None else _model(row)

    def _delete(self, model: VehicleModel) -> None:
        same = VEHICLE_MODELS.c.key == _key(model)
        self._connection.execute(delete(VEHICLE_MODELS).where(same))


def _key(model: VehicleModel) -> str:
    return " / ".join(part for part in model.key if part)


def _row(model: VehicleModel) -> dict[str, Any]:
    return asdict(model) | {"engines": list(model.engines)}


def _model(row: Any) -> VehicleModel:
    content = dict(zip(_FIELDS, row, strict=True))
    return VehicleModel(**content | {"engines": tuple(content["engines"])})
