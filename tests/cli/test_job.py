"""`kb job` by flags, by a line of shop talk and by prompts; never a traceback."""

import json
import shlex
from contextlib import suppress
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import Phase, example, given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from kb.bounds import MOST_COST, MOST_MINUTES
from kb.case import Outcome, Proof
from kb.cli.main import kb
from kb.cli.output import plain
from kb.errors import InvalidField
from kb.services.adding import add_line
from kb.services.keeping import keep
from kb.services.lookup import show_job
from kb.services.new_job import Opening, open_job
from kb.store.address import desk_file
from kb.store.desk import Desk
from tests import strategies

COLUMNS = 80
TALK = "LR door lock dead after rain, B1234-13, motor feed 4.1 V"


class Keyboard(BytesIO):
    """Input that somebody types at a terminal."""

    def isatty(self) -> bool:
        return True


def run(address: str, *words: str) -> Result:
    """Run a command without a terminal."""
    return CliRunner().invoke(kb, ["--store", address, "--who", "BT", *words])


def type_at(address: str, *words: str, keys: str) -> Result:
    """Run a command at a terminal."""
    arguments = ["--store", address, *words]
    return CliRunner().invoke(kb, arguments, input=Keyboard(keys.encode()))


def ok(result: Result) -> str:
    assert result.exit_code == 0, result.output
    return result.output


def test_a_job_goes_from_talk_to_a_case(empty_store: str) -> None:
    output = ok(run(empty_store, "job", "open", TALK, "--ref", "K001", "--km", "81,000"))
    for understood in ("B1234-13", "motor feed 4.1 V", "after rain", "body electrics", "81,000 km"):
        assert understood in output
    assert "Stored as job 1" in output
    assert "did not cure" in ok(run(empty_store, "job", "add", "1", "cleaned door plug, no change"))
    ok(run(empty_store, "job", "add", "#1", "wiggle", "test:", "feed", "jumps"))
    ok(run(empty_store, "job", "close", "1", "broken wire in door loom", "--fix", "repaired loom"))
    sheet = ok(run(empty_store, "job", "show", "1"))
    for line in ("K001", "wire, in door loom: open", "wiggle test: feed jumps", "repaired loom"):
        assert line in sheet
    assert "wire, in door loom: open" in ok(run(empty_store, "job", "list"))
    job = show_job(empty_store, 1).job
    assert job.is_case
    assert job.technician == "BT"


SAID = st.lists(
    st.sampled_from(
        [
            "P0171",
            "pO17l",
            "battery 12,4 V at rest",
            "replaced belt",
            "no change",
            "called: held",
            "wiggle test: feed jumps",
            "41.20",
            "2.5 h",
            "\t-40 C",
            "; ",
            "\n",
            "Öldruck",
            "[bold]",
            "an-uncommonly-long-word-of-more-signs-than-one-line-of-the-page-of-a-job-has-room-for",
        ]
    )
    | strategies.words(),
    min_size=1,
    max_size=12,
).map(" ".join)


def without_blanks(text: str) -> str:
    """What is left where nobody knows any more how lines were wrapped."""
    return "".join(text.split())


@settings(max_examples=50, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(complaint=SAID, note=SAID, line=SAID)
@example("x", "y", "air bag module no change replaced belt 2.5 h no change wiggle test: feed jumps")
def test_whatever_is_typed_is_found_again_on_the_page_of_its_job(
    empty_store: str, complaint: str, note: str, line: str
) -> None:
    typed = [f"lamp on {complaint}", note]  # a number or a car alone is no complaint
    today = date(2026, 3, 2)
    opening = Opening(text=typed[0], notes=note)
    number = keep(empty_store, open_job(empty_store, opening, today=today)).job.number
    assert number is not None
    with suppress(InvalidField):  # what tells nothing
        keep(empty_store, add_line(empty_store, number, line, today=today), happened=True)
        typed.append(line)
    command = ["--store", empty_store, "job", "show", str(number)]
    page, verbatim = (
        CliRunner(env={"COLUMNS": str(COLUMNS)}).invoke(kb, [*command, *more])
        for more in ((), ("--verbatim",))  # what may touch an igniter stands in the latter alone
    )
    shown = without_blanks(ok(page)) + without_blanks(ok(verbatim))
    assert [text for text in typed if without_blanks(plain(text)) not in shown] == []
    assert max(map(cell_len, page.output.splitlines())) <= COLUMNS


def test_words_need_no_quotes(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "no", "crank,", "clicks", "once"))
    assert show_job(empty_store, 1).job.complaint == "no crank, clicks once"


PARTS = (
    "code 1 b1234 13 --status stored",
    'reading 1 "RF pretensioner 2.3 ohm" --stage "after the fix" --good --method "scan tool"',
    'test 1 "substitute load: lamp out" --minutes 25 --points-to plug --clears bag --clears loom',
    'attempt 1 "replaced clock spring" --not-cured --cost 118 --part-maker Norvik'
    ' --supposed "worn clock spring"',
    'contact 1 comeback --on 2026-05-02 --km "91 000" --job "#2" --words "lamp again"',
)


def test_every_part_has_a_command_with_its_details(empty_store: str) -> None:
    for complaint in ("airbag lamp on", "lamp again"):
        ok(run(empty_store, "job", "open", complaint, "--opened", "2026-05-01"))
    for line in PARTS:
        assert "Added to job 1." in ok(run(empty_store, "job", "add", *shlex.split(line), "--yes"))
    sheet = " ".join(ok(run(empty_store, "job", "show", "1")).split())
    for told in (
        "B1234-13 stored",
        "pretensioner, right front 2.3 ohm, scan tool, after the fix, good",
        "points to plug, clears bag and loom, 25 min",
        "did not cure, tried for clock spring: worn, part made by Norvik, parts 118.00",
        "2026-05-02 comeback, 91,000 km, as job 2, “lamp again”",
    ):
        assert told in sheet


def test_a_cause_may_be_told_by_options(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "airbag lamp on"))
    line = '--component "seat connector" --mode "High resistance" --location "under seat"'
    more = f'--position "left front" --closed {date.today()}'
    ok(run(empty_store, "job", "close", "1", *shlex.split(f"{line} {more}")))
    job = show_job(empty_store, 1).job
    assert job.cause is not None
    assert job.cause.key == ("seat connector", "under seat", "high resistance")
    assert job.closed == date.today()


def test_an_edit_is_shown_and_remembered(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "no crank", "--km", "81000"))
    output = ok(
        run(empty_store, "job", "edit", "1", "--set", "odometer_km=81500", "--set", "notes=x")
    )
    assert "81000 → 81500" in output
    history = ok(run(empty_store, "job", "history", "1"))
    assert "Odometer: 81000 → 81500" in history
    assert "BT  stored" in history


def test_json_is_the_record_and_nothing_else(empty_store: str) -> None:
    recorded = json.loads(ok(run(empty_store, "job", "open", TALK, "--json")))
    assert recorded["job"]["number"] == 1
    assert recorded["job"]["codes"][0]["code"] == "B1234"
    assert json.loads(ok(run(empty_store, "job", "show", "1", "--json")))["job"] == recorded["job"]
    assert json.loads(ok(run(empty_store, "job", "list", "--json")))["jobs"] == [recorded["job"]]
    edited = json.loads(ok(run(empty_store, "job", "edit", "1", "--set", "notes=x", "--json")))
    assert edited["changes"] == [{"field": "notes", "old": None, "new": "x"}]
    history = json.loads(ok(run(empty_store, "job", "history", "1", "--json")))
    assert [change["field"] for change in history["changes"]] == ["added", "notes"]


def test_nothing_listed_is_an_empty_list(empty_store: str) -> None:
    listed = json.loads(ok(run(empty_store, "job", "list", "--json")))
    assert listed == {
        "cautions": [],
        "jobs": [],
        "total": 0,
        "complaint_as_typed": {},
        "igniter_jobs": [],
    }
    assert "holds no job yet" in ok(run(empty_store, "job", "list"))


def test_more_time_or_money_than_any_job_takes_is_refused_at_every_door(
    empty_store: str, tmp_path: Path
) -> None:
    run(empty_store, "job", "open", "no crank")
    replaced = ("job", "add", "attempt", "1", "replaced battery")
    assert run(empty_store, *replaced, "--minutes", str(MOST_MINUTES + 1)).exit_code == 2
    assert run(empty_store, *replaced, "--cost", str(MOST_COST + 1)).exit_code == 2
    most = ("--minutes", str(MOST_MINUTES), "--cost", str(MOST_COST))
    assert run(empty_store, *replaced, *most).exit_code == 0
    rows = tmp_path / "rows.jsonl"
    for field, value, said in (
        ("minutes", MOST_MINUTES + 1, "100001 must be a whole number from 0 to 100,000"),
        ("parts_cost", 1e300, "1e+300 must lie in 0 to 1,000,000,000"),
    ):
        path = f"attempts[0].{field}"
        edited = run(empty_store, "job", "edit", "1", "--set", f"{path}={value}")
        assert (edited.exit_code, f"{path}: {said}; look at it again" in edited.stderr) == (1, True)
        fix = {"action": "replaced", "component": "battery", field: value}
        row = {"opened": "2026-03-02", "complaint": "lamp on", "attempts": [fix]}
        rows.write_text(json.dumps(row))
        imported = json.loads(run(empty_store, "import", str(rows), "--json").stdout)
        told = imported["rejects"][0]
        assert (told["field"], told["value"]) == (path, value)
        assert told["reason"].endswith("; look at it again")
    kept = json.loads(ok(run(empty_store, "job", "show", "1", "--json")))["job"]["attempts"][0]
    assert (kept["minutes"], kept["parts_cost"]) == (MOST_MINUTES, MOST_COST)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["show", "9"], "there is no job 9"),
        (["show", "nine"], "is no whole number"),
        (["show", "9" * 18], "there is no job"),
        (["show", "9" * 40], "is larger than any number kept here"),
        (["list", "--code", "X1"], "code"),
        (["list", "--system", "plumbing"], "must be one of"),
        (["open", "no crank", "--code", "nonsense"], "code"),
        (["open", "no crank", "--reading", "battery 12"], "unit"),
        (["open", "no crank", "--km", "far"], "is no distance"),
        (["open", "no crank", "--km", "9" * 20], "is more than a car drives"),
        (["add", "1", "U0100"], "there is no job 1"),
        (["add", "attempt", "1", "prayed"], "there is no job 1"),
        (["add", "attempt", "1", "replaced plug", "--supposed", "plug"], "how it failed"),
        (["close", "1", "worn plug"], "there is no job 1"),
        (["edit", "1", "--set", "notes=x"], "there is no job 1"),
        (["history", "1"], "there is no job 1"),
    ],
)
def test_what_can_be_mended_is_one_line_and_exit_code_1(
    empty_store: str, words: list[str], message: str
) -> None:
    result = run(empty_store, "job", *words)
    assert result.exit_code == 1
    assert result.output.startswith("Error: ")
    assert message in result.output
    assert len(result.output.splitlines()) == 1


@pytest.mark.parametrize(
    "words",
    [
        ["open"],
        ["add"],
        ["add", "1"],
        ["add", "code"],
        ["close"],
        ["show"],
        ["edit", "1"],
        ["history"],
        ["close", "1", "--component", "plug"],
        ["close", "1", "worn plug", "--component", "plug", "--mode", "worn"],
        ["close", "1", "--component", "plug", "--mode", "tired"],
        ["list", "--state", "lost"],
        ["add", "reading", "1", "x 1 V", "--stage", "never"],
        ["paint"],
    ],
)
def test_what_is_called_wrongly_is_exit_code_2(empty_store: str, words: list[str]) -> None:
    assert run(empty_store, "job", *words).exit_code == 2


def test_a_bare_open_asks_until_it_can_read_the_answer(empty_store: str) -> None:
    keys = "\nno crank, P0335\nK001\nCorvane Lido 2015\nfar\n81 000 km\nwhen cold\nMK\ny\n"
    output = ok(type_at(empty_store, "job", "open", keys=keys))
    assert "'far' is no distance" in output
    job = show_job(empty_store, 1).job
    assert (job.complaint, job.odometer_km, job.technician) == ("no crank", 81_000, "MK")
    assert (job.vehicle.ref, job.vehicle.model, job.conditions) == ("K001", "Lido", "when cold")
    assert str(job.codes[0]) == "P0335"


def test_what_is_not_agreed_to_is_not_stored(empty_store: str) -> None:
    output = ok(type_at(empty_store, "job", "open", TALK, keys="n\n"))
    assert output.index("motor feed 4.1 V") < output.index("Store it?")
    assert "Nothing was stored." in output
    assert "no job yet" in ok(run(empty_store, "job", "list"))
    assert "Stored as job 1" in ok(type_at(empty_store, "job", "open", TALK, "--yes", keys=""))


def test_a_bare_close_lists_shows_and_asks(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "airbag lamp on"))
    keys = "1\nseat plug\ncorroded seat plug\nprayed\ncleaned seat plug\ny\nlamp out\ny\nn\ny\ny\n"
    output = ok(type_at(empty_store, "job", "close", keys=keys))
    assert "does not say how it failed" in output
    assert "must begin with what was done" in output
    job = show_job(empty_store, 1).job
    assert job.is_case
    assert job.attempts[0].cured is True
    assert job.proved_by == "lamp out"
    assert job.attempts[0].proofs == (Proof.SELF_TEST,)
    assert "proof is missing: terminals checked" in output


@pytest.mark.parametrize(("key", "cured"), [("y", True), ("n", False), ("", None)])
def test_whether_it_cured_is_asked_and_may_not_be_known(
    empty_store: str, key: str, cured: bool | None
) -> None:
    ok(run(empty_store, "job", "open", "airbag lamp on"))
    proofs = "n\nn\nn\n" if cured else ""
    keys = f"corroded seat plug\ncleaned seat plug\n{key}\n\n{proofs}y\ny\n"
    output = ok(type_at(empty_store, "job", "close", "1", keys=keys))
    assert "Did it cure it? (y yes, n no, Enter: not known)" in output
    assert ("Not told whether it cured: cleaned seat plug" in output) is (cured is None)
    assert show_job(empty_store, 1).job.attempts[0].cured is cured


def test_a_fix_told_at_closing_without_its_outcome_is_not_told(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "lamp on"))
    words = ["close", "1", "worn plug", "--fix", "replaced plug"]
    assert "Not told whether it cured: replaced plug" in ok(run(empty_store, "job", *words))
    assert "not told whether it cured" in ok(run(empty_store, "job", "show", "1"))


def test_a_contact_that_does_not_tell_keeps_its_words(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "lamp on"))
    ok(run(empty_store, "job", "close", "1", "worn plug", "--fix", "replaced plug, cured"))
    told = ok(run(empty_store, "job", "add", "contact", "1", "rang, no answer"))
    assert "Not told whether the fix held: rang, no answer" in told
    assert show_job(empty_store, 1).job.contacts[0].outcome is Outcome.NOT_TOLD


def test_an_empty_cause_closes_without_one(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "airbag lamp on"))
    ok(type_at(empty_store, "job", "close", "1", keys="\ny\n\ny\ny\n"))
    assert show_job(empty_store, 1).job.state == "closed without a cause"


def test_bare_add_edit_and_show_ask_for_what_they_need(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "airbag lamp on"))
    ok(type_at(empty_store, "job", "add", keys="1\nU0100\ny\n"))
    # the number told once is that of the job in hand
    ok(type_at(empty_store, "job", "add", "reading", keys="battery\nbattery 12.1 V\ny\n"))
    ok(type_at(empty_store, "job", "edit", keys="odometer\nodometer_km=5\ny\n"))
    sheet = ok(type_at(empty_store, "job", "show", keys=""))
    assert "U0100" in sheet
    assert "battery 12.1 V" in sheet
    assert show_job(empty_store, 1).job.odometer_km == 5


def test_whoever_walks_away_stores_nothing(empty_store: str) -> None:
    result = type_at(empty_store, "job", "open", keys="no crank\n")
    assert result.exit_code == 1
    assert "no job yet" in ok(run(empty_store, "job", "list"))


def test_pages_fit_80_columns_and_cautions_come_first(demo_store: str) -> None:
    for words in (["list"], ["list", "-s", "restraints"], ["show", "1003"], ["history", "1003"]):
        output = ok(run(demo_store, "job", *words))
        assert max(map(len, output.splitlines())) <= 80
    assert ok(run(demo_store, "job", "show", "1003")).startswith("CAUTION")


COMMANDS = [
    *("open", "use", "add", "circuit", "work", "close", "reopen"),
    *("show", "list", "edit", "remove", "void", "history"),
]
OPTIONS = [
    "--set",
    "--km",
    "--fix",
    "--code",
    "--vehicle",
    "--json",
    "--yes",
    "--mode",
    "--supposed",
    "--part-maker",
    "--proof",
    "--never-reproduced",
    "--why",
    "--back",
]
PART_COMMANDS = ["line", "code", "reading", "test", "attempt", "contact"]


@pytest.mark.parametrize(
    "command", [[], *([name] for name in COMMANDS), *(["add", name] for name in PART_COMMANDS)]
)
def test_every_command_has_help_with_an_example(empty_store: str, command: list[str]) -> None:
    output = ok(run(empty_store, "job", *command, "--help"))
    assert "Example" in output
    assert "  kb job " in output
    assert max(map(len, output.splitlines())) <= 80


@settings(max_examples=100)
@given(
    st.sampled_from([[name] for name in COMMANDS] + [["add", name] for name in PART_COMMANDS]),
    st.sampled_from([[], ["1"], ["2"], ["99"]]),
    st.lists(st.sampled_from(OPTIONS) | st.text(), max_size=4),
)
def test_no_words_make_a_traceback(
    small_store: str, command: list[str], number: list[str], words: list[str]
) -> None:
    result = run(small_store, "job", *command, *number, *words)
    assert result.exit_code in {0, 1, 2}
    assert result.exception is None or isinstance(result.exception, SystemExit)


def test_a_missing_job_number_is_said_so(empty_store: str) -> None:
    for words in (("add", "replaced relay, cured"), ("close", "hub worn", "-y")):
        result = run(empty_store, "job", *words)
        assert (result.exit_code, "The job's number is missing before" in result.output) == (
            2,
            True,
        )


def test_what_a_terminal_would_obey_is_not_shown(empty_store: str) -> None:
    told = "no crank \x9b31m \u202eevil\u202c"
    ok(run(empty_store, "job", "open", told))
    shown = ok(run(empty_store, "job", "show", "1"))
    assert not set(shown) & {"\x9b", "\u202e", "\u202c"}
    assert "no crank \ufffd31m \ufffdevil" in shown
    assert show_job(empty_store, 1).job.complaint_as_typed == told  # stored as it was typed


def test_signs_alone_and_foreign_line_ends_are_kept(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "no crank"))
    assert "Nothing is understood of it" in ok(run(empty_store, "job", "add", "1", "~!@#$%^&*()_+"))
    ok(run(empty_store, "job", "add", "1", "battery 12.1 V\r\nP0335"))
    job = show_job(empty_store, 1).job
    assert [each.text for each in job.entries[1:]] == ["~!@#$%^&*()_+", "battery 12.1 V\nP0335"]
    assert "part it" in run(empty_store, "job", "add", "1", "x" * 10_001).output


def test_numbers_that_may_have_moved_are_checked(empty_store: str) -> None:
    def by(who: str, *words: str) -> Result:
        return CliRunner().invoke(kb, ["--store", empty_store, "--who", who, "job", *words])

    ok(by("AA", "open", "no crank"))
    ok(by("AA", "add", "1", "cleaned earth strap, no change"))
    assert " 5  Fixes" in ok(by("AA", "show", "1"))
    ok(by("BB", "add", "1", "battery 12.1 V"))
    refused = by("AA", "remove", "1", "5", "-y")
    assert refused.exit_code == 1
    for told in ("BB wrote to job 1", "Number 5 is: battery 12.1 V", "--at"):
        assert told in refused.output
    at = refused.output.partition("--at ")[2].partition(";")[0]
    assert by("AA", "edit", "1", "6", "--set", "cured=yes", "-y").exit_code == 1
    assert by("AA", "remove", "1", "6", "-y", "--at", str(int(at) - 1)).exit_code == 1
    ok(by("AA", "remove", "1", "6", "-y", "--at", at))
    job = show_job(empty_store, 1).job
    assert (len(job.readings), job.attempts) == (1, ())


def test_what_stored_a_job_has_moved_no_number(empty_store: str, tmp_path: Path) -> None:
    """Nobody had a page of an imported job before the import: whoever did it, edits are plain."""

    def by(who: str, *words: str) -> Result:
        return CliRunner().invoke(kb, ["--store", empty_store, "--who", who, *words])

    told = {"number": 7, "vehicle": {}, "opened": "2026-03-02", "complaint": "no crank"}
    file = tmp_path / "jobs.jsonl"
    file.write_text(json.dumps(told) + "\n")
    ok(run(empty_store, "import", str(file)))
    number = next(
        line.split()[0]
        for line in ok(by("AA", "job", "show", "7")).splitlines()
        if "no crank" in line
    )
    ok(by("AA", "job", "edit", "7", number, "cranks slowly", "-y"))
    assert show_job(empty_store, 7).job.complaint == "cranks slowly"
    assert "AA wrote to job 7" in by("BB", "job", "edit", "7", number, "no crank", "-y").output


def test_a_line_without_a_number_is_for_the_job_taken_in_hand_today(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "heater cold", "--ref", "K9"))
    told = run(empty_store, "job", "add", "thermostat replaced, heater hot")
    assert "This is for job 1" in told.output
    assert show_job(empty_store, 1).job.attempts[0].cured
    ok(run(empty_store, "job", "add", "line", "fault back"))
    assert show_job(empty_store, 1).job.attempts[0].cured is False


def test_a_line_without_a_number_is_for_no_job_of_another_day_or_closed(empty_store: str) -> None:
    ok(run(empty_store, "job", "open", "heater cold", "--ref", "K9"))
    desk = Desk(desk_file(empty_store, "BT"))
    assert desk.take(1, date.today() - timedelta(days=1))
    assert run(empty_store, "job", "add", "replaced thermostat").exit_code == 2
    assert desk.take(1, date.today())
    ok(run(empty_store, "job", "close", "1", "--no-cause"))
    refused = run(empty_store, "job", "add", "replaced thermostat")
    assert (refused.exit_code, "The job's number is missing" in refused.output) == (2, True)


@pytest.mark.parametrize(("answer", "cured"), [("y", False), ("n", True), ("", True)])
def test_trouble_that_may_be_another_s_is_asked_about(
    empty_store: str, answer: str, cured: bool
) -> None:
    ok(run(empty_store, "job", "open", "AC warm at idle, fan noisy"))
    ok(run(empty_store, "job", "add", "1", "condenser fan renewed, AC cold"))
    keys = f"{answer}\ny\n"
    shown = ok(type_at(empty_store, "job", "add", "1", "rattle still there", keys=keys))
    assert "Is that the fault that was to be gone by" in shown
    assert show_job(empty_store, 1).job.attempts[0].cured is cured


def test_a_cure_by_a_part_of_another_name_asks_which_suspect_it_is(empty_store: str) -> None:
    complaint, fix = "blower dead on low speeds", "replaced blower resistor, cured"
    for number in ("1", "2"):
        ok(run(empty_store, "job", "open", complaint))
        ok(run(empty_store, "job", "close", number, "blower resistor, open", "--fix", fix))
    ok(run(empty_store, "job", "open", complaint))
    ok(run(empty_store, "job", "add", "3", "replaced speed pack, blower works, cured"))
    page = " ".join(ok(run(empty_store, "next-test", "3")).split())
    assert "a part that no suspect has by that name" in page
    assert "none of these" not in page
    asked = " ".join(type_at(empty_store, "job", "close", "3", keys="").output.split())
    assert "a part that no suspect has by that name; is it one of these?" in asked
    assert "1 blower resistor: open" in asked
