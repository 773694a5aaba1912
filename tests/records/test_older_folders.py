"""A folder made by an earlier release is read in full: frozen samples, one a release, never changed."""

import shutil
from pathlib import Path

import pytest

import fleetlib as fl
from fleetlib.records.folder import read_records

FOLDERS = Path(__file__).resolve().parents[1] / "data" / "folders"
# What each folder holds, counted when it was frozen: pieces, set aside, sold, sum of sale prices, hours, events.
HELD = {"0.1": (43, 1, 20, 5760.0, 314.75, 151)}


@pytest.mark.parametrize("release", sorted(p.name for p in FOLDERS.iterdir()))
def test_a_folder_of_an_earlier_release_reads_as_it_did(release: str, tmp_path: Path) -> None:
    place = tmp_path / "shop"
    shutil.copytree(FOLDERS / release, place)
    before = {p.name: p.read_bytes() for p in place.iterdir()}
    records = read_records(place)
    flips = records.flips
    assert (
        len(flips),
        len(records.set_aside),
        int((flips["status"] == "sold").sum()),
        float(flips["sale_price"].sum()),
        float(flips["hours"].sum()),
        len(records.events),
    ) == HELD[release]
    assert {p.name: p.read_bytes() for p in place.iterdir()} == before


def test_the_advice_saved_by_an_earlier_release_is_still_graded(tmp_path: Path) -> None:
    place = tmp_path / "shop"
    shutil.copytree(FOLDERS / "0.1", place)
    shop = fl.open_shop(place)
    assert list(shop.records.advice_log["piece"]) == ["A-234"]
    assert str(shop.advise("A-234"))
