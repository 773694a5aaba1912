"""Delimited text -> records: where each begins and its cells (RFC 4180 and its neighbours)."""

from __future__ import annotations

import csv
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from fleetlib.records.files.headings import first_headings, heading_score

DELIMITERS = (",", ";", "\t", "|")
LOOK = 60  # records in which the heading line is looked for
MOST_COLUMNS = 1000  # cells of a line that are looked at for headings
MOST_CELL = 100_000  # characters in one cell
_MOST_QUOTED_LINES = 100  # lines one quoted cell may run over


@dataclass(frozen=True, slots=True)
class Record:
    """One record: the index of its first line, where its text begins and ends, its cells (None: broken)."""

    line: int
    start: int
    end: int
    cells: list[str] | None


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

    The separator is the one under which some early record looks most like headings; the headings are the first
    record there that comes near it (`first_headings`).
    """
    best, scores = chosen or ",", [0]
    for mark in (chosen,) if chosen else DELIMITERS:
        found = [
            heading_score((record.cells or [])[:MOST_COLUMNS])
            for record in islice(records(lines, first, mark, 0), LOOK)
        ]
        if max(found, default=0) > max(scores):
            best, scores = mark, found
    return best, first_headings(scores)


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
        found, used = lenient_record(lines, i, mark, width)
        if found is None or any(c.strip() for c in found):
            yield Record(i, lines.starts[i], lines.end(i + used - 1), found)
        i += used


def lenient_record(lines: Lines, i: int, mark: str, width: int) -> tuple[list[str] | None, int]:  # noqa: C901 - one reading of a line, case by case
    """The cells of a record that is not strictly formed, and the lines it takes; None when a quote stays open.

    A quote opens a cell only at the cell's start; inside, "" is a quote. On one line a quote followed by
    anything but a separator is part of the text; in a cell over several lines it shows that a quote was
    left open.
    """
    cells: list[str] = []
    line, used, at = lines.line(i), 1, 0
    while at >= 0:
        if line.startswith('"', at):
            parts: list[str] = []
            literal = False
            at += 1
            while True:
                end = line.find('"', at)
                if end < 0:
                    if literal or i + used >= len(lines) or used >= _MOST_QUOTED_LINES:
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
                elif used > 1:
                    return None, 1
                else:
                    parts.append(line[at : end + 1])
                    at, literal = end + 1, True
            cells.append("".join(parts))
        else:
            end = line.find(mark, at)
            cells.append(line[at:] if end < 0 else line[at:end])
            at = end + 1 if end >= 0 else -1
    if used > 1 and width and len(cells) != width:
        return None, 1
    return cells, used
