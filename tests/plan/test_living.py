"""First months of shops with eight records in markets whose truth is known: asks that earn their boldness."""

from __future__ import annotations

import pandas as pd

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
