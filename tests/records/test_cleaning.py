"""Rows and cells of one record: what stays, what leaves, and what is said."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from fleetlib.base.errors import BadRecords
from fleetlib.base.settings import settings_from
from fleetlib.records.cleaning.clean import CleanFlips, read_finds, read_flips, write_flips

AS_OF = date(2026, 9, 30)


def read(folder: Path, *lines: str) -> CleanFlips:
    (folder / "flips.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read_flips(folder / "flips.csv", as_of=AS_OF)


def test_a_row_with_some_words_like_headings_is_still_a_piece(tmp_path: Path) -> None:
    head = "type,wood,finish,style,paid,hours,price"
    found = read(tmp_path, head, "desk,wood,finish,modern,5,2,90", "type,wood,finish,,,,")
    assert found.flips["furniture_type"].tolist() == ["desk"]
    assert found.set_aside["line"].tolist() == [3]


def test_a_column_most_of_which_cannot_be_read_asks_whether_its_heading_is_right(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, "type,sold,price", *[f"desk,{n} dollars,90" for n in (80, 90, 95)])
    assert "sold_on: 3 of 3 cells could not be read as dates; is the heading right?" in found.notes
    assert len(found.flips) == 3


def test_a_heading_in_another_currency_is_said(tmp_path: Path) -> None:
    found = read(tmp_path, "type,price EUR", "desk,90")
    assert any("so this record is read in EUR" in n for n in found.notes)


def test_a_changed_cell_of_a_row_set_aside_is_not_listed_but_its_row_is_whole(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, "type,paid,price", ',"$1,150",120/140', "bench,$5,90")
    assert found.changes["line"].tolist() == [3]
    assert found.set_aside["text"].tolist() == [',"$1,150",120/140']


def test_finds_need_no_price(tmp_path: Path) -> None:
    (tmp_path / "finds.csv").write_text("what,wood,width\ncredenza,teak,70\n")
    found = read_finds(tmp_path / "finds.csv", as_of=AS_OF)
    assert found.flips[["furniture_type", "width_in"]].values.tolist() == [["sideboard", 70]]
    with pytest.raises(BadRecords, match="no column of prices"):
        read_flips(tmp_path / "finds.csv")


def test_the_day_of_the_answer_comes_from_the_call_then_the_settings(tmp_path: Path) -> None:
    place = tmp_path / "flips.csv"
    place.write_text("type,sold on,price\ndesk,2026-05-05,90\n")
    settings = settings_from({"as_of": date(2026, 5, 1)})
    assert read_flips(place, settings=settings).flips["sold_on"].isna().all()
    assert read_flips(place, settings=settings, as_of=AS_OF).flips["sold_on"].notna().all()


def test_the_text_and_the_page_say_the_counts_and_escape(tmp_path: Path) -> None:
    found = read(tmp_path, "type,price", "<i>desk</i>,$90", ",12")
    assert str(found).startswith(
        "flips.csv: 2 rows, 1 kept, 1 set aside, 1 cells read otherwise than typed."
    )
    assert "<i>" not in found._repr_html_()
    assert found.table is found.flips


def test_what_is_written_can_be_read_by_any_program(tmp_path: Path) -> None:
    found = read(
        tmp_path, "type,notes,sold on,price,mine", 'desk,"a, ""b""",3/25/26,"$1,150.50",=x'
    )
    text = write_flips(found.flips)
    (tmp_path / "out.csv").write_text(text, encoding="utf-8", newline="")
    plain = pd.read_csv(tmp_path / "out.csv", dtype=str)
    row = plain.loc[0, ["furniture_type", "notes", "sold_on", "sale_price", "mine"]].tolist()
    assert row == ["desk", 'a, "b"', "2026-03-25", "1150.5", "'=x"]
    assert "line" not in plain.columns and "profit" not in plain.columns
