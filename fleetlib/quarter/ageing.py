"""What sits: every listed piece with its days, its cost, today's ask and today's re-plan."""

from __future__ import annotations

import numpy as np
import pandas as pd

from fleetlib.base.errors import FleetError
from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.fits import Fits
from fleetlib.plan.markdowns import plan
from fleetlib.plan.planned import planned
from fleetlib.records.piece import piece_from_row

COLUMNS = (
    "piece", "what", "listed_on", "days_listed", "cost", "asking_price", "plan_price", "next_on", "next_price",
    "lowest_offer", "expected_net", "gain_over_holding", "let_go", "says",
)  # fmt: skip


def ageing(fits: Fits) -> pd.DataFrame:
    """One row per listed piece, the longest on the market first, as of the day of the answer.

    Columns: piece, what, listed_on, days_listed, cost (paid, materials and other costs), asking_price (now),
    plan_price (what today's plan asks now), next_on, next_price (its next markdown), lowest_offer,
    expected_net, gain_over_holding (money the plan is expected to bring more than today's ask held), let_go
    (no ask is worth waiting for), says (what to do, in words).
    """
    flips = fits.records.flips
    listed = flips[flips["status"] == "listed"].sort_values(
        "days_listed", ascending=False, kind="stable"
    )
    if fits.prices is not None:
        fits.prices.tell_together([piece_from_row(row) for _, row in listed.iterrows()])
    rows = [_row(fits, row) for _, row in listed.iterrows()]
    made = pd.DataFrame(rows, columns=list(COLUMNS))
    words = ("piece", "what", "says")
    for column in COLUMNS:
        if column in ("listed_on", "next_on"):
            made[column] = pd.to_datetime(made[column])
        elif column == "let_go":
            made[column] = made[column].astype(bool)
        else:
            made[column] = made[column].astype("str" if column in words else "float64")
    return made


def _row(fits: Fits, row: pd.Series) -> dict[str, object]:
    costs = row[["buy_price", "materials_cost", "other_costs"]].astype("float64")
    piece = piece_from_row(row)
    made: dict[str, object] = {
        "piece": row["piece"],
        "what": piece.what,
        "listed_on": row["listed_on"],
        "days_listed": row["days_listed"],
        "cost": float(costs.sum()),
        "asking_price": row["asking_price"]
        if pd.isna(row["last_asking_price"])
        else row["last_asking_price"],
        "let_go": False,
    }
    try:
        made_plan = plan(fits, piece, alternatives=False)
        case = planned(fits, piece).case
    except FleetError as problem:
        return made | {"says": f"cannot be planned: {problem}"}
    steps = made_plan.table
    now = float(steps["asking_price"].iloc[0])
    ask = case.so_far.ask if case.so_far is not None else now
    later = steps.iloc[1] if len(steps) > 1 else None
    held = case.worth(np.full(len(case.dates) - 1, ask)).expected_net
    made |= {
        "asking_price": ask,
        "plan_price": now,
        "next_on": pd.NaT if later is None else later["from_date"],
        "next_price": float("nan") if later is None else float(later["asking_price"]),
        "lowest_offer": float(steps["lowest_offer"].iloc[0]),
        "expected_net": made_plan.expected_net,
        "gain_over_holding": made_plan.expected_net - held,
        "let_go": made_plan.take_salvage_now,
    }
    return made | {"says": _says(made, fits.settings.currency)}


def _says(row: dict[str, object], currency: str) -> str:
    def money(name: str) -> str:
        return format_money(float(str(row[name])), currency)

    if row["let_go"]:
        return "let it go for what it fetches: no asking price is worth waiting for"
    if float(str(row["plan_price"])) < float(str(row["asking_price"])) - 0.005:
        return f"come down to {money('plan_price')} now"
    if pd.isna(row["next_on"]):  # type: ignore[call-overload]
        return "hold the ask to the end"
    return f"hold, then {money('next_price')} from {day_said(pd.Timestamp(str(row['next_on'])))}"


def shown(table: pd.DataFrame, currency: str) -> pd.DataFrame:
    """The ageing list as printed."""
    return pd.DataFrame(
        {
            "piece": table["piece"],
            "what": table["what"],
            "days": table["days_listed"],
            "cost": [format_money(v, currency) for v in table["cost"]],
            "ask": [format_money(v, currency) for v in table["asking_price"]],
            "lowest offer": [format_money(v, currency) for v in table["lowest_offer"]],
            "today's plan": table["says"],
        }
    )
