"""Pieces without a name: what they are called, that it stays, and that what cannot be told apart is said."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.logging_lines import log_entry, understood
from fleetlib.records.folder import Records, read_records
from fleetlib.records.log.append import append_event
from fleetlib.records.log.grammar import Entry
from fleetlib.records.piece import piece_named, with_what

AS_OF = date(2026, 9, 30)
HEAD = "Type,Wood,Bought,Paid,Listed,Asking\n"
OAK = "dresser,oak,2026-03-04,80,2026-03-20,450\n"
PINE = "desk,pine,2026-04-01,20,2026-04-09,200\n"


def shop(folder: Path, *rows: str) -> Records:
    (folder / "flips.csv").write_text(HEAD + "".join(rows), encoding="utf-8")
    return read_records(folder, as_of=AS_OF)


def test_a_piece_without_a_name_is_called_by_what_its_row_is(tmp_path: Path) -> None:
    names = shop(tmp_path, OAK, PINE, "chair,,,,,60\n").flips["piece"].tolist()
    assert names == ["oak dresser of 4 Mar 2026", "pine desk of 1 Apr 2026", "chair asked 60"]


def test_what_was_logged_stays_with_its_piece_when_rows_move(tmp_path: Path) -> None:
    before = shop(tmp_path, OAK, PINE)
    name = before.flips["piece"][1]
    append_event(tmp_path, on=AS_OF, piece=name, event="asking_price", amount=170, as_of=AS_OF)
    after = shop(tmp_path, "hutch,oak,2026-05-01,90,,\n", PINE, OAK).flips.set_index("piece")
    assert after.loc[name, "last_asking_price"] == 170
    assert after["last_asking_price"].notna().sum() == 1


def test_a_name_of_before_a_cell_was_filled_in_is_found_again_and_said(tmp_path: Path) -> None:
    name = shop(tmp_path, "dresser,,,,2026-03-20,450\n", PINE).flips["piece"][0]
    append_event(tmp_path, on=AS_OF, piece=name, event="asking_price", amount=400, as_of=AS_OF)
    after = shop(tmp_path, PINE, OAK)
    assert (
        after.flips.set_index("piece").loc["oak dresser of 4 Mar 2026", "last_asking_price"] == 400
    )
    assert any(name in n and "filled in since" in n for n in after.notes)


def test_a_name_that_two_pieces_could_have_had_is_given_to_neither(tmp_path: Path) -> None:
    shop(tmp_path, PINE)
    append_event(
        tmp_path, on=AS_OF, piece="dresser-450", event="asking_price", amount=9, as_of=AS_OF
    )
    after = shop(tmp_path, OAK, OAK.replace("oak", "elm"))
    assert after.flips["last_asking_price"].isna().all()
    assert any('"dresser-450" is no piece kept' in n for n in after.notes)


def test_a_log_by_the_line_of_an_older_release_is_kept_and_said(tmp_path: Path) -> None:
    shop(tmp_path, OAK, PINE)
    append_event(tmp_path, on=AS_OF, piece="line 3", event="asking_price", amount=170, as_of=AS_OF)
    after = shop(tmp_path, OAK, PINE)
    assert after.flips["last_asking_price"].tolist()[1] == 170
    assert any("named it by its line" in n for n in after.notes)


def test_two_that_cannot_be_told_apart_are_asked_about_and_take_no_entry(tmp_path: Path) -> None:
    found = shop(tmp_path, OAK, PINE, OAK)
    assert found.flips["piece"].tolist()[2] == "oak dresser of 4 Mar 2026 paid 80 (2)"
    asked = next(q for q in found.to_answer if "told apart" in q.said)
    assert "lines 2, 4" in asked.said and "Give each a name of its own" in asked.meanwhile
    for name in (
        "oak dresser of 4 Mar 2026 paid 80",
        '"oak dresser of 4 Mar 2026 paid 80 (2)"',
    ):
        with pytest.raises(BadQuestion, match=r"cannot be told .* Give each its own name"):
            understood(found, f"offer {name} 300", today=AS_OF)
    understood(found, "offer pine desk of 1 Apr 2026 150", today=AS_OF)
    append_event(
        tmp_path, on=AS_OF, piece=found.flips["piece"][0], event="sold", amount=5, as_of=AS_OF
    )
    after = read_records(tmp_path, as_of=AS_OF)
    assert after.flips["sale_price"].isna().all()
    assert any("its events count for none (line 2)" in n for n in after.notes)


def test_a_name_typed_twice_takes_no_entry_either(tmp_path: Path) -> None:
    text = "Piece,Type,Asking\nA-1,desk,90\na-1,hutch,300\nA-2,chair,20\n"
    (tmp_path / "flips.csv").write_text(text)
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.alike == {"A-1", "a-1"}


def test_a_piece_takes_a_line_by_its_name_without_quotes_and_by_older_names(tmp_path: Path) -> None:
    found = shop(tmp_path, OAK, PINE)
    for name in ("pine desk of 1 Apr 2026", "Pine Desk of 1 Apr 2026", "pine-desk-2026-04-01-20"):
        entry = understood(found, f"offer {name} 150 yesterday: by phone", today=AS_OF)
        assert isinstance(entry, Entry)
        assert (entry.piece, entry.amount, entry.on, entry.note) == (
            "pine desk of 1 Apr 2026", 150, date(2026, 9, 29), "by phone"
        )  # fmt: skip
    assert piece_named(found.flips, "oak-dresser-2026-03-04-80").wood == "oak"
    with pytest.raises(BadQuestion, match="the amount is missing"):
        understood(found, "offer pine desk of 1 Apr 2026", today=AS_OF)


def test_what_was_logged_stays_when_another_is_bought_that_would_be_called_the_same(
    tmp_path: Path,
) -> None:
    found = shop(tmp_path, OAK, PINE)
    entry = understood(found, "offer pine desk of 1 Apr 2026 150", today=AS_OF)
    log_entry(found, entry)
    after = shop(tmp_path, PINE.replace(",20,", ",35,"), OAK, PINE)
    assert after.flips["piece"].tolist() == [
        "pine desk of 1 Apr 2026 paid 35", "oak dresser of 4 Mar 2026", "pine desk of 1 Apr 2026 paid 20"
    ]  # fmt: skip
    assert after.logged["piece"].tolist() == ["pine desk of 1 Apr 2026 paid 20"]
    with pytest.raises(BadQuestion, match="no piece called"):
        understood(after, 'offer "pine desk of 1 Apr 2026" 160', today=AS_OF)


def test_events_by_a_name_as_an_older_kit_made_it_count(tmp_path: Path) -> None:
    shop(tmp_path, OAK, PINE)
    name = "pine-desk-2026-04-01-20"
    append_event(tmp_path, on=AS_OF, piece=name, event="sold", amount=170, as_of=AS_OF)
    assert read_records(tmp_path, as_of=AS_OF).flips["sale_price"].tolist()[1] == 170


def test_what_a_piece_is_is_said_once(tmp_path: Path) -> None:
    found = shop(tmp_path, OAK, PINE)
    piece = piece_named(found.flips, "oak dresser of 4 Mar 2026")
    assert str(piece) == "oak dresser of 4 Mar 2026"
    assert with_what("A-113", "oak dresser") == "A-113, oak dresser"
    assert with_what(None, "oak dresser") == "oak dresser"
    assert with_what("old oak dressers", "oak dresser") == "old oak dressers, oak dresser"
