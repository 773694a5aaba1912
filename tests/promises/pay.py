"""The promises about pay an hour: of each type, and which comes first. Rows for bench_promises."""

from __future__ import annotations

import numpy as np

from fleetlib.pay.earnings import earnings
from tests.promise_shops import WholeShop
from tests.promises.ranges import Pairs, Row


def of_each_type(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    table = earnings(shop.fits).table
    t = table[table["shrunk"].notna()]
    return [
        (float(p), shop.true_pay[str(k)])
        for k, p in zip(t["furniture_type"], t["shrunk"], strict=True)
    ]


def first_place(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    t = earnings(shop.fits).table
    t = t[t["chance_best"].notna()]
    if len(t) < 2:
        return []
    best = max(t["furniture_type"], key=lambda k: shop.true_pay[str(k)])
    top = t.sort_values("chance_best").iloc[-1]
    return [(float(top["chance_best"]), float(top["furniture_type"] == best))]


ROWS: tuple[Row, ...] = (
    ("pay of each type: said less true, money an hour", "mean", None, of_each_type),
    ("first place of a type: chance said less right", "mean", 0.05, first_place),
)
