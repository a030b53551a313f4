"""Causes that a complaint names: the words of a cause itself, found in what was said.

A technician who writes "seat connector green" names a part. No past complaint need have said so,
if a past cause did. The words of a cause are its component and where that sits; they are weighed
as the words of complaints are.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from kb.case import Cause
from kb.intake.subjects import subjects_of
from kb.intake.wording import Wording
from kb.recall.hashing import Keys
from kb.recall.spans import Floats, look_up
from kb.recall.text_signal import Postings, TextModel, post

_WHERE = ("at ", "under ", "behind ", "on ", "in ", "inside ", "above ", "over ")


@dataclass(frozen=True, slots=True)
class Names:
    """The words of causes, one row a cause; `causes` are their keys, ascending, shape (n,)."""

    causes: Keys
    words: Postings


class NamedCause(NamedTuple):
    """A cause that a complaint names, how much like its words the complaint is, and a job.

    `likeness` is a cosine, 0 to 1; `job` is the newest job that had the cause.
    """

    cause: int
    likeness: float
    job: int


def text_of(cause: Cause) -> str:
    """Return the words of a cause as they were typed: its component's and its location's."""
    return "\n".join(filter(None, (cause.component, cause.location)))


def subjects_of_cause(cause: Cause, wording: Wording) -> frozenset[str]:
    """Return the subjects that a cause's words speak of.

    A place that begins with a preposition tells where a component is, not what it is part of: it
    speaks of something only where the component does not.

    Examples
    --------
    >>> from kb.case import FailureMode
    >>> worn, words = FailureMode.WORN, Wording.default()
    >>> harness = Cause(component="wheel speed sensor", location="at strut", failure_mode=worn)
    >>> sorted(subjects_of_cause(harness, words))
    ['wheel speed']
    >>> bulb = Cause(component="bulb", location="headlamp", failure_mode=worn)
    >>> sorted(subjects_of_cause(bulb, words))
    ['bulbs', 'front lamps']
    """
    if (cause.location or "").startswith(_WHERE):
        return subjects_of(cause.component, wording) or subjects_of(cause.location or "", wording)
    return subjects_of(text_of(cause), wording)


def words_of(cause: Cause, wording: Wording) -> list[str]:
    """Return the words of a cause: its component's and its location's."""
    return wording.tokens(text_of(cause))


def build(causes: Mapping[int, Cause], wording: Wording, model: TextModel) -> Names:
    """Lay out the words of causes, given by key."""
    ordered = sorted(causes)
    return Names(
        causes=np.array(ordered, dtype=np.uint64),
        words=post([words_of(causes[key], wording) for key in ordered], model),
    )


def heard(query: tuple[Keys, Floats], names: Sequence[Names]) -> tuple[Keys, Floats]:
    """Return the causes with whose words a text shares any, and how much like them it is.

    `query` is a vector from `TextModel.weigh`; the likenesses are cosines, above 0. Both have shape
    (n,); a cause that stands in several `names` is there as often.
    """
    cosines = [np.nan_to_num(each.words.cosines(*query)) for each in names]
    rows = [np.flatnonzero(each) for each in cosines]
    return (
        np.concatenate([each.causes[at] for each, at in zip(names, rows, strict=True)]),
        np.concatenate([each[at] for each, at in zip(cosines, rows, strict=True)]),
    )


def alike_causes(cause: int, names: Sequence[Names]) -> dict[int, float]:
    """Return how much like the words of each cause those of one cause are, as `heard` does."""
    for each in names:
        for row in np.flatnonzero(each.causes == np.uint64(cause)):
            causes, cosines = heard(each.words.row(int(row)), names)
            return dict(zip(causes.tolist(), cosines.tolist(), strict=True))
    return {}


def naming_share(query: tuple[Keys, Floats], names: Sequence[Names], causes: Keys) -> float:
    """Return the share of a text, by squared weights, that names any of some causes, 0 to 1.

    `causes` are keys, ascending.
    """
    terms, weights = query
    heard = np.zeros(len(terms), dtype=np.bool_)
    for each in names:
        heard |= each.words.holds(terms, look_up(causes, each.causes)[0])
    whole = float(weights @ weights)
    return float(weights[heard] @ weights[heard]) / whole if whole else 0.0
