"""Pieces bought together for one price: the price of the lot split over its pieces, and said so."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from fleetlib.records.cleaning.changes import no_changes
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.parsing.parsed import frame_of

_WEIGHTS = ("gut_price", "asking_price", "sale_price", "last_asking_price")
_OF_A_LOT = ["line", "piece", "bought_lot", "buy_price", *_WEIGHTS]


def split_lots(flips: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """`flips` with lot prices split, the changes this makes, and a note a lot.

    A lot is split when exactly one of its pieces carries a buy price: by the owner's own prices where one
    of gut_price, asking_price, sale_price is known for every piece of the lot, else evenly. Parts are
    whole cents and add up. Where several pieces carry a price, each price is its own.
    """
    if flips["bought_lot"].isna().all():
        return flips, no_changes(), []
    made, prices = flips.copy(deep=False), flips["buy_price"].copy()
    cells = made.loc[made["bought_lot"].notna(), _OF_A_LOT]
    notes: list[str] = []
    rows: list[tuple[int, str, str, str, str]] = []
    for lot, group in cells.groupby("bought_lot", sort=True):
        priced = group["buy_price"].dropna()
        if len(group) < 2:
            continue
        if len(priced) != 1:
            same = len(priced) == len(group) and priced.min() == priced.max() > 0
            if same:
                notes.append(
                    f"Lot {lot}: each of its {len(group)} pieces is down at {shown(priced.iloc[0])}. If that is the "
                    f"price of the whole lot, keep it on one piece only and it will be split."
                )
            elif len(priced) == 0:
                notes.append(f"Lot {lot}: no buy price on any of its {len(group)} pieces.")
            elif len(priced) < len(group):
                notes.append(
                    f"Lot {lot}: {len(priced)} of its {len(group)} pieces carry a buy price, so none was split; "
                    f"put the price of the lot on one piece, or a price on each."
                )
            continue
        total = float(priced.iloc[0])
        weights, by = _weights(group)
        parts = parts_in_cents(total, weights)
        prices.loc[group.index] = parts
        for line, own, part in zip(group["line"], group["buy_price"], parts, strict=True):
            was = shown(own)
            if was != shown(part):
                why = f"lot {lot}, bought for {shown(total)}, split {by}"
                rows.append((int(line), "buy_price", was, shown(part), why))
        notes.append(
            f"Lot {lot}: {shown(total)} was split over {len(group)} pieces {by}: "
            + ", ".join(f"{p} {shown(v)}" for p, v in zip(group["piece"], parts, strict=True))
            + "."
        )
    made["buy_price"] = prices
    return made, frame_of(rows, ["line", "column", "was", "now", "why"]), notes


def _weights(group: pd.DataFrame) -> tuple[np.ndarray, str]:
    for name in _WEIGHTS:
        values = group[name]
        if values.notna().all() and (values > 0).all():
            return values.to_numpy(), f"in proportion to {name}"
    return np.ones(len(group)), "evenly"


def parts_in_cents(total: float, weights: Sequence[float] | np.ndarray) -> list[float]:
    """`total` in proportion to `weights`, in whole cents that add up: the largest remainders get the odd cents."""
    cents = round(total * 100)
    share = np.asarray(weights, dtype=float)
    exact = cents * (share / share.sum())
    whole = np.floor(exact + 1e-9).astype(int)
    order = np.argsort(-(exact - whole), kind="stable")
    odd = cents - int(whole.sum())
    whole[order[:odd] if odd >= 0 else order[odd:]] += 1 if odd >= 0 else -1
    return [int(c) / 100 for c in whole]
