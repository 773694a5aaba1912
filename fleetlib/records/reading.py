"""A file -> a table of text with the line of every row. Nothing is interpreted here.

CSV in any of its dialects and .xlsx workbooks. The bytes decide what a file is, never its name alone.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fleetlib.errors import BadRecords, MissingRecords
from fleetlib.records.headings import header_row, heading_score

MOST_BYTES = 50_000_000  # a record of 200,000 pieces is a fifth of this
MOST_CELL = 100_000  # characters in one cell
MOST_COLUMNS = 1000
_LOOK = 60  # lines in which the heading line is looked for
_MOST_QUOTED_LINES = 100  # lines one quoted cell may run over
_DELIMITERS = (",", ";", "\t", "|")

_OTHER_FORMATS: tuple[tuple[bytes, str], ...] = (
    (b"\xd0\xcf\x11\xe0", "an old Excel workbook (.xls)"),
    (b"%PDF", "a PDF"),
    (b"{\\rtf", "a rich text document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"SQLite format 3", "a database"),
)


@dataclass(frozen=True, slots=True)
class Broken:
    """A line that is no row of cells, with what is wrong and how to mend it."""

    line: int
    value: str
    reason: str
    remedy: str
    text: str


@dataclass(frozen=True, eq=False, slots=True)
class TextTable:
    """The rows below the heading line, as text.

    `columns` holds one list of cells a heading, `lines` the line (row of a workbook) where each row
    begins, `texts` each row as it stood. `above` are the lines above the headings.
    """

    name: str
    headings: list[str]
    columns: list[list[str]] = field(repr=False)
    lines: list[int] = field(repr=False)
    texts: list[str] = field(repr=False)
    broken: list[Broken]
    above: list[str]
    notes: list[str]
    epoch_1904: bool = False


def read_table(path: str | Path, *, sheet: str | None = None) -> TextTable:
    """The text table in the file at `path`; `sheet` names a sheet of a workbook.

    Raises MissingRecords where there is no file, BadRecords where it cannot be read as a record.
    """
    place = Path(path)
    if place.is_dir():
        raise BadRecords(
            f"{place} is a folder; name the file, or read the folder with read_records."
        )
    if not place.is_file():
        raise MissingRecords(f"There is no file at {place}.")
    size = place.stat().st_size
    if size == 0:
        raise BadRecords(
            f"{place.name} is empty. Fill in the record sheet, or export your spreadsheet as CSV."
        )
    if size > MOST_BYTES:
        raise BadRecords(
            f"{place.name} is {size / 1e6:,.0f} MB; a record may be up to {MOST_BYTES / 1e6:,.0f} MB. "
            f"Export only the sheet with the pieces, as CSV."
        )
    data = place.read_bytes()
    if data[:2] == b"PK":
        from fleetlib.records.workbook import read_workbook

        return read_workbook(data, name=place.name, sheet=sheet)
    _refuse_other_formats(data, place)
    text, notes = decode(data, name=place.name)
    del data
    return table_from_text(text, name=place.name, notes=notes)


def _refuse_other_formats(data: bytes, place: Path) -> None:
    for start, what in _OTHER_FORMATS:
        if data.startswith(start):
            raise BadRecords(
                f"{place.name} is {what}. Open it in your spreadsheet program and save it as CSV "
                f'(in "Save as", choose "CSV UTF-8") or as .xlsx.'
            )
    if re.match(rb"\s*(?:<!doctype html|<html|<\?xml)", data[:200].lower()):
        raise BadRecords(
            f"{place.name} is a web page or XML. Open it in your spreadsheet program and save it as CSV."
        )


def decode(data: bytes, *, name: str = "the file") -> tuple[str, list[str]]:
    """Bytes as text: UTF-8 (with or without a mark), UTF-16 by its mark or its zeros, else cp1252 and said so."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _utf16(data, "utf-16", name), []
    zeros = data[:2000].count(0)
    if zeros:
        odd = data[1:2000:2].count(0)
        if zeros * 3 < len(data[:2000]) or min(odd, zeros - odd) * 10 > zeros:
            raise BadRecords(
                f"{name} is not a text file. Save your spreadsheet as CSV or .xlsx and read that."
            )
        return _utf16(data, "utf-16-le" if odd * 2 > zeros else "utf-16-be", name), []
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    else:
        return _no_nul(text, name), []
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as problem:
        raise BadRecords(
            f"{name} is in no text encoding that can be told (byte {problem.start + 1}). "
            f'Save it again as "CSV UTF-8".'
        ) from None
    said = (
        f"{name} is not UTF-8; it was read as Windows text (cp1252). If accents or signs look wrong, save it "
        f'again as "CSV UTF-8".'
    )
    return _no_nul(text, name), [said]


def _utf16(data: bytes, kind: str, name: str) -> str:
    try:
        return _no_nul(data.decode(kind).lstrip("\ufeff"), name)
    except UnicodeDecodeError:
        raise BadRecords(f'{name} is damaged UTF-16 text. Save it again as "CSV UTF-8".') from None


def _no_nul(text: str, name: str) -> str:
    if "\0" in text:
        raise BadRecords(
            f"{name} is not a text file. Save your spreadsheet as CSV or .xlsx and read that."
        )
    return text


@dataclass(frozen=True, eq=False, slots=True)
class Rows:
    """Records of a delimited text, before any heading is looked for."""

    rows: list[list[str]] = field(repr=False)
    starts: list[int] = field(repr=False)
    texts: list[str] = field(repr=False)
    broken: list[Broken]
    notes: list[str]


def read_rows(path: Path) -> Rows:
    """All records of a small delimited file beside the record; the first is its headings."""
    data = path.read_bytes()
    if len(data) > MOST_BYTES:
        raise BadRecords(f"{path.name} is {len(data) / 1e6:,.0f} MB, which is too much to read.")
    _refuse_other_formats(data, path)
    text, notes = decode(data, name=path.name)
    lines = _lines(text)
    head = next((ln for ln in lines if ln.strip()), "")
    mark = max(_DELIMITERS, key=head.count)
    return _split(lines, 0, mark, head.count(mark) + 1, notes)


def table_from_text(text: str, *, name: str, notes: list[str] | None = None) -> TextTable:
    """The text table in delimited text. Raises BadRecords where no heading line is found."""
    lines = _lines(text)
    del text
    first, delimiter = 0, None
    chosen = re.fullmatch(r'"?sep=(.)"?[,;\t|]*', lines[0].strip("\r\n "))
    if chosen:
        delimiter, first = chosen[1], 1
    delimiter, width = _dialect(lines, first, delimiter)
    found = _split(lines, first, delimiter, width, list(notes or []))
    return arrange(found, name=name, delimited=True)


def _split(lines: list[str], first: int, mark: str, width: int, notes: list[str]) -> Rows:
    rows: list[list[str]] = []
    starts: list[int] = []
    texts: list[str] = []
    broken: list[Broken] = []
    intern: Any = {}.setdefault  # one string for all equal cells: spreadsheets repeat themselves
    for start, cells, raw in _records(lines, first, mark, broken, width):
        rows.append(list(map(intern, cells, cells)))
        starts.append(start + 1)
        texts.append(raw)
    return Rows(rows, starts, texts, broken, notes)


def _lines(text: str) -> list[str]:
    """Lines without their line feed (or, where there is none, carriage return); one before it stays."""
    return text.split("\n" if "\n" in text else "\r")


def _dialect(lines: list[str], first: int, chosen: str | None) -> tuple[str, int]:
    """The separator under which some early record looks most like headings, and how many cells that has."""
    early = lines[first : first + _LOOK]
    best, most, width = chosen or ",", 0, 0
    for mark in (chosen,) if chosen else _DELIMITERS:
        for _, cells, _raw in _records(early, 0, mark, [], 0):
            score = heading_score(cells)
            if score > most:
                best, most, width = mark, score, len(cells)
    return best, width


def _records(
    lines: list[str], first: int, mark: str, broken: list[Broken], width: int
) -> Iterator[tuple[int, list[str], str]]:
    """Each record as (index of its first line, cells, its text). A quote that never closes costs one line."""
    i, total = first, len(lines)
    while i < total:
        line = lines[i]
        if line.endswith("\r"):
            line = line[:-1]
        if '"' not in line:
            if line and not line.isspace():
                yield i, line.split(mark), line
            i += 1
            continue
        cells, used = _quoted(lines, i, mark, width)
        raw = line if used == 1 else "\n".join(lines[i : i + used]).removesuffix("\r")
        if cells is None:
            broken.append(
                Broken(
                    i + 1,
                    "",
                    "a quote opens on this line and never closes",
                    'Take the quote out, or write it twice ("") inside a quoted cell.',
                    line,
                )
            )
        elif any(cells):
            yield i, cells, raw
        i += used


def _quoted(lines: list[str], i: int, mark: str, width: int) -> tuple[list[str] | None, int]:
    """The cells of the record that begins on line `i`, and the number of lines it takes.

    A quote opens a cell only at the cell's start; inside, "" is a quote; a quote followed by anything
    but a separator is taken as part of the text. None when a cell never closes, or when a record of
    several lines does not have the `width` cells of the headings (0: not checked), so that a quote
    closed it by accident.
    """
    cells: list[str] = []
    line = lines[i].removesuffix("\r")
    used, at = 1, 0
    while True:
        if not line.startswith('"', at):
            end = line.find(mark, at)
            cells.append(line[at:] if end < 0 else line[at:end])
        else:
            parts: list[str] = []
            at += 1
            while True:
                end = line.find('"', at)
                if end < 0:
                    if i + used >= len(lines) or used >= _MOST_QUOTED_LINES:
                        return None, 1
                    parts.append(line[at:])
                    lost = lines[i + used - 1].endswith("\r")
                    parts.append("\r\n" if lost else "\n")
                    line, at = lines[i + used].removesuffix("\r"), 0
                    used += 1
                    if sum(map(len, parts)) > MOST_CELL:
                        return None, 1
                elif line.startswith('"', end + 1):
                    parts.append(line[at:end] + '"')
                    at = end + 2
                elif end + 1 == len(line) or line.startswith(mark, end + 1):
                    parts.append(line[at:end])
                    end += 1
                    break
                else:
                    parts.append(line[at : end + 1])
                    at = end + 1
            cells.append("".join(parts))
            if end >= len(line):
                end = -1
        if end < 0:
            break
        at = end + 1
    if used > 1 and width and len(cells) != width:
        return None, 1
    return cells, used


def arrange(found: Rows, *, name: str, delimited: bool, epoch_1904: bool = False) -> TextTable:
    """Rows of cells as a TextTable: find the heading line, even the rows out, leave blank ones out."""
    rows, starts, texts, broken = found.rows, found.starts, found.texts, found.broken
    at = header_row(rows[:_LOOK])
    if at is None:
        raise BadRecords(_no_headings(rows, name))
    headings = [c.strip() for c in rows[at]]
    while headings and not headings[-1]:
        headings.pop()
    above = [" ".join(c.strip() for c in r if c.strip()) for r in rows[:at]]
    header_line = starts[at]
    body = range(at + 1, len(rows))
    width = len(headings)
    longest = max((_used(rows[i]) for i in body), default=width)
    if not delimited and longest > width:  # a workbook's cells cannot slip sideways
        headings += [""] * (min(longest, MOST_COLUMNS) - width)
        width = len(headings)
    kept: list[int] = []
    for i in body:
        row = rows[i]
        used = _used(row)
        if used == 0:
            continue
        if used > width:
            broken.append(
                Broken(
                    starts[i],
                    f"{used} cells",
                    f"has {used} cells under {width} headings, so its cells may have slipped sideways",
                    'Put quotes round a cell that holds the separator ("$1,150"), or give the last cells a heading.',
                    texts[i],
                )
            )
            continue
        if len(row) < width:
            row.extend([""] * (width - len(row)))
        elif len(row) > width:
            del row[width:]
        kept.append(i)
    columns = [list(c) for c in zip(*(rows[i] for i in kept), strict=True)] if kept else []
    return TextTable(
        name,
        headings,
        columns or [[] for _ in headings],
        [starts[i] for i in kept],
        [texts[i] for i in kept],
        [b for b in broken if b.line > header_line],
        [a for a in above if a],
        found.notes,
        epoch_1904,
    )


def _used(row: list[str]) -> int:
    """The number of cells up to the last one that holds anything."""
    n = len(row)
    while n and (not row[n - 1] or row[n - 1].isspace()):
        n -= 1
    return n


def _no_headings(rows: list[list[str]], name: str) -> str:
    shown = next((r for r in rows if any(c.strip() for c in r)), [])
    found = ", ".join(c.strip() for c in shown if c.strip())[:120]
    said = f"The first line is: {found}." if found else "It holds no cells."
    return (
        f"{name}: no line of headings was found that has a column for the kind of piece "
        f'(a heading such as "furniture_type" or "type"). {said}'
    )
