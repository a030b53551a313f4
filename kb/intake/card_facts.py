"""Codes and readings that stand in an old card's words only, and are recorded nowhere on it."""

from kb.case import Job, Reading, Stage, TroubleCode
from kb.intake.codes import find_codes
from kb.intake.reading_search import find_readings
from kb.intake.usual_units import names_measure
from kb.intake.wording import Wording
from kb.patterns import compiled

_MAYBE_CODE = compiled(r"(?i)[pcbu][ -]?[0-9a-f]{4}")
"""Without this in a text it is not worth looking for codes."""


def codes_in_words(job: Job) -> tuple[TroubleCode, ...]:
    """Return the codes that a job tells in its complaint or notes, and records nowhere.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="P0171, idles high")
    >>> [str(code) for code in codes_in_words(job)]
    ['P0171']
    """
    words = "\n".join(filter(None, (job.complaint, job.notes)))
    if not _MAYBE_CODE.search(words):
        return ()
    known = {code.code for code in job.codes}
    return tuple(code for code in find_codes(words).codes if code.code not in known)


def readings_in_words(job: Job, wording: Wording) -> tuple[Reading, ...]:
    """Return the first reading of each item and stage in a job's notes.

    What is measured again without a word of when was measured after something was done, and is left
    out, and so is what is not known to be measured so: a thickness, said of a part, tells little.
    Where readings are recorded, the notes tell of those, and none is returned.

    Examples
    --------
    >>> from datetime import date
    >>> from kb.case import Vehicle
    >>> from kb.intake.items import trade_wording
    >>> notes = "fuel pressure 1.1 bar. replaced fuel pump. fuel pressure 3.5 bar"
    >>> job = Job(vehicle=Vehicle(), opened=date(2026, 3, 2), complaint="no start", notes=notes)
    >>> [(each.place, each.typed) for each in readings_in_words(job, trade_wording())]
    [('fuel pressure', '1.1 bar')]
    """
    if job.readings or not job.notes:
        return ()
    codes = find_codes(job.notes)
    found = find_readings(job.notes, wording, taken=codes.lifted)
    first: dict[tuple[str, str, Stage], Reading] = {}
    for each in found.readings:
        if not names_measure(each.item, each.quantity, wording):
            continue
        first.setdefault((each.place, each.quantity, each.stage), each)
    return tuple(first.values())
