"""The known word that a misspelt one is nearest to: one way to suggest, for every refusal."""

from __future__ import annotations

from collections.abc import Iterable


def nearest(word: str, known: Iterable[str], *, most: int = 1, alike: float = 0.5) -> list[str]:
    """Up to `most` of `known`, the nearest in spelling first; none that is less than `alike` (0 to 1).

    Likeness is twice the letters both have in the same order over the letters of both.

    >>> nearest("fininsh", ["finish", "wood"])
    ['finish']
    """
    from rapidfuzz import fuzz, process

    found = process.extract(
        word, list(known), scorer=fuzz.ratio, limit=most, score_cutoff=100 * alike
    )
    return [name for name, _, _ in found]
