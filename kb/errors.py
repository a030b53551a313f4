"""What a user can be told: one base class for errors, and the notices that are not errors.

Every error message names the field or thing, the value, and the cure. The command line turns a
`KbError` into one line and an exit code; anything else is a bug and shows its traceback.
"""

import re
import shlex
from enum import StrEnum
from typing import Self

_PLAIN_WORDS = re.compile(r"[\w .,:;/+#()=\[\]-]+")
"""What double quotes hold together in any shell, and no shell does anything about within them."""


class KbError(Exception):
    """Something the user can mend; the message says how."""


class InvalidField(KbError, ValueError):
    """A value that a case cannot hold."""

    def __init__(self, field: str, value: object, cure: str) -> None:
        self.field = field
        self.value = value
        self.cure = cure
        super().__init__(f"{field}: {cure if value is None else f'{_shown(value)} {cure}'}")

    def __reduce__(self) -> tuple[type[Self], tuple[str, object, str]]:
        """Tell how it is made again in another process."""
        return type(self), (self.field, self.value, self.cure)


class Locked(KbError):
    """A step that must not be done before somebody has confirmed what makes it safe."""


class NotAgreed(KbError):
    """Something that somebody has to agree to, and nobody was there to be asked."""


class Dangerous(KbError):
    """A step that may hurt somebody; it is stored only as what happened."""


class NoSuchJob(KbError):
    """No job with that number in the store."""


class StoreMissing(KbError):
    """There is no store at that address yet."""


class StoreOutdated(KbError):
    """The store was made by an older program and must be upgraded first."""


class StoreTooNew(KbError):
    """The store was made by a newer program than this one."""


class StoreUnusable(KbError):
    """The address is no store, or it cannot be read or written now."""


class StoreBusy(StoreUnusable):
    """Others were writing for as long as anybody would wait."""


class OnlyDemonstration(KbError):
    """The demonstration shop stays as it is; a copy of it may be changed."""


class OnlyReadablePart(KbError):
    """A store with values that cannot be read is only asked, until they are mended."""


class TooFew(KbError):
    """There are too few jobs for what was asked."""


class Conflict(KbError):
    """The store already holds something else under that number or reference."""


class FileThere(KbError):
    """A file stands where one is to be written, and nobody has said that it may be replaced."""


class UnreadableFile(KbError):
    """A file that cannot be read as what it claims to be."""


class Notice(StrEnum):
    """Said beside a result that stands on little; never an error."""

    EMPTY_STORE = "The store holds no closed job with a cause yet, so nothing can be ranked."
    NO_JOBS = "The store holds no job yet."
    NOTHING_SIMILAR = "No past job resembles this one."
    INDEX_NOT_KEPT = (
        "The index of past jobs could not be written beside the store, so every question makes it "
        "again: see that its folder may be written and the disk is not full."
    )
    WEIGHTS_LOST = (
        "The weights that this shop learnt cannot be read any more, so the defaults are in force: "
        "learn them again with 'kb weights --learn'."
    )
    FEW_JOBS = "Few closed jobs so far: read the chances as rough."
    ONE_REPAIR = "This rate rests on a single repair."
    NO_FOLLOW_UP = "No car with this fix has been heard of since: only the handover is known."
    FEW_FOLLOWED = "Few cars with this fix have been heard of for long enough to give one number."
    HANDOVER_UNKNOWN = (
        "Not told whether this fix cured: not written down, or more was done after it."
    )
    NO_CASES = "There is no closed job with a cause among these, so there is nothing to tell."
    NOTHING_CLOSED = "There is no closed job among these, so there is nothing to tell."
    SHORT_PAST = (
        "Less than half a year of closed jobs: too little to tell what the next months take."
    )
    NOTHING_LATELY = (
        "No job was closed in the last quarter: what is told of the next is too little if jobs "
        "were done and not recorded."
    )
    FEW_TO_COMPARE = "Few closed jobs so far: only a glaring excess can stand out."
    NO_QUESTIONS = (
        "Nothing could be asked: no job came in after so many cases were closed. "
        "Lower --least-known or set --since earlier, or wait for more jobs."
    )
    FEW_QUESTIONS = "Few questions so far: read every figure as rough."
    WIDENED = "widened, as good readings are few"
    BORROWED = "spread of other models"
    SET_ASIDE = "some called good lie far off the rest and were set aside"
    LONG_TAILS = "spread unevenly: bad ones may be among them, and the band be too wide"
    VARIOUS_CONDITIONS = "taken in various conditions"
    NO_PAIRS = "by rule of thumb, as good pairs are few"
    FINAL_FIXES_ONLY = (
        "Only final fixes are recorded, none that failed first: rates lean towards the bright side."
    )


def for_shell(text: str) -> str:
    """Return a text as one word of a command that somebody may copy into a shell.

    What others wrote is nothing that a shell obeys then.

    Examples
    --------
    >>> [for_shell(each) for each in ("K031", "seat plug", "$(reboot) plug")]
    ['K031', '"seat plug"', "'$(reboot) plug'"]
    """
    quoted = shlex.quote(text)
    return f'"{text}"' if quoted != text and _PLAIN_WORDS.fullmatch(text) else quoted


def _shown(value: object, limit: int = 60) -> str:
    try:
        text = repr(value)
    except (RecursionError, ValueError):  # too deep, or a number of too many digits
        text = f"{type(value).__name__} …"
    return text if len(text) <= limit else text[: limit - 1] + "…"
