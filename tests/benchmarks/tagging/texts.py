"""Confirmed texts for the tests of this room: invented, short, and drawn at random."""

from hypothesis import strategies as st

from tests.benchmarks.tagging.named import ConfirmedText, NamedRun, candidates

KINDS = ("part", "work", "state")
_WORDS = st.sampled_from(["Clean", "air", "filter", "12", "V", "leaking", "hose", "plug", "ö", "-"])


@st.composite
def confirmed_texts(draw: st.DrawFn) -> ConfirmedText:
    """Draw a text of up to six words and some of its runs."""
    words = tuple(draw(st.lists(_WORDS, max_size=6)))
    places = list(candidates(words))
    chosen = draw(st.lists(st.sampled_from(places), unique=True)) if places else []
    return ConfirmedText(words, tuple(NamedRun(*at, draw(st.sampled_from(KINDS))) for at in chosen))


def written(text: str) -> ConfirmedText:
    """Read a text like ``clean/work air_filter/part``: what has a bar behind it is named."""
    words: list[str] = []
    runs = []
    for run in text.split():
        names, _, kind = run.partition("/")
        start = len(words)
        words += names.split("_")
        if kind:
            runs.append(NamedRun(start, len(words), kind))
    return ConfirmedText(tuple(words), tuple(runs))
