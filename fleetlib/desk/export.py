"""Everything out again: one workbook, and the same as CSV with its Table Schema.

`shop` is a shop folder of its own and gives the same answers to the cent: the record as it was read, in
plain words and units, and the other files byte for byte. The workbook, and flips_with_events.csv beside it,
hold the flips with the events laid over, for any spreadsheet.
"""

from __future__ import annotations

import io
from pathlib import Path

import pandas as pd

from fleetlib.base.errors import CannotSave
from fleetlib.base.saving import PRIVATE_FOLDER, write_whole
from fleetlib.records.asked.answers import ANSWER_COLUMNS, Answers
from fleetlib.records.cleaning.changes import left_out
from fleetlib.records.cleaning.clean import write_flips
from fleetlib.records.folder import Records, read_record
from fleetlib.records.log.answers_file import read_answers
from fleetlib.records.schema.table_schema import schema_text

_AS_THEY_ARE = (
    "events.csv",
    "supplies.csv",
    "advice_log.csv",
    "answers.csv",
    "settings.toml",
    "finds.csv",
    "inbox.txt",
)


def export(records: Records, to: str | Path) -> list[Path]:
    """Write `records` to the folder `to`: shop.xlsx, and as files of a shop in `to`/shop. Returns the files.

    Raises CannotSave, before anything is written, where one of them is there already.
    """
    place = Path(to)
    csv_place = place / "shop"
    answers = read_answers(records.folder)
    own = read_record(records.folder, records.settings, records.as_of, answers)
    files: dict[Path, str | bytes] = {
        csv_place / "flips.csv": write_flips(_with_what_was_typed(own.flips, own.changes)),
        csv_place / "flips.schema.json": schema_text(),
    }
    for name in _AS_THEY_ARE:
        if (records.folder / name).is_file():
            files[csv_place / name] = (records.folder / name).read_bytes()
    laid = place / "flips_with_events.csv"
    files[laid] = write_flips(_with_what_was_typed(records.flips, records.changes))
    files[place / "shop.xlsx"] = _workbook(records, answers)
    there = [str(p) for p in files if p.exists()]
    if there:
        raise CannotSave(f"{there[0]} is there already. Export to a folder that is new or empty.")
    try:
        place.mkdir(parents=True, exist_ok=True, mode=PRIVATE_FOLDER)
        csv_place.mkdir(parents=True, exist_ok=True, mode=PRIVATE_FOLDER)
    except OSError as problem:
        raise CannotSave(f"{csv_place} cannot be made: {problem.strerror}.") from problem
    return [write_whole(path, content, replace=False) for path, content in files.items()]


def _with_what_was_typed(flips: pd.DataFrame, changes: pd.DataFrame) -> pd.DataFrame:
    """`flips`, with a column more for each in which cells could not be read: what was typed there."""
    made = flips.copy(deep=False)
    unread = left_out(changes)
    unread = unread[unread["was"].str.strip().ne("") & unread["column"].isin(flips.columns)]
    for column, cells in unread.groupby("column", sort=True):
        by_line = cells.drop_duplicates("line").set_index("line")["was"]
        typed = flips["line"].map(by_line).where(flips[str(column)].isna())
        if typed.notna().any():
            made[f"{column} as typed"] = typed
    return made


def _workbook(records: Records, answers: Answers) -> bytes:
    tools = records.supplies["shared_by"] == "none"  # a tool outlasts the pieces
    sheets = {
        "flips": _with_what_was_typed(records.flips, records.changes),
        "events": records.logged,
        "supplies": records.supplies[~tools],
        "tools": records.supplies[tools],
        "answers": _table(answers),
        "advice": records.advice_log,
    }
    aside = pd.concat([records.set_aside.assign(file=records.name), records.other_set_aside])
    if len(aside):  # rows that count for nothing are the person's all the same
        sheets["set aside"] = aside
    out = io.BytesIO()
    with pd.ExcelWriter(out, engine="openpyxl") as book:
        for name, table in sheets.items():
            texts = table.copy()
            for column in texts.columns:
                if pd.api.types.is_datetime64_any_dtype(texts[column]):
                    texts[column] = texts[column].dt.date
            texts.to_excel(book, sheet_name=name, index=False)
            for row in book.sheets[name].iter_rows():
                for cell in row:
                    if cell.data_type == "f":  # text that a spreadsheet would take for a formula
                        cell.data_type = "s"
    return out.getvalue()


def _table(answers: Answers) -> pd.DataFrame:
    """The answers that count, by the line they stand on; what is none stays in the copy of the file."""
    rows = sorted(answers.rows.values(), key=lambda row: row.line)
    return pd.DataFrame([{c: getattr(r, c) for c in ANSWER_COLUMNS} for r in rows]).reindex(
        columns=list(ANSWER_COLUMNS)
    )
