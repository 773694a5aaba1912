"""Pieces bought together for one price: the price of the lot split over its pieces, and said so."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from fleetlib.records.cleaning.changes import no_changes
from fleetlib.records.parsing.numbers import shown

_WEIGHTS = ("gut_price", "asking_price", "sale_price", "last_asking_price")


def split_lots(flips: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    """`flips` with lot prices split, the changes this makes, and a note a lot.

    A lot is split when exactly one of its pieces carries a buy price: by the owner's own prices where one
    of gut_price, asking_price, sale_price is known for every piece of the lot, else evenly. Parts are
    whole cents and add up. Where several pieces carry a price, each price is its own.
    """
    if flips["bought_lot"].isna().all():
        return flips, no_changes(), []
    made = flips.copy(deep=False)
    notes: list[str] = []
    rows: list[tuple[int, str, str, str, str]] = []
    for lot, group in made[made["bought_lot"].notna()].groupby("bought_lot", sort=True):
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
        made.loc[group.index, "buy_price"] = parts
        for (_, row), part in zip(group.iterrows(), parts, strict=True):
            was = shown(row["buy_price"])
            if was != shown(part):
                why = f"lot {lot}, bought for {shown(total)}, split {by}"
                rows.append((int(row["line"]), "buy_price", was, shown(part), why))
        notes.append(
            f"Lot {lot}: {shown(total)} was split over {len(group)} pieces {by}: "
            + ", ".join(f"{p} {shown(v)}" for p, v in zip(group["piece"], parts, strict=True))
            + "."
        )
    changes = pd.DataFrame(rows, columns=["line", "column", "was", "now", "why"])
    text = dict.fromkeys(("column", "was", "now", "why"), "str")
    return made, changes.astype({"line": "int64", **text}), notes


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
