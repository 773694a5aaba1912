"""Characters that cannot be seen are taken out in reading and listed; what broke off is not believed."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from fleetlib.base.errors import BadRecords
from fleetlib.base.unseen import has_unseen
from fleetlib.records.cleaning.clean import read_flips
from fleetlib.records.folder import read_records
from fleetlib.records.report import check_report

HEAD = "piece,type,wood,sale price,sold on,notes\n"
GOOD = "A-1,dresser,oak,300,2026-03-01,plain\n"
HARMFUL = ("\x1b", "\0", "\x07", "\x9b", "\u202e", "\u200f", "\u2066", "\x7f")


@pytest.mark.parametrize("bad", HARMFUL, ids=lambda b: f"U+{ord(b):04X}")
def test_a_control_character_in_any_cell_is_taken_out_and_listed(tmp_path: Path, bad: str) -> None:
    row = f"A{bad}-2,des{bad}k,o{bad}ak,4{bad}50,2026-03-0{bad}2,met{bad} him\n"
    (tmp_path / "flips.csv").write_text(HEAD + GOOD * 20 + row, encoding="utf-8")
    read = read_flips(tmp_path / "flips.csv", as_of=date(2026, 9, 30))
    last = read.flips.iloc[-1]
    assert (last["piece"], last["furniture_type"], last["wood"]) == ("A-2", "desk", "oak")
    assert (last["sale_price"], last["notes"]) == (450, "met him")
    listed = read.changes[read.changes["why"].str.contains("cannot be seen")]
    assert listed["line"].tolist() == [22] * 6
    assert set(listed["column"]) >= {"piece", "furniture_type", "sale_price", "notes"}
    assert listed["was"].str.contains(f"<U+{ord(bad):04X}>", regex=False).all()
    said = str(check_report(read_records(tmp_path, as_of=date(2026, 9, 30))))
    assert not has_unseen(said)


def test_a_page_s_end_between_words_becomes_a_space(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(HEAD + "A-1,desk,oak,300,,two\x0bwords\n")
    assert read_flips(tmp_path / "flips.csv").flips["notes"].tolist() == ["two words"]


def test_a_line_break_of_old_within_a_line_of_unseen_characters_stops_nothing(
    tmp_path: Path,
) -> None:
    (tmp_path / "flips.csv").write_bytes(
        b"type,wood,paid,hours,listed,price\ndesk,?,\x0f/a,tbd,\r-,pending\n"
    )
    read = read_flips(tmp_path / "flips.csv")
    assert len(read.flips) + len(read.set_aside["line"].unique()) >= 1


def test_a_workbook_s_cells_are_rid_of_them_too(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(HEAD.strip().split(","))
    book.active.append(["A-1", "desk", "o\u202eak", 300, None, "fine"])
    out = io.BytesIO()
    book.save(out)
    (tmp_path / "flips.xlsx").write_bytes(out.getvalue())
    read = read_flips(tmp_path / "flips.xlsx")
    assert read.flips["wood"].tolist() == ["oak"]
    assert read.changes["was"].tolist() == ["o<U+202E>ak"]


def test_the_other_files_say_where_they_held_any(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(HEAD + GOOD)
    (tmp_path / "events.csv").write_text(
        "on,piece,event,amount,note\n2026-03-01,A\0-1,offer,300,x\x1b[2J\n"
    )
    read = read_records(tmp_path, as_of=date(2026, 9, 30))
    assert read.logged["piece"].tolist() == ["A-1"]
    assert any("events.csv held characters that cannot be seen (line 2)" in n for n in read.notes)
    assert not any(has_unseen(n) for n in read.notes)


def test_what_is_mostly_control_characters_is_no_text(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_bytes((HEAD + GOOD).encode() + bytes(range(1, 9)) * 20)
    with pytest.raises(BadRecords, match="not a text file"):
        read_flips(tmp_path / "flips.csv")


def test_a_record_s_last_row_that_broke_off_is_set_aside_and_said(tmp_path: Path) -> None:
    whole = HEAD + "".join(GOOD.replace("A-1", f"A-{n}") for n in (1, 2, 3))
    torn = "A-4,dresser,oak,45"
    (tmp_path / "flips.csv").write_text(whole + torn)
    read = read_flips(tmp_path / "flips.csv")
    assert len(read.flips) == 3
    assert read.set_aside["line"].tolist() == [5]
    assert "breaks off" in read.set_aside["reason"][0]
    assert read.set_aside["text"].tolist() == [torn]
    (tmp_path / "flips.csv").write_text(whole + torn + "\n")
    assert len(read_flips(tmp_path / "flips.csv").flips) == 4  # the line was finished
    (tmp_path / "flips.csv").write_text(HEAD + "A-1,desk,oak,300\n" + torn)
    assert len(read_flips(tmp_path / "flips.csv").flips) == 2  # rows are written short here


@pytest.mark.skipif(not hasattr(Path, "symlink_to"), reason="needs links")
@pytest.mark.parametrize("name", ["events.csv", "supplies.csv", "advice_log.csv", "settings.toml"])
def test_a_link_to_nothing_beside_the_record_is_said(tmp_path: Path, name: str) -> None:
    (tmp_path / "flips.csv").write_text(HEAD + GOOD)
    (tmp_path / name).symlink_to(tmp_path / "away")
    with pytest.raises(ValueError, match="a link to something that is not there"):
        read_records(tmp_path)


def test_a_row_taken_for_the_headings_below_other_rows_is_refused(tmp_path: Path) -> None:
    rows = "".join(GOOD.replace("A-1", f"A-{n}") for n in range(1, 5))
    (tmp_path / "flips.csv").write_text("a,b,c,d,e,f\n" + rows + HEAD + GOOD)
    with pytest.raises(BadRecords, match="no line of headings"):
        read_flips(tmp_path / "flips.csv")
    (tmp_path / "flips.csv").write_text("My shop\nof 2026,by me\n\n" + HEAD + GOOD)
    assert len(read_flips(tmp_path / "flips.csv").flips) == 1
