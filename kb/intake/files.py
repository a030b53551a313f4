"""Files of records: which encoding, and one record after the other with its line.

A line that cannot be read does not stop the reading; it is handed on as its error. Only a file
that is not what it claims to be at all raises.
"""

import codecs
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from pathlib import Path
from typing import IO, Any

import msgspec

from kb.bounds import LONGEST_TEXT
from kb.case import VehicleModel
from kb.errors import InvalidField, KbError, UnreadableFile
from kb.files import read_whole
from kb.intake.forms import Record, once_only
from kb.patterns import compiled

Line = tuple[int, Record | KbError]
"""Line number, counted from 1, of a record's first line; the record, or why it is none."""

LONGEST_LINE = 1_000 * LONGEST_TEXT
"""Characters of a line, so of a job: a thousand of the longest texts. Longer ones are passed over
without being held."""
LARGEST_TOML = LONGEST_LINE
"""Bytes of a file that is read as a whole."""
_BLOCK = 1 << 20
_LINE_ENDS = ("\n", "\r")
_CR_LF = r"\r\n"
"""A line end of two signs as JSON writes it."""
_UTF8_SIGN = re.compile(rb"[\xc2\xc3][\x80-\xbf]|\xe2[\x80-\xbf]{2}")
_UTF16_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_MOST_PARTS = 100
_PART = r"""(?:[\w-]++|"(?:\\.|[^"\\\n])*+"|'[^'\n]*+')"""
_LONG_KEY = re.compile(rf"(?<![\w-])(?:{_PART}[ \t]*+\.[ \t]*+){{{_MOST_PARTS}}}")
"""The parser goes over all the parts of a key again for each of them."""
_JOB_HEADING = compiled(r"\s*\[\[\s*job\s*\]\]")


def encoding_of(path: Path) -> str:
    """Find out how a text file is encoded, by reading it once in blocks.

    It is ``utf-8-sig`` (UTF-8, a byte order mark skipped), ``utf-16`` where the file says so by its
    mark, else ``cp1252``, the usual one of spreadsheets in western Europe. A file with signs of
    UTF-8 and bytes that are none is neither: one bad byte would spoil every accent.

    Raises
    ------
    UnreadableFile
        If the file cannot be opened, or is neither; or a pipe, which gives its text only once.
    """
    if path.exists() and not path.is_file() and not path.is_dir():
        raise UnreadableFile(f"{path}: is no plain file and can be read only once; save it as one")
    try:
        with path.open("rb") as file:
            marked = file.read(2) in _UTF16_MARKS
        names = ("utf-16",) if marked else ("utf-8-sig", "cp1252")
        name = next(name for name in names if _decodes(path, name))
        if name == "cp1252":
            _refuse_broken_utf8(path)
        return name
    except OSError as error:
        raise UnreadableFile(
            f"{path}: cannot be read ({error.strerror}); check name and rights"
        ) from error
    except StopIteration:
        raise UnreadableFile(f"{path}: is no text in UTF-8 or cp1252; save it as UTF-8") from None


def bounded_lines(file: IO[str]) -> Iterator[tuple[int, str, bool]]:
    """Yield the lines of a file with their numbers, and whether each is whole.

    Of one that is too long only its beginning is given, a short text.
    """
    for number in count(1):
        line = file.readline(LONGEST_LINE + 1)
        if not line:
            return
        if len(line) <= LONGEST_LINE or line.endswith(_LINE_ENDS):
            yield number, line, True
            continue
        beginning = line[:LONGEST_TEXT]
        while line and not line.endswith(_LINE_ENDS):
            line = file.readline(_BLOCK)
        yield number, beginning, False


def too_long(beginning: str) -> InvalidField:
    """Return what is said of a line of which only the beginning was read."""
    cure = f"is longer than {LONGEST_LINE:,} characters; see that each job has a line of its own"
    return InvalidField("line", beginning, cure)


def read_json_lines(path: Path) -> Iterator[Line]:
    """Yield the records of a JSON Lines file; blank lines are passed over.

    Raises
    ------
    UnreadableFile
        If the file is no text.
    """
    return ((number, json_record(line)) for number, line in json_lines(path))


def json_lines(path: Path) -> Iterator[tuple[int, str | KbError]]:
    """Yield the lines of a JSON Lines file, for `json_record`, or why a line cannot be read.

    Raises
    ------
    UnreadableFile
        If the file is no text.
    """
    with path.open(encoding=encoding_of(path)) as file:
        for number, line, whole in bounded_lines(file):
            if not whole:
                yield number, too_long(line)
            elif line.strip():
                yield number, line


def json_record(line: str | KbError) -> Record | KbError:
    """Read the record of a line of `json_lines`, or tell why it holds none."""
    if isinstance(line, KbError):
        return line
    try:
        value = once_only(line)
        return _object(_with_one_line_end(value) if _CR_LF in line else value)
    except (msgspec.MsgspecError, RecursionError) as error:
        return InvalidField("line", line.strip(), f"is no JSON: {error}")
    except KbError as error:
        return error


def read_toml(path: Path) -> Iterator[Line]:
    """Yield the ``[[job]]`` tables of a TOML file.

    Raises
    ------
    UnreadableFile
        If the file is no TOML, or holds anything but ``[[job]]`` tables.
    """
    document = load_toml(path)
    jobs = document.pop("job", [])
    if document or not isinstance(jobs, list):
        raise UnreadableFile(f"{path}: holds {', '.join(document) or 'one job'}; write [[job]]")
    lines = path.read_text(encoding="utf-8-sig").splitlines()
    headings = [number for number, line in enumerate(lines, 1) if _JOB_HEADING.match(line)]
    places: Iterable[int] = headings if len(headings) == len(jobs) else range(1, len(jobs) + 1)
    for number, job in zip(places, jobs, strict=True):
        try:
            yield number, _object(job)
        except InvalidField as error:
            yield number, error


def read_models(path: Path) -> tuple[VehicleModel, ...]:
    """Read the ``[[vehicle_model]]`` tables of a TOML file.

    Raises
    ------
    UnreadableFile
        If the file is no TOML, holds anything else, or a table that is no line of the list.
    """
    document = load_toml(path)
    lines = document.pop("vehicle_model", [])
    if document:
        raise UnreadableFile(f"{path}: holds {', '.join(document)}; write [[vehicle_model]]")
    try:
        return tuple(msgspec.convert(lines, list[VehicleModel]))
    except (msgspec.ValidationError, KbError) as error:
        raise UnreadableFile(f"{path}: {error}") from error


def load_toml(path: Path) -> dict[str, Any]:
    """Read a whole TOML file.

    Raises
    ------
    UnreadableFile
        If it cannot be opened or is no TOML in UTF-8.
    """
    try:
        if path.stat().st_size > LARGEST_TOML:
            raise UnreadableFile(
                f"{path}: has more than {LARGEST_TOML:,} bytes, too many for TOML, which is read "
                "as a whole; write so many jobs as JSON Lines"
            )
        text = read_whole(path).decode("utf-8-sig")
        if _LONG_KEY.search(text):
            raise UnreadableFile(f"{path}: has a name of more than {_MOST_PARTS} parts")
        document = tomllib.loads(text)
        _refuse_endless_numbers(document)
        return document
    except OSError as error:
        raise UnreadableFile(
            f"{path}: cannot be read ({error.strerror}); check name and rights"
        ) from error
    except UnicodeDecodeError as error:
        raise UnreadableFile(f"{path}: is not UTF-8, as TOML must be; save it so") from error
    except tomllib.TOMLDecodeError as error:
        raise UnreadableFile(f"{path}: is no TOML: {error}") from error
    except RecursionError as error:
        raise UnreadableFile(
            f"{path}: is no TOML: too many lists or tables in one another"
        ) from error
    except ValueError as error:
        raise UnreadableFile(f"{path}: is no TOML: a number has too many digits") from error


def _refuse_endless_numbers(document: dict[str, Any]) -> None:
    """Refuse a hexadecimal, octal or binary number that could not even be shown, as decimals are.

    Raises
    ------
    ValueError
        If there is one.
    """
    waiting: list[Any] = [document]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value
        elif isinstance(value, int):
            str(value)


def _refuse_broken_utf8(path: Path) -> None:
    with path.open("rb") as file:
        if not _has_utf8_sign(file):
            return
        file.seek(0)
        decoder, bad = codecs.getincrementaldecoder("utf-8")(), 1
        for number, piece in _pieces(file):
            try:
                decoder.decode(piece)
            except UnicodeDecodeError:
                bad = number
                break
    raise UnreadableFile(f"{path}: line {bad} holds a byte that is not UTF-8; mend that line")


def _has_utf8_sign(file: IO[bytes]) -> bool:
    end = b""
    for _, piece in _pieces(file):
        if _UTF8_SIGN.search(end + piece):
            return True
        end = piece[-2:]
    return False


def _pieces(file: IO[bytes]) -> Iterator[tuple[int, bytes]]:
    """Yield the lines of a file with their numbers, a long one in pieces."""
    number = 1
    while piece := file.readline(_BLOCK):
        yield number, piece
        number += piece.endswith(b"\n")


def _decodes(path: Path, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        with path.open("rb") as file:
            while block := file.read(_BLOCK):
                decoder.decode(block)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _with_one_line_end(value: object) -> object:
    """Take line ends in texts as one sign whatever machine they come from."""
    if isinstance(value, str):
        return value.replace("\r\n", "\n")
    if isinstance(value, list):
        return list(map(_with_one_line_end, value))
    if isinstance(value, dict):
        return {name: _with_one_line_end(inner) for name, inner in value.items()}
    return value


def _object(value: object) -> Mapping[str, object]:
    if not isinstance(value, Mapping):
        raise InvalidField("line", value, "is no job; write its fields as names with values")
    return value
