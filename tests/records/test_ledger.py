"""Events and saved advice: appended whole or not at all, never rewritten, undone by an event."""

from __future__ import annotations

import errno
import json
import os
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fleetlib.base.errors import BadQuestion, CannotSave, MissingRecords
from fleetlib.base.settings import Settings
from fleetlib.records.folder import read_records
from fleetlib.records.log import append as ledger
from fleetlib.records.log.append import SavedAdvice, append_advice, append_event, undo_last
from fleetlib.records.log.side_files import SideFile, read_events

MARCH = date(2026, 3, 4)


def _read(folder: Path) -> SideFile:
    return read_events(folder / "events.csv", settings=Settings(), as_of=date(2026, 9, 30))


def events_of(folder: Path) -> list[list[Any]]:
    found = _read(folder)
    assert not len(found.set_aside)
    return found.rows[["piece", "event"]].values.tolist()


def test_an_event_is_one_more_line_and_nothing_before_it_moves(tmp_path: Path) -> None:
    append_event(tmp_path, on=MARCH, piece="A-1", event="asking_price", amount=450)
    before = (tmp_path / "events.csv").read_bytes()
    append_event(tmp_path, on=MARCH, piece="A-1", event="hours", amount=1.25, note="sand, twice")
    after = (tmp_path / "events.csv").read_bytes()
    assert before == b"on,piece,event,amount,note\n2026-03-04,A-1,asking_price,450,\n"
    assert after == before + b'2026-03-04,A-1,hours,1.25,"sand, twice"\n'


def test_an_undo_is_an_event_and_takes_back_the_last_that_stands(tmp_path: Path) -> None:
    for piece, event in (("A-1", "finished"), ("A-2", "paused"), ("A-2", "relisted")):
        append_event(tmp_path, on=MARCH, piece=piece, event=event)
    assert undo_last(tmp_path, on=MARCH) == "relisted of A-2 on 2026-03-04"
    assert undo_last(tmp_path, on=MARCH) == "paused of A-2 on 2026-03-04"
    assert events_of(tmp_path) == [["A-1", "finished"]]
    assert len((tmp_path / "events.csv").read_text().splitlines()) == 6
    undo_last(tmp_path, on=MARCH)
    with pytest.raises(BadQuestion, match="nothing left to undo"):
        undo_last(tmp_path, on=MARCH)


def test_an_undo_that_names_a_piece_takes_back_that_pieces_event(tmp_path: Path) -> None:
    for piece in ("A-1", "A-2"):
        append_event(tmp_path, on=MARCH, piece=piece, event="finished")
    append_event(tmp_path, on=MARCH, piece="a-1", event="undo")
    assert events_of(tmp_path) == [["A-2", "finished"]]


def test_nothing_to_undo_is_said(tmp_path: Path) -> None:
    with pytest.raises(BadQuestion, match="no events are recorded yet"):
        undo_last(tmp_path)


def test_a_full_disk_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    append_event(tmp_path, on=MARCH, piece="A-1", event="finished")
    before = (tmp_path / "events.csv").read_bytes()

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CannotSave, match="No space left on device"):
        append_event(tmp_path, on=MARCH, piece="A-1", event="paused")
    assert (tmp_path / "events.csv").read_bytes() == before


def test_a_file_whose_last_line_has_no_break_gets_one_first(tmp_path: Path) -> None:
    place = tmp_path / "events.csv"
    place.write_text("on,piece,event,amount,note\n2026-03-01,A-1,finished,,")
    append_event(tmp_path, on=MARCH, piece="A-1", event="enquiry")
    assert events_of(tmp_path) == [["A-1", "finished"], ["A-1", "enquiry"]]


def test_a_file_the_person_has_saved_from_a_spreadsheet_grows_in_its_own_form(
    tmp_path: Path,
) -> None:
    place = tmp_path / "events.csv"
    place.write_text("piece;on;amount;event;note;mine\nA-1;2026-03-01;;finished;;x\n")
    append_event(tmp_path, on=MARCH, piece="A-1", event="offer", amount=300, note="a; b")
    assert place.read_text().splitlines()[-1] == 'A-1;2026-03-04;300;offer;"a; b";'
    assert events_of(tmp_path) == [["A-1", "finished"], ["A-1", "offer"]]


def test_a_file_without_the_columns_is_not_added_to(tmp_path: Path) -> None:
    place = tmp_path / "events.csv"
    place.write_text("on,piece\n")
    with pytest.raises(CannotSave, match="has no column event, amount, note"):
        append_event(tmp_path, on=MARCH, piece="A-1", event="finished")
    assert place.read_text() == "on,piece\n"


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"event": "burned"}, '"burned" is no event'),
        ({"event": "hours"}, "needs an amount"),
        ({"event": "sold"}, "needs an amount"),
        ({"event": "sold", "amount": 0}, "given away is withdrawn"),
        ({"event": "offer", "amount": -5}, "must be 0 or more"),
        ({"event": "offer", "amount": float("nan")}, "must be 0 or more"),
        ({"event": "finished", "piece": " "}, "needs the name of a piece"),
        ({"event": "finished", "on": "2026-03-04"}, "give a date"),
    ],
)
def test_an_event_that_cannot_be_is_refused_and_writes_nothing(
    tmp_path: Path, asked: dict[str, Any], said: str
) -> None:
    with pytest.raises(BadQuestion, match=said):
        append_event(tmp_path, **{"on": MARCH, "piece": "A-1", **asked})
    assert not (tmp_path / "events.csv").exists()


def test_a_folder_that_is_not_there_is_missing(tmp_path: Path) -> None:
    with pytest.raises(MissingRecords, match="no folder"):
        append_event(tmp_path / "no", on=MARCH, piece="A-1", event="finished")


def test_a_note_that_looks_like_a_formula_is_guarded_and_reads_back(tmp_path: Path) -> None:
    append_event(tmp_path, on=MARCH, piece="=A1", event="finished", note="@SUM(1)")
    assert "'=A1" in (tmp_path / "events.csv").read_text()
    found = read_events(tmp_path / "events.csv", settings=Settings(), as_of=MARCH).rows
    assert found[["piece", "note"]].values.tolist() == [["=A1", "@SUM(1)"]]


def test_saved_advice_reads_back_with_its_plan(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text("piece,type,price\nA-1,desk,\n")
    step = {"from_date": date(2026, 3, 6), "asking_price": 450.0, "chance_sold": 0.123456}
    append_advice(
        tmp_path,
        SavedAdvice(
            on=MARCH,
            piece="A-1",
            low=300,
            mid=380.5,
            high=480,
            level=0.8,
            gut_price=400,
            plan=[{**step, "lowest_offer": float("nan")}],
        ),
    )
    log = read_records(tmp_path, as_of=date(2026, 9, 30)).advice_log
    columns = ["piece", "low", "mid", "high", "level", "gut_price"]
    assert log.loc[0, columns].tolist() == ["A-1", 300, 380.5, 480, 0.8, 400]
    assert str(log["date"][0].date()) == "2026-03-04"
    assert json.loads(log["plan"][0]) == [
        {
            "from_date": "2026-03-06",
            "asking_price": 450,
            "chance_sold": 0.1235,
            "lowest_offer": None,
        }
    ]


def test_an_event_later_than_the_day_of_the_answer_does_not_count_yet(tmp_path: Path) -> None:
    append_event(tmp_path, on=MARCH, piece="A-1", event="finished")
    found = read_events(tmp_path / "events.csv", settings=Settings(), as_of=date(2026, 3, 1))
    assert not len(found.rows)
    assert "lies after 2026-03-01" in found.set_aside["reason"][0]


def test_rows_of_events_that_cannot_be_used_say_why(tmp_path: Path) -> None:
    place = tmp_path / "events.csv"
    place.write_text(
        "on,piece,event,amount,note\n2026-03-01,A-1,burned,,\n,A-1,finished,,\n2026-03-01,,finished,,\n"
        "2026-03-01,A-1,offer,120/140,\n2026-03-01,A-1,hours,,\n03/04/26,A-1,finished,,\n2026-03-01,A-1,hours,3h 30m,\n"
    )
    found = read_events(place, settings=Settings(), as_of=date(2026, 9, 30))
    assert found.rows[["event", "amount", "line"]].values.tolist() == [["hours", 3.5, 8]]
    reasons = dict(zip(found.set_aside["line"], found.set_aside["reason"], strict=True))
    assert "is no event we know" in reasons[2]
    assert reasons[3] == "the day is missing"
    assert reasons[4] == "the piece is not named"
    assert "is not one amount" in reasons[5]
    assert "needs an amount" in reasons[6]
    assert "could be 2026-03-04 or 2026-04-03" in reasons[7]
    assert ledger.EVENTS.keys() >= {"asking_price", "offer", "sold", "undo"}


def test_an_undo_takes_back_the_entry_it_names_whatever_was_logged_beside_it(
    tmp_path: Path,
) -> None:
    append_event(tmp_path, on=MARCH, piece="A-1", event="offer", amount=300)
    mine = _read(tmp_path).rows.iloc[-1].to_dict()
    append_event(tmp_path, on=MARCH, piece="A-1", event="offer", amount=320)
    assert undo_last(tmp_path, entry=mine) == "offer 300 of A-1 on 2026-03-04"
    assert _read(tmp_path).rows["amount"].tolist() == [320]
    with pytest.raises(BadQuestion, match="offer 300 of A-1 on 2026-03-04 was taken back already"):
        undo_last(tmp_path, entry=mine)
    assert _read(tmp_path).rows["amount"].tolist() == [320]


def test_two_undos_of_one_entry_take_back_one(tmp_path: Path) -> None:
    row = f"{MARCH},A-1,offer,300,\n"
    undo = f"{MARCH},A-1,undo,,undoes offer 300 of A-1 on {MARCH} (line 3)\n"
    (tmp_path / "events.csv").write_text("on,piece,event,amount,note\n" + row * 2 + undo * 2)
    found = _read(tmp_path)
    assert found.rows["line"].tolist() == [2]
    assert any("does not stand; nothing was taken back" in note for note in found.notes)


def test_an_undo_finds_its_entry_after_a_spreadsheet_has_moved_the_lines(tmp_path: Path) -> None:
    row = f"{MARCH},A-1,offer,300,\n"
    undo = f"{MARCH},A-1,undo,,undoes offer 300 of A-1 on {MARCH} (line 9)\n"
    other = f"{MARCH},A-1,enquiry,,\n"
    (tmp_path / "events.csv").write_text("on,piece,event,amount,note\n" + row + other + undo)
    assert _read(tmp_path).rows["event"].tolist() == ["enquiry"]
