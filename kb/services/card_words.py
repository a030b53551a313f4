"""The words of an old card around what was done on it: what is dangerous there is no repair.

What was done is read together with how; a card of which that may not be shown proposes nothing, and
nobody confirms what is named as dangerous on it by a key.
"""

from collections.abc import Iterator
from dataclasses import replace

from kb.cards.work import CardRead, Fix, WorkRead
from kb.case import Job
from kb.intake.wording import Wording
from kb.safety.hidden_fault import hiding_on
from kb.safety.igniter_clauses import sentences_of
from kb.safety.igniter_steps import Danger
from kb.safety.job_words import JobWords


def marked(read: CardRead, job: Job, wording: Wording) -> CardRead:
    """Return a card as it was read, with a mark on the work of which the words are not shown."""
    if not read.works:
        return read
    fit = JobWords.of(job, wording)
    works = (replace(each, withheld=_is_withheld(job, each, fit)) for each in read.works)
    return replace(read, works=tuple(works))


def dangers_of_work(job: Job, read: CardRead, fix: Fix, wording: Wording) -> list[Danger]:
    """Name what a card tells as dangerous of a fix that was read on it, or hides its fault."""
    fit = JobWords.of(job, wording)
    if not fit.igniter_job:
        return []
    works = [each for each in read.works if each.fix == fix]
    around = [" ".join(each.split()) for work in works for each in _around(job, work)]
    told = (each for each in fit.dangers if any(_is_of(each, text) for text in around))
    return list(dict.fromkeys([*told, *(hiding_on(job) if works else ())]))


def _is_of(danger: Danger, sentence: str) -> bool:
    return bool(danger.told) and (danger.told in sentence or sentence in danger.told)


def _is_withheld(job: Job, work: WorkRead, fit: JobWords) -> bool:
    fixes = [each for each in job.attempts if each.fix == work.fix]
    if (fit.igniter_job and fit.hides_fault) or not all(map(fit.advises, fixes)):
        return True
    return any(fit.shown(each) != each for each in _around(job, work))


def _around(job: Job, work: WorkRead) -> Iterator[str]:
    """Yield the sentences of a card that a work was read from."""
    texts = (job.notes, job.complaint_as_typed, job.complaint)
    text = next((each for each in texts if each and work.words in each), work.words)
    begin = text.find(work.words)
    end = 0
    for sentence in sentences_of(text):
        start, end = end, end + len(sentence)
        if start < begin + len(work.words) and begin < end:
            yield sentence.strip()
