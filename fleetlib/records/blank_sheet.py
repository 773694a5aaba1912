"""The blank record sheet, as a workbook and as CSV, and a settings file with a sentence for every key."""

from __future__ import annotations

import io
import textwrap
import zipfile
from datetime import date, datetime
from typing import Any

from fleetlib.base.settings import SETTINGS, Setting, Settings
from fleetlib.records.files.safe_csv import csv_cells
from fleetlib.records.parsing.vocabulary import known_words
from fleetlib.records.schema.columns import COLUMNS, Column

SHEET_ROWS = 5000  # rows that get drop-downs; more can be filled in all the same
_LISTED = tuple(c.name for c in COLUMNS if c.kind == "word" and known_words(c.name))
_WIDTHS = {"notes": 40, "furniture_type": 18, "piece": 12}
_DAY_ONE = (1980, 1, 1, 0, 0, 0)  # so that the same sheet is the same bytes


def sheet_heading(column: Column) -> str:
    """The heading of `column` on the blank sheet, with its unit: "width (in)", "hours (hours)"."""
    usual = Settings()
    words = column.name.removesuffix("_in").replace("_", " ")
    if column.kind == "size":
        return f"{words} ({usual.length_unit})"
    if column.kind == "money":
        return f"{words} ({usual.currency})"
    if column.kind == "date":
        return f"{words} (date)"
    return f"{words} (hours)" if column.kind == "hours" else words


def blank_csv() -> str:
    """The blank record sheet as CSV: the headings and nothing else."""
    return csv_cells([sheet_heading(c) for c in COLUMNS], end="\r\n")


def column_comment(column: Column) -> str:
    """What the comment on a heading says: the meaning, the unit or bounds, an example."""
    said = column.meaning
    if column.kind == "date":
        said += " As 2026-03-04."
    if column.unit and column.kind not in ("money", "date") and column.low is not None:
        said += f" From {column.low:g} to {column.high:g}" + (
            "." if column.kind in ("grade", "year") else f" {column.unit}."
        )
    if column.example and column.kind != "date":
        said += f" For example: {column.example}."
    return said


def blank_workbook() -> bytes:
    """The blank record sheet as an .xlsx workbook.

    One heading a column with its unit and a comment, the header frozen, drop-down lists of the known words
    (other words may be typed), number and date formats; the lists are on a second, hidden sheet.
    """
    import openpyxl
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "flips"
    lists = book.create_sheet("words")
    lists.sheet_state = "hidden"
    for place, column in enumerate(COLUMNS, start=1):
        letter = get_column_letter(place)
        cell = sheet.cell(row=1, column=place, value=sheet_heading(column))
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="E8EEF2")
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        note = Comment(column_comment(column), "fleetlib", width=260, height=110)
        cell.comment = note
        sheet.column_dimensions[letter].width = _WIDTHS.get(column.name, 13)
        sheet.column_dimensions[letter].number_format = _format(column)
        for rule in _rules(column, lists):
            sheet.add_data_validation(rule)
            rule.add(f"{letter}2:{letter}{SHEET_ROWS + 1}")
    sheet.freeze_panes = "C2"
    sheet.row_dimensions[1].height = 32
    book.properties.creator = "fleetlib"
    book.properties.created = book.properties.modified = datetime(*_DAY_ONE)
    out = io.BytesIO()
    book.save(out)
    return _same_bytes(out.getvalue())


def _format(column: Column) -> str:
    formats = {
        "money": "#,##0.00",
        "date": "yyyy-mm-dd",
        "hours": "0.00",
        "name": "@",
        "word": "@",
        "text": "@",
    }
    return formats.get(column.kind, "General")


def _rules(column: Column, lists: Any) -> list[Any]:
    """The drop-down list or the bounds of a column; both warn and let the person go on."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    if column.name in _LISTED:
        place = _LISTED.index(column.name) + 1
        words = known_words(column.name)
        lists.cell(row=1, column=place, value=column.name)
        for row, word in enumerate(words, start=2):
            lists.cell(row=row, column=place, value=word)
        letter = get_column_letter(place)
        rule = DataValidation(
            type="list",
            formula1=f"words!${letter}$2:${letter}${len(words) + 1}",
            allow_blank=True,
            errorStyle="information",
            errorTitle="Your own word",
            error="This is not one of the listed words. It is fine to keep it.",
        )
    elif column.kind == "date":
        rule = DataValidation(
            type="date",
            operator="greaterThan",
            formula1="18264",  # 1 January 1950
            allow_blank=True,
            errorStyle="warning",
            errorTitle="A day",
            error="Write the day as 2026-03-04.",
        )
    elif column.is_number and column.low is not None and column.kind != "year":
        rule = DataValidation(
            type="decimal",
            operator="between",
            formula1=f"{column.low:g}",
            formula2=f"{column.high:.0f}",
            allow_blank=True,
            errorStyle="warning",
            errorTitle="A number",
            error=f"Usually from {column.low:g} to {column.high:,.0f}.",
        )
    else:
        return []
    rule.showErrorMessage = True
    return [rule]


def _same_bytes(data: bytes) -> bytes:
    """The workbook packed again with one fixed time, so that it does not differ from run to run."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as packed,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as again,
    ):
        for part in packed.infolist():
            content = packed.read(part)
            if part.filename == "docProps/core.xml":
                content = _fixed_times(content)
            again.writestr(zipfile.ZipInfo(part.filename, _DAY_ONE), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _fixed_times(content: bytes) -> bytes:
    import re

    return re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"1980-01-01T00:00:00Z", content)


def settings_text() -> str:
    """settings.toml with every key at its default, each with its sentence, unit and bounds above it.

    Keys without a default, what the record itself may say (`_SAID_BY_RECORD`), and the parts by channel and by column
    stand as comments to fill in.
    """
    lines = [
        "# The settings of your shop. Lines that begin with # are notes; change what stands after the = signs.",
        "# The numbers here to begin with are common practice, no source: put your own figures in their place.",
        "",
    ]
    parts: list[Setting] = []
    for setting in SETTINGS:
        if setting.key in _SAID_BY_RECORD:
            lines += [*_about(setting), f"# {setting.key} = {_toml(setting.default)}", ""]
        elif isinstance(setting.default, str | int | float):
            lines += [*_about(setting), f"{setting.key} = {_toml(setting.default)}", ""]
        elif setting.default is None:
            lines += [*_about(setting), f"# {setting.key} = {_EXAMPLES[setting.key]}", ""]
        else:
            parts.append(setting)
    for setting in parts:
        lines += [*_about(setting), *(f"# {ln}" for ln in _EXAMPLES[setting.key].splitlines()), ""]
    return "\n".join(lines)


_SAID_BY_RECORD = ("currency", "length_unit", "date_order")  # asked about where it does not
_EXAMPLES = {
    "holding_cost_per_week": "2.5",
    "as_of": "2026-09-30",
    "fee_share": '[fee_share]\n"Saturday market" = 0.10',
    "flat_fee": '[flat_fee]\n"Saturday market" = 5.0',
    "drying_days": "[drying_days]\noil = 5",
    "groups": '[groups.coat]\ncolumn = "finish"\nnatural = ["oil", "wax", "shellac"]\npainted = ["milk paint"]',
    "words": '[words.furniture_type]\nbuffet = "sideboard"\n[words.wood]\n"barn board" = "pine"',
}


def _about(setting: Setting) -> list[str]:
    said = setting.sentence
    bounds = setting.bounds
    if bounds and all(isinstance(b, int | float) for b in bounds):
        said += f" ({setting.unit}; from {bounds[0]:g} to {bounds[1]:,.12g})"
    elif bounds:
        said += " (one of: " + ", ".join(f'"{b}"' for b in bounds) + ")"
    else:
        said += f" ({setting.unit})"
    return textwrap.wrap(said, 100, initial_indent="# ", subsequent_indent="# ")


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return value.isoformat() if isinstance(value, date) else str(value)
