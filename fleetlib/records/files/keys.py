"""The key that a person wrote to the letters of a column, `Fate: S sold; H in hand; G given`, read as they wrote it."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from fleetlib.records.files.text_table import TextTable
from fleetlib.records.parsing.vocabulary import word_key

_KEY = re.compile(r"\W*([^:;,]{2,30}?)\s*[:=]\s*(.+[;,].+)", re.DOTALL)
_PAIR = re.compile(r"([^\W\d_]{1,3})(?:\s*[=:]\s*|\s+(?:-\s*|is\s+)?)([^\W\d_].+)")


class Key(NamedTuple):
    """The place of the column that a key explains, the letters (small) with what they stand for, and the key's row,
    None where it stands above the headings."""

    place: int
    words: dict[str, str]
    row: int | None


def key_of_states(table: TextTable, says: Callable[[str], str | None]) -> Key | None:
    """The first key in `table` to a column whose cells are all letters of it; `says` tells what a word means of where
    a piece stands, None for nothing, and must know every one of them."""
    headings = {word_key(h): p for p, h in enumerate(table.headings) if h.strip()}
    for text, at in _lines(table):
        match = _KEY.fullmatch(" ".join(text.split()))
        place = headings.get(word_key(match[1])) if match else None
        if not match or place is None:
            continue
        pairs = [_PAIR.fullmatch(p.strip(" .")) for p in re.split(r"[;,]", match[2]) if p.strip()]
        words = {p[1].casefold(): p[2].strip() for p in pairs if p}
        cells = {t.strip().casefold() for t in table.columns[place].texts if t.strip()}
        known = len(words) == len(pairs) > 1 and all(map(says, words.values()))
        if known and cells - {text.strip().casefold()} <= set(words):
            return Key(place, words, at)
    return None


def _lines(table: TextTable) -> list[tuple[str, int | None]]:
    """Each text that may be a key, with its row."""
    found: list[tuple[str, int | None]] = [(line, None) for line in table.above]
    for column in table.columns:
        for code, text in enumerate(column.texts):
            if ":" in text or "=" in text:
                rows = np.flatnonzero(column.codes == code)
                found += [(text, int(rows[0]))] if len(rows) == 1 else []
    return found
