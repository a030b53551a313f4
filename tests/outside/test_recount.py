"""`kb fixes` against a recount by a script that has nothing of the project: see `recount`.

Nothing is imported from the project here, either: its commands are run as anybody runs them.
"""

import json
import random
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

SCRIPT = Path(__file__).with_name("recount.py")
RUN = """
import json, sys
from click.testing import CliRunner
from kb.cli.main import kb
for line in sys.stdin:
    result = CliRunner().invoke(kb, json.loads(line))
    print(json.dumps([result.exit_code, result.output]), flush=True)
"""
COUNTS = (
    *("tried", "cured_at_handover", "unheard", "unknown", "came_back", "jobs"),
    *("repeated", "mistaken", "again", "told_later", "untold", "untold_back", "undated"),
)
AT_HORIZON = (
    *(
        "horizon",
        "held",
        "seen_only",
        "seen_unjudged",
        "back_later",
        "back_unjudged",
        "comebacks",
        "still_good",
    ),
    *("still_seen", "unjudged", "untold_unjudged", "lost"),
)
NEAR, NEAR_INTERVAL = 5e-4, 1e-6
"""Rates rest on frequencies of kinds that are found by two ways; intervals do not."""
ONE_IN = 10
SYSTEMS = ("restraints", "cooling", "ignition", "other")
SAID = {"restraints": "airbag", "cooling": "coolant", "ignition": "misfire", "other": "rattle"}
"""Words that speak for a system, where a job names none (from memory)."""
UNNAMED = 4
"""Of so many jobs one names no system."""


@cache
def program() -> subprocess.Popen[str]:
    """Start what runs commands until nothing more is told: many, as it takes a while to begin."""
    return subprocess.Popen(
        [sys.executable, "-c", RUN], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )


def commands(*lines: Sequence[str]) -> list[str]:
    """Run commands of `kb` one after the other; what each prints."""
    told, found = program().stdin, program().stdout
    assert told
    assert found
    every = []
    for line in lines:
        print(json.dumps(line), file=told, flush=True)
        code, output = json.loads(found.readline())
        assert code == 0, output
        every.append(output)
    return every


def recounted(file: Path, *clock: str) -> Mapping[str, Mapping[str, Any]]:
    systems = file.with_name("systems.json")
    done = subprocess.run(
        [sys.executable, str(SCRIPT), str(file), str(systems), *clock],
        capture_output=True,
        text=True,
        check=True,
    )
    found: Mapping[str, Mapping[str, Any]] = json.loads(done.stdout)
    return found


def compare(store: str, folder: Path) -> list[Any]:
    """Hold every count and rate of every cause against the recount; the fixes there are."""
    file = folder / "exported.jsonl"
    commands(["--store", store, "export", str(file)])
    write_systems(store, file)
    told_of_all = recounted(file)
    expected = told_of_all["fixes"]
    check_other_pages(store, told_of_all)
    check_report(store, told_of_all)
    return compare_fixes(store, expected)


def write_systems(store: str, file: Path) -> None:
    """Write what system jobs are said to be about: all that record none, and some that do."""
    jobs = [json.loads(line) for line in file.read_text("utf-8").splitlines()]
    numbers = [
        str(job["number"])
        for place, job in enumerate(jobs)
        if job.get("system") is None or place % ONE_IN == 0
    ]
    shown = commands(*(["--store", store, "job", "show", each, "--json"] for each in numbers))
    about = {number: json.loads(each)["about"] for number, each in zip(numbers, shown, strict=True)}
    file.with_name("systems.json").write_text(json.dumps(about), "utf-8")


def compare_fixes(store: str, expected: Mapping[str, Any], *clock: str) -> list[Any]:
    asked = [["--store", store, "fixes", "--job", job, *clock, "--json"] for job in expected]
    fixes = []
    for (number, every), output in zip(expected.items(), commands(*asked), strict=True):
        told = {named(fix["rate"]): fix["rate"] for fix in json.loads(output)["fixes"]}
        assert told.keys() == every.keys(), number
        for name, fix in every.items():
            check(told[name], fix, f"job {number}, {name}")
            fixes.append(told[name])
    return fixes


def check_other_pages(store: str, expected: Mapping[str, Mapping[str, Any]]) -> None:
    """Hold what came back, whom to ask, and some jobs' own pages against the same recount."""
    kinds = [
        ["--store", store, "comebacks", "--by", kind, "--json"]
        for kind in ("fix", "cause", "model")
    ]
    calls = ["--store", store, "job", "follow-up", "--list", "--json"]
    sheets = [["--store", store, "job", "show", number, "--json"] for number in expected["returns"]]
    due, *told = map(json.loads, commands(calls, *kinds, *sheets))
    counted, shown = told[: len(kinds)], told[len(kinds) :]
    for each in counted:
        found = {name: each["whole"][name] for name in expected["comebacks"]}
        assert found == pytest.approx(expected["comebacks"], rel=1e-9), each["kind"]
    visits = {str(each["job"]): each["visit"]["job"] for each in due["cars"] if each["visit"]}
    assert visits.items() <= expected["returns"].items()
    assert len(visits) == due["returns"] >= len(expected["returns"]) - due["rested"]
    assert {name: due["unheard"][name] for name in expected["unheard"]} == expected["unheard"]
    assert [each["back"][0] for each in shown] == list(expected["returns"].values())


def check_report(store: str, expected: Mapping[str, Any]) -> None:
    """Hold the foreman's page: what came back, and every fix that it draws."""
    (output,) = commands(["--store", store, "report", "--json"])
    told = json.loads(output)
    for kind in ("by_fix", "by_cause"):
        found = {name: told[kind]["whole"][name] for name in expected["comebacks"]}
        assert found == pytest.approx(expected["comebacks"], rel=1e-9), kind
    names = {tuple(cause): number for number, cause in expected["causes"].items()}
    for answer in told["fixes"].values():
        cause = answer["cause"]
        key = (cause["component"], cause["location"] or "", cause["failure_mode"])
        every = expected["fixes"][names[tuple(" ".join(part.casefold().split()) for part in key)]]
        rates = {named(fix["rate"]): fix["rate"] for fix in answer["fixes"]}
        assert rates.keys() == every.keys()
        for name, fix in every.items():
            check(rates[name], fix, f"report, {name}")


def named(rate: Mapping[str, Any]) -> str:
    apart = " never reproduced" if rate["never_reproduced"] else ""
    return " ".join(f"{rate['action']} {rate['component']}".casefold().split()) + apart


def check(told: Mapping[str, Any], expected: Mapping[str, Any], where: str) -> None:
    for name in COUNTS:
        assert told[name] == expected[name], f"{where}: {name}"
    for name in ("unjudged", "denied"):
        pairs = [{"job": each["job"], "visit": each["visit"]} for each in told[name]]
        assert pairs == expected[name], f"{where}: {name}"
    for one, other in zip(told["horizons"], expected["horizons"], strict=True):
        at = f"{where}, {one['horizon']} days"
        for name in AT_HORIZON:
            assert one[name] == other[name], f"{at}: {name}"
        check_interval(one["ends"], other["ends"], at)
        for end in (None, "if_same", "if_other"):
            mine, theirs = (each if end is None else each[end] for each in (one, other))
            assert (mine is None) == (theirs is None), f"{at}: {end}"
            if mine is not None:
                assert mine["rate"] == pytest.approx(theirs["rate"], abs=NEAR), f"{at}: {end}"
                check_interval(mine["interval"], theirs["interval"], at)


def check_interval(told: Mapping[str, float], expected: Sequence[float], where: str) -> None:
    found = (told["low"], told["high"])
    assert found == pytest.approx(tuple(expected), abs=NEAR_INTERVAL), where


def test_every_fix_of_the_demonstration_shop(demo_store: str, tmp_path: Path) -> None:
    fixes = compare(demo_store, tmp_path)
    assert len(fixes) > 200
    assert any(fix["unjudged"] for fix in fixes)
    assert sum(fix["horizons"][1]["rate"] is not None for fix in fixes) >= 3


@pytest.mark.parametrize("seed", [1, 2])
def test_every_fix_of_a_simulated_shop(tmp_path: Path, seed: int) -> None:
    told = tmp_path / "told.jsonl"
    told.write_text("".join(json.dumps(job) + "\n" for job in shop(random.Random(seed))))
    store = str(tmp_path / "shop.sqlite")
    commands(["--store", store, "init"], ["--store", store, "import", str(told)])
    fixes = compare(store, tmp_path)
    about = json.loads((tmp_path / "systems.json").read_text("utf-8"))
    assert sum(int(number) % UNNAMED == 0 and about[number] in SYSTEMS for number in about) >= 10
    by_km = compare_fixes(store, recounted(tmp_path / "exported.jsonl", "km")["fixes"], "--km")
    assert sum(fix["horizons"][0]["rate"] is not None for fix in by_km) >= 10
    assert any(fix["reckoned"] for fix in by_km)
    assert any(not time.is_integer() for fix in by_km for time in map(float, fix["came_back"]))
    first = [fix["horizons"][0] for fix in fixes]
    assert sum(len(fix["unjudged"]) for fix in fixes) >= 10
    assert any(fix["denied"] for fix in fixes)
    assert any(each["visit"] < each["job"] for fix in fixes for each in fix["unjudged"])
    assert sum(each["comebacks"] for each in first) >= 10
    assert any(fix["never_reproduced"] for fix in fixes)
    assert any(fix["repeated"] for fix in fixes)
    assert sum(fix["told_later"] for fix in fixes) >= 10
    assert any(fix["untold_back"] for fix in fixes)
    assert any(fix["mistaken"] for fix in fixes)
    assert sum(each["rate"] is not None for each in first) >= 15


def shop(dice: random.Random) -> Iterator[dict[str, Any]]:
    """Yield the jobs of a shop with every kind of later visit and contact."""
    numbers = iter(range(1, 10_000))
    causes = [
        (
            f"part {n}",
            dice.choice(["open", "worn"] if n > 1 else ["worn"]),
            dice.choice(SYSTEMS),
            dice.random(),
        )
        for n in range(10)
    ]
    for car in range(220):
        cause: tuple[str, str, str, float] | None = dice.choice(causes)
        when = date(2023, 1, 1) + timedelta(days=dice.randrange(400))
        made: dict[str, Any] | None = None
        every: list[dict[str, Any]] = []
        for _ in range(dice.choice([1, 1, 1, 2, 3])):
            number = next(numbers)
            if made and made["closed"] <= str(when):
                name_visit(dice, made, number)
            made = job(dice, number, car, cause, when)
            every.append(made)
            when += timedelta(days=dice.choice([0, 12, 45, 90, 120, 200, 365, 400]))
            cause = dice.choice([cause, dice.choice(causes), None])  # None: tyres
        tell_of_earlier(dice, every)
        yield from every


def tell_of_earlier(dice: random.Random, jobs: Sequence[dict[str, Any]]) -> None:
    """Let a comeback be told of a car's first job, though there was a second one since."""
    if len(jobs) > 1 and "cause" in jobs[0] and dice.random() < 0.3:
        first, second, *more = jobs
        on = date.fromisoformat(second["closed"]) + timedelta(days=dice.choice([0, 20, 150]))
        told = {"on": str(max(on, date.fromisoformat(first["closed"]))), "outcome": "comeback"}
        if more and dice.random() < 0.5:
            told["job"] = more[0]["number"]
        first["contacts"].append(told)


def name_visit(dice: random.Random, made: dict[str, Any], number: int) -> None:
    """Let some contacts of a job be answers on its car's next visit."""
    for contact in made.get("contacts", ()):
        if dice.random() < 0.5:
            contact["job"] = number


def odometer(dice: random.Random, on: date) -> int:
    """Read the kilometres of a car that is driven some 37 a day; now and then misread."""
    km = 20_000 + 37 * (on - date(2023, 1, 1)).days + dice.randrange(600)
    return dice.choice([km] * 12 + [km // 10, km + 500_000])


def job(
    dice: random.Random,
    number: int,
    car: int,
    cause: tuple[str, str, str, float] | None,
    opened: date,
) -> dict[str, Any]:
    part, how, system, good = cause or ("tyres", "worn", "other", 1.0)
    closed = opened + timedelta(days=dice.choice([0, 0, 0, 1, 1, 4, 4, 60]))
    made: dict[str, Any] = {
        "number": number,
        "vehicle": {"ref": f"K{car:03}", "make": "Corvane", "model": "Lido"},
        "opened": str(opened),
        "complaint": f"{dice.choice(['lamp lit', 'noise heard'])} near {part} {dice.choice('ab')}",
        "system": dice.choice([system, system, dice.choice(SYSTEMS)]),
        "closed": str(closed),
    }
    if number % UNNAMED == 0:
        made["complaint"] += f", {SAID[made.pop('system')]}"
    if dice.random() < 0.8:
        made["odometer_km"] = odometer(dice, opened)
    if dice.random() < 0.3:
        made["codes"] = [{"code": f"P0{dice.choice('12')}{dice.randrange(100):02}"}]
    if dice.random() < 0.05:
        made["void"] = "told twice"
    if cause is None:
        return made
    made["cause"] = {"component": part, "failure_mode": how}
    if dice.random() < 0.3:
        made["cause"]["position"] = dice.choice(["left front", "right front"])
    if dice.random() < 0.1:
        made["reproduced"] = False
    made["attempts"] = [
        {
            "action": dice.choice(["cleaned", "replaced"]),
            "component": dice.choice([part, part, part.upper(), "loom"]),
            **dice.choice([{}, {}, {"supposed": {"component": "part 1", "failure_mode": "worn"}}]),
            **dice.choice([{}, {"cured": dice.random() < good}, {"cured": True}, {"cured": True}]),
        }
        for _ in range(dice.choice([1, 1, 1, 2]))
    ]
    made["contacts"] = [
        {
            "on": str(closed + timedelta(days=dice.choice([0, 10, 89, 90, 91, 200, 365, 366]))),
            "outcome": dice.choice(["held", "held", "comeback", "other reason", "not told"]),
        }
        for _ in range(dice.choice([0, 0, 1, 2]))
    ]
    for contact in made["contacts"]:
        if dice.random() < 0.6:
            contact["odometer_km"] = odometer(dice, date.fromisoformat(contact["on"]))
    return made
