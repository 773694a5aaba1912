"""An .xlsx workbook -> a table of text. Stored values only: no formula is worked out, nothing is fetched."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

import numpy as np

from fleetlib.base.currencies import CURRENCIES, MEANT_BY, SIGNS
from fleetlib.base.errors import BadRecords
from fleetlib.base.unseen import has_unseen, made_visible, without_unseen
from fleetlib.records.files.csv_records import LOOK, MOST_COLUMNS
from fleetlib.records.files.headings import WORDS_ALONE, header_row, heading_score
from fleetlib.records.files.sheets import joined, same_headings, shared
from fleetlib.records.files.text_columns import column_of
from fleetlib.records.files.text_table import (
    Hidden,
    RowTexts,
    TextTable,
    no_headings,
    refuse_rows_above,
    shown_above,
)

MOST_UNPACKED = 200_000_000  # bytes, all parts of the workbook together
MOST_RATIO = 200  # unpacked bytes for a packed one; record sheets stay under 30
MOST_PARTS = 2000
MOST_ROWS = 300_000


def read_workbook(
    data: bytes,
    *,
    name: str,
    sheet: str | None = None,
    sheets: Mapping[str, bool] | None = None,
) -> TextTable:
    """The text table in a workbook's bytes: the sheet named, or the one with the best heading line and all others
    under the same headings. `sheets` are those (in small letters) that were said to be read, or not to be.

    Raises BadRecords for what is no workbook, is damaged, unpacks to too much or has no such sheet.
    """
    _refuse_bombs(data, name)
    import openpyxl
    from defusedxml.common import DefusedXmlException

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of drop-downs and styles it leaves out
            book = openpyxl.load_workbook(
                io.BytesIO(data), read_only=True, data_only=True, keep_links=False
            )
            return _chosen(book, data, name, sheet, sheets)
    except BadRecords:
        raise
    except Exception as problem:  # openpyxl raises many kinds for a damaged file
        if isinstance(problem, DefusedXmlException) or isinstance(
            problem.__cause__, DefusedXmlException
        ):
            raise BadRecords(
                f"{name} holds XML that no spreadsheet program writes; it is not opened."
            ) from problem
        raise BadRecords(
            f"{name} is damaged or no workbook ({type(problem).__name__}). Open it in your spreadsheet "
            f"program and save it again, or save it as CSV."
        ) from problem


def _refuse_bombs(data: bytes, name: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError) as problem:
        raise BadRecords(f"{name} is damaged. Save it again, or save it as CSV.") from problem
    names = {p.filename for p in parts}
    if "xl/workbook.xml" not in names:
        what = "an OpenDocument spreadsheet (.ods)" if "content.xml" in names else "a packed file"
        raise BadRecords(
            f'{name} is {what}. Open it in your spreadsheet program and save it as CSV ("CSV UTF-8") '
            f"or as .xlsx."
        )
    unpacked = sum(p.file_size for p in parts)
    if (
        unpacked > MOST_UNPACKED
        or len(parts) > MOST_PARTS
        or unpacked > 1_000_000 + MOST_RATIO * len(data)
    ):
        raise BadRecords(
            f"{name} unpacks to {unpacked / 1e6:,.0f} MB from {len(data) / 1e6:,.1f} MB; it is not opened. "
            f"Save only the sheet with the pieces, as CSV."
        )


def _chosen(
    book: Any, data: bytes, name: str, sheet: str | None, sheets: Mapping[str, bool] | None
) -> TextTable:
    names = [w.title for w in book.worksheets if w.sheet_state == "visible" or w.title == sheet]
    if sheet is not None:
        if sheet not in names:
            raise BadRecords(
                f'{name} has no sheet called "{sheet}". Its sheets are: {", ".join(names)}.'
            )
        names = [sheet]
    if not names:
        raise BadRecords(f"{name} has no sheets with cells.")
    said = sheets or {}
    named = [t for t in names if said.get(t.casefold())]
    scores = {t: _score(book, t) for t in names if said.get(t.casefold()) is not False}
    best = max(scores or {names[0]: 0}, key=lambda t: scores.get(t, 0))
    table = _sheet(book, data, name, best, [])
    tables, others = {best: table}, {}
    for title in (t for t, score in scores.items() if score > WORDS_ALONE and t != best):
        other = _sheet(book, data, name, title, [])
        if title in named or same_headings(table, other):
            tables[title] = other
        else:
            others[title] = shared(table, other)
    tables = {t: tables[t] for t in names if t in tables}
    made = joined(tables) if len(tables) > 1 else table
    if len(names) > len(tables):
        left = ", ".join(f'"{t}"' for t in names if t not in tables)
        read = " and ".join(f'"{t}"' for t in tables)
        made.notes.append(
            f"{name} has {len(names)} sheets; the pieces were read from {read}, not from {left}."
        )
    return replace(made, others=others, signs=_signs(book, tables))


def _signs(book: Any, titles: Iterable[str]) -> dict[str, int]:
    """How many numbers in the first rows of the sheets are shown with which sign of money, by their number formats."""
    found: Counter[str] = Counter()
    known: dict[str, str] = {}
    for title in titles:
        for row in book[title].iter_rows(max_row=_ROWS_OF_FORMATS, max_col=MOST_COLUMNS):
            for cell in row:
                if isinstance(cell.value, int | float) and cell.number_format != "General":
                    shown = cell.number_format
                    known[shown] = known.get(shown) or sign_in_format(shown)
                    found[known[shown]] += 1
    return {sign: n for sign, n in found.items() if sign}


def sign_in_format(shown: str) -> str:
    """The sign or code of money in a number format, small; "" where it has none.

    >>> sign_in_format('"\u00a3"#,##0'), sign_in_format("#,##0.00 [$\u20ac-407]")
    ('\u00a3', '\u20ac')
    >>> sign_in_format("[$$-C09]#,##0"), sign_in_format("0.0")
    ('aud', '')
    """
    first = shown.split(";")[0]
    placed = _PLACED.search(first)
    if placed and placed[1] == "$" and placed[2]:
        return _DOLLARS.get(placed[2].casefold(), "$")
    words = [placed[1]] if placed else [a or b for a, b in _QUOTED.findall(first)]
    for word in (w.strip().casefold() for w in words):
        if word in MEANT_BY or word.upper() in CURRENCIES:
            return word
    return ""


_ROWS_OF_FORMATS = 400
_PLACED = re.compile(r"\[\$([^\]-]+)(?:-([^\]]*))?\]")
_QUOTED = re.compile(rf'"([^"]+)"|([{"".join(map(re.escape, SIGNS))}])')
# The languages' numbers in such formats, as remembered: United States, Australia, Canada, New Zealand.
_DOLLARS = {"409": "usd", "c09": "aud", "1009": "cad", "1409": "nzd"}


def _score(book: Any, title: str) -> int:
    """How much the first lines of a sheet look like headings."""
    rows = [[_text(v) for v in row] for row in _values(book[title], 60)]
    return max(map(heading_score, rows), default=0)


def _values(sheet: Any, most_rows: int | None = None) -> Any:
    sheet.reset_dimensions()  # a stated extent can be wrong by a million rows; the cells decide
    return sheet.iter_rows(max_row=most_rows, max_col=MOST_COLUMNS, values_only=True)


def _sheet(book: Any, data: bytes, name: str, title: str, notes: list[str]) -> TextTable:
    formulas = _formulas(data, title)
    rows: list[list[str]] = []
    starts: list[int] = []
    hidden: list[Hidden] = []
    intern: Any = {}.setdefault
    for number, values in enumerate(_values(book[title]), start=1):
        cells = [_text(v) for v in values]
        for place, cell in enumerate(cells):
            if has_unseen(cell):
                cells[place] = without_unseen(cell)
                hidden.append(Hidden(number, place, made_visible(cell), cells[place]))
        for place in formulas.get(number, ()):
            if place < len(cells) and not cells[place]:
                cells[place] = "(formula without a stored result)"
        if any(c.strip() for c in cells):
            rows.append([intern(c, c) for c in cells])
            starts.append(number)
        if number > MOST_ROWS:
            raise BadRecords(f"{name} has more than {MOST_ROWS:,} rows. Save the pieces as CSV.")
    if formulas:
        notes.append(
            f"{name} holds formulas; the results your spreadsheet program stored were read."
        )
    table = _table(rows, starts, name, notes, epoch_1904=book.epoch.year == 1904)
    table.hidden.extend(hidden)
    return table


def _table(
    rows: list[list[str]], starts: list[int], name: str, notes: list[str], *, epoch_1904: bool
) -> TextTable:
    at = header_row(rows[:LOOK])
    if at is None:
        raise BadRecords(no_headings(rows, name))
    refuse_rows_above(rows[:at], rows[at], name)
    body = rows[at + 1 :]
    width = max([_used(r) for r in rows[at:]], default=0)  # cells cannot slip sideways here
    headings = [" ".join(c.split()) for c in rows[at]] + [""] * width
    even = [(r + [""] * width)[:width] for r in body]
    columns = [column_of([r[place] for r in even]) for place in range(width)]
    return TextTable(
        name,
        headings[:width],
        columns,
        np.array(starts[at + 1 :], dtype=np.int64),
        _texts([_as_line(r) for r in body]),
        [],
        shown_above(rows[:at]),
        notes,
        epoch_1904,
    )


def _texts(rows: list[str]) -> RowTexts:
    ends = np.cumsum([len(r) for r in rows], dtype=np.int64)
    return RowTexts("".join(rows), ends - [len(r) for r in rows], ends)


def _used(row: list[str]) -> int:
    n = len(row)
    while n and not row[n - 1].strip():
        n -= 1
    return n


def _as_line(cells: list[str]) -> str:
    """A workbook row written as a CSV line."""
    quoted = ('"' + c.replace('"', '""') + '"' if set(c) & set(',"\r\n') else c for c in cells)
    return ",".join(quoted).rstrip(",")


def _formulas(data: bytes, title: str) -> dict[int, list[int]]:
    """The places of formulas, by row; empty when the sheets hold none (the usual case, told cheaply)."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        sheets = [n for n in packed.namelist() if n.startswith("xl/worksheets/")]
        if not any(b"<f" in packed.read(n) for n in sheets):
            return {}
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
    found: dict[int, list[int]] = {}
    for number, values in enumerate(_values(book[title]), start=1):
        places = [i for i, v in enumerate(values) if isinstance(v, str) and v.startswith("=")]
        if places:
            found[number] = places
    return found


def _text(value: Any) -> str:
    """A stored value as a person would have typed it; numbers in full, days as ISO, times as h:mm."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value.replace("\r\n", "\n").replace("\r", "\n")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, datetime):
        midnight = value.time() == time(0)
        return (
            value.date().isoformat() if midnight else value.isoformat(sep=" ", timespec="seconds")
        )
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return f"{value.hour}:{value.minute:02d}" + (f":{value.second:02d}" if value.second else "")
    if isinstance(value, timedelta):
        seconds = round(value.total_seconds())
        return f"{seconds // 3600}:{seconds % 3600 // 60:02d}"
    return str(value)


def _number(value: float) -> str:
    if value != value or value in (float("inf"), float("-inf")):
        return ""
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    shown = repr(round(value, 10))
    if "e" in shown:
        return shown
    whole, _, places = shown.partition(".")
    return f"{whole}.{places}0" if len(places) == 3 else shown  # 1.234 could be read as thousands
