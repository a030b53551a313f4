"""Results as JSON: read back as they were, and harmless on a terminal."""

import json

from hypothesis import given
from hypothesis import strategies as st

from kb.reports.json import MISLEADING, to_json


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_is_read_back_and_none_of_its_signs_is_obeyed(text: str) -> None:
    told = to_json({"text": text})
    assert json.loads(told)["text"] == text
    assert not ({*range(0x20)} - {0x0A}) & {ord(sign) for sign in told}
    assert not {*MISLEADING} & {ord(sign) for sign in told}


def test_where_no_rate_is_told_what_it_would_be_drawn_from_is_not_either() -> None:
    belief = {"a": 1.5, "b": 0.5}
    rates = [{"rate": None, "belief": belief}, {"rate": 0.75, "belief": belief}]
    told = json.loads(to_json({"fixes": [{"horizons": rates}]}))
    assert [each["belief"] for each in told["fixes"][0]["horizons"]] == [None, belief]
