"""The vocabulary of the case base: frozen values with no storage, numbers library or printing.

A `Job` is one visit of one vehicle for one complaint. A closed job with a cause is a **case**
(`Job.is_case`): only cases are recalled and counted. Dates are calendar days of the workshop;
measured values are held in the unit of their quantity (`Quantity.unit`) with the typed text kept
beside them. A field that is ``None`` or empty was not recorded; it never means "no" or "zero".

Field names and types are the ones of the published JSON Schema (``kb schema``), and so are the
docstrings. A type also says what its field may hold: see `kb.bounds`.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date
from enum import StrEnum
from itertools import pairwise
from typing import Any, NamedTuple, Self

from kb.bounds import (
    Bounded,
    CodeText,
    Cost,
    Count,
    Day,
    FailureTypeText,
    FilledText,
    Instant,
    KeyText,
    Minutes,
    Number,
    UidText,
    VinText,
    Year,
)
from kb.errors import InvalidField

UNREADABLE = "(unreadable)"
"""Stands where a complaint was that cannot be read any more: the job is asked about without it."""


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

    unit: str
    """SI unit symbol; °C, rpm, ° and % where the trade never uses the SI one."""

    RESISTANCE = "resistance", "Ω"
    VOLTAGE = "voltage", "V"
    CURRENT = "current", "A"
    PRESSURE = "pressure", "Pa"
    TEMPERATURE = "temperature", "°C"
    FREQUENCY = "frequency", "Hz"
    ROTATION = "rotation", "rpm"
    TIME = "time", "s"
    LENGTH = "length", "m"
    SPEED = "speed", "m/s"
    MASS_FLOW = "mass flow", "g/s"
    TORQUE = "torque", "N·m"
    ANGLE = "angle", "°"
    PROPORTION = "proportion", "%"
    COUNT = "count", ""
    MASS = "mass", "g"
    VOLUME = "volume", "ml"

    def __new__(cls, name: str, unit: str = "") -> Self:
        """Make a member that is its name, with its unit beside it."""
        member = str.__new__(cls, name)
        member._value_ = name
        member.unit = unit
        return member


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
    NOT_TOLD = "not told"
    """Heard of, or asked after in vain, but not how the fix fared; it counts for nothing."""


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
    FUEL_LET_DOWN = "fuel pressure let down"
    REFRIGERANT_OUT = "refrigerant drawn off"


class EntryKind(StrEnum):
    """What was typed: a complaint, a line of shop talk, or one part of a job."""

    COMPLAINT = "complaint"
    LINE = "line"
    NOTE = "note"
    CODE = "code"
    READING = "reading"
    TEST = "test"
    ATTEMPT = "attempt"
    CONTACT = "contact"
    CAUSE = "cause"
    PROOF = "proof"


OF_OTHERS = frozenset([EntryKind.COMPLAINT, EntryKind.CONTACT])
"""Entries that tell what a customer says, and no work of the shop."""


class Proof(StrEnum):
    """What shows that a repair has worked."""

    IN_BAND = "reading back in band"
    LIKE_TWIN = "reading like its twin"
    SELF_TEST = "self-test passed"
    CODE_GONE = "code cleared and not returned"
    DRIVEN = "road or load test passed"
    TERMINALS = "terminals checked"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEntry(Bounded):
    """What somebody typed, exactly as it was typed: never edited, whatever was lifted from it.

    `at` is held as UTC; it and `by` are None where nobody noted them.
    """

    kind: EntryKind
    text: FilledText
    at: Instant | None = None
    by: str | None = None

    def _check_together(self) -> None:
        if self.at is not None:
            object.__setattr__(self, "at", self.at.astimezone(UTC))


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidAt(Bounded):
    """Where a fact was said: from `start` to before `end` in that of the job's entries.

    All count from 0, places in characters.
    """

    entry: Count
    start: Count
    end: Count


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle(Bounded):
    """One car. `ref` is the shop's own key for it (never a plate); it makes visits one car's."""

    make: FilledText | None = None
    model: FilledText | None = None
    year: Year | None = None
    engine: FilledText | None = None
    vin: VinText | None = None
    ref: KeyText | None = None

    @property
    def key(self) -> tuple[str, str] | None:
        """What makes two visits one car's: its ref, else its vin; None if neither is known.

        A key tag in whatever spelling is one (`tag_key`).
        """
        if self.ref is not None:
            return ("ref", tag_key(self.ref))
        return None if self.vin is None else ("vin", self.vin)

    @property
    def label(self) -> str:
        """Make, model, year and engine, as far as they are known."""
        known = (self.make, self.model, self.year, self.engine)
        return " ".join(str(part) for part in known if part) or "unknown vehicle"

    @property
    def tagged(self) -> str:
        """Key tag and label."""
        return " ".join(filter(None, (self.ref, self.label)))


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleModel(Bounded):
    """One line of the shop's list of vehicles: a model, or one generation of it.

    Years are model years, both included; None is open at that end. `engines` are written as
    `Vehicle.engine` is.
    """

    make: KeyText
    model: KeyText
    generation: KeyText | None = None
    first_year: Year | None = None
    last_year: Year | None = None
    platform: KeyText | None = None
    engines: tuple[FilledText, ...] = ()
    handedness: Handedness | None = None

    def _check_together(self) -> None:
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


FAMILY = 3
"""Characters at the start of a code that name its family: system and subsystem, as ``P03``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleCode(Bounded):
    """A diagnostic trouble code; structure as in SAE J2012 / ISO 15031-6."""

    code: CodeText
    failure_type: FailureTypeText | None = None
    status: CodeStatus | None = None
    said: SaidAt | None = None

    def __str__(self) -> str:
        return f"{self.code}-{self.failure_type}" if self.failure_type else self.code

    @property
    def family(self) -> str:
        """The code without its last two digits: system and subsystem, as ``P03``."""
        return self.code[:FAMILY]

    @property
    def system_letter(self) -> str:
        """P powertrain, C chassis, B body, U network."""
        return self.code[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Bounded):
    """One measured value.

    `value` (and `upper`, for a range) are in ``quantity.unit``; `typed` is what was written.
    `proved_good` says whether the item measured turned out to be good (None: not known).
    """

    item: FilledText
    quantity: Quantity
    typed: FilledText
    relation: Relation = Relation.EXACT
    value: float | None = None
    upper: float | None = None
    position: str | None = None
    method: str | None = None
    condition: str | None = None
    stage: Stage = Stage.AS_FOUND
    proved_good: bool | None = None
    said: SaidAt | None = None

    def _check_together(self) -> None:
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
class DiagnosticTest(Bounded):
    """Something done to split the possible causes: what was done and what was seen.

    `points_to` and `clears` name the suspects it speaks for and against, in the shop's words.
    """

    name: FilledText
    seen: FilledText
    minutes: Minutes | None = None
    points_to: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    said: SaidAt | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause(Bounded):
    """What was wrong: a component, where it sits, and how it failed.

    `location` is where such components sit ("under seat"), `position` which one of them it was
    ("left front"). Two causes are the same (`key`) if component, location and mode are.
    """

    component: FilledText
    failure_mode: FailureMode
    location: str | None = None
    position: str | None = None
    words: str | None = None

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
class Attempt(Bounded):
    """One fix tried. `cured` says whether the complaint was gone at handover.

    `supposed` is the cause it was tried for, where that was not the job's final cause.
    `part_maker` is who made the part that was fitted; `parts_cost` is in the shop's currency.
    `proofs` are what was done to make sure.
    """

    action: Action
    component: FilledText
    words: str | None = None
    supposed: Cause | None = None
    part_maker: KeyText | None = None
    parts_cost: Cost | None = None
    minutes: Minutes | None = None
    cured: bool | None = None
    verified: str | None = None
    proofs: tuple[Proof, ...] = ()
    said: SaidAt | None = None

    @property
    def fix(self) -> tuple[str, str]:
        """What counts as the same fix: action and component, case and spacing evened out."""
        return (self.action.value, even(self.component))

    @property
    def label(self) -> str:
        """One line: ``cleaned seat connector``."""
        return f"{self.action} {self.component}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact(Bounded):
    """One later sign of life of the vehicle. `job` is the comeback's own job number.

    `by` are the initials of who told of it, None where nobody noted them.
    """

    on: date
    outcome: Outcome
    odometer_km: Count | None = None
    job: Number | None = None
    words: str | None = None
    by: str | None = None
    said: SaidAt | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Link(Bounded):
    """One part of the circuit in question. `shorting_bars` bridge its pins when it is open."""

    name: FilledText
    kind: LinkKind
    shorting_bars: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation(Bounded):
    """Who confirmed, and when, that a precondition holds for one step. `at` is held as UTC."""

    what: Precondition
    step: FilledText
    by: FilledText
    at: Instant

    def _check_together(self) -> None:
        object.__setattr__(self, "at", self.at.astimezone(UTC))


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Bounded):
    """One visit of one vehicle for one complaint.

    `number` is the store's, `uid` is the job's own for life, whichever store it is in; both are
    None until the job is stored. `proved_by` says what proved the cause. The last attempt is
    the one that was left on the car. `circuit` runs from the control unit to the component.
    `entries` are the words as they were typed, one for each time something was told. `complaint` is
    what the customer said without the codes, readings and vehicle that were lifted from it.
    `reproduced` is False for a fault that was never seen to occur here. `void` says why the job
    counts nowhere, though it can still be read; None for one that counts.
    """

    vehicle: Vehicle
    opened: Day
    complaint: FilledText
    number: Number | None = None
    uid: UidText | None = None
    system: System | None = None
    conditions: str | None = None
    odometer_km: Count | None = None
    technician: str | None = None
    closed: Day | None = None
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
    entries: tuple[JobEntry, ...] = ()
    void: FilledText | None = None

    def _check_together(self) -> None:
        if self.closed is not None and self.closed < self.opened:
            raise InvalidField("closed", str(self.closed), f"lies before opened, {self.opened}")

    @property
    def is_case(self) -> bool:
        """Closed with a cause, and not void: may be recalled and counted."""
        return self.closed is not None and self.cause is not None and self.void is None

    @property
    def state(self) -> str:
        """``open``, ``closed``, ``closed without a cause`` or ``void``."""
        if self.void is not None:
            return "void"
        if self.closed is None:
            return "open"
        return "closed" if self.cause else "closed without a cause"

    @property
    def complaint_as_typed(self) -> str:
        """The complaint in the words it was told in, as far as they were kept.

        One told anew is kept whole; where that was taken back, the first telling stands again.
        """
        typed = [each.text for each in self.entries if each.kind is EntryKind.COMPLAINT]
        return self.complaint if self.complaint in typed[1:] else (*typed, self.complaint)[0]


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
        """What a job was opened with: the complaint, codes, and readings as found; no test."""
        return cls(
            text="" if job.complaint == UNREADABLE else job.complaint,
            codes=job.codes,
            readings=tuple(r for r in job.readings if r.stage is Stage.AS_FOUND),
            vehicle=job.vehicle,
            conditions=job.conditions,
            system=job.system,
        )

    @classmethod
    def so_far(cls, job: Job) -> Self:
        """What a job was opened with, and every test made on it until now."""
        return replace(cls.of(job), tests=job.tests)

    @property
    def in_words_alone(self) -> bool:
        """Whether neither codes nor readings nor tests are told."""
        return not (self.codes or self.readings or self.tests)


class ToldIn(NamedTuple):
    """An entry that tells more than what was lifted from it, and where; see `SaidAt`."""

    text: str
    start: int
    end: int


class Tried(NamedTuple):
    """An attempt's part in a fix rate; names as in `Attempt`, `supposed` as in `RepairRecord`."""

    action: Action
    component: str
    words: str | None
    minutes: int | None
    parts_cost: float | None
    cured: bool | None
    fix: tuple[str, str]
    supposed: Any = None
    part_maker: str | None = None
    verified: str | None = None
    told_in: ToldIn | None = None


class Heard(NamedTuple):
    """A contact's part in a fix rate; names as in `Contact`."""

    on: date
    outcome: Outcome
    odometer_km: int | None
    job: int | None
    by: str | None = None


def tells_of_fix(heard: Contact | Heard, handed_over: date) -> bool:
    """Whether what was heard of a car tells anything of the fix it was handed over with.

    It does if how the fix fared was told, and not of a day before.
    """
    return heard.outcome is not Outcome.NOT_TOLD and heard.on >= handed_over


def is_too_soon(heard: Contact | Heard, handed_over: date | None) -> bool:
    """Whether a car is told to be good on the day of the handover: that tells nothing of a fix."""
    good = heard.outcome in {Outcome.HELD, Outcome.OTHER_REASON}
    return good and heard.on == handed_over


class LaterVisit(NamedTuple):
    """What fix rates need of a later job of a case's car.

    `kin` tells whether it has a code of the same family as one of the case; `cause` is as in
    `RepairRecord`, None unless it was proved and the job is closed.

    Where a comeback was told of an earlier job of the car, though the case's fix was on it by
    then, that is a later visit, too: `told_of` is that job, whose complaint, system and codes it
    has (and `kin` if the causes are equal); `number` is the job that the comeback names, else the
    earlier one itself.
    """

    number: int
    opened: date
    odometer_km: int | None
    system: System | None
    complaint: str
    kin: bool
    cause: Any
    position: str | None
    told_of: int | None = None


class Placed(NamedTuple):
    """A case, where its cause sits, what failed there and how."""

    number: int
    location: str | None
    component: str
    failure_mode: FailureMode


class CaseTests(NamedTuple):
    """What one case teaches of tests: what was tested on it, and what its cause proved to be."""

    number: int
    cause: Cause
    tests: Sequence[DiagnosticTest]


class CameBack(NamedTuple):
    """A job that came back with the same fault, as somebody judged, and the job as which it did.

    Causes are as in `RepairRecord`: those proved, None where a job has none or is still open.
    """

    number: int
    cause: Any
    later: int
    later_cause: Any


class FoundWrong(NamedTuple):
    """A case that came back with the same fault and proved another cause in the end.

    `cause` is as in `RepairRecord`; `later` the job that proved the other.
    """

    number: int
    cause: Any
    later: int


_MAY_NAME_IGNITER = re.compile(
    r"(?i)bag|srs|squib|tension|straff|igni|z[uü]nd|inflat|pyro|restrain|cuscin|coussin|poduszk|napina"
)


def may_name_igniter(text: str) -> bool:
    """Whether words may name an igniter: few of thousands of complaints have to be read for one.

    Examples
    --------
    >>> may_name_igniter("SRS lamp on"), may_name_igniter("no crank, clicks once")
    (True, False)
    """
    return bool(_MAY_NAME_IGNITER.search(text))


def outcome_told(name: str, seen: str) -> str:
    """Return what a test tells in one sentence."""
    return f"{name}: {seen}"


class RepairRecord(NamedTuple):
    """What fix rates need of one case, in plain values: a question may have to read thousands.

    `cause` is what makes two causes the same, `component` and `location` are its words, `car` is
    what makes two visits one car's; `visits` are all for which the car came at the handover or
    later, or while the job was still open on paper, and what was told of its earlier jobs since, in
    order of day and number. `told` is what else its own words tell as done, `heard` what others
    tell as it comes in, `since` what was heard of its car since, where the case may concern an
    igniter.
    """

    number: int
    cause: Any
    position: str | None
    car: Any
    opened: date
    closed: date
    odometer_km: int | None
    system: System | None
    proved_by: str | None
    reproduced: bool | None
    complaint: str
    component: str
    location: str | None
    attempts: Sequence[Tried]
    contacts: Sequence[Heard]
    visits: Sequence[LaterVisit]
    told: Sequence[str] = ()
    heard: Sequence[str] = ()
    since: Sequence[str] = ()


def even(text: str) -> str:
    """Return a text in small letters with single spaces, as names are compared."""
    return " ".join(text.casefold().split())


def tag_key(tag: str) -> str:
    """Return the form in which key tags are compared: without case, blanks, dashes, dots, slashes.

    A sign between two digits stays, for 1-12 and 11-2 are two cars.

    Examples
    --------
    >>> tag_key("K-031") == tag_key("k 031") == tag_key("K.031"), tag_key("1 -12"), tag_key("11.2")
    (True, '1-12', '11-2')
    """
    parts = re.split(r"[\s\-‐-―._/]+", tag.casefold().strip())
    return "".join(
        f"-{part}" if before[-1:].isdigit() and part[:1].isdigit() else part
        for before, part in pairwise(("", *parts))
    )


def same_text(one: str | None, other: str | None) -> bool:
    """Whether two shop words are the same, case and spacing aside; missing equals nothing."""
    return one is not None and other is not None and even(one) == even(other)
