"""A known word found inside what was typed: "6 drawer dresser", "pine i think", "painted white".

Used only where one reading is left: one known word, and beside it nothing but words that are known to change
nothing. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

_DOUBT = re.compile(
    r"^(?:maybe|probably|prob\.?|i think|think|looks like|possibly|mostly) +|[ ,]*(?:\(\?\)|\?+|i think|i guess|maybe"
    r"|probably|mostly)$"
)
_REST = re.compile(r" (?:w|with|without)\b.*$|\([^)]*\)")
_NUMBER = re.compile(r"#?\d+|x\d+")
_COLOURS = (
    "white black grey gray green blue red yellow pink teal navy cream ivory sage brown tan beige purple orange"
    " turquoise charcoal off pale dark light bright deep soft antique satin matte matt gloss semi flat clear"
)
_SIZES = (
    "small big large tall short low long wide narrow little mini huge old vintage antique ugly nice pretty cute round"
    " square oval heavy drawer drawers door doors shelf leg legs modern mcm rustic painted solid single double triple"
    " matching corner kids kid child's girls boys makeup lowboy primitive victorian deco farmhouse"
)
PARTS = frozenset(["drawer", "drawers", "door", "doors", "shelf", "shelves", "leg", "legs"])
_COATS = "coat coats of in color colour over two 2 3 x2 x3 sealed brushed sprayed based water hemp wipe on"
_CUTS = "old solid knotty dark light heavy quarter sawn qs real genuine nice pure all"
_BESIDE = {
    "furniture_type": frozenset((_COLOURS + " " + _SIZES).split()),
    "wood": frozenset(_CUTS.split()),
    "finish": frozenset((_COLOURS + " " + _COATS).split()),
}
_COATED = frozenset({"wax", "polyurethane", "varnish", "lacquer", "shellac", "oil"})
_PAINTS = frozenset(
    {"milk paint", "chalk-type paint", "latex paint", "enamel", "spray paint", "paint", "two-tone"}
)


class Inside(NamedTuple):
    """The known word; of a kind of piece also the wood named beside it ("" for none), and the words that are left."""

    word: str
    wood: str = ""
    rest: str = ""


def without_doubt_words(key: str) -> str:
    """`key` without words of doubt: "oak?" and "i think oak" are oak."""
    while (shorter := _DOUBT.sub("", key).strip(" ,.")) != key:
        key = shorter
    return key


def found_inside(column: str, key: str, tables: Mapping[str, Mapping[str, str]]) -> Inside | None:
    """The one known word of `column` inside `key`, or None where there is none or more than one reading.

    `tables` maps a column to its known spellings. Beside a kind of piece may stand its wood and words that are known
    to change nothing; behind it a part only with a number ("wardrobe 2 door"; a "desk drawer" is no desk). What
    follows "with" or stands in brackets is left over. Another kind, or any other word, leaves it open.
    """
    if column not in _BESIDE:
        return None
    body = _REST.sub("", key).strip(" ,-") if column == "furniture_type" else key
    words = [w for w in re.split(r"[ ,+&;-]+", body) if w]
    known, left_over = _known_among(words, tables[column], column)
    meant = {k for _, k in known}
    if column == "finish" and len(meant & _PAINTS) == 1 and meant - _PAINTS <= _COATED:
        meant &= _PAINTS
    other, beside = _BESIDE[column], [words[p] for p in left_over]
    if column == "furniture_type":
        other = other | frozenset(tables["wood"])
    if len(meant) != 1 or any(w not in other and not _NUMBER.fullmatch(w) for w in beside):
        return None
    if column != "furniture_type":
        return Inside(meant.pop())
    parts = [p for p in left_over if p >= known[-1][0] and words[p] in PARTS]
    if any(not _NUMBER.fullmatch(words[p - 1]) for p in parts):
        return None
    beyond = " ".join(m.group().strip(" ()") for m in _REST.finditer(key))
    return Inside(meant.pop(), *_wood_among([*beside, *beyond.split()], tables["wood"]))


def _known_among(
    words: Sequence[str], table: Mapping[str, str], column: str
) -> tuple[list[tuple[int, str]], list[int]]:
    """Where each known word ends among `words`, with what it is; and the places of the words left over."""
    known, left_over, place = [], [], 0
    while place < len(words):
        for length in range(min(4, len(words) - place), 0, -1):
            spelt = " ".join(words[place : place + length])
            if spelt in table and not (column == "finish" and spelt in ("spray", "sprayed")):
                place += length
                known.append((place, table[spelt]))
                break
        else:
            left_over.append(place)
            place += 1
    return known, left_over


def _wood_among(words: Sequence[str], woods: Mapping[str, str]) -> tuple[str, str]:
    """The one wood among the words beside a kind ("" for none or several), and the other words."""
    for length in (3, 2, 1):
        for at in range(len(words) - length + 1):
            wood = woods.get(" ".join(words[at : at + length]), "unknown")
            rest = [*words[:at], *words[at + length :]]
            if wood != "unknown":
                more = {woods.get(w, "unknown") for w in rest} - {"unknown", wood}
                return ("", " ".join(words)) if more else (wood, " ".join(rest))
    return "", " ".join(words)
