"""What a trouble code says by its structure, and what it turned out to be in this shop."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from kb.case import Job, System, TroubleCode
from kb.diagnosis.code_history import CodeHistory, code_history
from kb.errors import InvalidField
from kb.intake.code_areas import Origin, area_of
from kb.intake.codes import CodeFacts, CodesFound, facts, find_codes, parse_code
from kb.intake.wording import Wording
from kb.safety.hazards import Situation, cautions_of
from kb.services.indexing import shop_wording
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeSheet:
    """One code: its structure, and its history in this shop.

    `other_types` are the failure types that the shop read it with, where a failure type was asked
    for that it never had; with the number of jobs. `relatives` are other codes of the same family
    that it had, where it never had this one.
    """

    code: TroubleCode
    facts: CodeFacts
    history: CodeHistory
    other_types: tuple[tuple[str, int], ...] = ()
    relatives: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CodesAnswer:
    """Codes in the order they were typed, under the cautions of what they turned out to be.

    `together` is the history of the jobs that had all of them; None for a single code.
    """

    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    codes: tuple[CodeSheet, ...]
    together: CodeHistory | None


def explain_codes(address: str, text: str) -> CodesAnswer:
    """Tell what trouble codes mean by the standard's structure and by the shop's jobs.

    As ``P0171``, ``po171/p0174``, ``P0301 to P0304``, ``b1234 13``.
    """
    found = _find(text)
    asked = found.codes
    with UnitOfWork(open_store(address), read_only=True) as work:
        jobs = {code: work.jobs.select(code=replace(code, failure_type=None)) for code in asked}
        related = {code: work.jobs.codes_like(code.family) for code in asked if not jobs[code]}
        wording = shop_wording(work)
    sheets = tuple(_sheet(code, jobs[code], related.get(code, ())) for code in asked)
    together = jobs[asked[0]] if len(asked) > 1 else []
    return CodesAnswer(
        cautions=_cautions(asked, [job for each in jobs.values() for job in each], wording),
        notices=(*map(str, found.doubtful), *_notices(found, sheets)),
        codes=sheets,
        together=code_history(asked, together) if together else None,
    )


def _sheet(
    code: TroubleCode, jobs: Sequence[Job], relatives: Sequence[tuple[str, int]]
) -> CodeSheet:
    history = code_history([code], jobs)
    other = () if history.jobs else code_history([replace(code, failure_type=None)], jobs)
    return CodeSheet(
        code=code,
        facts=facts(code),
        history=history,
        other_types=other.failure_types if other else (),
        relatives=tuple(relatives),
    )


def _find(text: str) -> CodesFound:
    """Read the one code that was typed, or lift out several; an error says how to write one."""
    with suppress(InvalidField):
        return CodesFound((parse_code(text),), "")
    found = find_codes(text)
    if found.codes:
        return found
    if found.doubtful:
        raise InvalidField("code", found.doubtful[0].text, found.doubtful[0].why)
    return CodesFound((parse_code(text),), "")


def _cautions(
    codes: Sequence[TroubleCode], jobs: Sequence[Job], wording: Wording
) -> tuple[str, ...]:
    """Cautions for the codes' areas and jobs; a strange body code may be anything of the body's."""
    areas = (area_of(code.code) for code in codes)
    systems = [area.system for area in areas if area and area.system]
    systems += [job.system for job in jobs if job.system]
    if not systems and any(code.system_letter == "B" for code in codes):
        systems = [System.BODY_ELECTRICS]
    causes = Situation.of_causes((job.cause for job in jobs if job.cause), systems)
    return cautions_of(Situation(codes=tuple(codes)) | causes, wording)


def _notices(found: CodesFound, sheets: Iterable[CodeSheet]) -> Iterable[str]:
    if found.rest and found.rest not in {doubt.text for doubt in found.doubtful}:
        yield f"“{found.rest}” is no code and is left out."
    for sheet in sheets:
        if sheet.facts.origin is Origin.RESERVED:
            yield f"{sheet.code}: the standard has no such codes yet; look for a slip."
