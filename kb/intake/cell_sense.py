"""What cells of a foreign sheet say beside what their column is for: a fix in a component's cell.

Of what is read otherwise than it is written, something is `told`.
"""

from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import asdict
from typing import Any

from kb.case import Attempt, even
from kb.errors import InvalidField
from kb.intake.single_facts import parse_attempt
from kb.intake.vehicle import parse_vehicle, resembles_car
from kb.patterns import compiled

Record = dict[str, Any]
Told = Callable[[str], object]
_DONE = compiled(r"\b\w{2,}ed\b")
"""What was done, in the past: a "repair kit" is a part."""


def read_beside(record: Record, constants: Collection[str], told: Told) -> None:
    """Read the fixes, the cause and the car of a row by all that their cells say.

    Parameters
    ----------
    record : dict
        The row, which is changed.
    constants : collection of str
        The fields that the mapping sets in every row: what the row itself says goes before them.
    """
    attempts = record.get("attempts")
    for place, attempt in enumerate(attempts if isinstance(attempts, list) else ()):
        if isinstance(attempt, dict):
            field = f"attempts[{place}]"
            _read_component(attempt, f"{field}.component", told)
            _read_action(attempt, f"{field}.action", constants, told)
    cause = record.get("cause")
    if isinstance(cause, dict) and _fix_in(cause.get("component")):
        told(f"cause.component “{cause['component']}” says what was done, and not what had failed")
    vehicle = record.get("vehicle")
    if isinstance(vehicle, dict):
        _read_model(vehicle, told)


def _fix_in(text: object) -> Attempt | None:
    """Return the fix that a component's cell tells with what was done, or how it fared."""
    if not isinstance(text, str):
        return None
    for line in (text, f"replaced {text}"):
        with suppress(InvalidField):
            fix = parse_attempt(line)
            if fix.cured is not None or (line is text and _DONE.search(text.casefold())):
                return fix
    return None


def _read_component(attempt: Record, field: str, told: Told) -> None:
    """Take what was done, and how it fared, out of a component; the cell is kept as words."""
    text = attempt.get("component")
    fix = _fix_in(text)
    if fix is None or even(fix.component) == even(str(text)):
        return
    attempt["component"] = fix.component
    attempt["words"] = "; ".join(filter(None, (str(text), attempt.get("words"))))
    if fix.cured is not None:
        attempt.setdefault("cured", fix.cured)
    told(f"{field} “{text}” was read as “{fix.component}”, and kept as words")


def _read_action(attempt: Record, field: str, constants: Collection[str], told: Told) -> None:
    """Say where a fix's words name another action; of the same part, take it for a constant."""
    action, words = attempt.get("action"), attempt.get("words")
    if not isinstance(words, str) or not isinstance(action, str):
        return
    with suppress(InvalidField):
        fix = parse_attempt(words)
        same_part = even(fix.component) == even(str(attempt.get("component")))
        if fix.action != action:
            kept = fix.action.value if field in constants and same_part else action
            told(f"{field} is “{action}”, but its words say “{words}”: kept as {kept}")
            attempt["action"] = kept


def _read_model(vehicle: Record, told: Told) -> None:
    """Read a whole car in the cell of its model, where no make is told."""
    text = vehicle.get("model")
    if vehicle.get("make") or not isinstance(text, str):
        return
    if resembles_car(text, ()):
        found = {name: each for name, each in asdict(parse_vehicle(text).vehicle).items() if each}
        del vehicle["model"]
        vehicle |= found | vehicle
        read = ", ".join(f"{name} {each}" for name, each in found.items())
        told(f"vehicle.model “{text}” was read as {read}")
    elif len(text.split()) > 1:
        told(f"vehicle.model “{text}” stands without a make; a column of both is mapped to vehicle")
