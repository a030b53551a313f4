"""Jobs as CSV: our own columns there and back, foreign columns through a mapping."""

import csv
import io
from contextlib import suppress
from dataclasses import fields, is_dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import Action, CodeStatus, FailureMode, Job, Quantity, System, TroubleCode
from kb.errors import InvalidField, KbError, UnreadableFile
from kb.intake.files import Line
from kb.intake.forms import job_from_record
from kb.intake.sheets import (
    MOST_OPEN_QUOTES,
    SheetMapping,
    columns,
    columns_left_out,
    csv_row,
    read_csv,
    read_mapping,
)
from tests.strategies import jobs, texts

IN_ONE_FOLDER = settings(max_examples=25)
FOREIGN = """\
\ufeffOrder;Came in;Left;Complaint;Codes;Measured;Car;Tag;Km;Part;Fault;Fixed?;Euro;Desk
17;02.03.2026;04.03.2026;Airbag lamp on;B1234-1B / B1235 stored;pretensioner 4,7 ohm;\
Corvane Lido 2016 1.4 petrol;K031;81.250;Seat connector;HR;ja;12,50;x
18;03.03.2026;;=no crank;;;;;;;;;;y
"""
MAPPING = """\
delimiter = ";"
decimal = ","
dates = "%d.%m.%Y"

[columns]
Order = "number"
"Came in" = "opened"
Left = "closed"
Complaint = "complaint"
Codes = "codes"
Measured = "readings"
Car = "vehicle"
Tag = "vehicle.ref"
Km = "odometer_km"
Part = "cause.component"
Fault = "cause.failure_mode"
"Fixed?" = "attempts[0].cured"
Euro = "attempts[0].parts_cost"

[constants]
system = "restraints"
"attempts[0].action" = "cleaned"
"attempts[0].component" = "seat connector"

[words."cause.failure_mode"]
HR = "high resistance"

[words."attempts[0].cured"]
ja = "yes"
"""


def _written(folder: Path, content: str | bytes, name: str = "jobs.csv") -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def _sheet(several: list[Job]) -> str:
    sheet = io.StringIO()
    csv.writer(sheet).writerows([columns(), *(csv_row(job) for job in several)])
    return sheet.getvalue()


def _jobs(lines: list[Line]) -> list[Job]:
    return [job_from_record(record) for _, record in lines if not isinstance(record, KbError)]


def _blank_as_none(value: Any) -> Any:
    """A job as a sheet can hold it: a blank cell says nothing."""
    blank = {
        field.name: None
        for field in fields(value)
        if isinstance(content := getattr(value, field.name), str) and not content.strip()
    }
    inner = {
        field.name: _blank_as_none(content)
        for field in fields(value)
        if is_dataclass(content := getattr(value, field.name))
    }
    return replace(value, **blank, **inner)


def _codes_said_nowhere(job: Job) -> Job:
    """Return the job as CSV holds it, whose codes are plain text."""
    return replace(job, codes=tuple(replace(code, said=None) for code in job.codes))


@IN_ONE_FOLDER
@given(st.lists(jobs(), max_size=3))
def test_our_own_columns_come_back_the_same(tmp_path: Path, several: list[Job]) -> None:
    lines = list(read_csv(_written(tmp_path, _sheet(several))))
    assert _jobs(lines) == [_codes_said_nowhere(_blank_as_none(job)) for job in several]


@IN_ONE_FOLDER
@given(st.lists(jobs(), min_size=1, max_size=3))
def test_no_cell_starts_like_a_formula(several: list[Job]) -> None:
    for row in csv.reader(io.StringIO(_sheet(several))):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


def test_every_field_of_a_job_has_its_column() -> None:
    assert {name.partition(".")[0] for name in columns()} == {field.name for field in fields(Job)}
    assert {"vehicle.make", "cause.component", "attempts", "codes"} <= set(columns())


def test_a_foreign_file_through_its_mapping(tmp_path: Path) -> None:
    mapping = read_mapping(_written(tmp_path, MAPPING, "mapping.toml"))
    path = _written(tmp_path, FOREIGN)
    lines = list(read_csv(path, mapping))
    assert [number for number, _ in lines] == [2, 3]
    assert columns_left_out(path, mapping) == ("Desk",)
    first, second = _jobs(lines)
    assert (first.number, first.opened, first.closed) == (17, date(2026, 3, 2), date(2026, 3, 4))
    assert (first.vehicle.label, first.vehicle.ref) == ("Corvane Lido 2016 1.4 petrol", "K031")
    assert first.codes == (
        TroubleCode(code="B1234", failure_type="1B"),
        TroubleCode(code="B1235", status=CodeStatus.STORED),
    )
    (reading,) = first.readings
    assert (reading.item, reading.quantity, reading.value) == (
        "pretensioner",
        Quantity.RESISTANCE,
        4.7,
    )
    assert first.cause is not None
    assert first.cause.failure_mode is FailureMode.HIGH_RESISTANCE
    (attempt,) = first.attempts
    assert (attempt.action, attempt.cured, attempt.parts_cost) == (Action.CLEANED, True, 12.5)
    assert (first.odometer_km, first.system) == (81250, System.RESTRAINTS)
    assert (second.complaint, second.attempts, second.cause) == ("=no crank", (), None)


def _only(tmp_path: Path, path: str, cell: str, **settings: Any) -> Any:
    mapping = SheetMapping(columns={"it": path}, delimiter="|", **settings)
    (line,) = read_csv(_written(tmp_path, f'it\n"{cell}"\n'), mapping)
    return line[1]


@pytest.mark.parametrize(
    ("path", "cell", "value"),
    [
        ("odometer_km", " 81,250 ", 81250),
        ("odometer_km", "81 250", 81250),
        ("odometer_km", "81250.0", 81250),
        ("attempts[0].parts_cost", "1,234.5", 1234.5),
        ("closed", "2026-03-02", date(2026, 3, 2)),
        ("system", "Brakes", System.BRAKES_WHEEL_SPEED),
        ("attempts[0].cured", "No", False),
        ("attempts[0].part_maker", "Norvik", "Norvik"),
        ("cause.failure_mode", "Worn ", "worn"),
        ("complaint", "two\r\nlines", "two\nlines"),
        ("complaint", "'=1+2", "=1+2"),
        ("complaint", "'tis dead", "'tis dead"),
        ("tests[0].clears", "relay; fuse", ["relay", "fuse"]),
        ("codes[1]", "P0301", "P0301"),
    ],
)
def test_cells_are_read_as_what_their_field_holds(
    tmp_path: Path, path: str, cell: str, value: object
) -> None:
    record = _only(tmp_path, path, cell)
    for key in path.replace("[0]", ".0").replace("[1]", ".0").split("."):
        record = record[int(key) if key.isdigit() else key]
    assert record == value


@pytest.mark.parametrize(
    ("path", "cell", "says"),
    [
        ("odometer_km", "a lot", "must be a number"),
        ("odometer_km", "12.5", "whole number"),
        ("odometer_km", "0,125", "must be a number"),
        ("attempts[0].parts_cost", "12,5", "must be a number with the decimal sign '.'"),
        ("opened", "02.03.2026", "is no day; write it as 2026-03-02"),
        ("attempts[0].cured", "perhaps", "must be yes or no"),
        ("codes", "no code", "holds no trouble code"),
        ("readings", "battery fine", ""),
        ("tests", "load test", "must be a JSON list"),
        ("attempts", "[1", "is no JSON"),
        ("system", "roof box", "must be one of"),
    ],
)
def test_cells_that_cannot_be_read_say_so(tmp_path: Path, path: str, cell: str, says: str) -> None:
    error = _only(tmp_path, path, cell)
    assert isinstance(error, InvalidField)
    assert says in error.cure


@pytest.mark.parametrize(
    ("cell", "decimal", "value"),
    [
        ("rail 1.200 bar", ",", 120_000_000),
        ("rail 1.200,5 bar", ",", 120_050_000),
        ("rail 12,5 bar", ",", 1_250_000),
        ("rail 0.350 bar", ",", 35_000),
        ("rail 1.200 bar", ".", 120_000),
    ],
)
def test_a_reading_is_in_the_sign_for_decimals_of_its_sheet(
    tmp_path: Path, cell: str, decimal: str, value: float
) -> None:
    (reading,) = _only(tmp_path, "readings", cell, decimal=decimal)["readings"]
    assert reading.value == value


def test_what_was_read_otherwise_than_written_is_told(tmp_path: Path) -> None:
    content = "opened,complaint,codes,vehicle\n2026-03-02,x,P0171 lean,K1\n2026-03-02,x,P0l71,\n"
    columns = {name: name for name in ("opened", "complaint", "codes", "vehicle")}
    told: list[tuple[int, str]] = []
    path = _written(tmp_path, content)
    list(read_csv(path, SheetMapping(columns=columns), lambda *said: told.append(said)))
    assert [line for line, _ in told] == [2, 2, 3]
    assert "“lean” beside its codes was left out" in told[0][1]
    assert "K1" in told[1][1]
    assert "“P0l71” is read as P0171" in told[2][1]


def test_rows_that_are_no_rows_are_handed_on_with_their_line(tmp_path: Path) -> None:
    content = (
        "opened,complaint\r\n2026-03-02,lamp on\r\n"
        '2026-03-02,"two\r\nlines"\r\n2026-03-02,too,many\r\n\r\n2026-03-03,"a"b\r\n'
        '2026-03-03,fine\r\n2026-03-03,"never closed\r\n'
    )
    lines = list(read_csv(_written(tmp_path, content)))
    assert [number for number, _ in lines] == [2, 3, 5, 7, 8, 9]
    assert [number for number, record in lines if isinstance(record, KbError)] == [5, 7, 9]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("", "is empty"),
        ("\n\n", "is empty"),
        ("opened,opened\n", "names 'opened' twice"),
        ("opened;complaint\n", "parts its columns with ; instead of commas"),
        ("opening\n", "stands under an unknown name"),
        ("opened,complain\n", "did you mean complaint?"),
        ('"opened\n', "is no CSV"),
    ],
)
def test_a_wrong_first_line_is_refused(tmp_path: Path, content: str, says: str) -> None:
    with pytest.raises(UnreadableFile, match=says.replace("?", r"\?")):
        list(read_csv(_written(tmp_path, content)))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("= 1", "is no TOML"),
        ("[columns]\nA = 1", "columns.A: 1 is of the wrong kind; write it as"),
        ("[columns]\nA = ['complaint']", "columns.A: ['complaint'] is of the wrong kind"),
        ("[columns]\nA = ''", "columns.A: '' names none of our fields"),
        ("columns = 'A'", "columns: 'A' is no table; write a line [columns]"),
        ("decimal = '.'", "lacks columns; under a line [columns], write it as"),
        ("decimal = 1\n[columns]\nA = 'complaint'", "decimal: 1 is no text; write it in quotes"),
        ("dates = 2026-03-02\n[columns]\nA = 'complaint'", "is no text; write it in quotes"),
        ("dates = '" + "%d" * 100_000 + "'\n[columns]\nA = 'complaint'", "tells no day"),
        ("constants = 1\n[columns]\nA = 'complaint'", "constants: 1 is no table"),
        ("words = [1]\n[columns]\nA = 'complaint'", "words: [1] is no table"),
        ("[columns]\nA = 'complaint'\n[words]\nsystem = 'x'", "words.system: 'x' is of the wrong"),
        ("[columns]\nA = 'complaint'\n[words.system]\na = 1", "words.system.a: 1 is of the wrong"),
        ("decimal = " + "9" * 5_000, "a number has too many digits"),
        ("decimal = " + "[" * 50_000, "too many lists or tables in one another"),
        ("[columns]\nA = 'complain'", "did you mean complaint?"),
        ("[columns]\nA = 'complaint'\nB = 'complaint'", "is filled from two columns"),
        ("delimiter = '--'\n[columns]\nA = 'complaint'", "must be one character"),
        ("decimal = ';'\n[columns]\nA = 'complaint'", "must be . or ,"),
        ("delimeter = ';'\n[columns]\nA = 'complaint'", "did you mean delimiter?"),
        ("[columns]\nA = 'complaint'\n[constants]\ncolour = 'red'", "unknown name"),
        ("[columns]\nA = 'attempts[0][0].component'", "leads to no one value"),
        ("[columns]\nA = 'complaint'\n[constants]\n'attempts.cured' = true", "leads to no one"),
        ("[columns]\nA = 'complaint'\n[constants]\nattempts = {a = 1}", "must be one value"),
    ],
)
def test_a_wrong_mapping_is_refused(tmp_path: Path, content: str, says: str) -> None:
    path = _written(tmp_path, content, "mapping.toml")
    with pytest.raises(UnreadableFile) as caught:
        read_mapping(path)
    assert says in str(caught.value)
    assert str(path) in str(caught.value)


def test_a_column_that_is_not_there_is_refused(tmp_path: Path) -> None:
    mapping = SheetMapping(columns={"Complaint": "complaint"})
    with pytest.raises(UnreadableFile, match=r"has no column 'Complaint'.*it has opened"):
        list(read_csv(_written(tmp_path, "opened\n"), mapping))


@IN_ONE_FOLDER
@given(
    st.lists(st.lists(texts(), min_size=1, max_size=5), max_size=4),
    st.sampled_from(["", "opened,complaint,codes,readings,attempts\r\n"]),
)
def test_any_sheet_is_read_or_refused(tmp_path: Path, rows: list[list[str]], header: str) -> None:
    sheet = io.StringIO()
    csv.writer(sheet).writerows(rows)
    with suppress(UnreadableFile):
        for number, record in read_csv(_written(tmp_path, header + sheet.getvalue())):
            assert number > 1
            assert isinstance(record, dict | InvalidField)


@IN_ONE_FOLDER
@given(st.binary(max_size=100))
def test_any_bytes_are_read_or_refused(tmp_path: Path, content: bytes) -> None:
    with suppress(UnreadableFile):
        lines = list(read_csv(_written(tmp_path, b"opened,complaint\n" + content)))
        assert all(isinstance(record, dict | InvalidField) for _, record in lines)


def test_a_cross_says_neither_yes_nor_no(tmp_path: Path) -> None:
    path = tmp_path / "jobs.csv"
    path.write_text("opened,complaint,reproduced\n2026-03-02,no crank,x\n")
    ((_, refused),) = read_csv(path)
    assert "must be yes or no" in str(refused)


def test_a_quote_that_never_closes_costs_its_own_row_alone(tmp_path: Path) -> None:
    path = tmp_path / "jobs.csv"
    rows = ["2026-01-01,first", '2026-01-02,"open', "2026-01-03,third", '2026-01-04,"again']
    path.write_text("\n".join(["opened,complaint", *rows, "2026-01-05,last"]), encoding="utf-8")
    read = list(read_csv(path))
    good = [record["complaint"] for _, record in read if not isinstance(record, KbError)]
    assert good == ["first", "third", "last"]
    bad = [(line, str(error)) for line, error in read if isinstance(error, KbError)]
    assert [line for line, _ in bad] == [3, 5]
    assert all("never closes" in reason for _, reason in bad)


def test_what_is_not_read_after_too_many_open_quotes_is_said(tmp_path: Path) -> None:
    path = tmp_path / "jobs.csv"
    rows = [f'2026-01-01,"{number}' for number in range(30)]
    path.write_text("\n".join(["opened,complaint", *rows]), encoding="utf-8")
    errors = [str(error) for _, error in read_csv(path)]
    assert len(errors) == MOST_OPEN_QUOTES + 1
    assert "were not read" in errors[-1]


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=8), max_size=6))
def test_whatever_rows_a_file_has_reading_ends(tmp_path_factory: Any, rows: list[str]) -> None:
    path = tmp_path_factory.mktemp("rows") / "jobs.csv"
    path.write_text("\n".join(["complaint", *rows]), encoding="utf-8", newline="")
    lines = [line for line, _ in read_csv(path)]
    assert lines == sorted(lines)


def test_a_cell_of_fixes_may_tell_them_as_people_write_them(tmp_path: Path) -> None:
    path = tmp_path / "jobs.csv"
    fixes = '2026-01-01,"cleaned plug, no change; replaced lock, cured"'
    path.write_text(f"opened,attempts\n{fixes}\n2026-01-02,ok", encoding="utf-8")
    (_, record), (_, refused) = read_csv(path)
    assert isinstance(record, dict)
    assert [(each.component, each.cured) for each in record["attempts"]] == [
        ("plug", False),
        ("lock", True),
    ]
    assert isinstance(refused, KbError)


@pytest.mark.parametrize("form", ["%m%m", "%", "%Q", "%%", "day", "(%d", "\ud800%d"])
def test_a_way_of_writing_days_that_reads_none_is_refused(form: str) -> None:
    with pytest.raises(InvalidField, match="tells no day"):
        SheetMapping(columns={}, dates=form)


@pytest.mark.parametrize("form", ["%d.%m.%Y", "%Y-%m-%d", "%d/%m/%y", "%d %b %Y", "%Y%m%d"])
def test_usual_ways_of_writing_days_are_taken(form: str) -> None:
    assert SheetMapping(columns={}, dates=form).dates == form
