"""Delimited text -> rows and columns of cells, with the line each row begins on (RFC 4180 and its neighbours).

Two passes. The first walks the records, notes where each begins and how many cells it has, and cuts out
what is no row: blank lines, quotes that never close, rows with more cells than headings. What is left is
well formed, and pandas' tokeniser takes it apart.
"""

from __future__ import annotations

import csv
import re
from array import array
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import cast

import numpy as np

from fleetlib.records.files.csv_records import Lines, Record, lenient_record, records
from fleetlib.records.files.text_columns import TextColumn, column_of, columns_of, spans, tokenised

BROKE_OFF = "broke off"  # ends a line whose end was never written, so that it stays known as broken


@dataclass(frozen=True, slots=True)
class Broken:
    """A line that is no row of cells, with what is wrong and how to mend it."""

    line: int
    value: str
    reason: str
    remedy: str
    text: str


@dataclass(frozen=True, eq=False, slots=True)
class Body:
    """The rows under the headings: a TextColumn a heading, and for each row its line (from 1) and its text's place."""

    columns: list[TextColumn] = field(repr=False)
    lines: np.ndarray = field(repr=False)
    starts: np.ndarray = field(repr=False)
    ends: np.ndarray = field(repr=False)
    broken: list[Broken]


def split_body(lines: Lines, first: int, mark: str, width: int) -> Body:
    """All rows from line `first` on, under `width` headings."""
    columns = _at_once(lines, first, mark, width)
    if columns is not None:
        starts = np.append(np.frombuffer(lines.starts, dtype=np.int64)[first:], len(lines.text))
        numbers = np.arange(first + 1, len(lines) + 1)
        return Body(columns, numbers, starts[:-1], starts[1:], [])
    taken = _Taken(lines, width)
    found = _records_at_once(lines, first, mark, width)
    if found is None or width == 1:
        _walk_strictly(lines, first, mark, taken)
    else:
        done = 0
        for k in np.flatnonzero(found.marks != width - 1).tolist():
            taken.even(found, done, k)
            _uneven_line(lines, int(found.begun[k]), mark, taken)
            done = k + 1
        taken.even(found, done, len(found.marks))
    begun = np.frombuffer(taken.begun, dtype=np.int64).copy()
    offsets = np.append(np.frombuffer(lines.starts, dtype=np.int64), len(lines.text))
    starts, ends = offsets[begun], offsets[np.frombuffer(taken.stopped, dtype=np.int64)]
    columns = _columns(lines.text, starts, ends, mark, width, taken.odd)
    if columns is None:
        columns = _by_hand(lines, first, mark, width)
    return Body(columns, begun + 1, starts, ends, taken.broken)


def _at_once(lines: Lines, first: int, mark: str, width: int) -> list[TextColumn] | None:
    """The columns where every line is a well-formed record of at most `width` cells; None where any may not be.

    Half of the quotes must stand at the end of a cell, and no cell may come out with a quote in it.
    """
    text = lines.text
    if first >= len(lines) or ("\r" in text and text.count("\r") != text.count("\r\n")):
        return None
    begin = lines.starts[first]
    quotes = text.count('"', begin)
    closing = text.count('"' + mark, begin) + text.count('"\n', begin) if quotes else 0
    if "\r" in text:
        closing += text.count('"\r', begin)
    if (closing + text.endswith('"')) * 2 != quotes:
        return None
    frame = tokenised(text, [(begin, len(text))], mark, width + 1)
    if (
        frame is None
        or len(frame) != len(lines) - first
        or (frame.pop(cast(str, width)) != "").any()
    ):
        return None
    columns = columns_of(frame)
    if quotes and any(_doubtful(c.texts, mark) for c in columns):
        return None
    return columns


def _doubtful(texts: list[str], mark: str) -> bool:
    """True where a cell holds a quote or begins with the separator: the counts of quotes may then mislead."""
    joined = "\n".join(["", *texts])
    return '"' in joined or "\n" + mark in joined


class _Taken:
    """The records found: the first line of each and the line after it; uneven ones by hand; broken ones apart."""

    def __init__(self, lines: Lines, width: int) -> None:
        self.begun = array("q")
        self.stopped = array("q")
        self.odd: dict[int, list[str]] = {}
        self.broken: list[Broken] = []
        self._lines, self.width = lines, width

    def even(self, found: _Found, first: int, after: int) -> None:
        """The records from number `first` up to `after`, which have a cell a heading."""
        self.begun.extend(found.begun[first:after].tolist())
        self.stopped.extend(found.stopped[first:after].tolist())

    def record(self, begin: int, after: int) -> None:
        """One record with a cell a heading."""
        self.begun.append(begin)
        self.stopped.append(after)

    def by_hand(self, record: Record, after: int) -> None:
        """One record that is uneven or breaks the rules."""
        used = self.width if record.cells is None else _used(record.cells, self.width)
        if record.cells is None:
            self.broken.append(open_quote(record, self._lines))
        elif used > self.width:
            self.broken.append(_too_many(record, self._lines, used, self.width))
        else:
            self.odd[len(self.begun)] = (record.cells + [""] * self.width)[: self.width]
            self.record(record.line, after)


@dataclass(frozen=True, eq=False, slots=True)
class _Found:
    """Records found all at once: the first line of each, the line after it, its separators outside quotes."""

    begun: np.ndarray
    stopped: np.ndarray
    marks: np.ndarray


def _records_at_once(lines: Lines, first: int, mark: str, width: int) -> _Found | None:
    """The records from line `first` on; None where a quote breaks the rules or a record of several lines is not
    even, so that records have to be walked one by one."""
    text = lines.text
    if first >= len(lines):
        return _Found(*(np.empty(0, dtype=np.int64) for _ in range(3)))
    if "\r" in text and text.count("\r") != text.count("\r\n"):
        return None
    start = lines.starts[first] - 1
    bare = text[start + 1 :]
    spread: list[
        tuple[int, int]
    ] = []  # cells over several lines: where they begin, how many breaks they hold
    if '"' in bare:
        m = re.escape(mark)
        whole = re.compile(rf'"(?<=[{m}\n]")[^"]*(?:""[^"]*)*"(?=[{m}\r\n]|$)')
        bare = "\n" + bare
        for match in whole.finditer(bare):
            breaks = match.group().count("\n")
            if breaks:
                spread.append((match.start() + start, breaks))
        bare = whole.sub("", bare)[1:]
        if '"' in bare:
            return None
    marks = np.array([line.count(mark) for line in bare.split("\n")], dtype=np.int64)
    if text.endswith("\n"):
        marks = marks[:-1]
    breaks_in = np.zeros(len(marks), dtype=np.int64)
    seen = 0
    for offset, breaks in spread:
        record = bisect_right(lines.starts, offset) - 1 - first - seen
        breaks_in[record] += breaks
        seen += breaks
        if marks[record] != width - 1:
            return None
    after = first + np.cumsum(breaks_in + 1)
    return _Found(after - breaks_in - 1, after, marks)


def _uneven_line(lines: Lines, i: int, mark: str, taken: _Taken) -> None:
    """A line that is one record, with more or fewer cells than headings, or blank."""
    whole = lines.line(i)
    if whole.strip():
        cells = lenient_record(lines, i, mark, 0)[0] if '"' in whole else whole.split(mark)
        taken.by_hand(Record(i, lines.starts[i], lines.end(i), cells), i + 1)


def _walk_strictly(lines: Lines, first: int, mark: str, taken: _Taken) -> None:
    """Record by record, for text with cells over several lines or quotes that break the rules."""
    i, total, width = first, len(lines), taken.width
    while i < total:
        reader = csv.reader(lines.since(i), delimiter=mark, strict=True)
        begun = i
        try:
            for cells in reader:
                after = begun + reader.line_num
                if len(cells) != width:
                    if after - i > 1:
                        break
                    if cells and not (len(cells) == 1 and not cells[0].strip()):
                        taken.by_hand(
                            Record(i, lines.starts[i], lines.end(after - 1), cells), after
                        )
                elif width > 1 or cells[0].strip():
                    taken.record(i, after)
                i = after
            else:
                return
        except csv.Error:
            pass
        found, used = lenient_record(lines, i, mark, width)
        if found is None or any(c.strip() for c in found):
            taken.by_hand(Record(i, lines.starts[i], lines.end(i + used - 1), found), i + used)
        i += used


def _used(cells: Sequence[str], width: int) -> int:
    """The number of cells up to the last that holds anything, where that can exceed `width`."""
    n = len(cells)
    while n > width and not cells[n - 1].strip():
        n -= 1
    return n


def open_quote(record: Record, lines: Lines) -> Broken:
    """What is said of a line whose quote never closes."""
    return Broken(
        record.line + 1,
        "",
        "a quote opens on this line and never closes",
        'Take the quote out, or write it twice ("") inside a quoted cell.',
        lines.line(record.line),
    )


def broken_off(record: Record, lines: Lines) -> Broken:
    """What is said of a line whose end was never written."""
    text = lines.text[record.start : record.end].rstrip("\r\n")
    return Broken(
        record.line + 1,
        "",
        "the line breaks off before its last cell, as after a full disk or a stop half-way; nothing in it is counted",
        "Log it again; or finish the line with its missing cells and a line break.",
        text,
    )


def _too_many(record: Record, lines: Lines, used: int, width: int) -> Broken:
    return Broken(
        record.line + 1,
        f"{used} cells",
        f"has {used} cells under {width} headings, so its cells may have slipped sideways",
        'Put quotes round a cell that holds the separator ("$1,150"), or give the last cells a heading.',
        lines.text[record.start : record.end].rstrip("\r\n"),
    )


def _columns(
    text: str,
    starts: np.ndarray,
    ends: np.ndarray,
    mark: str,
    width: int,
    odd: dict[int, list[str]],
) -> list[TextColumn] | None:
    """The columns of the records at `starts` to `ends`, the `odd` ones put in by hand; None where the number of
    rows pandas sees is not ours."""
    rows = len(starts)
    places = np.fromiter(odd, dtype=np.int64, count=len(odd))
    even = np.ones(rows, dtype=bool)
    even[places] = False
    frame = tokenised(text, spans(starts[even], ends[even]), mark, width)
    if frame is None or len(frame) + len(odd) != rows:
        return None
    columns: list[TextColumn] = []
    arrays = [frame[place].to_numpy() for place in range(width)]
    del frame
    while arrays:  # let go of one by one
        cells = arrays.pop(0)
        if odd:
            whole = np.empty(rows, dtype=object)
            whole[even] = cells
            whole[places] = [row[len(columns)] for row in odd.values()]
            cells = whole
        columns.append(column_of(cells))
    return columns


def _by_hand(lines: Lines, first: int, mark: str, width: int) -> list[TextColumn]:
    """The columns cell by cell: slower, for text that has stray carriage returns."""
    rows = []
    for record in records(lines, first, mark, width):
        if record.cells is not None and _used(record.cells, width) <= width:
            rows.append((record.cells + [""] * width)[:width])
    if not rows:
        return [column_of([]) for _ in range(width)]
    return [column_of(list(c)) for c in zip(*rows, strict=True)]
