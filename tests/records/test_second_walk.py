"""What a second new user stumbled over: a withdrawal column nobody could date, an undo from 1743, a slipped nought."""

from datetime import date
from pathlib import Path

import pytest

from fleetlib import cli
from fleetlib.base.errors import BadQuestion
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import append_event, undo_last

TODAY = date(2026, 11, 25)
HEAD = "Piece,What,Listed,Asking,Sold,Sale price,Withdrawn\n"


def records(folder: Path, *rows: str, **settings: str):
    (folder / "flips.csv").write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    said = "".join(f'{k} = "{v}"\n' for k, v in settings.items())
    (folder / "settings.toml").write_text(said, encoding="utf-8")
    return read_records(folder, as_of=TODAY)


def test_a_column_of_dates_that_says_nothing_is_read_like_the_others_and_that_is_said(
    tmp_path,
) -> None:
    found = records(
        tmp_path,
        "1,dresser,5/24/25,400,,,10/4/25",
        "2,desk,3/15/26,200,4/20/26,190,",
        "3,armoire,2/14/26,450,,,3/1/26",
    )
    out = found.flips.set_index("piece")["withdrawn_on"]
    assert out["1"].date() == date(2025, 10, 4)
    assert out["3"].date() == date(2026, 3, 1)
    assert found.flips["status"].tolist() == ["withdrawn", "sold", "withdrawn"]
    told = [n for n in found.notes if n.startswith("withdrawn_on: nothing in this column")]
    assert len(told) == 1
    assert "read month first like listed_on, sold_on (line 2: 10/4/25, line 4: 3/1/26)" in told[0]


def test_where_the_other_columns_disagree_it_stays_a_question(tmp_path) -> None:
    found = records(
        tmp_path,
        "1,dresser,5/24/25,400,,,10/4/25",
        "2,desk,3/15/26,200,20/4/26,190,",
    )
    assert found.flips["withdrawn_on"].isna().all()
    assert any("withdrawn_on" in n and "left out" in n for n in found.notes)
    own = records(
        tmp_path,
        "1,dresser,5/24/25,400,,,10/4/25",
        "2,desk,3/15/26,200,,,",
        date_order="day first",
    )
    assert own.flips["withdrawn_on"].iloc[0].date() == date(2025, 4, 10)


def test_an_undo_reads_days_as_the_settings_do_and_in_this_century(tmp_path) -> None:
    records(tmp_path, "47,desk,5/24/26,400,,,", date_order="month first")
    (tmp_path / "events.csv").write_text(
        "on,piece,event,amount,note\n11/2/26,47,asking_price,375,\n11/3/26,47,enquiry,,still there?\n",
        encoding="utf-8",
    )
    assert undo_last(tmp_path, on=TODAY) == "enquiry of 47 on 2026-11-03"
    assert undo_last(tmp_path, on=TODAY) == "asking_price 375 of 47 on 2026-11-02"
    with pytest.raises(BadQuestion, match="nothing left to undo"):
        undo_last(tmp_path, on=TODAY)


def test_a_sale_of_ten_times_the_ask_is_kept_and_asked_about(tmp_path) -> None:
    records(tmp_path, "50,desk,5/24/26,850,,,")
    append_event(tmp_path, on=TODAY, piece="50", event="sold", amount=8500)
    found = read_records(tmp_path, as_of=TODAY)
    assert found.flips["sale_price"].tolist() == [8500]
    asked = found.questions
    assert asked["column"].tolist() == ["sale_price"]
    assert "sold for 8500, with 850 asked; is that right?" in asked["question"].iloc[0]
    undo_last(tmp_path, on=TODAY)
    append_event(tmp_path, on=TODAY, piece="50", event="sold", amount=800)
    assert read_records(tmp_path, as_of=TODAY).questions.empty


def test_finds_are_looked_for_in_the_shop_folder_too(tmp_path, monkeypatch, capsys) -> None:
    shop = tmp_path / "shop"
    assert cli.main(["start", str(shop), "--demo"]) == 0
    monkeypatch.chdir(tmp_path)
    assert cli.main(["buy", str(shop), "--finds", "finds.csv", "--cash", "300"]) == 0
    assert "find" in capsys.readouterr().out
    assert cli.main(["buy", str(shop), "--finds", "none.csv"]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "There is no none.csv and no" in said


def test_a_day_of_leaving_nobody_can_read_is_asked_about(tmp_path) -> None:
    found = records(
        tmp_path,
        "1,dresser,2026-05-24,400,,,last spring",
        "2,desk,2026-03-15,200,2026-04-20,190,",
        "3,hutch,2026-03-15,300,2026-04-20,290,",
        "4,bench,2026-03-15,90,soon?,,",
    )
    asked = found.questions
    assert asked["line"].tolist() == [2, 5]
    assert asked["column"].tolist() == ["withdrawn_on", "sold_on"]
    assert asked["value"].tolist() == ["last spring", "soon?"]
    assert "counts as on hand" in asked["question"].iloc[0]
    assert any("line 2: last spring, line 5: soon?" in n for n in found.notes)


def test_a_last_ask_of_nothing_does_not_make_a_sale_look_odd(tmp_path) -> None:
    head = "Piece,What,Listed,Asking,Last asking,Sold,Sale price\n"
    (tmp_path / "flips.csv").write_text(
        head + "5,dresser,2026-05-15,300,0,2026-05-30,290\n", encoding="utf-8"
    )
    found = read_records(tmp_path, as_of=TODAY)
    assert found.questions.empty
    assert found.changes["why"].str.startswith("left out: 0 is no price").sum() == 1
