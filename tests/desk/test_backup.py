"""A backup holds every byte, keeps ten, and lays the same shop down again."""

import os
import zipfile
from datetime import date
from pathlib import Path

import pytest

import fleetlib as fl
from fleetlib.base.errors import BadRecords, CannotSave, MissingRecords
from fleetlib.desk.backup import backup_shop, backups_of, last_backup, restore_shop
from fleetlib.desk.launch import launch_file
from fleetlib.desk.start import start_shop

FLIPS = "furniture_type,sale_price,sold_on\ndresser,300,2026-05-01\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    place = tmp_path / "Möbel & more"
    (place / "photos").mkdir(parents=True)
    (place / "flips.csv").write_text(FLIPS, encoding="utf-8")
    (place / "photos" / "A-1.jpg").write_bytes(bytes(range(256)))
    return place


def test_what_was_backed_up_is_restored_to_the_byte(shop: Path, tmp_path: Path) -> None:
    held = [path for path in shop.rglob("*") if path.is_file()]
    made = backup_shop(shop, on=date(2026, 9, 30))
    assert made.name == "Möbel & more-2026-09-30.zip"
    restored = tmp_path / "again"
    restore_shop(made, restored)
    for path in held:
        assert (restored / path.relative_to(shop)).read_bytes() == path.read_bytes()
    assert fl.open_shop(restored).flips["sale_price"].tolist() == [300.0]


def test_a_restored_shop_has_a_file_to_double_click_that_opens_it_and_not_the_old_one(
    tmp_path: Path,
) -> None:
    old = tmp_path / "old"
    start_shop(old)
    launch = launch_file(old, kit="/an/older/python")
    *_, opened = restore_shop(backup_shop(old), tmp_path / "new")
    assert opened == tmp_path.resolve() / "new" / launch.name
    text = opened.read_text(encoding="utf-8")
    assert str(tmp_path / "new") in text
    assert "/an/older/python" not in text
    assert os.name == "nt" or os.access(opened, os.X_OK)


def test_the_newest_ten_stay_and_no_other_file_is_touched(shop: Path, tmp_path: Path) -> None:
    other = tmp_path / "Möbel & more-notes.zip"
    other.write_bytes(b"mine")
    for day in range(1, 13):
        backup_shop(shop, on=date(2026, 9, day))
    second = backup_shop(shop, on=date(2026, 9, 12))
    assert second.name.endswith("2026-09-12-02.zip")
    kept = backups_of(shop)
    assert len(kept) == 10
    assert [p.name[-14:-4] for p in kept[:2]] == ["2026-09-04", "2026-09-05"]
    assert kept[-1] == second
    assert other.read_bytes() == b"mine"


def test_the_last_backup_is_known_wherever_it_was_written(shop: Path, tmp_path: Path) -> None:
    assert last_backup(shop) is None
    backup_shop(shop, to=tmp_path / "stick", on=date(2026, 9, 1))
    assert last_backup(shop) == date(2026, 9, 1)
    backup_shop(shop, on=date(2026, 9, 20))
    backup_shop(shop, to=tmp_path / "stick", on=date(2026, 9, 12))
    assert last_backup(shop) == date(2026, 9, 20)


def test_a_backup_inside_the_shop_is_refused(shop: Path) -> None:
    with pytest.raises(CannotSave, match="inside the shop folder"):
        backup_shop(shop, to=shop / "photos")


def test_a_folder_without_records_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MissingRecords, match=r"no flips\.csv"):
        backup_shop(tmp_path)


def test_nothing_is_restored_over_anything(shop: Path) -> None:
    made = backup_shop(shop, on=date(2026, 9, 30))
    with pytest.raises(CannotSave, match="not empty"):
        restore_shop(made, shop)


def test_a_damaged_or_foreign_zip_writes_nothing(shop: Path, tmp_path: Path) -> None:
    made = backup_shop(shop, on=date(2026, 9, 30))
    data = bytearray(made.read_bytes())
    at = data.find(b"flips.csv") + len("flips.csv") + 5
    data[at] ^= 0xFF
    torn = tmp_path / "torn.zip"
    torn.write_bytes(bytes(data))
    for bad in (torn, shop / "flips.csv"):
        with pytest.raises(BadRecords):
            restore_shop(bad, tmp_path / "new")
    leading_out = tmp_path / "out.zip"
    with zipfile.ZipFile(leading_out, "w") as held:
        held.writestr("flips.csv", FLIPS)
        held.writestr("../flips.csv", FLIPS)
    with pytest.raises(BadRecords, match="lead out"):
        restore_shop(leading_out, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_restoring_that_was_cut_off_is_finished(tmp_path):
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "flips.csv").write_text("furniture_type,sale_price\ndresser,250\n")
    (shop / "notes.txt").write_text("mine")
    packed = backup_shop(shop)
    again = tmp_path / "again"
    restore_shop(packed, again)
    (again / "notes.txt").unlink()
    launch_file(again).unlink()  # it is written last
    assert {p.name for p in restore_shop(packed, again)} >= {"notes.txt"}
    (again / "flips.csv").write_text("other")
    (again / "notes.txt").unlink()
    with pytest.raises(CannotSave, match="nothing was written"):
        restore_shop(packed, again)


@pytest.mark.parametrize("at", range(30, 200, 17))
def test_a_damaged_backup_is_one_sentence_or_whole(tmp_path, at):
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "flips.csv").write_text("furniture_type,sale_price\n" + "dresser,250\n" * 30)
    packed = backup_shop(shop)
    data = bytearray(packed.read_bytes())
    data[at % len(data)] ^= 0x5A
    packed.write_bytes(bytes(data))
    try:
        restore_shop(packed, tmp_path / "again")
    except (BadRecords, CannotSave) as refusal:
        assert str(refusal).count("\n") == 0
        return
    assert (tmp_path / "again" / "flips.csv").read_bytes() == (shop / "flips.csv").read_bytes()
