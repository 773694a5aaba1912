"""Rows added to the kit's own files: in any form a spreadsheet left them, by two at once, on a failing disk."""

from __future__ import annotations

import errno
import multiprocessing
import os
from datetime import date
from pathlib import Path

import pytest

from fleetlib.base import saving
from fleetlib.base.errors import BadQuestion, CannotSave
from fleetlib.base.settings import Settings
from fleetlib.records.files.reading import table_from_text
from fleetlib.records.files.safe_csv import with_apostrophe, without_guard
from fleetlib.records.log.append import append_event, append_rows
from fleetlib.records.log.side_files import SideFile, read_events

DAY = date(2026, 3, 4)
_AROUND = '" \u00a0'  # what may stand before a formula's first character
HEAD = "on,piece,event,amount,note\n"
FIRST = "2026-03-01,Böhm-257,offer,300,\n"


def read(folder: Path) -> SideFile:
    return read_events(folder / "events.csv", settings=Settings(), as_of=date(2026, 9, 30))


@pytest.mark.parametrize(
    "saved",
    [
        (HEAD + FIRST).encode("cp1252"),
        ("\ufeff" + HEAD + FIRST).encode(),
        (HEAD + FIRST).encode("utf-16"),
        (HEAD + FIRST).replace("\n", "\r").encode(),
        (HEAD + FIRST).replace("\n", "\r").encode("cp1252"),
        (HEAD + FIRST).replace("\n", "\r\n").encode(),
        (HEAD + FIRST).replace(",", ";").encode("cp1252"),
        ("sep=;\n" + (HEAD + FIRST).replace(",", ";")).encode(),
        b"note,amount,event,piece,on\n,300,offer,B\xf6hm-257,03/14/2026\n",
        ('"on","piece","event","amount","note"\n' + FIRST).encode(),
    ],
    ids=[
        "cp1252",
        "mark",
        "utf16",
        "cr",
        "cr-cp1252",
        "crlf",
        "semicolons",
        "sep",
        "moved",
        "quoted",
    ],
)
def test_a_log_that_a_spreadsheet_saved_keeps_all_it_holds_and_grows(
    tmp_path: Path, saved: bytes
) -> None:
    (tmp_path / "events.csv").write_bytes(saved)
    append_event(tmp_path, on=DAY, piece="Böhm-257", event="sold", amount=280, note="“cash”")
    append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
    found = read(tmp_path)
    assert not len(found.set_aside)
    assert found.rows["piece"].tolist() == ["Böhm-257", "Böhm-257", "A-1"]
    assert found.rows["event"].tolist() == ["offer", "sold", "enquiry"]
    assert found.rows["note"][1] == "“cash”"


def test_a_log_with_old_line_ends_and_a_later_entry_is_read_whole(tmp_path: Path) -> None:
    rows = "".join(f"2026-03-01,A-{n},enquiry,,\n" for n in range(185))
    (tmp_path / "events.csv").write_bytes(
        (HEAD + rows).replace("\n", "\r").encode() + FIRST.encode()
    )
    assert len(read(tmp_path).rows) == 186


@pytest.mark.parametrize(
    "cut", ["2026-03-02,A-1,sold,45", "2026-03-02,A-1,so", "2026-", '2026-03-02,A-1,sold,450,"met']
)
def test_a_line_that_was_never_finished_is_not_believed_then_or_later(
    tmp_path: Path, cut: str
) -> None:
    (tmp_path / "events.csv").write_text(HEAD + FIRST + cut, encoding="utf-8")
    assert read(tmp_path).rows["event"].tolist() == ["offer"]
    assert read(tmp_path).set_aside["line"].tolist() == [3]
    append_event(tmp_path, on=DAY, piece="A-1", event="sold", amount=450, note='a "note", so')
    found = read(tmp_path)
    assert found.rows[["event", "amount"]].values.tolist() == [["offer", 300], ["sold", 450]]
    assert found.set_aside["line"].tolist() == [3]
    assert found.set_aside["text"][0].startswith(cut)


def _write(folder: Path, name: str, count: int) -> None:
    for n in range(count):
        append_event(folder, on=DAY, piece=f"{name}-{n}", event="enquiry")


def test_first_entries_of_eight_at_once_are_all_kept(tmp_path: Path) -> None:
    ways = multiprocessing.get_context("fork" if os.name != "nt" else "spawn")
    writers = [ways.Process(target=_write, args=(tmp_path, f"W{w}", 10)) for w in range(8)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
    assert {w.exitcode for w in writers} == {0}
    found = read(tmp_path)
    assert not len(found.set_aside)
    assert sorted(found.rows["piece"]) == sorted(f"W{w}-{n}" for w in range(8) for n in range(10))


def test_a_part_that_was_written_is_cut_off_and_only_that(tmp_path: Path, monkeypatch) -> None:
    append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
    before = (tmp_path / "events.csv").read_bytes()
    real = os.write

    def half(handle: int, data: bytes) -> int:
        real(handle, data[:7])
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(saving.os, "write", half)
    with pytest.raises(CannotSave, match=r"No space left on device\. Nothing was written\."):
        append_event(tmp_path, on=DAY, piece="A-2", event="enquiry")
    assert (tmp_path / "events.csv").read_bytes() == before

    def another(handle: int, data: bytes) -> int:
        real(handle, b"2026-03-04,B,enquiry,,\n")  # a program that asks for no lock
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(saving.os, "write", another)
    with pytest.raises(CannotSave, match="Input/output error"):
        append_event(tmp_path, on=DAY, piece="A-2", event="enquiry")
    assert (tmp_path / "events.csv").read_bytes() == before + b"2026-03-04,B,enquiry,,\n"


def test_nothing_written_is_never_called_a_line_to_delete(tmp_path: Path, monkeypatch) -> None:
    append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
    before = (tmp_path / "events.csv").read_bytes()

    def locked(*_: object) -> int:
        raise PermissionError(errno.EACCES, "Permission denied")

    with monkeypatch.context() as patch:
        patch.setattr(saving.os, "open", locked)
        with pytest.raises(CannotSave, match="Nothing was written") as refusal:
            append_event(tmp_path, on=DAY, piece="A-1", event="paused")
    assert "delete" not in str(refusal.value)
    assert (tmp_path / "events.csv").read_bytes() == before


def test_a_writer_that_dies_lets_go_of_the_lock(tmp_path: Path) -> None:
    if os.name == "nt":
        pytest.skip("needs fork")
    child = os.fork()
    if child == 0:
        with saving.locked(tmp_path):
            os._exit(9)
    os.waitpid(child, 0)
    append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
    assert len(read(tmp_path).rows) == 1


def test_a_lock_that_is_never_let_go_is_said(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(saving, "MOST_WAIT", 0.05)
    handle = saving._taken(os.path.realpath(tmp_path))
    try:
        with pytest.raises(CannotSave, match="Another window has been writing"):
            append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
    finally:
        saving._let_go(handle)
    assert not (tmp_path / "events.csv").exists()


@pytest.mark.parametrize("bad", ["a\x1b[2Jb", "a\0b", "a\u202eb", "a\x07", "a\ud800b"])
def test_what_cannot_be_seen_is_refused_and_nothing_written(tmp_path: Path, bad: str) -> None:
    with pytest.raises(BadQuestion, match="cannot be seen"):
        append_event(tmp_path, on=DAY, piece="A-1", event="enquiry", note=bad)
    with pytest.raises(BadQuestion, match="cannot be seen"):
        append_event(tmp_path, on=DAY, piece=bad, event="enquiry")
    assert not (tmp_path / "events.csv").exists()


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("note", ["x;=1+1", "x\r=1+1", "x\t@A1", 'x|"=1+1"', "x,=1+1", "a;; -2;+3"])
def test_a_note_is_one_cell_and_no_formula_in_any_spreadsheet(
    tmp_path: Path, note: str, separator: str
) -> None:
    append_rows(tmp_path / "own.csv", ("on", "note"), [{"on": "2026-03-04", "note": note}])
    written = (tmp_path / "own.csv").read_bytes().decode()
    assert without_guard(with_apostrophe(note)) == note
    for line in written.replace("\r", "\n").split("\n"):  # the crudest of readers
        for cell in line.split(separator):
            assert not cell.strip(_AROUND + "'") or cell.lstrip(_AROUND)[:1] not in set("=+-@")


def test_a_folder_or_a_link_to_nothing_is_not_taken_for_no_log(tmp_path: Path) -> None:
    (tmp_path / "events.csv").mkdir()
    with pytest.raises(CannotSave, match="is a folder"):
        append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
    (tmp_path / "events.csv").rmdir()
    if os.name != "nt":
        (tmp_path / "events.csv").symlink_to(tmp_path / "away.csv")
        with pytest.raises(CannotSave, match="a link to something that is not there"):
            append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
        assert not (tmp_path / "away.csv").exists()


def test_a_day_that_would_not_count_is_refused(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text("as_of = 2026-09-30\n")
    with pytest.raises(BadQuestion, match="2026-10-01 lies after 2026-09-30"):
        append_event(tmp_path, on=date(2026, 10, 1), piece="A-1", event="sold", amount=5)
    assert not (tmp_path / "events.csv").exists()


def test_a_log_in_a_form_of_another_program_is_said_until_it_is_written_anew(
    tmp_path: Path,
) -> None:
    path = tmp_path / "events.csv"
    for data, form in (
        ((HEAD + FIRST).encode("cp1252"), "Windows text"),
        ((HEAD + FIRST).encode("utf-16"), "UTF-16"),
        ((HEAD + FIRST).replace("\n", "\r").encode(), "with old line ends"),
    ):
        path.write_bytes(data)
        assert any(form in note and "writes it anew" in note for note in read(tmp_path).notes)
        append_event(tmp_path, on=DAY, piece="A-1", event="enquiry")
        assert not any("anew" in note for note in read(tmp_path).notes)


@pytest.mark.parametrize("after", [1, 3, 5])
def test_rows_of_old_line_ends_among_others_are_rows(after: int) -> None:
    rows = [f'A-{n},dresser,200,"said ""no"", {n}"' for n in range(6)]
    ends = ["\n"] * after + ["\r"] * (6 - after)
    text = "piece,furniture_type,sale_price,notes\n"
    text += "".join(r + e for r, e in zip(rows, ends, strict=True))
    table = table_from_text(text, name="flips.csv")

    assert len(table.lines) == 6
    quoted = table_from_text(
        'piece,type,notes\nA-1,desk,"two\rlines"\nA-2,desk,one\n', name="flips.csv"
    )
    assert len(quoted.lines) == 2


def test_a_column_that_is_not_read_is_said(tmp_path: Path) -> None:
    (tmp_path / "events.csv").write_text(
        "on,piece,event,amount,amount,mood,format 2\n2026-03-01,A-1,offer,300,cash,fine,\n"
    )
    said = " ".join(read(tmp_path).notes)
    assert 'what stands under "amount" was not read (line 2)' in said
    assert 'what stands under "mood" was not read (line 2)' in said
    assert "format" not in said
