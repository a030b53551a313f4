"""`kb import`, `kb export`, `kb schema` and `kb words` at the terminal."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb
from kb.intake.schema import case_schema
from tests.cli.terminal import Terminal
from tests.strategies import texts


def _run(store: str, *args: str) -> Result:
    result = CliRunner().invoke(kb, ["--store", store, *args])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def test_a_store_goes_through_a_file_into_another(
    tmp_path: Path, small_store: str, empty_store: str
) -> None:
    path = str(tmp_path / "jobs.jsonl")
    exported = _run(small_store, "export", path)
    assert (exported.exit_code, exported.stdout) == (0, "")
    assert exported.stderr == f"6 jobs written to {path}\n" or "6 jobs" in exported.stderr
    imported = _run(empty_store, "import", path)
    assert (imported.exit_code, imported.stdout.split()) == (0, ["added", "6", "jobs"])
    again = json.loads(_run(empty_store, "import", path, "--json").stdout)
    assert (again["added"], again["already_there"]) == (0, 6)
    for line, before in zip(
        _run(empty_store, "export").stdout.splitlines(),
        Path(path).read_text("utf-8").splitlines(),
        strict=True,
    ):
        job, old = json.loads(line), json.loads(before)
        assert job.pop("entries")[0]["text"] == old["complaint"]  # an old store kept no entries
        assert job == old


def test_an_import_makes_its_jobs_recallable_at_once(
    tmp_path: Path, small_store: str, empty_store: str
) -> None:
    path = str(tmp_path / "jobs.jsonl")
    _run(small_store, "export", path)
    _run(empty_store, "import", path)
    assert Path(f"{empty_store}.index").is_dir()
    asked = _run(empty_store, "similar", "door lock dead after rain", "--json")
    assert json.loads(asked.stdout)["matches"][0]["number"] == 6


def test_rejects_are_shown_written_and_told_by_the_exit_code(
    tmp_path: Path, empty_store: str
) -> None:
    path = tmp_path / "jobs.jsonl"
    path.write_text('{"opened": "2026-03-02", "complaint": "lamp on"}\n{"opened": 3}\n')
    rejects = tmp_path / "rejects.jsonl"
    result = _run(empty_store, "import", str(path), "--rejects", str(rejects))
    assert result.exit_code == 1
    assert "line 2  complaint: is missing" in result.stdout
    assert json.loads(rejects.read_text())["line"] == 2


def test_a_dry_run_shows_and_keeps_nothing(tmp_path: Path, empty_store: str) -> None:
    path = tmp_path / "jobs.jsonl"
    path.write_text('{"opened": "2026-03-02", "complaint": "lamp on"}\n')
    assert "1 job (dry run: not kept)" in _run(empty_store, "import", str(path), "--dry-run").stdout
    assert _run(empty_store, "export").stdout == ""
    assert not Path(f"{empty_store}.index").exists()


def test_export_chooses_its_form_and_its_jobs(tmp_path: Path, small_store: str) -> None:
    _run(small_store, "export", str(tmp_path / "jobs.CSV"))
    assert (tmp_path / "jobs.CSV").read_text().startswith("number,opened,closed,")
    sheet = _run(small_store, "export", "--format", "csv", "--system", "srs", "--since", "2024-13")
    assert sheet.exit_code == 2
    sheet = _run(
        small_store, "export", "--format", "csv", "--system", "srs", "--since", "2024-02-01"
    )
    assert [line.partition(",")[0] for line in sheet.stdout.splitlines()] == ["number", "2", "3"]
    assert "must be one of" in _run(small_store, "export", "--system", "roof box").stderr


def test_the_schema_is_printed_without_a_store(tmp_path: Path) -> None:
    printed = _run(str(tmp_path / "none.sqlite"), "schema")
    assert json.loads(printed.stdout) == case_schema()


def test_words_are_added_listed_and_removed(empty_store: str) -> None:
    assert "no words of its own" in _run(empty_store, "words", "list").stdout
    added = _run(empty_store, "words", "add", "Mulch", "air filter", "grass box")
    assert added.stdout.split() == "mulch air filter | grass box".split()  # noqa: SIM905
    assert _run(empty_store, "words", "list").stdout == added.stdout
    assert "condenser | condition" in _run(empty_store, "words", "list", "--all").stdout
    assert json.loads(_run(empty_store, "words", "list", "--json").stdout) == [
        {"short": "mulch", "meanings": ["air filter", "grass box"], "is_own": True}
    ]
    assert _run(empty_store, "words", "remove", "mulch").exit_code == 0
    refused = _run(empty_store, "words", "remove", "mulch")
    assert (refused.exit_code, refused.stdout) == (1, "")
    assert refused.stderr == "Error: word: 'mulch' is none of the shop's own words\n"


@pytest.mark.parametrize(
    "args",
    [("import", "none.jsonl"), ("import", "."), ("export", "none/x.jsonl"), ("words", "list")],
)
def test_what_cannot_be_done_is_told_in_a_line(tmp_path: Path, args: tuple[str, ...]) -> None:
    result = _run(str(tmp_path / "none.sqlite"), *args)
    assert result.exit_code in {1, 2}
    assert result.stderr.splitlines()[-1].startswith("Error: ")


@settings(max_examples=30)
@given(
    command=st.sampled_from(
        [("import",), ("import", "--mapping"), ("export", "--system"), ("export", "--since"),
         ("words", "add"), ("words", "add", "x"), ("words", "remove")]
    ),
    argument=texts(),
)  # fmt: skip
def test_no_argument_brings_a_traceback(
    tmp_path: Path, empty_store: str, command: tuple[str, ...], argument: str
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        result = _run(empty_store, *command, argument)
    assert result.exit_code in {0, 1, 2}


@settings(max_examples=20)
@given(content=st.binary(max_size=80), suffix=st.sampled_from(["jsonl", "csv", "toml"]))
def test_no_file_brings_a_traceback(
    tmp_path: Path, empty_store: str, content: bytes, suffix: str
) -> None:
    path = tmp_path / f"jobs.{suffix}"
    path.write_bytes(content)
    assert _run(empty_store, "import", str(path)).exit_code in {0, 1}


def test_the_mapping_in_the_help_is_one(tmp_path: Path, empty_store: str) -> None:
    text = _run(empty_store, "import", "--help").stdout
    mapping = tmp_path / "columns.toml"
    mapping.write_text(text.partition("writes:\n")[2].partition("\n\n")[0])
    sheet = tmp_path / "old.csv"
    sheet.write_text("Order;Came in;Complaint;Part;Fixed\n17;02.03.2026;no crank;battery;ja\n")
    assert _run(empty_store, "import", str(sheet), "--mapping", str(mapping)).exit_code == 0
    attempt = json.loads(_run(empty_store, "export").stdout)["attempts"][0]
    assert attempt == {"action": "replaced", "component": "battery", "cured": True}


def test_an_export_over_the_store_is_refused_whatever_is_said(empty_store: str) -> None:
    before = Path(empty_store).read_bytes()
    for words in ((), ("--force",)):
        result = _run(empty_store, "export", empty_store, *words)
        assert (result.exit_code, "belongs to the store" in result.output) == (1, True)
    assert Path(empty_store).read_bytes() == before


def test_a_file_that_is_there_is_replaced_only_by_force_or_when_asked(
    empty_store: str, tmp_path: Path
) -> None:
    path = tmp_path / "jobs.jsonl"
    path.write_text("mine")
    refused = _run(empty_store, "export", str(path))
    assert (refused.exit_code, "--force" in refused.output) == (1, True)
    for answer, text in (("n", "mine"), ("y", "")):
        with Terminal("export", str(path), store=empty_store) as screen:
            screen.expect("Replace it?")
            screen.answer(answer)
        assert path.read_text() == text
    path.write_text("mine")
    assert _run(empty_store, "export", str(path), "--force").exit_code == 0
    assert path.read_text() == ""


def test_on_a_screen_the_cautions_stand_above_every_page_of_an_export(small_store: str) -> None:
    with Terminal("export", store=small_store) as screen:
        pages = [screen.expect("any key; q leaves")]
        screen.press(" ")
        pages.append(screen.expect("any key; q leaves"))
        screen.press("q")
    for page in pages:
        assert "Airbags and pretensioners can fire" in page
        assert len(page.splitlines()) <= 25
