"""Whether what is told is the supply of the restraints' control unit, and no value of an igniter.

*SRS box fed 12.1*, *feed to SRS 9.8 V*, *alternator 16 V set the code in the unit*: the volts are
the car's, told of the unit or of the system as a whole. All of it is common practice, no source.
"""

from kb.safety.igniter_acts import TARGETS, is_supply_voltage, number_of, tells_supply
from kb.safety.igniter_clauses import Clause, is_fed_unit
from kb.safety.igniter_words import Aside, Role, words_in

_SYSTEM = frozenset(["airbag", "airbags"])
_VOLTS = frozenset(["v", "volt", "volts"])
_MEASURED = frozenset([Role.INSTRUMENT, Role.MEASURE, Role.PATH, Role.BRIDGE, Role.SUBSTITUTE])
_TOUCHED = frozenset([*TARGETS, Role.JOINED, Role.HARNESS])


def is_systems_supply(clause: Clause) -> bool:
    """Whether it is told what feeds the restraints as a whole: *feed to SRS 9.8 V*."""
    return clause.pieces[0].role is Role.RAIL and tells_supply(clause)


def is_fed_itself(clause: Clause) -> bool:
    """Whether it is told what the control unit is fed with: *SRS box fed 12.1, earth good*."""
    if clause.roles & (_MEASURED | _TOUCHED) or not is_fed_unit(clause.pieces, 0):
        return False
    volts = [number_of(piece) for piece in clause.pieces if piece.role is Role.VALUE]
    alone = len(clause.pieces) == _UNIT_AND_VERB
    return all(_LEAST_VOLTS <= each <= _MOST_VOLTS for each in volts) and (bool(volts) or alone)


_LEAST_VOLTS, _MOST_VOLTS = 9, 16
_UNIT_AND_VERB = 2


def lacks_power(clause: Clause) -> bool:
    """Whether the control unit is told to have no supply: *no power to the unit*."""
    if clause.roles & {*TARGETS, Role.CONTACT, Role.INSTRUMENT, Role.MEASURE, Role.VALUE}:
        return False
    lacking = [at for at, p in enumerate(clause.pieces) if p.text == "power to"]
    powers = sum(piece.role in {Role.POWER, Role.BRIDGE} for piece in clause.pieces)
    return (
        len(lacking) == powers == 1
        and clause.pieces[lacking[0] - 1].text == "no"
        and Role.UNIT in clause.roles
    )


def is_units_supply(clause: Clause) -> bool:
    """Whether a battery's voltage is told of the supply: *12 V at pin 7 of the unit*."""
    pieces = clause.pieces
    volts = [at for at, piece in enumerate(pieces) if piece.role is Role.VALUE]
    if any(not _PUT.isdisjoint(p.text for p in pieces[:at]) for at in volts):
        return False
    fed = pieces[0].role is Role.RAIL and not clause.roles & {Role.CONTACT, Role.HARNESS}
    fed &= {piece.text for piece in pieces if piece.role in TARGETS} <= _SYSTEM
    if fed and tells_supply(clause) and not clause.roles & {Role.INSTRUMENT, Role.MEASURE}:
        return True
    return (
        (Role.UNIT in clause.roles or fed)
        and not clause.roles & {Role.INSTRUMENT, Role.MEASURE, Role.JOINED}
        and bool(volts)
        and all(is_supply_voltage(pieces, at) or _is_no_supply(clause, at) for at in volts)
    )


_PUT = frozenset(["put", "puts", "putting", "applied", "apply", "gave", "give"])


def _is_no_supply(clause: Clause, at: int) -> bool:
    """Whether no volts are told of the control unit's own pin: *then 0 V at ecu pin 5*."""
    unit = clause.pieces[at + 1 : at + 2]
    none = number_of(clause.pieces[at]) == 0 and bool(unit) and unit[0].text in _VOLTS
    return none and Role.UNIT in clause.roles and clause.joiner in {"then", "but"}


def caused_code(clause: Clause) -> bool:
    """Whether the car's own voltage stored a code: *alternator 16 V set the code in the unit*."""
    source = clause.pieces[0].words[0].startswith(_SOURCES) or clause.pieces[0].text in _TOO_MUCH
    stored = words_in(Aside.CODE_WORDS) | _STORING
    plain = not clause.roles & (_MEASURED | (_TOUCHED - TARGETS) | {Role.CONTACT})
    named = all(p.text in _SYSTEM or _is_unit(p.words) for p in clause.pieces if p.role in TARGETS)
    volts = [number_of(piece) for piece in clause.pieces if piece.role is Role.VALUE]
    car = all(_LEAST_CRANKING <= each <= _MOST_CHARGED for each in volts)
    told = any(stored & {*p.words} for p in clause.pieces)
    return source and plain and named and car and told and _APPLIED.isdisjoint(clause.words)


def _is_unit(words: tuple[str, ...]) -> bool:
    return words[-1] in {"module", "box", "unit", "ecu"}


_SOURCES = ("alternator", "alt", "batt", "charg", "lichtmaschine", "alternateur", "alternator")
_TOO_MUCH = frozenset(["overcharge", "overcharging", "overvoltage", "undervoltage"])
_STORING = frozenset(["logged", "recorded", "setting", "caused", "triggered"])
_LEAST_CRANKING, _MOST_CHARGED = 5, 20
_APPLIED = frozenset(["put", "on", "across", "to", "onto", "fed", "applied", "touched", "held"])
