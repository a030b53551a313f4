"""Wherever a person types, a dangerous step is named, and nothing of it is stored unasked.

What is dangerous at an igniter is common practice, no source.
"""

import json
import sqlite3
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from kb.case import DiagnosticTest, Job, System, Vehicle
from kb.cli.main import kb
from kb.safety.igniter_steps import dangerous_step
from kb.store.database import create_store
from kb.store.unit_of_work import UnitOfWork
from tests.cli.test_job import type_at
from tests.everywhere import commands
from tests.recall.shop import CASES
from tests.services.test_follow_up import job as fixed
from tests.services.test_follow_up import put
from tests.store_copies import copied

STEP = "put test lamp across airbag squib"
LIKE = "pulled and pushed the bag plug several times, reading jumps"
"""No list knows it for dangerous."""
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
    ("job", "close", "20", "--component", STEP, "--mode", "open"),
    ("job", "close", "20", "--component", "seat plug", "--mode", "open", "--position", STEP),
    ("job", "follow-up", "1", STEP),
    ("job", "follow-up", "1", f"held, {STEP}"),
    ("job", "add", "contact", "1", STEP),
    ("job", "close", "20", "seat plug, open", "--fix", "cleaned seat plug", "--part-maker", STEP),
    ("job", "void", "20", "--why", STEP),
    ("next-test", "20", "--did", "1", "--saw", "a", "--words", STEP),
    ("reading", f"{STEP} 2.3 ohm"),
    ("names", "join", STEP, "seat plug"),
    ("names", "join", "seat plug", STEP),
    ("names", "join", STEP, "under seat", "--location"),
    ("words", "add", "mulch", STEP),
    ("words", "add", STEP, "mulch"),
    ("vehicle", "add", STEP, "Lido"),
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
ASKING = {"job work", "review"}
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


def run(address: str, *words: str, who: str = "BT") -> Result:
    return CliRunner().invoke(kb, ["--store", address, "--who", who, *words])


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


@pytest.mark.parametrize(
    "words",
    [
        ("job", "open", f"{LAMP_ON}, {LIKE}"),
        ("job", "open", LAMP_ON, "--notes", LIKE),
        ("job", "edit", "20", "--set", f"complaint={LAMP_ON}, {LIKE}"),
        ("job", "add", "20", LIKE),
        ("job", "follow-up", "1", f"held, {LIKE}"),
        ("reading", f"{LIKE}, squib 2.3 ohm"),
        ("names", "join", LIKE, "seat plug"),
    ],
    ids=" ".join,
)
def test_what_is_worded_like_one_is_named_at_every_door(shop: str, words: tuple[str, ...]) -> None:
    """No list knows it; it is worded like what people judged dangerous."""
    assert dangerous_step(LIKE, igniter_job=True) is None
    before = stored(shop)
    refused = run(shop, *words, *(["--yes"] if agrees(words) else []))
    told = " ".join(refused.output.split())
    assert refused.exit_code == 1, told
    assert "is dangerous: " in told, told
    assert stored(shop) == before


@pytest.mark.parametrize(
    "words",
    [
        ("reading", "pretensioner 2.3 ohm"),
        ("reading", "RF pretensioner 6.1 ohm", "--vehicle", "corvane lido 2016"),
        ("reading", "squib 3 by scan tool 2.1 ohm"),
        (
            "job",
            "open",
            "airbag lamp on since the seat was moved, RF pretensioner 6.1 ohm",
            "--yes",
        ),
        ("job", "open", "seat belt lamp and bong stays on driver side, then airbag lamp", "--yes"),
        ("job", "open", "back from the seaside with the airbag lamp on", "--yes"),
    ],
    ids=" ".join,
)
def test_a_plain_reading_or_complaint_raises_no_alarm(shop: str, words: tuple[str, ...]) -> None:
    assert "is dangerous" not in " ".join(run(shop, *words).output.split())


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
        ("job", "open", LAMP_ON, "--system", STEP),
        ("job", "open", LAMP_ON, "--km", STEP),
        ("job", "close", "20", STEP),
        ("job", "add", "contact", "1", "held", "--job", STEP),
        ("watch", "--follow", STEP),
        ("watch", "--ack", STEP),
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


@pytest.mark.parametrize("name", [STEP, "meter on the squib"])
def test_whoever_signs_gives_a_name_and_no_step(shop: str, name: str) -> None:
    """It would stand in the history of the job, which tells who recorded what."""
    before = stored(shop)
    refused = run(shop, "job", "add", "line", "20", "visual check: dry", "--yes", who=name)
    assert refused.exit_code == 1
    assert "is dangerous" in " ".join(refused.output.split())
    asked = type_at(shop, "job", "work", "20", keys=f"y\n{name}\nBT\nq\n")
    assert "is dangerous" in " ".join(asked.output.split())
    assert stored(shop) == before
    kept = run(shop, "job", "add", "line", "20", "visual check: dry", "--yes", who="B. Tamm")
    assert kept.exit_code == 0, kept.output


@pytest.mark.parametrize(
    "keys", [f"h{STEP}\n\nn\nq", f"o\n{STEP}\n\nn\nq", f"{STEP}q"], ids=["day", "job", "key"]
)
def test_whoever_is_asked_whether_fixes_held_can_say_no_step(empty_store: str, keys: str) -> None:
    """Each of its questions takes a key, a day or a number, and asks again for anything else."""
    put(empty_store, fixed("K1", date.today() - timedelta(days=60), 80_000))
    told = type_at(empty_store, "--who", "BT", "job", "follow-up", keys=keys)
    assert told.exit_code == 0, told.output
    assert STEP not in stored(empty_store)


@pytest.mark.parametrize("trial", [[], ["--dry-run"]], ids=["kept", "tried"])
def test_of_what_is_imported_it_is_said(shop: str, tmp_path: Path, trial: list[str]) -> None:
    """An import asks nothing: it says so at once, and nothing of it is shown or proposed."""
    file = tmp_path / "given.jsonl"
    lido = {"make": "Corvane", "model": "Lido", "year": 2016}
    told = {
        "number": 30,
        "vehicle": lido,
        "opened": "2024-06-01",
        "closed": "2024-06-02",
        "complaint": LAMP_ON,
        "system": "restraints",
        "notes": STEP,
        "cause": {"component": "seat connector", "failure_mode": "high resistance"},
        "tests": [{"name": STEP, "seen": "lit", "points_to": ["seat connector"]}],
        "attempts": [{"action": "replaced", "component": STEP, "cured": True}],
    }
    file.write_text(json.dumps(told) + "\n", encoding="utf-8")
    said = " ".join(run(shop, "import", str(file), *trial).output.split())
    assert "dangerous" in said, said
    assert "never proposed" in said
    assert STEP not in said
    if trial:
        return
    assert STEP in stored(shop)
    for words in (
        ("job", "show", "30"),
        ("job", "history", "30"),
        ("causes", LAMP_ON),
        ("fixes", "seat connector", "high resistance"),
        ("next-test", "20"),
        ("similar", LAMP_ON),
        ("lesson", "restraints", "--detail"),
    ):
        page = run(shop, *words)
        assert page.exit_code == 0, page.output
        assert STEP not in page.output, words
    assert "must not be repeated" in " ".join(run(shop, "job", "show", "30").output.split())


@pytest.mark.parametrize("form", ["jsonl", "csv"])
def test_an_import_names_the_rows_that_would_be_asked_about(
    shop: str, tmp_path: Path, form: str
) -> None:
    """One judgement for what is typed and what is imported, plain or only like what is plain."""
    notes = [STEP, "plug green", LIKE, "coded the lamp out", "drove 10 km", "left load in the plug"]
    file = tmp_path / f"given.{form}"
    if form == "jsonl":
        cards = [_card(f"U{place}", note) for place, note in enumerate(notes)]
        file.write_text("".join(f"{json.dumps(each)}\n" for each in cards), encoding="utf-8")
    else:
        head = "vehicle.ref,vehicle.make,vehicle.model,opened,closed,complaint,system,notes"
        rows = [
            f'U{place},Corvane,Lido,2024-06-01,2024-06-02,{LAMP_ON},restraints,"{note}"'
            for place, note in enumerate(notes)
        ]
        file.write_text("\n".join([head, *rows]), encoding="utf-8")
    said = " ".join(run(shop, "import", str(file), "--dry-run").output.split())
    asked = [
        place
        for place, note in enumerate(notes, 1 if form == "jsonl" else 2)
        if run(shop, "job", "open", LAMP_ON, "--notes", note, "--yes").exit_code
    ]
    assert len(asked) == len(notes) - 2
    lines = ", ".join(map(str, asked))
    assert f"{len(asked)} of the jobs (line {lines})" in said, said


def _card(ref: str, note: str) -> dict[str, object]:
    return {
        "vehicle": {"make": "Corvane", "model": "Lido", "ref": ref},
        "opened": "2024-06-01",
        "closed": "2024-06-02",
        "complaint": LAMP_ON,
        "system": "restraints",
        "notes": note,
    }


def test_a_fix_at_close_that_cannot_be_read_is_refused_with_its_danger(shop: str) -> None:
    fix = f"airbag plug apart, {STEP}"
    words = ("job", "close", "20", "seat plug, open", "--fix", fix, "-y")
    run = CliRunner().invoke(kb, ["--store", shop, *words])
    assert run.exit_code
    assert "must begin with what was done" in run.output
    assert "dangerous" in run.output


def test_an_import_names_the_rows_of_which_a_page_withholds_words(
    shop: str, tmp_path: Path
) -> None:
    notes = ["2R1 now, was 6", "drove 10 km", "2.1 between pin 1 and 2 of the yellow plug", STEP]
    file = tmp_path / "given.jsonl"
    cards = [_card(f"U{place}", note) for place, note in enumerate(notes)]
    file.write_text("".join(f"{json.dumps(each)}\n" for each in cards), encoding="utf-8")
    said = " ".join(run(shop, "import", str(file), "--dry-run").output.split())
    assert "not plainly allowed, is told in 1 of the jobs (line 4)" in said
    assert "no step is named in them, stand in 2 of the jobs (line 1, 3)" in said
