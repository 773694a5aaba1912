"""One drawn history of the invented one-person workshop: `make_shop(seed)`.

Nothing in it comes from a real shop; what is true of it stands in `invented_truth`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from invented_market import choose, to_market, to_step, work_log
from invented_truth import (
    AS_OF,
    HEIGHTS,
    KINDS,
    START,
    STEPS,
    STYLE_SHARE,
    STYLES,
    TRUTH,
    Truth,
    true_log_price,
)

COLUMNS = [
    "piece",
    "furniture_type",
    "wood",
    "construction",
    "finish",
    "style",
    "pieces_in_lot",
    "width_in",
    "depth_in",
    "height_in",
    "year_made",
    "grade",
    "bought_on",
    "buy_price",
    "bought_lot",
    "materials_cost",
    "other_costs",
    "hours",
    *(f"hours_{step}" for step in STEPS),
    "gut_price",
    "listed_on",
    "asking_price",
    "last_asking_price",
    "sold_on",
    "sale_price",
    "selling_fees",
    "delivery_charged",
    "channel",
    "withdrawn_on",
    "notes",
]


@dataclass(frozen=True, eq=False, slots=True)
class Demo:
    """One drawn history: tidy tables under the record's own column names, and the truth behind them.

    flips: one row per piece in order of buying; events, supplies, finds: as the files of the same name;
    hidden: per piece the true price at listing (`true_price`), `hidden_quality`, `true_hours`, and the asking
    price of every week on the market (`asks`, a tuple).
    """

    seed: int
    as_of: date
    truth: Truth
    flips: pd.DataFrame = field(repr=False)
    events: pd.DataFrame = field(repr=False)
    supplies: pd.DataFrame = field(repr=False)
    finds: pd.DataFrame = field(repr=False)
    hidden: pd.DataFrame = field(repr=False)


def make_shop(seed: int, *, pieces: int = 160, truth: Truth = TRUTH, as_of: date = AS_OF) -> Demo:
    """Draw the history of `pieces` flips bought between START and `as_of`. Same seed, same history."""
    rng = np.random.default_rng(seed)
    span = (as_of - START).days - 4
    # this summer's house sales filled the shed: the last ten weeks count almost double
    late = rng.random(pieces) < 0.055
    bought = np.sort(
        np.where(late, rng.integers(span - 70, span, pieces), rng.integers(0, span, pieces))
    )
    rows, events, hidden = [], [], []
    lots = _lots(rng, pieces)
    for i in range(pieces):
        if i - 1 in lots:  # the second piece of a lot came home with the first
            bought[i] = bought[i - 1]
        row, secret = _piece(rng, truth, as_of, START + timedelta(days=int(bought[i])))
        row["piece"] = f"A-{101 + i}"
        row["bought_lot"] = lots.get(i, lots.get(i - 1))
        events += to_market(rng, truth, as_of, row, secret)
        events += work_log(rng, as_of, row, secret)
        secret["piece"] = row["piece"]
        rows.append(row)
        hidden.append(secret)
    flips = pd.DataFrame(rows, columns=COLUMNS)
    for lot in lots.values():  # a lot was paid for once; the price is written on its first piece
        of_lot = flips.index[flips["bought_lot"] == lot]
        flips.loc[of_lot[0], "buy_price"] = flips.loc[of_lot, "buy_price"].sum()
        flips.loc[of_lot[1:], "buy_price"] = np.nan
    for column in [c for c in COLUMNS if c.endswith("_on")]:
        flips[column] = pd.to_datetime(flips[column])
    table = pd.DataFrame(events, columns=["on", "piece", "event", "amount", "note"])
    table["on"] = pd.to_datetime(table["on"])
    table = table.sort_values("on", kind="stable", ignore_index=True)
    return Demo(
        seed=seed,
        as_of=as_of,
        truth=truth,
        flips=flips,
        events=table,
        supplies=_supplies(rng, as_of),
        finds=_finds(rng, truth, as_of),
        hidden=pd.DataFrame(hidden),
    )


def _lots(rng: np.random.Generator, pieces: int) -> dict[int, str]:
    """Where three lots of two begin, well apart, with the names the owner gave them."""
    starts = [int(pieces * share) + int(rng.integers(0, 6)) for share in (0.2, 0.52, 0.8)]
    return dict(
        zip(starts, ("barn clear-out", "house sale over the hill", "two from cousin"), strict=True)
    )


def _piece(
    rng: np.random.Generator, truth: Truth, as_of: date, bought: date
) -> tuple[dict[str, Any], dict[str, Any]]:
    kind_name = choose(rng, {k: v.share for k, v in KINDS.items()})
    kind = KINDS[kind_name]
    style = choose(rng, STYLE_SHARE)
    wood = choose(rng, STYLES[style])
    visible, hidden = rng.normal(), float(rng.normal(0, truth.hidden_quality_sd))
    scale = rng.normal(0, 0.09)
    size = [round(s * np.exp(scale + rng.normal(0, 0.05)) * 2) / 2 for s in kind.size]
    size[2] = float(np.clip(size[2], *HEIGHTS[kind_name]))
    # better woods and better pieces are kept clear; the rest is painted, and paint was everything in 2023
    years = (bought - START).days / 365.25
    keen = 1.6 * truth.wood_effect[wood] / 0.15 + 0.7 * visible + 2.5 * hidden + 0.35 * years
    clear = rng.random() < 1 / (1 + np.exp(-(0.1 + keen)))
    finish = (
        choose(
            rng,
            {"oil": 0.32 + 0.06 * years, "polyurethane": 0.34, "shellac": 0.17, "wax": 0.17},
        )
        if clear
        else choose(
            rng,
            {"chalk-type paint": max(0.5 - 0.1 * years, 0.1), "milk paint": 0.3, "two-tone": 0.2},
        )
    )
    pair = kind_name in ("nightstand", "side table") and rng.random() < 0.28
    row: dict[str, Any] = dict.fromkeys(COLUMNS)
    row |= {
        "furniture_type": kind_name,
        "wood": wood,
        "finish": finish,
        "style": style,
        "construction": "veneer" if style == "mid-century" and rng.random() < 0.6 else "solid",
        "pieces_in_lot": 2 if pair else 1,
        "width_in": size[0],
        "depth_in": size[1],
        "height_in": size[2],
        "grade": int(np.clip(round(3 + 0.95 * visible), 1, 5)),
        "bought_on": bought,
        "year_made": _year_made(rng, style),
    }
    hours = (
        truth.hours_by_type[kind_name]
        * truth.hours_by_finish[finish]
        * np.exp(
            truth.hours_size_exponent * scale
            + truth.hours_grade * (row["grade"] - 3)
            + truth.hours_hidden * hidden
            + rng.normal(0, truth.hours_noise_sd)
        )
        * (1.8 if pair else 1.0)
    )
    parts = 2 if bought < date(2025, 1, 1) else 4  # half hours at first, quarters later
    hours = max(1.0, round(parts * hours) / parts)
    price = float(np.exp(true_log_price(truth, row, hidden, bought)))
    row["buy_price"] = _buy_price(rng, price)
    row["materials_cost"] = float(
        round(6 + 1.8 * hours * truth.hours_by_finish[finish] * np.exp(rng.normal(0, 0.35)))
    )
    row["other_costs"] = float(rng.choice([0, 0, 0, 8, 10, 15, 20]))
    if kind_name in ("hutch", "sideboard", "dresser", "dining table"):
        row["other_costs"] += float(rng.choice([0, 0, 20, 30]))
    row["hours"] = hours
    elapsed = 5 + 1.3 * hours + rng.gamma(2.0, 9.0)
    return row, {
        "hidden_quality": hidden,
        "true_hours": hours,
        "ready_on": bought + timedelta(days=int(elapsed)),
        "true_price": price,
        "asks": (),
    }


def _year_made(rng: np.random.Generator, style: str) -> int:
    spans = {
        "mid-century": (1952, 1972),
        "farmhouse": (1925, 2004),
        "Victorian": (1878, 1905),
        "colonial": (1938, 1978),
        "traditional": (1920, 1992),
    }
    return int(rng.integers(*spans[style]))


def _buy_price(rng: np.random.Generator, price: float) -> float:
    if rng.random() < 0.10:
        return 0.0
    paid = float(np.clip(0.15 * price * np.exp(rng.normal(0, 0.5)), 5, 150))
    return 5.0 * round(paid / 5)


def _supplies(rng: np.random.Generator, as_of: date) -> pd.DataFrame:
    bills = [
        ("sandpaper, assorted", 38, "hours"),
        ("respirator cartridges", 29, "hours"),
        ("brushes and rollers", 34, "hours"),
        ("bay rent, quarter", 150, "hours"),
        ("moving blankets", 42, "pieces"),
        ("rags and gloves", 18, "hours"),
        ("listing photos lamp", 55, "pieces"),
        ("workbench vise", 120, "none"),
    ]
    rows = []
    quarter = pd.date_range("2023-10-02", as_of, freq="91D")
    for i, day in enumerate(quarter):
        rows.append((day.date(), *bills[3]))
        for pick in rng.choice([0, 1, 2, 5], size=2, replace=False):
            item, cost, by = bills[int(pick)]
            later = day.date() + timedelta(days=int(rng.integers(3, 60)))
            if later <= as_of:
                rows.append((later, item, float(round(cost * rng.uniform(0.85, 1.2))), by))
        if i in (0, 4, 7):
            item, cost, by = bills[{0: 7, 4: 4, 7: 6}[i]]
            rows.append((day.date() + timedelta(days=9), item, cost, by))
    table = pd.DataFrame(rows, columns=["bought_on", "item", "cost", "shared_by"])
    table["bought_on"] = pd.to_datetime(table["bought_on"])
    return table.sort_values("bought_on", kind="stable", ignore_index=True)


# Kinds of which particular makers' designs are widely known: an invented find is another piece.
_TOO_WELL_KNOWN = {("dresser", "walnut", "mid-century")}


def _finds(rng: np.random.Generator, truth: Truth, as_of: date) -> pd.DataFrame:
    """Nine pieces seen on offer this week: what is asked for them, and what the owner would do with them."""
    rows = []
    again = np.random.default_rng([2026, 9])  # of its own, so that nothing else in the demo moves
    for i in range(9):
        row, secret = _piece(rng, truth, as_of, as_of)
        while (row["furniture_type"], row["wood"], row["style"]) in _TOO_WELL_KNOWN:
            row, secret = _piece(again, truth, as_of, as_of)
        row["piece"] = f"find {i + 1}"
        row["gut_price"] = to_step(
            secret["true_price"] * np.exp(truth.gut_bias + rng.normal(0, truth.gut_noise_sd))
        )
        row["bought_on"], row["hours"], row["other_costs"] = None, None, None
        row["buy_price"] = 5.0 * round(rng.uniform(0.7, 2.2) * max(row["buy_price"], 15) / 5)
        row["notes"] = str(
            rng.choice(
                ["yard sale", "on the curb list", "house clearance", "thrift store back room"]
            )
        )
        rows.append(row)
    return pd.DataFrame(rows, columns=COLUMNS)
