"""Delimited text -> rows and columns of cells, with the line each row begins on (RFC 4180 and its neighbours).

Two passes. The first walks the records, notes where each begins and how many cells it has, and cuts out
what is no row: blank lines, quotes that never close, rows with more cells than headings. What is left is
well formed, and pandas' tokeniser takes it apart.
"""

from __future__ import annotations

import csv
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from fleetlib.records.headings import heading_score

DELIMITERS = (",", ";", "\t", "|")
LOOK = 60  # records in which the heading line is looked for
MOST_CELL = 100_000  # characters in one cell
_MOST_QUOTED_LINES = 100  # lines one quoted cell may run over


@dataclass(frozen=True, slots=True)
class Broken:
    """A line that is no row of cells, with what is wrong and how to mend it."""

    line: int
    value: str
    reason: str
    remedy: str
    text: str


@dataclass(frozen=True, eq=False, slots=True)
class Column:
    """One column of cells as `texts[codes[i]]`: each different text is kept, and later read, once."""

    codes: np.ndarray = field(repr=False)
    texts: list[str] = field(repr=False)

    def cell(self, row: int) -> str:
        """The text of one cell."""
        return self.texts[self.codes[row]]

    def rows(self, keep: np.ndarray) -> Column:
        """The same texts for the rows where `keep` is true."""
        return Column(self.codes[keep], self.texts)


def column_of(cells: Sequence[str] | np.ndarray) -> Column:
    """A Column from one text a row."""
    values = np.empty(len(cells), dtype=object)
    values[:] = cells
    codes, texts = pd.factorize(values)
    return Column(codes.astype(np.int32), list(texts))


@dataclass(frozen=True, slots=True)
class Record:
    """One record: the index of its first line, where its text begins and ends, its cells (None: broken).

    `strict` is False for a record that breaks the rules and was read all the same.
    """

    line: int
    start: int
    end: int
    cells: list[str] | None
    strict: bool = True


class Lines:
    """The lines of a text by number, made one at a time; `starts[i]` is where line i begins."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.starts = array("q", [0])
        at = text.find("\n") + 1
        while at:
            self.starts.append(at)
            at = text.find("\n", at) + 1
        if self.starts[-1] == len(text):
            self.starts.pop()

    def __len__(self) -> int:
        return len(self.starts)

    def end(self, i: int) -> int:
        """Where line i ends, its break included."""
        return self.starts[i + 1] if i + 1 < len(self.starts) else len(self.text)

    def line(self, i: int) -> str:
        """Line i without its line feed and a carriage return before it."""
        return self.text[self.starts[i] : self.end(i)].rstrip("\n").removesuffix("\r")

    def since(self, i: int) -> Iterator[str]:
        """The lines from i on, with their breaks."""
        text, starts = self.text, self.starts
        for k in range(i, len(starts) - 1):
            yield text[starts[k] : starts[k + 1]]
        if i < len(starts):
            yield text[starts[-1] :]


def dialect(lines: Lines, first: int, chosen: str | None) -> tuple[str, int | None]:
    """The separator, and which record (counted from `first`) is the heading line; None where none is found.

    The separator is the one under which some early record looks most like headings: the first of the
    records that name the most columns.
    """
    best, most, at = chosen or ",", 0, None
    for mark in (chosen,) if chosen else DELIMITERS:
        for number, record in enumerate(records(lines, first, mark, 0)):
            if number >= LOOK:
                break
            score = heading_score(record.cells or [])
            if score > most:
                best, most, at = mark, score, number
    return best, at


def records(lines: Lines, first: int, mark: str, width: int) -> Iterator[Record]:
    """Each record that is not blank; a quote that never closes costs one line.

    `width` is the number of headings (0: not known): a record of several lines that has another number of
    cells was closed by accident, and its first line is taken for the broken one.
    """
    i, total = first, len(lines)
    while i < total:
        reader = csv.reader(lines.since(i), delimiter=mark, strict=True)
        begun = i
        try:
            for cells in reader:
                after = begun + reader.line_num
                if after - i > 1 and width and len(cells) != width:
                    break
                if cells and not (len(cells) == 1 and not cells[0].strip()):
                    yield Record(i, lines.starts[i], lines.end(after - 1), cells)
                i = after
            else:
                return
        except csv.Error:
            pass
        found, used = _lenient(lines, i, mark, width)
        if found is None or any(c.strip() for c in found):
            yield Record(i, lines.starts[i], lines.end(i + used - 1), found, strict=False)
        i += used


def _lenient(lines: Lines, i: int, mark: str, width: int) -> tuple[list[str] | None, int]:
    """The cells of a record that is not strictly formed, and the lines it takes; None when a quote stays open.

    A quote opens a cell only at the cell's start; inside, "" is a quote, and a quote followed by anything
    but a separator is part of the text.
    """
    cells: list[str] = []
    line, used, at = lines.line(i), 1, 0
    while at >= 0:
        if line.startswith('"', at):
            parts: list[str] = []
            at += 1
            while True:
                end = line.find('"', at)
                if end < 0:
                    if i + used >= len(lines) or used >= _MOST_QUOTED_LINES:
                        return None, 1
                    parts.append(line[at:] + "\n")
                    line, at, used = lines.line(i + used), 0, used + 1
                    if sum(map(len, parts)) > MOST_CELL:
                        return None, 1
                elif line.startswith('"', end + 1):
                    parts.append(line[at : end + 1])
                    at = end + 2
                elif end + 1 == len(line) or line.startswith(mark, end + 1):
                    parts.append(line[at:end])
                    at = end + 2 if end + 1 < len(line) else -1
                    break
                else:
                    parts.append(line[at : end + 1])
                    at = end + 1
            cells.append("".join(parts))
        else:
            end = line.find(mark, at)
            cells.append(line[at:] if end < 0 else line[at:end])
            at = end + 1 if end >= 0 else -1
    if used > 1 and width and len(cells) != width:
        return None, 1
    return cells, used


@dataclass(frozen=True, eq=False, slots=True)
class Body:
    """The rows under the headings: a Column a heading, and for each row its line (from 1) and its text's place."""

    columns: list[Column] = field(repr=False)
    lines: np.ndarray = field(repr=False)
    starts: np.ndarray = field(repr=False)
    ends: np.ndarray = field(repr=False)
    broken: list[Broken]


def split_body(lines: Lines, first: int, mark: str, width: int) -> Body:
    """All rows from line `first` on, under `width` headings."""
    broken: list[Broken] = []
    found = array("q")
    spans: list[tuple[int, int]] = []
    odd: dict[int, list[str]] = {}  # rows that are uneven or break the rules, by hand
    for record in _walk(lines, first, mark, width):
        used = width if record.cells is None else _used(record.cells, width)
        if record.cells is None:
            broken.append(open_quote(record, lines))
        elif used > width:
            broken.append(_too_many(record, lines, used, width))
        else:
            if len(record.cells) != width or not record.strict:
                odd[len(found) // 3] = (record.cells + [""] * width)[:width]
            elif spans and spans[-1][1] == record.start:
                spans[-1] = (spans[-1][0], record.end)
            else:
                spans.append((record.start, record.end))
            found.extend((record.line, record.start, record.end))
    places = np.frombuffer(found, dtype=np.int64).reshape(-1, 3)
    columns = _columns(lines.text, spans, mark, width, len(places), odd)
    if columns is None:
        columns = _by_hand(lines, first, mark, width)
    return Body(columns, places[:, 0] + 1, places[:, 1].copy(), places[:, 2].copy(), broken)


def _walk(lines: Lines, first: int, mark: str, width: int) -> Iterator[Record]:
    """Records, cheaply where the text has no quotes: there only the number of cells is needed."""
    text = lines.text
    if '"' in text or ("\r" in text and text.count("\r") != text.count("\r\n")):
        yield from records(lines, first, mark, width)
        return
    blank = [""] * width
    for i, line in enumerate(lines.since(first), start=first):
        marks = line.count(mark)
        if marks + 1 == width > 1:
            yield Record(i, lines.starts[i], lines.end(i), blank)
        elif not line.isspace():
            cells = lines.line(i).split(mark)
            yield Record(i, lines.starts[i], lines.end(i), cells)


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


def _too_many(record: Record, lines: Lines, used: int, width: int) -> Broken:
    return Broken(
        record.line + 1,
        f"{used} cells",
        f"has {used} cells under {width} headings, so its cells may have slipped sideways",
        'Put quotes round a cell that holds the separator ("$1,150"), or give the last cells a heading.',
        lines.text[record.start : record.end].rstrip("\r\n"),
    )


class _Pieces:
    """The wanted spans of a text, as a file that pandas can read from without a second copy."""

    def __init__(self, text: str, spans: list[tuple[int, int]]) -> None:
        self._text, self._spans, self._k = text, spans, 0
        self._at = spans[0][0] if spans else 0

    def read(self, size: int = -1) -> str:
        """The next at most `size` characters; a span's end ends a piece."""
        if self._k >= len(self._spans):
            return ""
        end = self._spans[self._k][1]
        stop = end if size < 0 else min(end, self._at + size)
        piece = self._text[self._at : stop]
        self._at = stop
        if stop == end:
            self._k += 1
            self._at = self._spans[self._k][0] if self._k < len(self._spans) else 0
        return piece

    def __iter__(self) -> Iterator[str]:
        return iter(lambda: self.read(65_536), "")


def _columns(
    text: str,
    spans: list[tuple[int, int]],
    mark: str,
    width: int,
    rows: int,
    odd: dict[int, list[str]],
) -> list[Column] | None:
    """The columns of well-formed spans, with the `odd` rows put in at their places; None where the number of
    rows pandas sees is not ours."""
    frame = _tokenised(text, spans, mark, width)
    if frame is None or len(frame) + len(odd) != rows:
        return None
    places = np.fromiter(odd, dtype=np.int64, count=len(odd))
    even = np.ones(rows, dtype=bool)
    even[places] = False
    columns = []
    for place in range(width):
        cells = frame[place].to_numpy()
        del frame[place]
        if odd:
            whole = np.empty(rows, dtype=object)
            whole[even] = cells
            whole[places] = [row[place] for row in odd.values()]
            cells = whole
        columns.append(column_of(cells))
    return columns


def _tokenised(
    text: str, spans: list[tuple[int, int]], mark: str, width: int
) -> pd.DataFrame | None:
    if not spans:
        return pd.DataFrame({place: np.empty(0, dtype=object) for place in range(width)})
    try:
        return pd.read_csv(
            _Pieces(text, spans),  # type: ignore[arg-type]
            sep=mark,
            header=None,
            names=range(width),
            index_col=False,
            dtype=str,
            na_filter=False,
            skip_blank_lines=False,
            engine="c",
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError):
        return None


def _by_hand(lines: Lines, first: int, mark: str, width: int) -> list[Column]:
    """The columns cell by cell: slower, for text that has stray carriage returns."""
    rows = []
    for record in _walk(lines, first, mark, width):
        cells = record.cells
        if cells is not None and _used(cells, width) <= width:
            rows.append((cells + [""] * width)[:width])
    return [column_of(list(c)) for c in zip(*rows, strict=True)]
