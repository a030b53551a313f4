"""Why a past job was recalled, in facts a person can check: what the two have in common."""

from dataclasses import dataclass

from kb.bands.measured import kind_of
from kb.case import Complaint, Job, same_text
from kb.intake.wording import Wording
from kb.recall.hashing import keys
from kb.recall.index import spoken
from kb.recall.text import TextModel


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """What a complaint and a past job share.

    Attributes
    ----------
    words : tuple of str
        Words in both, the most telling first.
    codes : tuple of str
        Codes in both, then families in both as ``P03..``.
    readings : tuple of tuple of str
        Item measured on both sides, as typed now, as typed then.
    vehicle : tuple of str
        Facts of the vehicle that are the same.
    """

    words: tuple[str, ...]
    codes: tuple[str, ...]
    readings: tuple[tuple[str, str, str], ...]
    vehicle: tuple[str, ...]


def why(
    complaint: Complaint, job: Job, model: TextModel, wording: Wording, *, most_words: int = 6
) -> Why:
    """Name what a complaint and a past job have in common."""
    return Why(
        words=_words(complaint, job, model, wording)[:most_words],
        codes=_codes(complaint, job),
        readings=_readings(complaint, job, wording),
        vehicle=_vehicle(complaint, job),
    )


def _words(complaint: Complaint, job: Job, model: TextModel, wording: Wording) -> tuple[str, ...]:
    asked = wording.tokens(spoken(complaint))
    asked = [*asked, *model.read_as(asked).values()]
    theirs = set(wording.tokens(spoken(Complaint.of(job))))
    shared = [word for word in dict.fromkeys(asked) if word in theirs]
    telling = model.idf_of(keys(f"w {word}" for word in shared))
    order = sorted(range(len(shared)), key=lambda place: -telling[place])
    return tuple(shared[place] for place in order)


def _codes(complaint: Complaint, job: Job) -> tuple[str, ...]:
    asked = {code.code for code in complaint.codes}
    theirs = {code.code for code in job.codes}
    same = asked & theirs
    families = {code[:3] for code in asked - same} & {code[:3] for code in theirs - same}
    return (*sorted(same), *(f"{family}.." for family in sorted(families)))


def _readings(complaint: Complaint, job: Job, wording: Wording) -> tuple[tuple[str, str, str], ...]:
    pairs = (
        (now, then)
        for now in complaint.readings
        for then in Complaint.of(job).readings
        if kind_of(now, wording) == kind_of(then, wording)
    )
    return tuple((now.item, now.typed, then.typed) for now, then in pairs)


def _vehicle(complaint: Complaint, job: Job) -> tuple[str, ...]:
    one, other = complaint.vehicle, job.vehicle
    same = [
        name
        for name in ("make", "model", "engine")
        if same_text(getattr(one, name), getattr(other, name))
    ]
    if one.year is not None and one.year == other.year:
        same.append("year")
    return tuple(same)
