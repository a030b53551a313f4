"""Results as JSON."""

import json
from pathlib import Path

import msgspec

from kb.safety.marks import leave_out_number

MISLEADING = (
    *range(0x7F, 0xA0),
    *(0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)),
    *(0x2028, 0x2029),
    *(0x00AD, 0x180E, *range(0x200B, 0x200E), *range(0x2060, 0x2065), 0xFEFF),
    *range(0xE0000, 0xE0080),
)
"""Signs that a terminal obeys or is misled by, besides those below the blank: delete and the C1
controls (ISO/IEC 6429), the marks, embeddings, overrides and isolates of writing direction (Unicode
Standard Annex 9), line ends that are none to a terminal, and what has no sign at all, by which two
names look like one: blanks and joiners without width, and tags (Unicode Technical Report 36)."""
SURROGATES = range(0xD800, 0xE000)
"""Halves of pairs, as Python holds the bytes of a name or an argument that are no text."""
_ESCAPED = {sign: json.dumps(chr(sign)).strip('"') for sign in MISLEADING}


def to_json(result: object) -> str:
    """Encode a result dataclass (or a list of them) as indented JSON, fields in their order.

    Dates are ISO 8601, enumerations their words, missing values null; not-a-number becomes null.
    What a terminal would obey is escaped, so that it may be read on one. Where too little is known
    for a rate, what it would be drawn from is not told either; nor is the number of a reading that
    is marked as taken by a step that is not to be repeated.
    """
    told = msgspec.to_builtins(result, str_keys=True, enc_hook=_path)
    _leave_out(told)
    try:
        encoded = msgspec.json.encode(told)
    except UnicodeEncodeError:  # a file's name need be no text
        encoded = json.dumps(told).encode()
    return msgspec.json.format(encoded, indent=2).decode().translate(_ESCAPED)


def _path(value: object) -> str:
    """Return a path as text; nothing else is told that is no plain value."""
    if isinstance(value, Path):
        return str(value)
    raise NotImplementedError(f"{type(value).__name__} cannot be told as JSON")


def _leave_out(told: object) -> None:
    if isinstance(told, dict):
        if "belief" in told and told.get("rate") is None:
            told["belief"] = None
        leave_out_number(told)
        for each in told.values():
            _leave_out(each)
    elif isinstance(told, list | tuple):
        for each in told:
            _leave_out(each)
