"""Words in letters that the lists of igniters cannot read: nobody can say what they tell."""

from kb.patterns import compiled
from kb.safety.igniter_words import even

_OTHER = compiled(r"[^\W\d_a-zªº\u00df-\u02af\u1e00-\u1eff\u2c60-\u2c7f\ua722-\ua7ff]+")
_GREEK = compiled(r"[\u0370-\u03ff]")


def is_unreadable(text: str) -> bool:
    """Whether a word of a text is written in other letters than Latin ones.

    A Greek letter alone is a sign of a unit or a quantity; a letter of another alphabet within a
    Latin word is read as the one it looks like.

    Examples
    --------
    >>> is_unreadable("γεφύρωσα το βύσμα"), is_unreadable("检查"), is_unreadable("проверка: dry")
    (True, True, True)
    >>> is_unreadable("Prüfung 2.3 kΩ, Δ 5 µA"), is_unreadable("squіb plug łączka")
    (False, False)
    """
    if text.isascii():
        return False
    return any(len(run) > 1 or not _GREEK.match(run) for run in _OTHER.findall(even(text)))
