"""What past jobs and causes were about, and how far that is what a complaint is about.

Which subjects there are stands in the trade's table (`kb.intake.subjects`).
"""

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from kb.recall.hashing import Keys, keys
from kb.recall.spans import Lists, Places, look_up

Floats64 = NDArray[np.float64]


def post(told: Iterable[AbstractSet[str]]) -> Lists:
    """Return for each subject the rows that speak of it, given what every row speaks of.

    Examples
    --------
    >>> lists = post([{"horn"}, set(), {"horn", "keys"}])
    >>> rows_about("horn", lists).tolist(), rows_about("wipers", lists).tolist()
    ([0, 2], [])
    """
    pairs = [(row, name) for row, names in enumerate(told) for name in names]
    names, rows = keys(name for _, name in pairs), np.array([row for row, _ in pairs], np.int32)
    order = np.lexsort((rows, names))
    known, starts = np.unique(names[order], return_index=True)
    return Lists(known, np.append(starts, len(rows)).astype(np.int32), rows[order])


def rows_about(subject: str, lists: Lists) -> Places:
    """Return the rows that speak of a subject."""
    found, places = look_up(lists.keys, keys([subject]))
    if not found[0]:
        return lists.members[:0]
    place = int(places[0])
    return lists.members[lists.starts[place] : lists.starts[place + 1]]


def named_about(subjects: Iterable[str], lists: Lists, causes: Keys) -> set[int]:
    """Return the causes whose own words speak of any of some subjects; `causes` are of the rows."""
    return {cause for each in subjects for cause in causes[rows_about(each, lists)].tolist()}


class SubjectColumns(NamedTuple):
    """The rows of one segment by subject: its cases and its causes, and the cause of each.

    `in_question` tells which cases count; shapes (n_cases,), (n_cases,) and (n_causes,).
    """

    cases: Lists
    of_cases: Keys
    in_question: NDArray[np.bool_]
    causes: Lists
    of_causes: Keys


def at_home(
    subjects: Iterable[str],
    segments: Sequence[SubjectColumns],
    seen: Keys,
    times_seen: NDArray[np.int64],
) -> Floats64:
    """Return how far each cause seen is about the subjects of a complaint, 0 to 1, shape of `seen`.

    It is a mean over the subjects: 1 for one that the cause's own words speak of, else the share of
    its cases whose complaints do, one more case added that does not.
    """
    shares = []
    for subject in subjects:
        spoken = np.zeros(len(seen))
        for each in segments:
            rows = rows_about(subject, each.cases)
            _, places = look_up(seen, each.of_cases[rows[each.in_question[rows]]])
            np.add.at(spoken, places, 1)
        share = spoken / (times_seen + 1)
        for each in segments:
            named = each.of_causes[rows_about(subject, each.causes)]
            found, places = look_up(seen, named)
            share[places[found]] = 1
        shares.append(share)
    return np.mean(shares, axis=0) if shares else np.zeros(len(seen))
