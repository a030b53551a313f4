"""Gives every reader of text and every command made-up and spoilt input; run by hand.

``python tests/benchmarks/fuzz.py --seconds 1800 --seed 1 --group importers --target commands``: so
many seconds of a processor, shared alike by the targets that are named and those of the groups;
without any all of them. An input is a line or a file of the demonstration shop with some of it
changed, taken out, said twice or mixed with what is hostile, or wholly of such pieces. It may be
refused with a `KbError`; anything else that is raised is a defect, and so is what takes longer than
`SLOW` seconds of a processor, a job that was taken and cannot be read back, and a store that is not
sound afterwards. Of what was typed as a step, at an igniter or elsewhere, it is a defect, too, that
the dangerous part is not named in the words that were typed, that it is shown after all, or that it
is no danger any more in another spelling of the same. A defect is printed once, by the place in the
program where it came from, with the input as short as a few hundred tries make it. The exit code is
their number.
"""

import argparse
import json
import os
import signal
import sys
import tempfile
import time
import tomllib
import traceback
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cache, partial
from itertools import count
from pathlib import Path
from random import Random
from shutil import copy

sys.path.insert(0, str(Path(__file__).parents[2]))

from click.testing import CliRunner

from kb.bands.limits import LIMITS_FILE, read_limits
from kb.case import Job, Vehicle
from kb.cli.main import kb
from kb.errors import KbError
from kb.intake.edits import edited
from kb.intake.files import read_models
from kb.intake.sheets import columns, read_mapping
from kb.intake.single_facts import parse_contact
from kb.intake.wording import entry
from kb.safety.igniter_screen import is_marked, screen
from kb.safety.igniter_steps import dangerous_step
from kb.safety.job_dangers import danger_line
from kb.services.demo import seed_files, vehicles_file
from kb.services.exchange import Form, export_file, import_file
from kb.store.condition import condition_of
from kb.store.database import create_store, open_store
from kb.store.unit_of_work import UnitOfWork
from tests.benchmarks.parsing import PARSERS, SHAPES
from tests.cli.test_hostile_text import PARTS, TYPED_ONLY
from tests.everywhere import changes, questions

SLOW = 5.0
"""Seconds of a processor after which an answer to so short an input is a defect."""
TODAY = date(2026, 11, 2)
JOB = Job(vehicle=Vehicle(make="Corvane"), opened=date(2026, 3, 2), complaint="no crank")
PIECES = (
    *SHAPES,
    *PARTS,
    *TYPED_ONLY,
    *("\0", "\ufeff", "\u200b", "\ud800", "İ", "ß", "e\u0301" * 9, "٣", "²", "½", "𝟛", "Ω", "µ"),
    *("9" * 400, "9" * 5000, "1e999", "-1e-999", "nan", "inf", "0x1f", "-0", "2147483648", "1_000"),
    *("0000-00-00", "2026-02-30", "9999-12-31", "31.02.2026", "24:60", "1970-01-01", "2100-01-01"),
    *("[" * 3000, "{" * 900, '{"a":' * 3000, "a." * 900, '"' * 40, "'''", '"""', "\\u0000", "\\"),
    *(
        '"',
        ",",
        ";",
        "\t",
        "\r",
        "\n",
        "\r\n",
        "=",
        "[[job]]",
        "[0]",
        "[999999999]",
        "null",
        "true",
    ),
)
MAPPING = """\
delimiter = ","
decimal = ","
dates = "%Y-%m-%d"
[columns]
"number" = "number"
"opened" = "opened"
"complaint" = "complaint"
"notes" = "attempts[0].component"
[constants]
"attempts[0].action" = "replaced"
[words."attempts[0].cured"]
"ja" = "yes"
"""
GROUPS = {
    "importers": ("csv", "jsonl", "toml"),
    "tables": ("limits", "vehicles", "mapping file", "mapping"),
    "commands": ("commands",),
}
PARSING = "parsers"
HERE = Path(__file__).parent
NEVER = HERE.parent / "safety" / "never_cases.toml"
Try = Callable[[bytes], object]


def as_text(content: bytes) -> str:
    """Return what an input says, with surrogates as a command line has them."""
    return content.decode("utf-8", "surrogateescape")


def as_bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


@cache
def lines() -> tuple[bytes, ...]:
    """Lines of the demonstration shop, as they were typed."""
    told = (line for path in seed_files() for line in path.read_bytes().splitlines())
    return tuple({line.partition(b"= ")[2].strip(b'"') for line in told} - {b""})


def spoilt(random: Random, content: bytes) -> bytes:
    """Change an input in a few places."""
    for _ in range(random.choice((1, 1, 2, 3, 8))):
        start, end = sorted(random.randrange(len(content) + 1) for _ in range(2))
        if random.random() < 0.7:
            end = min(end, start + random.randrange(12))
        part = content[start:end]
        new = random.choice(
            (
                *(b"", part * 2, part[::-1], part * random.choice((3, 60)), bytes([*part, 255])),
                *(random.randbytes(2), as_bytes(random.choice(PIECES)), random.choice(lines())),
                *(as_bytes(chr(random.randrange(0x250))), as_bytes(random.choice(PIECES)) * 9),
            )
        )
        content = (content[:start] + new + content[end:])[:200_000]
    return content


def line_made(random: Random) -> bytes:
    """Make a line that somebody might type, or nobody would."""
    if random.random() < 0.2:
        pieces = random.choices(PIECES, k=random.randrange(1, 9))
        return as_bytes(random.choice(("", " ", ", ", "; ")).join(pieces))[:20_000]
    told = b", ".join(random.choices(lines(), k=random.choice((1, 1, 2, 4))))
    return spoilt(random, told)[:20_000]


@cache
def steps() -> tuple[bytes, ...]:
    """Sentences that people wrote of igniters and of the other hazards, dangerous and harmless."""
    files = sorted((HERE / "igniter").glob("*.jsonl"))
    told = [json.loads(line)["text"] for file in files for line in file.open(encoding="utf-8")]
    cases = tomllib.loads(NEVER.read_text(encoding="utf-8")).values()
    told += [text for kinds in cases for texts in kinds.values() for text in texts]
    return tuple(text.encode() for text in told)


def step_made(random: Random) -> bytes:
    """Tell of some steps, spoilt, beside or amid what is typed otherwise."""
    if random.random() < 0.1:
        return line_made(random)
    told = random.choices(steps(), k=random.choice((1, 1, 1, 2, 3)))
    if random.random() < 0.3:
        told.insert(random.randrange(len(told) + 1), random.choice(lines()))
    text = random.choice((b" ", b". ", b", ", b"; ", b" then ", b" but ", b"\n")).join(told)
    return spoilt(random, text)[:20_000] if random.random() < 0.8 else text


def _amid(sign: str) -> Callable[[str], str]:
    return lambda text: "".join(
        letter + sign if place % 3 == 1 and letter.isalpha() else letter
        for place, letter in enumerate(text)
    )


SPELLINGS: tuple[Callable[[str], str], ...] = (
    *(str.upper, str.lower, str.swapcase),
    *(lambda text, gap=gap: text.replace(" ", gap) for gap in ("\u00a0", "\u2009", "\t", "  ")),
    *(
        _amid(sign)
        for sign in ("\u00ad", "\u200b", "\u2060", "\ufeff", "\u200d", "\u034f", "\ufe0f")
    ),
    partial(unicodedata.normalize, "NFD"),
    lambda text: "".join(
        chr(ord(each) + 0xFEE0) if each.isascii() and each.isalpha() else each for each in text
    ),
    lambda text: f"Road test ok. {text}",
    lambda text: f"“{text}”",
)
"""Ways to write the same."""


class Released(Exception):
    """Another spelling, by its number, is no danger any more."""


def step(content: bytes) -> None:
    """Judge what was typed as a step, on a job at an igniter and on another one.

    Raises
    ------
    AssertionError
        If what is named is not what was typed, or is shown without a mark.
    Released
        If another spelling of it is no danger.
    """
    text = as_text(content)
    for igniter_job in (True, False):
        danger = dangerous_step(text, igniter_job=igniter_job)
        if danger is None:
            continue
        assert danger.words, "no words"
        assert danger_line(danger).count("is dangerous: ") >= 1, "no reason"
        assert danger.told in " ".join(text.split()), "not as typed"
        assert dangerous_step(text, igniter_job=igniter_job, alike=True), "released by likeness"
        shown = screen(text, restraint=igniter_job)
        assert is_marked(shown) or danger.told not in " ".join(shown.split()), "shown"
        if len(content) < LONGEST_RESPELT and text.isascii() and text.isprintable():
            for number, spell in enumerate(SPELLINGS):
                if not dangerous_step(spell(text), igniter_job=igniter_job):
                    raise Released(number)


LONGEST_RESPELT = 1_000


def file_made(random: Random, samples: tuple[bytes, ...]) -> bytes:
    return spoilt(random, random.choice(samples))


@dataclass(slots=True)
class Target:
    """What is given input, and how such an input is made."""

    make: Callable[[Random], bytes]
    give: Try


@dataclass(slots=True)
class Shop:
    """A store that input is put into; after `LASTS` inputs it is looked through and made anew."""

    template: Path
    folder: Path
    given: Iterator[int] = field(default_factory=count)

    LASTS = 40

    @property
    def address(self) -> str:
        return str(self.folder / "shop.sqlite")

    def ready(self) -> None:
        """Look through the store now and then, and take a fresh one."""
        number = next(self.given)
        if number % self.LASTS == 0:
            if number:
                self.look()
            for path in self.folder.glob("shop.sqlite*"):
                if path.is_file():
                    path.unlink()
            copy(self.template, self.address)

    def look(self) -> None:
        """Read everything back.

        Raises
        ------
        AssertionError
            If something cannot be.
        """
        found = condition_of(self.address)
        assert found.is_sound, found
        with UnitOfWork(open_store(self.address), read_only=True) as work:
            list(work.jobs.all())

    def take(self, name: str, content: bytes, mapping: bytes | None = None) -> None:
        """Import a file."""
        self.ready()
        path, beside = self.folder / name, self.folder / "mapping.toml"
        path.write_bytes(content)
        if mapping is not None:
            beside.write_bytes(mapping)
        used = beside if mapping is not None else None
        rejects = self.folder / "rejects.jsonl"
        if import_file(self.address, path, mapping=used, rejects=rejects).added:
            self.look()

    def command(self, content: bytes) -> None:
        """Ask every command whose number the input begins with, with the rest as its words."""
        self.ready()
        number, word = content[:2], as_text(content[2:])
        (self.folder / "given.jsonl").write_bytes(content[2:])
        calls = [
            call
            for call in (*questions(word, 1, 2, self.folder), *changes(word, 1, 2, self.folder))
            if word in call or "import" in call
        ]
        call = calls[int.from_bytes(number) % len(calls)]
        result = CliRunner().invoke(kb, ["--store", self.address, "--who", "BT", *call])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert result.exit_code in {0, 1, 2}, (call, result.output)
        assert "Traceback" not in result.output, (call, result.output)


class TooSlow(BaseException):
    """Nothing in the program catches it."""


def stop(*_: object) -> None:
    raise TooSlow


def read_with(reader: Callable[[Path], object], path: Path, content: bytes) -> object:
    path.write_bytes(content)
    return reader(path)


def targets(folder: Path) -> dict[str, Target]:
    """Make every target, with its samples and its store."""
    template = folder / "template.sqlite"
    create_store(str(template)).dispose()
    import_file(str(template), seed_files()[-1])
    sheets = []
    for form in (Form.CSV, Form.JSONL):
        path = folder / f"sample.{form}"
        export_file(str(template), path, form=form)
        rows = path.read_bytes().splitlines(keepends=True)
        head = rows[:1] if form is Form.CSV else []
        sheets.append(tuple(b"".join((*head, *rows[n : n + 3])) for n in range(1, 30)))
    table, records = sheets
    toml = tuple(path.read_bytes()[:6000] for path in seed_files())
    shops = {name: folder / name for name in ("csv", "jsonl", "toml", "mapping", "commands")}
    for each in shops.values():
        each.mkdir()
    made = {name: Shop(template, each) for name, each in shops.items()}
    parsers = dict(PARSERS)
    parsers["parse_contact"] = lambda text: parse_contact(text, TODAY)
    parsers["entry"] = lambda text: entry(*text.partition("=")[::2])
    found = {
        name: Target(line_made, lambda content, parse=parse: parse(as_text(content)))  # type: ignore[misc]
        for name, parse in parsers.items()
    }
    found["dangerous_step"] = Target(step_made, step)
    found["edited"] = Target(
        lambda random: random.choice(columns()).encode() + b"=" + line_made(random),
        lambda content: edited(JOB, [as_text(content)], today=TODAY),
    )
    samples: dict[str, tuple[Path, Callable[[Path], object]]] = {
        "limits": (LIMITS_FILE, partial(read_limits, own=True)),
        "vehicles": (vehicles_file(), read_models),
    }
    for name, (path, reader) in samples.items():
        content = path.read_bytes()
        pieces = (content[:4000], content[-4000:])
        found[name] = Target(
            partial(file_made, samples=pieces), partial(read_with, reader, folder / f"{name}.toml")
        )
    found["mapping file"] = Target(
        partial(file_made, samples=(MAPPING.encode(),)),
        partial(read_with, read_mapping, folder / "mapping.toml"),
    )
    found["csv"] = Target(partial(file_made, samples=table), partial(made["csv"].take, "g.csv"))
    found["jsonl"] = Target(
        partial(file_made, samples=records), partial(made["jsonl"].take, "g.jsonl")
    )
    found["toml"] = Target(partial(file_made, samples=toml), partial(made["toml"].take, "g.toml"))
    found["mapping"] = Target(
        partial(file_made, samples=(MAPPING.encode(),)),
        lambda content: made["mapping"].take("g.csv", table[0], content),
    )
    found["commands"] = Target(
        lambda random: random.randbytes(2) + line_made(random), made["commands"].command
    )
    return found


def defect(give: Try, content: bytes) -> str | None:
    """Name what went wrong by its place in the program; None where nothing did."""
    signal.setitimer(signal.ITIMER_PROF, SLOW)
    try:
        give(content)
    except KbError:
        pass
    except (Exception, TooSlow) as error:  # whatever it is, it is a defect
        frames = traceback.extract_tb(error.__traceback__)
        own = [frame for frame in frames if "/kb/" in frame.filename] or frames
        last = own[-1]
        where = f"{Path(last.filename).name}:{last.lineno} {last.name}"
        if isinstance(error, Released):
            where += f" {error}"
        return f"{type(error).__name__} at {where}: {str(error)[:200]!r}"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return None


def grouped(known: Iterable[str]) -> dict[str, list[str]]:
    """Bring the targets into groups: whatever is in none of the tables reads a line."""
    others = {name for group in GROUPS.values() for name in group}
    return {
        **{group: list(names) for group, names in GROUPS.items()},
        PARSING: [name for name in known if name not in others],
    }


def place(found: str) -> str:
    return found.partition(": ")[0]


def shortened(give: Try, content: bytes, found: str, tries: int = 300) -> bytes:
    """Take parts out of an input as long as the same goes wrong."""
    size = len(content) // 2
    while size and tries > 0:
        start = 0
        while start < len(content) and tries > 0:
            less = content[:start] + content[start + size :]
            tries -= 1
            if place(defect(give, less) or "") == place(found):
                content = less
            else:
                start += size
        size //= 2
    return content


def run(name: str, target: Target, seconds: float, seed: int) -> tuple[int, int, float]:
    """Try a target so long; inputs, defects of their own places, and seconds of a processor."""
    random = Random(f"{name}{seed}")
    seen: set[str] = set()
    begin = time.process_time()
    tried = 0
    while time.process_time() < begin + seconds:
        content = target.make(random)
        tried += 1
        found = defect(target.give, content)
        if found and place(found) not in seen:
            seen.add(place(found))
            if TooSlow.__name__ not in found:
                content = shortened(target.give, content, found)
            print(f"  {name}: {found}\n    {content[:300]!r} ({len(content):,} bytes)", flush=True)
    return tried, len(seen), time.process_time() - begin


def tell(name: str, tried: int, found: int, spent: float) -> None:
    """Print a row."""
    print(name, f"{tried:,}", found, f"{spent:.0f} s", sep="\t", flush=True)


def main() -> None:
    """Print a row for each target: inputs tried, defects found, and seconds of a processor."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--target", action="append", default=[])
    parser.add_argument("--group", action="append", default=[], choices=(*GROUPS, PARSING))
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
            os.environ[name] = folder
        known = targets(Path(folder))
        if unknown := {*given.target} - {*known}:
            parser.error(f"no such target: {unknown}; there are {', '.join(known)}")
        groups = grouped(known)
        asked = [*given.target, *(name for group in given.group for name in groups[group])]
        asked = list(dict.fromkeys(asked)) or list(known)
        signal.signal(signal.SIGPROF, stop)
        print("target", "inputs", "defects", "processor", sep="\t")
        rows: list[tuple[int, int, float]] = []
        for name in asked:
            row = run(name, known[name], given.seconds / len(asked), given.seed)
            rows.append(row)
            tell(name, *row)
        tell("in all", *(sum(each) for each in zip(*rows, strict=True)))
    sys.exit(min(sum(found for _, found, _ in rows), 100))


if __name__ == "__main__":
    main()
