"""Whether a clause says an allowed way of what it does to an igniter.

It is allowed only if it says itself one of the few ways in which such a thing may be done. All of
it is common practice, no source.
"""

from collections.abc import Collection, Sequence
from itertools import pairwise

from kb.safety.igniter_acts import (
    LEADING,
    NOUNS,
    OBJECTS,
    PARTS,
    SMALL,
    SOURCES,
    TARGETS,
    Reason,
    Told,
    acts_on,
    dangers_in,
    is_clear_of,
    is_small,
    number_of,
)
from kb.safety.igniter_clauses import COMMS, Clause, Piece
from kb.safety.igniter_denied import heads_warning, is_warning, stops_somebody, tells_not_done
from kb.safety.igniter_feed import (
    caused_code,
    is_fed_itself,
    is_systems_supply,
    is_units_supply,
    lacks_power,
)
from kb.safety.igniter_handling import is_other
from kb.safety.igniter_read_out import is_loop, is_value_named, keeps_source, tells_source
from kb.safety.igniter_words import Aside, Role, aside, role_of, words_in


def hear(told: Told, clause: Clause) -> None:
    """Note what a clause that may be shown has said."""
    said = clause.roles
    warns = is_warning(clause, list(dangers_in(clause, told)), None)
    told.measured |= bool(said & {Role.INSTRUMENT, Role.MEASURE}) and not warns
    told.named |= _names_target(clause) and said <= NOUNS and not _tells_it_off(clause)
    live = clause.by_scan_tool or _is_next_of_list(clause, told.listed)
    value = Role.VALUE in said and said & _NAMING
    told.listed = clause if live and (value or _is_means_alone(clause)) else None
    _hear_values(told, clause)
    if Role.JOINED in said or _tells_it_on(clause):
        told.apart = told.unit_off = told.end_off = told.beside = False
    elif Role.APART in said or _is_spring_out(clause):
        told.apart = True
    if Role.ISOLATE in said or "off" in clause.words or clause.words[-2:] in _PLUG_OUT:
        told.unit_off |= Role.UNIT in said
        told.end_off |= bool(said & {*TARGETS, Role.NEIGHBOUR}) or "seat" in clause.words
    told.isolated |= Role.ISOLATE in said
    told.under_power &= Role.ISOLATE not in said
    told.under_power |= Role.LIVE in said and not told.isolated
    told.grip |= Role.GRIP in said
    told.unit |= Role.UNIT in said
    told.coded |= bool(words_in(Aside.CODE_WORDS) & clause.vocabulary)
    told.refused = aside(Aside.REFUSAL).any_in(clause.words) or stops_somebody(clause)
    told.scanned &= not said & {Role.ISOLATE, Role.APART, Role.INSTRUMENT, Role.MEASURE}
    negated = bool({"not", "no", "nicht", "nie"} & set(clause.words[:2]))
    told.lamp |= Role.LAMP in said
    told.blinks |= bool(words_in(Aside.BLINKS) & clause.vocabulary)
    told.forbade = warns or heads_warning(clause)
    told.forbids = clause.stops_at_denial
    if Role.SUBSTITUTE in said:
        told.load = True
    elif clause.pieces[0].role is not Role.ONTO and said & _NOT_LOAD:
        told.load = False
    if Role.ISOLATE in said or _UNDOING & clause.vocabulary:
        told.heading = False
    elif clause.by_scan_tool and _WATCHING & clause.vocabulary:
        told.heading = True
    load_alone = {Role.SUBSTITUTE, Role.APART} <= said
    if (
        Role.NEIGHBOUR in said
        or load_alone
        or {Role.RAIL, Role.UNIT} <= said
        or is_systems_supply(clause)
        or (Role.UNIT in said and COMMS & clause.vocabulary)
    ):
        negated &= not (COMMS & clause.vocabulary)
        named = _names_target(clause) and not is_systems_supply(clause)
        told.beside = not (negated or named or _is_isolating(clause))
        told.by_scan = False
    elif clause.by_scan_tool:
        told.by_scan, told.beside = True, False
    elif (
        said & OBJECTS
        and not (told.beside and said <= _OWN_PLUG)
        and not (told.beside and told.apart and said <= _OWN_PLUG | {Role.ISOLATE})
        and not (Role.VALUE in said and _is_watched(clause, told))
        and not (told.beside and told.apart and _tells_it_off(clause))
    ):
        told.scanned |= told.by_scan and said <= _OWN_PLUG
        proved = said & {Role.CLOCK_SPRING, Role.HARNESS} and told.apart
        told.beside = bool(proved) and not _names_target(clause)
        told.by_scan = False


def _hear_values(told: Told, clause: Clause) -> None:
    """Note of whom the values are that follow: the scan tool's, or the maker's limits."""
    told.source = tells_source(clause) or (told.source and keeps_source(clause))
    told.limits = _names_limits(clause)


def are_ends_off(sentence: Sequence[Clause]) -> bool:
    """Whether a clause behind tells that both ends were free: *loom checked, both ends off*."""
    joined = any(Role.JOINED in clause.roles for clause in sentence)
    if not joined and _is_off(sentence, {Role.UNIT}) and _is_off(sentence, TARGETS):
        return True
    if not joined and is_spring_of_free_bag(sentence):
        return True
    spring = any(Role.CLOCK_SPRING in clause.roles for clause in sentence)
    spring &= not any(clause.roles & TARGETS for clause in sentence)
    return not joined and any(
        clause.joiner == ","
        and clause.pieces[0].role is Role.APART
        and (_has_both(clause) or (spring and clause.words[-1] in _APART_FROM_IT))
        for clause in sentence
    )


def is_spring_of_free_bag(sentence: Sequence[Clause]) -> bool:
    """Whether a clock spring alone is told of, with its bag unplugged and the battery off.

    *Wickelfeder Durchgang bei abgeklemmtem Airbag und Batterie ab*: each bag that is named is free.
    """
    pieces = [piece for clause in sentence for piece in clause.pieces]
    said = {piece.role for piece in pieces}
    if Role.CLOCK_SPRING not in said or said & _NO_SPRING:
        return False
    free = sum(_is_freed(clause) for clause in sentence)
    named = sum(piece.role in TARGETS for piece in pieces)
    battery = any(p.role is Role.ISOLATE and aside(Aside.BATTERY).any_in(p.words) for p in pieces)
    denied = any(words_in(Aside.DENIAL) & clause.vocabulary for clause in sentence)
    return battery and not denied and free == named > 0


_NO_SPRING = frozenset(
    [Role.CONTACT, Role.HARNESS, Role.LIVE, Role.JOINED, Role.BRIDGE, Role.POWER]
)


def _is_freed(clause: Clause) -> bool:
    """Whether it ends by telling of an igniter that it is unplugged: *bei abgeklemmtem Airbag*."""
    ends = [piece for piece in clause.pieces if not is_small(piece)][-_TWO_WORDS:]
    return {piece.role for piece in ends} in ({Role.ISOLATE, each} for each in TARGETS)


def _tells_it_off(clause: Clause) -> bool:
    """Whether a clause tells only that one end is off: *unit off*."""
    return len(clause.words) == _TWO_WORDS and _is_off([clause], OBJECTS)


def _tells_it_on(clause: Clause) -> bool:
    """Whether a clause tells only that an igniter is plugged: *bag on*."""
    on = len(clause.words) == _TWO_WORDS and clause.words[-1] in _PLUGGED
    return on and role_of(clause.words[0]) in TARGETS


_PLUGGED = frozenset(["on", "in", "plugged", "connected", "dran", "drin"])


_TWO_WORDS = 2


_APART_FROM_IT = frozenset(["car", "bench", "workbench"])


def _is_off(sentence: Sequence[Clause], ends: Collection[Role]) -> bool:
    """Whether a clause tells no more than that one end is off: *SRS unit off*, *bag off*."""
    if Role.UNIT in ends and any(clause.words in _BOX_OUT for clause in sentence):
        return True
    return any(
        len(clause.words) > 1
        and clause.words[-1] in _FREE
        and role_of(clause.words[-2]) in ends
        and clause.roles <= {*ends, Role.APART, Role.ISOLATE, Role.FUNCTION, Role.PLACE}
        for clause in sentence
    )


_FREE = frozenset(
    [*("off", "out", "unplugged", "disconnected", "abgesteckt", "abgeklemmt", "abgezogen"),
     *("debranche", "debranchee", "deconnecte", "odlaczony", "odlaczona", "odpieta", "odpiety")]
)  # fmt: skip


_BOX_OUT = (("box", "out"), ("box", "off"), ("the", "box", "out"), ("brain", "out"))


_PLUG_OUT = (("plug", "out"), ("plugs", "out"), ("box", "out"))


def _has_both(clause: Clause) -> bool:
    text = clause.pieces[0].words
    return len(text) > 2 and bool({"both", "each", "either", "and"} & set(text))


def _is_isolating(clause: Clause) -> bool:
    """Whether a clause only takes the battery or a fuse off."""
    neighbours = [piece.words[0] for piece in clause.pieces if piece.role is Role.NEIGHBOUR]
    return Role.ISOLATE in clause.roles and all(word.startswith(SOURCES) for word in neighbours)


def _is_spring_out(clause: Clause) -> bool:
    """Whether the clock spring is out of the car."""
    return Role.CLOCK_SPRING in clause.roles and clause.first and clause.words[-1:] in _OUT_OFF


_OUT_OFF = (("out",), ("off",), ("ausgebaut",), ("deposee",))


_WATCHING = frozenset(["watched", "watching", "watch", "logged", "logging"])


_NOT_LOAD = OBJECTS | {Role.NEIGHBOUR, Role.INSTRUMENT, Role.MEASURE}


_UNDOING = frozenset(["off", "out", "apart", "undone", "ab", "real", "then"])


_UNRELEASED = frozenset([Role.POWER, Role.BRIDGE, Role.PATH, Role.UNKNOWN])


def is_allowed(
    clause: Clause,
    dangers: Sequence[tuple[Piece, Reason]],
    told: Told,
    following: Clause | None,
) -> bool:
    """Whether a clause itself says an allowed way of what it does."""
    if tells_not_done(clause, dangers, told, following):
        told.not_done = (*told.not_done, clause)
        return True
    if _has_fired(clause, dangers):
        return True
    if (
        _is_stored(clause, dangers, told)
        or _is_limit(clause, dangers, told)
        or _is_damage(clause, dangers)
        or _is_length(clause, dangers)
    ):
        return True
    kinds = {piece.role for piece, _ in dangers}
    if (
        _is_done_to_neighbour(clause)
        or lacks_power(clause)
        or is_fed_itself(clause)
        or caused_code(clause)
        or _is_count(clause, dangers, told)
        or _heads_neighbour(clause, kinds, following)
    ):
        return True
    if _is_tools_verb(clause, dangers):
        kinds -= {Role.UNKNOWN}
    if kinds & _UNRELEASED and not _is_across_neighbour(clause, kinds, told):
        return False
    return (
        _is_live(clause, kinds, told, following)
        or _is_load(clause, kinds, following)
        or _is_beside(clause, told)
    )


def _is_done_to_neighbour(clause: Clause) -> bool:
    """Whether another part is the object of what is done: *bridged the horn relay*."""
    pieces = [p for p in clause.pieces if not is_small(p) and p.role is not Role.ONTO]
    done_to_it = any(
        before.role in {Role.ONTO, Role.POWER, Role.BRIDGE, Role.JUMP}
        and words_in(Aside.PRONOUN) & {*before.words, *after.words}
        for before, after in pairwise(clause.pieces)
    )
    if done_to_it or clause.roles & _MORE_THAN_NEIGHBOUR:
        return False
    others = [at for at, p in enumerate(pieces) if p.role in {Role.POWER, Role.BRIDGE, Role.JUMP}]
    plugs = [at for at, p in enumerate(pieces) if p.role in {Role.CONTACT, Role.HARNESS}]
    return any(
        _is_neighbour(pieces, at + 1) or _is_neighbour(pieces, at - 1) for at in others
    ) and all(_is_neighbour(pieces, at - 1) for at in plugs)


_MORE_THAN_NEIGHBOUR = frozenset(
    [*TARGETS, Role.INSTRUMENT, Role.UNIT, Role.CLOCK_SPRING, Role.SUBSTITUTE]
)


def _is_neighbour(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a part beside the igniter stands there, which is no source of power."""
    if not 0 <= at < len(pieces) or pieces[at].role is not Role.NEIGHBOUR:
        return False
    return not any(word.startswith(_POWERED) for word in pieces[at].words)


_POWERED = (*(each for each in SOURCES if each != "relay"), "charg", "alternator", "starter")


def _is_tools_verb(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether all that is unknown is what the scan tool does: *scanner spits out 2.2*."""
    unknown = [piece.words for piece, _ in dangers if piece.role is Role.UNKNOWN]
    places = [at for at, piece in enumerate(clause.pieces) if piece.words in unknown]
    return clause.by_scan_tool and all(
        Role.SCAN in {each.role for each in clause.pieces[max(0, at - 1) : at]} for at in places
    )


def _is_count(clause: Clause, dangers: Sequence[tuple[Piece, Reason]], told: Told) -> bool:
    """Whether a drag test tells how many pins were loose: *drag test: 2 loose*."""
    whole = all(piece.role is Role.VALUE and piece.text.isdigit() for piece, _ in dangers)
    return told.grip and whole and not clause.roles & {*TARGETS, Role.UNKNOWN}


def _is_stored(clause: Clause, dangers: Sequence[tuple[Piece, Reason]], told: Told) -> bool:
    """Whether the control unit's own words for a fault are told: *code: resistance too high*."""
    coded = told.coded or words_in(Aside.CODE_WORDS) & clause.vocabulary
    worded = words_in(Aside.TOO_MUCH) & clause.vocabulary
    numbers = (piece for piece, _ in dangers if piece.role is Role.VALUE)
    names = all(len(word) == 1 and word.isdigit() for piece in numbers for word in piece.words)
    only = {piece.role for piece, _ in dangers} <= {Role.QUANTITY, Role.VALUE}
    numbered = told.coded and Role.QUANTITY not in clause.roles
    return bool((coded and worded) or numbered) and only and names


def _is_limit(clause: Clause, dangers: Sequence[tuple[Piece, Reason]], told: Told) -> bool:
    """Whether it is told what the maker allows: *book says 1.4 to 3.2*."""
    roles_told = [piece.role for piece, _ in dangers if piece.role is not Role.QUANTITY]
    only = clause.roles <= _BARE_LIMIT
    if only and aside(Aside.LIMITS).any_in(clause.words[:1]):
        return True
    if _is_least_and_most(clause) and (told.by_scan or told.source):
        return True
    from_to = roles_told == [Role.VALUE, Role.VALUE] and _FROM_TO & clause.vocabulary
    bare = told.limits and clause.roles <= {Role.VALUE, Role.QUANTITY, Role.ONTO, Role.JOINER}
    return bool(from_to and (bare or words_in(Aside.LIMITS) & clause.vocabulary))


def _is_least_and_most(clause: Clause) -> bool:
    """Whether no more than the least and the most is told: *min 1.4 max 3.0*."""
    names = [p.text for p in clause.pieces if p.role not in {Role.VALUE, Role.QUANTITY}]
    begins = clause.pieces[0].text in {"min", "max"}
    return begins and {"min", "max"}.issuperset(names)


def _names_limits(clause: Clause) -> bool:
    """Whether a clause does no more than to name the limits: *went to the book for the limits*."""
    plain = clause.roles <= {Role.KNOWN, Role.FUNCTION, Role.ONTO}
    return plain and bool(words_in(Aside.LIMITS) & clause.vocabulary)


_FROM_TO = frozenset(["to", "and", "bis", "und", "do"])


_BARE_LIMIT = frozenset(
    [Role.VALUE, Role.QUANTITY, Role.KNOWN, Role.FUNCTION, Role.JOINER, Role.ONTO]
)


def _is_damage(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether it is told what somebody's probe has done: *terminal spread by a probe*."""
    only = {piece.role for piece, _ in dangers} == {Role.INSTRUMENT}
    by = {"by", "from"} & clause.vocabulary and words_in(Aside.DAMAGE) & clause.vocabulary
    return only and bool(by) and Role.VALUE not in clause.roles


def _is_length(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether a length was measured: *buckle measured 10 mm lower*."""
    only = {piece.role for piece, _ in dangers} == {Role.MEASURE}
    return only and Role.VALUE not in clause.roles and bool({"mm", "cm"} & clause.vocabulary)


def _heads_neighbour(clause: Clause, kinds: set[Role], following: Clause | None) -> bool:
    """Whether a test without an object heads what is no igniter: *voltage drop: fuse holder*."""
    if following is None or following.joiner not in _HEADING or clause.roles & OBJECTS:
        return False
    beside = Role.NEIGHBOUR in following.roles and not following.roles & {*TARGETS, Role.CONTACT}
    return beside and kinds <= {Role.MEASURE, Role.QUANTITY}


def _is_across_neighbour(clause: Clause, kinds: set[Role], told: Told) -> bool:
    """Whether a value is told across a part that is no igniter: *2.6 V across the fuse*.

    So it may be across a clock spring or a loom that is free: *0.4 across the ribbon*.
    """
    spring = clause.roles & _FREED and (told.apart or Role.APART in clause.roles)
    others = Role.NEIGHBOUR in clause.roles or {Role.RAIL, Role.UNIT} <= clause.roles
    return (
        kinds <= {Role.PATH, Role.VALUE, Role.QUANTITY, Role.MEASURE}
        and (others or bool(spring))
        and not clause.roles & TARGETS
        and (
            Role.CONTACT not in clause.roles
            or _is_from_sensor_to_unit(clause)
            or _are_plugs_owned(clause)
        )
    )


_FREED = frozenset([Role.CLOCK_SPRING, Role.HARNESS])


def _are_plugs_owned(clause: Clause) -> bool:
    """Whether every plug is plainly another part's: *across the heater plug*."""
    plugs = [at for at, piece in enumerate(clause.pieces) if piece.role is Role.CONTACT]
    owned = all(at and is_other(clause.pieces[at - 1]) for at in plugs)
    return owned and Role.HARNESS not in clause.roles


def _is_from_sensor_to_unit(clause: Clause) -> bool:
    """Whether it is a sensor's own wires: *across the sensor's wires to the module plug*."""
    pieces = [p for p in clause.pieces if not is_small(p)]
    sensed = any(
        one.role is Role.PATH and two.role is Role.NEIGHBOUR and two.words[-1].startswith("sensor")
        for one, two in pairwise(pieces)
    )
    plugs = [at for at, piece in enumerate(pieces) if piece.role is Role.CONTACT]
    return sensed and all(at and pieces[at - 1].role is Role.UNIT for at in plugs)


def _is_live(clause: Clause, kinds: set[Role], told: Told, following: Clause | None) -> bool:
    """Whether the control unit itself has read it."""
    if Role.INSTRUMENT in kinds:
        return False
    if clause.by_scan_tool:
        return Role.MEASURE not in kinds or _scan_measures(clause)
    if told.by_scan and _is_shown_by_it(clause):
        return True
    return Role.MEASURE not in kinds and (
        (told.heading and _is_under_heading(clause))
        or _is_known_live(clause, told)
        or ((told.by_scan or told.load) and _is_bare(clause))
        or _is_watched(clause, told)
        or _is_next_of_list(clause, told.listed)
        or (told.source and is_value_named(clause))
        or (following is not None and _is_means_alone(following) and not following.first)
        or (told.paired and _is_bare(clause))
    )


def _is_shown_by_it(clause: Clause) -> bool:
    """Whether what the tool shows is told: *note the loop resistance it shows for stage 1*."""
    measured = (p.words[-1] for p in clause.pieces if p.role is Role.MEASURE)
    shows = any(pair in _IT_SHOWS for pair in pairwise(clause.words))
    return shows and all(word == "resistance" for word in measured)


_IT_SHOWS = frozenset([("it", "shows"), ("it", "reads"), ("it", "gives"), ("it", "says")])


def _is_under_heading(clause: Clause) -> bool:
    """Whether a value is told of what the heading reads: *live data: jumps to 9 at the plug*.

    An igniter may be named only at once: *live data: driver bag 12.7*.
    """
    unknown = [piece for piece in clause.pieces if piece.role is Role.UNKNOWN]
    other = {Role.WEAK, Role.APART}
    if any(len(piece.text) > _LONGEST_LABEL for piece in unknown):
        other |= {Role.UNKNOWN}
    if clause.joiner != ":" or Role.CONTACT in clause.roles:
        other |= TARGETS
    return not clause.roles & other and not _tells_means(clause)


def _tells_means(clause: Clause) -> bool:
    """Whether it is told by what means; in what state the engine was is none: *with engine off*."""
    words, means = clause.words, words_in(Aside.MEANS)
    return any(word in means and not _tells_state(words[at:]) for at, word in enumerate(words))


def _tells_state(words: Sequence[str]) -> bool:
    """Whether words say in what state the engine or its key was: *with the engine running*."""
    told = [word for word in words[:_LONGEST_STATE] if word not in _ARTICLES]
    return (
        words[0] in _BESIDE_STATE
        and not _ENGINES.isdisjoint(told[1:2])
        and not _STATES.isdisjoint(told[2:])
    )


_LONGEST_STATE = 5


_BESIDE_STATE = frozenset(["with", "mit", "avec", "bei", "z"])


_ARTICLES = frozenset(["the", "a", "der", "dem", "le", "la"])


_ENGINES = frozenset(["engine", "motor", "moteur", "key", "ignition", "zundung"])


_STATES = frozenset(
    ["off", "on", "running", "idling", "warm", "cold", "aus", "an", "laufend", "arrete", "coupe"]
)


_OWN_PLUG = frozenset([Role.CONTACT, Role.KNOWN, Role.FUNCTION, Role.PLACE])


_LONGEST_LABEL = 4


"""So long a strange word in a list of live values may be the short name of a circuit."""


def _is_known_live(clause: Clause, told: Told) -> bool:
    """Whether every value told is one that the scan tool has read on this job."""
    values = [number_of(piece) for piece in clause.pieces if piece.role is Role.VALUE]
    touched = {Role.APART, Role.ISOLATE, Role.WEAK} & clause.roles
    return bool(values) and told.live.issuperset(values) and not touched


def _is_watched(clause: Clause, told: Told) -> bool:
    """Whether a value is told of what the scan tool goes on watching: *side bag went 2.2*."""
    changes = bool(_CHANGING & clause.vocabulary) or clause.joiner == ":"
    if told.by_scan or told.heading:
        loop = {Role.HARNESS} if "loop" in clause.words else set()
        bare = clause.roles <= _BARE | TARGETS | loop and not _tells_means(clause)
        return changes and bare
    return told.scanned and changes and _is_bare(clause)


def _is_bare(clause: Clause) -> bool:
    """Whether a clause tells a value and names neither what was read nor with what."""
    return clause.roles <= _BARE and not _tells_means(clause)


_CHANGING = frozenset(
    [
        "jumped",
        "jumps",
        "bounces",
        "swings",
        "rises",
        "moved",
        "jetzt",
        "maintenant",
        "teraz",
        "climbed",
        "dropped",
        "drops",
        "back",
        "now",
        "came",
        "went",
        "down",
        "fell",
        *(
            "solid",
            "hops",
            "stays",
            "goes",
            "steady",
            "stable",
            "constant",
            "same",
            "moves",
            "climbs",
            "falls",
        ),
    ]
)


_BARE = frozenset(
    [
        *(Role.VALUE, Role.QUANTITY, Role.PLACE, Role.FUNCTION, Role.KNOWN, Role.NUMBER),
        *(Role.ONTO, Role.HARMLESS, Role.WEAK, Role.SCAN, Role.SUBSTITUTE, Role.IN_PLACE),
        *(Role.JUMP, Role.JOINER),
    ]
)


def _is_next_of_list(clause: Clause, before: Clause | None) -> bool:
    """Whether a live value is told of the next of several: *live data LF bag 2.1, RF bag 2.2*."""
    plain = all(p.role in _LISTED or p.text == "on" or is_loop(p) for p in clause.pieces)
    if before is None or not plain:
        return False
    if _is_means_alone(before):
        return clause.joiner == ":"
    if clause.joiner not in {",", ""}:
        return False
    names, past = (
        {p.text for p in each.pieces if p.role in _NAMING | {Role.NUMBER}}
        for each in (clause, before)
    )
    return not names <= past


_NAMING = TARGETS | {Role.PLACE}


_LISTED = _NAMING | {Role.VALUE, Role.QUANTITY, Role.NUMBER}


def _is_means_alone(clause: Clause) -> bool:
    means = {Role.SCAN, Role.FUNCTION, Role.ONTO}
    read = clause.words[0] in {"read", "seen", "shown"} and clause.roles <= means | _READ
    return clause.by_scan_tool and (read or clause.roles <= means)


_READ = frozenset([Role.MEASURE, Role.KNOWN])


def _scan_measures(clause: Clause) -> bool:
    """Whether it is the scan tool that measures: *measured with the scan tool*.

    It rings nothing out: *beeped out from the control unit* is done at the control unit's plug.
    """
    through = (p for p in clause.pieces if p.role is Role.MEASURE)
    if any(p.words[0].startswith(_THROUGH_WIRES) for p in through):
        return False
    order = [p.role for p in clause.pieces if p.role not in SMALL]
    scan = order.index(Role.SCAN)
    measure = order.index(Role.MEASURE)
    told = measure < scan and order[scan - 1] in {Role.ONTO, Role.MEASURE}
    return measure == scan + 1 or told or _reads_resistance(clause)


def _reads_resistance(clause: Clause) -> bool:
    """Whether the tool is told to read one, and no more: *scan tool reads loop resistance 4.8*."""
    pieces = [piece for piece in clause.pieces if piece.role not in SMALL]
    reads = words_in(Aside.READS) | {"loop resistance"}
    plain = (piece.role in _LISTED | {Role.SCAN} or piece.text in reads for piece in pieces)
    return pieces[0].role is Role.SCAN and all(plain)


_THROUGH_WIRES = (
    *("beep", "bleep", "buzz", "bell", "ring", "rang", "rung", "ton", "prob", "prod", "pok"),
    *("chirp", "back", "pierc", "swe", "meg", "clip", "hook", "clamp", "durch", "piep", "bip"),
    *("sonn", "dzwon"),
)


def _is_load(clause: Clause, kinds: set[Role], following: Clause | None) -> bool:
    """Whether a known load stands in the igniter's place, or is measured by itself."""
    said = clause.roles
    takes_place = takes_its_place(clause, following)
    if Role.SUBSTITUTE not in said or (Role.JOINED in said and not takes_place):
        return False
    if kinds & {Role.INSTRUMENT, Role.MEASURE, Role.WEAK}:
        return (Role.APART in said or _is_load_measured(clause)) and not said & LEADING
    named = (p.role for p in clause.pieces if p.role not in SMALL | {Role.VALUE, Role.QUANTITY})
    plugged = Role.CONTACT in said or {"plug", "connector"} & clause.vocabulary
    begins = next(named, None) is Role.SUBSTITUTE and bool(plugged)
    return not said & TARGETS or Role.IN_PLACE in said or begins or takes_place


def takes_its_place(clause: Clause, following: Clause | None) -> bool:
    """Whether a known load is told first, and then whose place it takes.

    *Dummy plugged in instead of the side bag* does, *load put in the bag's place* and *load plugged
    in where the bag was* do, too; *load and bag plugged in* does not.
    """
    named = [p for p in clause.pieces if p.role not in SMALL | _OF_A_LOAD]
    if not named or named[0].role is not Role.SUBSTITUTE:
        return False
    load = clause.pieces.index(named[0])
    targets = [at for at, piece in enumerate(clause.pieces) if piece.role in TARGETS]
    if not targets:
        return following is not None and following.joiner == "where" and _is_where_it_was(following)
    if targets[0] < load or Role.JOINED in {p.role for p in clause.pieces[targets[0] :]}:
        return False
    before = {word for piece in clause.pieces[load + 1 : targets[0]] for word in piece.words}
    behind = [word for piece in clause.pieces[targets[-1] + 1 :] for word in piece.words]
    return not _INSTEAD_OF.isdisjoint(before) or behind[:1] in (["place"], ["stead"])


def _is_where_it_was(clause: Clause) -> bool:
    """Whether a clause tells no more than where an igniter belongs: *where the bag was*."""
    told = {Role.CONTACT, Role.ONTO, Role.FUNCTION, Role.KNOWN, Role.PLACE, Role.JOINED}
    belongs = not _BELONGS.isdisjoint(clause.words)
    return bool(clause.roles & TARGETS) and clause.roles <= TARGETS | told and belongs


_OF_A_LOAD = frozenset([Role.VALUE, Role.QUANTITY, Role.WEAK, Role.NUMBER])
_INSTEAD_OF = frozenset(
    [
        "instead",
        "for",
        "stead",
        "lieu",
        "statt",
        "anstatt",
        "anstelle",
        "zamiast",
        "place",
        "miejsce",
    ]
)
_BELONGS = frozenset(
    [*("was", "is", "goes", "sat", "sits", "belongs", "lives", "lived", "plugs", "hung", "stood")]
)


def _is_load_measured(clause: Clause) -> bool:
    """Whether it is the load that is measured, before it is put in: *meter on the load*."""
    pieces = [piece for piece in clause.pieces if not is_small(piece)]
    if Role.IN_PLACE in clause.roles or Role.UNIT in clause.roles:
        return False
    itself = pieces[0].role is Role.SUBSTITUTE and not clause.roles & {*OBJECTS, Role.POWER}
    if itself and "checked" in clause.vocabulary and Role.PATH not in clause.roles:
        return True
    return any(
        one.role is Role.ONTO and two.role is Role.SUBSTITUTE for one, two in pairwise(pieces)
    )


def _is_beside(clause: Clause, told: Told) -> bool:
    """Whether only something proved apart from the igniter is measured."""
    said = clause.roles
    if is_units_supply(clause) and not (_names_target(clause) and said & _TOUCHED):
        return True
    touched = _names_target(clause) or Role.JOINED in said or _is_done_to_it(clause, told)
    return not touched and _is_apart(clause, told)


def _is_apart(clause: Clause, told: Told) -> bool:
    """Whether what is measured is another part, or is told to be free of the igniter."""
    said = clause.roles
    if Role.NEIGHBOUR in said or (
        Role.RAIL in said and (Role.UNIT in said or told.beside or told.unit)
    ):
        return True
    ends_off = told.apart or Role.APART in said or (told.unit_off and told.end_off)
    alone = {word for p in clause.pieces if p.role is Role.APART for word in p.words}
    if Role.HARNESS in said or alone & {"harness", "loom", "wire"}:
        return ends_off
    if Role.CLOCK_SPRING in said:
        return ends_off or told.end_off
    unit = Role.UNIT in said and not {"module", "modules"} & clause.vocabulary
    if told.named or Role.UNKNOWN in said:
        return False
    own_plug = "own" in clause.words and said & PARTS == {Role.CONTACT}
    apart = own_plug or not said & PARTS
    return told.beside and apart and (unit or Role.UNIT not in said)


_TOUCHED = frozenset([Role.CONTACT, Role.HARNESS, Role.UNIT])


_VOLTS = frozenset(["v", "volt", "volts"])


def _names_target(clause: Clause) -> bool:
    """Whether an igniter is named, and not only whose part it is: *earth strap of the bag*."""
    pieces = [p for p in clause.pieces if not is_small(p) or p.text in _LEADING_AWAY]
    if _tells_ends(clause):
        return False
    return any(
        piece.role in TARGETS
        and not (
            at > 1
            and pieces[at - 1].text in {"of", "for"}
            and any(_owns(each, piece) for each in pieces[max(0, at - 3) : at - 1])
        )
        and not (at and pieces[at - 1].role is Role.UNIT and clause.roles & _SUPPLIES)
        and not (_is_place_of_earth(pieces, at) or _is_told_off(pieces, at))
        and not (at > 1 and _is_place_of_bus(pieces, at))
        and not (pieces[0].role is Role.NEIGHBOUR and is_clear_of(pieces, at))
        for at, piece in enumerate(pieces)
    )


_LEADING_AWAY = frozenset(["of", "away", "from"])


def _tells_ends(clause: Clause) -> bool:
    """Whether plugs are named only as a loom's ends: *loom between box plug and bag plug*."""
    loom = clause.pieces[0].role is Role.HARNESS and "between" in clause.words[:3]
    behind = (*clause.pieces[1:], clause.pieces[0])
    return loom and all(
        part.words[-1].startswith(("plug", "conn")) or after.role is Role.CONTACT
        for part, after in zip(clause.pieces, behind, strict=True)
        if part.role in {*TARGETS, Role.CONTACT}
    )


def _is_place_of_bus(pieces: Sequence[Piece], at: int) -> bool:
    """Whether it is told only where a data bus was looked at: *CAN low 2.3 at the SRS plug*."""
    bus = pieces[0].role is Role.NEIGHBOUR and "can" in pieces[0].words
    return bus and pieces[at].text in {"airbag", "airbags"} and pieces[at - 1].text == "at"


def _is_place_of_earth(pieces: Sequence[Piece], at: int) -> bool:
    """Whether it is told only whose earth was measured: *continuity of ground strap at SRS box*."""
    if at < _TWO_WORDS or pieces[at].words[-1] not in _UNITS:
        return False
    if any(piece.role not in {Role.VALUE, Role.QUANTITY} for piece in pieces[at + 1 :]):
        return False
    part, led = pieces[at - 2], pieces[at - 1]
    earth = part.role is Role.NEIGHBOUR and not _EARTHS.isdisjoint(part.words)
    return earth and led.role is Role.ONTO


_UNITS = frozenset(["module", "box", "unit", "ecu", "computer"])
_EARTHS = frozenset(["earth", "ground", "masse", "masa"])


def _is_told_off(pieces: Sequence[Piece], at: int) -> bool:
    """Whether it ends by telling that an igniter is off: *12 V at the feed, bags unplugged*.

    German tells it before: *bei abgeklemmtem Airbag*.
    """
    behind = pieces[at + 1 :]
    off = len(behind) == 1 and behind[0].role in {Role.ISOLATE, Role.APART}
    led = [piece.text for piece in pieces[max(0, at - 2) : at - 1]]
    before = not behind and led and led[0] in _WITH and pieces[at - 1].role is Role.ISOLATE
    return bool(before) or (off and behind[0].words[-1] in _FREE)


_WITH = frozenset(["bei", "mit", "avec", "przy"])


def _owns(part: Piece, whole: Piece) -> bool:
    """Whether a part beside it may be told of an igniter; a supply is of the system alone."""
    supply = not _SUPPLYING.isdisjoint(part.words)
    return part.role is Role.NEIGHBOUR and not (supply and whole.role is Role.IGNITER)


_SUPPLYING = frozenset(["supply", "feed", "power"])


_SUPPLIES = frozenset([Role.RAIL, Role.NEIGHBOUR])


def _is_done_to_it(clause: Clause, told: Told) -> bool:
    """Whether *it* or *them* is what is measured: *meter them while the battery is off*."""
    return any(
        (piece.role in {Role.INSTRUMENT, Role.MEASURE} or piece.text in words_in(Aside.LIGHT))
        and acts_on(clause.pieces, at, told, bare=False)
        for at, piece in enumerate(clause.pieces)
    )


_HEADING = frozenset([":", ","])


def are_before_and_after(sentence: Sequence[Clause]) -> bool:
    """Whether two values are told that the scan tool read: *6.1 before, 2.2 after on scan*."""
    after = any("after" in (each.joiner, *each.words) for each in sentence)
    told = after and sentence[0].roles == {Role.VALUE} and any(c.by_scan_tool for c in sentence[1:])
    return told and not any(each.roles & _MEANS_OR_ACTS for each in sentence)


_MEANS_OR_ACTS = frozenset([Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE, Role.PATH])


def _has_fired(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether an igniter was fired by a crash, and by nobody."""
    kinds = [piece.role for piece, _ in dangers]
    by_hand = any(piece.words[0].startswith(SOURCES) for piece, _ in dangers)
    by_hand &= all(reason is not Reason.DEPLOY for _, reason in dangers)
    return {*kinds} == {Role.POWER} and not by_hand and aside(Aside.CRASH).any_in(clause.words)
