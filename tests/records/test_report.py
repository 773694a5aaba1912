"""The check of a folder: what is shown, and what is saved."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from fleetlib.base.errors import CannotSave
from fleetlib.records.cleaning.clean import read_flips
from fleetlib.records.folder import Records, read_records
from fleetlib.records.report import check_report, save_check

AS_OF = date(2026, 9, 30)
DEMO = Path(__file__).parents[2] / "data_demo"
HOSTILE = (
    "piece,type,paid,price,notes,mine\n"
    "'=HYPERLINK(1),desk,20-30,$300,\"=1+1, cmd|' /C calc'!A0\",@SUM(1)\n"
    "+1,bench,5,90,\"-2+3\",\"\tx\"\n"
    "A-3,chair,5,120/140,=2,\n"
    "A-4,stool,-5,60,plain,＝full width\n"
)  # fmt: skip


def hostile(folder: Path) -> Records:
    (folder / "flips.csv").write_text(HOSTILE, encoding="utf-8")
    return read_records(folder, as_of=AS_OF)


def test_the_report_gives_each_row_and_cell_with_its_line_and_remedy(tmp_path: Path) -> None:
    text = str(check_report(hostile(tmp_path)))
    assert "4 rows read, 4 kept, 0 set aside" in text
    assert "line 4" in text and "120/140" in text and "Enter the day and the price" in text
    assert "20-30" in text and "is not one amount" in text
    typed = [line for line in text.splitlines() if line.startswith("fleetlib check")]
    assert len(typed) == 1  # a line to copy is never broken
    assert max(map(len, (line for line in text.splitlines() if line not in typed))) <= 80


def test_the_report_of_a_clean_record_is_short(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("piece,furniture_type,sale_price\nA-1,desk,300\n")
    text = str(check_report(read_records(tmp_path, as_of=AS_OF)))
    assert text.split("\n\n") == [
        "Your records",
        "flips.csv: 1 rows read, 1 kept, 0 set aside.\nAs of 2026-09-30: 1 sold; 0 events, 0 supplies.",
    ]


def test_the_check_says_once_which_heading_of_ones_own_was_read_as_what(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(
        "What is it,Got,Hrs,Sold on,Shelf\ndesk,300,4,2026-03-04,x\n"
    )
    report = check_report(read_records(tmp_path, as_of=AS_OF))
    said = 'Your headings were read so: "What is it" as furniture type, "Got" as sale price.'
    assert " ".join(str(report).split()).count(said) == 1
    assert report._repr_html_().count("Your headings") == 1
    assert not any("Your headings" in n for n in report.notes)


EVENTS = (
    "on,piece,event,amount,note\n2026-03-01,B-1,bought,40,furniture_type=desk; width_in=6o\n"
    "2026-04-05,A-1,sold,300,\n"
)


def test_pieces_of_the_log_are_no_rows_of_the_record_and_what_it_asks_stands_once(
    tmp_path: Path,
) -> None:
    (tmp_path / "flips.csv").write_text("piece,type,price,sold on\nA-1,desk,300,2026-03-04\n")
    (tmp_path / "events.csv").write_text(EVENTS)
    text = " ".join(str(check_report(read_records(tmp_path, as_of=AS_OF))).split())
    assert "1 rows read, 1 kept, 0 set aside. With what events.csv tells, 2 pieces." in text
    assert text.count("6o") == 2  # what was typed, and the question
    assert text.count("flips.csv says 2026-03-04, events.csv says 2026-04-05") == 1


def test_the_html_is_escaped_and_the_same_each_time(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("type,price\n<b>desk</b>,<script>\n")
    report = check_report(read_records(tmp_path, as_of=AS_OF))
    assert "<script>" not in report._repr_html_() and "&lt;script&gt;" in report._repr_html_()
    assert report._repr_html_() == report._repr_html_()


def test_no_saved_text_cell_starts_as_a_formula_and_numbers_stay_numbers(tmp_path: Path) -> None:
    paths = save_check(hostile(tmp_path), tmp_path / "out")
    assert {p.name for p in paths} == {
        "pieces.csv",
        "set_aside.csv",
        "changes.csv",
        "questions.csv",
    }
    for path in paths:
        with path.open(encoding="utf-8", newline="") as stream:
            for cell in (c for row in csv.reader(stream) for c in row):
                assert not cell.startswith(tuple("=+-@\t\r＝＋－＠")), (path.name, cell)


def test_the_saved_pieces_read_back_as_the_same_table(tmp_path: Path) -> None:
    records = hostile(tmp_path)
    save_check(records, tmp_path / "out")
    again = read_flips(tmp_path / "out" / "pieces.csv", as_of=AS_OF)
    pd.testing.assert_frame_equal(
        again.flips.drop(columns="line"), records.flips.drop(columns="line")
    )
    assert again.flips["piece"].tolist() == ["=HYPERLINK(1)", "+1", "A-3", "A-4"]
    assert again.flips["notes"][0] == "=1+1, cmd|' /C calc'!A0"


@pytest.mark.skipif(not (DEMO / "flips.csv").is_file(), reason="no demo shop in this checkout")
def test_the_cleaned_demo_reads_back_as_the_same_table(tmp_path: Path) -> None:
    records = read_records(DEMO)
    save_check(records, tmp_path)
    again = read_flips(tmp_path / "pieces.csv", settings=records.settings, as_of=records.as_of)
    pd.testing.assert_frame_equal(
        again.flips.drop(columns="line"), records.flips.drop(columns="line")
    )


def test_saving_into_the_shops_own_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CannotSave, match="own folder"):
        save_check(hostile(tmp_path), tmp_path)


def test_a_table_of_ones_own_is_not_replaced(tmp_path: Path) -> None:
    records = hostile(tmp_path)
    out = tmp_path / "out"
    out.mkdir()
    (out / "pieces.csv").write_text("mine\n")
    with pytest.raises(CannotSave, match=r"pieces\.csv is already there, and is yours"):
        save_check(records, out)
    assert [p.name for p in out.iterdir()] == ["pieces.csv"]
    (out / "pieces.csv").unlink()
    assert save_check(records, out) == save_check(records, out)
