"""How numbers and things are written for people; the only place where anything is rounded."""

from collections.abc import Mapping, Sequence
from datetime import date

from kb.case import Complaint, Quantity, Reading, TroubleCode
from kb.intake.account import Account
from kb.intake.units import format_value
from kb.intake.values import typed_unit
from kb.services.found_wrong import WrongBefore


def percent(share: float, least: float = 0.01) -> str:
    """Return a share as whole per cent; what is not certain never reads 0 or 100.

    Nor does it read as less than `least`, or as more than that leaves.

    Examples
    --------
    >>> percent(0.618), percent(0.001), percent(0.999), percent(1.0)
    ('62%', '<1%', '>99%', '100%')
    >>> percent(0.001, least=1 / 13), percent(0.999, least=1 / 13), percent(12 / 13, least=1 / 13)
    ('<8%', '>92%', '92%')
    """
    if 0 < share < least:
        return f"<{least * 100:.0f}%"
    if round(1 - least, 9) < round(share, 9) < 1:
        return f">{100 - least * 100:.0f}%"
    return f"{share * 100:.0f}%"


def wrong_line(wrong: WrongBefore) -> str:
    """Return how often a cause was found wrong, and what it was then.

    Examples
    --------
    >>> wrong_line(WrongBefore(jobs=(1, 3), cases=4, then=("ignition switch", "loom")))
    'found wrong in 2 of 4 cases: back with the same fault, then ignition switch or loom'
    """
    times = f"{len(wrong.jobs)} of {plural(wrong.cases, 'case')}"
    return f"found wrong in {times}: back with the same fault, then {' or '.join(wrong.then)}"


def doubt_lines(wrong: WrongBefore | None, back: int, jobs: int) -> list[str]:
    """Return what speaks against the cases of a cause: what it was then, and `back` to be judged.

    Examples
    --------
    >>> doubt_lines(None, 4, 4)
    ['4 of 4 like jobs came back for something alike, not judged: they count less']
    >>> doubt_lines(None, 0, 4)
    []
    """
    lines = [wrong_line(wrong)] if wrong else []
    if back:
        of_them = plural(jobs, "like job")
        lines.append(
            f"{back} of {of_them} came back for something alike, not judged: they count less"
        )
    return lines


def came_back_line(fixes: Mapping[int, str]) -> str:
    """Return the fixes of earlier jobs, by number, that came back as the open one.

    Examples
    --------
    >>> came_back_line({12: "cleaned fuse box"})
    'This came back on this car after: cleaned fuse box (#12); that counts as not cured.'
    """
    told = ", ".join(f"{label} (#{number})" for number, label in fixes.items())
    return f"This came back on this car after: {told}; that counts as not cured."


def chance_of(chance: float, cases: int, least: float = 0.01) -> str:
    """Return the chance of a cause; one case alone gives none to be acted on; see `percent`.

    Examples
    --------
    >>> chance_of(0.36, 12), chance_of(0.36, 1)
    ('36%', '–')
    """
    return "–" if cases == 1 else percent(chance, least)


def without_chance(by_one_case: Sequence[bool]) -> frozenset[int]:
    """Return the outcomes, by place, of which no chance is told: those by one case.

    Where that is one alone, another goes with it, so that none is had by subtraction.

    Examples
    --------
    >>> sorted(without_chance([True, False, False])), sorted(without_chance([True, True, False]))
    ([0, 2], [0, 1])
    """
    once = [place for place, each in enumerate(by_one_case) if each]
    others = [place for place in reversed(range(len(by_one_case))) if place not in once]
    return frozenset(once + others[:1] if len(once) == 1 else once)


def seen_once_row(chances: Sequence[float], unseen: float, words: str) -> list[tuple[str, str]]:
    """Return the rows of what was never seen and of what was seen once.

    No chance of one of the latter may be had by subtraction: several are told together, and a
    single one together with what was never seen.

    Examples
    --------
    >>> seen_once_row([0.05], 0.2, "not seen before")
    [('25%', 'not seen before, or the one case (–)')]
    >>> seen_once_row([0.05, 0.1], 0.2, "not seen before")
    [('15%', 'the causes of one case (–) together'), ('20%', 'not seen before')]
    """
    if len(chances) == 1:
        return [(percent(unseen + chances[0]), f"{words}, or the one case (–)")]
    together = [(percent(sum(chances)), "the causes of one case (–) together")] if chances else []
    return [*together, (percent(unseen), words)]


def brief(number: float) -> str:
    """Return a positive number with two digits or so.

    Examples
    --------
    >>> brief(0.0421), brief(4.449), brief(38.2), brief(1234.5)
    ('0.04', '4.4', '38', '1,234')
    """
    places = 2 if number < 1 else 1 if number < 10 else 0
    return f"{number:,.{places}f}"


def plural(count: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> plural(1, "job"), plural(1200, "job"), plural(2, "match", "matches")
    ('1 job', '1,200 jobs', '2 matches')
    """
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def shortened(text: str, most: int) -> str:
    """Return a text cut to so many characters, with a sign that it was.

    Examples
    --------
    >>> shortened("lamp on after rain", 10)
    'lamp on a…'
    """
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def job_list(numbers: Sequence[int], most: int = 12) -> str:
    """Return job numbers as a line, the rest counted.

    Examples
    --------
    >>> job_list([3, 14]), job_list([3, 14, 15], most=2)
    ('#3 #14', '#3 #14 and 1 more')
    """
    line = " ".join(f"#{number}" for number in numbers[:most])
    left = len(numbers) - most
    return f"{line} and {left:,} more" if left > 0 else line


def day(when: date) -> str:
    """Return a day as ISO 8601 writes it."""
    return when.isoformat()


def period(since: date | None, until: date | None) -> str:
    """Return `` of 2024-01-01 to 2026-03-02``; nothing where nothing was looked at."""
    return f" of {day(since)} to {day(until)}" if since and until else ""


_OWN_UNITS = frozenset([Quantity.RESISTANCE, Quantity.VOLTAGE, Quantity.CURRENT])
"""Quantities that are all measured in one unit, whose size chooses its prefix."""


def measured(value: float, quantity: Quantity, typed: str | None = None) -> str:
    """Return a measured value with three digits: no meter in a workshop tells more.

    It stands in the unit of what was typed, where shops use different ones.

    Examples
    --------
    >>> measured(380000.0, Quantity.PRESSURE), measured(380000.0, Quantity.PRESSURE, "50 psi")
    ('3.8 bar', '55.1 psi')
    """
    unit = typed_unit(typed) if typed and quantity not in _OWN_UNITS else None
    return format_value(value, quantity, digits=3, unit=unit)


def reading(taken: Reading) -> str:
    """Return a reading as it was typed, with what it was taken on."""
    condition = f" @ {taken.condition}" if taken.condition and "@" not in taken.typed else ""
    return f"{taken.place} {taken.typed}{condition}"


def complaint(asked: Complaint) -> str:
    """Return in one line a complaint, and what was understood of it."""
    return " · ".join(filter(None, (" ".join(asked.text.split()), facts(asked))))


def facts(asked: Complaint, told: Account | None = None) -> str:
    """Return in one line what was understood of a complaint, in the order it was typed."""
    order = {lift.fact: place for place, lift in enumerate(told.lifted)} if told else {}
    every: tuple[TroubleCode | Reading, ...] = (*asked.codes, *asked.readings)
    lifted = sorted(every, key=lambda fact: order.get(fact, -1))
    parts = [reading(fact) if isinstance(fact, Reading) else str(fact) for fact in lifted]
    if asked.vehicle.make or asked.vehicle.model:
        parts.append(asked.vehicle.label)
    if asked.conditions and asked.conditions.casefold() not in asked.text.casefold():
        parts.append(asked.conditions)
    return " · ".join(part for part in parts if part)
