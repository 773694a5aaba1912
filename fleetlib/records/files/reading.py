"""A file -> a table of text with the line of every row. Nothing is interpreted here.

CSV in any of its dialects and .xlsx workbooks. The bytes decide what a file is, never its name alone.
"""

from __future__ import annotations

import codecs
import contextlib
import csv
import re
from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import NamedTuple

import numpy as np

from fleetlib.base.errors import BadRecords, MissingRecords
from fleetlib.base.opening import content_of, is_folder, is_there
from fleetlib.base.unseen import UNSEEN, has_unseen, made_visible, without_unseen
from fleetlib.records.files.csv_records import DELIMITERS, Lines, Record, dialect, records
from fleetlib.records.files.splitting import (
    BROKE_OFF,
    Body,
    Broken,
    broken_off,
    open_quote,
    split_body,
)
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.text_table import (
    Hidden,
    RowTexts,
    TextTable,
    no_headings,
    refuse_rows_above,
    shown_above,
)

MOST_BYTES = 50_000_000  # a record of 200,000 pieces is a fifth of this

_OTHER_FORMATS: tuple[tuple[bytes, str], ...] = (
    (b"\xd0\xcf\x11\xe0", "an old Excel workbook (.xls)"),
    (b"%PDF", "a PDF"),
    (b"{\\rtf", "a rich text document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"SQLite format 3", "a database"),
)


def read_table(
    path: str | Path, *, sheet: str | None = None, sheets: Mapping[str, bool] | None = None
) -> TextTable:
    """The text table in the file at `path`; `sheet` names a sheet of a workbook, `sheets` (in small letters) those
    that are to be read and not to be read.

    Raises MissingRecords where there is no file, BadRecords where it cannot be read as a record.
    """
    place = Path(path)
    if is_folder(place, refusal=BadRecords):
        raise BadRecords(
            f"{place} is a folder; name the file, or read the folder with read_records."
        )
    if not is_there(place, refusal=BadRecords):
        raise MissingRecords(f"There is no file at {place}.")
    data = content_of(place, most=MOST_BYTES)
    if not data:
        raise BadRecords(
            f"{place.name} is empty. Fill in the record sheet, or export your spreadsheet as CSV."
        )
    if data[:2] == b"PK":
        from fleetlib.records.files.workbook import read_workbook

        return read_workbook(data, name=place.name, sheet=sheet, sheets=sheets)
    _refuse_other_formats(data, place)
    found = decode(data, name=place.name)
    del data
    return _from_text(found, place.name)


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


class Decoded(NamedTuple):
    """A file's bytes as text without characters that cannot be seen; `hidden` holds the lines that had any.

    `hidden` is (number of the line, the line as it stood); line breaks are LF or CRLF.
    """

    text: str
    notes: list[str]
    hidden: list[tuple[int, str]]


def decode(data: bytes, *, name: str = "the file") -> Decoded:
    """Bytes as text: UTF-8 (with or without a mark), UTF-16 by its mark or its zeros, else cp1252 and said so.

    Lone CRs that are line breaks become LF (`one_break`); characters that cannot be seen (`base/unseen.py`) are
    taken out and their lines listed. Raises BadRecords for what is no text.
    """
    text, notes = _decoded(data, name)
    text = one_break(text)
    if not has_unseen(text):
        return Decoded(text, notes, [])
    if len(UNSEEN.findall(text)) * _MOST_UNSEEN > len(text):
        raise BadRecords(_NO_TEXT.format(name=name))
    hidden = [(n, line) for n, line in enumerate(text.split("\n"), 1) if has_unseen(line)]
    return Decoded(without_unseen(text), notes, hidden)


_MOST_UNSEEN = 20  # a text with more than one in so many characters that cannot be seen is none
_NO_TEXT = "{name} is not a text file. Save your spreadsheet as CSV or .xlsx and read that."


def _decoded(data: bytes, name: str) -> tuple[str, list[str]]:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _utf16(data, "utf-16", name), []
    zeros, odd = data[:2000].count(0), data[1:2000:2].count(0)
    if zeros * _MOST_UNSEEN > len(data[:2000]):
        if zeros * 3 < len(data[:2000]) or min(odd, zeros - odd) * 10 > zeros:
            raise BadRecords(_NO_TEXT.format(name=name))
        return _utf16(data, "utf-16-le" if odd * 2 > zeros else "utf-16-be", name), []
    with contextlib.suppress(UnicodeDecodeError):
        return data.decode("utf-8-sig"), []
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
    return text, [said]


def _utf16(data: bytes, kind: str, name: str) -> str:
    try:
        return data.decode(kind).lstrip("\ufeff")
    except UnicodeDecodeError:
        raise BadRecords(f'{name} is damaged UTF-16 text. Save it again as "CSV UTF-8".') from None


@dataclass(frozen=True, eq=False, slots=True)
class Rows:
    """The rows of a small file beside the record; the first holds its headings."""

    rows: list[list[str]] = field(repr=False)
    lines: list[int] = field(repr=False)
    texts: list[str] = field(repr=False)
    broken: list[Broken]
    notes: list[str]


def read_rows(path: Path, *, grows: bool = False) -> Rows:
    """All records of a delimited file, with the line each begins on; `grows`: it is one that rows are added to."""
    data = content_of(path, most=MOST_BYTES)
    _refuse_other_formats(data, path)
    text, notes, hidden = decode(data, name=path.name)
    if grows and data and not in_our_form(data):
        notes.append(
            f"{path.name} was left by another program in a form of its own ({_form(data)}). All of it is read; the "
            "next entry that is logged first writes it anew, whole, as UTF-8."
        )
    if hidden:
        where = ", ".join(str(n) for n, _ in hidden[:6])
        notes.append(
            f"{path.name} held characters that cannot be seen (line {where}); they were left out."
        )
    head, mark = first_line(text)
    lines = Lines(text)
    made = Rows([], [], [], [], notes)
    unfinished = torn(text, mark, len(head))
    first = 1 if len(lines) and _SEP.fullmatch(lines.line(0).strip()) else 0
    while first < len(lines) and is_comment(lines.line(first)):
        first += 1
    for record in records(lines, first, mark, len(head)):
        if record.cells is None:
            made.broken.append(open_quote(record, lines))
        elif made.rows and (
            (unfinished is not None and record.end == len(text))
            or (len(record.cells) > len(head) and record.cells[-1] == BROKE_OFF)
        ):
            made.broken.append(broken_off(record, lines))
        else:
            made.rows.append(record.cells)
            made.lines.append(record.line + 1)
            made.texts.append(lines.text[record.start : record.end].rstrip("\r\n"))
    return made


def in_our_form(data: bytes) -> bool:
    """UTF-8, with or without a mark at the start, and no line ends but LF and CRLF."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return text.count("\0") * _MOST_UNSEEN <= len(text) and one_break(text) is text


def _form(data: bytes) -> str:
    if data.count(0) * _MOST_UNSEEN > len(data):
        return "UTF-16"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "Windows text"
    return "with old line ends"


def one_break(text: str) -> str:
    """`text` with LF for its line breaks where they are lone CRs (old Mac).

    Where the first line ends on a CR, or they outnumber the LFs, each of them is a line break; else each right
    after a quoted cell, so that no row is taken for a part of the note before it.
    """
    if "\r" not in text:
        return text
    lone = text.count("\r") - text.count("\r\n")
    if not lone:
        return text
    first = re.search(r"\r\n?|\n", text.lstrip("\r\n"))
    if (first and first.group() == "\r") or lone > text.count("\n"):
        return text.replace("\r\n", "\n").replace("\r", "\n")
    made = _QUOTED.sub(lambda m: m[1] + "\n" if m[2] else m[1], text)
    return text if made == text else made


_QUOTED = re.compile(r'((?:(?<=[,;\t|\r\n])|\A)"[^"]*(?:""[^"]*)*"(?=[,;\t|\r\n]|\Z))(\r(?!\n))?')
_SEP = re.compile(r'"?sep=(.)"?[,;\t|]*')


def is_comment(line: str) -> bool:
    """Whether a line above the headings only explains the file."""
    return line.lstrip('\ufeff "').startswith("# ")


def first_line(text: str) -> tuple[list[str], str]:
    """The headings of a small file of ours and its separator: the most frequent one of the first filled line."""
    rest = re.finditer(r"[^\r\n]*[^\s][^\r\n]*", text)
    lines = (m.group() for m in rest)
    head = next((n for n in lines if not _SEP.fullmatch(n.strip()) and not is_comment(n)), "")
    mark = max(DELIMITERS, key=head.count)
    return next(csv.reader([head], delimiter=mark), []), mark


def torn(text: str, mark: str, width: int) -> tuple[bool, int] | None:
    """Whether the last line broke off: it has no line end, and fewer cells than the `width` headings.

    Returns whether a quote is open there and how many cells are missing; None where the line is whole.
    """
    if not text or text.endswith(("\n", "\r")):
        return None
    begin = max(text.rfind("\n"), text.rfind("\r")) + 1
    last = text[begin:]
    quoted = last.count('"') % 2 == 1
    if quoted != (text.count('"') % 2 == 1):
        return None  # a cell over several lines ends or is left open here: nothing to be told
    cells = next(csv.reader([last + '"' if quoted else last], delimiter=mark), [])
    if begin == 0 or not last.strip() or (len(cells) >= width and not quoted):
        return None
    return quoted, max(width - len(cells), 0)


def table_from_text(text: str, *, name: str) -> TextTable:
    """The text table in delimited text. Raises BadRecords where no heading line is found."""
    return _from_text(Decoded(one_break(text), [], []), name)


def _from_text(found: Decoded, name: str) -> TextTable:
    lines = Lines(found.text)
    first, mark = 0, None
    chosen = _SEP.fullmatch(lines.line(0).strip()) if len(lines) else None
    if chosen:
        mark, first = chosen[1], 1
    mark, at = dialect(lines, first, mark)
    above: list[list[str]] = []
    for number, record in enumerate(records(lines, first, mark, 0)):
        if number == at and record.cells:
            break
        above.append(record.cells or [])
    else:
        raise BadRecords(no_headings(above, name))
    headings = _headings(record.cells)
    refuse_rows_above(above, headings, name)
    begin = _line_at(lines, record.end)
    lines, broken = _without_torn(lines, begin, mark, len(headings))
    body = split_body(lines, begin, mark, len(headings))
    body.broken.extend(broken)
    table = _table(name, headings, body, above, found.notes, lines.text)
    table.hidden.extend(_hidden_cells(found.hidden, mark))
    return table


def _without_torn(lines: Lines, begin: int, mark: str, width: int) -> tuple[Lines, list[Broken]]:
    """The lines without a last one that broke off, and that one; a record whose rows are written short has none."""
    missing = torn(lines.text, mark, width)
    last = len(lines) - 1
    if missing is None or last <= begin:
        return lines, []
    full = [
        len(r.cells or []) >= width
        for r in islice(records(lines, begin, mark, width), _ROWS_TO_TELL)
        if r.line < last
    ]
    if not full or not all(full):
        return lines, []
    whole = Record(last, lines.starts[last], len(lines.text), None)
    return Lines(lines.text[: lines.starts[last]]), [broken_off(whole, lines)]


_ROWS_TO_TELL = 200  # that many rows tell whether a record's rows are written in full


def _hidden_cells(hidden: list[tuple[int, str]], mark: str) -> Iterator[Hidden]:
    """The cells of the lines that held characters that cannot be seen, each as it was and as it was read."""
    for number, line in hidden:
        for place, cell in enumerate(
            next(csv.reader([line.rstrip("\r").replace("\r", " ")], delimiter=mark), [])
        ):
            if has_unseen(cell):
                yield Hidden(number, place, made_visible(cell), without_unseen(cell))


def _line_at(lines: Lines, offset: int) -> int:
    return bisect_left(lines.starts, offset)


def _headings(cells: list[str]) -> list[str]:
    return [" ".join(c.split()) for c in cells]


def _table(
    name: str,
    headings: list[str],
    body: Body,
    above: list[list[str]],
    notes: list[str],
    text: str,
) -> TextTable:
    keep = not_blank(body.columns, len(body.lines))
    lines, starts, ends = body.lines, body.starts, body.ends
    columns = body.columns
    if not keep.all():
        columns = [c.rows(keep) for c in columns]
        lines, starts, ends = lines[keep], starts[keep], ends[keep]
    return TextTable(
        name,
        headings,
        columns,
        lines,
        RowTexts(text, starts, ends),
        body.broken,
        shown_above(above),
        notes,
    )


def not_blank(columns: list[TextColumn], rows: int) -> np.ndarray:
    """Which rows hold anything but spaces."""
    found = np.zeros(rows, dtype=bool)
    for column in columns:
        filled = np.fromiter((bool(t.strip()) for t in column.texts), bool, len(column.texts))
        if len(filled):
            found |= filled[column.codes]
        if found.all():
            break
    return found
