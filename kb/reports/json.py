"""Results as JSON."""

import msgspec


def to_json(result: object) -> str:
    """Encode a result dataclass (or a list of them) as indented JSON, fields in their order.

    Dates are ISO 8601, enumerations their words, missing values null; not-a-number becomes null.
    """
    return msgspec.json.format(msgspec.json.encode(result), indent=2).decode()
