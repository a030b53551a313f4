"""What became of an import, an export and the shop's words, at 80 columns."""

import io

from rich.console import Console, RenderableType

from kb.reports.exchange import render_export, render_import, render_words
from kb.services.exchange import ExportResult, ImportResult
from kb.services.import_tally import Reject
from kb.services.words import Shorthand


def _text(page: RenderableType) -> str:
    console = Console(file=io.StringIO(), width=80, markup=False)
    console.print(page)
    return console.file.getvalue()  # type: ignore[attr-defined, no-any-return]


def _result(**content: object) -> ImportResult:
    blank: dict[str, object] = {
        "path": "jobs.jsonl",
        "dry_run": False,
        "added": 0,
        "already_there": 0,
        "renumbered": (),
        "rejects": (),
        "rejects_file": None,
        "notices": (),
    }
    return ImportResult(**{**blank, **content})  # type: ignore[arg-type]


def test_a_plain_import_is_one_line() -> None:
    assert _text(render_import(_result(added=1200))).split() == ["added", "1,200", "jobs"]


def test_everything_that_happened_is_told() -> None:
    rejects = tuple(
        Reject(line=line, field="vehicle.year", value=1066, reason="must lie in 1900 to 2100")
        for line in range(1, 14)
    )
    text = _text(
        render_import(
            _result(
                dry_run=True,
                added=1,
                already_there=2,
                renumbered=((1, 4),),
                rejects=rejects,
                notices=("Look at line 3.",),
                told_again=((5, 4),),
                alike=((7, 2), (8, 2)),
                never_recalled=tuple(range(20, 31)),
            )
        )
    )
    for part in (
        "1 job (dry run: not kept)",
        "already there  2 jobs",
        "1 job: 1 → 4",
        "told again     1 row of a job that is kept once (line 5 as 4)",
        "alike          2 rows kept as jobs of their own",
        "(line 7 as 2, line 8 as 2)",
        "not recalled   11 jobs with a cause, but no closing day",
        "28, 29, ...)",
        "refused        13 jobs",
        "Note: Look at line 3.",
        "line 10  vehicle.year: “1066” must lie in 1900 to 2100",
        "and 3 more",
    ):
        assert part in text
    assert "line 11" not in text


def test_where_rejects_are_is_told_and_long_values_are_cut() -> None:
    reject = Reject(line=2, field="line", value="x" * 500, reason="is no JSON")
    text = _text(render_import(_result(rejects=(reject,), rejects_file="jobs.jsonl.rejects.jsonl")))
    assert "written to jobs.jsonl.rejects.jsonl" in text
    assert "x…” is no JSON" in text
    assert "x" * 41 not in text


def test_export_and_words() -> None:
    assert _text(render_export(ExportResult(path="jobs.csv", jobs=1))) == (
        "1 job written to jobs.csv\n"
    )
    words = [
        Shorthand(short="cond", meanings=("condenser", "condition"), is_own=False),
        Shorthand(short="mulch", meanings=("air filter",), is_own=True),
    ]
    assert [line.rstrip() for line in _text(render_words(words)).splitlines()] == [
        "cond   condenser | condition",
        "mulch  air filter",
    ]
    assert "no words of its own" in _text(render_words([]))
