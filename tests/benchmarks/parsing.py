"""Time the parsers on long lines of one shape, at twice the length each time; run by hand.

``python tests/benchmarks/parsing.py [LENGTH]``. A parser that looks at each part of a line once
takes about twice as long for twice the line; a column of fourfold steps is a quadratic one. First
comes what many values take, the least of three.
"""

import random
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date

from kb.bounds import LONGEST_TEXT
from kb.errors import InvalidField
from kb.intake.codes import find_codes, parse_code
from kb.intake.findings import find_findings
from kb.intake.outcomes import judge_attempt, judge_contact
from kb.intake.privacy import personal_data
from kb.intake.reading_search import find_readings
from kb.intake.readings import parse_reading
from kb.intake.shoptalk import conditions_in, understand
from kb.intake.single_facts import parse_attempt, parse_cause, parse_contact, parse_test
from kb.intake.values import parse_value
from kb.intake.vehicle import parse_vehicle
from kb.safety.igniter_steps import dangerous_step

SHAPES = (
    "1 ",
    "07 00 ",
    "0 ",
    "+0 ",
    "1-",
    "1 000 ",
    "2014 ",
    "((",
    "1",
    "a",
    "1,",
    "1.",
    "- ",
    "1 V ",
    "2.7 ohm, ",
    "plug 2.3 ohm ",
    "plug ",
    "P0171 ",
    "P0171-",
    "P 0171 ",
    "cold, ",
    "left ",
    "lf ",
    "open ",
    ", ",
    "; ",
    ". ",
    "no ",
    "is ",
    "at ",
    "with ",
    "12.6 ",
    "a.b@",
    "replaced plug, ",
    "lamp on ",
    "B1234 13 ",
    "1/",
    "é ",
    "\n",
    "code ",
    "wet when ",
    "1e",
    "OL ",
    "over 1",
    "a1",
    "  ",
    "no 5 V ",
    "5 V or ",
    "test ",
    "ok ",
    "12 min ",
    "1.4 16V ",
    "test: ",
    "1 km ",
    "cyl 3 ",
    "1 mph at ",
    "the ",
    "in ",
    "not ",
    "still ",
    "ok then ",
    "no change; ",
    "held; ",
    "came back; ",
    "held until today; ",
    "ok 14.02.2026; ",
    "not back; ",
    "replaced x; ok; ",
    "? ",
)
PARSERS: dict[str, Callable[[str], object]] = {
    "understand": understand,
    "find_findings": lambda text: find_findings(text, date(2026, 3, 2)),
    "find_codes": find_codes,
    "find_readings": find_readings,
    "conditions_in": lambda text: list(conditions_in(text)),
    "personal_data": personal_data,
    "parse_reading": parse_reading,
    "parse_value": parse_value,
    "parse_code": parse_code,
    "parse_cause": parse_cause,
    "parse_attempt": parse_attempt,
    "parse_test": parse_test,
    "parse_contact": lambda text: parse_contact(text, date(2026, 3, 2)),
    "judge_attempt": judge_attempt,
    "judge_contact": judge_contact,
    "parse_vehicle": parse_vehicle,
    "dangerous_step": lambda text: dangerous_step(text, igniter_job=True),
}
PARSERS_OF_VALUES = {name: PARSERS[name] for name in ("find_readings", "understand")}
ITEMS = (
    ("battery", "V", 9, 15),
    ("rail pressure", "bar", 200, 1800),
    ("coolant", "C", 20, 120),
    ("oil pressure", "bar", 1, 7),
    ("boost", "kPa", 90, 250),
    ("crank sensor", "ohm", 200, 1500),
    ("LF wss", "kohm", 0.5, 3),
    ("motor feed", "V", 1, 14),
    ("earth drop", "mV", 5, 900),
    ("brake disc RR", "mm", 8, 28),
    ("parasitic draw", "mA", 5, 600),
    ("maf", "g/s", 2, 250),
)
"""Items, their units, and between what their values are made up."""
CONDITIONS = (
    "cold",
    "hot",
    "at idle",
    "cranking",
    "at 2500 rpm",
    "key on",
    "under load",
    "at rest",
)
STEPS = 4
LEAST_TOLD = 0.02
"""Seconds at the longest line under which a parser is not worth a row."""


def seconds(parse: Callable[[str], object], text: str) -> float:
    """Time of one call; a refusal is an answer as well."""
    start = time.process_time()
    with suppress(InvalidField):
        parse(text)
    return time.process_time() - start


def _values(count: int, *, conditions: bool) -> str:
    """Make up values that differ, each with its item and unit, perhaps under two conditions."""
    drawn = random.Random(count)
    told = []
    for _ in range(count // (2 if conditions else 1)):
        item, unit, least, most = drawn.choice(ITEMS)
        one, other = (f"{drawn.uniform(least, most):.3g} {unit}" for _ in range(2))
        first, second = drawn.sample(CONDITIONS, 2)
        told.append(f"{item} {one} {first} {other} {second}" if conditions else f"{item} {one}")
    return "; ".join(told) if conditions else ", ".join(told)


def _told(shape: str) -> Callable[[int], str]:
    """Return what makes up so many values of items, told in one shape."""

    def made(count: int) -> str:
        drawn = random.Random(count)
        told = []
        for _ in range(count // (shape.count("{v") + shape.count("{w"))):
            item, unit, least, most = drawn.choice(ITEMS)
            v, w = (f"{drawn.uniform(least, most):.3g}" for _ in range(2))
            code = f"P0{drawn.randrange(100, 999)}"
            comma = f"{drawn.uniform(least, most):.2f}".replace(".", ",")
            told.append(shape.format(v=v, w=w, v_comma=comma, item=item, unit=unit, code=code))
        return "; ".join(told)

    return made


def print_values(counts: Sequence[int] = (1_000, 5_000, 10_000)) -> None:
    """Print what it takes to read so many values, and a text as long as a field may be.

    The least of three, since other work on the machine only ever adds to it.
    """
    print("values", "told", *PARSERS_OF_VALUES, sep="\t")
    shapes: dict[str, Callable[[int], str]] = {
        "bare": lambda count: " ".join(f"{place * 0.37:.2f}" for place in range(count)),
        "with items": lambda count: _values(count, conditions=False),
        "under conditions": lambda count: _values(count, conditions=True),
        "behind codes": _told("{code} {item} {v} {unit}"),
        "with a comma": _told("{item} {v_comma} {unit}"),
        "ranges": _told("{item} {v}-{w} {unit}"),
        "from and to": _told("{item} from {v} to {w} {unit}"),
        "before and after": _told("{item} {v} -> {w} {unit}"),
    }
    for name, made in shapes.items():
        texts = [(f"{count:,}", made(count)) for count in counts]
        texts.append((f"{LONGEST_TEXT:,} characters", made(1_000)[:LONGEST_TEXT]))
        for told, text in texts:
            took = (
                min(seconds(parse, text) for _ in range(3)) for parse in PARSERS_OF_VALUES.values()
            )
            print(told, name, *(f"{each:.3f}" for each in took), sep="\t")


def main(length: int) -> None:
    """Print a row for each parser and shape that takes any time."""
    print_values()
    print("parser", "shape", *(f"{length << step:,}" for step in range(STEPS)), "step", sep="\t")
    for name, parse in PARSERS.items():
        for shape in SHAPES:
            lines = [(shape * (length << step))[: length << step] for step in range(STEPS)]
            times = [seconds(parse, line) for line in lines]
            if times[-1] > LEAST_TOLD:
                told = [f"{took:.3f}" for took in times]
                print(name, repr(shape), *told, f"x{times[-1] / times[-2]:.1f}", sep="\t")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2500)
