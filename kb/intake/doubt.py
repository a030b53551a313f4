"""What intake could not be sure of, said in one shape by every parser."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Doubt:
    """A piece of text that was not taken, or was taken with a reservation, and why."""

    text: str
    why: str

    def __str__(self) -> str:
        return f"“{self.text}” {self.why}"
