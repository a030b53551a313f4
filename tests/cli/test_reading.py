"""`kb reading` at the terminal."""

import json
import subprocess
import sys

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.cli.main import kb
from tests.cli.test_query_imports import FORBIDDEN

SCRIPT = """
import sys
from kb.cli.main import kb
kb(["--store", sys.argv[1], "reading", "RF pretensioner 6.1 ohm"], standalone_mode=False)
print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
"""


def judged(address: str, *words: str) -> Result:
    return CliRunner().invoke(kb, ["--store", address, "reading", *words])


def test_cautions_first_and_80_columns(demo_store: str) -> None:
    result = judged(demo_store, "RF", "pretensioner", "6.1", "ohm", "--vehicle", "corvane lido")
    assert result.exit_code == 0
    assert result.output.startswith("CAUTION")
    assert max(map(len, result.output.splitlines())) <= 80
    assert "BAD, TOO HIGH" in result.output


def test_where_the_trade_has_no_figure_it_tells_when_there_is_one(demo_store: str) -> None:
    result = judged(demo_store, "quiescent current 600 mA 2 minutes after locking")
    assert "CANNOT TELL" in result.output
    assert "measure after it has gone" in result.output


def test_json_holds_the_verdict(demo_store: str) -> None:
    asked = ("RF pretensioner 6.1 ohm", "--vehicle", "lido", "--json")
    answer = json.loads(judged(demo_store, *asked).output)
    assert answer["verdict"]["finding"] == "bad, too high"
    assert answer["verdict"]["said"][-1]["band"]["jobs"]
    assert answer["cautions"]


@pytest.mark.parametrize(
    "words",
    [
        ("battery 12,1 V",),
        ("charging 14.2V @ 2000 rpm",),
        ("driver airbag OL",),
        ("volt drop 0.35V on earth strap",),
        ("parasitic drain 180mA",),
        ("insulation >550 Mohm",),
        ("LF pretensioner 2.0-2.4 ohm",),
        ("cyl 3 compression 9.1 bar",),
        ("N/S/F wheel speed sensor 1K1",),
        ("pad 2.1 mm",),
    ],
)
def test_what_is_typed_at_speed_is_judged(demo_store: str, words: tuple[str, ...]) -> None:
    result = judged(demo_store, *words, "-v", "lido 16")
    assert result.exit_code == 0
    told = "Where 95% of this shop's good readings lie", "CANNOT TELL: it depends on the state"
    assert any(each in result.output for each in told)


@pytest.mark.parametrize("words", [("12.6",), ("battery",), ("a 2 V b 3 V",), ()])
def test_what_is_not_understood_is_one_line(demo_store: str, words: tuple[str, ...]) -> None:
    result = judged(demo_store, *words)
    assert result.exit_code in {1, 2}
    assert "Error: " in result.output


@settings(max_examples=25)
@given(st.text(max_size=20))
def test_whatever_is_typed_no_traceback(small_store: str, text: str) -> None:
    for typed in (text, f"{text} 2.2 ohm"):
        result = judged(small_store, "--", typed)
        assert result.exception is None or isinstance(result.exception, SystemExit)


def test_no_heavy_library_is_imported(demo_store: str) -> None:
    command = [sys.executable, "-c", SCRIPT, demo_store]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    modules = done.stdout.splitlines()[-1].split()[1:]
    assert "numpy" in modules
    assert [name for name in FORBIDDEN if name in modules] == []
