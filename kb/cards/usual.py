"""How parts usually fail, whichever shop mends them: common practice of the trade, no source.

It stands in for a shop's own cases only until there are some, so it tells one way of failing for a
kind of part, by the noun that ends its name, and for what is done about nothing else.
"""

from collections.abc import Mapping

from kb.case import Action, FailureMode

_BY_NOUN = {
    FailureMode.WORN: (
        "bearing pad disc drum shoe lining belt chain bush joint link mount mounting"
        " clutch tensioner pulley tyre blade brush battery starter roller guide sprocket"
        " flywheel end"
    ),
    FailureMode.LEAKING: (
        "seal gasket hose pipe radiator condenser cooler absorber damper reservoir line"
        " sump cylinder washer tank"
    ),
    FailureMode.BLOCKED: (
        "filter drain dpf strainer nozzle jet screen matrix core catalyst vent duct"
    ),
    FailureMode.HIGH_RESISTANCE: (
        "connector plug earth strap terminal cable contact splice ground lead"
    ),
    FailureMode.OPEN: "harness wire wiring loom heater element bulb fuse lamp",
    FailureMode.INTERNAL_FAULT: (
        "sensor unit module switch coil relay motor lock actuator solenoid meter camera"
        " radio alternator compressor regulator charger inverter mat display ecu pump"
        " injector valve"
    ),
    FailureMode.SEIZED: "caliper pin hinge thermostat latch slide wastegate",
    FailureMode.MECHANICAL_DAMAGE: (
        "spring rim bracket ring glass shield undertray housing boot gaiter arm"
        " windscreen mirror shaft"
    ),
    FailureMode.LOOSE: "cap clip nut bolt cover trim clamp screw",
    FailureMode.OUT_OF_ADJUSTMENT: "alignment tracking balance calibration stop",
    FailureMode.CONTAMINATED: "fluid oil fuel coolant gas throttle evaporator grille body",
}
_OF_NOUN: Mapping[str, FailureMode] = {
    **{noun: mode for mode, nouns in _BY_NOUN.items() for noun in nouns.split()},
    "spark plug": FailureMode.WORN,
    "glow plug": FailureMode.OPEN,
    "starter motor": FailureMode.WORN,
    "mass meter": FailureMode.CONTAMINATED,
    "clock spring": FailureMode.OPEN,
}
_OF_ACTION: Mapping[Action, FailureMode] = {
    Action.ADJUSTED: FailureMode.OUT_OF_ADJUSTMENT,
    Action.TIGHTENED: FailureMode.LOOSE,
    Action.RESEATED: FailureMode.LOOSE,
    Action.REPROGRAMMED: FailureMode.SOFTWARE,
    Action.LUBRICATED: FailureMode.SEIZED,
    Action.REFILLED: FailureMode.LEAKING,
    Action.CLEANED: FailureMode.CONTAMINATED,
    Action.CLEARED: FailureMode.BLOCKED,
    Action.REROUTED: FailureMode.MECHANICAL_DAMAGE,
}
_CLEANED_OFF = {FailureMode.BLOCKED, FailureMode.HIGH_RESISTANCE}
"""What else than dirt is mended by cleaning, where the part tells."""


_IN_USE = frozenset({"tyre", "wiper", "blade", "lining", "shoe", "bulb", "filter"})
"""What is renewed on every car at its time, whoever built it."""
_BRAKES_ON = frozenset({"pad", "disc", "drum"})
_NO_FILTERS = frozenset({"particulate", "particle", "soot", "dpf", "noise", "interference"})


def wears_in_use(component: str) -> bool:
    """Whether a part is one that every car wears out and has renewed.

    Examples
    --------
    >>> [each for each in ("front tyres", "brake pads", "cabin filter", "particulate filter",
    ...                    "ball joint", "wiper motor") if wears_in_use(each)]
    ['front tyres', 'brake pads', 'cabin filter']
    """
    words, kind = set(component.casefold().split()), kind_of(component)
    if kind in _BRAKES_ON:
        return bool(words & {"brake", "brakes"})
    return kind in _IN_USE and not words & _NO_FILTERS


def kind_of(component: str) -> str:
    """Return the kind of a part: the noun, or two words, that end its name, in the singular.

    Examples
    --------
    >>> kind_of("Front brake pads"), kind_of("spark plugs"), kind_of("clutch")
    ('pad', 'spark plug', 'clutch')
    """
    words = component.casefold().split()
    for name in (" ".join(words[-2:]), *words[-1:]):
        for noun in (name, name.removesuffix("s"), name.removesuffix("es")):
            if noun in _OF_NOUN:
                return noun
    return words[-1].removesuffix("s") or words[-1] if words else ""


def usual_failure(action: Action, component: str) -> FailureMode | None:
    """Return how a part usually had failed on which something was done; None where neither tells.

    Examples
    --------
    >>> usual_failure(Action.REPLACED, "radiator hose").value
    'leaking'
    >>> usual_failure(Action.CLEANED, "throttle body").value
    'contaminated'
    """
    mode = _OF_NOUN.get(kind_of(component))
    if action is Action.CLEANED and mode in _CLEANED_OFF:
        return mode
    return _OF_ACTION.get(action, mode)
