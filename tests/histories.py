"""Hypothesis strategies for valid histories of a small shop, and a frame with every canonical column."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from hypothesis import strategies as st

DAYS = ["bought_on", "listed_on", "sold_on", "withdrawn_on"]
MONEY = [
    "buy_price",
    "materials_cost",
    "other_costs",
    "gut_price",
    "asking_price",
    "last_asking_price",
    "sale_price",
    "selling_fees",
    "delivery_charged",
]
NUMBERS = [*MONEY, "hours", "width_in", "depth_in", "height_in", "year_made", "grade"]
TEXTS = [
    "piece",
    "furniture_type",
    "wood",
    "construction",
    "finish",
    "style",
    "channel",
    "outcome",
    "notes",
]
START = date(2025, 1, 1)


def flips_of(rows: list[dict[str, Any]]) -> pd.DataFrame:
    """Rows as a clean flips table: all columns there, missing where not given, derived ones worked out."""
    frame = pd.DataFrame(rows, index=range(len(rows)))
    for column in DAYS:
        frame[column] = pd.to_datetime(frame.get(column, pd.Series(pd.NaT, index=frame.index)))
    for column in NUMBERS:
        frame[column] = pd.Series(frame.get(column), index=frame.index, dtype="float64")
    for column in TEXTS:
        frame[column] = pd.Series(frame.get(column), index=frame.index, dtype="str")
    if "line" not in frame:
        frame["line"] = range(2, len(frame) + 2)
    frame["status"] = np.select(
        [
            frame["sold_on"].notna() | frame["sale_price"].notna(),
            frame["withdrawn_on"].notna(),
            frame["listed_on"].notna(),
        ],
        ["sold", "withdrawn", "listed"],
        "in work",
    )
    spent = frame["buy_price"] + frame["materials_cost"].fillna(0) + frame["other_costs"].fillna(0)
    frame["net_price"] = (
        frame["sale_price"] + frame["delivery_charged"].fillna(0) - frame["selling_fees"].fillna(0)
    )
    frame["profit"] = frame["net_price"] - spent
    end = frame["sold_on"].fillna(frame["withdrawn_on"])
    frame["days_listed"] = (end - frame["listed_on"]).dt.days.astype("float64")
    frame["sale_to_ask"] = frame["sale_price"] / frame["last_asking_price"].fillna(
        frame["asking_price"]
    )
    return frame


def events_of(rows: list[dict[str, Any]]) -> pd.DataFrame:
    """Rows as an events table."""
    frame = pd.DataFrame(rows, columns=["on", "piece", "event", "amount", "note", "line"])
    text = dict.fromkeys(("piece", "event", "note"), "str")
    return frame.assign(on=pd.to_datetime(frame["on"])).astype({"amount": "float64", **text})


def _day(low: int, high: int) -> st.SearchStrategy[date]:
    return st.integers(low, high).map(lambda n: START + timedelta(days=n))


_MONEY = st.one_of(st.none(), st.integers(0, 60_000).map(lambda cents: cents / 100))


@st.composite
def shop_histories(draw: st.DrawFn) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Up to nine pieces over two years: bought, worked on, listed, sold or withdrawn in that order."""
    rows, events = [], []
    for k in range(draw(st.integers(0, 9))):
        bought = draw(st.integers(0, 600))
        listed = bought + draw(st.integers(0, 120))
        left = listed + draw(st.integers(0, 200))
        fate = draw(st.sampled_from(["in work", "listed", "sold", "withdrawn"]))
        row: dict[str, Any] = {"piece": f"P{k}", "furniture_type": "dresser"}
        row["bought_on"] = draw(st.sampled_from([START + timedelta(days=bought), None]))
        row["buy_price"] = draw(_MONEY)
        row["materials_cost"] = draw(_MONEY)
        row["other_costs"] = draw(_MONEY)
        if fate != "in work":
            row["listed_on"] = draw(st.sampled_from([START + timedelta(days=listed), None]))
        if fate == "sold":
            row["sold_on"] = START + timedelta(days=left)
            row["sale_price"] = draw(st.integers(1, 200_000)) / 100
            row["selling_fees"] = draw(_MONEY)
        if fate == "withdrawn":
            row["withdrawn_on"] = START + timedelta(days=left)
        for _ in range(draw(st.integers(0, 2))):
            cost = draw(st.integers(1, 9_000)) / 100
            day = draw(_day(bought, bought + 400))
            note, column = draw(
                st.sampled_from([("paint", "materials_cost"), ("hauling", "other_costs")])
            )
            events.append(
                {"on": day, "piece": f"p{k}", "event": "cost", "amount": cost, "note": note}
            )
            row[column] = round((row[column] or 0.0) + cost, 2)
        rows.append(row)
    return flips_of(rows), events_of(events)
