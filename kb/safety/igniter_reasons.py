"""What is said of a sentence that is not shown: the reason that fits, and what to do instead.

Whether a sentence is shown is judged elsewhere. Of many dangerous ones the lists only know that
they are not plainly allowed, or that something was handled; ``igniter_reasons.toml`` beside this
module tells by their words what was handled, so that a bag that was drilled is not told to be read
with a scan tool. All of it is common practice, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from kb.safety.igniter_acts import Reason
from kb.safety.igniter_words import Lexicon, Role, entries, roles
from kb.tables import read_table

TABLE = Path(__file__).with_name("igniter_reasons.toml")

NOT_PLAIN = frozenset([Reason.UNKNOWN, Reason.STRANGE, Reason.LIKENESS])
"""Nobody can say that it is allowed, nor that it is dangerous."""
_SCAN = (
    "Read the live value with a scan tool, or put a known load in the igniter's place; supply off "
    "and wait by the manufacturer's procedure before a plug is touched."
)
_OFF_FIRST = "Battery off, and wait as long as the manufacturer says, before a plug is touched."
_NEW_PART = "Fit a new part by the manufacturer's number, and its own repair parts only."
_INSTEAD = {
    Reason.LIVE: _OFF_FIRST,
    Reason.WAIT: _OFF_FIRST,
    Reason.DEPLOY: (
        "It is disposed of by the maker's procedure, by people licensed for it; leave it whole."
    ),
    Reason.OPENED: (
        "Leave it whole: fit a new one by the manufacturer's number; the old one is disposed of by "
        "people licensed for it."
    ),
    Reason.FORCED: (
        "Supply off and the manufacturer's wait, then bags and tensioners out of the way before "
        "heat or force comes near; renew what was struck or heated."
    ),
    Reason.CARRIED: (
        "Carry one at a time, its cover away from the body, and lay it down by itself with its "
        "cover up and nothing on it."
    ),
    Reason.STORED: (
        "Lock it away by itself, dry and cool, cover up; an old one is disposed of by the maker's "
        "procedure, by people licensed for it."
    ),
    Reason.BEFORE: (
        "Nobody in the car nor before a bag: connect the battery last, and switch on from outside."
    ),
    Reason.UNIT: (
        "Battery off and the manufacturer's wait; bolt the unit down before its supply comes on."
    ),
    Reason.SPRING: (
        "Fit a new clock spring by the manufacturer's number, centred, with the supply off and "
        "waited."
    ),
    Reason.WIRING: (
        "Fit a new loom or plug, or repair it by the manufacturer's procedure with its own parts, "
        "supply off and waited."
    ),
    Reason.SHORTING: (
        "Leave the shorting bar as it is: a plug whose bar is bent, cut or gone is renewed by the "
        "manufacturer's number, supply off and waited."
    ),
    Reason.CLEANED: (
        "Webbing: lukewarm water and mild soap alone, dried in the air; a dirty plug, tensioner or "
        "bag is renewed by the manufacturer's number."
    ),
    Reason.COVERED: (
        "Leave cover, seam and trim as they were made, or fit new ones by the manufacturer's "
        "number; nothing lies over a bag."
    ),
    Reason.WRONG_PART: (
        "Fit the part that the manufacturer's number names for this car and this place."
    ),
    Reason.DEFEAT: (
        "Put back what the manufacturer fitted, and mend the fault: the lamp then goes out by "
        "itself."
    ),
    Reason.BARE: "Write what was read, and with what: an igniter's value by scan tool alone.",
    Reason.SOURCE: _NEW_PART,
    Reason.HANDLING: _NEW_PART,
} | dict.fromkeys(
    NOT_PLAIN,
    "Work by the manufacturer's procedure, supply off and waited; values by scan tool alone.",
)
_CURRENT = "put a meter, lamp or voltage on an igniter"
_MAY = {
    Reason.DEPLOY: "set an igniter off",
    Reason.WAIT: "touch an igniter's plug before its unit is discharged",
    Reason.LIVE: "work on an igniter with its supply on",
    Reason.SOURCE: "fit a part of unknown past",
    Reason.HANDLING: "harm an igniter, or fit a harmed one",
    Reason.DEFEAT: "keep a restraint from working in a crash",
    Reason.OPENED: "open or destroy an igniter",
    Reason.FORCED: "heat, strike or force an igniter",
    Reason.CARRIED: "carry or lay a bag so that it strikes somebody",
    Reason.STORED: "leave an igniter where it may hurt somebody",
    Reason.BEFORE: "bring somebody before a bag while its supply comes on",
    Reason.UNIT: "power or move a restraint unit that is not bolted down",
    Reason.SPRING: "keep a clock spring that may part",
    Reason.WIRING: "mend an igniter's wires or plug by hand",
    Reason.SHORTING: "take away what keeps an igniter from firing",
    Reason.CLEANED: "clean or oil what may only be renewed",
    Reason.COVERED: "keep a bag from coming out",
    Reason.WRONG_PART: "fit an igniter where it does not belong",
    Reason.BARE: "be anything: a number by itself could not be read",
}


def instead_of(reason: Reason) -> str:
    """Return in a sentence what to do instead of what this reason withholds."""
    return _INSTEAD.get(reason, _SCAN)


def may_do(reason: Reason) -> str:
    """Return in few words what a sentence withheld for this reason may do.

    Of all reasons that have no words of their own: current on an igniter.
    """
    return _MAY.get(reason, _CURRENT)


@dataclass(frozen=True, slots=True)
class _Kind:
    """One entry of the table, ready to be looked for."""

    reason: Reason
    of: frozenset[Reason]
    told: Lexicon[Reason]
    beside: Lexicon[Reason] | None
    also: Lexicon[Reason] | None
    unless: Lexicon[Reason] | None
    outright: bool

    def fits(self, reason: Reason, words: Sequence[str], *, plain: bool) -> bool:
        """Whether it may stand for a reason, which is plain by itself, and the words tell it."""
        return (
            reason in self.of
            and (self.outright or not plain)
            and self.told.any_in(words)
            and all(each is None or each.any_in(words) for each in (self.beside, self.also))
            and not (self.unless is not None and self.unless.any_in(words))
        )


def fitting(reason: Reason, words: Sequence[str], told: Sequence[str]) -> Reason:
    """Return the reason that fits the words of a sentence which is withheld for this one.

    Parameters
    ----------
    reason : Reason
        Why the lists withhold it.
    words : Sequence of str
        The words of the sentence, as `words_of` gives them.
    told : Sequence of str
        Those by which it is withheld, one danger each.

    Examples
    --------
    >>> fitting(Reason.UNKNOWN, ["drilled", "the", "inflator"], ["drilled"]).name
    'OPENED'
    >>> fitting(Reason.METER, ["meter", "on", "the", "drilled", "inflator"], ["meter"]).name
    'METER'
    """
    current = reason in _sets()["current"]
    plain = current and any(map(_is_plain, told))
    plain |= reason is Reason.VALUE and any(map(_is_plain, told))
    fit = (each.reason for each in _kinds() if each.fits(reason, words, plain=plain))
    return next(fit, reason)


def _is_plain(told: str) -> bool:
    """Whether some words of a sentence tell what sends current, and can tell nothing else."""
    words = told.split()
    if any(map(str.isdigit, told)):
        return True
    found = roles().longest(words, 0)
    return found is not None and found[1] in _SENDS and not _doubtful().any_in(words)


_SENDS = frozenset([Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE, Role.PATH, Role.LAMP])


@cache
def _sets() -> dict[str, frozenset[Reason]]:
    sets = read_table(TABLE)["sets"]
    return {name: frozenset(map(_named, listed)) for name, listed in sets.items()}


def _named(name: str) -> Reason:
    return Reason[name.upper()]


@cache
def _doubtful() -> Lexicon[Reason]:
    return Lexicon.of({Reason.METER: entries(read_table(TABLE)["doubtful"]["words"])})


@cache
def _kinds() -> tuple[_Kind, ...]:
    return tuple(map(_kind, read_table(TABLE)["kind"]))


def _kind(read: Mapping[str, Any]) -> _Kind:
    reason = _named(read["reason"])
    lists = (Lexicon.of({reason: entries(read[key])}) if key in read else None for key in _LISTS)
    told, beside, also, unless = lists
    if told is None:
        raise KeyError("told")
    of = frozenset[Reason]().union(*(_sets()[name] for name in read["of"]))
    return _Kind(reason, of, told, beside, also, unless, read.get("outright", False))


_LISTS = ("told", "beside", "also", "unless")
