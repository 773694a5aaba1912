"""Sheets of one workbook that are parts of one record, joined into one table; each row says which sheet it is on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from fleetlib.records.files.headings import Heading, match_heading
from fleetlib.records.files.text_columns import TextColumn, column_of
from fleetlib.records.files.text_table import RowTexts, SheetLines, TextTable
from fleetlib.records.parsing.vocabulary import word_key

SHEET = "sheet"  # the heading of the column that is added
_STEPS = (10_000, 1_000_000)  # the lines of each further sheet begin after so many more


def same_headings(one: TextTable, other: TextTable) -> bool:
    """Whether two sheets have the same headings, or headings of the same meaning, each once and in whatever order."""
    keys, others = _keys(one), _keys(other)
    if len(set(keys)) == len(keys) and sorted(keys) == sorted(others):
        return True
    places = matched(one.headings, other)
    each_once = len(set(places.values())) == len(places) == len(keys) == len(others)
    return each_once and len(places) >= _ENOUGH


def shared(one: TextTable, other: TextTable) -> bool:
    """Whether two sheets have so many columns in common that both may well be parts of one record."""
    return len(matched(one.headings, other)) >= _ENOUGH


_ENOUGH = 3


def matched(headings: Sequence[str], other: TextTable) -> dict[int, int]:
    """For the places of `headings` the place of `other` that holds the same: under the same words, else under words
    of the same meaning, unit and currency, where each has one such. A name of the piece stands for its kind where
    only one of the two sheets has each."""
    words = {word_key(h): p for p, h in enumerate(other.headings) if h.strip()}
    found = {p: words[word_key(h)] for p, h in enumerate(headings) if word_key(h) in words}
    left = [(p, h) for p, h in enumerate(headings) if p not in found]
    rest = [(p, h) for p, h in enumerate(other.headings) if p not in found.values()]
    mine, theirs = _by_meaning(left), _by_meaning(rest)
    found |= {mine[m]: theirs[m] for m in mine if m in theirs}
    here, there = (
        {m.column for m in map(match_heading, hs) if m} for hs in (headings, other.headings)
    )
    for a, b in (("furniture_type", "piece"), ("piece", "furniture_type")):
        if Heading(a) in mine and Heading(b) in theirs and b not in here and a not in there:
            found[mine[Heading(a)]] = theirs[Heading(b)]
    return found


def _by_meaning(headings: Iterable[tuple[int, str]]) -> dict[Heading, int]:
    meant = [(m, p) for p, h in headings if (m := match_heading(h))]
    many = Counter(m for m, _ in meant)
    return {m: p for m, p in meant if many[m] == 1}


def _keys(table: TextTable) -> list[str]:
    return [word_key(h) for h in table.headings if h.strip()]


def typed_columns(table: TextTable) -> list[TextColumn]:
    """The columns of a table, blank where one was added to say the sheet of each row."""
    if table.sheets is None:
        return table.columns
    blank = TextColumn(np.zeros(len(table.lines), dtype=np.int32), [""])
    return [
        blank if word_key(h) == SHEET and set(c.texts) <= set(table.sheets.titles) else c
        for h, c in zip(table.headings, table.columns, strict=True)
    ]


def joined(tables: Mapping[str, TextTable]) -> TextTable:
    """One table of the sheets by their names; the first keeps its lines, those of each further one begin at the next
    10,000 (10,005 is line 5 of the second), as a note says."""
    titles, parts = list(tables), list(tables.values())
    first = parts[0]
    headings = list(first.headings)
    alike = all(same_headings(first, t) for t in parts[1:])
    last = max((int(t.lines.max()) for t in parts if len(t.lines)), default=0)
    step = next(s for s in _STEPS if last < s or s == _STEPS[-1])
    cells: list[list[str]] = [[] for _ in headings]
    texts: list[str] = []
    sheet: list[str] = []
    for title, part in tables.items():
        places = matched(headings, part)
        for place, heading in enumerate(part.headings):  # what only this sheet has
            if place not in places.values() and heading.strip():
                places[len(headings)] = place
                headings.append(heading)
                cells.append([""] * len(sheet))
        rows = range(len(part.lines))
        for k, column in enumerate(cells):
            at = places.get(k)
            column += [""] * len(rows) if at is None else [part.columns[at].cell(i) for i in rows]
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
        f"{len(parts)} sheets {'have the same headings and ' * alike}are read as one record. Lines are those of "
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
