"""The promises about prices and time: ranges, the share said, the chance sold and the days. Rows for bench_promises.

Sales that come: what the same owner lists and sells next in the same market, priced from the records as they stand.
Chance sold: the average over the quality that neither records nor own price show, worked out from the market's rules.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import fields, replace
from functools import lru_cache
from typing import Literal

import numpy as np

from fleetlib.price.fit import PriceDistribution, share_to_expect
from fleetlib.price.own_price import counting_own_price
from fleetlib.records.piece import Piece
from tests.promise_shops import Find, WholeShop, _rows
from tests.simulated_markets import seen_log_price

Pairs = list[tuple[float, float]]
_NEXT = 30  # pieces listed next
_WEEKS = 8
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)


def spreads(shop: WholeShop, piece: Piece) -> tuple[PriceDistribution, PriceDistribution]:
    """What an estimate of `piece` stands on, without its reasons and comparables: records alone, own price counted."""
    fit = shop.fits.prices
    assert fit is not None and piece.gut_price
    alone = fit.distribution(piece)
    return alone, counting_own_price(fit, alone, float(piece.gut_price))


@lru_cache(maxsize=4)
def _priced_next(shop: WholeShop) -> list[tuple[float, float, float, float, float, float, float]]:
    """By sale to come: price, low, mid, high, then low and high of the records alone, own price over that mid."""
    if shop.fits.prices is None:
        return []
    names = {f.name for f in fields(Piece)} - {"piece", "hours", "listed_on", "bought_on"}
    made = []
    asked = shop.fits.records.flips["asking_price"].to_numpy(float)
    rng = np.random.default_rng(zlib.crc32(asked.tobytes()))  # pieces of its own for every shop
    for row in _rows(replace(shop.world, records=_NEXT, blank=0.0, bench_losses=0.0), rng):
        if row.get("sale_price") is None:
            continue
        known = {k: v for k, v in row.items() if k in names and v is not None}
        for later in ("asking_price", "last_asking_price"):
            known.pop(later, None)
        alone, told = spreads(shop, Piece(**known))
        over = float(row["gut_price"]) / alone.mid
        ends, by_records = told.interval(0.80), alone.interval(0.80)
        made.append((row["sale_price"], ends[0], told.mid, ends[1], *by_records, over))
    return made


def held(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(float(low <= paid <= high), 0.80) for paid, low, _, high, *_ in _priced_next(shop)]


def held_alone(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [
        (float(low <= paid <= high), 0.80) for paid, _, _, _, low, high, _ in _priced_next(shop)
    ]


def _third(number: int) -> Callable[[WholeShop, np.random.Generator], Pairs]:
    def measure(shop: WholeShop, rng: np.random.Generator) -> Pairs:
        rows = _priced_next(shop)
        cuts = np.quantile([r[-1] for r in rows], [1 / 3, 2 / 3]) if rows else [0.0, 0.0]
        mine = [r for r in rows if np.digitize(r[-1], cuts) == number]
        return [(float(low <= paid <= high), 0.80) for paid, low, _, high, *_ in mine]

    return measure


def middle(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(np.log(mid / paid), 0.0) for paid, _, mid, *_ in _priced_next(shop)]


def share_said(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    """The share said of the records alone against the share of sales to come that these ranges hold."""
    rows = _priced_next(shop)
    if shop.fits.prices is None or len(shop.fits.prices.sales) < 20 or not rows:
        return []
    said = share_to_expect(shop.fits.prices)
    return [(said, float(np.mean([low <= paid <= high for paid, _, _, _, low, high, _ in rows])))]


@lru_cache(maxsize=4)
def _planned(shop: WholeShop) -> list[tuple[float, float, float, float, float, float]]:
    """By find: chance sold after 8 weeks as said with its low and high, the true one; days said, true days."""
    from fleetlib.plan.markdowns import plan

    made = []
    for find in shop.finds:
        weekly = plan(shop.fits, find.piece, alternatives=False).weekly
        start = weekly["from_date"].iloc[0]
        ends = (weekly["by_date"] - start).dt.days.to_numpy(float)
        edges = np.r_[0.0, ends]
        if ends[-1] <= 0:
            continue
        k = int(np.argmin(np.abs(ends - 7 * _WEEKS)))
        curve = _average_curve(shop, find, weekly["asking_price"].to_numpy(float), edges)
        asked = weekly.iloc[k]
        said = (asked["chance_sold"], asked["chance_low"], asked["chance_high"])
        gap = np.diff(edges)
        told = np.r_[0.0, weekly["chance_sold"].to_numpy(float)]
        days = [float((gap * (1 - (c[1:] + c[:-1]) / 2)).sum()) for c in (told, np.r_[0.0, curve])]
        made.append((*map(float, said), float(curve[k]), days[0], days[1]))
    return made


def _average_curve(shop: WholeShop, find: Find, asks: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """The share (n,) of such pieces, own price and all, that has sold by the end of each period."""
    market, piece = shop.world.market, find.piece
    cells = ([getattr(piece, c)] for c in ("furniture_type", "wood", "finish", "width_in"))
    log_m = float(seen_log_price(*cells)[0])
    precision = market.quality_sd**-2 + (market.slope / market.seller_noise) ** 2
    signal = np.log(float(piece.gut_price or 1.0)) - log_m - market.markup
    centre = market.slope * signal / market.seller_noise**2 / precision
    total = np.zeros(len(asks))
    for node, weight in zip(_NODES, _WEIGHTS / _WEIGHTS.sum(), strict=True):
        q = centre + node / np.sqrt(precision)
        _, chances = shop.true_nets(replace(find, log_value=log_m + q), asks, edges)
        total += weight * np.cumsum(chances[:-1])
    return total


def chance_held(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(float(low <= true <= high), 0.80) for _, low, high, true, *_ in _planned(shop)]


def chance(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(said, true) for said, _, _, true, *_ in _planned(shop)]


def days(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    return [(said, true) for *_, said, true in _planned(shop)]


Row = tuple[
    str, Literal["ratio", "mean"], float | None, Callable[[WholeShop, np.random.Generator], Pairs]
]
ROWS: tuple[Row, ...] = (
    ("price range holds, own price counted, less .80", "mean", 0.04, held),
    ("  own price low against the records", "mean", 0.05, _third(0)),
    ("  own price about as the records", "mean", 0.05, _third(1)),
    ("  own price high against the records", "mean", 0.05, _third(2)),
    ("price range from the records alone holds, less .80", "mean", 0.04, held_alone),
    ("middle price: log of said over paid", "mean", 0.03, middle),
    ("share said to fall inside less share inside (from 20 sales)", "mean", 0.03, share_said),
    ("chance sold by 8 weeks: said less true", "mean", 0.05, chance),
    ("chance sold by 8 weeks: the range holds, less .80", "mean", 0.06, chance_held),
    ("days until sold, to the end of the plan: said over true", "ratio", 0.10, days),
)
