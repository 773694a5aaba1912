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
