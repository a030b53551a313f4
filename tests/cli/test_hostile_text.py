"""Whatever a shop wrote, it is only text on every page: no escape, tag, attribute or formula acts.

What a terminal obeys is as `kb.reports.json.MISLEADING` says, with its sources; what a spreadsheet
runs begins with one of ``= + - @`` or a tab (OWASP, "CSV Injection", from memory). HTML is read by
the standard library's parser.
"""

import csv
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from html.parser import HTMLParser
from io import StringIO
from itertools import cycle
from pathlib import Path
from shutil import copy

import pytest
from click.testing import CliRunner
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from rich.table import Table
from rich.text import Text

from kb.case import (
    Action,
    Attempt,
    Cause,
    Confirmation,
    Contact,
    DiagnosticTest,
    EntryKind,
    FailureMode,
    Job,
    JobEntry,
    Link,
    LinkKind,
    Outcome,
    Precondition,
    Quantity,
    Reading,
    System,
    TroubleCode,
    Vehicle,
    VehicleModel,
)
from kb.cli.main import kb
from kb.cli.output import PlainConsole
from kb.intake.forms import job_to_record
from kb.reports.json import MISLEADING
from kb.store.database import create_store
from kb.store.names import Thing
from kb.store.unit_of_work import UnitOfWork
from tests.everywhere import changes, commands, every_call, questions, takes_json
from tests.recall.shop import CASES

MARKUP = "[bold red]zmark[/bold red]"
PARTS = (
    "\x9b31;44m",
    "\x9d0;owned\x9c",
    "\x90q",
    "\u202egnp\u202c",
    "\u2066\u2069",
    "a\u2028b",
    MARKUP,
    "[link=http://example.com]zmark[/link]",
    "[/]zmark[/]",
    ":warning:",
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "</title></style></svg><script>",
    "--><b>",
    "]]>",
    "&lt;i&gt;&#60;u&#62;",
    "=cmd|' /C calc'!A1",
    "@SUM(A1)",
    "+1+cmd",
    "-2+3",
    "\t=1+1",
    "\n=1+1",
    '",=1+1,"',
    "{0.__class__}%s%n${x}",
    "../../etc",
)
TYPED_ONLY = ("\x1b]0;owned\x07", "\x1b[66;5;123mx", "\r\x08\x0b", "\x7f", "\udc9b31m", "\udcff")
"""Nothing of these can be stored."""
TAGS = frozenset(
    (
        *("html", "head", "meta", "title", "style", "body", "h1", "h2", "h3", "p", "strong", "div"),
        *("table", "caption", "tr", "th", "td", "svg", "path", "circle", "rect", "line", "text"),
        *("figure", "figcaption"),
    )
)
ATTRIBUTES = frozenset(
    (
        *("lang", "charset", "name", "content", "class", "role", "scope", "data-label", "width"),
        *("height", "viewbox", "aria-label", "d", "x", "y", "x1", "y1", "x2", "y2", "cx", "cy"),
        *("r", "text-anchor", "transform", "opacity"),
    )
)


def hostile(parts: tuple[str, ...]) -> st.SearchStrategy[str]:
    """Texts of a few such parts with a word between."""
    return st.lists(st.sampled_from(parts), min_size=1, max_size=4).map(" a ".join)


def filled(texts: Iterator[str], number: int, opened: date) -> Job:
    """A job with such a text wherever there can be one; its cause and model are all jobs' own.

    One in four is an igniter's, whose words are judged before they are shown: that takes the most
    of the time, and shows the least of them.
    """
    about, part = (
        (System.RESTRAINTS, "airbag") if number % 4 == 3 else (System.BODY_ELECTRICS, "window")
    )
    say = texts.__next__
    supposed = Cause(
        component=say(), failure_mode=FailureMode.OPEN, location=say(), position=say(), words=say()
    )
    return Job(
        number=number,
        vehicle=Vehicle(make=say(), model=say(), engine=say(), ref=f"{number}{say()}"[:200]),
        opened=opened,
        closed=opened + timedelta(days=1),
        complaint=f"{part} lamp on after seat moved {say()}",
        system=about,
        conditions=say(),
        odometer_km=50_000,
        technician=say(),
        codes=(TroubleCode(code="B1234"),),
        readings=tuple(
            Reading(
                item=item,
                quantity=Quantity.RESISTANCE,
                typed=say(),
                value=2.0 + number / 100,
                position=say(),
                method=say(),
                condition=say(),
                proved_good=True,
            )
            for item in (say(), "seat connector")
        ),
        tests=(
            DiagnosticTest(name=say(), seen=say(), minutes=5, points_to=(say(),), clears=(say(),)),
        ),
        cause=replace(supposed, component=say()),
        proved_by=say(),
        attempts=(
            Attempt(
                action=Action.REPLACED,
                component=say(),
                words=say(),
                supposed=supposed,
                part_maker=say(),
                cured=False,
                verified=say(),
            ),
            Attempt(action=Action.OTHER, component=say(), words=say(), cured=True, verified=say()),
        ),
        contacts=(Contact(on=opened + timedelta(days=60), outcome=Outcome.COMEBACK, words=say()),),
        notes=say(),
        circuit=(
            Link(name=say(), kind=LinkKind.CONTROL_UNIT),
            Link(name=say(), kind=LinkKind.CONNECTOR),
            Link(name=part, kind=LinkKind.COMPONENT),
        ),
        confirmations=(
            Confirmation(
                what=Precondition.SUPPLY_OFF,
                step=say(),
                by=say(),
                at=datetime(2024, 6, 1, 10, tzinfo=UTC),
            ),
        ),
        entries=tuple(JobEntry(kind=kind, text=say(), by=say()) for kind in EntryKind),
    )


def shop(path: Path, parts: list[str]) -> str:
    """Make a store whose texts are all made of the parts: cases alike, an open job, a void one."""
    day = date.today() - timedelta(days=400)
    with UnitOfWork(create_store(str(path)), who=parts[0]) as work:
        for case in CASES:
            work.jobs.add(case)
        for number in range(30, 44):
            job = filled(cycle(parts[:1] if number < 40 else parts), number, day)
            work.jobs.add(job)
        open_job = filled(cycle(parts), 50, day)
        open_job = replace(open_job, closed=None, cause=None, contacts=())
        work.jobs.add(replace(open_job, vehicle=Vehicle(make=parts[0])))
        work.jobs.add(replace(job, number=51, void=parts[-1]))
        work.words.add("zzz", [parts[0]])
        work.words.add("yyy", [parts[-1], parts[0]])
        work.names.join(Thing.COMPONENT, "seat plug", parts[-1])
        key = parts[0][:200]
        work.models.add(VehicleModel(make=key, model=key, platform=key, engines=(parts[-1],)))
        work.models.add(VehicleModel(make="Corvane", model="Lido", generation=key))
        work.commit()
    return str(path)


class Page(HTMLParser):
    """Notes every tag and attribute that is none of the program's own."""

    def __init__(self) -> None:
        super().__init__()
        self.strange: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.strange += [tag] if tag not in TAGS else []
        self.strange += [f"{tag} {name}" for name, _ in attrs if name not in ATTRIBUTES]

    def handle_comment(self, data: str) -> None:
        self.strange.append(f"<!--{data}")

    def unknown_decl(self, data: str) -> None:
        self.strange.append(f"<![{data}")

    def handle_pi(self, data: str) -> None:
        self.strange.append(f"<?{data}")


def strange_in(page: str) -> list[str]:
    parser = Page()
    parser.feed(page)
    parser.close()
    return parser.strange


def test_what_would_act_on_a_page_is_noticed() -> None:
    """The checks of this file can fail."""
    assert strange_in("<p onclick=x>") == ["p onclick"]
    assert strange_in("<script>") == ["script"]
    assert len(obeyed("a\x1b[31mb\x9b")) == 2
    assert formulas("=1+1,2\r\n") == ["=1+1"]


def obeyed(output: str) -> list[str]:
    """Return what a terminal would obey in an output that is not for one."""
    signs = {*map(chr, MISLEADING), *map(chr, range(0x20)), *map(chr, range(0xD800, 0xE000))}
    return [f"{each!r} at {output.index(each)}" for each in sorted((signs - {*"\n\t"}) & {*output})]


def formulas(sheet: str) -> list[str]:
    """Return cells that a spreadsheet would run; numbers are none."""
    cells = [cell for row in csv.reader(StringIO(sheet, newline="")) for cell in row]
    return [
        cell
        for cell in cells
        if cell[:1] in {*"=+-@\t\r"} and cell and not re.fullmatch(r"-?[0-9.e+-]+", cell)
    ]


def look_at(
    call: tuple[str, ...], address: str, folder: Path, *, answers: bool = False
) -> list[str]:
    """Run a command, and return all that is wrong with what it wrote; `answers` if it must."""
    for page in folder.glob("*.html"):
        page.unlink()
    asked = ["--store", address, "--who", "BT", *call]
    result = CliRunner(env={"COLUMNS": "2000"}).invoke(kb, asked)
    wrong = []
    if result.exception and not isinstance(result.exception, SystemExit):
        wrong.append(f"{result.exception!r}")
    elif call[0] != "export":
        wrong += obeyed(result.output)
    if answers and result.exit_code and call[:2] not in NOT_HERE:
        wrong.append(result.output)
    if "--csv" in call or "csv" in call:
        wrong += formulas(result.stdout)
    if "--json" in call and result.exit_code == 0 and result.stdout.strip():
        json.loads(result.stdout)
    for page in folder.glob("*.html"):
        read = page.read_text("utf-8")
        wrong += [*strange_in(read), *obeyed(read)]
    return [f"{call!r}: {each}" for each in wrong]


def with_json(calls: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Calls, and each once more for machines where it can be."""
    return [*calls, *((*each, "--json") for each in calls if takes_json(each))]


@pytest.fixture
def given_file(tmp_path: Path, small_demo: None) -> Path:
    """A folder with a file to import."""
    job = filled(cycle(PARTS), 77, date(2025, 1, 1))
    (tmp_path / "given.jsonl").write_text(json.dumps(job_to_record(job), default=str) + "\n{}\n")
    return tmp_path


def test_every_command_is_called() -> None:
    assert {name for name, _ in every_call("x", 1, 1, Path())} == set(commands())


@pytest.fixture(scope="module")
def hostile_shop(tmp_path_factory: pytest.TempPathFactory) -> str:
    return shop(tmp_path_factory.mktemp("hostile") / "shop.sqlite", list(PARTS))


@pytest.fixture
def own_copy(hostile_shop: str, given_file: Path) -> str:
    return str(copy(hostile_shop, given_file / "shop.sqlite"))


OPEN, CLOSED = 50, 43
NOT_HERE = {("job", "work"), ("demo", "copy")}
"""What is refused without a terminal, and where something is already."""


def test_no_command_lets_what_is_stored_act(own_copy: str, given_file: Path) -> None:
    word = " a ".join(PARTS)
    wrong = []
    for call in with_json(questions(word, OPEN, CLOSED, given_file)):
        wrong += look_at(call, own_copy, given_file, answers=word not in call)
    for call in changes(word, OPEN, CLOSED, given_file):
        wrong += look_at(call, own_copy, given_file)
    assert wrong == [], "\n".join(wrong)


@pytest.mark.parametrize("word", ["".join(TYPED_ONLY), "=1\x01"], ids=ascii)
def test_no_command_lets_what_is_typed_act(own_copy: str, given_file: Path, word: str) -> None:
    calls = [*questions(word, OPEN, CLOSED, given_file), *changes(word, OPEN, CLOSED, given_file)]
    wrong = []
    for call in calls:
        if any(word in each for each in call):
            wrong += look_at(call, own_copy, given_file)
    assert wrong == [], "\n".join(wrong)


@settings(max_examples=2, phases=[Phase.explicit, Phase.generate])
@given(st.lists(hostile(PARTS), min_size=6, max_size=15))
def test_no_page_lets_it_act_however_it_is_put_together(
    given_file: Path, tmp_path_factory: pytest.TempPathFactory, texts: list[str]
) -> None:
    address = shop(tmp_path_factory.mktemp("hostile") / "shop.sqlite", texts)
    wrong = []
    for call in questions(texts[0], OPEN, CLOSED, given_file):
        if call[0] != "demo":  # a shop of its own, with none of these texts
            wrong += look_at(call, address, given_file)
    assert wrong == [], "\n".join(wrong)


@given(st.lists(st.sampled_from((*PARTS, *TYPED_ONLY)) | st.text(max_size=5)).map("".join))
def test_a_terminal_is_given_only_colours_of_our_own(text: str) -> None:
    screen = PlainConsole(force_terminal=True, color_system="standard", markup=False, width=500)
    table = Table("head", title=text)
    table.add_row(Text(text, style="red"))
    with screen.capture() as capture:
        screen.print(table, Text(text), text)
    assert obeyed(re.sub(r"\x1b\[(?:0|1|2|3|4|31|1;31|[0-9;]{1,5})m", "", capture.get())) == []
    assert "\x1b[66" not in capture.get()


def test_markup_is_shown_and_not_obeyed(own_copy: str) -> None:
    asked = ["--store", own_copy, "job", "show", str(CLOSED)]
    assert MARKUP in CliRunner(env={"COLUMNS": "2000"}).invoke(kb, asked).output
