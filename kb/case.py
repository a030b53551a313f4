"""The vocabulary of the case base: frozen values with no storage, numbers library or printing.

A `Job` is one visit of one vehicle for one complaint. A closed job with a cause is a **case**
(`Job.is_case`): only cases are recalled and counted. Dates are calendar days of the workshop;
measured values are held in the unit of their quantity (`Quantity.unit`) with the typed text kept
beside them. A field that is ``None`` or empty was not recorded; it never means "no" or "zero".

Field names and types are the ones of the published JSON Schema (``kb schema``).
"""

import math
import re
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any, Self

from kb.errors import InvalidField

CODE_PATTERN = re.compile(r"[PCBU][0-3][0-9A-F]{3}")
FAILURE_TYPE_PATTERN = re.compile(r"[0-9A-F]{2}")
VIN_PATTERN = re.compile(r"[A-HJ-NPR-Z0-9]{17}")
FIRST_YEAR, LAST_YEAR = 1900, 2100
LONGEST_TEXT = 10_000
LONGEST_KEY = 200
"""Of `Vehicle.ref`, `Job.uid` and the names of a `VehicleModel`, which the databases index."""
LARGEST_INTEGER = 2**31 - 1
_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")


class System(StrEnum):
    """The part of the vehicle a job was about."""

    RESTRAINTS = "restraints"
    CHARGING_STARTING = "charging and starting"
    FUEL_MIXTURE = "fuel and mixture"
    IGNITION = "ignition"
    COOLING = "cooling"
    BRAKES_WHEEL_SPEED = "brakes and wheel speed"
    BODY_ELECTRICS = "body electrics"
    STEERING_SUSPENSION = "steering and suspension"
    HIGH_VOLTAGE = "high voltage"
    ENGINE_MECHANICAL = "engine mechanical"
    TRANSMISSION = "transmission"
    CLIMATE = "climate"
    EXHAUST = "exhaust and emissions"
    OTHER = "other"


class FailureMode(StrEnum):
    """How a component failed."""

    OPEN = "open"
    HIGH_RESISTANCE = "high resistance"
    SHORT_TO_GROUND = "short to ground"
    SHORT_TO_SUPPLY = "short to supply"
    SHORT_BETWEEN_WIRES = "short between wires"
    INTERMITTENT = "intermittent"
    INTERNAL_FAULT = "internal fault"
    WORN = "worn"
    LEAKING = "leaking"
    SEIZED = "seized"
    BLOCKED = "blocked"
    CONTAMINATED = "contaminated"
    LOOSE = "loose"
    OUT_OF_ADJUSTMENT = "out of adjustment"
    SOFTWARE = "software"
    MECHANICAL_DAMAGE = "mechanical damage"
    WRONG_PART = "wrong part"
    UNKNOWN = "unknown"


class Action(StrEnum):
    """What an attempt did to its component."""

    REPLACED = "replaced"
    REPAIRED = "repaired"
    CLEANED = "cleaned"
    RESEATED = "reseated"
    TIGHTENED = "tightened"
    ADJUSTED = "adjusted"
    LUBRICATED = "lubricated"
    REFILLED = "refilled"
    CHARGED = "charged"
    REROUTED = "rerouted"
    CLEARED = "cleared"
    REPROGRAMMED = "reprogrammed"
    REMOVED = "removed"
    OTHER = "other"


class Quantity(StrEnum):
    """What was measured. `unit` is the unit that values of the quantity are held in."""

    RESISTANCE = "resistance"
    VOLTAGE = "voltage"
    CURRENT = "current"
    PRESSURE = "pressure"
    TEMPERATURE = "temperature"
    FREQUENCY = "frequency"
    ROTATION = "rotation"
    TIME = "time"
    LENGTH = "length"
    SPEED = "speed"
    MASS_FLOW = "mass flow"
    TORQUE = "torque"
    ANGLE = "angle"
    PROPORTION = "proportion"
    COUNT = "count"

    @property
    def unit(self) -> str:
        """SI unit symbol; °C, rpm, ° and % where the trade never uses the SI one."""
        return _UNITS[self]


_UNITS = {
    Quantity.RESISTANCE: "Ω",
    Quantity.VOLTAGE: "V",
    Quantity.CURRENT: "A",
    Quantity.PRESSURE: "Pa",
    Quantity.TEMPERATURE: "°C",
    Quantity.FREQUENCY: "Hz",
    Quantity.ROTATION: "rpm",
    Quantity.TIME: "s",
    Quantity.LENGTH: "m",
    Quantity.SPEED: "m/s",
    Quantity.MASS_FLOW: "g/s",
    Quantity.TORQUE: "N·m",
    Quantity.ANGLE: "°",
    Quantity.PROPORTION: "%",
    Quantity.COUNT: "",
}


class Relation(StrEnum):
    """How the true value lies to the recorded one."""

    EXACT = "exact"
    BELOW = "below"
    ABOVE = "above"
    RANGE = "range"
    OVER_RANGE = "over range"
    """Beyond the instrument: OL, open. There is no number, and none is made up."""


class Stage(StrEnum):
    """When in the job a reading was taken."""

    AS_FOUND = "as found"
    DURING_TEST = "during a test"
    AFTER_FIX = "after the fix"


class CodeStatus(StrEnum):
    """What the control unit says of a code."""

    CURRENT = "current"
    PENDING = "pending"
    STORED = "stored"


class Handedness(StrEnum):
    """On which side the driver sits."""

    LEFT = "left-hand drive"
    RIGHT = "right-hand drive"


class Outcome(StrEnum):
    """What was found when the vehicle was next heard of."""

    HELD = "held"
    COMEBACK = "comeback"
    OTHER_REASON = "other reason"
    """Seen again for something else; the fix was not asked about but nobody complained."""


class LinkKind(StrEnum):
    """What one part of a circuit is, in the order from the control unit to the component."""

    CONTROL_UNIT = "control unit"
    HARNESS = "harness"
    CLOCK_SPRING = "clock spring"
    CONNECTOR = "connector"
    COMPONENT = "component"


class Precondition(StrEnum):
    """What must be so, and be confirmed by somebody, before a step that could hurt."""

    SUPPLY_OFF = "supply off and waited"
    HIGH_VOLTAGE_OFF = "high voltage isolated"
    AIRBAG_OFF = "airbag off the clock spring"


class Proof(StrEnum):
    """What shows that a repair has worked."""

    IN_BAND = "reading back in band"
    LIKE_TWIN = "reading like its twin"
    SELF_TEST = "self-test passed"
    CODE_GONE = "code cleared and not returned"
    DRIVEN = "road or load test passed"
    TERMINALS = "terminals checked"


def _check_texts(value: Any) -> None:
    """Refuse text that one of the two databases could not hold and return unchanged."""
    for name in value.__slots__:
        content = getattr(value, name)
        if isinstance(content, str):
            check_text(name, content)
        elif isinstance(content, tuple):
            for text in content:
                if isinstance(text, str):
                    check_text(name, text)


def check_text(field: str, text: str) -> None:
    """Check that a text can be stored and comes back the same.

    Raises
    ------
    InvalidField
        If the text is too long, or holds control characters or half a surrogate pair.
    """
    if len(text) > LONGEST_TEXT:
        raise InvalidField(field, text, f"is longer than {LONGEST_TEXT:,} characters; shorten it")
    if found := _UNPRINTABLE.search(text):
        raise InvalidField(field, text, f"holds the unprintable {found.group()!r}; remove it")


def _check_key(field: str, text: str | None) -> None:
    if text is not None and len(text) > LONGEST_KEY:
        raise InvalidField(field, text, f"is longer than {LONGEST_KEY} characters; shorten it")


def _check_required(field: str, text: str) -> None:
    if not text.strip():
        raise InvalidField(field, text, "is empty; write a word or two")


def _check_count(field: str, value: int | None, least: int = 0) -> None:
    if value is not None and not least <= value <= LARGEST_INTEGER:
        raise InvalidField(
            field, value, f"must be a whole number from {least} to {LARGEST_INTEGER}"
        )


def _check_finite(field: str, value: float | None) -> None:
    try:
        held = value is None or (math.isfinite(value) and float(value) == value)
    except OverflowError:
        held = False
    if not held:
        raise InvalidField(field, value, "is not a number that can be held")


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """One car. `ref` is the shop's own key for it (never a plate); it makes visits one car's."""

    make: str | None = None
    model: str | None = None
    year: int | None = None
    engine: str | None = None
    vin: str | None = None
    ref: str | None = None

    def __post_init__(self) -> None:
        _check_texts(self)
        for name in ("make", "model", "engine", "vin", "ref"):
            text = getattr(self, name)
            if text is not None:
                _check_required(name, text)
        _check_key("ref", self.ref)
        if self.year is not None and not FIRST_YEAR <= self.year <= LAST_YEAR:
            raise InvalidField("year", self.year, f"must lie in {FIRST_YEAR} to {LAST_YEAR}")
        if self.vin is not None and not VIN_PATTERN.fullmatch(self.vin):
            raise InvalidField("vin", self.vin, "must be 17 capitals or digits without I, O and Q")

    @property
    def key(self) -> tuple[str, str] | None:
        """What makes two visits one car's: its ref, else its vin; None if neither is known."""
        if self.ref is not None:
            return ("ref", self.ref)
        return None if self.vin is None else ("vin", self.vin)

    @property
    def label(self) -> str:
        """Make, model, year and engine, as far as they are known."""
        known = (self.make, self.model, self.year, self.engine)
        return " ".join(str(part) for part in known if part) or "unknown vehicle"


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleModel:
    """One line of the shop's list of vehicles: a model, or one generation of it.

    Years are model years, both included; None is open at that end. `engines` are written as
    `Vehicle.engine` is.
    """

    make: str
    model: str
    generation: str | None = None
    first_year: int | None = None
    last_year: int | None = None
    platform: str | None = None
    engines: tuple[str, ...] = ()
    handedness: Handedness | None = None

    def __post_init__(self) -> None:
        _check_texts(self)
        for name in ("make", "model", "generation", "platform"):
            text = getattr(self, name)
            if text is not None:
                _check_required(name, text)
                _check_key(name, text)
        for engine in self.engines:
            _check_required("engines", engine)
        for name in ("first_year", "last_year"):
            year = getattr(self, name)
            if year is not None and not FIRST_YEAR <= year <= LAST_YEAR:
                raise InvalidField(name, year, f"must lie in {FIRST_YEAR} to {LAST_YEAR}")
        if self.first_year and self.last_year and self.last_year < self.first_year:
            raise InvalidField("last_year", self.last_year, f"lies before {self.first_year}")

    @property
    def key(self) -> tuple[str, str, str]:
        """Make, model and generation with case and spacing evened out: one line has each."""
        return (even(self.make), even(self.model), even(self.generation or ""))

    @property
    def label(self) -> str:
        """Make, model, generation and years: ``Corvane Lido second 2016–2021``."""
        named = [part for part in (self.make, self.model, self.generation) if part]
        if self.first_year or self.last_year:
            named.append(f"{self.first_year or ''}–{self.last_year or ''}")
        return " ".join(named)

    def built_in(self, year: int) -> bool:
        """Whether cars of this line have that model year, as far as its years are known."""
        return (self.first_year or year) <= year <= (self.last_year or year)


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleCode:
    """A diagnostic trouble code; structure as in SAE J2012 / ISO 15031-6."""

    code: str
    failure_type: str | None = None
    status: CodeStatus | None = None

    def __post_init__(self) -> None:
        if not CODE_PATTERN.fullmatch(self.code):
            raise InvalidField(
                "code", self.code, "must be P, C, B or U, then 0 to 3, then three hex digits"
            )
        if self.failure_type is not None and not FAILURE_TYPE_PATTERN.fullmatch(self.failure_type):
            raise InvalidField("failure_type", self.failure_type, "must be two hex digits")

    def __str__(self) -> str:
        return f"{self.code}-{self.failure_type}" if self.failure_type else self.code

    @property
    def family(self) -> str:
        """The code without its last two digits: system and subsystem, as ``P03``."""
        return self.code[:3]

    @property
    def system_letter(self) -> str:
        """P powertrain, C chassis, B body, U network."""
        return self.code[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measured value.

    `value` (and `upper`, for a range) are in ``quantity.unit``; `typed` is what was written.
    `proved_good` says whether the item measured turned out to be good (None: not known).
    """

    item: str
    quantity: Quantity
    typed: str
    relation: Relation = Relation.EXACT
    value: float | None = None
    upper: float | None = None
    position: str | None = None
    method: str | None = None
    condition: str | None = None
    stage: Stage = Stage.AS_FOUND
    proved_good: bool | None = None

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_required("item", self.item)
        _check_required("typed", self.typed)
        _check_finite("value", self.value)
        _check_finite("upper", self.upper)
        if (self.value is None) != (self.relation is Relation.OVER_RANGE):
            raise InvalidField("value", self.value, f"does not fit the relation '{self.relation}'")
        if (self.upper is None) != (self.relation is not Relation.RANGE):
            raise InvalidField("upper", self.upper, f"does not fit the relation '{self.relation}'")
        if self.value is not None and self.upper is not None and self.upper < self.value:
            raise InvalidField("upper", self.upper, f"lies below the range's start {self.value}")

    @property
    def place(self) -> str:
        """Item with its position: ``pretensioner, left front``."""
        return f"{self.item}, {self.position}" if self.position else self.item


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagnosticTest:
    """Something done to split the possible causes: what was done and what was seen.

    `points_to` and `clears` name the suspects it speaks for and against, in the shop's words.
    """

    name: str
    seen: str
    minutes: int | None = None
    points_to: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_required("name", self.name)
        _check_required("seen", self.seen)
        _check_count("minutes", self.minutes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """What was wrong: a component, where it sits, and how it failed.

    `location` is where such components sit ("under seat"), `position` which one of them it was
    ("left front"). Two causes are the same (`key`) if component, location and mode are.
    """

    component: str
    failure_mode: FailureMode
    location: str | None = None
    position: str | None = None
    words: str | None = None

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_required("component", self.component)

    @property
    def key(self) -> tuple[str, str, str]:
        """Component, location and failure mode with case and spacing evened out."""
        return (even(self.component), even(self.location or ""), self.failure_mode.value)

    @property
    def label(self) -> str:
        """One line: ``seat connector, under seat: high resistance``."""
        where = f", {self.location}" if self.location else ""
        return f"{self.component}{where}: {self.failure_mode}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One fix tried. `cured` says whether the complaint was gone at handover.

    `supposed` is the cause it was tried for, where that was not the job's final cause.
    `parts_cost` is in the shop's currency. `proofs` are what was done to make sure.
    """

    action: Action
    component: str
    words: str | None = None
    supposed: Cause | None = None
    parts_cost: float | None = None
    minutes: int | None = None
    cured: bool | None = None
    verified: str | None = None
    proofs: tuple[Proof, ...] = ()

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_required("component", self.component)
        _check_count("minutes", self.minutes)
        _check_finite("parts_cost", self.parts_cost)
        if self.parts_cost is not None and self.parts_cost < 0:
            raise InvalidField("parts_cost", self.parts_cost, "cannot be negative")

    @property
    def fix(self) -> tuple[str, str]:
        """What counts as the same fix: action and component, case and spacing evened out."""
        return (self.action.value, even(self.component))

    @property
    def label(self) -> str:
        """One line: ``cleaned seat connector``."""
        return f"{self.action} {self.component}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """One later sign of life of the vehicle. `job` is the comeback's own job number."""

    on: date
    outcome: Outcome
    odometer_km: int | None = None
    job: int | None = None
    words: str | None = None

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_count("odometer_km", self.odometer_km)
        _check_count("job", self.job, least=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One part of the circuit in question. `shorting_bars` bridge its pins when it is open."""

    name: str
    kind: LinkKind
    shorting_bars: bool = False

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_required("name", self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation:
    """Who confirmed, and when, that a precondition holds for one step. `at` is held as UTC."""

    what: Precondition
    step: str
    by: str
    at: datetime

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_required("step", self.step)
        _check_required("by", self.by)
        if self.at.tzinfo is None:
            raise InvalidField("at", str(self.at), "has no time zone; end it in Z for UTC")
        if not FIRST_YEAR < self.at.year < LAST_YEAR:
            raise InvalidField("at", str(self.at), f"must lie in {FIRST_YEAR} to {LAST_YEAR}")
        object.__setattr__(self, "at", self.at.astimezone(UTC))


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One visit of one vehicle for one complaint.

    `number` is the store's, `uid` is the job's own for life, whichever store it is in; both are
    None until the job is stored. `proved_by` says what proved the cause. The last attempt is
    the one that was left on the car. `circuit` runs from the control unit to the component.
    `reproduced` is False for a fault that was never seen to occur here.
    """

    vehicle: Vehicle
    opened: date
    complaint: str
    number: int | None = None
    uid: str | None = None
    system: System | None = None
    conditions: str | None = None
    odometer_km: int | None = None
    technician: str | None = None
    closed: date | None = None
    codes: tuple[TroubleCode, ...] = ()
    readings: tuple[Reading, ...] = ()
    tests: tuple[DiagnosticTest, ...] = ()
    cause: Cause | None = None
    proved_by: str | None = None
    attempts: tuple[Attempt, ...] = ()
    contacts: tuple[Contact, ...] = ()
    notes: str | None = None
    circuit: tuple[Link, ...] = ()
    confirmations: tuple[Confirmation, ...] = ()
    reproduced: bool | None = None

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_required("complaint", self.complaint)
        _check_count("number", self.number, least=1)
        _check_count("odometer_km", self.odometer_km)
        if self.uid is not None and not self.uid.strip():
            raise InvalidField("uid", self.uid, "is empty; leave it out to have one made")
        _check_key("uid", self.uid)
        for name in ("opened", "closed"):
            day = getattr(self, name)
            if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
                raise InvalidField(name, str(day), f"must lie in {FIRST_YEAR} to {LAST_YEAR}")
        if self.closed is not None and self.closed < self.opened:
            raise InvalidField("closed", str(self.closed), f"lies before opened, {self.opened}")

    @property
    def is_case(self) -> bool:
        """Closed with a cause: may be recalled and counted."""
        return self.closed is not None and self.cause is not None

    @property
    def state(self) -> str:
        """``open``, ``closed`` or ``closed without a cause``."""
        if self.closed is None:
            return "open"
        return "closed" if self.cause else "closed without a cause"


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """What a technician asks with: everything known of a vehicle's trouble before the cause.

    `tests` are what was looked at or tried so far, with what was seen.
    """

    text: str = ""
    codes: tuple[TroubleCode, ...] = ()
    readings: tuple[Reading, ...] = ()
    vehicle: Vehicle = Vehicle()
    conditions: str | None = None
    system: System | None = None
    tests: tuple[DiagnosticTest, ...] = ()

    @classmethod
    def of(cls, job: Job) -> Self:
        """The complaint of a job, as it stood before anything was found out."""
        return cls(
            text=job.complaint,
            codes=job.codes,
            readings=tuple(r for r in job.readings if r.stage is Stage.AS_FOUND),
            vehicle=job.vehicle,
            conditions=job.conditions,
            system=job.system,
        )

    @classmethod
    def so_far(cls, job: Job) -> Self:
        """The complaint of a job with everything its tests have shown until now."""
        return replace(cls.of(job), tests=job.tests)


def even(text: str) -> str:
    """Return a text in small letters with single spaces, as names are compared."""
    return " ".join(text.casefold().split())


def same_text(one: str | None, other: str | None) -> bool:
    """Whether two shop words are the same, case and spacing aside; missing equals nothing."""
    return one is not None and other is not None and even(one) == even(other)
