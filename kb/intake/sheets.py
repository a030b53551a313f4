"""Jobs as CSV (RFC 4180), one row a job: our own columns, or foreign ones through a mapping.

A column is named by the path of its field (``vehicle.make``, ``cause.component``). A cell of a
list holds JSON, or the shorthand people write: codes, readings and fixes as running text, words
parted by semicolons. A cell that a spreadsheet would run as a formula is written with an apostrophe
in front, which reading takes off again.
"""

import csv
import re
from collections import Counter
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, field, fields, is_dataclass
from datetime import date, datetime
from enum import StrEnum
from functools import cache, partial
from itertools import islice
from pathlib import Path
from typing import IO, Any, Self

import msgspec

from kb.case import Attempt, Job, Reading, System, TroubleCode, Vehicle
from kb.errors import InvalidField, KbError, UnreadableFile
from kb.intake.cell_sense import read_beside
from kb.intake.codes import find_codes, parse_code
from kb.intake.distances import ODOMETER, parse_odometer
from kb.intake.files import LONGEST_LINE, Line, bounded_lines, encoding_of, load_toml, too_long
from kb.intake.forms import decoded, holds_list, is_path, job_to_record, kind_at, steps, unknown_key
from kb.intake.readings import parse_reading
from kb.intake.single_facts import parse_attempt
from kb.intake.systems import parse_system
from kb.intake.vehicle import parse_vehicle
from kb.patterns import compiled

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "'")
_FIRST_COLUMNS = ("number", "opened", "closed", "system", "complaint", "codes")
_TRUE, _FALSE = {"yes", "y", "true", "1"}, {"no", "n", "false", "0"}
_UNKNOWN = "unknown"
_DECIMAL_COMMA = compiled(r"(?<=\d),(?=\d)")
_POINTED_THOUSANDS = compiled(r"(?<![\d.,])[1-9]\d{0,2}(?:\.\d{3})+(?![\d.])")
_LETTER = compiled(r"[^\W\d_]")


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetMapping:
    """How a foreign CSV file is read.

    Attributes
    ----------
    columns : Mapping[str, str]
        Their column -> our field's path, such as ``attempts[0].component``. Columns that are
        not named are left out.
    constants : Mapping[str, object]
        Our field's path -> a value for every row. A constant inside a part of the job (a cause,
        an attempt) is only set where the row tells something else of that part.
    words : Mapping[str, Mapping[str, str]]
        Our field's path -> their word -> ours, case of theirs aside; a word for what is not
        known stands for nothing: ``""``, of yes or no also ``unknown``.
    delimiter : str
        What parts their cells.
    decimal : str
        Their decimal sign, ``.`` or ``,``; the other one parts thousands.
    dates : str, optional
        Their way of writing a day in the letters of `datetime.strptime`; ISO 8601 if left out.
    """

    columns: Mapping[str, str]
    constants: Mapping[str, object] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    delimiter: str = ","
    decimal: str = "."
    dates: str | None = None

    def __post_init__(self) -> None:
        for column, path in self.columns.items():
            if not path:
                cure = "names none of our fields; write one, such as complaint"
                raise InvalidField(f"columns.{column}", path, cure)
        for path in (*self.columns.values(), *self.constants, *self.words):
            if kind_at(path) is None:
                raise unknown_key(path, path, columns())
            if not is_path(path):
                cure = (
                    "leads to no one value; write a place behind each list: attempts[0].component"
                )
                raise InvalidField(path, path, cure)
        for path, value in self.constants.items():
            if isinstance(value, dict) and (holds_list(path) or not is_dataclass(kind_at(path))):
                raise InvalidField(path, value, "must be one value; write no names under it")
        if self.dates is not None and not _can_be_read(self.dates):
            raise InvalidField("dates", self.dates, "tells no day; write it as %d.%m.%Y")
        twice = [path for path, times in Counter(self.columns.values()).items() if times > 1]
        if twice:
            raise InvalidField("columns", twice[0], "is filled from two columns; choose one")
        if len(self.delimiter) != 1 or self.delimiter in '"\r\n':
            raise InvalidField("delimiter", self.delimiter, "must be one character, such as ;")
        if self.decimal not in (".", ","):
            raise InvalidField("decimal", self.decimal, "must be . or ,")


def column_of(path: str, mapping: SheetMapping) -> str | None:
    """Return the column of a sheet that holds a field, or the part of a job that it is of.

    Examples
    --------
    >>> column_of("attempts[0].minutes", SheetMapping(columns={"Time": "attempts[0].minutes"}))
    'Time'
    """
    while path:
        named = [name for name, target in mapping.columns.items() if target == path]
        if named:
            return named[0]
        path = path.rpartition(".")[0] or (path.rpartition("[")[0] if path.endswith("]") else "")
    return None


@cache
def columns() -> tuple[str, ...]:
    """Our own columns: every field of a job, a vehicle's and a cause's fields one by one."""
    names: list[str] = list(_FIRST_COLUMNS)
    for item in fields(Job):
        kind = kind_at(item.name)
        inner = is_dataclass(kind) and not holds_list(item.name)
        names += [f"{item.name}.{part.name}" for part in fields(kind)] if inner else [item.name]
    return tuple(dict.fromkeys(names))


def csv_row(job: Job, record: Mapping[str, object] | None = None) -> list[str]:
    """Cells of a job under `columns`, guarded against being run as formulas.

    Parameters
    ----------
    job : Job
    record : mapping, optional
        What is told of it, by default all (`job_to_record`).
    """
    record = {**(job_to_record(job) if record is None else record)}
    record["codes"] = ", ".join(f"{code} {code.status or ''}".rstrip() for code in job.codes)
    return [guarded(_cell(_at(record, path))) for path in columns()]


def read_mapping(path: Path) -> SheetMapping:
    """Read a mapping file (TOML), with the attributes of `SheetMapping` as its keys.

    Raises
    ------
    UnreadableFile
        If it is no TOML, or does not say what a mapping says.
    """
    document = load_toml(path)
    known = tuple(item.name for item in fields(SheetMapping))
    try:
        for key, value in document.items():
            if key not in known:
                raise unknown_key(key, value, known)
        _check_kinds(document)
        if "columns" not in document:
            raise UnreadableFile(f"{path}: lacks columns; under a line [columns], {_COLUMN}")
        return msgspec.convert(document, SheetMapping)
    except (InvalidField, msgspec.ValidationError) as error:
        raise UnreadableFile(f"{path}: {error}") from error


_COLUMN = 'write it as "Their column" = "our field", such as "Came in" = "opened"'
_WORD = 'write it as "their word" = "ours", such as "ja" = "yes"'


def _check_kinds(document: Mapping[str, Any]) -> None:
    """See that what a mapping says is of the kind that it must be, key by key.

    Raises
    ------
    InvalidField
        If one is not, with its value and how it is written.
    """
    for key in ("delimiter", "decimal", "dates"):
        if not isinstance(document.get(key, ""), str):
            raise InvalidField(key, document[key], f'is no text; write it in quotes: {key} = "..."')
    _check_table("columns", document.get("columns", {}), _COLUMN, str)
    _check_table("constants", document.get("constants", {}), '"our field" = a value', object)
    words = document.get("words", {})
    _check_table("words", words, f"a line [words.our_field], and under it {_WORD}", dict)
    for path, told in words.items():
        _check_table(f"words.{path}", told, _WORD, str)


def _check_table(key: str, value: object, cure: str, kind: type) -> None:
    """See that a value is a table of one kind of values."""
    if not isinstance(value, dict):
        raise InvalidField(key, value, f"is no table; write a line [{key}], and under it {cure}")
    for name, inner in value.items():
        if not isinstance(inner, kind):
            raise InvalidField(f"{key}.{name}", inner, f"is of the wrong kind; {cure}")


MOST_OPEN_QUOTES = 20
"""So many quotes that never close are read on after; each costs reading the rest once more."""


def read_csv(
    path: Path,
    mapping: SheetMapping | None = None,
    told: Callable[[int, str], object] = lambda line, said: None,  # noqa: ARG005
) -> Iterator[Line]:
    """Yield the rows of a CSV file as records; without a mapping the columns are our own.

    What a cell was read as that does not stand in it, and its words that nothing holds, are `told`
    with their line.

    Raises
    ------
    UnreadableFile
        If the file is no text, or its header lacks a column of the mapping or has an unknown one.
    """
    csv.field_size_limit(LONGEST_LINE)
    reading = mapping or SheetMapping(columns={name: name for name in columns()})
    encoding = encoding_of(path)
    start = 0
    for _ in range(MOST_OPEN_QUOTES):
        with path.open(encoding=encoding, newline="") as file:
            lines = _Lines(file)
            header = _header(path, csv.reader(lines, delimiter=reading.delimiter, strict=True))
            if mapping is None:
                _refuse_unknown(path, header)
            else:
                _refuse_missing(path, header, mapping)
            targets = [reading.columns.get(name) for name in header]
            lines.pass_over(start)
            start = yield from _rows(lines, targets, reading, told)
        if not start:
            return
    reason = "and all that follows were not read: too many quotes that never close; mend them"
    yield start + 1, InvalidField("row", None, reason)


class _Lines:
    """The lines of a file for the reader of its rows, which is given no more than a row may have.

    `number` is that of the last line that was read.
    """

    def __init__(self, file: IO[str]) -> None:
        self._lines, self.number, self._of_row = bounded_lines(file), 0, 0

    def __iter__(self) -> Self:
        return self

    def __next__(self) -> str:
        self.number, line, whole = next(self._lines)
        if not whole:
            raise too_long(line)
        self._of_row += len(line)
        if self._of_row > LONGEST_LINE + len(line):
            raise csv.Error("a row is too long")
        return line

    def begin_row(self) -> None:
        """Count what a row has from here."""
        self._of_row = 0

    def pass_over(self, last: int) -> None:
        """Read on behind a line."""
        for number, _, _ in islice(self._lines, max(last - self.number, 0)):
            self.number = number


def _rows(
    lines: _Lines,
    targets: Sequence[str | None],
    reading: SheetMapping,
    told: Callable[[int, str], object],
) -> Generator[Line, None, int]:
    """Yield the rows after so many lines; return the line whose quote swallows others, or 0."""
    rows = csv.reader(lines, delimiter=reading.delimiter, strict=True)
    line = lines.number + 1
    is_foreign = any(theirs != ours for theirs, ours in reading.columns.items())
    while True:
        lines.begin_row()
        try:
            cells = next(rows, None)
            if cells is None:
                return 0
            if cells:
                record = _record(cells, targets, reading)
                if is_foreign:
                    read_beside(record, reading.constants, partial(told, line))
                for said in _read_otherwise(cells, targets):
                    told(line, said)
                yield line, record
        except csv.Error as error:
            several = lines.number > line
            open_quote = "opens a quote that never closes" if several else f"is no CSV ({error})"
            yield line, InvalidField("row", None, f"{open_quote}; check its quotes")
            if several:
                return line
        except KbError as error:
            yield line, error
        line = lines.number + 1


def _read_otherwise(cells: Sequence[str], targets: Sequence[str | None]) -> Iterator[str]:
    """Say what the cells of a row were read as that does not stand in them, or is not kept."""
    for cell, path in zip(cells, targets, strict=True):
        kind = kind_at(path) if path and cell.strip() else None
        if kind is Vehicle:
            yield from map(str, parse_vehicle(cell.strip()).doubts)
        elif kind is TroubleCode and not cell.strip().startswith("["):
            found = find_codes(cell)
            yield from map(str, found.doubtful)
            if _LETTER.search(found.rest):
                yield f"“{found.rest}” beside its codes was left out"


def columns_left_out(path: Path, mapping: SheetMapping) -> tuple[str, ...]:
    """Columns of a CSV file that the mapping does not use."""
    with path.open(encoding=encoding_of(path), newline="") as file:
        lines = _Lines(file)
        header = _header(path, csv.reader(lines, delimiter=mapping.delimiter, strict=True))
    return tuple(name for name in header if name and name not in mapping.columns)


def _header(path: Path, rows: Iterator[list[str]]) -> list[str]:
    try:
        header = [name.strip() for name in next(rows, [])]
    except csv.Error as error:
        raise UnreadableFile(f"{path}: its first line is no CSV ({error}); check it") from error
    twice = [name for name, times in Counter(header).items() if name and times > 1]
    if not any(header) or twice:
        reason = f"names {twice[0]!r} twice" if twice else "is empty"
        raise UnreadableFile(f"{path}: its first line {reason}; it must name the columns")
    return header


def _refuse_unknown(path: Path, header: Sequence[str]) -> None:
    if len(header) == 1 and ";" in header[0]:
        cure = 'say delimiter = ";" and what the columns are with --mapping'
        raise UnreadableFile(f"{path}: parts its columns with ; instead of commas; {cure}")
    for name in header:
        if name not in columns():
            raise UnreadableFile(
                f"{path}: {unknown_key(name, name, columns())}; "
                "or say with --mapping what the file's columns are"
            )


def _refuse_missing(path: Path, header: Sequence[str], mapping: SheetMapping) -> None:
    missing = [name for name in mapping.columns if name not in header]
    if missing:
        raise UnreadableFile(
            f"{path}: has no column {missing[0]!r}, which the mapping names; it has "
            f"{', '.join(header)}. Mend the mapping's columns or its delimiter"
        )


def _record(
    cells: list[str], targets: Sequence[str | None], mapping: SheetMapping
) -> dict[str, Any]:
    if len(cells) != len(targets):
        cure = f"has {len(cells)} cells where the first line has {len(targets)}; check its commas"
        raise InvalidField("row", cells, cure)
    tree: dict[str | int, Any] = {}
    for cell, path in zip(cells, targets, strict=True):
        text = _translated(path, _unguarded(cell), mapping) if path else ""
        if path and text.strip():
            _put(tree, path, _value(path, text, mapping))
    for path, constant in mapping.constants.items():
        if _is_told_of(tree, path):
            _put(tree, path, constant)
    record: dict[str, Any] = _listed(tree)
    return record


def _translated(path: str, text: str, mapping: SheetMapping) -> str:
    """Put our word in place of theirs; nothing for what they do not know."""
    words = {theirs.casefold(): ours for theirs, ours in mapping.words.get(path, {}).items()}
    ours = words.get(text.strip().casefold())
    if ours is None:
        return text
    return "" if kind_at(path) is bool and ours.casefold() == _UNKNOWN else ours


def _value(path: str, text: str, mapping: SheetMapping) -> object:
    """Read a cell as what its field holds."""
    text = text.replace("\r\n", "\n")
    plain = text.strip()
    if holds_list(path):
        return _list(path, plain, mapping)
    kind = kind_at(path)
    if kind in _READERS:
        return _READERS[kind](path, plain, mapping)
    return plain.lower() if issubclass(kind, StrEnum) else text


def _list(path: str, text: str, mapping: SheetMapping) -> object:
    kind = kind_at(path)
    if text.startswith("["):
        return decoded(path, text)
    if kind is TroubleCode:
        return _codes(path, text)
    if kind is Reading:
        return [_reading(path, part, mapping) for part in _parts(text)]
    if kind is Attempt:
        return [_attempt(path, part) for part in _parts(text)]
    if kind is str:
        return _parts(text)
    raise InvalidField(path, text, "must be a JSON list, as kb export writes it")


def _attempt(path: str, text: str) -> Attempt:
    try:
        return parse_attempt(text)
    except InvalidField as refused:
        raise InvalidField(path, text, refused.cure) from refused


def _parts(text: str) -> list[str]:
    return [part.strip() for part in re.split("[;\n]", text) if part.strip()]


def _codes(path: str, text: str) -> tuple[TroubleCode, ...]:
    """Take every code of a cell; words beside them only say what the codes say."""
    with suppress(InvalidField):
        return tuple(parse_code(part) for part in text.split(","))
    found = find_codes(text)
    if found.refused:
        raise InvalidField(path, text, f"is unclear: {found.refused[0]}")
    if not found.codes:
        raise InvalidField(path, text, "holds no trouble code; write it as P0171")
    return found.codes


def _reading(path: str, text: str, mapping: SheetMapping) -> Reading:  # noqa: ARG001
    """Read a reading in the sign for decimals that the mapping names: ``1.200,5 mbar``."""
    if mapping.decimal == ",":
        plain = _POINTED_THOUSANDS.sub(lambda number: number[0].replace(".", ""), text)
        text = _DECIMAL_COMMA.sub(".", plain)
    return parse_reading(text)


def _vehicle(path: str, text: str, mapping: SheetMapping) -> dict[str, object]:  # noqa: ARG001
    vehicle = parse_vehicle(text).vehicle
    return {name: value for name, value in asdict(vehicle).items() if value is not None}


def _day(path: str, text: str, mapping: SheetMapping) -> date:
    form = mapping.dates
    try:
        return datetime.strptime(text, form).date() if form else date.fromisoformat(text)
    except ValueError:
        cure = f"is no day written as {form}" if form else "is no day; write it as 2026-03-02"
        raise InvalidField(path, text, cure) from None


def _can_be_read(form: str) -> bool:
    """Whether a day that is written in a way can be read back."""
    if len(form) > _LONGEST_FORM:
        return False
    with suppress(re.error, ValueError):
        return datetime.strptime(_A_DAY.strftime(form), form).date() == _A_DAY
    return False


_A_DAY = date(2026, 10, 31)
_LONGEST_FORM = 100
"""Characters of a way to write a day; what reads it takes the square of the time for more."""


def _truth(path: str, text: str, mapping: SheetMapping) -> bool:  # noqa: ARG001
    if text.casefold() in _TRUE | _FALSE:
        return text.casefold() in _TRUE
    raise InvalidField(path, text, "must be yes or no; or say in the mapping's words what it means")


def _whole(path: str, text: str, mapping: SheetMapping) -> int:
    if path.endswith(ODOMETER):
        with suppress(InvalidField):
            return parse_odometer(text).km
    number = _number(path, text, mapping)
    if not number.is_integer():
        raise InvalidField(path, text, "must be a whole number")
    return int(number)


def _number(path: str, text: str, mapping: SheetMapping) -> float:
    found = _number_pattern(mapping.decimal).fullmatch(text)
    if not found:
        cure = f"must be a number with the decimal sign {mapping.decimal!r}"
        raise InvalidField(path, text, cure)
    whole = re.sub("[^0-9+-]", "", found["whole"])
    return float(f"{whole}.{found['decimals'] or 0}{found['power'] or ''}")


@cache
def _number_pattern(decimal: str) -> re.Pattern[str]:
    """A number, its thousands perhaps parted; ``0,125`` and ``12,5`` are no parted thousands."""
    gap = f"[{'.' if decimal == ',' else ','} \u00a0\u202f']"
    return compiled(
        rf"(?P<whole>[+-]?(?:[0-9]+|[1-9][0-9]{{0,2}}(?:{gap}[0-9]{{3}})+))"
        rf"(?:{re.escape(decimal)}(?P<decimals>[0-9]+))?(?P<power>[eE][+-]?[0-9]+)?"
    )


_READERS: Mapping[Any, Callable[[str, str, SheetMapping], object]] = {
    System: lambda _path, text, _mapping: parse_system(text),
    Reading: _reading,
    Vehicle: _vehicle,
    date: _day,
    bool: _truth,
    int: _whole,
    float: _number,
}


def _put(tree: dict[str | int, Any], path: str, value: object) -> None:
    """Set the value at a path; lists are mappings from place to item until `_listed`."""
    *parents, last = steps(path)
    for step in parents:
        tree = tree.setdefault(step, {})
        if not isinstance(tree, dict):
            raise InvalidField(path, value, "is told beside the whole of its part; leave one out")
    known = tree.get(last)
    if isinstance(value, dict) and isinstance(known, dict):
        known.update(value)
    else:
        tree[last] = value


def _is_told_of(tree: Mapping[str | int, Any], path: str) -> bool:
    """Whether the part of the job that a constant belongs to has been told anything of."""
    *parents, _ = steps(path)
    inner: Any = tree
    for step in parents:
        inner = inner.get(step) if isinstance(inner, Mapping) else None
    return isinstance(inner, Mapping)


def _listed(tree: Any) -> Any:
    if not isinstance(tree, dict):
        return tree
    if any(isinstance(key, int) for key in tree):
        return [_listed(item) for _, item in sorted(tree.items())]
    return {key: _listed(item) for key, item in tree.items()}


def _at(record: Any, path: str) -> Any:
    for step in steps(path):
        record = record.get(step) if record else None
    return record


def _cell(value: object) -> str:
    """Write one value; a text of nothing but blanks is an empty cell, as it is read back."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return ""
    return msgspec.json.encode(value).decode() if isinstance(value, list) else str(value)


def guarded(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell.startswith(_FORMULA_STARTS) else cell


def _unguarded(cell: str) -> str:
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(_FORMULA_STARTS) else cell
