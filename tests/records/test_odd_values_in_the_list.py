"""What was kept but looks odd stands in the one list of questions, and an answer settles it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlib.records.asked.answers import cell_text
from fleetlib.records.folder import Records, read_records
from fleetlib.records.report import check_report

AS_OF = date(2026, 9, 30)
TEXT = "Piece,Type,Asking,Sold for,Sold on,Hours\nA-1,desk,300,30,2026-03-01,4\nA-2,desk,250,240,2026-03-02,90\n"
CELL = cell_text("A-1", "sale_price", "30")


def read(folder: Path, *answers: str) -> Records:
    (folder / "flips.csv").write_text(TEXT, encoding="utf-8")
    rows = "".join(f"2026-09-30,cell,{a}\n" for a in answers)
    (folder / "answers.csv").write_text(f"on,about,text,meaning\n{rows}", encoding="utf-8")
    return read_records(folder, as_of=AS_OF)


def test_an_odd_value_is_one_of_the_questions_and_told_once(tmp_path: Path) -> None:
    found = read(tmp_path)
    assert [q.text for q in found.to_answer] == [CELL, cell_text("A-2", "hours", "90")]
    assert [o.meaning for o in found.to_answer[0].options] == ["right", "nothing"]
    report = check_report(found)
    assert report.asked.empty and not any("A-1" in n or "line 2" in n for n in report.notes)
    assert len(found.questions) == 2  # the piece's own page tells of it


@pytest.mark.parametrize(
    ("meaning", "price"), [("right", 30.0), ("280", 280.0), ("nothing", None), ("soon", 30.0)]
)
def test_an_answer_settles_it(tmp_path: Path, meaning: str, price: float | None) -> None:
    found = read(tmp_path, f"{CELL},{meaning}")
    kept = found.flips["sale_price"].tolist()[0]
    assert kept == price if price else kept != kept
    assert (CELL in [q.text for q in found.to_answer]) == (meaning == "soon")
    listed = found.changes[found.changes["why"].str.startswith("your answer")]
    assert len(listed) == (meaning in ("280", "nothing"))


def test_an_answer_about_another_piece_or_value_changes_nothing(tmp_path: Path) -> None:
    found = read(
        tmp_path,
        f"{cell_text('A-2', 'sale_price', '30')},280",
        f"{cell_text('A-1', 'sale_price', '31')},9",
    )
    assert found.flips["sale_price"].tolist() == [30, 240]
