"""The grade of own advice: plans saved, followed and played out by the market's rules. A row for bench_promises."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pandas as pd

from fleetlib.fits import Fits
from fleetlib.plan.markdowns import plan
from fleetlib.quarter.hindsight import hindsight
from tests.histories import flips_of
from tests.promise_shops import WholeShop
from tests.promises.ranges import Pairs, Row
from tests.simulated_markets import AS_OF

_END = AS_OF + timedelta(days=84)


def grade(shop: WholeShop, rng: np.random.Generator) -> Pairs:
    """The z of a quarter in which every find is listed, advised and asked as planned; 0 is the aim."""
    rows, log, events = [], [], []
    for i, find in enumerate(shop.finds):
        name, made = f"F{i}", plan(shop.fits, find.piece, alternatives=False)
        weekly, steps = made.weekly, made.table
        edges = np.r_[0, (weekly["by_date"] - weekly["from_date"].iloc[0]).dt.days]
        if edges[-1] <= 0:
            continue
        asks = weekly["asking_price"].to_numpy(float)
        _, chances = shop.true_nets(find, asks, edges)
        k = int(rng.choice(len(chances), p=chances / chances.sum()))
        row = {
            "piece": name,
            "furniture_type": find.piece.furniture_type,
            "listed_on": pd.Timestamp(AS_OF),
        }
        row |= {"asking_price": asks[0], "gut_price": find.piece.gut_price}
        if k < len(asks):
            day = AS_OF + timedelta(days=int(rng.integers(edges[k], edges[k + 1])))
            if day <= _END:
                row |= {"sold_on": pd.Timestamp(day), "sale_price": asks[k]}
        rows.append(row)
        told = ["from_date", "asking_price", "chance_sold", "chance_low", "chance_high"]
        text = [
            {c: r[c] for c in told} | {"from_date": str(r["from_date"].date())}
            for r in steps.to_dict("records")
        ]
        text[-1]["by_date"] = str(made.ends_on)
        log.append((pd.Timestamp(AS_OF), name, json.dumps(text), np.nan, np.nan, np.nan))
        events += [
            {
                "on": r["from_date"],
                "piece": name,
                "event": "asking_price",
                "amount": r["asking_price"],
                "note": "",
                "line": 2,
            }
            for r in steps.to_dict("records")[1:]
        ]
    if not rows:
        return []
    records = replace(
        shop.fits.records,
        flips=flips_of(rows),
        events=pd.DataFrame(events, columns=["on", "piece", "event", "amount", "note", "line"]),
        advice_log=pd.DataFrame(log, columns=["date", "piece", "plan", "low", "high", "level"]),
        as_of=_END,
    )
    f = shop.fits
    graded = hindsight(
        Fits(records, f.settings, _END, f.prices, f.selling, f.hours), start=AS_OF, end=_END
    )
    return [(graded.z, 0.0)] if np.isfinite(graded.z) else []


ROWS: tuple[Row, ...] = (
    ("grade of own advice: mean z of a quarter played out", "mean", 0.15, grade),
)
