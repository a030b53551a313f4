"""Text that is given for one kind of fact, and tells one of another."""

from datetime import date
from typing import Any

from kb.case import Attempt, Contact, DiagnosticTest, Reading, TroubleCode
from kb.errors import InvalidField
from kb.intake.findings import find_findings

_TOLD_AS = {
    "tests": (DiagnosticTest, "a test", "test"),
    "attempts": (Attempt, "a fix", "attempt"),
    "contacts": (Contact, "what was heard of the car later", "contact"),
    "readings": (Reading, "a reading", "reading"),
    "codes": (TroubleCode, "a code", "code"),
}


def check_kind(kind: Any, text: str, field: str, today: date) -> None:
    """Refuse what begins with a fact of another kind than is to stand in a field.

    Raises
    ------
    InvalidField
        With what the text tells, and how to tell it.

    Examples
    --------
    >>> check_kind(Contact, "came back, replaced sensor again", "contacts[0]", date(2026, 3, 2))
    """
    wanted = next((said for each, said, _ in _TOLD_AS.values() if each is kind), None)
    if wanted is None or kind is TroubleCode:  # whose form no other fact has
        return
    found = find_findings(text, today, left_cured=kind is Contact)
    begin = len(text) - len(text.lstrip())
    for name, (other, said, command) in _TOLD_AS.items():
        if other is not kind and any(each.start == begin for each in found.places[name]):
            if any(each.start == begin for each in found.places[_name_of(kind)]):
                return
            raise InvalidField(
                field,
                text,
                f"tells {said}, and here stands {wanted}; tell it by itself: kb job add {command} "
                "JOB TEXT, or take this out: kb job remove JOB NUMBER",
            )


def _name_of(kind: Any) -> str:
    return next(name for name, (each, *_) in _TOLD_AS.items() if each is kind)
