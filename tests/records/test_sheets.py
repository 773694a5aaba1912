"""A workbook with a sheet a year is one record; a sheet under other headings is asked about."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import openpyxl

from fleetlib.records.files.text_table import SheetLines
from fleetlib.records.folder import Records, read_records
from fleetlib.records.report import check_report

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


def test_a_line_is_said_by_its_sheet_wherever_the_person_reads_of_it(tmp_path: Path) -> None:
    found = book(
        tmp_path,
        y2024=[HEAD, ("dresser", 40, "120/140")],
        y2025=[HEAD, ("Total", 100, 450), ("desk", 1, "5oo"), ("desk", 1, 90)],
    )
    text = str(check_report(found))
    asked = " ".join(q.said for q in found.to_answer)
    assert "Line 2, " in asked and 'Line 3 of "y2025", ' in asked
    assert 'line 2 of "y2025"' in text and "10002" not in text and "10003" not in text
    assert found.set_aside["line"].tolist() == [10_002]


def test_lines_of_the_kits_own_files_are_left_as_they_are() -> None:
    lines = SheetLines(("a", "b"), 10_000)
    said = "line 3: x, line 10004: y (lines 3, 10005); events.csv line 10006"
    assert lines.in_words(said) == (
        'line 3: x, line 4 of "b": y (lines 3, 5 of "b"); events.csv line 10006'
    )


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
    both = read_records(tmp_path, as_of=AS_OF).flips
    assert both["furniture_type"].tolist() == ["dresser", "hutch"]  # read too, not in its place
    assert both["asking_price"].tolist()[1] == 90 and both["sale_price"].tolist()[0] == 300


def test_sheets_whose_headings_mean_the_same_are_one_record(tmp_path: Path) -> None:
    found = book(
        tmp_path,
        a=[("Item", "Bought for", "Sold price", "Date sold"), ("dresser", 40, 300, "2024-05-01")],
        b=[("Type", "Sold for", "Paid", "Sold on"), ("hutch", 450, 60, "2025-05-01")],
    )
    assert found.flips["buy_price"].tolist() == [40, 60]
    assert found.flips["sale_price"].tolist() == [300, 450]


def test_sheets_of_other_units_are_not_one_record_and_what_one_alone_has_is_kept(
    tmp_path: Path,
) -> None:
    found = book(
        tmp_path,
        a=[("Item", "Paid", "Got", "Width (cm)"), ("dresser", 40, 300, 100)],
        b=[("Piece", "Cost", "Sold for", "Width", "Wood"), ("oak hutch", 60, 450, 40, "oak")],
    )
    asked = next(q for q in found.to_answer if q.about == "sheet")
    assert asked.options[0].meaning == "read"
    (tmp_path / "answers.csv").write_text(
        f"on,about,text,meaning\n2026-09-30,sheet,{asked.text},read\n"
    )
    both = read_records(tmp_path, as_of=AS_OF)
    assert both.flips["furniture_type"].tolist() == ["dresser", "hutch"]
    assert both.flips["wood"].tolist()[1] == "oak"
    assert len(both.flips["sale_price"].dropna()) == 2
    assert any(q.text == "Width" or q.text == "Width (cm)" for q in both.to_answer)


def test_headings_between_the_rows_of_joined_sheets_are_no_pieces(tmp_path: Path) -> None:
    found = book(
        tmp_path,
        y2024=[("Type", "Sold for", "Sold on"), ("MAY",), ("dresser", 300, "5 may")],
        y2025=[("Type", "Sold for", "Sold on"), ("ON THE PORCH",), ("hutch", 450, "5 may")],
    )
    assert found.flips["furniture_type"].tolist() == ["dresser", "hutch"]
    assert found.set_aside["line"].tolist() == [2, 10_002]
    assert found.flips["sold_on"].dt.year.tolist() == [2024, 2025]  # as their sheets say
