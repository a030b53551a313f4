"""What is printed to be typed: names others gave, in words that a shell takes as one."""

import json
import pickle
import re
import shlex
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from kb.cli.main import kb
from kb.errors import InvalidField, for_shell

NAMES = (
    "horn $(touch pwn)",
    "`touch pwn`",
    'horn =hyperlink("http://x","y")',
    "horn'; touch pwn; '",
    'horn"; touch pwn; "',
    "horn\\",
    "horn & touch pwn",
    "horn !!",
    "-horn $HOME",
    "K031",
    "seat plug",
    "Lüfter, hinten",
)


@given(st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=30))
def test_a_word_for_the_shell_is_one_word_and_the_same(text: str) -> None:
    assert shlex.split(f"kb {for_shell(text)} x") == ["kb", text, "x"]


@pytest.mark.parametrize("name", NAMES)
def test_a_shell_obeys_nothing_in_it(name: str, tmp_path: Path) -> None:
    line = f"printf %s {for_shell(name)}"
    if name[0] == "-":
        line = f"printf %s -- {for_shell(name)}"
    done = subprocess.run(["bash", "-c", line], cwd=tmp_path, capture_output=True, check=False)
    assert (done.stdout.decode().removeprefix("--"), [*tmp_path.iterdir()]) == (name, [])


@pytest.mark.parametrize("name", [each for each in NAMES if "pwn" in each or '"' in each])
def test_commands_that_pages_print_run_nobody_elses_words(
    empty_store: str, tmp_path: Path, name: str
) -> None:
    """Whatever of the page stands behind ``kb`` is given to a shell, with ``kb`` as no command."""
    jobs = [
        {
            "opened": "2026-01-05",
            "complaint": "horn dead",
            "closed": "2026-01-07",
            "vehicle": {"ref": name[:20], "make": "Corvane", "model": "Lido"},
            "cause": {"component": component, "failure_mode": "open", "location": "front"},
        }
        for component in (name, f"{name} two", "horn two", f"{name}s")
    ]
    (given := tmp_path / "jobs.jsonl").write_text("\n".join(map(json.dumps, jobs)))

    def told(*words: str) -> str:
        return CliRunner().invoke(kb, ["--store", empty_store, *words]).output

    told("import", str(given))
    pages = [
        told("fixes", "front"),
        told("causes", "zebra two"),
        told("causes", f"{name} two"),
        told("names", "propose"),
        told("job", "edit", "1", "--set", "vehicle.ref=", "--yes"),
        told("job", "add", name),
        told("job", "edit", name),
        told("job", "follow-up", "1", name, "another fault"),
        told("demo", "copy", str(tmp_path / f"{name.replace('/', '')}.sqlite")),
    ]
    here = tmp_path / "here"
    here.mkdir()
    lines = [each for page in pages for each in re.findall(r"\bkb [a-z-]+ .*", page)]
    assert lines
    for line in lines:
        script = f"kb() {{ :; }}\n{line}"
        subprocess.run(["bash", "-c", script], cwd=here, capture_output=True, check=False)
    assert not list(here.iterdir())


def test_an_error_says_the_same_in_another_process() -> None:
    error = InvalidField("readings[0].value", [1, "x"], "must be a number")
    there = pickle.loads(pickle.dumps(error))
    assert (str(there), there.field, there.value, there.cure) == (
        str(error),
        "readings[0].value",
        [1, "x"],
        "must be a number",
    )
