"""A file is there, is not there, or is said to be something else; what cannot be read is one sentence."""

import os

import pytest

from fleetlib.base.errors import BadRecords, BadSettings, CannotSave
from fleetlib.base.opening import content_of, is_there, names_in


def test_a_file_is_there_and_nothing_is_not(tmp_path) -> None:
    (tmp_path / "a.csv").write_text("a")
    assert is_there(tmp_path / "a.csv")
    assert not is_there(tmp_path / "b.csv")
    assert not is_there(tmp_path / "none" / "b.csv")


@pytest.mark.skipif(os.name == "nt", reason="Windows makes no such files")
@pytest.mark.parametrize("kind", ["folder", "link", "pipe"])
def test_what_is_no_file_is_said_in_the_reader_s_own_kind_of_refusal(tmp_path, kind) -> None:
    place = tmp_path / "flips.csv"
    make = {
        "folder": place.mkdir,
        "link": lambda: place.symlink_to("away"),
        "pipe": lambda: os.mkfifo(place),
    }
    make[kind]()
    for refusal in (CannotSave, BadRecords, BadSettings):
        with pytest.raises(refusal, match=f"a {kind}"):
            is_there(place, refusal=refusal)


@pytest.mark.skipif(os.name == "nt", reason="Windows has other limits")
def test_a_name_too_long_is_a_sentence(tmp_path) -> None:
    with pytest.raises(BadRecords, match="cannot be looked at: File name too long"):
        is_there(tmp_path / ("n" * 300), refusal=BadRecords)


def test_a_file_gone_between_the_look_and_the_reading_is_a_sentence(tmp_path) -> None:
    with pytest.raises(BadRecords, match="cannot be read: No such file"):
        content_of(tmp_path / "gone.csv", most=10)
    with pytest.raises(BadRecords, match="cannot be looked into"):
        names_in(tmp_path / "gone")


def test_a_file_beyond_its_measure_is_refused_and_its_start_can_be_had(tmp_path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"x" * 11)
    with pytest.raises(BadRecords, match="larger than"):
        content_of(path, most=10)
    assert content_of(path, most=10, whole=False) == b"x" * 10
    assert content_of(path, most=11) == b"x" * 11
