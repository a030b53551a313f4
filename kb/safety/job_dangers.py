"""What of a job is dangerous: named where it is typed, asked about, and refused as a name."""

from kb.case import Job
from kb.errors import Dangerous
from kb.intake.wording import Wording
from kb.safety.hidden_fault import told_on
from kb.safety.igniter_steps import Danger, dangerous_step, hidden_by, tells_work
from kb.safety.job_steps import StepWords, steps_named
from kb.safety.left_in import is_out_told, stands_told

DONE_HERE = (
    "A dangerous step was in fact done on this car and must not be repeated: make sure that "
    "nothing of it is left on the car. It is no proof and no fix."
)
MAY_BE_IN = (
    "Something was put in an igniter's place on this car, and nothing tells that it came out "
    "again: with it in the lamp is off whatever else was done. Tell it: kb job add {} "
    '"known load taken out again".'
)


def dangers_of(job: Job, base: Job | None = None, wording: Wording | None = None) -> list[Danger]:
    """Name the dangerous steps among what a job has beyond what it had before.

    A value without a word of how it was taken is no step, and is not named.
    """
    return steps_named(job, base, StepWords.of_steps(job, wording))


def may_be_in(job: Job, *more: str | None) -> bool:
    """Whether a stand-in was put in an igniter's place and nothing tells that it came out again.

    Parameters
    ----------
    job : Job
    more : str or None
        What is told beside what is on the job.
    """
    told = [*told_on(job), *filter(None, more)]
    stands = any(map(stands_told, told)) and StepWords.of_steps(job).igniter_job
    return stands and not is_out_told(told)


def was_done(job: Job, wording: Wording | None = None) -> bool:
    """Whether a job tells a step that is plainly dangerous."""
    return any(each.certain for each in dangers_of(job, wording=wording))


def refuse_dangerous(field: str, *texts: str, igniter_job: bool = False) -> None:
    """Refuse a list's entry that tells a dangerous step: a name never has to.

    It is judged as on a job that concerns an igniter where one says it.

    Raises
    ------
    Dangerous
    """
    for text in texts:
        if danger := dangerous_step(text, igniter_job=igniter_job, alike=tells_work(text)):
            raise Dangerous(f"{field}: {danger_line(danger)} It is no name; nothing was stored.")


def refuse_hiding(short: str, *meanings: str) -> None:
    """Refuse a shorthand by which a tool or an igniter would be read as something else.

    Raises
    ------
    Dangerous
    """
    if hidden := hidden_by(short, meanings):
        raise Dangerous(
            f"word: “{hidden}” names an igniter, or a way of putting a meter, lamp or voltage on "
            f"one, and must be read as that; nothing was stored. Give what you mean a word of its "
            "own."
        )


def danger_line(danger: Danger) -> str:
    """Return in two sentences what is dangerous, why, and what to do instead."""
    return f"“{_short(danger.told)}” is dangerous: {danger.reason}. {danger.instead}"


def _short(text: str) -> str:
    return text if len(text) <= _MOST_QUOTED else f"{text[: _MOST_QUOTED - 1]}…"


_MOST_QUOTED = 100
"""So many letters of a dangerous sentence are quoted."""
