"""Locks on steps that could hurt, and how long somebody's word keeps one open.

A confirmation such as "supply off and waited" holds for one step, on one car, for the person who
gave it, in the same go at the job. It ends with anything done with the supply on, with the step
itself, as soon as somebody else records something or the job's car is changed, after some hours,
and with the day.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from kb.case import Action, Confirmation, DiagnosticTest, Job, Precondition, System, even
from kb.intake.systems import guess_system
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.hazards import Situation, is_raised
from kb.troubleshooting.general_tests import GeneralTest, general_tests
from kb.troubleshooting.guard import Guard
from kb.troubleshooting.testing import key_of

_SUPPLY_ON = compiled(
    r"\b(?:live|scan\w*|ignition|ign|key|running|idl\w*|crank\w*|start\w*|engine|motors?"
    r"|road test\w*|test drive\w*|driv\w*|drove|self[- ]?test|actuat\w*|codes?|faults?|eras\w*"
    r"|clear\w*|cod(?:ed|ing)|reprogram\w*|program\w*|flash\w*|adapt\w*|reset\w*"
    r"|reconnect\w*|connected|connecting|charg\w*|jump\w*|lamps?|lights|lit"
    r"|light (?:on|off|came|comes|is)|horn|radio|cruise"
    r"|fuses?|volt\w*|volts?|ohms?|amps?|multimeter|meter|dmm|buckled|belted|fasten\w*"
    r"|moved by|flicker\w*|comes? (?:on|back)|came (?:on|back)|customer|heater works"
    r"|moved the car|ran|works|plays|windows?|wipers?|switched on|turned on|powered?|supply on"
    r"|battery(?! (?:still )?(?:off|disconnected|isolated|out)))\b",
    re.IGNORECASE,
)
"""Words of what is done, or seen, with the supply on; rather too many, for they only end a
confirmation early."""
_SUPPLY = (
    r"batter\w*|bater[ií]a\w*|akumulator\w*|accu\w*|pol|minus\w*|negativ\w*|neg|mass\w*|masa"
    r"|klemm\w*|(?:earth|ground) (?:lead|strap|cable)|strom|saft|juice|current|power|supply"
    r"|spannung|zündung|zap[łl]on\w*|tändning\w*|quadro|courant|prąd\w*|ström\w*|isolator|12 ?v"
)
_ON = (
    r"on|back|again|hooked|restored|refitted|clamped|up|wieder|angehängt|montiert|angeklemmt"
    r"|angeschlossen|dran|drauf|ein|an|eingeschaltet|verbunden|rebranch\w*|branch\w*|r[eé]tabli\w*"
    r"|re?mis\w*|mis|pod[łl][ąa]cz\w*|podpi\w*|w[łl][ąa]cz\w*|założon\w+|z powrotem|inkoppl\w*"
    r"|anslut\w*|på|ricollegat\w|collegat\w|riattacc\w*|acceso|rimess\w|inserit\w|conectad\w"
    r"|puest\w|aangesloten|aan|terug"
)
_OFF = r"off|out|ab|aus|abgeklemmt|d[eé]branch\w*|od[łl][ąa]cz\w*|frånkoppl\w*|scollegat\w|not"
_BETWEEN = rf"(?:(?!\b(?:{_OFF})\b)[^.;,]){{0,25}}"
_ON_AGAIN = compiled(
    rf"\b(?:(?:{_SUPPLY})\b{_BETWEEN}\b(?:{_ON})|(?:{_ON})\b{_BETWEEN}\b(?:{_SUPPLY})"
    r"|rebranch\w*|ricollegat\w|angeklemmt|pod[łl][ąa]czon\w+|restored|energi[sz]ed"
    r"|(?:clamps?|terminals?) back on the post|contact (?:re)?mis|(?:re)?mis le contact"
    r"|contact aan|contacto (?:puesto|dado))\b",
    re.IGNORECASE,
)
"""That the supply came back, in any of the shop's tongues."""
_COLD = compiled(
    r"\b(?:look\w*|saw|seen|visual\w*|inspect\w*|felt|feel\w*|drag\w*|grip\w*|pins?|terminals?"
    r"|plugs?|connectors?|loom|wires?|trim|seat|clean\w*|dr(?:y|ied)|green|corro\w*|loose|tight"
    r"|bent|chafed|nothing|photo\w*|clock spring|unplugged|bench)\b",
    re.IGNORECASE,
)
"""Words of looks and of work that plainly leaves the supply off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """Something recorded on a job: when, by whom, and the step's title, if it was one.

    `live` tells whether it was done with the supply on, `of_car` whether it changed what car the
    job is on.
    """

    at: datetime
    who: str | None
    title: str | None = None
    live: bool = False
    of_car: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Presence:
    """Who stands at the car, and when, with what was recorded on its job so far.

    Attributes
    ----------
    who : str or None
        Initials; nobody's confirmation holds for somebody unknown.
    now : datetime
        With the workshop's time zone: a confirmation ends with its day.
    deeds : sequence of Deed
    """

    who: str | None
    now: datetime
    deeds: Sequence[Deed] = ()


NOBODY = Presence(who=None, now=datetime(1970, 1, 1, tzinfo=UTC))
"""With nobody there every lock is shut."""


def supply_on(test: DiagnosticTest) -> bool:
    """Whether a test is made with the supply on, by the trade's table or else by its words.

    Examples
    --------
    >>> supply_on(DiagnosticTest(name="scan of live data", seen="2.3 both sides"))
    True
    >>> supply_on(DiagnosticTest(name="drag test", seen="no grip on pin 2"))
    False
    """
    general = _general(test.name)
    if general is not None:
        return general.live or tells_on(f"{test.name} {test.seen}")
    return may_be_on(f"{test.name} {test.seen}")


def may_be_on(text: str) -> bool:
    """Whether what was done may have had the supply on: all but plain looks and cold work.

    Examples
    --------
    >>> may_be_on("horn pressed: works"), may_be_on("zorbed"), may_be_on("felt the pins one by one")
    (True, True, False)
    """
    return tells_on(text) or not _COLD.search(text)


def tells_on(text: str) -> bool:
    """Whether words beside the steps, as a note, tell that the supply was on."""
    return bool(_SUPPLY_ON.search(text) or _ON_AGAIN.search(text))


def unconfirmed(
    needs: Iterable[Precondition], title: str, job: Job, presence: Presence, hours: float
) -> tuple[Precondition, ...]:
    """Return what is not confirmed for a step, by whoever stands at the car, now.

    Parameters
    ----------
    needs : iterable of Precondition
    title : str
        Of the step.
    job : Job
        Its confirmations are judged.
    presence : Presence
    hours : float
        How long a confirmation holds at most.
    """
    return tuple(
        need
        for need in needs
        if not any(
            each.what is need and each.step == title and _holds(each, presence, hours)
            for each in job.confirmations
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldStep:
    """A test or a fix on a job: its names, when it was told and by whom, if that is known.

    `names` are all it ever had, the one it has now last: another name makes it no other deed.
    """

    names: tuple[str, ...]
    fix: bool = False
    who: str | None = None
    at: datetime | None = None


def told_tests(job: Job) -> tuple[ToldStep, ...]:
    """Return the tests of a job that came whole: nobody knows who told them, and when."""
    return tuple(ToldStep(names=(test.name,)) for test in job.tests)


def unvouched(
    job: Job, steps: Iterable[ToldStep], deeds: Sequence[Deed], wording: Wording, hours: float
) -> tuple[str, ...]:
    """Return the steps that wanted a confirmation and had none when they were told.

    Steps are told in other ways than by the advice, and come with imports. One is vouched for
    by whoever told it, for this very step, while the confirmation held: judged as its lock would
    have been, at that moment.

    Parameters
    ----------
    job : Job
        Its confirmations are judged.
    steps : iterable of ToldStep
    deeds : sequence of Deed
        Everything recorded on the job.
    wording : Wording
    hours : float
        How long a confirmation holds at most.
    """
    asked = [(step, _general_of(step)) for step in steps]
    touching = [(step, general) for step, general in asked if _may_touch(step, general)]
    if not touching:
        return ()
    guard = Guard.of(job, () if job.cause is None else (job.cause,), (), wording)
    return tuple(
        step.names[-1]
        for step, general in touching
        if (needs := _needs(step, general, guard, wording))
        and not _vouched(needs, step, job, deeds, hours)
    )


def ended(job: Job, deeds: Sequence[Deed], now: datetime, hours: float) -> tuple[int, ...]:
    """Return the places of the confirmations that hold no more, for anybody."""
    return tuple(
        place
        for place, each in enumerate(job.confirmations)
        if job.closed or not _holds(each, Presence(who=each.by, now=now, deeds=deeds), hours)
    )


def _general_of(step: ToldStep) -> GeneralTest | None:
    return None if step.fix else next(filter(None, map(_general, step.names)), None)


def _needs(
    step: ToldStep, general: GeneralTest | None, guard: Guard, wording: Wording
) -> tuple[Precondition, ...]:
    """Return what must hold before a step; nothing before a fix of plainly another system's part.

    Nor before a bulb, or what the scan tool clears: no hand comes near what fires. A battery is
    none where the job is on high voltage: it may be the one that drives.
    """
    systems = {guess_system(" ".join(wording.tokens(name))) for name in step.names}
    plain = step.fix and systems <= (
        _OTHERS - {System.CHARGING_STARTING} if guard.high_voltage else _OTHERS
    )
    named = Situation(named=step.names)
    plain |= step.fix and all(_TOUCHES_NOTHING.search(even(name)) for name in step.names)
    if plain and not any(is_raised(system, named, wording) for system in _LOCKED):
        return ()
    return guard.needs_of(general)


_TOUCHES_NOTHING = compiled(
    r"\b(?:bulbs?|birnchen|glühbirnen?|glühlampen?|ampoules?|żarówk\w*)$"
    r"|^cleared (?:\w+ )?(?:codes?|faults?|memory|ecu|unit|module|steuergerät|fehlerspeicher)$"
)
_LOCKED = (System.RESTRAINTS, System.HIGH_VOLTAGE)
_OTHERS = frozenset({*System} - {*_LOCKED, System.BODY_ELECTRICS, System.OTHER})
"""Systems whose parts carry no airbag's wiring; doors and seats of the body may."""


def _may_touch(step: ToldStep, general: GeneralTest | None) -> bool:
    return step.fix or (general is not None and bool(general.hands_on or general.needs))


def _vouched(
    needs: Sequence[Precondition], step: ToldStep, job: Job, deeds: Sequence[Deed], hours: float
) -> bool:
    if step.at is None:
        return False
    before = [deed for deed in deeds if deed.at < step.at]
    presence = Presence(who=step.who, now=step.at, deeds=before)
    known = {key_of(name) for name in step.names}
    titles = {each.step for each in job.confirmations if key_of(each.step) in known}
    return any(not unconfirmed(needs, title, job, presence, hours) for title in titles)


def _same_person(one: str, other: str) -> bool:
    """Whether initials are the same, however they are written: *BT*, *b.t.*."""
    return _initials(one) == _initials(other)


def _initials(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())


@lru_cache(maxsize=5_000)
def _general(name: str) -> GeneralTest | None:
    """Return the trade's test of that name, or of one that the name begins with."""
    key, plain = key_of(name), even(name.replace("-", " "))
    for general in general_tests().test:
        known = (general.name, *general.also)
        if key == key_of(general.name) or any(plain.startswith(f"{each} ") for each in known):
            return general
    return None


def _holds(given: Confirmation, presence: Presence, hours: float) -> bool:
    age = presence.now - given.at
    return (
        presence.who is not None
        and _same_person(presence.who, given.by)
        and timedelta(0) <= age <= timedelta(hours=hours)
        and given.at.astimezone(presence.now.tzinfo).date() == presence.now.date()
        and not any(_ends(deed, given) for deed in presence.deeds)
    )


def _ends(deed: Deed, given: Confirmation) -> bool:
    """Whether something done ends a confirmation: what was recorded before it does not."""
    if deed.at <= given.at:
        return False
    by_another = deed.who is None or not _same_person(deed.who, given.by)
    return by_another or deed.live or deed.of_car or _is_same_deed(deed.title, given.step)


def _is_same_deed(title: str | None, step: str) -> bool:
    """Whether a title is the step's own, or does the same to a part called otherwise."""
    if title is None:
        return False
    fixes = {str(action) for action in Action}
    verb, *_ = title.split()
    return (
        title == step
        or (verb in fixes and step.split()[:1] == [verb])
        or _names_test_of(title, step)
    )


def _names_test_of(title: str, step: str) -> bool:
    """Whether a title names the test that a step is, wherever in it: "terminal drag test, seat"."""
    general = _general(step)
    if general is None:
        return key_of(title) == key_of(step)
    plain = even(title.replace("-", " "))
    return any(
        re.search(rf"\b{re.escape(each)}\b", plain) for each in (general.name, *general.also)
    )
