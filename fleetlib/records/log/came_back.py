"""Sales whose piece came back: what such a sale still tells, and the new listing from that day on.

A buyer paid that price after so many days, so the sale tells of prices and of the time to sell, whatever became of
the money; the books know what was given back. The piece is on the market anew from the day it is up again, so its
days listed run from there. A buyer who backed out never paid: that tells nothing, and the listing goes on.
Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.records.log.apply_events import lay_events
from fleetlib.records.parsing.parsed import shown

RETURNED = "returned"  # how a sale ended whose piece came back
_SALE = ("sold_on", "sale_price", "selling_fees", "delivery_charged")


@dataclass(frozen=True, eq=False, slots=True)
class CameBack:
    """`flips` with each piece that came back listed anew; `sales`: rows like theirs, one a sale that ended so.

    `events` are those to lay over `flips`: without the asks of listings that are over. `changes` and `questions` as
    in `Lives`.
    """

    flips: pd.DataFrame = field(repr=False)
    sales: pd.DataFrame = field(repr=False)
    events: pd.DataFrame = field(repr=False)
    changes: list[tuple[int, str, str, str, str]]
    questions: list[tuple[int, str, str, str, str]]


def listed_anew(
    flips: pd.DataFrame,
    events: pd.DataFrame,
    ended: pd.DataFrame,
    *,
    listed: Collection[int] = (),
) -> CameBack:
    """Take the listings that ended in a sale whose piece came back off `flips`; see CameBack.

    `events` as laid by `live`; `ended` its sales that ended, oldest first for each piece; `listed`: the lines of the
    events that say a piece was listed.
    """
    work = flips.copy()
    sales: list[pd.DataFrame] = []
    changes: list[tuple[int, str, str, str, str]] = []
    questions: list[tuple[int, str, str, str, str]] = []
    over = np.zeros(len(events), dtype=bool)
    names, of = work["piece"].str.casefold(), events["piece"].str.casefold()
    for sale in ended[ended["how"] == RETURNED].to_dict("records") if len(ended) else ():
        its = (names == str(sale["piece"]).casefold()) & work["line"].eq(sale["line"])
        rows = work.index[its][:1]
        mine = (of == str(sale["piece"]).casefold()) & events["event"].eq("asking_price")
        asks = (mine & (events["on"] < sale["ended_on"])).to_numpy() & ~over
        past = work.loc[rows].assign(**{c: sale[c] for c in _SALE}, outcome=None, withdrawn_on=None)
        laid = lay_events(past.astype(work.dtypes.to_dict()), events[asks], listed=listed)
        questions += list(laid.questions.itertuples(index=False, name=None))
        sales.append(laid.flips)
        over |= asks
        after = mine & ~(events["on"] < sale["ended_on"])
        if pd.isna(sale["again_on"]) and (after & events["line"].isin(listed)).any():
            sale["again_on"] = events.loc[after & events["line"].isin(listed), "on"].min()
        anew = after & (events["on"] == sale["again_on"])
        changes += _list_anew(work, rows[0], laid.flips.iloc[0], sale, asked=bool(anew.any()))
    none = work.iloc[:0]
    made = pd.concat([none, *sales]).astype(work.dtypes.to_dict()) if sales else none
    made = made.set_axis(pd.RangeIndex(len(work), len(work) + len(made)), axis=0)
    return CameBack(work, made, events[~over], changes, questions)


def _list_anew(
    work: Any, at: Any, past: Any, sale: Any, *, asked: bool
) -> list[tuple[int, str, str, str, str]]:
    """List the piece in row `at` of `work` as up again, at its last ask unless one is `asked` on that day."""
    last = [past[c] for c in ("last_asking_price", "asking_price", "sale_price")]
    none = asked or not sale["up"]
    ask = np.nan if none else next((v for v in last if pd.notna(v)), np.nan)
    now = {"listed_on": sale["again_on"], "asking_price": ask, "last_asking_price": np.nan}
    sold = "" if pd.isna(sale["sold_on"]) else f" of {sale['sold_on'].date()}"
    why = f"listed anew since it came back; its sale{sold} is kept as one that ended"
    changes = []
    for column, value in now.items():
        was, told = _text(work.at[at, column]), _text(value)
        if was != told:
            changes.append((int(work.at[at, "line"]), column, was, told, why))
            work.at[at, column] = value
    return changes


def first_listed(flips: pd.DataFrame, sales: pd.DataFrame | None) -> pd.DataFrame:
    """`flips` with the day each piece was listed first, before any of its `sales` that ended."""
    if sales is None or not len(sales):
        return flips
    first = sales.groupby(sales["piece"].str.casefold())["listed_on"].min()
    theirs = pd.to_datetime(flips["piece"].str.casefold().map(first))
    return flips.assign(listed_on=theirs.fillna(flips["listed_on"]))


def _text(value: Any) -> str:
    if pd.isna(value):
        return ""
    return value.date().isoformat() if isinstance(value, pd.Timestamp) else shown(float(value))
