"""The promises about hours: what is expected of a job, and how far it may stray. Rows for bench_promises."""

from __future__ import annotations

import numpy as np

from tests.promise_shops import WholeShop
from tests.promises.ranges import Pairs, Row


def expected(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    if shop.fits.hours is None:
        return []
    return [(shop.fits.hours.expected(f.piece), f.mean_hours) for f in shop.finds]


def held(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    if shop.fits.hours is None:
        return []
    ranges = [shop.fits.hours.interval(f.piece) for f in shop.finds]
    return [
        (float(low <= f.hours <= high), 0.80)
        for f, (low, high) in zip(shop.finds, ranges, strict=True)
    ]


ROWS: tuple[Row, ...] = (
    ("hours: expected over true", "ratio", 0.03, expected),
    ("hours: the 80% range holds, less .80", "mean", 0.04, held),
)
