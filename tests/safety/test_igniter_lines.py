"""Lines as technicians type them: what is allowed is shown, and its dangerous like is not."""

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.safety.igniter import Shown, judged
from kb.safety.igniter_steps import dangerous_step

LINES = tomllib.loads(Path(__file__).with_name("igniter_lines.toml").read_text(encoding="utf-8"))
KINDS = sorted(LINES["harmless"])


def _told(kind: str, of: str) -> st.SearchStrategy[str]:
    return st.sampled_from(LINES[of][kind]["lines"]).flatmap(_filled)


def _filled(line: str) -> st.SearchStrategy[str]:
    gaps = re.findall(r"\{(\w+)\}", line)
    words = (st.sampled_from(LINES["words"][gap]) for gap in gaps)
    return st.tuples(*words).map(lambda chosen: re.sub(r"\{\w+\}", "{}", line).format(*chosen))


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
@settings(deadline=None)
def test_what_is_allowed_is_shown(kind: str, data: st.DataObject) -> None:
    text = data.draw(_told(kind, "harmless"))
    assert isinstance(judged(text, igniter_job=True), Shown)
    assert dangerous_step(text, igniter_job=True) is None


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
@settings(deadline=None)
def test_its_dangerous_like_is_not(kind: str, data: st.DataObject) -> None:
    text = data.draw(_told(kind, "dangerous"))
    assert not isinstance(judged(text, igniter_job=True), Shown)
