"""Cautions come before any word of a job, stay in sight, and dangerous steps are not let pass."""

import json
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from rich.console import Console, ConsoleDimensions
from rich.text import Text

from kb.case import Confirmation, DiagnosticTest, Job, Precondition, System, Vehicle
from kb.cli import output
from kb.cli.main import App, kb
from kb.safety.igniter_lines import withheld_line
from kb.settings import Settings, TroubleshootingSettings
from kb.store.database import create_store
from kb.store.unit_of_work import UnitOfWork
from tests.cli.test_job import type_at
from tests.recall.shop import CASES

CAUTION = re.compile(r"CAUTION +Airbags and pretensioners can fire")
LAMP = "put test lamp across airbag squib, lamp lit"
UNTAGGED = Job(
    number=20,
    vehicle=Vehicle(make="Corvane", model="Lido", year=2016, ref="K001"),
    opened=date(2024, 6, 1),
    complaint="lamp on, LF pretensioner plug green",
    tests=(
        DiagnosticTest(name="terminal drag test, seat connector", seen="one pin loose"),
        DiagnosticTest(name="lamp across squib", seen="lit"),
    ),
)


@pytest.fixture
def shop(tmp_path: Path) -> str:
    """Six cases, and an open job whose words alone tell that it is on an igniter."""
    address = str(tmp_path / "shop.sqlite")
    with UnitOfWork(create_store(address), who="BT") as work:
        for job in (*CASES, UNTAGGED):
            work.jobs.add(job)
        work.commit()
    return address


def run(address: str, *words: str, keys: str = "") -> Result:
    return CliRunner().invoke(kb, ["--store", address, *words], input=keys)


@pytest.mark.parametrize(
    "words",
    [
        ["causes", "airbag", "lamp", "on"],
        ["causes", "--job", "20"],
        ["similar", "--job", "20"],
        ["next-test", "20"],
        ["reading", "LF pretensioner 6.1 ohm"],
        ["fixes", "seat connector"],
        ["lesson", "restraints"],
        ["code", "B1234"],
        ["vehicle", "show", "K001"],
        ["job", "show", "20"],
        ["job", "show", "20", "--verbatim"],
        ["job", "list"],
        ["job", "history", "20"],
        ["job", "open", "airbag lamp on", "--yes"],
        ["job", "add", "20", "plug cleaned", "--yes"],
        ["job", "edit", "20", "--set", "odometer_km=80000", "--yes"],
        ["job", "circuit", "20", "airbag ECU, seat plug, pretensioner", "--yes"],
        ["job", "close", "20", "seat connector, open", "--yes"],
        ["--who", "BT", "job", "edit", "20", "2", "airbag lamp on", "--yes"],
        ["--who", "BT", "job", "remove", "20", "3", "--yes"],
        ["job", "void", "20", "--why", "told twice", "--yes"],
        ["job", "reopen", "1", "--yes"],
        ["undo", "--list"],
        ["undo", "1", "--yes"],
    ],
)
def test_the_caution_comes_before_the_first_word_of_a_job(shop: str, words: Sequence[str]) -> None:
    result = run(shop, *words)
    assert result.exit_code == 0, result.output
    assert CAUTION.match(result.output), result.output


@pytest.mark.parametrize("command", ["comebacks", "recurring"])
def test_the_caution_comes_before_what_came_back(demo_store: str, command: str) -> None:
    result = run(demo_store, command)
    assert result.exit_code == 0, result.output
    assert CAUTION.match(result.output), result.output


def test_a_page_shows_what_was_done_to_an_igniter_only_verbatim(shop: str) -> None:
    line = " ".join(withheld_line(20).split())
    for words in (["job", "show", "20"], ["job", "history", "20"], ["next-test", "20"]):
        text = " ".join(run(shop, *words).output.split())
        assert "lamp across squib" not in text
    assert line in " ".join(run(shop, "job", "show", "20").output.split())
    assert "lamp across squib: lit" in run(shop, "job", "show", "20", "--verbatim").output
    told = json.loads(run(shop, "job", "show", "20", "--json").output)["job"]["tests"]
    assert told[1]["name"] == "lamp across squib"  # machines are told everything


def test_a_test_that_nobody_confirmed_is_said_to_be_so(shop: str) -> None:
    text = " ".join(run(shop, "job", "show", "20").output.split())
    assert "“terminal drag test, seat connector” was done without a confirmation" in text
    line = "visual check: nothing to be seen"
    assert "confirmation" not in run(shop, "job", "add", "test", "20", line, "--yes").output
    line = "terminal drag test: pin 2 loose"
    added = run(shop, "job", "add", "test", "20", line, "--yes").output
    assert "“terminal drag test” was done without a confirmation" in " ".join(added.split())
    run(shop, "job", "edit", "20", "--set", "tests[3].name=a look at it", "--yes")
    assert "“a look at it”" in " ".join(run(shop, "job", "show", "20").output.split())


FIX = "replaced seat connector"


@pytest.mark.parametrize(("who", "vouched"), [("b.t.", True), ("MK", False)])
def test_a_confirmation_vouches_for_a_fix_of_the_person_who_gave_it(
    shop: str, who: str, vouched: bool
) -> None:
    assert run(shop, "--who", "BT", "next-test", "20", "--confirm", FIX, "--yes").exit_code == 0
    assert "(ended)" not in run(shop, "job", "show", "20").output
    added = run(shop, "--who", who, "job", "add", "attempt", "20", FIX, "--yes").output
    unsafe = f"“{FIX}” was done without a confirmation"
    assert (unsafe in " ".join(added.split())) is not vouched
    sheet = " ".join(run(shop, "job", "show", "20").output.split())
    assert (f"“{FIX}” were" in sheet) is not vouched  # after the drag test, which nobody confirmed
    assert "(ended)" in sheet  # with the step, or as somebody else recorded something


def test_every_page_takes_a_confirmation_to_hold_as_long_as_the_settings_say(
    shop: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    at_once = Settings(troubleshooting=TroubleshootingSettings(confirmation_hours=0))
    monkeypatch.setattr("kb.cli.main.App", partial(App, settings=at_once))
    assert run(shop, "--who", "BT", "next-test", "20", "--confirm", FIX, "--yes").exit_code == 0
    assert "(ended)" in run(shop, "job", "show", "20").output
    assert "(ended)" in type_at(shop, "job", "edit", "20", keys="\n").output
    assert "(ended)" in type_at(shop, "job", "close", "20", keys="\nn\n").output
    added = run(shop, "--who", "BT", "job", "add", "attempt", "20", FIX, "--yes").output
    assert f"“{FIX}” was done without a confirmation" in " ".join(added.split())


def test_a_confirmation_that_came_with_its_job_is_said_to_open_nothing(tmp_path: Path) -> None:
    given = Confirmation(
        what=Precondition.SUPPLY_OFF,
        by="BT",
        at=datetime(2024, 6, 1, 10, tzinfo=UTC),
        step="drag test",
    )
    address = str(tmp_path / "other.sqlite")
    with UnitOfWork(create_store(address)) as work:
        work.jobs.add(replace(UNTAGGED, confirmations=(given,)))
        work.commit()
    page = " ".join(run(address, "job", "show", "20").output.split())
    assert "(imported, opens nothing here)" in page


@pytest.mark.parametrize("words", [["next-test"], ["job", "work"]])
def test_the_caution_stands_before_the_question_which_job(shop: str, words: list[str]) -> None:
    asked = type_at(shop, "--who", "BT", *words, keys="20\nq\n").output
    assert "Job number" in asked
    assert CAUTION.search(asked.partition("Job number")[0])


def test_a_dangerous_step_is_stored_only_as_what_happened(shop: str) -> None:
    refused = run(shop, "job", "add", "20", LAMP, "--yes")
    assert refused.exit_code == 1
    for words in ("test lamp", "is dangerous", "may fire it", "scan tool", "--happened"):
        assert words in " ".join(refused.output.split())
    assert max(map(len, refused.output.splitlines())) <= 87  # behind "Error: "
    assert run(shop, "job", "add", "20", LAMP, "--yes", "--happened").exit_code == 0
    assert LAMP in run(shop, "job", "show", "20", "--verbatim").output
    assert "A dangerous step was in fact done on this car" in run(shop, "job", "show", "20").output
    history = run(shop, "job", "history", "20").output
    assert "Typed 1: [not shown" in history
    assert "squib" not in history


@pytest.mark.parametrize(
    "line",
    [
        "ohmed the squib direct w/ multimeter 2.1 ohm",
        "batt off and straight in, no wait, swapped airbag",
        "cut the yellow connector off n butt spliced the pretensioner wires",
        "did it all with key on, faster",
        "meter across it 2.2, fine",
        "swapped drivers bag for one off ebay, left batt on as radio code missing",
    ],
)
def test_what_was_stored_on_an_explicit_yes_is_told_on_the_page(shop: str, line: str) -> None:
    number = opened(shop)
    assert run(shop, "job", "add", number, line, "--yes").exit_code == 1
    assert "dangerous step" not in run(shop, "job", "show", number).output
    assert run(shop, "job", "add", number, line, "--yes", "--happened").exit_code == 0
    page = " ".join(run(shop, "job", "show", number).output.split())
    assert "A dangerous step was in fact done on this car" in page
    assert line not in page


def opened(shop: str) -> str:
    run(shop, "job", "open", "airbag lamp on, passenger side", "--yes")
    return "21"


def test_what_is_not_shown_for_no_plain_reason_is_said_to_be_read(shop: str) -> None:
    number = opened(shop)
    line = "loop check through bag, 2.4"
    assert run(shop, "job", "add", number, line, "--yes").exit_code == 0
    page = " ".join(run(shop, "job", "show", number).output.split())
    assert "What is not shown here may have been a dangerous step" in page


def test_a_dangerous_step_said_to_have_happened_is_named_and_masked(shop: str) -> None:
    told = run(shop, "job", "add", "20", LAMP, "--yes", "--happened").output
    line = " ".join(told.split())
    assert "DANGER" in line
    assert line.count(LAMP) == 1  # where it is called dangerous


def test_what_the_page_will_hide_is_said_when_it_is_typed(shop: str) -> None:
    line = "loop check through bag, 2.4"
    told = " ".join(run(shop, "job", "add", "20", line, "--yes").output.split())
    assert f"Will not be shown, as it may be a meter's on an igniter: “{line}”" in told
    assert f"kept as words only: {line}" not in told
    assert line not in " ".join(run(shop, "job", "show", "20").output.split())


@pytest.mark.parametrize(
    "line",
    [
        "Beifahrerairbag mit 3 Ohm Widerstand ersetzt, Lampe aus",
        "pretensioner lead twisted together and taped",
        "unplugged steering wheel module straight away",
    ],
)
def test_what_is_dangerous_is_not_asked_for_in_other_words(shop: str, line: str) -> None:
    refused = CliRunner().invoke(kb, ["--store", shop, "job", "add", opened(shop), line, "--yes"])
    told = " ".join(refused.output.split())
    assert "is dangerous" in told
    assert "Will not be shown" not in told


def test_what_is_dangerous_is_quoted_as_it_was_typed(shop: str) -> None:
    line = "résistance airbag passager mesurée 2,1 ohm au multimètre"
    refused = CliRunner().invoke(kb, ["--store", shop, "job", "add", opened(shop), line, "--yes"])
    assert f"“{line}” is dangerous: a meter" in " ".join(refused.output.split())


def test_contact_spray_in_an_igniters_plug_is_named(shop: str) -> None:
    number = opened(shop)
    line = "seat connector pins cleaned with contact spray, battery off 10 min"
    told = " ".join(run(shop, "job", "add", number, line, "--yes").output.split())
    assert "contact spray may harm a plug of an igniter's circuit" in told
    plain = run(shop, "job", "add", number, "cleaned seat connector", "--yes").output
    assert "contact spray" not in plain


@pytest.mark.parametrize(
    "line",
    ["checked resistance of the bag with bag in lap", "0.8 A through the initiator, ok"],
)
def test_what_may_fire_an_igniter_is_named_and_stored_only_as_what_happened(
    shop: str, line: str
) -> None:
    refused = CliRunner().invoke(kb, ["--store", shop, "job", "add", "20", line, "--yes"])
    assert refused.exit_code != 0
    assert "dangerous" in refused.output
    assert line not in " ".join(run(shop, "job", "show", "20").output.split())


def test_values_of_what_is_no_igniters_are_not_hidden(shop: str) -> None:
    lines = ["tyre pressures LF 2.3 bar, RF 2.3 bar, LR 2.1 bar", "LF door pin 0.4 ohm"]
    for line in lines:
        told = run(shop, "job", "add", "20", line, "--yes").output
        assert "Will not be shown" not in told
    shown = " ".join(run(shop, "job", "show", "20").output.split())
    assert all(line in shown for line in lines)


@pytest.mark.parametrize(
    "words",
    [
        ["words", "add", "mulch", LAMP],
        ["vehicle", "add", LAMP, "Lido"],
        ["vehicle", "add", "Corvane", "Lido", "--engine", LAMP],
        ["job", "void", "20", "--why", LAMP, "--yes"],
    ],
)
def test_no_list_or_reason_takes_a_dangerous_step(shop: str, words: list[str]) -> None:
    refused = run(shop, *words)
    assert refused.exit_code == 1
    assert "is dangerous" in refused.output


def test_a_danger_is_named_before_a_fix_is_refused_for_its_form(shop: str) -> None:
    refused = run(shop, "job", "add", "attempt", "20", LAMP, "--yes")
    assert refused.exit_code == 1
    assert "is dangerous" in refused.output.partition("must begin")[0]


@pytest.mark.parametrize("field", ["technician", "vehicle.engine", "vehicle.model"])
def test_no_field_takes_a_dangerous_step_unnamed(shop: str, field: str) -> None:
    refused = run(shop, "job", "edit", "20", "--set", f"{field}={LAMP}", "--yes")
    assert refused.exit_code == 1
    assert "is dangerous" in refused.output


@pytest.mark.parametrize(("key", "stored"), [("y\n", True), ("n\n", False), ("\n", False)])
def test_at_a_terminal_somebody_has_to_say_that_it_happened(
    shop: str, monkeypatch: pytest.MonkeyPatch, key: str, stored: bool
) -> None:
    monkeypatch.setattr("kb.cli.job.asking.at_terminal", lambda: True)
    result = run(shop, "job", "add", "20", LAMP, keys=f"y\n{key}")  # yes, the old job is meant
    assert "DANGER" in result.output
    assert (LAMP in run(shop, "job", "show", "20", "--verbatim").output) is stored


def test_harmless_lines_are_stored_as_ever(shop: str) -> None:
    for line in ("battery with multimeter 12.6", "seat heater mat 4 ohm", "ECU supply 12.4 V"):
        assert run(shop, "job", "add", "4", line, "--yes").exit_code == 0


class Screen:
    """A terminal of some lines that keeps what was printed, and answers with keys."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, keys: str, height: int = 10) -> None:
        self.shown: list[str] = []
        self.keys = list(keys)
        console = output.console
        monkeypatch.setattr(output, "at_terminal", lambda: True)
        monkeypatch.setattr("click.getchar", lambda: self.keys.pop(0))
        monkeypatch.setattr("click.echo", lambda text="", nl=True: self.shown.append(text))

        def terminal(*, stderr: bool = False) -> Console:
            made = console(stderr=stderr)
            made._force_terminal = True
            made.size = ConsoleDimensions(80, height)
            return made

        monkeypatch.setattr(output, "console", terminal)


def test_a_page_longer_than_the_terminal_is_shown_a_screen_at_a_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    page = Text("\n".join(f"line {number}" for number in range(25)))
    screen = Screen(monkeypatch, "  ")
    output.print_page(page)
    assert screen.shown[0].splitlines() == [f"line {number}" for number in range(8)]
    assert "17 more lines" in screen.shown[1]
    told = "\n".join(screen.shown)
    assert all(f"line {number}" in told for number in range(25))
    left = Screen(monkeypatch, "q")
    output.print_page(page)
    assert "line 8" not in "\n".join(left.shown)
    short = Screen(monkeypatch, "")
    output.print_page(Text("one line"))
    assert short.shown == ["one line"]


def test_above_a_prompt_the_last_lines_leave_room_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = list(map(str, range(20)))
    screen = Screen(monkeypatch, "  ")
    assert output.print_rest(lines, below=4)
    shown = [part for part in screen.shown if part and "more lines" not in part]
    assert [part.splitlines() for part in shown] == [lines[:8], lines[8:16], lines[16:]]


@pytest.mark.parametrize(
    "words", [["next-test", "1387"], ["causes", "airbag lamp on, RF pretensioner 6.1 ohm"]]
)
def test_caution_and_first_suspect_stand_on_one_screen(demo_store: str, words: list[str]) -> None:
    first = run(demo_store, *words).output.splitlines()[:20]
    assert CAUTION.match(first[0])
    assert any(re.match(r"[0-9<>]+% +seat connector", line) for line in first)


def test_an_export_for_people_leaves_out_what_nobody_should_repeat(
    shop: str, tmp_path: Path
) -> None:
    from kb.services.exchange import export_file  # noqa: PLC0415

    whole, fit = tmp_path / "whole.jsonl", tmp_path / "fit.jsonl"
    export_file(shop, whole)
    export_file(shop, fit, for_people=True)
    assert "lamp across squib" in whole.read_text(encoding="utf-8")
    assert "lamp across squib" not in fit.read_text(encoding="utf-8")
    assert System.RESTRAINTS.value in fit.read_text(encoding="utf-8")


@pytest.mark.parametrize("form", ["jsonl", "csv"])
def test_the_number_of_a_dangerous_step_stands_only_in_the_exact_copy(
    shop: str, tmp_path: Path, form: str
) -> None:
    from kb.cli.output import _masked  # noqa: PLC0415
    from kb.reports.json import to_json  # noqa: PLC0415
    from kb.services.exchange import Form, export_file  # noqa: PLC0415
    from kb.store.database import open_store  # noqa: PLC0415
    from kb.store.unit_of_work import UnitOfWork  # noqa: PLC0415

    line = "ohmed the passenger bag squib at its plug 6.125 ohm"
    assert run(shop, "job", "add", "20", line, "--yes", "--happened").exit_code == 0
    with UnitOfWork(open_store(shop), read_only=True) as work:
        job = work.jobs.get(20)
    assert any(each.value == 6.125 for each in job.readings)
    assert "6.125" in to_json(job)
    told = json.loads(to_json(_masked(job)))["readings"]
    assert any("6.125" in each["typed"] and each["value"] is None for each in told)
    whole, fit = tmp_path / "whole", tmp_path / "fit"
    export_file(shop, whole, form=Form(form))
    export_file(shop, fit, form=Form(form), for_people=True)
    number = re.compile(r'"value": ?6\.125|""value"": ?6\.125')
    assert number.search(whole.read_text(encoding="utf-8"))
    assert not number.search(fit.read_text(encoding="utf-8"))


def test_initials_are_asked_for_below_the_caution(shop: str) -> None:
    asked = type_at(shop, "job", "work", "20", keys="BT\nq\n").output
    assert CAUTION.search(asked.partition("Your initials")[0])


@pytest.mark.parametrize("who", ["BT", "MK"])
def test_a_confirmation_that_has_ended_is_said_to_be_one_at_the_car(shop: str, who: str) -> None:
    assert run(shop, "--who", "BT", "next-test", "20", "--confirm", FIX, "--yes").exit_code == 0
    held = " ".join(run(shop, "--who", "BT", "next-test", "20").output.split())
    assert "supply off and waited, BT" in held
    assert "(ended)" not in held
    line = "started the engine"
    assert run(shop, "--who", who, "job", "add", "20", line, "--yes").exit_code == 0
    ended = " ".join(run(shop, "--who", "BT", "next-test", "20").output.split())
    assert "(ended)" in ended
