"""The tables, typed. What a case may not hold, the database refuses as well.

Column names are the field names of `kb.case`. A part of a job (code, reading, test, attempt,
contact, link, confirmation) is keyed by its job's number and its place in the job's list, so
order is kept.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    JSON,
    CheckConstraint,
    DateTime,
    Dialect,
    Double,
    Enum,
    ForeignKey,
    Index,
    MetaData,
    String,
    Text,
    TypeDecorator,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from kb.bounds import FIRST_YEAR, LAST_YEAR
from kb.case import (
    Action,
    CodeStatus,
    FailureMode,
    Handedness,
    LinkKind,
    Outcome,
    Precondition,
    Quantity,
    Relation,
    Stage,
    System,
)


class UtcTime(TypeDecorator[datetime]):
    """A moment; held as UTC without a zone, because SQLite keeps none."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """To UTC, zone dropped."""
        return value and value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Zone restored."""
        return value and value.replace(tzinfo=UTC)


class Base(DeclarativeBase):
    """Declarative base; constraints are named, so that migrations can change them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012
        str: Text,
        float: Double,
        datetime: UtcTime,
        list[str]: JSON,
        Any: JSON(none_as_null=True),
    }


def _choice(kind: type[StrEnum]) -> Enum:
    return Enum(
        kind,
        native_enum=False,
        length=40,
        values_callable=lambda members: [member.value for member in members],
    )


def _one_of(column: str, words: Iterable[str]) -> CheckConstraint:
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=column)


def _filled(column: str) -> CheckConstraint:
    return CheckConstraint(f"{column} <> ''", name=column)


def _at_least(column: str, least: int) -> CheckConstraint:
    return CheckConstraint(f"{column} >= {least}", name=column)


def _within_years(column: str) -> CheckConstraint:
    return CheckConstraint(
        f"{column} BETWEEN '{FIRST_YEAR}-01-01' AND '{LAST_YEAR}-12-31'", name=column
    )


def _cause_checks(prefix: str) -> tuple[CheckConstraint, ...]:
    """A cause has a component and a failure mode, or it has nothing at all."""
    component, mode = f"{prefix}_component", f"{prefix}_failure_mode"
    rest = " AND ".join(f"{prefix}_{name} IS NULL" for name in ("location", "position", "words"))
    return (
        _filled(component),
        _one_of(mode, FailureMode),
        CheckConstraint(f"({component} IS NULL) = ({mode} IS NULL)", name=f"{prefix}_whole"),
        CheckConstraint(f"{component} IS NOT NULL OR ({rest})", name=f"{prefix}_detail"),
    )


class VehicleRow(Base):
    """One car. `search` holds all its words with case evened out, for finding it by text."""

    __tablename__ = "vehicles"

    id: Mapped[int] = mapped_column(primary_key=True)
    ref: Mapped[str | None] = mapped_column(String(200), unique=True)
    vin: Mapped[str | None] = mapped_column(String(17), unique=True)
    make: Mapped[str | None]
    model: Mapped[str | None]
    year: Mapped[int | None]
    engine: Mapped[str | None]
    search: Mapped[str]

    __table_args__ = (
        _filled("ref"),
        CheckConstraint("length(vin) = 17", name="vin"),
        CheckConstraint(f"year BETWEEN {FIRST_YEAR} AND {LAST_YEAR}", name="year"),
    )


class JobRow(Base):
    """One visit. `cause_digest` stands for `Cause.key`, whose texts are too long to index."""

    __tablename__ = "jobs"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    uid: Mapped[str] = mapped_column(String(200), unique=True)
    vehicle_id: Mapped[int] = mapped_column(ForeignKey("vehicles.id"), index=True)
    opened: Mapped[date] = mapped_column(index=True)
    closed: Mapped[date | None]
    complaint: Mapped[str]
    system: Mapped[System | None] = mapped_column(_choice(System))
    conditions: Mapped[str | None]
    odometer_km: Mapped[int | None]
    technician: Mapped[str | None]
    cause_component: Mapped[str | None]
    cause_failure_mode: Mapped[FailureMode | None] = mapped_column(_choice(FailureMode))
    cause_location: Mapped[str | None]
    cause_position: Mapped[str | None]
    cause_words: Mapped[str | None]
    cause_digest: Mapped[str | None] = mapped_column(String(64), index=True)
    proved_by: Mapped[str | None]
    notes: Mapped[str | None]
    reproduced: Mapped[bool | None]

    __table_args__ = (
        _at_least("number", 1),
        _filled("uid"),
        _filled("complaint"),
        _within_years("opened"),
        _within_years("closed"),
        CheckConstraint("closed >= opened", name="closed_after_opened"),
        _one_of("system", System),
        _at_least("odometer_km", 0),
        *_cause_checks("cause"),
        CheckConstraint("(cause_component IS NULL) = (cause_digest IS NULL)", name="cause_digest"),
    )


class PartRow(Base):
    """What the parts of a job have in common."""

    __abstract__ = True

    job_number: Mapped[int] = mapped_column(
        ForeignKey("jobs.number"), primary_key=True, sort_order=-2
    )
    place: Mapped[int] = mapped_column(primary_key=True, autoincrement=False, sort_order=-1)


class CodeRow(PartRow):
    """A trouble code of a job."""

    __tablename__ = "codes"

    code: Mapped[str] = mapped_column(String(5), index=True)
    failure_type: Mapped[str | None] = mapped_column(String(2))
    status: Mapped[CodeStatus | None] = mapped_column(_choice(CodeStatus))

    __table_args__ = (
        CheckConstraint(
            "length(code) = 5 AND substr(code, 1, 1) IN ('P', 'C', 'B', 'U')"
            " AND substr(code, 2, 1) IN ('0', '1', '2', '3')",
            name="code",
        ),
        CheckConstraint("length(failure_type) = 2", name="failure_type"),
        _one_of("status", CodeStatus),
    )


class ReadingRow(PartRow):
    """A measured value of a job."""

    __tablename__ = "readings"

    item: Mapped[str]
    quantity: Mapped[Quantity] = mapped_column(_choice(Quantity))
    typed: Mapped[str]
    relation: Mapped[Relation] = mapped_column(_choice(Relation))
    value: Mapped[float | None]
    upper: Mapped[float | None]
    position: Mapped[str | None]
    method: Mapped[str | None]
    condition: Mapped[str | None]
    stage: Mapped[Stage] = mapped_column(_choice(Stage))
    proved_good: Mapped[bool | None]

    __table_args__ = (
        _filled("item"),
        _filled("typed"),
        _one_of("quantity", Quantity),
        _one_of("relation", Relation),
        _one_of("stage", Stage),
        CheckConstraint(
            f"(value IS NULL) = (relation = '{Relation.OVER_RANGE}')", name="value_fits_relation"
        ),
        CheckConstraint(
            f"(upper IS NOT NULL) = (relation = '{Relation.RANGE}')", name="upper_fits_relation"
        ),
        CheckConstraint("upper >= value", name="upper_above_value"),
    )


class TestRow(PartRow):
    """A diagnostic test of a job."""

    __tablename__ = "tests"
    __test__ = False

    name: Mapped[str]
    seen: Mapped[str]
    minutes: Mapped[int | None]
    points_to: Mapped[list[str]]
    clears: Mapped[list[str]]

    __table_args__ = (_filled("name"), _filled("seen"), _at_least("minutes", 0))


class AttemptRow(PartRow):
    """A fix tried on a job."""

    __tablename__ = "attempts"

    action: Mapped[Action] = mapped_column(_choice(Action))
    component: Mapped[str]
    words: Mapped[str | None]
    supposed_component: Mapped[str | None]
    supposed_failure_mode: Mapped[FailureMode | None] = mapped_column(_choice(FailureMode))
    supposed_location: Mapped[str | None]
    supposed_position: Mapped[str | None]
    supposed_words: Mapped[str | None]
    parts_cost: Mapped[float | None]
    minutes: Mapped[int | None]
    cured: Mapped[bool | None]
    verified: Mapped[str | None]
    proofs: Mapped[list[str]] = mapped_column(server_default="[]")

    __table_args__ = (
        _one_of("action", Action),
        _filled("component"),
        *_cause_checks("supposed"),
        _at_least("parts_cost", 0),
        _at_least("minutes", 0),
    )


class ContactRow(PartRow):
    """A later sign of life. `job` is no foreign key: it may name a job of another store."""

    __tablename__ = "contacts"

    on: Mapped[date]
    outcome: Mapped[Outcome] = mapped_column(_choice(Outcome))
    odometer_km: Mapped[int | None]
    job: Mapped[int | None]
    words: Mapped[str | None]

    __table_args__ = (
        _one_of("outcome", Outcome),
        _at_least("odometer_km", 0),
        _at_least("job", 1),
    )


class LinkRow(PartRow):
    """A part of the circuit that a job is about."""

    __tablename__ = "links"

    name: Mapped[str]
    kind: Mapped[LinkKind] = mapped_column(_choice(LinkKind))
    shorting_bars: Mapped[bool]

    __table_args__ = (_filled("name"), _one_of("kind", LinkKind))


class ConfirmationRow(PartRow):
    """A precondition that somebody confirmed before a step."""

    __tablename__ = "confirmations"

    what: Mapped[Precondition] = mapped_column(_choice(Precondition))
    step: Mapped[str]
    by: Mapped[str]
    at: Mapped[datetime]

    __table_args__ = (_one_of("what", Precondition), _filled("step"), _filled("by"))


class ChangeRow(Base):
    """One field of one job that changed, or a shop word or vehicle (then there is no job)."""

    __tablename__ = "changes"

    sequence: Mapped[int] = mapped_column(primary_key=True)
    job: Mapped[int | None] = mapped_column(ForeignKey("jobs.number"))
    at: Mapped[datetime]
    who: Mapped[str | None]
    field: Mapped[str]
    old: Mapped[Any | None]
    new: Mapped[Any | None]

    __table_args__ = (Index(None, "job", "sequence"), _filled("field"))


class VehicleModelRow(Base):
    """A line of the shop's list of vehicles; `key` is `VehicleModel.key` as one text."""

    __tablename__ = "vehicle_models"

    key: Mapped[str] = mapped_column(String(700), primary_key=True)
    make: Mapped[str]
    model: Mapped[str]
    generation: Mapped[str | None]
    first_year: Mapped[int | None]
    last_year: Mapped[int | None]
    platform: Mapped[str | None]
    engines: Mapped[list[str]]
    handedness: Mapped[Handedness | None] = mapped_column(_choice(Handedness))

    __table_args__ = (
        *map(_filled, ("make", "model", "generation", "platform")),
        CheckConstraint(f"first_year BETWEEN {FIRST_YEAR} AND {LAST_YEAR}", name="first_year"),
        CheckConstraint(f"last_year BETWEEN {FIRST_YEAR} AND {LAST_YEAR}", name="last_year"),
        CheckConstraint("last_year >= first_year", name="years_in_order"),
        _one_of("handedness", Handedness),
    )


class WordRow(Base):
    """A word of the shop and what it stands for."""

    __tablename__ = "words"

    short: Mapped[str] = mapped_column(String(200), primary_key=True)
    expansions: Mapped[list[str]]

    __table_args__ = (_filled("short"),)
