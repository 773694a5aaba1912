"""Files are written whole or not at all."""

import os
import stat

import pytest

from fleetlib.base import saving
from fleetlib.base.errors import CannotSave


def test_text_and_bytes_are_written_as_given(tmp_path) -> None:
    assert (
        saving.write_whole(tmp_path / "new" / "a.txt", "half ½\n").read_bytes()
        == "half ½\n".encode()
    )
    assert saving.write_whole(tmp_path / "b.bin", b"\x00\x01").read_bytes() == b"\x00\x01"


def test_a_file_that_may_not_be_replaced_stays_as_it_was(tmp_path) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text("mine")
    with pytest.raises(CannotSave, match="already there"):
        saving.write_whole(mine, "yours", replace=False)
    assert mine.read_text() == "mine"


def test_a_write_that_fails_half_way_leaves_the_old_file_and_no_rubbish(
    tmp_path, monkeypatch
) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text("mine")

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(CannotSave, match="No space left"):
        saving.write_whole(mine, "yours")
    assert mine.read_text() == "mine"
    assert [p.name for p in tmp_path.iterdir()] == ["mine.csv"]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
def test_the_mode_of_a_replaced_file_is_kept(tmp_path) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text("mine")
    mine.chmod(0o640)
    saving.write_whole(mine, "yours")
    assert stat.S_IMODE(mine.stat().st_mode) == 0o640


def test_a_folder_that_is_a_file_is_refused_in_one_sentence(tmp_path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotSave, match="it is a file"):
        saving.write_whole(tmp_path / "file" / "a.txt", "x")


def test_a_table_is_replaced_only_as_it_was_written(tmp_path) -> None:
    saving.write_own(tmp_path / "out", {"a.csv": "one\n", "b.csv": "1\n"})
    saving.write_own(tmp_path / "out", {"a.csv": "two\n", "b.csv": "2\n"})
    assert (tmp_path / "out" / "a.csv").read_text() == "two\n"
    (tmp_path / "out" / "b.csv").write_text("2\nmine\n")
    with pytest.raises(CannotSave, match=r"b\.csv is already there, and is yours or was changed"):
        saving.write_own(tmp_path / "out", {"a.csv": "three\n", "b.csv": "3\n"})
    assert (tmp_path / "out" / "a.csv").read_text() == "two\n"
    assert (tmp_path / "out" / "b.csv").read_text() == "2\nmine\n"


def test_a_file_without_our_mark_is_not_replaced_and_a_link_never_is(tmp_path) -> None:
    mine, ours = tmp_path / "mine.html", tmp_path / "ours.html"
    mine.write_text("<p>mine</p>")
    ours.write_text("<p>by fleetlib</p>")
    with pytest.raises(CannotSave, match="not made by fleetlib"):
        saving.write_whole(mine, "x", over=(b"by fleetlib",))
    assert saving.write_whole(ours, "x", over=(b"by fleetlib",)).read_text() == "x"
    if os.name != "nt":
        (tmp_path / "link.html").symlink_to(ours)
        with pytest.raises(CannotSave, match="is a link"):
            saving.write_whole(tmp_path / "link.html", "y", over=(b"x",))
        assert ours.read_text() == "x"
