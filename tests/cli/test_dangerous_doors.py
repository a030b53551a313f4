"""Wherever a person types, a dangerous step is named, and nothing of it is stored unasked.

What is dangerous at an igniter is common practice, no source.
"""

import json
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from kb.case import DiagnosticTest, Job, System, Vehicle
from kb.cli.main import kb
from kb.store.database import create_store
from kb.store.unit_of_work import UnitOfWork
from tests.cli.test_job import type_at
from tests.everywhere import commands
from tests.recall.shop import CASES
from tests.store_copies import copied

STEP = "put test lamp across airbag squib"
OPEN, CARD = 20, 21
LAMP_ON = "airbag lamp on"

DOORS = [
    ("job", "open", f"{LAMP_ON}, {STEP}"),
    ("job", "open", LAMP_ON, "--notes", STEP),
    ("job", "open", LAMP_ON, "--conditions", STEP),
    ("job", "open", LAMP_ON, "--technician", STEP),
    ("job", "open", LAMP_ON, "--reading", f"{STEP} 2.3 ohm"),
    ("job", "add", "20", STEP),
    ("job", "add", "line", "20", STEP),
    ("job", "add", "test", "20", f"{STEP}: lit"),
    ("job", "add", "test", "20", "visual check: dry", "--points-to", STEP),
    ("job", "add", "test", "20", "visual check: dry", "--clears", STEP),
    ("job", "add", "attempt", "20", STEP),
    ("job", "add", "attempt", "20", "cleaned seat plug", "--verified", STEP),
    ("job", "add", "attempt", "20", "cleaned seat plug", "--part-maker", STEP),
    ("job", "add", "attempt", "20", "cleaned seat plug", "--supposed", f"{STEP}, open"),
    ("job", "add", "reading", "20", f"{STEP} 2.3 ohm"),
    ("job", "add", "reading", "20", "battery 12.4 V", "--condition", STEP),
    ("job", "add", "reading", "20", "squib 2.3 ohm", "--method", "test lamp"),
    ("job", "add", "contact", "1", "held", "--words", STEP),
    ("job", "edit", "20", "--set", f"complaint={STEP}"),
    ("job", "edit", "20", "--set", f"notes={STEP}"),
    ("job", "edit", "20", "--set", f"tests[0].name={STEP}"),
    ("job", "edit", "20", "3", f"{STEP}: lit"),
    ("job", "circuit", "20", f"airbag ECU, {STEP}, pretensioner"),
    ("job", "close", "20", f"{STEP}, open"),
    ("job", "close", "20", "seat plug, open", "--proved-by", STEP),
    ("job", "close", "20", "seat plug, open", "--fix", f"cleaned seat plug, {STEP}"),
    ("job", "close", "20", "--component", "seat plug", "--mode", "open", "--location", STEP),
    ("job", "close", "20", "seat plug, open", "--fix", "cleaned seat plug", "--verified", STEP),
    ("job", "close", "20", "seat plug, open", "--fix", "cleaned seat plug", "--part-maker", STEP),
    ("job", "void", "20", "--why", STEP),
    ("next-test", "20", "--did", "1", "--saw", "a", "--words", STEP),
    ("reading", f"{STEP} 2.3 ohm"),
    ("names", "join", STEP, "seat plug"),
    ("names", "join", "seat plug", STEP),
    ("names", "join", STEP, "under seat", "--location"),
    ("words", "add", "mulch", STEP),
    ("vehicle", "add", "Corvane", STEP),
    ("vehicle", "add", "Corvane", "Lido", "--generation", STEP),
    ("vehicle", "add", "Corvane", "Lido", "--platform", STEP),
    ("vehicle", "add", "Corvane", "Lido", "--engine", STEP),
]  # fmt: skip
"""One call for each thing that somebody may type; the rest of it is harmless."""
NO_WORDS = {
    *("job reopen", "job remove", "job use", "job add code", "undo", "names part", "words remove"),
    *("vehicle remove", "weights", "watch", "demo copy", "demo reset", "init"),
    *("db backup", "db erase", "db reindex", "db roles", "db restore", "db upgrade"),
}
"""Store nothing that is said in somebody's own words."""
ASKING = {"job follow-up", "job work", "review"}
"""Are asked at a terminal, below."""
FROM_FILES = {"import"}


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Six cases, a job that is open and a card that nobody has judged."""
    path = str(tmp_path_factory.mktemp("doors") / "shop.sqlite")
    lido = Vehicle(make="Corvane", model="Lido", year=2016, ref="K001")
    seen = DiagnosticTest(name="visual check", seen="plug green")
    job = Job(number=OPEN, vehicle=lido, opened=date(2024, 6, 1), complaint=LAMP_ON, tests=(seen,))
    card = Job(
        number=CARD,
        vehicle=lido,
        opened=date(2024, 6, 1),
        closed=date(2024, 6, 2),
        complaint=LAMP_ON,
        notes="cleaned seat plug",
        system=System.RESTRAINTS,
    )
    with UnitOfWork(create_store(path), who="BT") as work:
        for each in (*CASES, job, card):
            work.jobs.add(each)
        work.commit()
    return path


@pytest.fixture
def shop(kept: str, tmp_path: Path) -> str:
    return copied(kept, tmp_path)


def run(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "--who", "BT", *words])


def agrees(words: tuple[str, ...]) -> bool:
    """Whether the command can be told to ask nothing."""
    name = max((each for each in commands() if words[: len(each)] == each), key=len, default=())
    options = commands()[name].params if name else commands()["job", "add", "line"].params
    return any("--yes" in each.opts for each in options if isinstance(each, click.Option))


def stored(address: str) -> str:
    """Everything that the store holds."""
    with closing(sqlite3.connect(address)) as store:
        return "\n".join(store.iterdump())


@pytest.mark.parametrize("words", DOORS, ids=" ".join)
def test_a_dangerous_step_is_named_and_nothing_stored(shop: str, words: tuple[str, ...]) -> None:
    before = stored(shop)
    refused = run(shop, *words, *(["--yes"] if agrees(words) else []))
    told = " ".join(refused.output.split())
    assert refused.exit_code == 1, told
    assert "is dangerous" in told, told
    assert "live value" in told, told
    assert stored(shop) == before


def test_no_door_is_forgotten() -> None:
    """Every command is tried here, or changes nothing, or stores nobody's own words."""
    tried = {" ".join(each) for words in DOORS for each in commands() if words[: len(each)] == each}
    asking = {name for name in map(" ".join, commands()) if name.split()[0] in READ_ONLY}
    shown = {name for name in map(" ".join, commands()) if name.split()[-1] in LOOKING}
    everything = set(map(" ".join, commands()))
    assert everything == tried | NO_WORDS | ASKING | FROM_FILES | asking | shown
    assert not tried & (NO_WORDS | ASKING | FROM_FILES)


READ_ONLY = {
    *("causes", "fixes", "similar", "search", "code", "recurring", "comebacks", "stock", "report"),
    *("lesson", "evaluate", "export", "schema"),
}
LOOKING = {"list", "show", "history", "propose", "check", "status"}


@pytest.mark.parametrize(
    "words",
    [
        ("job", "open", LAMP_ON, "--vehicle", f"corvane {STEP}"),
        ("job", "open", LAMP_ON, "--ref", STEP),
        ("job", "close", "20", STEP),
        ("job", "add", "code", "20", STEP),
        ("job", "use", STEP),
        ("next-test", "20", "--confirm", STEP),
    ],
    ids=" ".join,
)
def test_what_takes_no_such_words_keeps_none_of_them(shop: str, words: tuple[str, ...]) -> None:
    run(shop, *words, *(["--yes"] if agrees(words) else []))
    assert STEP not in stored(shop)


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (("job", "open"), f"{LAMP_ON}, {STEP}\n\n\n\n\n\n\n\n\ny\nn\n"),
        (("job", "add", "20"), f"{STEP}\ny\nn\n"),
        (("job", "work", "20"), f"y\nt\n{STEP}\ny\nn\nq\n"),
        (("review",), f"ocleaned seat plug\n{STEP}, open\n\nq"),
    ],
    ids=lambda told: told[0] if isinstance(told, tuple) else "",
)
def test_at_a_terminal_it_is_named_before_it_is_stored(
    shop: str, words: tuple[str, ...], keys: str
) -> None:
    before = stored(shop)
    told = " ".join(type_at(shop, "--who", "BT", *words, keys=keys).output.split())
    assert "dangerous" in told, told
    assert stored(shop) == before, told


def test_of_what_is_imported_it_is_said(shop: str, tmp_path: Path) -> None:
    file = tmp_path / "given.jsonl"
    lido = {"make": "Corvane", "model": "Lido", "year": 2016}
    job = {"vehicle": lido, "opened": "2024-06-01", "complaint": LAMP_ON, "notes": STEP}
    file.write_text(json.dumps(job) + "\n", encoding="utf-8")
    told = " ".join(run(shop, "import", str(file)).output.split())
    assert "dangerous" in told, told
    assert STEP not in told
