"""Known words of which a typed one may be cut short: mah is mahogany, mpl maple. Common usage, no source; such a word
is only ever asked about."""

from __future__ import annotations

import re

from fleetlib.records.parsing.inside import changes_nothing
from fleetlib.records.parsing.vocabulary import spellings, word_key

_SHORTEST, _LONGEST, _MOST = 2, 7, 3
_COUNT = re.compile(r"(?:x ?)?\d+(?: ?x)?|pair|of|set")


def cut_short(column: str, text: str) -> tuple[str, ...]:
    """The words of `column` that begin with the letter of `text` and hold its letters in order, the likeliest first:
    what it begins, then what has just these consonants, then what ends as it does; () for a text of several words.

    >>> cut_short("wood", "mah"), cut_short("wood", "chy")
    (('mahogany',), ('cherry',))
    """
    words = [w for w in word_key(text).split() if not _COUNT.fullmatch(w)]
    words = [w for w in words if not changes_nothing(column, w)] or words
    key = words[0] if len(words) == 1 else ""
    if not (_SHORTEST <= len(key) <= _LONGEST and key.isalpha()):
        return ()
    found: dict[str, int] = {}
    for spelt, word in spellings(column).items():
        rank = _rank(key, spelt.replace(" ", "")) if " " not in spelt or spelt == word else None
        if rank is not None and word != "unknown":
            found[word] = min(found.get(word, rank), rank)
    best = min(found.values(), default=0)
    likely = sorted((w for w in found if found[w] <= max(best, 1)), key=lambda w: found[w])
    return tuple(likely[:_MOST])


def _rank(key: str, spelt: str) -> int | None:
    """How likely `key` is `spelt` cut short, 0 the likeliest; None where it cannot be."""
    if spelt[0] != key[0] or len(spelt) <= len(key):
        return None
    if spelt.startswith(key) and len(key) > _SHORTEST:
        return 0
    if _consonants(spelt) in (_consonants(key), _consonants(key.removesuffix("s"))):
        return 1
    if not re.search(".*".join(key), spelt):
        return None
    if spelt[-1] == key[-1]:
        return 2
    return 3 if not set(key[1:]) & set("aeiou") else None


def _consonants(word: str) -> str:
    """The first letter and the consonants after it, doubled ones once."""
    return re.sub(r"(.)\1+", r"\1", word[0] + re.sub(r"[aeiou]", "", word[1:]))
