"""Whole files into a store and out of it."""

import io
import json
import shutil
import time
import tomllib
from dataclasses import replace
from datetime import date, timedelta
from itertools import count
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from rich.console import Console, RenderableType

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    EntryKind,
    FailureMode,
    Job,
    JobEntry,
    Outcome,
    System,
    Vehicle,
)
from kb.errors import KbError, Notice, StoreMissing, UnreadableFile
from kb.intake.forms import job_to_record
from kb.reports.exchange import render_import
from kb.services import importing
from kb.services.demo import seed_files
from kb.services.exchange import Form, ImportResult, export_file, import_file
from kb.services.importing import Look
from kb.services.mending import take_back, taking_back
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.strategies import jobs

NAMES = count(1)
FEW = settings(max_examples=10)
JOB = Job(vehicle=Vehicle(ref="K031"), opened=date(2026, 3, 2), complaint="airbag lamp on")


def _copy(store: str) -> str:
    """Make another store; one of its own for each example of a property test."""
    return shutil.copy(store, str(Path(store).with_name(f"shop{next(NAMES)}.sqlite")))


def _written(folder: Path, *jobs: Job, name: str = "jobs.jsonl") -> Path:
    path = folder / name
    lines = [json.dumps(job_to_record(job)) + "\n" for job in jobs]
    path.write_text("".join(lines), encoding="utf-8")
    return path


def _exported(store: str, form: Form = Form.JSONL) -> str:
    stream = io.StringIO(newline="")
    export_file(store, stream, form=form)
    return stream.getvalue()


def _stored(store: str) -> list[Job]:
    with UnitOfWork(open_store(store), read_only=True) as work:
        return list(work.jobs.all())


def _worded(job: Job) -> Job:
    """A job as every store has it: its complaint and notes are kept as they were typed."""
    texts = ((EntryKind.COMPLAINT, job.complaint), (EntryKind.NOTE, job.notes or ""))
    made = tuple(JobEntry(kind=kind, text=text) for kind, text in texts if text.strip())
    return replace(job, entries=job.entries or made)


def _filled(store: str, several: list[Job]) -> str:
    """Store what one store can hold of some jobs."""
    with UnitOfWork(open_store(store)) as work:
        for job in several:
            try:
                work.jobs.add(_worded(job))
            except KbError:
                continue
        work.commit()
    return store


@FEW
@given(several=st.lists(jobs(), max_size=4))
def test_json_lines_through_two_stores_are_the_same(
    tmp_path: Path, empty_store: str, several: list[Job]
) -> None:
    first = _filled(_copy(empty_store), several)
    second = _copy(empty_store)
    path = tmp_path / "jobs.jsonl"
    export_file(first, path)
    result = import_file(second, path)
    assert (result.added, result.rejects, result.renumbered) == (len(_stored(first)), (), ())
    assert _stored(second) == _stored(first)
    assert _exported(second).encode() == path.read_bytes()


@FEW
@given(several=st.lists(jobs(), max_size=4))
@example(several=[Job(vehicle=Vehicle(), opened=date(2000, 1, 1), complaint="0", notes=" ")])
def test_csv_through_two_stores_is_the_same(
    tmp_path: Path, empty_store: str, several: list[Job]
) -> None:
    first = _filled(_copy(empty_store), several)
    second = _copy(empty_store)
    path = tmp_path / "jobs.csv"
    export_file(first, path, form=Form.CSV)
    result = import_file(second, path)
    assert (result.added, result.rejects) == (len(_stored(first)), ())
    assert _exported(second, Form.CSV) == path.read_bytes().decode()


@FEW
@given(several=st.lists(jobs(), max_size=5), twice=st.booleans())
def test_the_same_file_adds_nothing_a_second_time(
    tmp_path: Path, empty_store: str, several: list[Job], twice: bool
) -> None:
    store = _copy(empty_store)
    path = _written(tmp_path, *several, *(several if twice else ()))
    first = import_file(store, path)
    lines = len(several) * (2 if twice else 1)
    assert first.added + len(first.told_again) + len(first.rejects) == lines
    before = _exported(store)
    second = import_file(store, path)
    assert second.added == 0
    assert _exported(store) == before


def test_rows_alike_are_two_jobs_unless_they_say_otherwise(
    tmp_path: Path, empty_store: str
) -> None:
    numbered = replace(JOB, number=7)
    path = _written(tmp_path, JOB, JOB, replace(JOB, notes="again"), numbered, numbered)
    result = import_file(empty_store, path)
    assert result.added == 4
    assert result.alike == ((2, 1), (3, 1))
    assert result.told_again == ((5, 4),)
    assert (result.already_there, result.rejects) == (0, ())
    again = import_file(empty_store, path)
    assert (again.added, again.already_there, again.told_again) == (0, 4, ((5, 4),))


def test_rows_alike_are_counted_over_batches(tmp_path: Path, empty_store: str) -> None:
    others = [replace(JOB, number=number) for number in range(1, 701)]
    path = _written(tmp_path, JOB, *others, JOB, others[0])
    result = import_file(empty_store, path)
    assert (result.added, result.alike, result.told_again) == (702, ((702, 1),), ((703, 2),))
    assert import_file(empty_store, path).added == 0


def test_rows_of_one_job_that_contradict_each_other_are_shown(
    tmp_path: Path, empty_store: str
) -> None:
    first = replace(JOB, number=7, closed=date(2026, 3, 3), odometer_km=81000)
    path = _written(tmp_path, first, replace(first, closed=date(2026, 3, 4)))
    result = import_file(empty_store, path)
    (reject,) = result.rejects
    assert (result.added, reject.line, reject.field, reject.value) == (1, 2, "closed", "2026-03-04")
    assert "on line 1, which says 2026-03-03" in reject.reason


def test_one_number_on_rows_of_different_jobs_is_told(tmp_path: Path, empty_store: str) -> None:
    path = _written(tmp_path, replace(JOB, number=7), replace(JOB, number=7, complaint="no crank"))
    result = import_file(empty_store, path)
    assert result.renumbered == ((7, 8),)
    assert "A number that another row has, too, in 1 of the jobs (line 2)" in result.notices[0]


def test_causes_that_will_never_be_recalled_are_named(tmp_path: Path, empty_store: str) -> None:
    cause = Cause(component="seat connector", failure_mode=FailureMode.HIGH_RESISTANCE)
    closed = replace(JOB, number=1, closed=date(2026, 3, 3), cause=cause)
    path = _written(tmp_path, closed, replace(JOB, number=2, cause=cause), replace(JOB, number=3))
    assert import_file(empty_store, path).never_recalled == (2,)


def test_days_to_come_are_told(tmp_path: Path, empty_store: str) -> None:
    days = (date.today(), date.today() + timedelta(1), date(2099, 1, 1))
    path = _written(tmp_path, *(replace(JOB, opened=day) for day in days))
    (notice,) = import_file(empty_store, path).notices
    assert notice == "Days that are still to come in 2 of the jobs (line 2, 3): check them."


def test_days_of_no_clock_are_told(tmp_path: Path, empty_store: str) -> None:
    # POSIX counts seconds from 1970-01-01 (IEEE Std 1003.1); a car is no older than its make
    late = replace(JOB, vehicle=Vehicle(ref="K032", year=2014), opened=date(2010, 3, 2))
    path = _written(tmp_path, JOB, replace(JOB, opened=date(1970, 1, 1)), late)
    (notice,) = import_file(empty_store, path).notices
    assert notice.endswith("write for none, in 2 of the jobs (line 2, 3): check them.")


def test_what_is_refused_of_a_sheet_is_named_by_its_column(
    tmp_path: Path, empty_store: str
) -> None:
    sheet, mapping = tmp_path / "old.csv", tmp_path / "old.toml"
    sheet.write_text("Said,Time,Done\nno crank,x,replaced battery\n,5,replaced battery", "utf-8")
    columns = "Said='complaint'\nTime='attempts[0].minutes'\nDone='attempts[0].component'"
    constants = "opened=2026-03-02\n'attempts[0].action'='replaced'"
    mapping.write_text(f"[columns]\n{columns}\n[constants]\n{constants}", "utf-8")
    found = import_file(empty_store, sheet, mapping=mapping)
    assert [(each.column, each.field) for each in found.rejects] == [
        ("Time", "attempts[0].minutes"),
        ("Said", "complaint"),
    ]
    told = text_of(render_import(found), width=200)
    assert "Time (attempts[0].minutes): “x” must be a number" in told
    written = Path(f"{sheet}.rejects.jsonl").read_text("utf-8").splitlines()
    assert [json.loads(each)["column"] for each in written] == ["Time", "Said"]


def text_of(page: RenderableType, width: int) -> str:
    console = Console(file=io.StringIO(), width=width, markup=False)
    console.print(page)
    return str(console.file.getvalue())  # type: ignore[attr-defined]


def test_a_job_of_a_million_codes_is_refused_without_reading_them(
    tmp_path: Path, empty_store: str
) -> None:
    record = json.loads(_written(tmp_path, JOB).read_text("utf-8"))
    path = tmp_path / "many.jsonl"
    path.write_text(json.dumps(record | {"codes": ["B1234"] * 1_000_000}), "utf-8")
    begin = time.process_time()
    (reject,) = import_file(empty_store, path).rejects
    assert time.process_time() - begin < 3
    assert (reject.field, reject.value) == ("codes", "1,000,000 items")


@pytest.mark.parametrize("depth", [100, 900, 960, 990, 5000])
@pytest.mark.parametrize("beside", ["%s", '{"opened": "2026-03-02", "complaint": %s}'])
def test_deep_json_costs_its_own_line_alone(
    tmp_path: Path, empty_store: str, depth: int, beside: str
) -> None:
    good = _written(tmp_path, JOB).read_text("utf-8").strip()
    path = tmp_path / "deep.jsonl"
    deep = beside % ("[" * depth + "]" * depth)
    path.write_text("\n".join([good, deep, '{"number": ' + "9" * 5000 + "}"]), "utf-8")
    result = import_file(empty_store, path)
    assert (result.added, [each.line for each in result.rejects]) == (1, [2, 3])
    written = Path(str(result.rejects_file)).read_text("utf-8").splitlines()
    assert [json.loads(line)["line"] for line in written] == [2, 3]


def test_a_reading_typed_otherwise_than_its_value_is_told(tmp_path: Path, empty_store: str) -> None:
    record = json.loads(_written(tmp_path, JOB).read_text("utf-8"))
    reading = {"item": "coil", "quantity": "voltage", "typed": "4 mV"}
    rows = (
        record | {"number": number, "readings": [reading | {"value": value}]}
        for number, value in ((1, 0.004), (2, 5.0))
    )
    path = tmp_path / "readings.jsonl"
    path.write_text("\n".join(map(json.dumps, rows)), "utf-8")
    (notice,) = import_file(empty_store, path).notices
    assert "another value than its typed text tells in 1 of the jobs (line 2)" in notice


def test_the_demonstration_shop_comes_in_whole(tmp_path: Path, empty_store: str) -> None:
    for path in seed_files():
        told = len(tomllib.loads(path.read_text("utf-8"))["job"])
        result = import_file(empty_store, path)
        assert (result.added, result.rejects, result.renumbered) == (told, (), ())
        assert import_file(empty_store, path).already_there == told


def test_a_job_whose_number_is_taken_is_renumbered_and_its_links_follow(
    tmp_path: Path, empty_store: str
) -> None:
    _filled(empty_store, [replace(JOB, number=1), replace(JOB, number=3)])
    back = Contact(on=date(2026, 4, 1), outcome=Outcome.COMEBACK, job=3)
    path = _written(
        tmp_path,
        replace(JOB, number=1, complaint="no crank", contacts=(back,), closed=date(2026, 3, 30)),
        replace(JOB, number=2, complaint="no crank again"),
        replace(JOB, number=3, complaint="no crank a third time"),
        replace(JOB, complaint="lamp"),
    )
    result = import_file(empty_store, path)
    assert (result.added, result.renumbered) == (4, ((1, 4), (3, 5)))
    numbered = {job.number: job for job in _stored(empty_store)}
    assert sorted(number for number in numbered if number) == [1, 2, 3, 4, 5, 6]
    assert numbered[4].contacts[0].job == 5
    assert numbered[5].complaint == "no crank a third time"
    assert import_file(empty_store, path).already_there == 4


def test_numbers_used_later_in_the_file_are_not_given_away(
    tmp_path: Path, empty_store: str
) -> None:
    path = _written(
        tmp_path,
        JOB,
        replace(JOB, number=1, complaint="a"),
        replace(JOB, number=1, complaint="b"),
        replace(JOB, number=2, complaint="c"),
    )
    assert import_file(empty_store, path).renumbered == ((1, 4),)
    assert [(job.number, job.complaint) for job in _stored(empty_store)] == [
        (1, "a"),
        (2, "c"),
        (3, "airbag lamp on"),
        (4, "b"),
    ]


def test_the_same_uid_with_other_content_is_refused(tmp_path: Path, empty_store: str) -> None:
    import_file(empty_store, _written(tmp_path, replace(JOB, uid="u", number=7)))
    result = import_file(empty_store, _written(tmp_path, replace(JOB, uid="u", notes="new")))
    (reject,) = result.rejects
    assert (reject.line, reject.field, reject.value) == (1, "uid", "u")
    assert "is job 7 of the store, with other content" in reject.reason
    assert _stored(empty_store)[0].notes is None


def test_a_row_without_a_uid_is_refused_without_one(tmp_path: Path, empty_store: str) -> None:
    import_file(empty_store, _written(tmp_path, replace(JOB, uid=None, number=None)))
    anew = replace(JOB, uid=None, number=None, closed=date(2099, 1, 1))
    (reject,) = import_file(empty_store, _written(tmp_path, anew)).rejects
    assert (reject.field, reject.value) == ("row", None)
    assert "of the store, with other content" in reject.reason


def test_a_vehicle_known_better_by_now_is_no_other_content(
    tmp_path: Path, empty_store: str
) -> None:
    path = _written(tmp_path, replace(JOB, number=1))
    import_file(empty_store, path)
    lido = Vehicle(ref="K031", make="Corvane", model="Lido")
    _filled(empty_store, [replace(JOB, vehicle=lido, complaint="no crank")])
    assert import_file(empty_store, path).already_there == 1


def test_rejects_are_told_and_written_with_their_lines(tmp_path: Path, empty_store: str) -> None:
    path = tmp_path / "jobs.jsonl"
    good = json.dumps(job_to_record(JOB))
    path.write_text(
        "\n".join(
            [
                good,
                "{",
                '{"opened": "2026-03-02", "complaint": "x", "vehicle": {"year": 1066}}',
                "",
                '{"opened": "2026-03-02", "complaint": "x", "number": 1' + "0" * 40 + "}",
                '{"opened": "2026-03-02", "complaint": "x", "vehicle": {"vin": "W"}}',
            ]
        )
    )  # fmt: skip
    result = import_file(empty_store, path)
    assert result.added == 1
    assert [(reject.line, reject.field) for reject in result.rejects] == [
        (2, "line"),
        (3, "vehicle.year"),
        (5, "number"),
        (6, "vehicle.vin"),
    ]
    assert result.rejects_file == str(tmp_path / "jobs.jsonl.rejects.jsonl")
    written = [json.loads(line) for line in Path(result.rejects_file).read_text().splitlines()]
    assert [list(reject) for reject in written] == [["line", "field", "value", "reason", "row"]] * 4
    assert written[1] == {
        "line": 3,
        "field": "vehicle.year",
        "value": 1066,
        "reason": "must lie in 1900 to 2100",
        "row": '{"opened": "2026-03-02", "complaint": "x", "vehicle": {"year": 1066}}',
    }


def test_a_rejected_row_of_several_lines_is_written_whole(tmp_path: Path, empty_store: str) -> None:
    path = tmp_path / "jobs.csv"
    path.write_text('opened,complaint\nsoon,"two\nlines"\n2026-03-02,x\n')
    result = import_file(empty_store, path)
    assert (result.added, result.rejects_file) == (1, str(tmp_path / "jobs.csv.rejects.jsonl"))
    (line,) = Path(str(result.rejects_file)).read_text().splitlines()
    assert json.loads(line)["row"] == 'soon,"two\nlines"'


def test_a_vehicle_that_contradicts_the_store_is_refused(tmp_path: Path, empty_store: str) -> None:
    lido, dray = (Vehicle(ref="K031", model=model) for model in ("Lido", "Dray"))
    path = _written(tmp_path, replace(JOB, vehicle=lido), replace(JOB, vehicle=dray))
    (reject,) = import_file(empty_store, path).rejects
    assert (reject.line, reject.field) == (2, "vehicle.model")


def test_a_dry_run_keeps_nothing(tmp_path: Path, empty_store: str) -> None:
    path = _written(tmp_path, JOB, replace(JOB, number=1))
    path.write_text(path.read_text() + "{\n")
    result = import_file(empty_store, path, dry_run=True)
    assert (result.dry_run, result.added, len(result.rejects)) == (True, 2, 1)
    assert result.rejects_file is None
    assert _stored(empty_store) == []
    assert [file.name for file in tmp_path.glob("*.rejects*")] == []


def test_where_rejects_cannot_be_written_nothing_is_imported(
    tmp_path: Path, empty_store: str
) -> None:
    path = _written(tmp_path, JOB)
    path.write_text(path.read_text() + "{\n")
    with pytest.raises(UnreadableFile, match="make it first"):
        import_file(empty_store, path, rejects=tmp_path / "none" / "rejects.jsonl")
    assert _stored(empty_store) == []


def test_a_file_that_is_no_sheet_leaves_the_store_alone(tmp_path: Path, empty_store: str) -> None:
    path = tmp_path / "jobs.csv"
    path.write_text("colour\nred\n")
    with pytest.raises(UnreadableFile, match="unknown name"):
        import_file(empty_store, path)
    with pytest.raises(UnreadableFile, match="cannot be read"):
        import_file(empty_store, tmp_path / "none.jsonl")
    with pytest.raises(StoreMissing):
        import_file(str(tmp_path / "none.sqlite"), _written(tmp_path, JOB))


def test_a_foreign_sheet_with_its_mapping(tmp_path: Path, empty_store: str) -> None:
    sheet, mapping = tmp_path / "old.txt", tmp_path / "columns.toml"
    sheet.write_bytes("Tag;Nr;Was;Büro\n02.03.2026;17;ABS-Lampe, 90 °C;x\n".encode("cp1252"))
    mapping.write_text(
        'delimiter = ";"\ndates = "%d.%m.%Y"\n'
        '[columns]\nTag = "opened"\nNr = "number"\nWas = "complaint"\n'
    )
    result = import_file(empty_store, sheet, mapping=mapping)
    assert result.added == 1
    assert result.notices == (
        "The file is not UTF-8 and was read as cp1252: check its accents and signs.",
        "Columns that the mapping does not name were left out: Büro.",
    )
    (job,) = _stored(empty_store)
    assert (job.number, job.opened, job.complaint) == (17, date(2026, 3, 2), "ABS-Lampe, 90 °C")


COLUMNS = """
[columns]
In = "opened"
Out = "closed"
Was = "complaint"
Part = "attempts[0].component"
Done = "attempts[0].words"
"Fixed?" = "attempts[0].cured"
Car = "vehicle.model"
[constants]
"attempts[0].action" = "replaced"
[words."attempts[0].cured"]
"weiß nicht" = ""
unklar = "unknown"
"""


def _told_of(folder: Path, store: str, *cells: str) -> tuple[Job, str]:
    """Import a row of part, words of the fix, outcome and car; the job, and what was said."""
    mapping, sheet = folder / "columns.toml", folder / "old.csv"
    mapping.write_text(COLUMNS)
    told = ",".join(f'"{cell}"' for cell in ("2026-03-02", "2026-03-03", "no crank", *cells))
    sheet.write_text(f"In,Out,Was,Part,Done,Fixed?,Car\n{told}\n")
    result = import_file(store, sheet, mapping=mapping)
    assert not result.rejects
    (job,) = _stored(store)
    return job, "\n".join(result.notices)


@pytest.mark.parametrize(
    ("part", "outcome", "component", "cured"),
    [
        ("replaced ignition coil, no change", "yes", "ignition coil", None),
        ("ignition coil no change", "yes", "ignition coil", None),
        ("replaced ignition coil, no change", "", "ignition coil", False),
        ("replaced ignition coil, cured", "yes", "ignition coil", True),
    ],
)
def test_a_fix_in_the_column_of_its_part_is_told_and_cures_nothing_it_denies(
    tmp_path: Path, empty_store: str, part: str, outcome: str, component: str, cured: bool | None
) -> None:
    job, said = _told_of(tmp_path, empty_store, part, "", outcome, "")
    (fix,) = job.attempts
    assert (fix.component, fix.words, fix.cured) == (component, part, cured)
    assert f"line 2, attempts[0].component “{part}” was read as “{component}”" in said


@pytest.mark.parametrize("part", ["ignition coil", "repair kit", "charge air hose", "new seal"])
def test_a_part_is_left_as_it_is(tmp_path: Path, empty_store: str, part: str) -> None:
    job, said = _told_of(tmp_path, empty_store, part, "", "yes", "")
    assert (job.attempts[0].component, job.attempts[0].cured) == (part, True)
    assert "was read as" not in said


def test_an_action_for_every_row_gives_way_to_the_words_of_one(
    tmp_path: Path, empty_store: str
) -> None:
    job, said = _told_of(tmp_path, empty_store, "earth strap", "cleaned earth strap", "yes", "")
    assert job.attempts[0].label == "cleaned earth strap"
    assert "its words say “cleaned earth strap”: kept as cleaned" in said


def test_an_action_for_every_row_stays_where_the_words_tell_of_another_part(
    tmp_path: Path, empty_store: str
) -> None:
    job, said = _told_of(tmp_path, empty_store, "battery", "cleaned earth strap", "yes", "")
    assert job.attempts[0].label == "replaced battery"
    assert "its words say “cleaned earth strap”: kept as replaced" in said


def test_a_car_in_the_column_of_its_model_is_read(tmp_path: Path, empty_store: str) -> None:
    job, said = _told_of(tmp_path, empty_store, "coil", "", "", "Corvane Lido 2016")
    assert job.vehicle == Vehicle(make="Corvane", model="Lido", year=2016)
    assert "“Corvane Lido 2016” was read as make Corvane, model Lido, year 2016" in said


@pytest.mark.parametrize("car", ["Lido", "2008", "Corvane Lido"])
def test_a_model_that_tells_no_year_stays(tmp_path: Path, empty_store: str, car: str) -> None:
    job, said = _told_of(tmp_path, empty_store, "coil", "", "", car)
    assert job.vehicle == Vehicle(model=car)
    assert ("stands without a make" in said) is (" " in car)


@pytest.mark.parametrize("word", ["weiß nicht", "Unklar"])
def test_a_word_for_an_outcome_nobody_knows_is_none(
    tmp_path: Path, empty_store: str, word: str
) -> None:
    job, _ = _told_of(tmp_path, empty_store, "ignition coil", "", word, "")
    assert job.attempts[0].cured is None


def _imported(folder: Path, store: str, *jobs: Job) -> ImportResult:
    return import_file(store, _written(folder, *jobs))


def test_personal_data_is_told_with_its_lines(tmp_path: Path, empty_store: str) -> None:
    notes = replace(JOB, complaint="no crank", notes="ring 07700 900123")
    (notice,) = _imported(tmp_path, empty_store, JOB, notes).notices
    assert "in 1 of the jobs (line 2)" in notice


def test_links_to_jobs_outside_the_file_are_told(tmp_path: Path, empty_store: str) -> None:
    back = Contact(on=date(2026, 4, 1), outcome=Outcome.COMEBACK, job=99)
    (notice,) = _imported(
        tmp_path, empty_store, replace(JOB, contacts=(back,), closed=date(2026, 3, 30))
    ).notices
    assert "that the file does not have" in notice
    assert "in 1 of the jobs (line 1)" in notice
    assert _stored(empty_store)[0].contacts == (back,)


@pytest.mark.parametrize("ref", ["K1", "K2"])
def test_a_comeback_as_a_job_of_another_car_is_told(
    tmp_path: Path, empty_store: str, ref: str
) -> None:
    back = Contact(on=date(2026, 4, 1), outcome=Outcome.COMEBACK, job=2)
    first = replace(
        JOB, number=1, vehicle=Vehicle(ref="K1"), contacts=(back,), closed=date(2026, 3, 30)
    )
    visit = replace(JOB, number=2, vehicle=Vehicle(ref=ref), complaint="squeal")
    told = " ".join(_imported(tmp_path, empty_store, first, visit).notices)
    assert ("name a job of another car in 1 of the jobs (line 1)" in told) is (ref == "K2")


def test_a_comeback_that_names_a_number_of_two_rows_is_told(
    tmp_path: Path, empty_store: str
) -> None:
    back = Contact(on=date(2026, 4, 1), outcome=Outcome.COMEBACK, job=2)
    car = Vehicle(ref="K1")
    first = replace(JOB, number=1, vehicle=car, contacts=(back,), closed=date(2026, 3, 30))
    visits = [
        replace(JOB, number=2, vehicle=car, opened=date(2026, 4, day), complaint="squeal")
        for day in (1, 2)
    ]
    told = " ".join(_imported(tmp_path, empty_store, first, *visits).notices)
    assert "name a job whose number several rows have in 1 of the jobs (line 1)" in told


def test_a_row_that_differs_says_in_what(tmp_path: Path, empty_store: str) -> None:
    first = replace(JOB, number=1, notes="ring done", technician="AB")
    (reject,) = _imported(
        tmp_path, empty_store, first, replace(first, notes="no ring", technician="CD")
    ).rejects
    fields = {reject.field, *reject.reason.split("; ")[1].split(" not alike")[0].split(", ")}
    assert fields == {"notes", "technician"}


def test_a_comeback_as_an_earlier_job_is_told(tmp_path: Path, empty_store: str) -> None:
    back = Contact(on=date(2026, 4, 1), outcome=Outcome.COMEBACK, job=2)
    car = Vehicle(ref="K1")
    first = replace(JOB, number=1, vehicle=car, contacts=(back,), closed=date(2026, 3, 30))
    earlier = replace(JOB, number=2, vehicle=car, opened=date(2025, 1, 8), complaint="squeal")
    told = " ".join(_imported(tmp_path, empty_store, first, earlier).notices)
    assert "name a job that was opened before in 1 of the jobs (line 1)" in told


def test_a_job_that_came_back_as_itself_is_refused(tmp_path: Path, empty_store: str) -> None:
    back = Contact(on=date(2026, 4, 1), outcome=Outcome.COMEBACK, job=1)
    (reject,) = _imported(
        tmp_path, empty_store, replace(JOB, number=1, contacts=(back,), closed=date(2026, 3, 30))
    ).rejects
    assert (reject.field, reject.value) == ("contacts[0].job", 1)
    assert reject.reason.startswith("is this very job")


def test_what_was_heard_of_a_job_never_handed_over_is_refused(
    tmp_path: Path, empty_store: str
) -> None:
    """No rate could count it; a job that comes out of a store may have been reopened."""
    back = Contact(on=date(2026, 4, 1), outcome=Outcome.COMEBACK)
    (reject,) = _imported(
        tmp_path, empty_store, replace(JOB, closed=None, contacts=(back,))
    ).rejects
    assert (reject.line, reject.field) == (1, "closed")
    assert "contacts[0] tells of 2026-04-01: comeback" in reject.reason
    silent = replace(back, outcome=Outcome.NOT_TOLD)
    known = replace(JOB, closed=None, uid="0" * 32, contacts=(back,))
    some = _imported(tmp_path, empty_store, replace(JOB, closed=None, contacts=(silent,)), known)
    assert (some.added, some.rejects) == (2, ())


def test_a_file_of_final_fixes_only_is_told(tmp_path: Path, empty_store: str) -> None:
    fix = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
    final = [replace(JOB, number=number, attempts=(fix,)) for number in range(1, 11)]
    assert _imported(tmp_path, empty_store, *final[:9]).notices == ()
    store = _copy(empty_store)
    failed = replace(fix, cured=False)
    honest = [*final, replace(JOB, number=11, attempts=(failed, fix))]
    assert _imported(tmp_path, store, *honest).notices == ()
    more = [replace(job, number=(job.number or 0) + 100) for job in final]
    assert _imported(tmp_path, store, *more).notices == (Notice.FINAL_FIXES_ONLY,)


def test_csv_is_written_as_rfc_4180_says(tmp_path: Path, empty_store: str) -> None:
    """Section 2: lines end in CRLF, cells with commas, quotes and line ends stand in quotes."""
    _filled(empty_store, [replace(JOB, number=1, complaint='says "dead", and\nmore')])
    path = tmp_path / "jobs.csv"
    export_file(empty_store, path, form=Form.CSV)
    header, row = path.read_bytes().split(b"\r\n", 1)
    assert header.startswith(b"number,opened,closed,system,complaint,")
    assert row.startswith(b'1,2026-03-02,,,"says ""dead"", and\nmore",')
    assert row.endswith(b"\r\n")


def test_an_empty_store_is_an_empty_file(tmp_path: Path, empty_store: str) -> None:
    assert _exported(empty_store) == ""
    assert _exported(empty_store, Form.CSV).count("\r\n") == 1
    path = tmp_path / "empty.jsonl"
    assert export_file(empty_store, path).jobs == 0
    assert path.read_bytes() == b""
    assert import_file(empty_store, path).added == 0


def test_filters(small_store: str) -> None:
    everything = _stored(small_store)
    chosen = [job for job in everything if job.system is System.RESTRAINTS]
    assert 0 < len(chosen) < len(everything)
    stream = io.StringIO()
    result = export_file(small_store, stream, system=System.RESTRAINTS)
    assert (result.path, result.jobs) == (None, len(chosen))
    day = sorted(job.opened for job in everything)[2]
    late = export_file(small_store, io.StringIO(), since=day)
    assert late.jobs == sum(job.opened >= day for job in everything)


def test_a_failed_export_leaves_the_old_file(
    tmp_path: Path, small_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "jobs.jsonl"
    path.write_text("old")

    def fail(job: Job) -> dict[str, object]:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("kb.services.exchange.job_to_record", fail)
    with pytest.raises(UnreadableFile, match="No space left on device"):
        export_file(small_store, path)
    assert path.read_text() == "old"
    assert list(tmp_path.glob("*.part")) == []


def test_progress_grows_to_its_total(tmp_path: Path, empty_store: str) -> None:
    path = _written(tmp_path, *(replace(JOB, number=number) for number in range(1, 1201)))
    told: list[tuple[int, int]] = []
    import_file(empty_store, path, progress=lambda done, total: told.append((done, total)))
    assert told == sorted(told)
    assert len({total for _, total in told}) == 1
    assert told[-1][0] == told[-1][1]
    exported: list[tuple[int, int]] = []
    export_file(
        empty_store, io.StringIO(), progress=lambda done, total: exported.append((done, total))
    )
    assert exported == [(done, 1200) for done in range(1, 1201)]


@FEW
@given(
    rows=st.lists(
        st.tuples(
            st.sampled_from([None, "u1", "u2"]),
            st.sampled_from([None, 9, 10, 11]),
            st.sampled_from(["no crank", "lamp on"]),
        ),
        max_size=7,
    )
)
@example(rows=[("u1", 9, "lamp on"), ("u1", 10, "lamp on")])
def test_no_row_takes_the_file_with_it(
    tmp_path: Path, empty_store: str, rows: list[tuple[str | None, int | None, str]]
) -> None:
    store = _copy(empty_store)
    told = [replace(JOB, uid=uid, number=no, complaint=text) for uid, no, text in rows]
    result = import_file(store, _written(tmp_path, *told))
    kept = result.added + len(result.told_again) + len(result.rejects)
    assert (kept, len(_stored(store))) == (len(rows), result.added)
    assert import_file(store, _written(tmp_path, *told)).added == 0


def test_one_uid_under_two_numbers_is_told_again(tmp_path: Path, empty_store: str) -> None:
    row = {"number": 9, "uid": "u1", "opened": "2026-01-01", "complaint": "c"}
    path = tmp_path / "jobs.jsonl"
    path.write_text("\n".join(json.dumps(each) for each in (row, row | {"number": 10})))
    assert import_file(empty_store, path).told_again == ((2, 1),)
    assert [job.number for job in _stored(empty_store)] == [9]


def test_a_file_without_entries_keeps_its_words_as_an_upgrade_does(
    tmp_path: Path, empty_store: str
) -> None:
    path = _written(tmp_path, replace(JOB, number=1, notes="keys at desk"))
    import_file(empty_store, path)
    (job,) = _stored(empty_store)
    assert [(each.kind.value, each.text) for each in job.entries] == [
        ("complaint", "airbag lamp on"),
        ("note", "keys at desk"),
    ]
    assert import_file(empty_store, path).already_there == 1


@pytest.mark.parametrize("on", [date(2026, 3, 4), date(2099, 1, 1)])
def test_a_contact_that_cannot_have_been_refuses_its_row(
    tmp_path: Path, empty_store: str, on: date
) -> None:
    held = Contact(on=on, outcome=Outcome.HELD)
    closed = replace(JOB, closed=date(2026, 3, 5), contacts=(held,))
    result = import_file(empty_store, _written(tmp_path, closed, JOB))
    (reject,) = result.rejects
    assert (result.added, reject.line, reject.field) == (1, 1, "contacts[0].on")
    assert reject.value == str(on)


def test_an_outcome_that_its_words_deny_is_not_told(tmp_path: Path, empty_store: str) -> None:
    fix = Attempt(action=Action.REPLACED, component="relay", cured=True, words="relay, not cured")
    heard = Contact(on=date(2026, 4, 1), outcome=Outcome.HELD, words="did not hold")
    fine = replace(fix, words="replaced relay, cured")
    told = replace(JOB, closed=date(2026, 3, 5), attempts=(fine, fix), contacts=(heard,))
    (notice,) = import_file(empty_store, _written(tmp_path, told)).notices
    (job,) = _stored(empty_store)
    assert [each.cured for each in job.attempts] == [True, None]
    assert [each.outcome for each in job.contacts] == [Outcome.NOT_TOLD]
    assert "line 1, cured is told of “replaced relay”" in notice
    assert "held is told of 2026-04-01" in notice


def test_jobs_taken_back_are_named_with_what_brings_them_back(
    tmp_path: Path, empty_store: str
) -> None:
    path = _written(tmp_path, replace(JOB, number=3), replace(JOB, number=3))
    import_file(empty_store, path)
    by = take_back(empty_store, taking_back(empty_store, who=None), who=None).by
    result = import_file(empty_store, path)
    assert "which is void: taken back; bring it back with kb job void 3 --back" in (
        result.rejects[0].reason
    )
    assert f"all of them with kb undo {by}." in result.notices[0]
    take_back(empty_store, taking_back(empty_store, who=None, entry=by), who=None)
    assert import_file(empty_store, path).rejects == ()


@pytest.mark.parametrize(
    ("line", "field"),
    [
        ('{"opened": "2026-03-02", "complaint": "a", "complaint": "b"}', "complaint"),
        (
            '{"opened": "2026-03-02", "complaint": "a", "vehicle": {"ref": "K1", "ref": "K2"}}',
            "ref",
        ),
        (
            '{"opened": "2026-03-02", "complaint": "a", "codes": '
            '[{"code": "P0335", "said": {"entry": 0, "start": 0, "end": 5}}]}',
            "codes[0].said",
        ),
        (
            '{"opened": "2026-03-02", "complaint": "a", "entries": '
            '[{"kind": "complaint", "text": "P0335"}], "codes": '
            '[{"code": "P0335", "said": {"entry": 0, "start": 0, "end": 6}}]}',
            "codes[0].said",
        ),
    ],
)
def test_what_would_be_lost_or_is_nowhere_is_refused(
    tmp_path: Path, empty_store: str, line: str, field: str
) -> None:
    path = tmp_path / "jobs.jsonl"
    path.write_text(f'{line}\n{{"opened": "2026-03-02", "complaint": "c"}}\n')
    result = import_file(empty_store, path)
    assert (result.added, [each.field for each in result.rejects]) == (1, [field])


@pytest.mark.parametrize(
    "field", ['"odometer_km": 3000001', '"contacts": [{CONTACT, "odometer_km": 3000001}]']
)
def test_an_odometer_that_no_car_comes_to_is_refused(
    tmp_path: Path, empty_store: str, field: str
) -> None:
    contact = '"on": "2026-03-09", "outcome": "held"'
    path = tmp_path / "jobs.jsonl"
    told = f'"opened": "2026-03-02", "closed": "2026-03-02", "complaint": "a", {field}'
    path.write_text(f"{{{told.replace('CONTACT', contact)}}}\n")
    (reject,) = import_file(empty_store, path).rejects
    assert reject.reason.startswith("is more than a car drives, 3,000,000 km at most")


def test_one_tag_in_two_spellings_is_one_car(tmp_path: Path, empty_store: str) -> None:
    rows = [
        replace(JOB, number=n, vehicle=Vehicle(ref=ref)) for n, ref in ((1, "fk 0"), (2, "FK 0"))
    ]
    result = _imported(tmp_path, empty_store, *rows)
    assert (result.added, result.rejects) == (2, ())
    assert {job.vehicle.ref for job in _stored(empty_store)} == {"FK 0"}


def test_a_tag_written_otherwise_is_the_same_car_unless_the_car_is_another(
    tmp_path: Path, empty_store: str
) -> None:
    told = [("Z-4", None), ("z4", None), ("Z.4", "Lido"), ("Z 4", "Bolt"), ("1-12", None)]
    rows = [
        replace(JOB, number=n, vehicle=Vehicle(ref=ref, model=model))
        for n, (ref, model) in enumerate((*told, ("11-2", None)), 1)
    ]
    result = _imported(tmp_path, empty_store, *rows)
    assert result.rejects == ()
    assert [each.vehicle.ref for each in _stored(empty_store)] == [
        *("Z-4", "Z-4", "Z-4", "Z 4", "1-12", "11-2")
    ]
    assert any("“Z4” for “Z-4” on line 2" in each for each in result.notices)
    assert any("“Z 4” and “Z-4” on line 4" in each for each in result.notices)


def test_contacts_that_cannot_both_be_so_are_noted(tmp_path: Path, empty_store: str) -> None:
    back = Contact(on=date(2026, 3, 20), outcome=Outcome.COMEBACK)
    good = Contact(on=date(2026, 4, 20), outcome=Outcome.HELD)
    row = replace(JOB, closed=date(2026, 3, 3), contacts=(back, good))
    result = _imported(tmp_path, empty_store, row)
    assert any("cannot both be so" in each for each in result.notices)


def test_odometers_that_cannot_be_are_noted_row_by_row(tmp_path: Path, empty_store: str) -> None:
    heard = [
        Contact(on=date(2026, 4, day), outcome=Outcome.HELD, odometer_km=km)
        for day, km in ((1, 79_000), (2, 90_000), (20, 85_000))
    ]
    row = replace(JOB, odometer_km=80_000, closed=date(2026, 3, 3), contacts=tuple(heard))
    (said,) = (each for each in _imported(tmp_path, empty_store, row).notices if "odom" in each)
    assert "line 1, contacts[0].odometer_km 79,000: 79,000 km is less than the 80,000 km" in said
    assert "line 1, contacts[2].odometer_km 85,000: an odometer does not run back" in said
    assert "contacts[1]" not in said
    assert "--set contacts[PLACE].odometer_km=KM" in said


def test_what_is_asked_or_was_no_better_is_not_told(tmp_path: Path, empty_store: str) -> None:
    fix = Attempt(
        action=Action.REPLACED, component="relay", cured=True, words="no better, still dead"
    )
    heard = Contact(on=date(2026, 4, 1), outcome=Outcome.HELD, words="held?")
    row = replace(JOB, closed=date(2026, 3, 5), attempts=(fix,), contacts=(heard,))
    (notice,) = _imported(tmp_path, empty_store, row).notices
    (job,) = _stored(empty_store)
    assert (job.attempts[0].cured, job.contacts[0].outcome) == (None, Outcome.NOT_TOLD)
    assert "no better, still dead" in notice
    assert "held?" in notice


def test_a_contact_of_tomorrow_is_refused(tmp_path: Path, empty_store: str) -> None:
    heard = Contact(on=date.today() + timedelta(days=1), outcome=Outcome.HELD)
    row = replace(JOB, closed=date(2026, 3, 5), contacts=(heard,))
    (reject,) = _imported(tmp_path, empty_store, row).rejects
    assert (reject.field, reject.reason) == (
        "contacts[0].on",
        "is still to come; give a day up to today",
    )


def test_a_tag_of_another_store_stays_as_it_is_and_is_asked_about(
    tmp_path: Path, empty_store: str
) -> None:
    rows = [
        replace(JOB, number=n, uid=f"u{n}", vehicle=Vehicle(ref=ref))
        for n, ref in ((1, "fk 0"), (2, "FK 0"), (3, "fk 1"))
    ]
    result = _imported(tmp_path, empty_store, *rows)
    assert {job.vehicle.ref for job in _stored(empty_store)} == {"fk 0", "FK 0", "fk 1"}
    (told,) = (each for each in result.notices if "differ in case" in each)
    assert "“FK 0” and “fk 0” on line 2, in 1 of the jobs (line 2)" in told


def test_the_same_heard_twice_of_one_car_is_kept_once_and_said(
    empty_store: str, tmp_path: Path
) -> None:
    told = Contact(on=date(2026, 3, 20), outcome=Outcome.HELD, words="ok")
    later = replace(told, on=date(2026, 3, 21))
    job = replace(JOB, closed=date(2026, 3, 3), contacts=(told, replace(told, by="BT"), later))
    found = import_file(empty_store, _written(tmp_path, job))
    assert [each.on for each in _stored(empty_store)[0].contacts] == [told.on, later.on]
    assert any("heard of a car twice" in each for each in found.notices)
    again = import_file(empty_store, _written(tmp_path, job))
    assert (again.added, again.already_there, again.rejects) == (0, 1, ())


def test_a_file_is_looked_at_by_several_processes_as_by_one(
    empty_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = [replace(JOB, complaint=f"airbag lamp on {day}", number=day) for day in range(1, 4)]
    file = _written(tmp_path, *good)
    lines = [*file.read_text(encoding="utf-8").splitlines(), '{"opened": "soon"}', "{", "7"]
    again = json.dumps({"opened": "2026-03-02", "complaint": "x", "codes": [{"code": "P0"}]})
    file.write_text("\n".join([*lines, again, lines[0]]), encoding="utf-8")
    other = _copy(empty_store)
    one = import_file(empty_store, file, rejects=tmp_path / "one")
    monkeypatch.setattr(importing, "WORTH_HELP", 1)
    several = import_file(other, file, rejects=tmp_path / "several")
    assert replace(several, rejects_file=one.rejects_file) == one
    assert len(one.rejects) == 4
    assert (tmp_path / "several").read_bytes() == (tmp_path / "one").read_bytes()
    assert _exported(other) == _exported(empty_store)


@given(jobs())
def test_a_packed_job_is_the_one_that_was_packed(job: Job) -> None:
    unpacked = Look.at(job, date(2026, 3, 2)).job
    assert unpacked == job
    assert json.dumps(job_to_record(unpacked)) == json.dumps(job_to_record(job))
