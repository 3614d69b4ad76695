"""Which known name a wrong one was meant to be."""

from __future__ import annotations

from collections.abc import Iterable


def nearest(wrong: str, known: Iterable[str]) -> str | None:
    """The known name closest to a wrong one, if one is close: one that differs in case alone, then one that is a slip
    of the finger away, then what looks alike."""
    from difflib import get_close_matches

    names = sorted(set(known))
    folded = [name for name in names if name.casefold() == wrong.casefold()]
    return folded[0] if folded else slipped(wrong, names) or next(iter(get_close_matches(wrong, names, 1, 0.65)), None)


def slipped(wrong: str, known: Iterable[str]) -> str | None:
    """The known name that a slip of the finger made ``wrong``; of several the likeliest, then the first."""
    return next(iter(slips(wrong, known)), None)


def slips(wrong: str, known: Iterable[str]) -> tuple[str, ...]:
    """All known names that a slip of the finger made ``wrong``, the likeliest first."""
    found = [(rank, place, name) for place, name in enumerate(known) if (rank := _slip(wrong, name)) is not None]
    return tuple(name for _, _, name in sorted(found))


def _slip(wrong: str, right: str) -> int | None:
    """How unlikely a slip from ``right`` to ``wrong`` is, from 0; ``None`` where it takes more than one.

    A slip is a letter lost, added, hit wrong or exchanged with the next (Damerau 1964, which also is where the figure
    comes from that four misspellings in five are one such slip). A letter doubled or halved and an exchange are the
    likeliest; the first letter is seldom the wrong one. Names of one letter are no evidence of anything, and another
    digit is another thing.
    """
    if abs(len(wrong) - len(right)) > 1 or max(len(wrong), len(right)) < 2 or wrong == right or not right[1:]:
        return None
    start = 0
    while wrong[start : start + 1] == right[start : start + 1] != "":
        start += 1
    a, b = wrong[start:], right[start:]
    if len(a) == len(b):
        if a[2:] == b[2:] and a[:2] == b[1::-1]:
            return 0
        return (1 if start else 2) if a[1:] == b[1:] and not (a[0] + b[0]).isdigit() else None
    longer, shorter = (a, b) if len(a) > len(b) else (b, a)
    if longer[1:] != shorter or longer[0].isdigit():
        return None
    doubled = start > 0 and longer[0] == (wrong if longer is a else right)[start - 1]
    return 0 if doubled else 1 if start else 2
