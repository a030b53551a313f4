"""Results as JSON."""

import msgspec

MISLEADING = (*range(0x7F, 0xA0), *range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x2028, 0x2029)
"""Signs that a terminal obeys or is misled by, besides those below the blank: delete and the C1
controls (ISO/IEC 6429), embeddings, overrides and isolates of writing direction (Unicode Standard
Annex 9), and line ends that are none to a terminal."""
_ESCAPED = {sign: f"\\u{sign:04x}" for sign in MISLEADING}


def to_json(result: object) -> str:
    """Encode a result dataclass (or a list of them) as indented JSON, fields in their order.

    Dates are ISO 8601, enumerations their words, missing values null; not-a-number becomes null.
    What a terminal would obey is escaped, so that it may be read on one.
    """
    return msgspec.json.format(msgspec.json.encode(result), indent=2).decode().translate(_ESCAPED)
