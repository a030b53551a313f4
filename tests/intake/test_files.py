"""Reading files of records: encodings, lines, and lines that are no records."""

import json
import os
from contextlib import suppress
from pathlib import Path
from time import process_time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.case import Job, VehicleModel
from kb.errors import InvalidField, KbError, UnreadableFile
from kb.intake.files import (
    Line,
    encoding_of,
    load_toml,
    read_json_lines,
    read_models,
    read_toml,
)
from kb.intake.forms import job_from_record, job_to_record
from tests.strategies import jobs

IN_ONE_FOLDER = settings(max_examples=25)


def _written(folder: Path, content: str | bytes, name: str = "jobs.jsonl") -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def _numbers_of_errors(path: Path) -> list[int]:
    return [number for number, record in read_json_lines(path) if isinstance(record, KbError)]


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        (b"", "utf-8-sig"),
        (b"plain", "utf-8-sig"),
        ("Ω".encode(), "utf-8-sig"),
        ("Ω".encode("utf-8-sig"), "utf-8-sig"),
        ("Ω".encode("utf-16"), "utf-16"),
        ("90 °C".encode("cp1252"), "cp1252"),
        (b"x" * ((1 << 20) - 1) + "Ω".encode(), "utf-8-sig"),
    ],
)
def test_encodings(tmp_path: Path, content: bytes, encoding: str) -> None:
    assert encoding_of(_written(tmp_path, content)) == encoding


@pytest.mark.parametrize("content", [b"\x81\xff", "Ω".encode("utf-16") + b"x"])
def test_what_is_no_text_is_refused(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(UnreadableFile, match="is no text"):
        list(read_json_lines(_written(tmp_path, content)))


def test_a_missing_file_or_a_folder_is_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.jsonl", tmp_path):
        with pytest.raises(UnreadableFile, match="cannot be read"):
            list(read_json_lines(path))
        with pytest.raises(UnreadableFile, match="cannot be read"):
            load_toml(path)


@IN_ONE_FOLDER
@given(st.lists(jobs(), max_size=3), st.sampled_from(["\n", "\r\n"]), st.booleans(), st.booleans())
def test_json_lines_come_back_the_same(
    tmp_path: Path, several: list[Job], line_end: str, marked: bool, escaped: bool
) -> None:
    lines = [json.dumps(job_to_record(job), ensure_ascii=escaped) + line_end for job in several]
    content = "".join(lines).encode("utf-8-sig" if marked else "utf-8")
    read = list(read_json_lines(_written(tmp_path, content)))
    assert [number for number, _ in read] == list(range(1, len(several) + 1))
    assert [job_from_record(record) for _, record in read if not isinstance(record, KbError)] == (
        several
    )


def test_lines_that_are_no_records_are_handed_on_with_their_number(tmp_path: Path) -> None:
    bad = [
        "{",
        "[1]",
        "3",
        '"x"',
        "null",
        '{"a": NaN}',
        '{"a": 1e999}',
        "[" * 200_000,
        '{"a":"\x01"}',
    ]
    path = _written(tmp_path, "\n".join(["", "{}", *bad, "   ", "{}"]))
    assert _numbers_of_errors(path) == list(range(3, 3 + len(bad)))
    assert [number for number, record in read_json_lines(path) if record == {}] == [2, 13]


def test_a_file_in_cp1252_is_read(tmp_path: Path) -> None:
    path = _written(tmp_path, '{"complaint": "runs at 90 °C, smells – café"}'.encode("cp1252"))
    assert list(read_json_lines(path)) == [(1, {"complaint": "runs at 90 °C, smells – café"})]


@IN_ONE_FOLDER
@given(st.binary(max_size=200))
def test_any_file_is_read_or_refused(tmp_path: Path, content: bytes) -> None:
    lines: list[Line] = []
    with suppress(UnreadableFile):
        lines = list(read_json_lines(_written(tmp_path, content)))
    for number, record in lines:
        assert number >= 1
        assert isinstance(record, dict | InvalidField)


TOML = """\ufeff# a shop
[[job]]
opened = 2026-03-02
complaint = "lamp on"

[[job]]  # the second
opened = 2026-03-03
complaint = '''
[[job]] said twice
'''
"""


def test_toml_jobs_with_their_lines(tmp_path: Path) -> None:
    plain = TOML.replace("[[job]] said twice", "said twice")
    read = list(read_toml(_written(tmp_path, plain, "jobs.toml")))
    assert [number for number, _ in read] == [2, 6]
    first, second = (job_from_record(record) for _, record in read if isinstance(record, dict))
    assert (first.opened.day, second.complaint) == (2, "said twice\n")


def test_toml_jobs_are_counted_where_their_lines_are_unsure(tmp_path: Path) -> None:
    assert [number for number, _ in read_toml(_written(tmp_path, TOML, "jobs.toml"))] == [1, 2]


@pytest.mark.parametrize(
    "content", ["[job]\n", 'shop = "x"\n[[job]]\n', "[[jobs]]\n", "= 1", b"\xff"]
)
def test_toml_that_holds_no_list_of_jobs_is_refused(tmp_path: Path, content: str | bytes) -> None:
    with pytest.raises(UnreadableFile):
        list(read_toml(_written(tmp_path, content, "jobs.toml")))


def test_toml_is_not_read_from_a_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(UnreadableFile, match="no plain file"):
        load_toml(tmp_path / "pipe.toml")
    (tmp_path / "lines.toml").write_bytes(b'\xef\xbb\xbfkey = "one"\r\n[other]\r\n')
    assert load_toml(tmp_path / "lines.toml") == {"key": "one", "other": {}}


def test_toml_with_endless_numbers_or_depth_is_refused(tmp_path: Path) -> None:
    endless = ("0x" + "f" * 5000, "0b" + "1" * 20_000, "[{a = -0, b = 0o" + "7" * 9000 + "}]")
    for number, value in enumerate(("9" * 5000, "[" * 5000, "0x", *endless)):
        path = tmp_path / f"{number}.toml"
        path.write_text(f"key = {value}")
        with pytest.raises(UnreadableFile, match="is no TOML"):
            load_toml(path)
    path.write_text("key = [0x7fffffffffffffff, -1]")
    assert load_toml(path) == {"key": [2**63 - 1, -1]}


def test_what_is_too_deep_or_long_to_show_is_named_by_its_kind() -> None:
    deep: dict[str, object] = {}
    for _ in range(5000):
        deep = {"a": deep}
    assert str(InvalidField("a", deep, "is unknown")) == "a: dict … is unknown"
    assert str(InvalidField("a", 10**5000, "is too much")) == "a: int … is too much"


def test_a_toml_job_that_is_no_table_is_handed_on(tmp_path: Path) -> None:
    (_, error), _ = read_toml(_written(tmp_path, "job = [1, {}]", "jobs.toml"))
    assert isinstance(error, InvalidField)


def test_a_list_of_vehicles(tmp_path: Path) -> None:
    path = tmp_path / "vehicles.toml"
    path.write_text(
        '[[vehicle_model]]\nmake = "Corvane"\nmodel = "Lido"\nfirst_year = 2011\n'
        'engines = ["1.2 petrol"]\n'
    )
    assert read_models(path) == (
        VehicleModel(make="Corvane", model="Lido", first_year=2011, engines=("1.2 petrol",)),
    )


@pytest.mark.parametrize(
    "text",
    [
        '[[job]]\ncomplaint = "lamp"\n',
        '[[vehicle_model]]\nmake = "Corvane"\n',
        '[[vehicle_model]]\nmake = "Corvane"\nmodel = ""\n',
        '[[vehicle_model]]\nmake = "Corvane"\nmodel = "Lido"\nfirst_year = "soon"\n',
    ],
)
def test_what_is_no_list_of_vehicles_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "vehicles.toml"
    path.write_text(text)
    with pytest.raises(UnreadableFile, match=r"vehicles\.toml"):
        read_models(path)


def test_a_bad_byte_does_not_spoil_the_signs_of_a_whole_file(tmp_path: Path) -> None:
    path = _written(tmp_path, "90 °C\ncafé\n".encode() + b"caf\xe9\n")
    with pytest.raises(UnreadableFile, match="line 3 holds a byte that is not UTF-8"):
        encoding_of(path)


def test_line_ends_in_texts_are_one_sign(tmp_path: Path) -> None:
    path = _written(tmp_path, rb'{"complaint": "a\r\nb", "entries": [{"text": "c\r\nd"}]}')
    ((_, record),) = read_json_lines(path)
    assert record == {"complaint": "a\nb", "entries": [{"text": "c\nd"}]}


@pytest.mark.parametrize("part", ["a", '"a"', "'a'", "a ", '"a\\"" '])
def test_a_toml_name_of_thousands_of_parts_is_refused_at_once(tmp_path: Path, part: str) -> None:
    path = tmp_path / "parts.toml"
    begin = process_time()
    for before in ("", "[", "key = {"):
        path.write_text(f"first = 1\n{before}{(part + '.') * 20_000}a = 1")
        with pytest.raises(UnreadableFile):
            load_toml(path)
    assert process_time() - begin < 2
    path.write_text(f"{'a.' * 90}a = 'Looked. Tried. Left.'")
    assert load_toml(path)
