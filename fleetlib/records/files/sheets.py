"""Sheets of one workbook under the same headings, joined into one table; each row says which sheet it is on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from fleetlib.records.files.text_columns import column_of
from fleetlib.records.files.text_table import RowTexts, SheetLines, TextTable
from fleetlib.records.parsing.vocabulary import word_key

SHEET = "sheet"  # the heading of the column that is added
_STEPS = (10_000, 1_000_000)  # the lines of each further sheet begin after so many more


def same_headings(one: TextTable, other: TextTable) -> bool:
    """Whether two sheets have the same headings, each once, in whatever order; blank ones aside."""
    keys, others = _keys(one), _keys(other)
    return len(set(keys)) == len(keys) and sorted(keys) == sorted(others)


def _keys(table: TextTable) -> list[str]:
    return [word_key(h) for h in table.headings if h.strip()]


def joined(tables: Mapping[str, TextTable]) -> TextTable:
    """One table of the sheets by their names; the first keeps its lines, those of each further one begin at the next
    10,000 (10,005 is line 5 of the second), as a note says."""
    titles, parts = list(tables), list(tables.values())
    first = parts[0]
    headings = [h for h in first.headings if h.strip()]
    last = max((int(t.lines.max()) for t in parts if len(t.lines)), default=0)
    step = next(s for s in _STEPS if last < s or s == _STEPS[-1])
    cells: list[list[str]] = [[] for _ in headings]
    texts: list[str] = []
    sheet: list[str] = []
    for title, part in tables.items():
        places = [
            next(i for i, h in enumerate(part.headings) if word_key(h) == word_key(k))
            for k in headings
        ]
        rows = range(len(part.lines))
        for column, place in zip(cells, places, strict=True):
            column += [part.columns[place].cell(i) for i in rows]
        texts += [part.text_of(i) for i in rows]
        sheet += [title] * len(part.lines)
    if SHEET not in map(word_key, headings):
        headings, cells = [*headings, SHEET], [*cells, sheet]
    ends = np.cumsum([len(t) for t in texts], dtype=np.int64)
    shifts = [k * step for k in range(len(parts))]
    where = ", ".join(
        f'those from {s + 1:,} on are "{t}"' for t, s in zip(titles[1:], shifts[1:], strict=True)
    )
    said = (
        f"{len(parts)} sheets have the same headings and are read as one record. Lines are those of "
        f'"{titles[0]}" where no other sheet is named; in saved tables {where}.'
    )
    return replace(
        first,
        headings=headings,
        columns=[column_of(c) for c in cells],
        lines=np.concatenate([t.lines + s for t, s in zip(parts, shifts, strict=True)]),
        text_of=RowTexts("".join(texts), ends - [len(t) for t in texts], ends),
        above=[a for t in parts for a in t.above],
        sheets=SheetLines(tuple(titles), step),
        notes=[*dict.fromkeys(n for t in parts for n in t.notes), f"{first.name}: {said}"],
        hidden=[
            h._replace(line=h.line + s)
            for t, s in zip(parts, shifts, strict=True)
            for h in t.hidden
            if t is first
        ],
    )
