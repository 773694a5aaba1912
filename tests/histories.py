"""Hypothesis strategies for valid histories of a small shop, and a frame with every canonical column."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import pandas as pd
from hypothesis import strategies as st

from fleetlib.base.settings import Settings
from fleetlib.records.schema.columns import COLUMNS
from fleetlib.records.schema.derived import derive

AS_OF = date(2026, 9, 30)
START = date(2025, 1, 1)


def flips_of(rows: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """A clean flips table from a few cells a row: every column, missing where not given; derived ones worked out."""
    made: dict[str, pd.Series] = {}
    for c in COLUMNS:
        values = pd.Series([row.get(c.name) for row in rows], dtype="object")
        kind = "float64" if c.is_number else "str"
        made[c.name] = pd.to_datetime(values) if c.kind == "date" else values.astype(kind)
    flips = pd.DataFrame(made)
    flips["piece"] = flips["piece"].fillna(pd.Series([f"A-{i + 1}" for i in range(len(rows))]))
    flips["line"] = [row.get("line", i + 2) for i, row in enumerate(rows)]
    return derive(flips, settings=Settings(), as_of=AS_OF)


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
