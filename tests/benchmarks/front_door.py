"""How well what people type is understood: lines from workshops, with what they mean.

Run by hand: ``python tests/benchmarks/front_door.py``. The lines in ``front_door/`` were written
without sight of the parsers, each with its right understanding. How a reading is held against it
stands in ``front_door_readings.py``, how a whole entry is in ``front_door_entries.py``; ``--amiss``
prints what of the entries is lost or wrong. The parsers were mended by these lines, and then by
those of ``--second``, ``--third``, ``--fourth``, ``--fifth``, ``--sixth`` and ``--seventh``; the
last four have entries alone, in several hands, written by somebody who knew what the parsers do.
Those of ``--eighth`` were written by a technician who had seen neither parsers nor earlier lines,
and were run once before anything was mended by them; makes and part numbers were made up since.
Those of ``--ninth`` and ``--tenth`` were written blind by a technician's hand and run once before
mending; so were the outcomes and contacts of ``--thirteenth``. The entries of ``--fourteenth`` and
``--fifteenth`` were written and answered blind; where in an entry each fact stands was found by its
number, its code, or the words it shares with a clause, else it is the whole entry.
Of a line of codes all codes must be right, and where something is to be asked, something must be
asked.
"""

import json
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from kb.case import Outcome
from kb.errors import KbError
from kb.intake.codes import find_codes
from kb.intake.findings import find_findings
from kb.intake.reading_search import find_readings
from kb.intake.single_facts import parse_attempt, parse_contact
from tests.benchmarks.front_door_entries import measure
from tests.benchmarks.front_door_readings import is_held, is_lost, is_wrong, offered, unmatched

LINES = Path(__file__).with_name("front_door")
for later in (
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "fifteenth",
    "told_later",
):
    if f"--{later}" in sys.argv:
        LINES /= later
TODAY = date(2026, 11, 26)


def lines(name: str) -> Iterator[dict[str, Any]]:
    """Yield the lines of one file."""
    with (LINES / f"{name}.jsonl").open(encoding="utf-8") as file:
        yield from map(json.loads, file)


def cured(text: str) -> bool | None:
    """Return what is understood of an outcome: of the line, else of it behind some fix."""
    try:
        attempts = find_findings(text, TODAY).attempts
        return attempts[-1].cured if attempts else parse_attempt(f"replaced part, {text}").cured
    except KbError:
        return None


def outcome(text: str) -> str | None:
    """Return what is understood of a contact: held, comeback, or nothing told of the fix."""
    try:
        heard = parse_contact(text, TODAY).outcome
    except KbError:
        return None
    return None if heard in (Outcome.NOT_TOLD, Outcome.OTHER_REASON) else heard.value


def main() -> None:
    """Print how many are right, how many are left open, and the worst kind of mistake."""
    if (LINES / "outcomes.jsonl").exists():
        _print_apart()
    elif (LINES / "contacts.jsonl").exists():
        _print_contacts()
    if (LINES / "entries.jsonl").exists():
        measure(lines("entries"), amiss="--amiss" in sys.argv)


def _print_apart() -> None:
    """Print how outcomes, contacts, codes and readings are understood that stand alone."""
    told = Counter((line["cured"], cured(line["text"])) for line in lines("outcomes"))
    _print("outcomes", told, told[False, True] + told[None, True], "failed or untold as cured")
    _print_contacts()
    if (LINES / "codes.jsonl").exists():
        _print_codes()
        _print_readings()


def _print_contacts() -> None:
    heard = Counter((line["outcome"], outcome(line["text"])) for line in lines("contacts"))
    wrong = heard["comeback", "held"] + heard[None, "held"]
    _print("contacts", heard, wrong, "comeback or untold as held")


def _print_codes() -> None:
    right = wrong = total = 0
    for line in lines("codes"):
        found = find_codes(line["text"])
        codes, told = set(map(str, found.codes)), set(line["codes"])
        total += 1
        right += codes == told and (not line.get("ask") or bool(found.doubtful))
        wrong += bool(codes - told)
    print(f"codes     {right} of {total} lines wholly right; {wrong} with a code that was not told")


def _print_readings() -> None:
    right = wrong = lifted = lost = total = 0
    for line in lines("readings"):
        text = line["text"]
        codes = find_codes(text)
        found = find_readings(text, taken=codes.lifted)
        told = [each for each in line["readings"] if is_held(each)]
        understood = [*found.readings, *offered(found)]
        spare = len(unmatched(text, told, understood))
        total += 1
        right += spare == len(understood) - len(told) and not unmatched(text, told, found.readings)
        wrong += sum(is_wrong(text, told, reading) for reading in found.readings)
        lifted += len(found.readings)
        lost += is_lost(text, found, codes.places)
    print(
        f"readings  {right} of {total} lines wholly right; {wrong} of {lifted} lifted wrongly;"
        f" {lost} lines with a number lost"
    )


def _print(name: str, pairs: Counter[tuple[Any, Any]], worst: int, what: str) -> None:
    total = sum(pairs.values())
    right = sum(count for (true, said), count in pairs.items() if true == said)
    print(f"{name:<9} {right} of {total} right; {worst} {what}")


if __name__ == "__main__":
    main()
