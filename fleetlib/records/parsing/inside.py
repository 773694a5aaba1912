"""A known word found inside what was typed: "6 drawer dresser", "pine i think", "painted white".

Used only where one reading is left: one known word, and beside it nothing but words that are known to change
nothing. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

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


def without_doubt_words(key: str) -> str:
    """`key` without words of doubt: "oak?" and "i think oak" are oak."""
    while (shorter := _DOUBT.sub("", key).strip(" ,.")) != key:
        key = shorter
    return key


def found_inside(column: str, key: str, tables: Mapping[str, Mapping[str, str]]) -> str | None:
    """The one known word of `column` inside `key`, or None where there is none or more than one reading.

    `tables` maps a column to its known spellings. The kind of piece must end the words ("desk lamp" is no desk)
    before "with" or a bracket; another kind among them, or a word not known to change nothing, leaves it open.
    """
    if column not in _BESIDE:
        return None
    body = _REST.sub("", key).strip(" ,-") if column == "furniture_type" else key
    words = [w for w in re.split(r"[ ,+&;-]+", body) if w]
    known: list[tuple[int, int, str]] = []
    other = _BESIDE[column]
    place = 0
    left_over = []
    table = tables[column]
    while place < len(words):
        for length in range(min(4, len(words) - place), 0, -1):
            spelt = " ".join(words[place : place + length])
            if spelt in table and not (column == "finish" and spelt in ("spray", "sprayed")):
                known.append((place, place + length, table[spelt]))
                place += length
                break
        else:
            left_over.append((place, words[place]))
            place += 1
    meant = {k for _, _, k in known}
    if column == "finish" and len(meant & _PAINTS) == 1 and meant - _PAINTS <= _COATED:
        meant &= _PAINTS
    if len(meant) != 1:
        return None
    if column == "furniture_type":
        end = known[-1][1]
        if any(p >= end and not _NUMBER.fullmatch(w) for p, w in left_over):
            return None
        other = other | frozenset(tables["wood"])
    if any(w not in other and not _NUMBER.fullmatch(w) for _, w in left_over):
        return None
    return meant.pop()
