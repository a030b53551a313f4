"""Whether words, or all that is on record of a job, concern an igniter at all."""

from collections.abc import Iterable
from functools import lru_cache

from kb.case import System, TroubleCode
from kb.intake.items import trade_wording
from kb.intake.systems import systems_told
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.igniter_acts import Told, dangers_in
from kb.safety.igniter_clauses import clauses_of, words_of
from kb.safety.igniter_words import (
    Aside,
    Role,
    aside,
    belted,
    igniters,
    implied,
    named_alike,
    pictured,
    speaking,
    spelt,
)

RESTRAINT_CODES = "B00"
"""SAE J2012 keeps B00xx for the restraints; what makers define may be anything."""


def concerns_igniter(
    texts: Iterable[str],
    *,
    systems: Iterable[System | None] = (),
    codes: Iterable[TroubleCode] = (),
    wording: Wording | None = None,
) -> bool:
    """Whether a job or a sentence concerns an igniter: by systems, by codes, by words.

    Parameters
    ----------
    texts : Iterable[str]
        Complaint, items of readings, components, names of links ...
    systems : Iterable[System or None]
    codes : Iterable[TroubleCode]
    wording : Wording, optional
        The trade's and the shop's own words; by default the trade's alone.

    Examples
    --------
    >>> concerns_igniter(["lamp on", "LF pretensioner 6.1 ohm"])
    True
    >>> concerns_igniter(["aux belt tensioner noisy"]), concerns_igniter(["wheel bearing"])
    (False, False)
    >>> concerns_igniter(["belt off, tensioner seized"], systems=[System.COOLING])
    False
    """
    recorded, stored = set(systems), tuple(codes)
    if System.RESTRAINTS in recorded or any(
        each.code.startswith(RESTRAINT_CODES) for each in stored
    ):
        return True
    texts = tuple(texts)
    if tells_loop(recorded, stored, texts):
        return True
    wording = wording or trade_wording()
    of_drive = is_of_drive(recorded, stored)
    return any(speaks_of_igniter(text, wording, of_drive=of_drive) for text in texts)


def tells_loop(
    systems: Iterable[System | None], codes: Iterable[TroubleCode], texts: Iterable[str]
) -> bool:
    """Whether a code of the body says that a resistance is off, and nothing tells another system.

    An igniter's loop sets such codes, which makers number as they like (of the demonstration shop's
    30 all were of the restraints).

    Examples
    --------
    >>> code = TroubleCode(code="B1201", failure_type="1B")
    >>> tells_loop([None], [code], ["lamp on"]), tells_loop([None], [code], ["window slow"])
    (True, False)
    """
    if not any(each.code[0] == "B" and each.failure_type in _OFF_RESISTANCE for each in codes):
        return False
    told = {system for text in texts for system in systems_told(text)}
    return {*systems, *told} <= {None, System.OTHER, System.RESTRAINTS}


def is_of_drive(
    systems: Iterable[System | None], codes: Iterable[TroubleCode], texts: Iterable[str] = ()
) -> bool:
    """Whether all on record is of engine, cooling or transmission, which have own tensioners.

    Where no system is recorded, a belt or chain of a drive that is named tells it, too.
    """
    recorded = {system for system in systems if system is not None}
    driven = recorded <= _DRIVES if recorded else any(map(_names_drive, texts))
    return driven and all(each.code[0] == "P" for each in codes)


@lru_cache(maxsize=20_000)
def _names_drive(text: str) -> bool:
    words = words_of(text, trade_wording())
    return not _SEATS & set(words) and aside(Aside.DRIVE_BELT).any_in(words)


_SEATS = frozenset(["seat", "seats"])
"""What no drive has: a belt tensioner there is of the seat belt."""


_DRIVES = frozenset([System.ENGINE_MECHANICAL, System.COOLING, System.TRANSMISSION])


def _undisguised(text: str) -> str:
    """Return a text with *air-b@g* and *a i r b a g* written as anybody reads them."""
    read = _SIGN_FOR_A.sub("a", text) if "@" in text else text
    return _SPACED.sub(lambda run: run.group().replace(" ", ""), read)


_OFF_RESISTANCE = frozenset(["1A", "1B"])
"""Circuit resistance below and above threshold (failure types of SAE J2012)."""
_SIGN_FOR_A = compiled(r"(?<=[A-Za-z])@(?=[A-Za-z])")
_SPACED = compiled(r"(?<!\S)(?:[A-Za-z] ){3,19}[A-Za-z](?!\S)")
"""Letters with a space between each; a name has fewer than twenty."""
_RESTRAINT_CODE = compiled(r"(?i)(?<![A-Z0-9])B00[0-9A-F]{2}(?![A-Z0-9])")
"""A code of the restraints (SAE J2012) that stands in words."""


@lru_cache(maxsize=20_000)
def speaks_of_igniter(text: str, wording: Wording, *, of_drive: bool = False) -> bool:
    """Whether a text speaks of an igniter by itself; a *tensioner* of a drive is none."""
    if _RESTRAINT_CODE.search(text):
        return True
    words = [spelt(word) for word in words_of(_undisguised(text), wording)]
    if of_drive and not belted().any_in(words):
        words = [word for word in words if not word.startswith("tensioner")]
    if not speaking().any_in(words):
        return False
    if igniters().any_in(words) or aside(Aside.BESIDE).any_in(words):
        return True
    if any(
        name.words.any_in(words) and not name.unless.any_in(words)
        for name in (*named_alike(), pictured())
    ):
        return True
    hinted = implied().words.any_in(words) and not implied().unless.any_in(words)
    return hinted and any(
        True for clause in clauses_of(text, wording) for _ in dangers_in(clause, Told(frozenset()))
    )


def bears_on_igniter(
    text: str, *, igniter_job: bool, wording: Wording | None = None, of_drive: bool = False
) -> bool:
    """Whether a text has to be judged at all, by the shop's words or as typed.

    Parameters
    ----------
    text, igniter_job, wording, of_drive
        As for `judged`.

    Examples
    --------
    >>> bears_on_igniter("replaced water pump", igniter_job=False)
    False
    """
    if igniter_job:
        return True
    trade = trade_wording()
    own = wording not in (None, trade) and speaks_of_igniter(text, wording, of_drive=of_drive)
    return own or speaks_of_igniter(text, trade, of_drive=of_drive)


def about_igniter(texts: Iterable[str], *, of_drive: bool = False) -> bool:
    """Whether any of these words speaks of something that an igniter fires.

    A bare *tensioner* does not where all on record is of a drive, see `is_of_drive`.
    """
    wording = trade_wording()
    return any(speaks_of_igniter(text, wording, of_drive=of_drive) for text in texts)


@lru_cache(maxsize=20_000)
def about_circuit(item: str) -> bool:
    """Whether what was measured is an igniter, or what leads to one in the steering wheel."""
    pieces = (p for clause in clauses_of(item, trade_wording()) for p in clause.pieces)
    spring = any(p.role is Role.CLOCK_SPRING and p.text not in _ANY_SPRING for p in pieces)
    return spring or about_igniter([item])


_ANY_SPRING = frozenset(["spring", "spiral", "spiralen"])
"""Names of the clock spring that others share."""
