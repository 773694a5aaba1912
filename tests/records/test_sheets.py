"""A workbook with a sheet a year is one record; a sheet under other headings is asked about."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import openpyxl

from fleetlib.records.folder import Records, read_records

AS_OF = date(2026, 9, 30)
HEAD = ("Type", "Paid", "Sold for")


def book(folder: Path, **sheets: list[tuple[object, ...]]) -> Records:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for title, rows in sheets.items():
        sheet = made.create_sheet(title.replace("_", " "))
        for row in rows:
            sheet.append(row)
    made.save(folder / "flips.xlsx")
    return read_records(folder, as_of=AS_OF)


def test_sheets_under_the_same_headings_are_one_record(tmp_path: Path) -> None:
    found = book(
        tmp_path,
        y2024=[HEAD, ("dresser", 40, 300), ("desk", 20, 150)],
        y2025=[("paid", "type", "SOLD FOR"), (60, "hutch", 450)],
        Notes=[("buy wax",)],
    )
    assert found.flips["furniture_type"].tolist() == ["dresser", "desk", "hutch"]
    assert found.flips["buy_price"].tolist() == [40, 20, 60]
    assert found.flips["line"].tolist() == [2, 3, 10_002]
    assert found.flips["sheet"].tolist() == ["y2024", "y2024", "y2025"]
    said = " ".join(found.notes)
    assert 'those from 10,001 on are "y2025"' in said and 'not from "Notes"' in said


def test_a_row_set_aside_on_a_further_sheet_is_counted_and_has_its_line(tmp_path: Path) -> None:
    found = book(
        tmp_path, a=[HEAD, ("dresser", 40, 300)], b=[HEAD, ("Total", 100, 450), ("desk", 1, 9)]
    )
    assert len(found.flips) == 2 and found.set_aside["line"].tolist() == [10_002]
    assert "Total" in found.set_aside["text"][0]


def test_a_sheet_under_other_headings_is_asked_about_and_an_answer_chooses(tmp_path: Path) -> None:
    sheets = {"sales": [HEAD, ("dresser", 40, 300)], "finds": [("Type", "Asking"), ("hutch", 90)]}
    found = book(tmp_path, **sheets)
    asked = next(q for q in found.to_answer if q.about == "sheet")
    assert (asked.text, asked.options[0].meaning) == ("finds", "nothing")
    assert found.flips["furniture_type"].tolist() == ["dresser"]
    answers = tmp_path / "answers.csv"
    answers.write_text("on,about,text,meaning\n2026-09-30,sheet,finds,nothing\n")
    assert not [q for q in read_records(tmp_path, as_of=AS_OF).to_answer if q.about == "sheet"]
    answers.write_text("on,about,text,meaning\n2026-09-30,sheet,Finds,read\n")
    assert read_records(tmp_path, as_of=AS_OF).flips["furniture_type"].tolist() == ["hutch"]
