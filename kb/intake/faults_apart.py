"""Whether a complaint tells of faults of several parts of the car: one job is of one fault."""

import re
from collections.abc import Mapping

from kb.case import System
from kb.intake.account import OUTCOME_LIKE
from kb.intake.outcomes import takes_back
from kb.intake.systems import at_the_wheel, guess_system
from kb.intake.wording import Wording
from kb.patterns import WORD_BEGINS, compiled

_JOINT = compiled(
    rf"[,;.!?&+\n]+(?!\d)|{WORD_BEGINS}(?:and|but|also|plus|as well as|besides)\b", re.IGNORECASE
)
_TELLS_MORE = compiled(
    rf"{WORD_BEGINS}(?:since|after|when|while|until|during|clears|was|were|been|had|fitted|replaced|renewed"
    r"|changed|reckons?|guess)\b",
    re.IGNORECASE,
)
"""What a clause says of when a fault shows, or of what was before it."""

_FAULTY = compiled(
    r"\b(?:soft|spongy|heavy|stiff|warm|hot|cold|weak|slow|dim|loose|low|whin(?:es?|ing)|slip(?:s|ping)?"
    r"|judder\w*|grind(?:s|ing)?|stick(?:s|ing|y)?|jam(?:s|med)|seized|snapped|cracked|split|bent"
    r"|torn|worn|smell(?:s|ing)?|flash(?:es|ing)?|stall(?:s|ing)?|hunts?|surges?|pulls?|wanders?)\b"
    r"|(?:n['’]t|\bnot|\bwont|\bdont|\bwill not|\bcannot|\bno)\b",
    re.IGNORECASE,
)
"""How a fault shows, besides what `kb.intake.outcomes` knows (common practice, no source)."""


def faults_apart(text: str, wording: Wording) -> Mapping[System, str]:
    """Return the parts of the car of which some clause tells a fault, with its words.

    Examples
    --------
    >>> told = faults_apart("brakes squeal, radio dead", Wording.default())
    >>> {system.value: words for system, words in told.items()}
    {'brakes and wheel speed': 'brakes squeal', 'body electrics': 'radio dead'}
    """
    told: dict[System, str] = {}
    for clause in _JOINT.split(text):
        words = _TELLS_MORE.split(clause, maxsplit=1)[0].strip()
        if not any(map(str.isalpha, words)) or OUTCOME_LIKE.fullmatch(words):
            continue
        system = guess_system(" ".join(wording.tokens(words)))
        if system and system is not System.OTHER and (_FAULTY.search(words) or takes_back(words)):
            told.setdefault(system, words)
    if System.RESTRAINTS in told:  # the clock spring carries the horn as well
        told = {
            system: words
            for system, words in told.items()
            if system is System.RESTRAINTS or not at_the_wheel(words)
        }
    return told


def asked_apart(text: str, wording: Wording, system: System | None = None) -> str | None:
    """Say which faults may be two, and for which one they were taken; None if there is one.

    Examples
    --------
    >>> asked_apart("brakes squeal", Wording.default()) is None
    True
    """
    told = faults_apart(text, wording)
    if len(told) < len(("one", "another")):
        return None
    faults = " and ".join(f"“{words}” ({system.value})" for system, words in told.items())
    taken = f"taken as {system.value}" if system else "no system is taken"
    return (
        f"{faults} may be faults apart; {taken}: tell each as a job of its own, or name the system"
    )
