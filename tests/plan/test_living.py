"""First months of shops with eight records in markets whose truth is known: asks that earn their boldness."""

from __future__ import annotations

import pandas as pd

from fleetlib.shop import open_shop
from tests import bench_living_files as through_files
from tests.bench_living import WORLDS, one_shop


def test_a_shop_with_eight_records_gets_most_of_what_one_who_knows_the_buyers_would() -> None:
    rows = []
    for name in ("ordinary", "reservation prices"):
        for shop in range(40, 43):
            rows += one_shop(WORLDS[name], 8, shop, ["kit"], months=2)
    nets = pd.DataFrame(rows).pivot_table(
        index=["world", "shop"], columns="policy", values="net", aggfunc="sum"
    )
    share = nets["kit"] / nets["oracle"]
    assert (nets.drop(columns="oracle").max(axis=1) <= 1.001 * nets["oracle"]).all()
    assert share.mean() > 0.9  # 84% of it where hidden quality followed the price model's doubt


def test_months_lived_through_the_files_are_what_the_files_say(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(through_files, "MONTHS", 4)
    year = through_files.one_year(WORLDS["ordinary"], 8, 3, tmp_path)
    counted = {name: (said, true) for name, said, true in year.told}
    assert counted["pieces bought a year by the kit"][0] == len(year.folder.mine) > 0
    nets = [
        row for row in year.told if row[0] == "net of the kit, less the oracle's on the same pieces"
    ]
    assert nets
    assert all(mine <= 1.001 * best for _, mine, best in nets)
    shop = year.folder.open(4 * through_files.EVERY)
    assert not len(shop.set_aside)
    flips = open_shop(tmp_path).flips.set_index("piece")
    for kept in year.folder.mine:
        assert kept.sold == pd.notna(flips.loc[kept.name, "sold_on"])
    asked = shop.records.advice_log.groupby("piece").size()
    assert set(asked.index) == {k.name for k in year.folder.mine if k.start is not None}
