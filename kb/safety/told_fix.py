"""How the words of a job tell a fix that has none of its own.

A fix that is confirmed from an old card, or told as a part of a form, has no words: the card has
them. What they tell of how it was done is told of it as well. All of it is common practice, no
source.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from kb.case import Action, even
from kb.intake.findings import find_work
from kb.safety.hidden_fault import hides_in
from kb.safety.igniter_steps import dangerous_step


def dangerously_told(told: Iterable[str], action: Action, component: str) -> str | None:
    """Return the words of a job that concerns an igniter which tell a fix done dangerously.

    What only may be dangerous is no such words.

    Parameters
    ----------
    told : iterable of str
        Everything that was typed on the job.
    action, component
        The fix; a part that shares a word with it is taken to be it.

    Examples
    --------
    >>> told = ["swapped pretensioner, key on all the time, ok now"]
    >>> dangerously_told(told, Action.REPLACED, "pretensioner")
    'swapped pretensioner, key on all the time, ok now'
    >>> dangerously_told(told, Action.REPLACED, "seat connector")
    """
    named = set(even(component).split())
    every = (work for text in told for work in _works_in(text))
    same = (words for done, part, words in every if done is action and named & set(part.split()))
    return next(filter(_is_dangerous, same), None)


@lru_cache(maxsize=20_000)
def _works_in(text: str) -> Sequence[tuple[Action, str, str]]:
    return tuple(_parted(text))


def _parted(text: str) -> Iterator[tuple[Action, str, str]]:
    for action, component, place in find_work(text):
        yield action, even(component), text[slice(*place)]


@lru_cache(maxsize=20_000)
def _is_dangerous(words: str) -> bool:
    step = dangerous_step(words, igniter_job=True)
    return (step is not None and step.certain) or hides_in(words)
