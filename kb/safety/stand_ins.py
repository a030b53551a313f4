"""A known load in an igniter's place is a test: it shows where the fault is, and cures nothing.

All of it is common practice, no source.
"""

from dataclasses import replace

from kb.case import Attempt, DiagnosticTest, Job
from kb.intake.items import trade_wording
from kb.patterns import compiled
from kb.safety.igniter_clauses import clauses_of, words_of
from kb.safety.igniter_concern import about_igniter
from kb.safety.igniter_words import Role

_STAND_INS = frozenset(
    [
        *("resistor", "resistors", "res", "simulator", "simulators", "emulator", "emulators"),
        *("dummy", "dummies", "bypass", "bulb", "bulbs", "shunt", "shunts", "jumper", "jumpers"),
        *("substitute", "substitutes"),
    ]
)
_MAY_STAND_IN = frozenset(["load", "loads", "bridge", "loop", "resistance"])
"""At the end of a name only: a load sensor is none."""
_PREPOSITIONS = frozenset(["for", "in", "on", "at", "across", "to", "into", "instead"])
NAME = "known load"
"""What such a test is called among the general tests of the trade."""
_GONE = {True: "complaint gone with it in", False: "complaint stays with it in"}


def stands_in(component: str) -> bool:
    """Whether a part is one that is put where an igniter belongs; common practice, no source.

    Examples
    --------
    >>> stands_in("known load"), stands_in("seat load sensor"), stands_in("bypass plug")
    (True, False, True)
    """
    words = words_of(component, trade_wording())
    ends = [place for place, word in enumerate(words) if word in _PREPOSITIONS]
    named = words[: ends[0]] if ends else words
    return not _STAND_INS.isdisjoint(words) or not _MAY_STAND_IN.isdisjoint(named[-1:])


_MATERIALS = frozenset(
    [
        *("shrink", "heatshrink", "solder", "tape", "sleeve", "sleeving", "crimp", "crimps"),
        *("meter", "multimeter", "probe", "probes", "glue", "schrumpfschlauch", "lötzinn"),
    ]
)


def is_no_part(component: str) -> bool:
    """Whether what is named is a material or a tool: what cured is what it was used on.

    Common practice, no source.

    Examples
    --------
    >>> is_no_part("shrink"), is_no_part("put the meter"), is_no_part("seat connector")
    (True, True, False)
    """
    return not _MATERIALS.isdisjoint(words_of(component, trade_wording())[-1:])


def is_known_load(attempt: Attempt, *, igniter_job: bool) -> bool:
    """Whether what is told as a fix put a known load, or another stand-in, in an igniter's place.

    Parameters
    ----------
    attempt : Attempt
    igniter_job : bool
        The job concerns an igniter; else the fix must name one.

    Examples
    --------
    >>> from kb.case import Action
    >>> load = Attempt(action=Action.REPLACED, component="dummy load in place of the pretensioner")
    >>> is_known_load(load, igniter_job=True)
    True
    >>> blower = Attempt(action=Action.REPLACED, component="blower resistor")
    >>> is_known_load(blower, igniter_job=True)
    False
    """
    told = f"{attempt.component}, {attempt.words or ''}"
    if not (igniter_job or about_igniter([told])):
        return False
    if _PLAIN_LOAD.search(attempt.component):
        return True
    said = {role for each in clauses_of(attempt.component, trade_wording()) for role in each.roles}
    named = Role.SUBSTITUTE in said or stands_in(attempt.component)
    return named and bool(_PLACE.search(told)) and about_igniter([told])


_PLAIN_LOAD = compiled(
    r"(?i)\b(?:dumm(?:y|ies)\b(?! (?:plug|cover|cap|button|switch))"
    r"|(?:known|substitut\w*|test) (?:load|resist)"
    r"|ersatzlast|ersatzwiderst|simulationswiderst|airbagsimulator"
    r"|charge (?:fictive|connue|de subst)|r[eé]sistance de (?:subst|rempl)"
    r"|opornik zast|rezystor zast)"
)
"""A name that only a stand-in for an igniter has, on a job that concerns one."""
_PLACE = compiled(
    r"(?i)\b(?:place|instead|lieu|stead|across|statt|anstelle|[aà] la place|zamiast|miejsce)\b"
)


def without_known_loads(job: Job, base: Job | None, *, igniter_job: bool) -> tuple[Job, list[str]]:
    """Return a job whose new fixes that put a known load in are tests, and what is said of them.

    Parameters
    ----------
    job : Job
    base : Job or None
        What is stored of it; its fixes stay as they are.
    igniter_job : bool
        The job concerns an igniter.
    """
    known = base.attempts if base else ()
    loads = [
        each
        for each in job.attempts
        if each not in known and is_known_load(each, igniter_job=igniter_job)
    ]
    if not loads:
        return job, []
    tests = tuple(map(_as_test, loads))
    kept = tuple(each for each in job.attempts if each not in loads)
    said = [f"“{test.seen}” {_IS_A_TEST}" for test in tests]
    return replace(job, attempts=kept, tests=(*job.tests, *tests)), said


_IS_A_TEST = (
    "is kept as a test, not as a fix: a known load in an igniter's place shows where the fault is, "
    "and cures nothing. Take it out again, and tell the repair by itself."
)


def _as_test(attempt: Attempt) -> DiagnosticTest:
    seen = [attempt.words or attempt.label, *filter(None, [attempt.verified])]
    if not attempt.words and attempt.cured is not None:
        seen.append(_GONE[attempt.cured])
    return DiagnosticTest(
        name=NAME, seen=", ".join(seen), minutes=attempt.minutes, said=attempt.said
    )
