"""The promises about why: what a type, wood or finish adds in per cent, with its range. A row for bench_promises.

The finish is as good as drawn by lot in these markets, so what went with it is what it does.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from fleetlib.price.estimate import reasons_table
from fleetlib.price.features import WORDS
from tests.promise_shops import WholeShop
from tests.promises.ranges import Pairs, Row
from tests.simulated_markets import FINISH_PRICES, TYPE_PRICES, WOOD_PRICES

_TRUTHS = {"furniture_type": TYPE_PRICES, "wood": WOOD_PRICES, "finish": FINISH_PRICES}


def reasons(shop: WholeShop, only: str | None = None) -> list[tuple[float, float, float]]:
    """(low, true, high) in logs of each reason of each find, of words that sales of the shop bear."""
    made, fit = [], shop.fits.prices
    for find in shop.finds if fit is not None else ():
        told = reasons_table(fit, fit.columns(find.piece), level=0.80).set_index("feature")
        for column, worth in _TRUTHS.items():
            sold, word = fit.sales[column].dropna(), getattr(find.piece, column)
            if only in (None, column) and word in set(sold) and WORDS[column] in told.index:
                true = worth[word] - float(np.mean([worth[w] for w in sold]))
                row = told.loc[WORDS[column]]
                if pd.notna(row["low"]):
                    low, high = np.log1p([row["low"] / 100, row["high"] / 100])
                    made.append((float(low), true, float(high)))
    return made


def held(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(float(low <= true <= high), 0.80) for low, true, high in reasons(shop)]


def finish_held(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(float(low <= true <= high), 0.80) for low, true, high in reasons(shop, "finish")]


ROWS: tuple[Row, ...] = (
    ("reasons in per cent (type, wood, finish): the range holds, less .80", "mean", 0.05, held),
    ("  of them the finish", "mean", 0.05, finish_held),
)
