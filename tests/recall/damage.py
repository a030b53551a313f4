"""What a failing disk or an interrupted copy makes of a file."""

from hypothesis import assume
from hypothesis import strategies as st


@st.composite
def damaged(draw: st.DrawFn, whole: bytes) -> bytes:
    """Draw a file some bytes of which are turned over, zeroed, overwritten or cut off."""
    first = draw(st.integers(0, len(whole) - 1))
    last = draw(st.integers(first + 1, min(len(whole), first + 5_000)))
    run = whole[first:last]
    way = draw(st.sampled_from(["turned", "zeroed", "noise", "cut off", "left out"]))
    if way == "cut off":
        return whole[:first]
    if way == "turned":
        mask = draw(st.integers(1, 255))
        run = bytes(byte ^ mask for byte in run)
    elif way == "noise":
        run = draw(st.binary(min_size=1, max_size=64))
    else:
        run = bytes(len(run)) if way == "zeroed" else b""
    found = whole[:first] + run + whole[last:]
    assume(found != whole)  # noise may be what stood there, and zeroes may have been zero
    return found
