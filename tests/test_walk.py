"""A year with the kit, from the first folder to backup, upgrade and restore, by a frozen clock; as `walk_a_year`."""

from pathlib import Path

from tests.walk_a_year import a_restore, a_year, an_upgrade, begin


def test_a_year_from_the_first_folder_to_backup_upgrade_and_restore(tmp_path: Path) -> None:
    walk = begin(tmp_path)
    a_year(walk)
    shop = "Documents/My shop (Möbel)"
    assert walk.files(shop)["flips.csv"].count(b"\r\n") == 25  # never rewritten
    assert sorted(p.name[-14:] for p in (walk.home / "Backups").glob("*.zip")) == [
        "2026-04-04.zip", "2026-07-04.zip", "2026-10-04.zip", "2027-01-04.zip",
    ]  # fmt: skip
    said = "\n".join(walk.said)
    assert "N-1: returned, on Saturday 2026-06-27" in said
    assert "Nothing was written." in said
    an_upgrade(walk)
    a_restore(walk)
